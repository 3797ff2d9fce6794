//! Which of the blocks of a lane stand in one row: two hands work at once, and the number
//! of a short block needs room beside it.

/// What a block takes of its lane, its number included. [drawing units]
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extent {
    /// Left end.
    pub from: f64,
    /// Right end.
    pub until: f64,
}

/// Rounding of what is written into a drawing. [drawing units]
const ROUNDING: f64 = 0.05;

/// Returns the row of each extent, from 0, so that no two of a row meet: each comes into
/// the first row that is free at its left end.
pub(super) fn rows(extents: &[Extent]) -> Vec<usize> {
    let mut by_begin: Vec<usize> = (0..extents.len()).collect();
    by_begin.sort_by(|a, b| extents[*a].from.total_cmp(&extents[*b].from));
    let mut ends: Vec<f64> = Vec::new();
    let mut rows = vec![0; extents.len()];
    for index in by_begin {
        let Extent { from, until } = extents[index];
        let free = ends.iter().position(|end| *end <= from + ROUNDING);
        let row = free.unwrap_or(ends.len());
        match free {
            Some(row) => ends[row] = until,
            None => ends.push(until),
        }
        rows[index] = row;
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_that_meet_stand_in_rows_of_their_own() {
        let extents = |ends: &[(f64, f64)]| -> Vec<Extent> {
            let extents = ends.iter();
            extents
                .map(|(from, until)| Extent {
                    from: *from,
                    until: *until,
                })
                .collect()
        };
        assert_eq!(rows(&extents(&[(0.0, 5.0), (5.0, 9.0)])), [0, 0]);
        assert_eq!(
            rows(&extents(&[(0.0, 9.0), (2.0, 4.0), (3.0, 5.0), (4.0, 6.0)])),
            [0, 1, 2, 1]
        );
        assert_eq!(rows(&extents(&[(3.0, 5.0), (0.0, 4.0)])), [1, 0]);
        assert!(rows(&[]).is_empty());
    }
}
