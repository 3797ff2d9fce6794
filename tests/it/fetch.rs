//! Fetching against a server inside the test: whatever it does, the last good
//! forecast stays, byte for byte, unless a better one came.

mod answers;
mod broken;
mod commands;
mod genuine;
mod server;
mod settings;
mod withheld;

use std::path::Path;

use chrono::{DateTime, TimeDelta, Utc};
use fairday::forecast::fetch::Outcome;
use fairday::outside::fetch::{Errand, fetch};
use fairday::studio::{Fetch, Place, Service};
use serde_json::json;
use tempfile::TempDir;

use server::{Reply, Server};

/// The moment of most of the tests.
pub fn now() -> DateTime<Utc> {
    "2026-05-11T06:00:00Z".parse().unwrap()
}

/// An answer in the public format of Locationforecast, ours: `hours` entries from
/// the full hour before `from` on, at a place. [°]
pub fn met_answer(from: DateTime<Utc>, hours: i64, latitude: f64, longitude: f64) -> Vec<u8> {
    let first = from.timestamp() / 3600;
    let stamp = |hour: i64| {
        let at = DateTime::from_timestamp((first + hour) * 3600, 0).unwrap();
        at.format("%Y-%m-%dT%H:%M:%SZ").to_string()
    };
    let entry = |hour: i64| {
        json!({"time": stamp(hour), "data": {
            "instant": {"details": {
                "air_temperature": 12.0, "relative_humidity": 60.0,
                "cloud_area_fraction": 25.0, "wind_speed": 3.0}},
            "next_1_hours": {"details": {"precipitation_amount": 0.0}}}})
    };
    let series: Vec<_> = (0..hours).map(entry).collect();
    let answer = json!({
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [longitude, latitude, 15]},
        "properties": {
            "meta": {"updated_at": stamp(0), "units": {"air_temperature": "celsius"}},
            "timeseries": series}});
    answer.to_string().into_bytes()
}

/// A good answer for the studio of these tests at [`now`].
pub fn good_answer() -> Vec<u8> {
    met_answer(now(), 72, 53.9, -2.9)
}

/// A studio folder with a forecast in it, and a server to ask.
pub struct Bench {
    pub folder: TempDir,
    pub server: Server,
    pub fetch: Fetch,
    pub place: Place,
}

/// What lies in the folder before anything is fetched: no forecast at all, so that
/// nothing but the same bytes can pass.
pub const OLD: &[u8] = b"the forecast that is kept\n";

impl Bench {
    pub fn new(replies: Vec<Reply>) -> Bench {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("forecast.json"), OLD).unwrap();
        let server = Server::start(replies);
        let fetch = Fetch {
            service: Service::MetNorway,
            contact: "maren@example.org".to_owned(),
            host: server.address(),
            decimals: 2,
            timeout_seconds: 20.0,
        };
        let place = Place {
            latitude_deg: 53.9049,
            longitude_deg: -2.9021,
            altitude_m: 15.0,
            zone: chrono_tz::Europe::London,
        };
        Bench {
            folder,
            server,
            fetch,
            place,
        }
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub fn errand(&self, now: DateTime<Utc>) -> Errand<'_> {
        Errand {
            folder: self.path(),
            file: "forecast.json",
            fetch: &self.fetch,
            place: &self.place,
            key: None,
            trusted: None,
            now,
        }
    }

    /// Fetches so many minutes after [`now`].
    pub fn try_fetch(&self, minutes: i64) -> anyhow::Result<Outcome> {
        fetch(&self.errand(now() + TimeDelta::minutes(minutes)))
    }

    pub fn fetch(&self, minutes: i64) -> Outcome {
        self.try_fetch(minutes).unwrap()
    }

    pub fn forecast(&self) -> Vec<u8> {
        std::fs::read(self.path().join("forecast.json")).unwrap()
    }

    /// Asserts that nothing but the old forecast and perhaps a record lies there.
    #[track_caller]
    pub fn assert_old(&self, case: &str) {
        assert_eq!(self.forecast(), OLD, "{case}");
        let mut names: Vec<String> = std::fs::read_dir(self.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.retain(|name| name != "forecast.fetch.json");
        assert_eq!(names, ["forecast.json"], "{case}");
    }
}
