//! Keeping score: what was promised and planned against what happened.
//!
//! All of it is read from the order files, which keep every promise, exposure, verdict
//! and remake; there is no second book that could tell another story. Orders that were
//! cancelled broke no promise. Not here: what is still to come (`plan`, `odds`).

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::order::{Order, Piece, Verdict};
use crate::promise::{due, leave_by};
use crate::stage::Stage;
use crate::studio::Studio;

/// What happened in a stretch of days.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Review {
    /// How dates held.
    pub promises: Promises,
    /// How exposures went, by material.
    pub exposures: BTreeMap<String, Exposures>,
    /// How often pieces went back to coating, by reason, the most frequent first.
    pub remakes: Vec<Remakes>,
    /// Pieces that were finished.
    pub finished: usize,
}

/// How the dates of orders held.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Promises {
    /// Orders that left in time.
    pub kept: usize,
    /// Orders that left late, or are still here after their last day.
    pub broken: Vec<Broken>,
}

/// An order whose date was not kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Its number.
    pub order: String,
    /// The last day on which it could leave in time.
    pub leave_by: NaiveDate,
    /// When it left; none if it is still here.
    pub left_on: Option<NaiveDate>,
    /// Whether the date was agreed; otherwise the law set it.
    pub agreed: bool,
}

/// Exposures of one material. Pieces that lay in the light together count once.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Exposures {
    /// Those with both minutes.
    pub count: usize,
    /// Planned for them when they began. [min]
    pub planned_minutes: f64,
    /// Used. [min]
    pub used_minutes: f64,
    /// Judged pale, piece by piece, each try by its last verdict.
    pub pale: usize,
    /// Judged good.
    pub good: usize,
    /// Judged deep.
    pub deep: usize,
}

/// Remakes for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remakes {
    /// In the maker's words, in small letters.
    pub reason: String,
    /// How many pieces.
    pub count: usize,
}

impl Promises {
    /// Returns the share that was kept; none as long as there is none to speak of.
    pub fn share_kept(&self) -> Option<f64> {
        let all = self.kept + self.broken.len();
        (all > 0).then(|| self.kept as f64 / all as f64)
    }
}

/// Looks back at the days from `since` to `today`, both included.
///
/// A promise counts on the day on which the order left, or on which it should have.
pub fn review(orders: &[Order], studio: &Studio, since: NaiveDate, today: NaiveDate) -> Review {
    let within = |day: NaiveDate| (since..=today).contains(&day);
    let mut review = Review::default();
    for order in orders.iter().filter(|order| order.cancelled_on.is_none()) {
        promise(order, studio, today, &within, &mut review.promises);
    }
    let pieces = || orders.iter().flat_map(|order| &order.pieces);
    review.exposures = exposures(pieces(), &within);
    review.remakes = remakes(pieces(), &within);
    review.finished = pieces()
        .filter(|piece| {
            let done = piece.progress.done_at(Stage::Finishing);
            done.is_some_and(|at| within(at.date()))
        })
        .count();
    review
}

fn promise(
    order: &Order,
    studio: &Studio,
    today: NaiveDate,
    within: &impl Fn(NaiveDate) -> bool,
    promises: &mut Promises,
) {
    let last = leave_by(order, &studio.shipping).day;
    let left_on = order.dispatch.as_ref().map(|dispatch| dispatch.on);
    if !within(left_on.unwrap_or(last)) {
        return;
    }
    match left_on {
        Some(on) if on <= last => promises.kept += 1,
        None if last >= today => {}
        Some(_) | None => promises.broken.push(Broken {
            order: order.number.clone(),
            leave_by: last,
            left_on,
            agreed: due(order).agreed,
        }),
    }
}

fn exposures<'a>(
    pieces: impl Iterator<Item = &'a Piece>,
    within: &impl Fn(NaiveDate) -> bool,
) -> BTreeMap<String, Exposures> {
    let mut exposures: BTreeMap<String, Exposures> = BTreeMap::new();
    let mut seen = Vec::new();
    for piece in pieces {
        for of in piece.progress.tries() {
            let of_material = exposures.entry(piece.material.clone()).or_default();
            let exposed = of.exposed.filter(|(at, _)| within(at.date()));
            if let Some((at, exposed)) = exposed
                && let Some(planned) = exposed.planned_minutes
            {
                let round = (piece.material.as_str(), at, exposed.minutes.to_bits());
                if !seen.contains(&round) {
                    seen.push(round);
                    of_material.count += 1;
                    of_material.planned_minutes += planned;
                    of_material.used_minutes += exposed.minutes;
                }
            }
            match of.verdict.filter(|(at, _)| within(at.date())) {
                Some((_, Verdict::Pale)) => of_material.pale += 1,
                Some((_, Verdict::Good)) => of_material.good += 1,
                Some((_, Verdict::Deep)) => of_material.deep += 1,
                None => {}
            }
        }
    }
    exposures.retain(|_, of| of.count + of.pale + of.good + of.deep > 0);
    exposures
}

fn remakes<'a>(
    pieces: impl Iterator<Item = &'a Piece>,
    within: &impl Fn(NaiveDate) -> bool,
) -> Vec<Remakes> {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for piece in pieces {
        for (at, reason) in piece.progress.remakes() {
            if within(at.date()) {
                *counts.entry(reason.trim().to_lowercase()).or_default() += 1;
            }
        }
    }
    let of = |(reason, count)| Remakes { reason, count };
    let mut remakes: Vec<Remakes> = counts.into_iter().map(of).collect();
    remakes.sort_by_key(|remakes| std::cmp::Reverse(remakes.count));
    remakes
}
