//! Fetching a forecast, as far as no network is needed: what to ask, whether it is
//! time to ask, whether the answer is good enough to replace the one that is kept.
//!
//! Asking itself is done outside the inner ranks. Nothing here is guessed from
//! the clock of the service alone: how long an answer holds is counted from the
//! moment at which it came.

mod accept;
mod record;
mod request;

pub use accept::accept;
pub use record::{Headers, Kept, Record, Turn, ask_again_from, fingerprint, record_file, turn};
pub use request::{Request, user_agent};

use chrono::{DateTime, Utc};

use super::Forecast;
use crate::problem::Problem;

/// How asking for a forecast ended.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// The service was not asked: its last answer holds until then.
    StillHolds {
        /// Until when.
        until: DateTime<Utc>,
    },
    /// The service has nothing newer than what is kept.
    Unchanged {
        /// Before this it is not asked again.
        until: DateTime<Utc>,
    },
    /// A new forecast is kept.
    New {
        /// The forecast.
        forecast: Box<Forecast>,
        /// What is worth a look in it.
        problems: Vec<Problem>,
        /// The service says that what was asked is about to go.
        deprecated: bool,
        /// Before this it is not asked again.
        until: DateTime<Utc>,
    },
    /// The service said no; what is kept stays.
    Refused(Refusal),
    /// The answer is no forecast that could be used; what is kept stays.
    Unusable(Vec<Problem>),
}

/// How a service says no.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// 401 or 403: it does not want this caller, or not this way.
    Forbidden {
        /// 401 or 403.
        status: u16,
        /// Its own words, if there were any.
        words: Option<String>,
    },
    /// 404: it knows nothing of that address or place.
    NotFound,
    /// 429: it was asked too often.
    TooMany {
        /// Before this it is not asked again.
        until: DateTime<Utc>,
    },
    /// 5xx: it is out of order.
    OutOfOrder {
        /// The status.
        status: u16,
        /// Before this it is not asked again, if it named a time.
        until: Option<DateTime<Utc>>,
    },
    /// Any other status.
    Other {
        /// The status.
        status: u16,
        /// Its own words, if there were any.
        words: Option<String>,
    },
    /// It was not asked now, since it asked for a rest.
    Resting {
        /// Until when.
        until: DateTime<Utc>,
    },
}
