//! Dividing pieces into lots, judged by trying every division.

use std::collections::BTreeSet;

use fairday::plan::lay::lay_within;
use fairday::plan::lots::{EXACT_MAX, LotLay, LotRules, ToLay, lots};
use fairday::size::Size;
use fairday::units::Length;
use proptest::prelude::*;
use rand::rngs::SmallRng;
use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};

use super::lay::assert_good;

/// Tries for a question whether pieces fit, as many as the divider allows.
const TRIES: u32 = 3_000;

const A3: usize = 0;
const A4: usize = 1;

fn frames() -> [Size; 2] {
    [Size::from_mm(297.0, 420.0), Size::from_mm(210.0, 297.0)]
}

fn rules(frames: &[Size]) -> LotRules<'_> {
    LotRules {
        frames,
        margin: Length(0),
        prices: fairday::studio::defaults::planning().lots,
        together: &|_| true,
    }
}

fn piece(size: &str, order: usize, due: i64) -> ToLay<&'static str> {
    ToLay {
        size: Size::parse(size).unwrap(),
        key: "paper",
        order,
        due: Some(due),
    }
}

/// The frame and the pieces of each lot.
fn shape(lots: &[LotLay]) -> Vec<(usize, Vec<usize>)> {
    let pieces = |lot: &LotLay| lot.pieces.iter().map(|(piece, _)| *piece).collect();
    lots.iter().map(|lot| (lot.frame, pieces(lot))).collect()
}

fn check(pieces: &[ToLay<&str>], expected: &[(usize, &[usize])]) {
    let frames = frames();
    let (made, no_frame) = lots(pieces, &rules(&frames));
    let expected: Vec<_> = expected
        .iter()
        .map(|(frame, lot)| (*frame, lot.to_vec()))
        .collect();
    assert_eq!(shape(&made), expected);
    assert!(no_frame.is_empty());
}

#[test]
fn a_piece_goes_into_the_smallest_frame_that_holds_it() {
    check(&[piece("A4", 0, 1)], &[(A4, &[0])]);
    check(&[piece("A3", 0, 1)], &[(A3, &[0])]);
}

#[test]
fn the_pieces_of_an_order_share_a_frame() {
    check(&[piece("A5", 0, 1), piece("A5", 0, 1)], &[(A4, &[0, 1])]);
    check(&[piece("A4", 0, 1), piece("A5", 0, 1)], &[(A3, &[0, 1])]);
}

/// Two orders of two A5 each make two full A4 frames, or one full A3 frame: one
/// lot less (100) for one mixed lot (30).
#[test]
fn orders_share_a_frame_where_that_saves_a_lot() {
    let two_orders = |due| {
        [
            piece("A5", 0, 1),
            piece("A5", 1, due),
            piece("A5", 0, 1),
            piece("A5", 1, due),
        ]
    };
    check(&two_orders(3), &[(A3, &[0, 1, 2, 3])]);
}

/// Eight days apart cost 80 and the mixing 30, more than the lot that is saved.
#[test]
fn an_early_order_is_not_tied_to_a_late_one() {
    check(
        &[piece("A5", 0, 9), piece("A5", 1, 1)],
        &[(A4, &[1]), (A4, &[0])],
    );
}

/// Three orders of one A4 and one A5 each fill three A3 frames; mixing the A5
/// would still take three.
#[test]
fn orders_are_not_mixed_where_that_saves_nothing() {
    let pieces: Vec<_> = (0..6)
        .map(|index| piece(if index < 3 { "A4" } else { "A5" }, index % 3, 1))
        .collect();
    let (made, _) = lots(&pieces, &rules(&frames()));
    for lot in shape(&made) {
        let orders: BTreeSet<usize> = lot.1.iter().map(|&p| pieces[p].order).collect();
        assert_eq!(orders.len(), 1, "{made:?}");
    }
    assert_eq!(made.len(), 3);
}

#[test]
fn only_like_pieces_share_a_frame() {
    let cloth = ToLay {
        key: "cloth",
        ..piece("A5", 0, 1)
    };
    check(&[piece("A5", 0, 1), cloth], &[(A4, &[1]), (A4, &[0])]);
}

#[test]
fn what_no_frame_holds_is_named() {
    let frames = frames();
    let pieces = [piece("A4", 0, 1), piece("A2", 0, 1)];
    let (made, no_frame) = lots(&pieces, &rules(&frames));
    assert_eq!((made.len(), no_frame), (1, vec![1]));
    let (made, no_frame) = lots(&pieces, &rules(&[]));
    assert_eq!((made.len(), no_frame), (0, vec![0, 1]));
}

/// A rack of three places takes three pieces at a time.
#[test]
fn the_caller_limits_what_goes_together() {
    let frames = frames();
    let rules = LotRules {
        together: &|pieces| pieces.len() <= 3,
        ..rules(&frames)
    };
    let pieces: Vec<_> = (0..20).map(|_| piece("A6", 0, 1)).collect();
    let (made, _) = lots(&pieces, &rules);
    let counts: Vec<usize> = made.iter().map(|lot| lot.pieces.len()).collect();
    assert_eq!(counts.iter().sum::<usize>(), 20);
    assert_eq!(counts.iter().max(), Some(&3));
    assert_eq!(counts.len(), 7);
}

/// A hundred cards, eight to an A3 frame: thirteen lots.
#[test]
fn a_large_order_fills_its_frames() {
    let pieces: Vec<_> = (0..100).map(|_| piece("A6", 0, 1)).collect();
    let (made, _) = lots(&pieces, &rules(&frames()));
    assert_eq!(made.len(), 13);
}

/// The price of one lot, counted anew.
fn price(pieces: &[ToLay<u8>], lot: &[usize], frame: Size) -> i64 {
    let orders: BTreeSet<usize> = lot.iter().map(|&piece| pieces[piece].order).collect();
    let orders = orders.len() as i64;
    let mut dues: Vec<i64> = lot.iter().filter_map(|&piece| pieces[piece].due).collect();
    dues.sort_unstable();
    let days = dues.last().map_or(0, |last| last - dues[0]);
    let frame_dm2 = (frame.area_m2() * 100.0).round() as i64;
    100 + frame_dm2 + 30 * (orders - 1) + 5 * orders + 10 * days
}

fn price_of(pieces: &[ToLay<u8>], frames: &[Size], made: &[LotLay]) -> i64 {
    shape(made)
        .iter()
        .map(|(frame, lot)| price(pieces, lot, frames[*frame]))
        .sum()
}

/// The price of each subset of the pieces as one lot in the smallest frame that
/// holds it; what holds a subset without one of its pieces not, holds it neither.
fn prices_as_one(pieces: &[ToLay<u8>], rules: &LotRules) -> Vec<Option<i64>> {
    let mut frames = rules.frames.to_vec();
    frames.sort_by(|a, b| a.area_m2().total_cmp(&b.area_m2()));
    let mut prices: Vec<Option<i64>> = vec![Some(0)];
    for subset in 1..1_usize << pieces.len() {
        let lot: Vec<usize> = (0..pieces.len())
            .filter(|bit| subset & 1 << bit != 0)
            .collect();
        let alike = lot
            .iter()
            .all(|&piece| pieces[piece].key == pieces[lot[0]].key);
        let fewer_fit = lot.iter().all(|bit| prices[subset & !(1 << bit)].is_some());
        let sizes: Vec<Size> = lot.iter().map(|&piece| pieces[piece].size).collect();
        let holds = |frame: &&Size| lay_within(**frame, rules.margin, &sizes, TRIES).is_some();
        let frame = frames.iter().filter(|_| alike && fewer_fit).find(holds);
        prices.push(frame.map(|frame| price(pieces, &lot, *frame)));
    }
    prices
}

/// The least price over every division: the first piece of `left` opens a lot
/// with each choice of the others.
fn cheapest(prices: &[Option<i64>], known: &mut [Option<i64>], left: usize) -> i64 {
    if left == 0 {
        return 0;
    }
    if let Some(price) = known[left] {
        return price;
    }
    let others = left & (left - 1);
    let next = |rest: &usize| (*rest != 0).then(|| (rest - 1) & others);
    let best = std::iter::successors(Some(others), next)
        .filter_map(|rest| Some(prices[left & !rest]? + cheapest(prices, known, rest)))
        .min()
        .unwrap();
    known[left] = Some(best);
    best
}

fn draw(rng: &mut SmallRng, count: usize) -> Vec<ToLay<u8>> {
    (0..count)
        .map(|_| {
            let side = |rng: &mut SmallRng| f64::from(rng.random_range(6..=21_u32)) * 10.0;
            let order = rng.random_range(0..4);
            ToLay {
                size: Size::from_mm(side(rng), side(rng)),
                key: u8::from(rng.random_bool(0.1)),
                order,
                due: (order < 3).then_some(2 * order as i64),
            }
        })
        .collect()
}

/// The price of our division, and the least there is.
fn compare(rng: &mut SmallRng, count: usize) -> (i64, i64) {
    let frames = frames();
    let rules = LotRules {
        margin: Length(30),
        ..rules(&frames)
    };
    let pieces = draw(rng, count);
    let (made, no_frame) = lots(&pieces, &rules);
    assert!(no_frame.is_empty());
    let prices = prices_as_one(&pieces, &rules);
    let least = cheapest(&prices, &mut vec![None; prices.len()], prices.len() - 1);
    (price_of(&pieces, &frames, &made), least)
}

#[test]
fn few_pieces_are_divided_in_the_cheapest_way() {
    let mut rng = SmallRng::seed_from_u64(3);
    for count in 1..=EXACT_MAX {
        for _ in 0..10 {
            let (ours, least) = compare(&mut rng, count);
            assert_eq!(ours, least, "{count} pieces");
        }
    }
}

/// Of these 40 draws of twelve pieces 36 are divided in the cheapest way and the
/// others miss it by 5 to 17 %, one lot at most: 1 % in the mean.
#[test]
fn more_pieces_cost_little_more_than_the_least() {
    let mut rng = SmallRng::seed_from_u64(4);
    let mut gaps: Vec<f64> = (0..40)
        .map(|_| {
            let (ours, least) = compare(&mut rng, EXACT_MAX + 2);
            assert!(ours >= least);
            (ours - least) as f64 / least as f64
        })
        .collect();
    gaps.sort_by(f64::total_cmp);
    let cheapest = gaps.iter().filter(|gap| **gap == 0.0).count();
    let mean = gaps.iter().sum::<f64>() / gaps.len() as f64;
    assert!(cheapest >= 34 && mean < 0.015, "{gaps:?}");
}

fn piece_to_lay() -> impl Strategy<Value = ToLay<u8>> {
    let side = || 200..3_000_u32;
    (side(), side(), 0..2_u8, 0..6_usize, 0..20_i64).prop_map(|(width, height, key, order, due)| {
        ToLay {
            size: Size {
                width: Length(width),
                height: Length(height),
            },
            key,
            order,
            due: (due < 15).then_some(due),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_piece_lies_in_one_lot_with_its_like(
        pieces in proptest::collection::vec(piece_to_lay(), 0..24),
        margin in 0..50_u32,
    ) {
        let frames = frames();
        let rules = LotRules { margin: Length(margin), ..rules(&frames) };
        let (made, no_frame) = lots(&pieces, &rules);
        let mut seen: Vec<usize> = no_frame.clone();
        for lot in &made {
            let indices: Vec<usize> = lot.pieces.iter().map(|(piece, _)| *piece).collect();
            prop_assert!(indices.iter().all(|&piece| pieces[piece].key == pieces[indices[0]].key));
            let sizes: Vec<Size> = indices.iter().map(|&piece| pieces[piece].size).collect();
            let places: Vec<_> = lot.pieces.iter().map(|(_, place)| *place).collect();
            assert_good(frames[lot.frame], Length(margin), &sizes, &places);
            seen.extend(indices);
        }
        seen.sort_unstable();
        prop_assert_eq!(seen, Vec::from_iter(0..pieces.len()));
        for piece in no_frame {
            prop_assert!(frames.iter().all(|frame| !pieces[piece].size.fits_in(*frame)));
        }
    }

    /// The lots hold the same sizes, orders and days, in whatever order the
    /// pieces are listed.
    #[test]
    fn the_order_of_the_list_does_not_matter(
        pieces in proptest::collection::vec(piece_to_lay(), 0..16),
        seed in any::<u64>(),
    ) {
        let mut shuffled = pieces.clone();
        shuffled.shuffle(&mut SmallRng::seed_from_u64(seed));
        let frames = frames();
        let contents = |pieces: &[ToLay<u8>]| {
            let (made, _) = lots(pieces, &rules(&frames));
            let content = |(frame, lot): (usize, Vec<usize>)| {
                let mut lot: Vec<_> = lot.iter().map(|&p| (pieces[p].size, pieces[p].order, pieces[p].due)).collect();
                lot.sort_unstable();
                (frame, lot)
            };
            shape(&made).into_iter().map(content).collect::<Vec<_>>()
        };
        prop_assert_eq!(contents(&pieces), contents(&shuffled));
    }
}
