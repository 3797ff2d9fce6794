//! Genuine answers with their genuine headers, given by the server of the tests.
//!
//! They are other people's data and stay outside the project: without
//! `FAIRDAY_WEATHER` these tests say by name that they were skipped.

use chrono::{DateTime, Utc};
use fairday::forecast::fetch::Outcome;
use fairday::outside::fetch::{fetch, find_fetched_at};
use serde_json::Value;

use super::Bench;
use super::server::{Reply, gzip};

fn read(test: &str, name: &str) -> Option<Vec<u8>> {
    let Ok(folder) = std::env::var("FAIRDAY_WEATHER") else {
        #[expect(clippy::print_stderr, reason = "a skipped test must say so")]
        {
            eprintln!("skipped: {test}, FAIRDAY_WEATHER is not set");
        }
        return None;
    };
    Some(std::fs::read(format!("{folder}/forecast/{name}")).unwrap())
}

/// The headers as they were sent, without those that speak of the line or of the
/// length that the service's own packing had.
fn with_headers(mut reply: Reply, headers: &Value) -> Reply {
    let of_the_line = ["Connection", "Content-Length", "Content-Encoding"];
    for (name, value) in headers.as_object().unwrap() {
        if !of_the_line.contains(&name.as_str()) {
            reply = reply.header(name, value.as_str().unwrap());
        }
    }
    reply
}

#[test]
fn met_norway_with_its_headers_is_kept_for_as_long_as_it_says() {
    let test = "met_norway_with_its_headers_is_kept_for_as_long_as_it_says";
    // Expires less Date, by hand: 31 min 44 s, 30 min 22 s, 31 min 52 s.
    let samples = [
        ("metno_complete_51.5N_0.1W_2020-07-20", 51.5, -0.1),
        ("metno_compact_40.7N_74.0W_2020-07-20", 40.7, -74.0),
        ("metno_compact_39.9N_116.4E_2020-07-20", 39.9, 116.4),
    ];
    for (name, latitude, longitude) in samples {
        let Some(body) = read(test, &format!("{name}.json")) else {
            return;
        };
        let said: Value =
            serde_json::from_slice(&read(test, &format!("{name}.headers.json")).unwrap()).unwrap();
        let headers = &said["headers"];
        let date = |key: &str| {
            let text = headers[key].as_str().unwrap();
            DateTime::parse_from_rfc2822(text).unwrap().to_utc()
        };
        let holds = date("Expires") - date("Date");
        let packed = Reply::new(200, gzip(&body)).header("Content-Encoding", "gzip");
        let unchanged = with_headers(Reply::new(304, ""), headers);
        let mut bench = Bench::new(vec![with_headers(packed, headers), unchanged]);
        bench.place.latitude_deg = latitude;
        bench.place.longitude_deg = longitude;
        // Our clock is three minutes behind that of the service.
        let now: DateTime<Utc> = date("Date") - chrono::TimeDelta::minutes(3);
        let Outcome::New { until, .. } = fetch(&bench.errand(now)).unwrap() else {
            panic!("{name}");
        };
        assert_eq!(until - now, holds, "{name}");
        assert_eq!(bench.forecast(), body, "{name}");
        let early = fetch(&bench.errand(until - chrono::TimeDelta::seconds(1))).unwrap();
        assert_eq!(early, Outcome::StillHolds { until }, "{name}");
        let later = fetch(&bench.errand(until)).unwrap();
        assert!(matches!(later, Outcome::Unchanged { .. }), "{name}");
        let seen = bench.server.seen();
        let since = format!(
            "if-modified-since: {}",
            headers["Last-Modified"].as_str().unwrap()
        );
        let head = seen[1].to_ascii_lowercase();
        assert!(head.contains(&since.to_ascii_lowercase()), "{head}");
        assert_eq!(bench.forecast(), body, "{name}");
        assert_eq!(find_fetched_at(bench.path(), "forecast.json"), Some(now));
    }
}

#[test]
fn bright_sky_is_kept_and_an_answer_without_cloud_is_not() {
    let test = "bright_sky_is_kept_and_an_answer_without_cloud_is_not";
    // The samples of Open-Meteo were asked for without cloud or radiation.
    let samples = [
        (
            "brightsky_52.5N_13.4E_2025-09-18.json",
            (52.52, 13.42),
            "2025-09-18",
            true,
        ),
        (
            "openmeteo_40.63N_74.43W_2025-12-28_14d_utc.json",
            (40.63, -74.43),
            "2025-12-28",
            false,
        ),
        (
            "openmeteo_37.75S_144.88E_2025-05-09_7d_utc.json",
            (-37.75, 144.88),
            "2025-05-09",
            false,
        ),
    ];
    for (name, (latitude, longitude), day, is_good) in samples {
        let Some(body) = read(test, name) else {
            return;
        };
        let mut bench = Bench::new(vec![Reply::new(200, body.clone())]);
        bench.place.latitude_deg = latitude;
        bench.place.longitude_deg = longitude;
        let now = format!("{day}T13:00:00Z").parse().unwrap();
        match fetch(&bench.errand(now)).unwrap() {
            Outcome::New { forecast, .. } if is_good => {
                assert!(forecast.hours.len() > 150, "{name}");
                assert_eq!(bench.forecast(), body, "{name}");
            }
            Outcome::Unusable(problems) if !is_good => {
                assert_eq!(problems.len(), 1, "{name}: {problems:?}");
                assert_eq!(
                    problems[0].what,
                    "the answer says nothing of cloud or light"
                );
                bench.assert_old(name);
            }
            other => panic!("{name}: {other:?}"),
        }
    }
}
