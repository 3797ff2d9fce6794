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

/// When a lot can be coated, as long as the draft stays as it is.
pub(super) struct Outlook<'d, 'g> {
    draft: &'d Draft<'g>,
    facts: &'d LotFacts,
    joined: Firsts,
    opened: Firsts,
}

impl<'d, 'g> Outlook<'d, 'g> {
    pub(super) fn new(draft: &'d Draft<'g>, facts: &'d LotFacts) -> Self {
        Self {
            draft,
            facts,
            joined: Firsts::default(),
            opened: Firsts::default(),
        }
    }

    /// Returns before when the lot cannot be loaded, whatever is opened for it.
    pub(super) fn soonest_load(&mut self) -> At {
        let facts = self.facts;
        let joined = self.joined_from(facts.release);
        let opened = self.opened_from(facts.release);
        let first = joined.into_iter().chain(opened).min();
        first.map_or(At::MAX, |at| at + facts.coat + facts.dark)
    }

    /// Returns whether a session must be opened for the lot to be dry when it is
    /// loaded at `load`, and `None` if it cannot be.
    pub(super) fn opening(&mut self, load: At) -> Option<bool> {
        let (first, last) = coat_range(self.facts, load);
        let begin = self.facts.release;
        let serves = |at: At| at <= last;
        let joined = match self.joined_from(begin) {
            Some(at) if at < first => self.joined_from(first),
            answer => answer,
        };
        if joined.is_some_and(serves) {
            return Some(false);
        }
        let opened = match self.opened_from(begin) {
            Some(at) if at < first => self.opened_from(first),
            answer => answer,
        };
        opened.is_some_and(serves).then_some(true)
    }

    /// Returns the first coating from `from` on in an open session.
    fn joined_from(&mut self, from: At) -> Option<At> {
        let (draft, facts, until) = (self.draft, self.facts, self.draft.ground.horizon);
        let look = || join_first(draft, facts, from, until).map(|coat| coat.at);
        self.joined.find(from, look)
    }

    /// Returns the first coating from `from` on in a session opened for it.
    fn opened_from(&mut self, from: At) -> Option<At> {
        let (draft, facts, until) = (self.draft, self.facts, self.draft.ground.horizon);
        let look = || open_first(draft, facts, from, until).map(|coat| coat.at);
        self.opened.find(from, look)
    }
}

/// Answers to "which is the first from here on", remembered.
///
/// A first one at or after some moment is also the first after every moment between.
#[derive(Debug, Default)]
struct Firsts(Vec<(At, Option<At>)>);

impl Firsts {
    fn find(&mut self, from: At, look: impl FnOnce() -> Option<At>) -> Option<At> {
        let known = self
            .0
            .iter()
            .find(|(asked, answer)| *asked <= from && answer.is_none_or(|answer| from <= answer));
        if let Some(&(_, answer)) = known {
            return answer;
        }
        let answer = look();
        match self.0.iter_mut().find(|known| known.1 == answer) {
            Some(known) => known.0 = from,
            None => self.0.push((from, answer)),
        }
        answer
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
    let setup = draft.ground.setup;
    let soonest = (first + facts.coat - draft.ground.mix_life - setup).max(0);
    let latest = last - setup;
    let mut until = rng.random_range(soonest..=latest.max(soonest));
    while let Some(session) = draft.hands.find_last(soonest, until, setup) {
        if let Some(coat) = open_at(draft, facts, session, first, last) {
            return Some(coat);
        }
        until = session - 1;
    }
    open_first(draft, facts, first, last)
}

/// Returns the first and last start of coating for a lot loaded at `load`.
fn coat_range(facts: &LotFacts, load: At) -> (At, At) {
    let last = load - facts.dark - facts.coat;
    (facts.release.max(last - facts.keep), last)
}

/// Finds the earliest coating in an open session, starting in `[first, last]`.
fn join_first(draft: &Draft, facts: &LotFacts, first: At, last: At) -> Option<Coat> {
    let over = |session: At| session + draft.ground.setup + draft.ground.mix_life <= first;
    let from = draft
        .sessions
        .partition_point(|&(session, _)| over(session));
    draft.sessions[from..]
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

/// Finds the earliest coating in a new session, which is opened as late as it may be.
fn open_first(draft: &Draft, facts: &LotFacts, first: At, last: At) -> Option<Coat> {
    let ground = draft.ground;
    let wait = ground.setup + ground.mix_life - facts.coat;
    let mut from = first.max(ground.setup);
    loop {
        // Days that have all their sessions are passed over.
        from = from.max(draft.next_session_from(from - wait)? + ground.setup);
        let at = coat_first(draft, facts, from, last)?;
        let soonest = at - wait;
        let mut until = at - ground.setup;
        while let Some(session) = draft.hands.find_last(soonest, until, ground.setup) {
            if draft.admits_session(session) {
                return Some(Coat { at, session });
            }
            until = session - 1;
        }
        from = at + 1;
    }
}

/// Finds a coating in a new session that starts at `session`.
fn open_at(draft: &Draft, facts: &LotFacts, session: At, first: At, last: At) -> Option<Coat> {
    if !draft.admits_session(session) {
        return None;
    }
    in_session(draft, facts, session, first, last)
}

/// Finds the earliest coating with the mix of the session that starts at `session`.
fn in_session(draft: &Draft, facts: &LotFacts, session: At, first: At, last: At) -> Option<Coat> {
    let ground = draft.ground;
    let mixed = session + ground.setup;
    let until = last.min(mixed + ground.mix_life - facts.coat);
    let at = coat_first(draft, facts, first.max(mixed), until)?;
    Some(Coat { at, session })
}

/// Finds the first moment in `[from, until]` at which hands can coat and the rack has
/// room.
fn coat_first(draft: &Draft, facts: &LotFacts, mut from: At, until: At) -> Option<At> {
    let rack = &draft.places[facts.dark_rack];
    loop {
        let at = draft.hands.find_first(from, until, facts.coat)?;
        match rack.overfull(at + facts.coat, facts.dark, facts.amount) {
            None => return Some(at),
            Some(slot) => from = slot + 1 - facts.coat,
        }
    }
}
