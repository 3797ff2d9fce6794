//! Where a lot can be coated: in a session that is open, or in a new one.
//!
//! A lot that is dry early can wait in its box, so the earliest possible coating
//! answers for nearly every exposure at once; only where the box limits the wait
//! does each exposure need its own look.

use rand::Rng;
use rand::rngs::SmallRng;

use super::At;
use super::draft::{Coat, Draft};
use super::ground::LotFacts;

/// When a lot can be dry at the earliest.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outlook {
    /// Coated in a session that is open already.
    joined: Option<At>,
    /// Coated in a session opened for it.
    opened: Option<At>,
}

/// Looks for the earliest coating of a lot.
pub(super) fn outlook(draft: &Draft, facts: &LotFacts) -> Outlook {
    let last = draft.ground.horizon;
    let dry = |coat: Coat| coat.at + facts.coat + facts.dark;
    Outlook {
        joined: join_first(draft, facts, facts.release, last).map(dry),
        opened: open_first(draft, facts, facts.release, last).map(dry),
    }
}

impl Outlook {
    /// Returns whether a session must be opened for the lot to be dry when it is
    /// loaded at `load`, and `None` if it cannot be.
    pub(super) fn opening(&self, draft: &Draft, facts: &LotFacts, load: At) -> Option<bool> {
        let oldest = load - facts.keep;
        let (first, last) = coat_range(facts, load);
        match self.joined {
            Some(dry) if dry <= load => {
                if dry >= oldest || join_first(draft, facts, first, last).is_some() {
                    return Some(false);
                }
            }
            Some(_) | None => {}
        }
        match self.opened {
            Some(dry) if dry <= load => {
                (dry >= oldest || open_first(draft, facts, first, last).is_some()).then_some(true)
            }
            Some(_) | None => None,
        }
    }
}

/// Chooses the coating of a lot that is loaded at `load`: the last open session
/// that serves, or else a new one at some moment that serves.
pub(super) fn choose(
    draft: &Draft,
    facts: &LotFacts,
    load: At,
    rng: &mut SmallRng,
) -> Option<Coat> {
    let (first, last) = coat_range(facts, load);
    if let Some(coat) = join_last(draft, facts, first, last) {
        return Some(coat);
    }
    let earliest = open_first(draft, facts, first, last)?;
    let latest = last - draft.ground.setup;
    let probe = rng.random_range(earliest.session..=latest.max(earliest.session));
    let session = (earliest.session..=probe)
        .rev()
        .find_map(|session| open_at(draft, facts, session, first, last));
    session.or(Some(earliest))
}

/// Returns the first and last start of coating for a lot loaded at `load`.
fn coat_range(facts: &LotFacts, load: At) -> (At, At) {
    let last = load - facts.dark - facts.coat;
    (facts.release.max(last - facts.keep), last)
}

/// Finds the earliest coating in an open session, starting in `[first, last]`.
fn join_first(draft: &Draft, facts: &LotFacts, first: At, last: At) -> Option<Coat> {
    draft
        .sessions
        .iter()
        .find_map(|&(session, _)| in_session(draft, facts, session, first, last))
}

/// Finds a coating in the last open session that has room.
fn join_last(draft: &Draft, facts: &LotFacts, first: At, last: At) -> Option<Coat> {
    draft
        .sessions
        .iter()
        .rev()
        .find_map(|&(session, _)| in_session(draft, facts, session, first, last))
}

/// Finds the earliest coating in a new session.
fn open_first(draft: &Draft, facts: &LotFacts, first: At, last: At) -> Option<Coat> {
    let ground = draft.ground;
    let mut from = first - ground.setup - (ground.mix_life - facts.coat);
    loop {
        let session = draft
            .hands
            .find_first(from, last - ground.setup, ground.setup)?;
        if !draft.session_left(session) {
            from = (session / ground.per_day + 1) * ground.per_day;
            continue;
        }
        if let Some(coat) = open_at(draft, facts, session, first, last) {
            return Some(coat);
        }
        from = session + 1;
    }
}

/// Finds a coating in a new session that starts at `session`.
fn open_at(draft: &Draft, facts: &LotFacts, session: At, first: At, last: At) -> Option<Coat> {
    let ground = draft.ground;
    let free = draft.session_left(session) && draft.hands.fits(session, ground.setup);
    let taken = draft
        .sessions
        .binary_search_by_key(&session, |s| s.0)
        .is_ok();
    if !free || taken {
        return None;
    }
    in_session(draft, facts, session, first, last)
}

/// Finds the earliest coating with the mix of the session that starts at `session`.
fn in_session(draft: &Draft, facts: &LotFacts, session: At, first: At, last: At) -> Option<Coat> {
    let ground = draft.ground;
    let mixed = session + ground.setup;
    let until = last.min(mixed + ground.mix_life - facts.coat);
    let rack = &draft.places[facts.dark_rack];
    let mut from = first.max(mixed);
    loop {
        let at = draft.hands.find_first(from, until, facts.coat)?;
        if rack.fits(at + facts.coat, facts.dark, facts.amount) {
            return Some(Coat { at, session });
        }
        from = at + 1;
    }
}
