//! The cheapest division of a few pieces into lots, over all subsets.
//!
//! The lot of the first piece that is left is one of the subsets with it; what
//! remains is divided in the cheapest way, which is known from before. For n
//! pieces that is 2ⁿ lots to ask for and 3ⁿ steps.

use super::yard::{Lot, Yard};

/// Divides pieces, each of which fits a frame alone, in the cheapest way.
pub(super) fn cheapest(yard: &mut Yard, pieces: &[usize]) -> Vec<Lot> {
    let all = (1_usize << pieces.len()) - 1;
    let mut lots: Vec<Option<Lot>> = vec![None];
    for subset in 1..=all {
        lots.push(lot_of(yard, pieces, subset, &lots));
    }
    // For each subset the price of its cheapest division and the lot of its first piece.
    let mut best: Vec<(i64, usize)> = vec![(0, 0); all + 1];
    for subset in 1..=all {
        let first = subset & subset.wrapping_neg();
        let with_first = subsets(subset).filter(|lot| lot & first != 0);
        let divisions = with_first.filter_map(|lot| {
            let price = lots[lot].as_ref()?.price;
            Some((price + best[subset & !lot].0, lot))
        });
        best[subset] = divisions.min().expect("each piece can be a lot alone");
    }
    let mut divided = Vec::new();
    let mut left = all;
    while left != 0 {
        let lot = best[left].1;
        divided.extend(lots[lot].clone());
        left &= !lot;
    }
    divided
}

/// The lot of a subset, if those with one piece less are lots: what they do not
/// fit into, it does not fit into either.
fn lot_of(yard: &mut Yard, pieces: &[usize], subset: usize, lots: &[Option<Lot>]) -> Option<Lot> {
    let bits = (0..pieces.len()).map(|number| 1 << number);
    let less = bits.filter(|bit| subset & bit != 0 && subset != *bit);
    let mut smallest = 0;
    for bit in less {
        smallest = smallest.max(lots[subset & !bit].as_ref()?.frame);
    }
    yard.lot_from(&members(pieces, subset), smallest)
}

fn members(pieces: &[usize], subset: usize) -> Vec<usize> {
    let numbered = pieces.iter().enumerate();
    let inside = numbered.filter(|(number, _)| subset & 1 << number != 0);
    inside.map(|(_, &piece)| piece).collect()
}

/// All subsets of `set` but the empty one.
fn subsets(set: usize) -> impl Iterator<Item = usize> {
    let next = move |subset: &usize| Some((subset - 1) & set).filter(|next| *next != 0);
    std::iter::successors(Some(set).filter(|set| *set != 0), next)
}
