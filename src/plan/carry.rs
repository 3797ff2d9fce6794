//! A timing carried over to another setup of the same studio.
//!
//! Lots have names by their place in a list, so that the same pieces may go by
//! another name elsewhere, on another day of the grid. Here the steps follow the
//! pieces. Whether they still hold is for the search or the audit to say; a lot
//! whose pieces go together differently now is left out.

use std::collections::BTreeMap;

use super::model::{LotTiming, OrderTiming, Session, Slot, Timing};
use super::setup::Setup;

/// Who lies in a lot: order number and piece number, ascending, and the frame.
type Company<'a> = (Vec<(&'a str, u32)>, &'a str);

/// Carries a timing of `old` over to `new`.
pub fn carry(old: &Setup, timing: &Timing, new: &Setup) -> Timing {
    let shift = -new.grid.day_index(old.grid.first_day) * new.instance.per_day;
    let names: BTreeMap<Company, &str> = (0..old.lots.len())
        .map(|lot| (company(old, lot), old.instance.lots[lot].id.as_str()))
        .collect();
    let steps = |lot: usize| {
        let name = names.get(&company(new, lot))?;
        timing.lots.get(*name)
    };
    Timing {
        sessions: timing
            .sessions
            .iter()
            .map(|session| Session {
                start: session.start - shift,
            })
            .collect(),
        lots: (0..new.lots.len())
            .filter_map(|lot| {
                let id = new.instance.lots[lot].id.clone();
                Some((id, shifted(steps(lot)?, shift)))
            })
            .collect(),
        orders: timing
            .orders
            .iter()
            .map(|(id, at)| {
                (
                    id.clone(),
                    OrderTiming {
                        pack: at.pack - shift,
                    },
                )
            })
            .collect(),
    }
}

fn company<'a>(setup: &'a Setup, lot: usize) -> Company<'a> {
    let number = |order: usize| setup.orders[order].number.as_str();
    let mut pieces: Vec<(&str, u32)> = setup.lots[lot]
        .pieces
        .iter()
        .map(|waiting| (number(waiting.order), waiting.piece.number))
        .collect();
    pieces.sort_unstable();
    (pieces, setup.instance.lots[lot].frame.as_str())
}

fn shifted(steps: &LotTiming, shift: Slot) -> LotTiming {
    let back = |at: Option<Slot>| at.map(|at| at - shift);
    LotTiming {
        coat: back(steps.coat),
        session: steps.session,
        expose: back(steps.expose),
        wash: back(steps.wash),
        finish: steps.finish - shift,
    }
}
