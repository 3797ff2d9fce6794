//! Small forecast files of three services, invented, in their public formats.
//!
//! They lie in `tests/forecast/`; every expected number was worked out by hand.

use chrono::{DateTime, Utc};
use fairday::forecast::{Forecast, Hour, air, parse};

fn utc(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

fn read_own(name: &str) -> Forecast {
    let text = std::fs::read_to_string(format!("tests/forecast/{name}")).unwrap();
    let (forecast, problems) = parse(&text, name);
    assert_eq!(problems, []);
    forecast.unwrap()
}

#[track_caller]
fn near(found: Option<f64>, expected: f64) {
    let found = found.expect("a value");
    assert!((found - expected).abs() < 1e-9, "{found}, not {expected}");
}

fn starts(forecast: &Forecast) -> Vec<String> {
    let clock = |hour: &Hour| hour.start.format("%d %H:%M").to_string();
    forecast.hours.iter().map(clock).collect()
}

#[test]
fn met_norway_averages_moments_and_takes_the_rain_that_follows() {
    let forecast = read_own("met_norway.json");
    assert_eq!((forecast.latitude_deg, forecast.longitude_deg), (50.7, 7.1));
    assert_eq!(forecast.issued_at, Some(utc("2026-05-12T08:14:31Z")));
    assert_eq!(forecast.hours.len(), 15); // 3 single hours, 2 blocks of 6
    let first = &forecast.hours[0];
    assert_eq!(first.start, utc("2026-05-12T09:00:00Z"));
    near(first.temperature_c, 14.5);
    near(first.humidity_pct, 58.0);
    near(first.cloud_pct, 30.0);
    near(first.cloud_low_pct, 10.0); // the next entry has no layers
    near(first.uv_index_clear, 4.5);
    near(first.wind_m_s, 3.5);
    near(first.gust_m_s, 8.5); // the higher of both ends
    near(first.rain_mm, 0.0);
    near(first.rain_chance, 0.025);
    assert!(!first.from_block);
}

#[test]
fn met_norway_takes_humidity_from_the_dew_point_where_it_is_missing() {
    let forecast = read_own("met_norway.json");
    let hour = forecast.find_hour(utc("2026-05-12T10:30:00Z")).unwrap();
    near(
        hour.humidity_pct,
        (56.0 + air::humidity_pct(16.0, 7.0)) / 2.0,
    );
}

#[test]
fn met_norway_cuts_six_hours_without_losing_rain_or_chance() {
    let forecast = read_own("met_norway.json");
    let block: Vec<&Hour> = forecast.hours[3..9].iter().collect();
    assert!(
        block
            .iter()
            .all(|h| h.from_block && h.rain_chance == Some(0.55))
    );
    near(block.iter().map(|h| h.rain_mm).sum(), 3.0);
    near(block[0].rain_mm, 0.5);
    near(block[0].cloud_pct, 95.0); // 100 → 40 % in 6 h, half an hour in
    near(block[5].cloud_pct, 45.0);
    assert_eq!(block[0].uv_index_clear, None);
    assert_eq!(block[0].gust_m_s, None);
    assert_eq!(starts(&forecast)[14], "12 23:00");
}

#[test]
fn open_meteo_moves_what_ended_at_the_label_and_converts_every_unit() {
    let forecast = read_own("open_meteo.json");
    assert_eq!(starts(&forecast), ["12 09:00", "12 10:00", "12 11:00"]);
    assert_eq!(forecast.issued_at, Some(utc("2026-05-12T05:45:00Z")));
    let [first, second, third] = &forecast.hours[..] else {
        panic!()
    };
    near(first.temperature_c, 12.5); // 50 and 59 °F
    near(second.temperature_c, 15.0); // 59 °F and nothing
    near(third.temperature_c, 20.0); // nothing and 68 °F
    near(first.wind_m_s, 4.4704); // 10 mph
    assert_eq!(third.wind_m_s, None);
    near(first.gust_m_s, 9.26); // 18 kn, labelled an hour later
    near(second.gust_m_s, 18.52);
    near(first.rain_mm, 0.0);
    near(second.rain_mm, 0.254); // 0.01 inch
    near(third.rain_mm, 2.54);
    near(second.rain_chance, 0.35);
    assert_eq!(third.rain_chance, None);
    near(first.global_w_m2, 610.0);
    near(first.uv_index, 4.5);
    near(first.uv_index_clear, 4.7);
}

#[test]
fn bright_sky_moves_wind_rain_and_sun_and_keeps_the_chance_of_six_hours() {
    let forecast = read_own("bright_sky.json");
    assert_eq!((forecast.latitude_deg, forecast.longitude_deg), (50.7, 7.1));
    assert_eq!(starts(&forecast), ["12 09:00", "12 10:00", "12 11:00"]);
    let [first, second, third] = &forecast.hours[..] else {
        panic!()
    };
    near(first.wind_m_s, 5.0);
    near(first.gust_m_s, 8.0);
    near(first.global_w_m2, 512.0);
    near(first.rain_chance, 0.04);
    near(second.rain_chance, 0.72);
    near(second.rain_mm, 0.3);
    near(
        first.humidity_pct,
        (67.0 + air::humidity_pct(14.0, 6.0)) / 2.0,
    );
    near(
        third.humidity_pct,
        (air::humidity_pct(15.0, 6.0) + 100.0) / 2.0,
    );
    assert_eq!(third.gust_m_s, None);
}

#[test]
fn the_forecast_of_the_demonstration_is_whole() {
    let text = std::fs::read_to_string("orders/forecast.json").unwrap();
    let (forecast, problems) = parse(&text, "forecast.json");
    assert_eq!(problems, []);
    let hours = forecast.unwrap().hours;
    let steps = hours.windows(2).map(|pair| pair[1].start - pair[0].start);
    assert!(steps.into_iter().all(|step| step.num_minutes() == 60));
    assert!(hours.iter().all(|hour| hour.rain_mm.is_some()));
}
