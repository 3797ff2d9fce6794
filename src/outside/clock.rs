//! The only place that asks for the time.
//!
//! "Now" is read once for a whole run and handed down; the stopwatch serves
//! nothing but the limit of a search.

use std::time::{Duration, Instant};

use chrono::{DateTime, Local, NaiveDate, SubsecRound, Utc};

/// Returns the present instant in whole seconds: what is written down as done now reads
/// back as the same moment.
#[expect(clippy::disallowed_methods, reason = "this is the one place that asks")]
pub fn now() -> DateTime<Utc> {
    Utc::now().trunc_subsecs(0)
}

/// Returns today where the machine stands, for a studio that has no place yet.
#[expect(clippy::disallowed_methods, reason = "this is the one place that asks")]
pub fn local_today() -> NaiveDate {
    Local::now().date_naive()
}

/// Waits. [s]
pub fn wait_seconds(seconds: f64) {
    std::thread::sleep(Duration::from_secs_f64(seconds.clamp(0.0, 3600.0)));
}

/// A limit in real time for a search.
#[derive(Debug, Clone, Copy)]
pub struct Stopwatch {
    start: Instant,
    limit: Duration,
}

impl Stopwatch {
    /// Starts a stopwatch that runs for `seconds`. [s]
    #[expect(clippy::disallowed_methods, reason = "this is the one place that asks")]
    pub fn of_seconds(seconds: f64) -> Stopwatch {
        // What is no number is no time.
        let limit = Duration::try_from_secs_f64(seconds.clamp(0.0, 1e6)).unwrap_or_default();
        Stopwatch {
            start: Instant::now(),
            limit,
        }
    }

    /// Tells which share of the time is over, 1 and more once it is.
    pub fn used(&self) -> f64 {
        self.start.elapsed().as_secs_f64() / self.limit.as_secs_f64().max(1e-9)
    }

    /// Tells whether time is left.
    pub fn is_running(&self) -> bool {
        self.start.elapsed() < self.limit
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stopwatch_takes_whatever_is_typed() {
        for seconds in [f64::NAN, f64::NEG_INFINITY, -1.0, 0.0] {
            assert!(!Stopwatch::of_seconds(seconds).is_running(), "{seconds}");
        }
        assert!(Stopwatch::of_seconds(f64::INFINITY).is_running());
    }
}
