//! The steps of a day with numbers, the same in the picture and in the lists.
//!
//! A coating session is taken apart: mixing is a step, and so is each lot under the
//! brush, for other work may lie between them.

use chrono::NaiveDateTime;

use crate::plan::week::{Batch, Coat, Parcel, Round, Session, Step, What};

/// A kind of work with a list of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Mixing and coating.
    Coat,
    /// Loading a frame and exposing.
    Expose,
    /// Washing.
    Wash,
    /// Finishing.
    Finish,
    /// Packing.
    Pack,
}

/// A step with its number among its kind on this day; mixing has none of its own.
#[derive(Debug, Clone, Copy)]
pub struct Numbered<'a> {
    /// Its kind.
    pub work: Work,
    /// From 1; 0 for mixing.
    pub number: usize,
    /// When it begins.
    pub from: NaiveDateTime,
    /// When it ends.
    pub until: NaiveDateTime,
    /// The session, for mixing.
    pub session: Option<&'a Session>,
    /// The lot, for coating.
    pub coat: Option<&'a Coat>,
    /// The round, for exposing.
    pub round: Option<&'a Round>,
    /// The pieces, for washing and finishing.
    pub batch: Option<&'a Batch>,
    /// The order, for packing.
    pub parcel: Option<&'a Parcel>,
}

impl<'a> Numbered<'a> {
    fn new(work: Work, from: NaiveDateTime, until: NaiveDateTime) -> Numbered<'a> {
        Numbered {
            work,
            number: 0,
            from,
            until,
            session: None,
            coat: None,
            round: None,
            batch: None,
            parcel: None,
        }
    }
}

/// Numbers the steps of a day by kind, in the order of time.
pub fn numbered(steps: &[Step]) -> Vec<Numbered<'_>> {
    let mut list: Vec<Numbered> = steps.iter().flat_map(taken_apart).collect();
    list.sort_by_key(|step| step.from);
    for work in [
        Work::Coat,
        Work::Expose,
        Work::Wash,
        Work::Finish,
        Work::Pack,
    ] {
        let of_kind = list
            .iter_mut()
            .filter(|step| step.work == work && step.session.is_none());
        for (number, step) in (1..).zip(of_kind) {
            step.number = number;
        }
    }
    list
}

fn taken_apart(step: &Step) -> Vec<Numbered<'_>> {
    let plain = |work| Numbered::new(work, step.from, step.until);
    match &step.what {
        What::Coat(session) => {
            let mixing = Numbered {
                session: Some(session),
                ..Numbered::new(Work::Coat, step.from, session.ready)
            };
            let coats = session.coats.iter().map(|coat| Numbered {
                coat: Some(coat),
                ..Numbered::new(Work::Coat, coat.from, coat.until)
            });
            std::iter::once(mixing).chain(coats).collect()
        }
        What::Expose(round) => vec![Numbered {
            round: Some(round),
            ..plain(Work::Expose)
        }],
        What::Wash(batch) => vec![Numbered {
            batch: Some(batch),
            ..plain(Work::Wash)
        }],
        What::Finish(batch) => vec![Numbered {
            batch: Some(batch),
            ..plain(Work::Finish)
        }],
        What::Pack(parcel) => vec![Numbered {
            parcel: Some(parcel),
            ..plain(Work::Pack)
        }],
        What::Leave(_) => Vec::new(),
    }
}
