//! What the orders' records have used: coats, and the sessions that they were made in.

use chrono::{NaiveDateTime, TimeDelta};

use crate::mix::{Coating, mix};
use crate::order::{Done, Order, Piece};
use crate::stage::Stage;
use crate::studio::Studio;

/// A coat of a piece, of this try or an earlier one.
#[derive(Debug, Clone, Copy)]
pub(super) struct PastCoat<'a> {
    pub at: NaiveDateTime,
    pub piece: &'a Piece,
    /// Poured for its whole entry, and how many copies that was for. [ml]
    poured: Option<(f64, u32)>,
}

/// Coats from one mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PastSession {
    /// When its first coat was done.
    pub at: NaiveDateTime,
    pub a_ml: f64,
    pub b_ml: f64,
}

/// A mix in its bowl.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LiveMix {
    /// When its first coat was done; it was mixed a little before.
    pub since: NaiveDateTime,
    /// When it is past its life.
    pub until: NaiveDateTime,
}

/// Lists all coats up to `now`, those of remade pieces too, oldest first.
pub(super) fn coats<'a>(
    orders: &'a [Order],
    studio: &Studio,
    now: NaiveDateTime,
) -> Vec<PastCoat<'a>> {
    let mut coats = Vec::new();
    for order in orders {
        for piece in &order.pieces {
            if !studio.materials.contains_key(&piece.material) {
                continue;
            }
            for event in piece.progress.events.iter().filter(|e| e.at <= now) {
                let Done::Stage {
                    stage: Stage::Coating,
                    coated,
                    ..
                } = &event.what
                else {
                    continue;
                };
                let alike = order.pieces.iter().filter(|other| {
                    other.entry == piece.entry && other.progress.events.contains(event)
                });
                let poured = coated.as_ref().and_then(|coated| coated.poured_ml);
                coats.push(PastCoat {
                    at: event.at,
                    piece,
                    poured: poured.map(|ml| (ml, alike.count() as u32)),
                });
            }
        }
    }
    coats.sort_by_key(|coat| coat.at);
    coats
}

/// Groups coats into sessions: what came under the brush within the life of a mix.
///
/// A session takes what was poured, or where nobody measured what would have been mixed.
pub(super) fn sessions(coats: &[PastCoat], studio: &Studio) -> Vec<PastSession> {
    let life = TimeDelta::minutes((studio.sensitizer.mix_life_hours * 60.0) as i64);
    let mut sessions = Vec::new();
    let mut rest = coats;
    while let Some(first) = rest.first() {
        let length = rest.iter().take_while(|c| c.at < first.at + life).count();
        let (own, later) = rest.split_at(length);
        sessions.push(session(first.at, own, studio));
        rest = later;
    }
    sessions
}

fn session(at: NaiveDateTime, coats: &[PastCoat], studio: &Studio) -> PastSession {
    let measured = coats.iter().filter_map(|coat| coat.poured);
    let poured_ml: f64 = measured
        .map(|(ml, copies)| ml / f64::from(copies.max(1)))
        .sum();
    let unmeasured: Vec<Coating> = coats
        .iter()
        .filter(|coat| coat.poured.is_none())
        .filter_map(|coat| {
            let material = studio.materials.get(&coat.piece.material)?;
            Some(Coating::sheet(coat.piece.size, material))
        })
        .collect();
    let recipe = &studio.sensitizer;
    let volume_ml = poured_ml + mix(&unmeasured, recipe).volume_ml;
    let a_ml = volume_ml * recipe.a_parts / (recipe.a_parts + recipe.b_parts);
    PastSession {
        at,
        a_ml,
        b_ml: volume_ml - a_ml,
    }
}

/// Finds the mix of the last session if it is of today.
pub(super) fn live_mix(
    sessions: &[PastSession],
    studio: &Studio,
    now: NaiveDateTime,
) -> Option<LiveMix> {
    let life = TimeDelta::minutes((studio.sensitizer.mix_life_hours * 60.0) as i64);
    let last = sessions.last()?;
    let until = last.at + life;
    (until > now || last.at.date() == now.date()).then_some(LiveMix {
        since: last.at,
        until,
    })
}
