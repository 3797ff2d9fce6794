//! From what the search decided to a timing with its cost, and back.

use super::draft::{Coat, Decision, Draft, Steps, Sun};
use super::ground::{Come, Ground, slots};
use crate::plan::model::{Cost, LotTiming, OrderTiming, Session, Slot, Timing};

/// Writes the decision as a timing.
pub(super) fn timing(ground: &Ground, decision: &Decision) -> Timing {
    let mut starts: Vec<i32> = decision
        .lots
        .iter()
        .flatten()
        .filter_map(|steps| steps.coat)
        .map(|coat| coat.session)
        .collect();
    starts.sort_unstable();
    starts.dedup();
    let lots = ground.instance.lots.iter().zip(&decision.lots).enumerate();
    let orders = ground.instance.orders.iter().zip(&decision.packs);
    Timing {
        sessions: starts
            .iter()
            .map(|&start| Session {
                start: Slot::from(start),
            })
            .collect(),
        lots: lots
            .filter_map(|(index, (lot, steps))| {
                let steps = (*steps)?;
                let settled = match ground.lots[index].come {
                    Come::Washing { at, .. } => Some(at),
                    _ => None,
                };
                let wash = steps.sun.map(|sun| sun.wash).or(settled);
                let timing = LotTiming {
                    coat: steps.coat.map(|coat| Slot::from(coat.at)),
                    session: steps.coat.map(|coat| {
                        let index = starts.binary_search(&coat.session);
                        index.expect("every session is in the list")
                    }),
                    expose: steps.sun.map(|sun| Slot::from(sun.at)),
                    wash: wash.map(Slot::from),
                    finish: Slot::from(steps.finish),
                };
                Some((lot.id.clone(), timing))
            })
            .collect(),
        orders: orders
            .filter_map(|(order, pack)| {
                let pack = Slot::from((*pack)?);
                Some((order.id.clone(), OrderTiming { pack }))
            })
            .collect(),
    }
}

/// Returns the parts of the cost of a decision.
pub(super) fn cost(ground: &Ground, decision: &Decision) -> Cost {
    let mut cost = Cost::default();
    for (order, pack) in decision.packs.iter().enumerate() {
        let day = pack.and_then(|pack| ground.day_of_pack(order, pack));
        let (late, ship) = ground.order_terms(order, day);
        cost.late += late;
        cost.ship += ship;
    }
    let mut sessions = Vec::new();
    for (lot, steps) in decision.lots.iter().enumerate() {
        let Some(steps) = steps else { continue };
        sessions.extend(steps.coat.map(|coat| coat.session));
        if let Some(sun) = steps.sun {
            cost.risk += ground.risk_at(lot, sun.at);
        }
    }
    sessions.sort_unstable();
    sessions.dedup();
    cost.session = sessions.len() as i64;
    cost
}

/// Reads a timing, as far as it still fits the instance.
pub(super) fn decision(ground: &Ground, timing: &Timing) -> Decision {
    let mut draft = Draft::new(ground);
    for (index, lot) in ground.instance.lots.iter().enumerate() {
        let steps = timing.lots.get(&lot.id);
        let steps = steps.and_then(|given| steps_of(ground, timing, index, given));
        if let Some(steps) = steps.filter(|steps| draft.admits(index, steps)) {
            draft.put_lot(index, steps);
        }
    }
    for (index, order) in ground.instance.orders.iter().enumerate() {
        let pack = timing.orders.get(&order.id).map(|order| slots(order.pack));
        if let Some(pack) = pack.filter(|&pack| draft.admits_pack(index, pack)) {
            draft.put_order(index, pack);
        }
    }
    draft.decision()
}

fn steps_of(ground: &Ground, timing: &Timing, lot: usize, given: &LotTiming) -> Option<Steps> {
    let facts = &ground.lots[lot];
    let coat = match facts.come {
        Come::Fresh => {
            let session = timing.sessions.get(given.session?)?;
            Some(Coat {
                at: slots(given.coat?),
                session: slots(session.start),
            })
        }
        _ => None,
    };
    let sun = match facts.come {
        Come::Fresh | Come::Coated(_) => {
            let at = slots(given.expose?);
            let start = facts.starts.iter().find(|start| start.at == at)?;
            Some(Sun {
                at,
                length: start.length,
                price: start.price,
                wash: slots(given.wash?),
            })
        }
        _ => None,
    };
    Some(Steps {
        coat,
        sun,
        finish: slots(given.finish),
    })
}
