//! Stock solutions and salts: which bottle a mix is poured from, when one must be made.

use chrono::{NaiveDateTime, TimeDelta};

use super::used::PastSession;
use super::{Missing, Shortage, at_work_before};
use crate::plan::week::{OrderPieces, Week, What};
use crate::stock::{Bottle, Part, Salt, Stock};
use crate::studio::{Sensitizer, Studio};

/// A bottle and what becomes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct BottleState {
    /// As it stands in the file.
    pub bottle: Bottle,
    /// What is in it now, by count and record. [ml]
    pub left_now_ml: f64,
    /// What is left when the plan is done. [ml]
    pub left_then_ml: f64,
    /// Days of the calendar since it was made. [d]
    pub age_days: i64,
    /// From when on it may be used.
    pub rested_at: NaiveDateTime,
    /// Until when it keeps.
    pub keeps_until: NaiveDateTime,
}

/// A stock to make.
#[derive(Debug, Clone, PartialEq)]
pub struct Make {
    /// Which.
    pub part: Part,
    /// What the plan lacks of it. [ml]
    pub lacking_ml: f64,
    /// How much to make: a bottle as the last one, or what is lacking if that is more. [ml]
    pub ml: f64,
    /// Salt for that. [g]
    pub grams: f64,
    /// The session that needs it first.
    pub needed_at: NaiveDateTime,
    /// The last moment of work at which it is made in time to rest.
    pub make_by: NaiveDateTime,
    /// Whether that moment is past, so that it will rest less than it should.
    pub is_late: bool,
}

/// A salt and what becomes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SaltState {
    /// As it stands in the file.
    pub salt: Salt,
    /// What is there now, by weight and record; never below none. [g]
    pub left_now_g: f64,
    /// What the plan takes: of the salt itself, or in the stock that is made of it. [g]
    pub planned_g: f64,
    /// What the stocks take that are to be made for the plan; zero where mixes are made
    /// from the salts. [g]
    pub making_g: f64,
}

/// Carries bottles and salts on, and finds which stocks must be made.
pub(super) fn carried_on(
    stock: &Stock,
    studio: &Studio,
    past: &[PastSession],
    week: &Week,
    now: NaiveDateTime,
) -> (Vec<BottleState>, Vec<Make>, Vec<SaltState>) {
    let mut bottles: Vec<BottleState> = stock
        .bottles
        .iter()
        .map(|bottle| state(bottle, stock, now))
        .collect();
    for session in past {
        for (part, ml) in [(Part::A, session.a_ml), (Part::B, session.b_ml)] {
            draw_past(&mut bottles, part, ml, session.at);
        }
    }
    for bottle in &mut bottles {
        bottle.left_now_ml = bottle.left_then_ml;
    }
    let has_bottles = !bottles.is_empty();
    let planned = planned(week);
    let mut makes = Vec::new();
    for part in Part::BOTH {
        let mut lacking = 0.0;
        let mut first = None;
        for (at, [a_ml, b_ml], stands) in &planned {
            let ml = if part == Part::A { *a_ml } else { *b_ml };
            let missing = draw(&mut bottles, part, ml, *at);
            // A mix that stands lacks nothing, whatever was counted.
            if missing > 0.005 && !stands {
                lacking += missing;
                first.get_or_insert(*at);
            }
        }
        if let Some(needed_at) = first.filter(|_| has_bottles) {
            makes.push(make(part, lacking, needed_at, (stock, studio), now));
        }
    }
    let mut salts = salts(stock, studio, past, &planned, &makes);
    for make in &mut makes {
        let own = salts.iter_mut().find(|state| state.salt.part == make.part);
        if let Some(state) = own {
            make.take_from(state, percent(make.part, &studio.sensitizer));
        }
    }
    (bottles, makes, salts)
}

fn state(bottle: &Bottle, stock: &Stock, now: NaiveDateTime) -> BottleState {
    let minutes = |hours: f64| TimeDelta::minutes((hours * 60.0).round() as i64);
    BottleState {
        left_now_ml: bottle.left_ml,
        left_then_ml: bottle.left_ml,
        age_days: (now.date() - bottle.made_at.date()).num_days(),
        rested_at: bottle.made_at + minutes(stock.rules.rest_hours),
        keeps_until: bottle.made_at + minutes(bottle.keep_days * 24.0),
        bottle: bottle.clone(),
    }
}

/// Pours a mix of the past from the oldest bottle that was there and had something; what
/// was poured before a bottle was looked at is in what was seen.
fn draw_past(bottles: &mut [BottleState], part: Part, ml: f64, at: NaiveDateTime) {
    let mut wanted = ml;
    for bottle in by_age(bottles, part) {
        if bottle.bottle.made_at > at || wanted <= 0.0 {
            continue;
        }
        if bottle.bottle.counted_at > at {
            return;
        }
        let taken = wanted.min(bottle.left_then_ml);
        bottle.left_then_ml -= taken;
        wanted -= taken;
    }
}

/// Pours a mix of the plan from bottles that have rested and keep; returns what is missing.
/// [ml]
fn draw(bottles: &mut [BottleState], part: Part, ml: f64, at: NaiveDateTime) -> f64 {
    let mut wanted = ml;
    for bottle in by_age(bottles, part) {
        if bottle.rested_at <= at && at <= bottle.keeps_until {
            let taken = wanted.min(bottle.left_then_ml);
            bottle.left_then_ml -= taken;
            wanted -= taken;
        }
    }
    wanted
}

fn by_age(bottles: &mut [BottleState], part: Part) -> Vec<&mut BottleState> {
    let own = bottles.iter_mut().filter(|state| state.bottle.part == part);
    let mut own: Vec<&mut BottleState> = own.collect();
    own.sort_by_key(|state| state.bottle.made_at);
    own
}

/// Lists the sessions of the plan with what they take of A and B [ml], and whether their
/// mix stands already.
fn planned(week: &Week) -> Vec<(NaiveDateTime, [f64; 2], bool)> {
    let steps = week.days.iter().flat_map(|day| &day.steps);
    let mut sessions: Vec<_> = steps
        .filter_map(|step| match &step.what {
            What::Coat(session) => {
                let ml = [session.mix.a_ml, session.mix.b_ml];
                Some((step.from, ml, session.stands))
            }
            _ => None,
        })
        .collect();
    sessions.sort_by_key(|(at, ..)| *at);
    sessions
}

fn make(
    part: Part,
    ml: f64,
    needed_at: NaiveDateTime,
    (stock, studio): (&Stock, &Studio),
    now: NaiveDateTime,
) -> Make {
    let rest = TimeDelta::minutes((stock.rules.rest_hours * 60.0).round() as i64);
    let make_by = at_work_before(needed_at - rest, studio);
    let bottles = stock.bottles.iter().filter(|bottle| bottle.part == part);
    let last = bottles.max_by_key(|bottle| bottle.made_at);
    let lacking_ml = ml;
    let ml = last.map_or(0.0, |bottle| bottle.made_ml).max(ml.ceil());
    Make {
        part,
        lacking_ml,
        ml,
        grams: ml * percent(part, &studio.sensitizer) / 100.0,
        needed_at,
        make_by: make_by.max(now),
        is_late: make_by < now,
    }
}

impl Make {
    /// Makes no more than there is salt for, but what is lacking, and notes on the salt what
    /// that takes.
    fn take_from(&mut self, state: &mut SaltState, percent: f64) {
        if self.grams > state.left_now_g {
            let enough = (state.left_now_g / percent * 100.0).floor();
            self.ml = enough.max(self.lacking_ml.ceil());
            self.grams = self.ml * percent / 100.0;
        }
        state.making_g = self.grams;
    }
}

fn percent(part: Part, sensitizer: &Sensitizer) -> f64 {
    match part {
        Part::A => sensitizer.a_percent,
        Part::B => sensitizer.b_percent,
    }
}

/// Carries the salts on: bottles are made from them, or without bottles each mix is.
fn salts(
    stock: &Stock,
    studio: &Studio,
    past: &[PastSession],
    planned: &[(NaiveDateTime, [f64; 2], bool)],
    makes: &[Make],
) -> Vec<SaltState> {
    let has_bottles = !stock.bottles.is_empty();
    let mut salts: Vec<SaltState> = stock
        .salts
        .iter()
        .map(|salt| {
            let share = percent(salt.part, &studio.sensitizer) / 100.0;
            let of = |a: f64, b: f64| if salt.part == Part::A { a } else { b };
            let since = stock.bottles.iter();
            let since = since.filter(|b| b.part == salt.part && b.made_at >= salt.counted_at);
            let (used_ml, planned_ml): (f64, f64) = match has_bottles {
                true => (
                    since.map(|bottle| bottle.made_ml).sum(),
                    makes
                        .iter()
                        .filter(|m| m.part == salt.part)
                        .map(|m| m.lacking_ml)
                        .sum(),
                ),
                false => (
                    past.iter()
                        .filter(|session| session.at >= salt.counted_at)
                        .map(|session| of(session.a_ml, session.b_ml))
                        .sum(),
                    planned.iter().map(|(_, [a, b], _)| of(*a, *b)).sum(),
                ),
            };
            SaltState {
                left_now_g: (salt.grams - used_ml * share).max(0.0),
                planned_g: planned_ml * share,
                making_g: 0.0,
                salt: salt.clone(),
            }
        })
        .collect();
    salts.sort_by_key(|state| state.salt.part);
    salts
}

/// Lists salts of which the plan takes more than there is.
pub(super) fn missing_salts<'a>(
    salts: &'a [SaltState],
    makes: &'a [Make],
    week: &'a Week,
) -> impl Iterator<Item = Shortage> {
    let short = salts.iter();
    let short = short.filter(|state| state.planned_g > state.left_now_g + 0.005);
    short.map(|state| {
        let part = state.salt.part;
        let make = makes.iter().find(|make| make.part == part);
        let first = make.map(|make| make.make_by);
        let first = first.or_else(|| planned(week).first().map(|(at, ..)| *at));
        Shortage {
            what: Missing::Salt(part),
            amount: state.planned_g - state.left_now_g,
            pieces: from_the(make.map(|make| make.needed_at), week),
            on: first.map(|at| at.date()),
            buy_by: None,
            arrives_on: None,
        }
    })
}

/// Lists the pieces that are coated from a moment on.
fn from_the(moment: Option<NaiveDateTime>, week: &Week) -> Vec<OrderPieces> {
    let mut pieces: Vec<OrderPieces> = Vec::new();
    for step in week.days.iter().flat_map(|day| &day.steps) {
        let What::Coat(session) = &step.what else {
            continue;
        };
        if moment.is_some_and(|moment| step.from < moment) {
            continue;
        }
        for some in session.coats.iter().flat_map(|coat| &coat.batch.pieces) {
            match pieces.iter_mut().find(|known| known.order == some.order) {
                Some(known) => {
                    known.numbers.extend(&some.numbers);
                    known.numbers.sort_unstable();
                }
                None => pieces.push(some.clone()),
            }
        }
    }
    pieces
}
