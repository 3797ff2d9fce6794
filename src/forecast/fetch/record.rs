//! What is remembered of the last answer, and whether it is time to ask again.
//!
//! The record lies beside the forecast. It counts only for the very file that it
//! was written with: who puts another forecast there by hand has asked nobody.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::Request;

/// Name and version of the record's format.
const FORMAT: &str = "fairday-fetch/1";

/// The rest that a service gets that does not say how long its answer holds. [own choice]
const HOLDS_UNSAID: TimeDelta = TimeDelta::minutes(10);

/// No answer is believed to hold longer. [own choice]
const HOLDS_MOST: TimeDelta = TimeDelta::hours(24);

/// The rest after "too many requests" without a time. [own choice]
const REST_UNSAID: TimeDelta = TimeDelta::hours(1);

/// A clock that is back by more than this was set, not adjusted. [own choice]
const CLOCK_BACK: TimeDelta = TimeDelta::minutes(2);

/// The last dealings with a service.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    format: String,
    /// What was asked, without any key.
    pub url: String,
    /// In whose name.
    pub agent: String,
    /// When its last answer came.
    pub answered_at: DateTime<Utc>,
    /// Before this it is not asked again.
    pub ask_from: DateTime<Utc>,
    /// It asked for a rest instead of answering.
    pub resting: bool,
    /// The forecast that is kept; none before the first.
    pub kept: Option<Kept>,
}

/// A forecast that was fetched.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// When it came.
    pub fetched_at: DateTime<Utc>,
    /// The service's `Last-Modified`, letter for letter.
    pub last_modified: Option<String>,
    /// Which bytes it is ([`fingerprint`]).
    pub fingerprint: String,
}

/// Headers of an answer that matter here, as they were sent.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Headers {
    /// The service's own clock.
    pub date: Option<String>,
    /// Until when the answer holds, by that clock.
    pub expires: Option<String>,
    /// Since when it holds.
    pub last_modified: Option<String>,
    /// How long to rest, or until when.
    pub retry_after: Option<String>,
}

/// Whether to ask.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Turn {
    /// Now.
    Ask {
        /// What to send as `If-Modified-Since`.
        if_modified_since: Option<String>,
    },
    /// Not now: the last answer holds.
    Holds {
        /// Until when.
        until: DateTime<Utc>,
    },
    /// Not now: the service wants a rest.
    Rest {
        /// Until when.
        until: DateTime<Utc>,
    },
}

impl Record {
    /// Notes an answer to `request` that came at `now`.
    pub fn new(
        request: &Request,
        now: DateTime<Utc>,
        ask_from: DateTime<Utc>,
        kept: Option<Kept>,
    ) -> Record {
        Record {
            format: FORMAT.to_owned(),
            url: request.url.clone(),
            agent: request.agent.clone(),
            answered_at: now,
            ask_from,
            resting: false,
            kept,
        }
    }

    /// Notes that the service asked for a rest instead of answering.
    pub fn at_rest(self) -> Record {
        Record {
            resting: true,
            ..self
        }
    }

    /// Reads a record; none if the text is none of ours.
    pub fn parse(text: &str) -> Option<Record> {
        let record: Record = serde_json::from_str(text).ok()?;
        (record.format == FORMAT).then_some(record)
    }

    /// Writes it as text.
    pub fn render(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("plain fields become JSON");
        text.push('\n');
        text
    }

    /// Returns what is kept if `forecast` is the very file that was fetched.
    pub fn kept_as(&self, forecast: &[u8]) -> Option<&Kept> {
        let kept = self.kept.as_ref()?;
        (kept.fingerprint == fingerprint(forecast)).then_some(kept)
    }
}

/// Says whether `request` may be made at `now`, given the forecast file as it is.
///
/// An answer holds only for the same address and as long as its forecast is
/// there. A clock that was set back makes the remembered times void: the
/// service is asked then, once, whether there is something newer.
pub fn turn(
    record: Option<&Record>,
    request: &Request,
    forecast: Option<&[u8]>,
    now: DateTime<Utc>,
) -> Turn {
    let unconditional = Turn::Ask {
        if_modified_since: None,
    };
    let Some(record) = record.filter(|record| record.url == request.url) else {
        return unconditional;
    };
    let is_time = now >= record.ask_from || now < record.answered_at - CLOCK_BACK;
    let until = record.ask_from;
    if record.resting && record.agent == request.agent && !is_time {
        return Turn::Rest { until };
    }
    let Some(kept) = forecast.and_then(|bytes| record.kept_as(bytes)) else {
        return unconditional;
    };
    if is_time || record.resting {
        return Turn::Ask {
            if_modified_since: kept.last_modified.clone(),
        };
    }
    Turn::Holds { until }
}

/// Returns from when on the service may be asked again after an answer at `now`.
///
/// How long an answer holds is the time between the service's own `Date` and
/// `Expires`, so that a clock of ours that is wrong does no harm; at most a day.
pub fn ask_again_from(headers: &Headers, now: DateTime<Utc>) -> DateTime<Utc> {
    let date = headers.date.as_deref().and_then(parse_date).unwrap_or(now);
    let holds = match headers.expires.as_deref() {
        None => HOLDS_UNSAID,
        // `Expires: 0` and the like mean "at once" (RFC 9111, 5.3).
        Some(expires) => parse_date(expires).map_or(TimeDelta::zero(), |expires| expires - date),
    };
    now + holds.clamp(TimeDelta::zero(), HOLDS_MOST)
}

impl Headers {
    /// Returns until when the service wants a rest: seconds or a date; none if it does not say.
    pub fn rest_until(&self, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let text = self.retry_after.as_deref()?.trim();
        let date = self.date.as_deref().and_then(parse_date).unwrap_or(now);
        let rest = match text.parse::<u32>() {
            Ok(seconds) => TimeDelta::seconds(i64::from(seconds)),
            Err(_) => parse_date(text)? - date,
        };
        Some(now + rest.clamp(TimeDelta::zero(), HOLDS_MOST))
    }

    /// Returns until when to rest after "too many requests".
    pub fn rest_after_too_many(&self, now: DateTime<Utc>) -> DateTime<Utc> {
        self.rest_until(now).unwrap_or(now + REST_UNSAID)
    }
}

fn parse_date(text: &str) -> Option<DateTime<Utc>> {
    let date = DateTime::parse_from_rfc2822(text.trim()).ok()?;
    Some(date.to_utc())
}

/// Returns the name of the record that belongs to a forecast file.
///
/// # Example
/// ```
/// use fairday::forecast::fetch::record_file;
/// assert_eq!(record_file("forecast.json"), "forecast.fetch.json");
/// assert_eq!(record_file("weather/here"), "weather/here.fetch.json");
/// ```
pub fn record_file(forecast_file: &str) -> String {
    let stem = forecast_file.strip_suffix(".json").unwrap_or(forecast_file);
    format!("{stem}.fetch.json")
}

/// Returns a short name for these very bytes. Good against mix-ups, not against malice.
///
/// # Sources
/// FNV-1a in 64 bits, Fowler, Noll and Vo, IETF draft "The FNV Non-Cryptographic
/// Hash Algorithm", test values there.
pub fn fingerprint(bytes: &[u8]) -> String {
    let step = |hash: u64, byte: &u8| (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
    let hash = bytes.iter().fold(0xcbf2_9ce4_8422_2325, step);
    format!("{hash:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        format!("2026-05-11T{text}:00Z").parse().unwrap()
    }

    fn request() -> Request {
        Request {
            url: "https://api.met.no/x?lat=1.00".to_owned(),
            agent: "fairday/1 a@b.example".to_owned(),
        }
    }

    fn record() -> Record {
        let kept = Kept {
            fetched_at: at("06:00"),
            last_modified: Some("Mon, 11 May 2026 05:41:13 GMT".to_owned()),
            fingerprint: fingerprint(b"{}"),
        };
        Record::new(&request(), at("06:00"), at("06:30"), Some(kept))
    }

    fn check(record: &Record, request: &Request, file: &[u8], now: &str, expected: Turn) {
        let turn = turn(Some(record), request, Some(file), at(now));
        assert_eq!(turn, expected, "{now}");
    }

    fn ask(since: Option<&str>) -> Turn {
        Turn::Ask {
            if_modified_since: since.map(str::to_owned),
        }
    }

    #[test]
    fn nobody_is_asked_before_the_answer_expires() {
        let holds = Turn::Holds { until: at("06:30") };
        let since = Some("Mon, 11 May 2026 05:41:13 GMT");
        check(&record(), &request(), b"{}", "06:29", holds.clone());
        check(&record(), &request(), b"{}", "06:30", ask(since));
        // The clock went back by a minute: an adjustment, and no reason to ask.
        check(&record(), &request(), b"{}", "05:59", holds);
    }

    #[test]
    fn another_place_another_file_or_a_clock_set_back_asks_at_once() {
        let elsewhere = Request {
            url: "https://api.met.no/x?lat=2.00".to_owned(),
            ..request()
        };
        check(&record(), &elsewhere, b"{}", "06:10", ask(None));
        check(&record(), &request(), b"{ }", "06:10", ask(None));
        let since = Some("Mon, 11 May 2026 05:41:13 GMT");
        check(&record(), &request(), b"{}", "01:00", ask(since));
        let without_file = turn(Some(&record()), &request(), None, at("06:10"));
        assert_eq!(without_file, ask(None));
    }

    #[test]
    fn a_rest_that_was_asked_for_is_given_unless_the_caller_has_changed() {
        let resting = Record {
            resting: true,
            ..record()
        };
        let rest = Turn::Rest { until: at("06:30") };
        check(&resting, &request(), b"{}", "06:10", rest.clone());
        check(&resting, &request(), b"{ }", "06:10", rest);
        let other = Request {
            agent: "fairday/1 c@d.example".to_owned(),
            ..request()
        };
        let since = Some("Mon, 11 May 2026 05:41:13 GMT");
        check(&resting, &other, b"{}", "06:10", ask(since));
    }

    #[test]
    fn how_long_an_answer_holds_is_counted_by_the_clock_of_the_service() {
        let headers = |date: Option<&str>, expires: Option<&str>| Headers {
            date: date.map(str::to_owned),
            expires: expires.map(str::to_owned),
            ..Headers::default()
        };
        // Date and Expires as MET Norway sent them: 31 min 44 s.
        let genuine = headers(
            Some("Mon, 20 Jul 2020 11:20:44 GMT"),
            Some("Mon, 20 Jul 2020 11:52:28 GMT"),
        );
        let until = ask_again_from(&genuine, at("06:00"));
        assert_eq!((until - at("06:00")).num_seconds(), 31 * 60 + 44);
        let alone = headers(None, Some("Mon, 11 May 2026 06:45:00 GMT"));
        assert_eq!(ask_again_from(&alone, at("06:00")), at("06:45"));
        assert_eq!(
            ask_again_from(&headers(None, Some("0")), at("06:00")),
            at("06:00")
        );
        assert_eq!(
            ask_again_from(&headers(None, None), at("06:00")),
            at("06:10")
        );
        let absurd = headers(None, Some("Fri, 01 Jan 2100 00:00:00 GMT"));
        let until = ask_again_from(&absurd, at("06:00"));
        assert_eq!(until - at("06:00"), HOLDS_MOST);
    }

    #[test]
    fn a_rest_is_given_in_seconds_or_as_a_date() {
        let headers = |text: &str| Headers {
            retry_after: Some(text.to_owned()),
            ..Headers::default()
        };
        let now = at("06:00");
        assert_eq!(headers("600").rest_until(now), Some(at("06:10")));
        let date = headers("Mon, 11 May 2026 06:20:00 GMT");
        assert_eq!(date.rest_until(now), Some(at("06:20")));
        assert_eq!(headers("soon").rest_until(now), None);
        assert_eq!(Headers::default().rest_after_too_many(now), at("07:00"));
    }

    /// Test values of the draft: the empty text, `a`, `foobar`.
    #[test]
    fn fingerprints_are_the_published_ones() {
        assert_eq!(fingerprint(b""), "cbf29ce484222325");
        assert_eq!(fingerprint(b"a"), "af63dc4c8601ec8c");
        assert_eq!(fingerprint(b"foobar"), "85944171f73967e8");
    }

    #[test]
    fn a_record_comes_back_as_it_was_and_foreign_ones_do_not_count() {
        assert_eq!(Record::parse(&record().render()), Some(record()));
        assert_eq!(Record::parse("{}"), None);
        let newer = record().render().replace("fetch/1", "fetch/9");
        assert_eq!(Record::parse(&newer), None);
    }
}
