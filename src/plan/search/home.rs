//! Going home: where a search begins with a plan, a lot that costs the same there goes
//! back to where it was.
//!
//! Washing, coating, finishing and packing have leeway that costs nothing, so a search
//! would spread them anew each time; whoever goes by the plan would see steps move
//! without a reason.

use super::At;
use super::draft::{Draft, Steps};
use super::insert::cost_of_orders;

/// Returns the steps that a lot had in the plan that the search began with, if they may
/// be taken and cost no more than `limit`.
pub(super) fn steps(draft: &Draft, lot: usize, limit: i64) -> Option<Steps> {
    let steps = draft.home?.lots[lot]?;
    let facts = &draft.ground.lots[lot];
    let opens = steps
        .coat
        .is_some_and(|coat| !draft.has_session(coat.session));
    let session = if opens {
        draft.ground.instance.weights.session
    } else {
        0
    };
    let light = steps.sun.map_or(0, |sun| sun.price);
    let within = |cost: i64| cost <= limit;
    let fits = within(light + session)
        && within(light + session + cost_of_orders(draft, lot, steps.finish + facts.finish))
        && draft.admits(lot, &steps);
    fits.then_some(steps)
}

/// Returns when an order was packed in the plan that the search began with, if it may be
/// packed then and leaves no later than if packed at `pack`, or in time.
pub(super) fn pack(draft: &Draft, order: usize, pack: At) -> Option<At> {
    let home = draft.home?.packs[order]?;
    let in_time = home <= draft.ground.last_pack(order, pack);
    (in_time && draft.admits_pack(order, home)).then_some(home)
}
