//! Cloud factors: the formulas against the table, and which of them is taken when.

use chrono::TimeDelta;
use fairday::forecast::Hour;
use fairday::light::cloud::{
    clear_global_over_hour, factor_from_cover, factor_from_global, factor_from_layers,
    factor_from_uv_index, sky_of,
};
use fairday::light::spectrum::PrintingLight;
use fairday::light::sun::Observer;
use fairday::light::{CloudMethod, Sky};
use fairday::studio::Stand;

use super::{FLAT, Table, Worst, at, relative};

/// Eight decimals: 1e-6 is far above, any slip in a formula far beyond.
#[test]
fn factors_agree() {
    for row in Table::read("cloud_cmf.csv", 36).rows() {
        let [a, b, c] = ["a", "b", "c"].map(|column| row.find_number(column).unwrap_or(f64::NAN));
        let found = match row.text("method") {
            "total" => factor_from_cover(a),
            "layers_low_mid_high" => factor_from_layers([a, b, c], None),
            "layers_with_total" => factor_from_layers([a, b, c], row.find_number("d")),
            "ghi_over_clear" => factor_from_global(a, b),
            "uvi_over_clear" => factor_from_uv_index(a, b),
            other => panic!("{other}"),
        };
        let off = (found - row.number("uv_cmf")).abs();
        assert!(off < 1e-6, "{row}: {found}");
    }
}

#[test]
fn cloud_over_a_tilted_frame_agrees() {
    let mut worst = Worst::default();
    for row in Table::read("cloud_tilted.csv", 7).rows() {
        let clear = PrintingLight {
            beam_horizontal: row.number("beam_h"),
            sky_horizontal: row.number("diffuse_h"),
            beam_frame: row.number("beam_plane"),
            sky_frame: row.number("skydiffuse_plane"),
            // Not in the table, and not used under a sky: the ground is worked out anew.
            ground_frame: f64::NAN,
        };
        let sky = Sky {
            beam_share: row.number("beam_transmission"),
            ..Sky::with_factor(row.number("cmf"), CloudMethod::CloudCover)
        };
        let stand = Stand {
            tilt_deg: row.number("tilt_deg"),
            ..FLAT
        };
        let found = sky.rate_on(&clear, &stand).0;
        worst.see(relative(found, row.number("eff_plane")), row);
    }
    worst.within(1e-6, "tilted frame under cloud, relative");
}

/// The table divides a mean of the hour by a mean of the hour. Forecast fields hold the
/// begin of their hour, the table its end.
#[test]
fn hourly_global_light_agrees() {
    let observer = Observer::new(51.0, 15.0, 100.0);
    for row in Table::read("ghi_hourly.csv", 8).rows() {
        let end = row.text("interval_end_utc").replace(":00Z", ":00:00Z");
        let start = at(&end) - TimeDelta::hours(1);
        let clear = clear_global_over_hour(&observer, start);
        let off = (clear - row.number("clear_ghi_w_m2")).abs();
        assert!(off < 1e-3, "{row}: {clear}");
        let hour = Hour {
            start,
            global_w_m2: row.find_number("forecast_ghi_w_m2"),
            ..Hour::default()
        };
        let sky = sky_of(&hour, clear).expect("global light is known");
        assert_eq!(sky.method, CloudMethod::GlobalLight);
        assert!((sky.factor - row.number("uv_cmf")).abs() < 2e-6, "{row}");
    }
}

/// An hour with every field; each test takes away what it is about.
fn full_hour() -> Hour {
    Hour {
        cloud_pct: Some(80.0),
        cloud_low_pct: Some(50.0),
        cloud_mid_pct: Some(20.0),
        cloud_high_pct: Some(60.0),
        global_w_m2: Some(400.0),
        uv_index: Some(3.0),
        uv_index_clear: Some(5.0),
        ..Hour::default()
    }
}

#[test]
fn the_surest_method_is_taken_and_named() {
    let check = |hour: Hour, clear_global: f64, expected: Option<(CloudMethod, f64)>| {
        let found = sky_of(&hour, clear_global).map(|sky| (sky.method, sky.sigma_ln));
        assert_eq!(found, expected, "{hour:?}");
    };
    let full = full_hour;
    check(full(), 800.0, Some((CloudMethod::GlobalLight, 0.20)));
    let bright = Hour {
        global_w_m2: Some(790.0),
        ..full()
    };
    check(bright, 800.0, Some((CloudMethod::GlobalLight, 0.12)));
    // Sun so low that global light cannot be divided by.
    check(full(), 49.0, Some((CloudMethod::UvIndex, 0.22)));
    let no_global = Hour {
        global_w_m2: None,
        ..full()
    };
    check(no_global.clone(), 800.0, Some((CloudMethod::UvIndex, 0.22)));
    // A copied clear-sky index under much cloud tells nothing.
    let copied = Hour {
        uv_index: Some(5.0),
        ..no_global.clone()
    };
    check(
        copied.clone(),
        800.0,
        Some((CloudMethod::CloudLayers, 0.35)),
    );
    let copied_and_clear = Hour {
        cloud_pct: Some(30.0),
        ..copied
    };
    check(copied_and_clear, 800.0, Some((CloudMethod::UvIndex, 0.12)));
    // An index below one is rounding.
    let low_index = Hour {
        uv_index: Some(0.4),
        uv_index_clear: Some(0.9),
        ..no_global
    };
    check(
        low_index.clone(),
        800.0,
        Some((CloudMethod::CloudLayers, 0.35)),
    );
    let no_layer = Hour {
        cloud_mid_pct: None,
        ..low_index
    };
    check(
        no_layer.clone(),
        800.0,
        Some((CloudMethod::CloudCover, 0.50)),
    );
    let nothing = Hour {
        cloud_pct: None,
        ..no_layer
    };
    check(nothing, 800.0, None);
}

#[test]
fn a_block_of_hours_is_never_sure() {
    let block = Hour {
        from_block: true,
        ..full_hour()
    };
    let sky = sky_of(&block, 800.0).expect("a sky");
    assert_eq!(sky.sigma_ln, 0.50);
}

/// Layers tell how much beam passes, whichever way the factor was found:
/// (1 − 0.5)(1 − 0.2)(1 − 0.5 · 0.6) = 0.28.
#[test]
fn layers_tell_the_share_of_the_beam() {
    let sky = sky_of(&full_hour(), 800.0).expect("a sky");
    assert!((sky.beam_share - 0.28).abs() < 1e-12);
    let cover_only = Hour {
        cloud_low_pct: None,
        ..full_hour()
    };
    // (0.5^0.85 − 0.31) / 0.69 = 0.35476
    let sky = sky_of(&cover_only, 800.0).expect("a sky");
    assert!((sky.beam_share - 0.354_76).abs() < 1e-5, "{sky:?}");
}

#[test]
fn senseless_numbers_are_no_numbers() {
    let hour = Hour {
        global_w_m2: Some(f64::NAN),
        uv_index: Some(f64::INFINITY),
        cloud_pct: Some(140.0),
        ..Hour::default()
    };
    let sky = sky_of(&hour, 800.0).expect("cover is held at 100 %");
    assert_eq!(sky.method, CloudMethod::CloudCover);
    // Full cover leaves 0.25^0.85 = 0.30779.
    assert!((sky.factor - 0.307_79).abs() < 1e-5, "{sky:?}");
}
