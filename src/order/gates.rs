//! The gates of the trade: may this be said to be done to this piece, now?
//!
//! A gate answers with facts; their words are made in `view/gate`. What was
//! entered by hand in a file is history and is only warned about (`check`).

use chrono::{DateTime, NaiveDateTime, TimeDelta, TimeZone};
use chrono_tz::Tz;

use super::{Order, Piece, Progress};
use crate::stage::Stage;
use crate::studio::{Material, Studio};

/// What is to be marked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// The stage that is said to be done.
    pub stage: Stage,
    /// When it was done, on the studio's clock.
    pub at: NaiveDateTime,
}

/// Why a gate is closed.
#[derive(Debug, Clone, PartialEq)]
pub enum Closed {
    /// The order has left or was cancelled.
    OrderClosed,
    /// The piece or its order waits for something, in the maker's words.
    Held {
        /// What it waits for.
        reason: String,
    },
    /// Another stage comes next; none for a piece that has left.
    NotNext {
        /// The stage that comes next.
        next: Option<Stage>,
    },
    /// Something was done to the piece later than that.
    Earlier {
        /// When the last entry was.
        last_at: NaiveDateTime,
    },
    /// A wait is not over.
    TooSoon(Wait),
    /// Other pieces of the order are not finished.
    SistersOpen {
        /// Their numbers and what comes next for them.
        pieces: Vec<(u32, Stage)>,
    },
}

/// A wait that the trade asks for between two stages.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wait {
    /// What it counts from.
    pub since: Stage,
    /// When that was done.
    pub since_at: NaiveDateTime,
    /// How long it takes. [h]
    pub hours: f64,
    /// When it is over, on the studio's clock.
    pub over_at: NaiveDateTime,
}

/// Says whether `mark` may be set on `piece` of `order`.
///
/// A hold bars what begins something: coating, exposing, finishing, shipping. It
/// does not bar `dried` and `washed`, because a wet sheet waits for nobody.
///
/// # Errors
/// The first gate that is closed.
pub fn may_mark(order: &Order, piece: &Piece, mark: Mark, studio: &Studio) -> Result<(), Closed> {
    if order.is_closed() {
        return Err(Closed::OrderClosed);
    }
    let next = piece.progress.stage();
    if !may_follow(next, mark.stage) {
        return Err(Closed::NotNext { next });
    }
    let last = piece.progress.events.last();
    if let Some(last) = last.filter(|last| last.at > mark.at) {
        return Err(Closed::Earlier { last_at: last.at });
    }
    let hold = piece.hold.as_ref().or(order.hold.as_ref());
    if let Some(reason) = hold.filter(|_| is_barred_by_hold(mark.stage)) {
        return Err(Closed::Held {
            reason: reason.clone(),
        });
    }
    if let Some(material) = studio.materials.get(&piece.material)
        && let Some(wait) = find_wait(&piece.progress, mark, material, studio.place.zone)
    {
        return Err(Closed::TooSoon(wait));
    }
    match mark.stage {
        Stage::Shipping => sisters_are_finished(order),
        Stage::Coating | Stage::Drying | Stage::Exposing | Stage::Washing | Stage::Finishing => {
            Ok(())
        }
    }
}

/// Tells whether `stage` may be done when `next` comes next; drying may go
/// unmentioned, since nobody stands by to see it end.
pub fn may_follow(next: Option<Stage>, stage: Stage) -> bool {
    next == Some(stage) || (next == Some(Stage::Drying) && stage == Stage::Exposing)
}

/// Finds the wait that is not over when `mark` is set: the coat must be dry
/// before exposing, unless it was seen to be; the print must be dry and its
/// colour come before finishing.
pub fn find_wait(progress: &Progress, mark: Mark, material: &Material, zone: Tz) -> Option<Wait> {
    let (since, hours) = match mark.stage {
        Stage::Exposing if progress.done_at(Stage::Drying).is_none() => {
            (Stage::Coating, material.dark_dry_hours)
        }
        Stage::Finishing => (
            Stage::Washing,
            material.wet_dry_hours.max(material.cure_hours),
        ),
        Stage::Coating | Stage::Drying | Stage::Exposing | Stage::Washing | Stage::Shipping => {
            return None;
        }
    };
    let since_at = progress.done_at(since)?;
    let over_at = after_hours(since_at, hours, zone);
    (mark.at < over_at).then_some(Wait {
        since,
        since_at,
        hours,
        over_at,
    })
}

fn is_barred_by_hold(stage: Stage) -> bool {
    match stage {
        Stage::Coating | Stage::Exposing | Stage::Finishing | Stage::Shipping => true,
        Stage::Drying | Stage::Washing => false,
    }
}

fn sisters_are_finished(order: &Order) -> Result<(), Closed> {
    let open = |piece: &Piece| {
        let stage = piece.progress.stage()?;
        (stage != Stage::Shipping).then_some((piece.number, stage))
    };
    let pieces: Vec<_> = order.pieces.iter().filter_map(open).collect();
    match pieces.is_empty() {
        true => Ok(()),
        false => Err(Closed::SistersOpen { pieces }),
    }
}

/// Returns the clock's reading `hours` [h] after another, over a clock change, too.
///
/// A reading that the change skips counts from the hour after it, one that it
/// repeats from the first of the two.
fn after_hours(from: NaiveDateTime, hours: f64, zone: Tz) -> NaiveDateTime {
    let wait = TimeDelta::seconds((hours * 3600.0).round() as i64);
    let instant = |local: NaiveDateTime| -> Option<DateTime<Tz>> {
        zone.from_local_datetime(&local).earliest()
    };
    let start = instant(from).or_else(|| instant(from + TimeDelta::hours(1)));
    match start {
        Some(start) => (start + wait).naive_local(),
        None => from + wait,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::parse::{Against, parse};

    const STUDIO: &str = "
studio: The Blue Shed
place: {latitude_deg: 50, longitude_deg: 0, zone: Europe/London}
frames: [{name: a, inside: 40x50 cm}]
racks: {dark_dry_sheets: 4, wet_dry_sheets: 4}
trays: {inside: 40x50 cm}
materials: {rag: {kind: paper, target_dose_kj_m2: 29, dark_dry_hours: 6, cure_hours: 24}}
letters: {from: a@example.org}
";

    fn studio() -> Studio {
        let (studio, problems) = crate::studio::parse::parse(STUDIO, "studio.yaml");
        assert_eq!(problems, []);
        studio.unwrap()
    }

    fn order(extra: &str, progress: &[&str]) -> Order {
        let entries: String = progress
            .iter()
            .map(|entry| format!("      - {{{entry}}}\n"))
            .collect();
        let text = format!(
            "order: 1\ncustomer: {{name: A}}\nordered_on: 2026-03-01\njurisdiction: uk\n\
             delivery: home\n{extra}pieces:\n  - title: T\n    material: rag\n    size: A4\n    \
             copies: 2\n    negative: n\n    progress:\n{entries}"
        );
        let (order, problems) = parse(&text, "a.yaml", &Against::default());
        assert_eq!(problems, []);
        order.unwrap()
    }

    fn mark(order: &Order, stage: Stage, at: &str) -> Result<(), Closed> {
        let at = NaiveDateTime::parse_from_str(at, "%Y-%m-%d %H:%M").unwrap();
        may_mark(order, &order.pieces[0], Mark { stage, at }, &studio())
    }

    const COATED: &str = "at: 2026-05-10 20:00, did: coated";
    const EXPOSED: &str = "at: 2026-05-11 10:00, did: exposed";
    const WASHED: &str = "at: 2026-05-11 10:30, did: washed";

    /// By hand: coated at 20:00, six hours, so 02:00 of the next day.
    #[test]
    fn a_damp_coat_is_not_exposed_unless_it_was_seen_to_be_dry() {
        let damp = order("", &[COATED]);
        let Err(Closed::TooSoon(wait)) = mark(&damp, Stage::Exposing, "2026-05-11 01:59") else {
            panic!("the coat is damp");
        };
        assert_eq!(wait.over_at.to_string(), "2026-05-11 02:00:00");
        assert_eq!(mark(&damp, Stage::Exposing, "2026-05-11 02:00"), Ok(()));
        let dried = order("", &[COATED, "at: 2026-05-11 00:30, did: dried"]);
        assert_eq!(mark(&dried, Stage::Exposing, "2026-05-11 00:40"), Ok(()));
    }

    /// The clocks went forward on 29 March 2026 at 01:00: 20:00 and six hours is 03:00.
    #[test]
    fn the_night_of_the_clock_change_is_an_hour_shorter() {
        let damp = order("", &["at: 2026-03-28 20:00, did: coated"]);
        assert!(mark(&damp, Stage::Exposing, "2026-03-29 02:30").is_err());
        assert_eq!(mark(&damp, Stage::Exposing, "2026-03-29 03:00"), Ok(()));
    }

    #[test]
    fn colour_has_its_day_before_finishing() {
        let washed = order("", &[COATED, EXPOSED, WASHED]);
        assert!(matches!(
            mark(&washed, Stage::Finishing, "2026-05-12 10:29"),
            Err(Closed::TooSoon(_))
        ));
        assert_eq!(mark(&washed, Stage::Finishing, "2026-05-12 10:30"), Ok(()));
    }

    #[test]
    fn stages_come_in_their_order() {
        let coated = order("", &[COATED]);
        let at = "2026-05-12 12:00";
        for stage in [
            Stage::Coating,
            Stage::Washing,
            Stage::Finishing,
            Stage::Shipping,
        ] {
            let next = Some(Stage::Drying);
            assert_eq!(mark(&coated, stage, at), Err(Closed::NotNext { next }));
        }
        assert!(matches!(
            mark(&coated, Stage::Drying, "2026-05-10 19:00"),
            Err(Closed::Earlier { .. })
        ));
    }

    #[test]
    fn a_hold_bars_exposing_but_not_washing() {
        let hold = "hold: waits for payment\n";
        let coated = order(hold, &[COATED]);
        let closed = mark(&coated, Stage::Exposing, "2026-05-12 12:00");
        let reason = "waits for payment".to_owned();
        assert_eq!(closed, Err(Closed::Held { reason }));
        let exposed = order(hold, &[COATED, EXPOSED]);
        assert_eq!(mark(&exposed, Stage::Washing, "2026-05-11 10:20"), Ok(()));
    }

    #[test]
    fn nothing_leaves_before_its_sister() {
        let first = "at: 2026-05-13 10:00, did: finished, copies: [1]";
        let one = order("", &[COATED, EXPOSED, WASHED, first]);
        let closed = mark(&one, Stage::Shipping, "2026-05-13 11:00");
        let pieces = vec![(2, Stage::Finishing)];
        assert_eq!(closed, Err(Closed::SistersOpen { pieces }));
        let second = "at: 2026-05-13 10:10, did: finished, copies: [2]";
        let both = order("", &[COATED, EXPOSED, WASHED, first, second]);
        assert_eq!(mark(&both, Stage::Shipping, "2026-05-13 11:00"), Ok(()));
    }
}
