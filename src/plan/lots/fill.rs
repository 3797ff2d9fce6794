//! Many like pieces: each to the lot where it costs least, then made cheaper.

use std::cmp::Reverse;

use super::EXACT_MAX;
use super::divide;
use super::yard::{Lot, Yard};

/// Questions to the frames after which one start is not made cheaper any more.
const QUESTIONS_MAX: usize = 400;

/// Groups of lots that are divided anew, for one start.
const GROUPS_MAX: usize = 200;

/// Divides pieces, each of which fits a frame alone; they come by promise and order.
pub(super) fn divide(yard: &mut Yard, pieces: &[usize]) -> Vec<Lot> {
    let divided = starts(yard, pieces).map(|lots| improve(yard, lots));
    let best = divided.into_iter().min_by_key(|lots| total(lots));
    best.expect("there are several starts")
}

/// The cheapest of what comes out with the pieces as they come, by size and backwards.
fn best_fill(yard: &mut Yard, pieces: &[usize]) -> Vec<Lot> {
    let filled = starts(yard, pieces).into_iter();
    let best = filled.min_by_key(|lots| total(lots));
    best.expect("there are several starts")
}

/// Lots filled with the pieces as they come, by size, and backwards.
fn starts(yard: &mut Yard, pieces: &[usize]) -> [Vec<Lot>; 3] {
    let mut by_size = pieces.to_vec();
    by_size.sort_by_key(|&piece| Reverse(yard.lying_size(piece)));
    let backwards: Vec<usize> = pieces.iter().rev().copied().collect();
    [pieces, &by_size, &backwards].map(|pieces| fill(yard, Vec::new(), pieces))
}

fn total(lots: &[Lot]) -> i64 {
    lots.iter().map(|lot| lot.price).sum()
}

/// Adds pieces to lots, each where the price rises least.
fn fill(yard: &mut Yard, mut lots: Vec<Lot>, pieces: &[usize]) -> Vec<Lot> {
    for &piece in pieces {
        let alone = yard.lot(&[piece]).expect("each piece can be a lot alone");
        let mut best = (alone.price, lots.len(), alone);
        for (number, lot) in lots.iter().enumerate() {
            let with_piece = [lot.pieces.as_slice(), &[piece]].concat();
            let Some(grown) = yard.lot(&with_piece) else {
                continue;
            };
            let rise = grown.price - lot.price;
            if (rise, number) < (best.0, best.1) {
                best = (rise, number, grown);
            }
        }
        let (_, number, lot) = best;
        match lots.get_mut(number) {
            Some(old) => *old = lot,
            None => lots.push(lot),
        }
    }
    lots
}

/// Divides a few lots anew, and empties lots, until nothing gets cheaper.
fn improve(yard: &mut Yard, mut lots: Vec<Lot>) -> Vec<Lot> {
    let enough = yard.questions() + QUESTIONS_MAX;
    let mut groups_left = GROUPS_MAX;
    loop {
        let before = total(&lots);
        lots = empty_lots(yard, lots, enough);
        while let Some(cheaper) = cheaper_group(yard, &lots, enough, &mut groups_left) {
            lots = cheaper;
        }
        if total(&lots) == before {
            return lots;
        }
    }
}

/// Looks for two or three lots whose pieces are divided better another way.
fn cheaper_group(
    yard: &mut Yard,
    lots: &[Lot],
    enough: usize,
    groups_left: &mut usize,
) -> Option<Vec<Lot>> {
    for group in groups(lots.len()) {
        let chosen = || group.iter().map(|&number| &lots[number]);
        let pieces: Vec<usize> = chosen().flat_map(|lot| lot.pieces.clone()).collect();
        let price: i64 = chosen().map(|lot| lot.price).sum();
        if price <= yard.least_price(&pieces) {
            continue;
        }
        if *groups_left == 0 || yard.questions() >= enough {
            return None;
        }
        *groups_left -= 1;
        let mut divided = divide_anew(yard, pieces);
        if let (&[first, second], true) = (group.as_slice(), total(&divided) >= price) {
            let pair = [lots[first].clone(), lots[second].clone()];
            divided = exchange(yard, pair).to_vec();
        }
        if total(&divided) < price {
            let others = (0..lots.len()).filter(|number| !group.contains(number));
            let others = others.map(|number| lots[number].clone());
            return Some(others.chain(divided).collect());
        }
    }
    None
}

/// Moves and exchanges pieces between two lots as long as that is cheaper.
fn exchange(yard: &mut Yard, pair: [Lot; 2]) -> [Lot; 2] {
    let mut pair = pair;
    while let Some(cheaper) = cheaper_exchange(yard, &pair) {
        pair = cheaper;
    }
    pair
}

/// The first move of a piece, or exchange of two, that makes two lots cheaper.
fn cheaper_exchange(yard: &mut Yard, pair: &[Lot; 2]) -> Option<[Lot; 2]> {
    let price = total(pair);
    let [one, two] = [&pair[0].pieces, &pair[1].pieces];
    for from_one in none_or(one) {
        for from_two in none_or(two) {
            let one = swapped(one, from_one, from_two);
            let two = swapped(two, from_two, from_one);
            if one.is_empty() || two.is_empty() {
                continue;
            }
            if yard.least_price_as_one(&one) + yard.least_price_as_one(&two) >= price {
                continue;
            }
            let (Some(one), Some(two)) = (yard.lot(&one), yard.lot(&two)) else {
                continue;
            };
            if one.price + two.price < price {
                return Some([one, two]);
            }
        }
    }
    None
}

/// No piece, or one of these.
fn none_or(pieces: &[usize]) -> impl Iterator<Item = Option<usize>> {
    std::iter::once(None).chain(pieces.iter().copied().map(Some))
}

/// The pieces without one and with another.
fn swapped(pieces: &[usize], out: Option<usize>, into: Option<usize>) -> Vec<usize> {
    let stay = pieces.iter().copied().filter(|piece| Some(*piece) != out);
    stay.chain(into).collect()
}

/// All pairs and then all threes of `count` lots.
fn groups(count: usize) -> impl Iterator<Item = Vec<usize>> {
    let pairs = move || (0..count).flat_map(move |b| (0..b).map(move |a| [a, b]));
    let threes = pairs().flat_map(move |[a, b]| (b + 1..count).map(move |c| vec![a, b, c]));
    pairs().map(Vec::from).chain(threes)
}

/// The cheapest division of few pieces, a good one of many.
fn divide_anew(yard: &mut Yard, mut pieces: Vec<usize>) -> Vec<Lot> {
    pieces.sort_unstable();
    match pieces.len() {
        ..=EXACT_MAX => divide::cheapest(yard, &pieces),
        _ => best_fill(yard, &pieces),
    }
}

/// Tries to give the pieces of each lot to the others, the smallest lot first.
fn empty_lots(yard: &mut Yard, mut lots: Vec<Lot>, enough: usize) -> Vec<Lot> {
    let mut order: Vec<Vec<usize>> = lots.iter().map(|lot| lot.pieces.clone()).collect();
    order.sort_by_key(Vec::len);
    for pieces in order {
        if yard.questions() >= enough {
            return lots;
        }
        let is_it = |lot: &Lot| lot.pieces == pieces;
        let Some(number) = lots.iter().position(is_it) else {
            continue;
        };
        let mut others = lots.clone();
        others.remove(number);
        let emptied = fill(yard, others, &pieces);
        if total(&emptied) < total(&lots) {
            lots = emptied;
        }
    }
    lots
}
