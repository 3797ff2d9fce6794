//! Papers and cloths: what is left of each count, piece by piece.

use std::collections::BTreeMap;

use chrono::NaiveDateTime;

use super::cut::{Cut, cut};
use super::{Missing, Shortage};
use crate::order::{Order, Piece};
use crate::plan::week::{OrderPieces, Week, What};
use crate::size::Size;
use crate::stage::Stage;
use crate::stock::{Form, Stock, Supply};

/// A supply and what becomes of it. [sheets, or 0.1 mm of length]
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyState {
    /// As it stands in the file.
    pub supply: Supply,
    /// What is there now, by count and record.
    pub left_now: u32,
    /// What is left when the plan is done.
    pub left_then: u32,
    /// Pieces that were coated although the count had nothing left for them.
    pub overdrawn: u32,
    /// Pieces that the plan takes from it.
    pub planned: u32,
    /// The last of it goes at this moment of the plan.
    pub empty_at: Option<NaiveDateTime>,
}

/// All supplies while pieces are taken from them.
pub(super) struct Shelf {
    states: Vec<SupplyState>,
    /// Pieces of a size that are still in what was cut, by supply.
    open: Vec<BTreeMap<Size, u32>>,
}

/// Pieces that found nothing, by material, and those apart that no day of the plan has.
type Lacks = BTreeMap<(String, bool), Vec<Lack>>;

/// A piece that found nothing.
struct Lack {
    at: Option<NaiveDateTime>,
    size: Size,
    order: usize,
    number: u32,
}

impl Shelf {
    pub(super) fn new(stock: &Stock) -> Shelf {
        let states = stock.supplies.iter().map(|supply| SupplyState {
            left_now: amount(supply),
            left_then: amount(supply),
            supply: supply.clone(),
            overdrawn: 0,
            planned: 0,
            empty_at: None,
        });
        Shelf {
            states: states.collect(),
            open: vec![BTreeMap::new(); stock.supplies.len()],
        }
    }

    /// Takes a piece that was coated; what was coated before a count is in the count.
    pub(super) fn draw_past(&mut self, material: &str, size: Size, at: NaiveDateTime) {
        if self.take(material, size, at).is_some() {
            return;
        }
        let best = self.candidates(material, size, at).into_iter().next();
        if let Some((index, _)) = best {
            self.states[index].overdrawn += 1;
        }
    }

    /// Ends the past: from here on it is the plan that takes.
    pub(super) fn counted_to_now(&mut self, now: NaiveDateTime) {
        for state in &mut self.states {
            state.left_now = match state.supply.from > now {
                true => 0,
                false => state.left_then,
            };
        }
    }

    /// Takes what the plan coats and then what it leaves for later; returns what found
    /// nothing, by material.
    pub(super) fn draw_plan(&mut self, orders: &[Order], week: &Week) -> Vec<Shortage> {
        let mut lacks = Lacks::new();
        let mut planned: BTreeMap<(usize, u32), ()> = BTreeMap::new();
        let steps = week.days.iter().flat_map(|day| &day.steps);
        let mut coats: Vec<_> = steps
            .filter_map(|step| match &step.what {
                What::Coat(session) => Some(&session.coats),
                _ => None,
            })
            .flatten()
            .collect();
        coats.sort_by_key(|coat| coat.from);
        for coat in coats {
            for (order, piece) in pieces(orders, &coat.batch.pieces) {
                planned.insert((order, piece.number), ());
                self.draw(&mut lacks, (order, piece), Some(coat.from));
            }
        }
        for (order, piece) in waiting(orders) {
            if !planned.contains_key(&(order, piece.number)) {
                self.draw(&mut lacks, (order, piece), None);
            }
        }
        lacks.into_iter().map(shortage).collect()
    }

    fn draw(
        &mut self,
        lacks: &mut Lacks,
        (order, piece): (usize, &Piece),
        at: Option<NaiveDateTime>,
    ) {
        let material = &piece.material;
        if !self.states.iter().any(|s| s.supply.material == *material) {
            return;
        }
        let when = at.unwrap_or(NaiveDateTime::MAX);
        match self.take(material, piece.size, when) {
            Some(index) => {
                let state = &mut self.states[index];
                if at.is_some() {
                    state.planned += 1;
                }
                if state.left_then == 0 && state.empty_at.is_none() {
                    state.empty_at = at;
                }
            }
            None => {
                let key = (material.clone(), at.is_none());
                lacks.entry(key).or_default().push(Lack {
                    at,
                    size: piece.size,
                    order,
                    number: piece.number,
                });
            }
        }
    }

    /// Takes one piece from where it costs least; returns from which supply.
    fn take(&mut self, material: &str, size: Size, at: NaiveDateTime) -> Option<usize> {
        let candidates = self.candidates(material, size, at);
        let cut_already = |(index, _): &&(usize, Cut)| {
            self.open[*index]
                .get(&size)
                .is_some_and(|pieces| *pieces > 0)
        };
        if let Some((index, _)) = candidates.iter().find(cut_already) {
            *self.open[*index].entry(size).or_default() -= 1;
            return Some(*index);
        }
        let whole = candidates
            .iter()
            .find(|(index, cut)| self.states[*index].left_then >= cut.takes);
        let (index, cut) = *whole?;
        self.states[index].left_then -= cut.takes;
        self.open[index].insert(size, cut.pieces - 1);
        Some(index)
    }

    /// Lists supplies that a piece can be cut from, those first that lose least.
    fn candidates(&self, material: &str, size: Size, at: NaiveDateTime) -> Vec<(usize, Cut)> {
        let there = self.states.iter().enumerate();
        let there = there.filter(|(_, s)| s.supply.material == material && s.supply.from <= at);
        let mut found: Vec<(usize, Cut)> = there
            .filter_map(|(index, state)| Some((index, cut(state.supply.form, size)?)))
            .collect();
        found.sort_by(|(a, a_cut), (b, b_cut)| {
            let least = a_cut.m2_each.total_cmp(&b_cut.m2_each);
            least.then_with(|| {
                let from = |index: usize| self.states[index].supply.from;
                (from(*a), *a).cmp(&(from(*b), *b))
            })
        });
        found
    }

    /// Tells whether nothing of a material is there, off-cuts aside.
    pub(super) fn is_empty(&self, material: &str) -> bool {
        let mut own = self.states.iter();
        own.all(|state| state.supply.material != material || state.left_now == 0)
    }

    pub(super) fn into_states(self) -> Vec<SupplyState> {
        self.states
    }
}

fn amount(supply: &Supply) -> u32 {
    match supply.form {
        Form::Sheets { count, .. } => count,
        Form::Roll { length, .. } => length.0,
    }
}

fn pieces<'a>(
    orders: &'a [Order],
    some: &'a [OrderPieces],
) -> impl Iterator<Item = (usize, &'a Piece)> {
    some.iter().flat_map(|some| {
        let all = orders[some.order].pieces.iter();
        all.filter(|piece| some.numbers.contains(&piece.number))
            .map(|piece| (some.order, piece))
    })
}

/// Lists the pieces of open orders that are still to be coated.
fn waiting(orders: &[Order]) -> impl Iterator<Item = (usize, &Piece)> {
    let open = orders.iter().enumerate();
    let open = open.filter(|(_, order)| !order.is_closed());
    open.flat_map(|(index, order)| order.pieces.iter().map(move |piece| (index, piece)))
        .filter(|(_, piece)| piece.progress.stage() == Some(Stage::Coating))
}

fn shortage(((material, _), lacks): ((String, bool), Vec<Lack>)) -> Shortage {
    let mut sizes: BTreeMap<Size, u32> = BTreeMap::new();
    for lack in &lacks {
        *sizes.entry(lack.size).or_default() += 1;
    }
    let on = lacks.iter().filter_map(|lack| lack.at).min();
    let mut by_order: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
    for lack in &lacks {
        by_order.entry(lack.order).or_default().push(lack.number);
    }
    let pieces = by_order.into_iter().map(|(order, mut numbers)| {
        numbers.sort_unstable();
        OrderPieces { order, numbers }
    });
    Shortage {
        what: Missing::Material {
            material,
            sizes: sizes.into_iter().collect(),
        },
        amount: lacks.len() as f64,
        pieces: pieces.collect(),
        on: on.map(|at| at.date()),
        buy_by: None,
        arrives_on: None,
    }
}
