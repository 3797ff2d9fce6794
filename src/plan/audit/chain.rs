//! One lot from what is done to the end of its finishing: rules R3 to R14.

use super::verdict::{Broken, FrameWork, Resource, Span};
use super::{Judge, narrowed};
use crate::plan::model::{Lot, LotTiming, Slot};

/// How far a lot had come before the plan begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Begun {
    /// Everything is to do.
    Not,
    /// It came off the brush then.
    Coated(Slot),
    /// It came out of the frame then and waits for the wash.
    Exposed(Slot),
    /// It came out of the water then.
    Washed(Slot),
}

/// How far `lot` had come; the latest stage counts if the instance names several.
pub(super) fn begun(lot: &Lot) -> Begun {
    match (lot.coated_end, lot.exposed_end, lot.washed_end) {
        (_, _, Some(washed)) => Begun::Washed(washed),
        (_, Some(exposed), None) => Begun::Exposed(exposed),
        (Some(coated), None, None) => Begun::Coated(coated),
        (None, None, None) => Begun::Not,
    }
}

/// The rack that a lot fills because of what was done before, and how long.
pub(super) fn hanging(lot: &Lot) -> Option<(Resource, Span)> {
    match begun(lot) {
        Begun::Coated(end) => Some((Resource::Dark(lot.space), Span::new(end, lot.dark))),
        Begun::Washed(end) => Some((Resource::Open(lot.space), Span::new(end, lot.open))),
        Begun::Not | Begun::Exposed(_) => None,
    }
}

impl<'a> Judge<'a> {
    /// Follows one lot as far as its steps are known.
    pub(super) fn judge_lot(&mut self, lot: &'a Lot, steps: &LotTiming) {
        if let Some(washed) = self.end_of_washing(lot, steps) {
            self.judge_finishing(lot, washed, steps.finish);
        }
    }

    fn end_of_washing(&mut self, lot: &'a Lot, steps: &LotTiming) -> Option<Slot> {
        let (unloaded, latest) = match begun(lot) {
            Begun::Washed(end) => return Some(end),
            Begun::Exposed(end) => (end, None),
            Begun::Coated(end) => self.end_in_frame(lot, end, steps)?,
            Begun::Not => {
                let coated = self.end_of_coating(lot, steps)?;
                self.end_in_frame(lot, coated, steps)?
            }
        };
        Some(self.judge_washing(lot, steps.wash?, unloaded, latest))
    }

    /// R3 to R5, and the dark-dry rack; returns the end of coating.
    fn end_of_coating(&mut self, lot: &'a Lot, steps: &LotTiming) -> Option<Slot> {
        let at = Span::new(steps.coat?, lot.coat);
        let name = || lot.id.clone();
        self.take_hands(&lot.id, at, |at| Broken::CoatingOutsideWork {
            lot: name(),
            at,
        });
        self.rule(at.from >= lot.release, || Broken::CoatedBeforeRelease {
            lot: name(),
            coat: at.from,
            release: lot.release,
        });
        let session = steps.session?;
        let rule = &self.instance.session;
        let made = self.timing.sessions.get(session);
        let life = made.map(|made| Span::new(made.start + rule.setup, rule.mix_life));
        let kept = life.is_some_and(|life| life.from <= at.from && at.until <= life.until);
        self.rule(kept, || Broken::CoatedOutsideMix {
            lot: name(),
            session,
            at,
            life,
        });
        life?;
        let dark = Span::new(at.until, lot.dark);
        self.occupy(Resource::Dark(lot.space), &lot.id, dark, lot.amount);
        Some(at.until)
    }

    /// R6 to R9, and the frame; returns the end of unloading and the last start of the wash.
    fn end_in_frame(
        &mut self,
        lot: &'a Lot,
        coated: Slot,
        steps: &LotTiming,
    ) -> Option<(Slot, Option<Slot>)> {
        let expose = steps.expose?;
        let (minutes, risk) = self.admissible(lot, expose)?;
        self.cost.risk = narrowed(i128::from(self.cost.risk) + i128::from(risk));
        let dry = coated + lot.dark;
        let exposure = Span::new(expose, minutes);
        let (load, unload) = (self.instance.load, self.instance.unload);
        let inside = Span {
            from: exposure.from - load,
            until: exposure.until + unload,
        };
        let name = || lot.id.clone();
        self.rule(dry <= inside.from, || Broken::LoadedWet {
            lot: name(),
            load: inside.from,
            dry,
        });
        let keep_until = dry + lot.keep;
        self.rule(inside.from <= keep_until, || Broken::KeptTooLong {
            lot: name(),
            load: inside.from,
            keep_until,
        });
        self.judge_frame_work(lot, exposure, inside);
        self.occupy(Resource::Frame(lot.frame.clone()), &lot.id, inside, 1);
        Some((inside.until, Some(inside.until + self.instance.wash_gap)))
    }

    /// R6: the duration and the risk of the one row that admits this start.
    fn admissible(&mut self, lot: &'a Lot, expose: Slot) -> Option<(Slot, i64)> {
        let options = &self.instance.classes[lot.cls].options;
        let mut rows = options
            .iter()
            .filter(|&&(first, last, ..)| first <= expose && expose <= last);
        let row = match (rows.next(), rows.next()) {
            (Some(&(_, _, duration, risk)), None) => Some((duration, risk)),
            (None, _) | (Some(_), Some(_)) => None,
        };
        self.rule(row.is_some(), || Broken::ExposedOutsideWindow {
            lot: lot.id.clone(),
            expose,
        });
        row
    }

    /// R9.
    fn judge_frame_work(&mut self, lot: &'a Lot, exposure: Span, inside: Span) {
        let loading = Span {
            from: inside.from,
            until: exposure.from,
        };
        let unloading = Span {
            from: exposure.until,
            until: inside.until,
        };
        let steps: &[(FrameWork, Span)] = match lot.attended {
            true => &[(FrameWork::Attending, inside)],
            false => &[
                (FrameWork::Loading, loading),
                (FrameWork::Unloading, unloading),
            ],
        };
        for &(work, at) in steps {
            self.take_hands(&lot.id, at, |at| Broken::FrameOutsideWork {
                lot: lot.id.clone(),
                work,
                at,
            });
        }
    }

    /// R10 and R11, the trays and the wet-dry rack; returns the end of the wash.
    fn judge_washing(
        &mut self,
        lot: &'a Lot,
        wash: Slot,
        unloaded: Slot,
        latest: Option<Slot>,
    ) -> Slot {
        let name = || lot.id.clone();
        let kept = unloaded <= wash && latest.is_none_or(|latest| wash <= latest);
        self.rule(kept, || Broken::WashedAtWrongTime {
            lot: name(),
            wash,
            earliest: unloaded,
            latest,
        });
        let at = Span::new(wash, lot.wash);
        self.take_hands(&lot.id, at, |at| Broken::WashingOutsideWork {
            lot: name(),
            at,
        });
        self.occupy(Resource::Trays, &lot.id, at, lot.tray);
        let open = Span::new(at.until, lot.open);
        self.occupy(Resource::Open(lot.space), &lot.id, open, lot.amount);
        at.until
    }

    /// R12 to R14.
    fn judge_finishing(&mut self, lot: &'a Lot, washed: Slot, finish: Slot) {
        let earliest = washed + lot.open.max(lot.cure);
        self.rule(finish >= earliest, || Broken::FinishedTooEarly {
            lot: lot.id.clone(),
            finish,
            earliest,
        });
        let at = Span::new(finish, lot.finish);
        self.take_hands(&lot.id, at, |at| Broken::FinishingOutsideWork {
            lot: lot.id.clone(),
            at,
        });
        self.ends_inside_horizon(&lot.id, at.until);
        self.finished.insert(&lot.id, at.until);
    }
}
