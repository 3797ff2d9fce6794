//! What a maker types to name an order or some of its pieces: `2026-012/1-3,5`.
//!
//! The same form that screens show, so that it can be copied from them.

use super::Order;

/// An order, or some pieces of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Target {
    /// Number of the order.
    pub order: String,
    /// Numbers of pieces, ascending; none for all of them.
    pub pieces: Option<Vec<u32>>,
}

/// Largest number of a piece that can be typed.
const PIECE_MAX: u32 = 10_000;

impl Target {
    /// Parses `2026-012`, `2026-012/2` or `2026-012/1-3,5`.
    ///
    /// # Example
    /// ```
    /// use fairday::order::target::Target;
    /// let target = Target::parse("2026-012/1-3,5").unwrap();
    /// assert_eq!(target.pieces, Some(vec![1, 2, 3, 5]));
    /// assert_eq!(Target::parse("2026-012").unwrap().pieces, None);
    /// assert_eq!(Target::parse("2026-012/"), None);
    /// assert_eq!(Target::parse("2026-012/3-1"), None);
    /// ```
    pub fn parse(text: &str) -> Option<Target> {
        let Some((order, pieces)) = text.split_once('/') else {
            return (!text.is_empty()).then(|| Target {
                order: text.to_owned(),
                pieces: None,
            });
        };
        let mut numbers = Vec::new();
        for run in pieces.split(',') {
            let (first, last) = run.split_once(['-', '–']).unwrap_or((run, run));
            let number = |text: &str| text.trim().parse::<u32>().ok();
            let (first, last) = (number(first)?, number(last)?);
            if first == 0 || first > last || last > PIECE_MAX {
                return None;
            }
            numbers.extend(first..=last);
        }
        numbers.sort_unstable();
        numbers.dedup();
        Some(Target {
            order: order.to_owned(),
            pieces: Some(numbers),
        })
    }

    /// Returns the numbers of the pieces meant; all of the order's where none are named.
    ///
    /// # Errors
    /// The first number that the order has not.
    pub fn numbers(&self, order: &Order) -> Result<Vec<u32>, u32> {
        let all: Vec<u32> = order.pieces.iter().map(|piece| piece.number).collect();
        match &self.pieces {
            None => Ok(all),
            Some(numbers) => match numbers.iter().find(|number| !all.contains(number)) {
                Some(missing) => Err(*missing),
                None => Ok(numbers.clone()),
            },
        }
    }
}
