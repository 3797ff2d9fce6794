//! How many spare copies to coat so that the promised number comes out good.
//!
//! Only an offer: whoever coats decides, and no plan counts on it. Each copy is taken
//! to fail by itself and alike; a bad mix or a shower that spoils a whole round is
//! not in it.

use std::collections::BTreeMap;

use crate::order::{Order, Piece};
use crate::plan::week::{OrderPieces, Session};
use crate::stage::Stage;
use crate::studio::{MaterialKind, Planning, Studio};

/// Most spare copies that are ever offered for one picture.
const SPARES_MAX: u32 = 50;

/// How often pieces of one kind were begun to an end, and how often made again.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct RemakeRecord {
    /// Tries that came to an end, good or bad.
    pub tries: u32,
    /// Those that ended with a remake.
    pub remakes: u32,
}

/// Spare copies worth coating with a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The pieces of one entry that are coated in the session.
    pub pieces: OrderPieces,
    /// How many more.
    pub spares: u32,
    /// The share of such pieces that is made again.
    pub remake_share: f64,
}

/// Counts the record of the studio's own orders, closed ones too.
pub fn remake_record(orders: &[Order], studio: &Studio, kind: MaterialKind) -> RemakeRecord {
    let mut record = RemakeRecord::default();
    let is_kind = |piece: &&Piece| {
        let material = studio.materials.get(&piece.material);
        material.is_some_and(|material| material.kind == kind)
    };
    for piece in orders
        .iter()
        .flat_map(|order| &order.pieces)
        .filter(is_kind)
    {
        let remakes = piece.progress.remakes().count() as u32;
        let done = piece.progress.done_at(Stage::Finishing).is_some();
        record.remakes += remakes;
        record.tries += remakes + u32::from(done);
    }
    record
}

/// Returns the share that is made again, with the studio's start value counted as
/// `planning.remake_start_pieces` pieces of experience.
///
/// A thin record barely moves the start value, a long one outweighs it.
pub fn remake_share(record: RemakeRecord, kind: MaterialKind, planning: &Planning) -> f64 {
    let start = match kind {
        MaterialKind::Paper => planning.remake_share_paper,
        MaterialKind::Cloth => planning.remake_share_cloth,
    };
    let weight = f64::from(planning.remake_start_pieces);
    let tries = f64::from(record.tries) + weight;
    if tries > 0.0 {
        (f64::from(record.remakes) + weight * start) / tries
    } else {
        start
    }
}

/// Returns the chance that at most `most` of `count` fail, each with chance `share`.
///
/// The exact binomial sum, term by term.
///
/// # Example
/// ```
/// use fairday::spare::chance_of_at_most;
/// assert!((chance_of_at_most(1, 2, 0.1) - 0.99).abs() < 1e-12);
/// assert_eq!(chance_of_at_most(2, 2, 0.1), 1.0);
/// ```
pub fn chance_of_at_most(most: u32, count: u32, share: f64) -> f64 {
    if most >= count || share <= 0.0 {
        return 1.0;
    }
    if share >= 1.0 {
        return 0.0;
    }
    let mut term = (1.0 - share).powi(count as i32);
    let mut sum = term;
    for failed in 1..=most {
        let left = f64::from(count - failed + 1);
        term *= left / f64::from(failed) * share / (1.0 - share);
        sum += term;
    }
    sum.min(1.0)
}

/// Finds how many more than `good` copies to coat so that `good` of them come out with
/// the chance `confidence`; none if even many would not do.
///
/// # Example
/// ```
/// use fairday::spare::find_spares;
/// assert_eq!(find_spares(1, 0.1, 0.9), Some(0));
/// assert_eq!(find_spares(1, 0.1, 0.95), Some(1));
/// assert_eq!(find_spares(5, 1.0, 0.9), None);
/// ```
pub fn find_spares(good: u32, share: f64, confidence: f64) -> Option<u32> {
    // A hair below the wanted chance is rounding.
    let enough =
        |spares: &u32| chance_of_at_most(*spares, good + spares, share) >= confidence - 1e-12;
    (0..=SPARES_MAX).find(enough)
}

/// Lists what spare copies are worth coating in a session, by order and entry; none once
/// it is mixed.
pub fn offers(session: &Session, orders: &[Order], studio: &Studio) -> Vec<Offer> {
    if session.stands {
        return Vec::new();
    }
    let mut entries: BTreeMap<(usize, usize), Vec<&Piece>> = BTreeMap::new();
    for pieces in session.coats.iter().flat_map(|coat| &coat.batch.pieces) {
        let all = orders[pieces.order].pieces.iter();
        for piece in all.filter(|piece| pieces.numbers.contains(&piece.number)) {
            let key = (pieces.order, piece.entry);
            entries.entry(key).or_default().push(piece);
        }
    }
    let offer = |((order, _), pieces): ((usize, usize), Vec<&Piece>)| {
        let kind = studio.materials.get(&pieces[0].material)?.kind;
        let record = remake_record(orders, studio, kind);
        let share = remake_share(record, kind, &studio.planning);
        let spares = find_spares(pieces.len() as u32, share, studio.planning.spare_confidence)?;
        let mut numbers: Vec<u32> = pieces.iter().map(|piece| piece.number).collect();
        numbers.sort_unstable();
        (spares > 0).then_some(Offer {
            pieces: OrderPieces { order, numbers },
            spares,
            remake_share: share,
        })
    };
    entries.into_iter().filter_map(offer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choose(count: u32, failed: u32) -> u128 {
        (0..u128::from(failed)).fold(1, |sum, k| sum * (u128::from(count) - k) / (k + 1))
    }

    /// The same chance in whole numbers: counts of equally likely outcomes.
    fn exactly(most: u32, count: u32, percent: u128) -> f64 {
        let ways = |failed: u32| {
            let unit = if percent.is_multiple_of(10) {
                (percent / 10, 10)
            } else {
                (percent / 5, 20)
            };
            choose(count, failed) * unit.0.pow(failed) * (unit.1 - unit.0).pow(count - failed)
        };
        let all: u128 = (0..=count).map(ways).sum();
        (0..=most).map(ways).sum::<u128>() as f64 / all as f64
    }

    #[test]
    fn the_sum_is_that_of_whole_numbers() {
        for count in 1..=24 {
            for most in 0..=count {
                for percent in [5, 10, 15, 30, 50] {
                    let share = percent as f64 / 100.0;
                    let wanted = exactly(most, count, percent);
                    let found = chance_of_at_most(most, count, share);
                    assert!((found - wanted).abs() < 1e-12, "{most} {count} {percent}");
                }
            }
        }
    }

    /// Cumulative terms to four places as any handbook of statistics prints them
    /// (National Bureau of Standards, Applied Mathematics Series 6, 1950)
    /// [from memory]; half a unit of the last place is allowed.
    #[test]
    fn the_sum_is_that_of_the_tables() {
        for (most, count, share, wanted) in [
            (0, 10, 0.10, 0.3487),
            (1, 10, 0.10, 0.7361),
            (2, 10, 0.10, 0.9298),
            (3, 10, 0.15, 0.9500),
            (3, 20, 0.10, 0.8670),
            (5, 20, 0.15, 0.9327),
        ] {
            let found = chance_of_at_most(most, count, share);
            assert!(
                (found - wanted).abs() <= 0.000_051,
                "{most} {count}: {found}"
            );
        }
    }

    #[test]
    fn more_copies_or_more_confidence_never_take_fewer_spares() {
        for good in 1..20 {
            for confidence in [0.5, 0.8, 0.9, 0.95, 0.99] {
                let spares = find_spares(good, 0.15, confidence).unwrap();
                assert!(spares <= find_spares(good + 1, 0.15, confidence).unwrap());
                assert!(spares <= find_spares(good, 0.15, 0.995).unwrap());
                assert!(chance_of_at_most(spares, good + spares, 0.15) >= confidence - 1e-9);
            }
        }
    }

    #[test]
    fn a_thin_record_keeps_the_start_value_and_a_long_one_outweighs_it() {
        let planning = crate::studio::defaults::planning();
        let share = |tries, remakes| {
            let record = RemakeRecord { tries, remakes };
            remake_share(record, MaterialKind::Paper, &planning)
        };
        assert!((share(0, 0) - 0.10).abs() < 1e-12);
        assert!((share(1, 1) - 3.0 / 21.0).abs() < 1e-12);
        assert!((share(1980, 0) - 0.001).abs() < 1e-12);
    }
}
