//! Rules of the trade against tables with their sources.
//!
//! Where a number comes from stands in its row; tolerances are explained in
//! `tests/reference/README.md`.

use chrono::NaiveDate;
use fairday::dry::{Air, Habit, evaporation_g_m2_h, factor_by_deficit, factor_by_evaporation};
use fairday::keeping::{Coat, Keeping, judge};
use fairday::mix::{Coating, mix, starts_for};
use fairday::notice::{Silence, silence};
use fairday::order::{Delivery, Jurisdiction, Order, PromiseKind};
use fairday::promise::due;
use fairday::size::Size;
use fairday::studio::{MaterialKind, Sensitizer, defaults};
use fairday::units::{Dose, DoseRate};

use crate::desk;
use crate::light::{Row, Table};

fn table(name: &str, rows: usize) -> Table {
    Table::read_in("trade", name, rows)
}

/// Fails with the row unless `found` is within `tolerance` of its column.
#[track_caller]
fn near(row: &Row<'_>, column: &str, found: f64, tolerance: f64) {
    let off = (found - row.number(column)).abs();
    assert!(off <= tolerance, "{row}: {column} is {found}");
}

fn recipe(a_percent: f64, b_percent: f64) -> Sensitizer {
    Sensitizer {
        name: "classic".to_owned(),
        a_percent,
        b_percent,
        a_parts: 1.0,
        b_parts: 1.0,
        exposure_factor: 1.0,
        margin: 0.0,
        dead_ml: 0.0,
        step_ml: 1.0,
        setup_minutes: 20.0,
        mix_life_hours: 4.0,
        sessions_per_day: 1,
    }
}

/// Areas that take exactly 100 ml.
const HUNDRED_ML: Coating = Coating {
    area_m2: 1.0,
    ml_per_m2: 100.0,
    coats: 1,
    later_coat_share: 0.6,
};

#[test]
fn formats_have_their_sides_and_areas() {
    for row in table("formats.csv", 14).rows() {
        let size = Size::parse(row.text("name")).unwrap();
        near(&row, "width_mm", size.width.mm(), 0.0);
        near(&row, "height_mm", size.height.mm(), 0.0);
        near(&row, "area_m2", size.area_m2(), 5.1e-6);
    }
}

#[test]
fn published_recipes_give_their_grams() {
    for row in table("recipes.csv", 5).rows() {
        let recipe = recipe(row.number("a_percent"), row.number("b_percent"));
        let mix = mix(&[HUNDRED_ML], &recipe);
        near(&row, "a_g_in_100_ml", mix.a_g, 1e-9);
        near(&row, "b_g_in_100_ml", mix.b_g, 1e-9);
    }
}

#[test]
fn ferricyanide_has_its_concentration_in_stock_and_mix() {
    // K 39.098, Fe 55.845, C 12.011, N 14.007: abridged standard atomic weights.
    let molar_g = 3.0 * 39.098 + 55.845 + 6.0 * (12.011 + 14.007);
    assert!((molar_g - 329.25_f64).abs() < 0.005);
    for row in table("molarity.csv", 2).rows() {
        let mix = mix(&[HUNDRED_ML], &recipe(25.0, row.number("b_percent")));
        near(&row, "mix_mol_l", mix.b_g * 10.0 / molar_g, 0.0006);
        let stock_g_l = mix.b_g / mix.b_ml * 1000.0;
        near(&row, "stock_mol_l", stock_g_l / molar_g, 0.0006);
    }
}

#[test]
fn jobs_take_the_mix_that_was_worked_out_by_hand() {
    for row in table("mixes.csv", 3).rows() {
        let sheet = Coating {
            area_m2: Size::parse(row.text("size")).unwrap().area_m2(),
            ml_per_m2: row.number("ml_per_m2"),
            coats: 1,
            later_coat_share: 0.6,
        };
        let sensitizer = Sensitizer {
            margin: row.number("margin"),
            dead_ml: row.number("dead_ml"),
            step_ml: row.number("step_ml"),
            ..recipe(25.0, 10.0)
        };
        let mix = mix(&vec![sheet; row.number("count") as usize], &sensitizer);
        near(&row, "before_margin_ml", mix.on_paper_ml, 0.006);
        near(&row, "mix_ml", mix.volume_ml, 1e-9);
        near(&row, "a_ml", mix.a_ml, 1e-9);
        near(&row, "b_ml", mix.b_ml, 1e-9);
        near(&row, "a_g", mix.a_g, 1e-9);
        near(&row, "b_g", mix.b_g, 1e-9);
    }
}

#[test]
fn enough_prints_are_started_for_the_good_ones() {
    for row in table("starts.csv", 3).rows() {
        let starts = starts_for(row.number("good") as u32, row.number("failing_share"));
        assert_eq!(starts, Some(row.number("starts") as u32), "{row}");
    }
}

fn air(row: &Row<'_>) -> Air {
    Air {
        temperature_c: row.number("temperature_c"),
        humidity_pct: row.number("humidity_pct"),
    }
}

#[test]
fn drying_stretches_with_the_deficit() {
    for row in table("drying_deficit.csv", 6).rows() {
        let factor = factor_by_deficit(air(&row), &Habit::default());
        near(&row, "factor", factor, 0.0051);
    }
}

#[test]
fn a_wet_sheet_loses_the_water_that_the_pool_formula_says() {
    for row in table("drying_evaporation.csv", 10).rows() {
        let found = evaporation_g_m2_h(air(&row), row.number("wind_m_s"));
        near(&row, "g_m2_h", found, 0.51);
    }
    // 40 g/m² through both faces at 20 °C, 50 %, 0.1 m/s: about 21 min.
    let air = |temperature_c, humidity_pct| Air {
        temperature_c,
        humidity_pct,
    };
    let minutes = 40.0 / (2.0 * evaporation_g_m2_h(air(20.0, 50.0), 0.1)) * 60.0;
    assert!((minutes - 21.0).abs() < 0.5, "{minutes}");
    // Warmth helps about half as much as the deficit alone would say.
    let warm = air(30.0, 50.0);
    let habit = Habit::default();
    assert!(factor_by_evaporation(warm, &habit) > 1.3 * factor_by_deficit(warm, &habit));
    assert_eq!(factor_by_evaporation(air(15.0, 100.0), &habit), 4.0);
}

#[test]
fn minutes_follow_from_dose_and_rate() {
    for row in table("exposing.csv", 4).rows() {
        let rate = DoseRate(row.number("rate_w_m2"));
        let minutes = rate.minutes_to(Dose(row.number("dose_kj_m2")));
        near(&row, "minutes", minutes, 1e-9);
    }
    // 30 W/m² for 6 min of an 18 kJ/m² target leave 7.2; an eighth of 21.6 is 2.7.
    assert!((18.0 - 30.0 * 6.0 * 60.0 / 1000.0 - 7.2_f64).abs() < 1e-9);
    assert_eq!(Dose(21.6).scaled(0.125), Dose(2.7));
}

#[test]
fn coated_sheets_are_spoken_of_when_they_age() {
    for row in table("keeping.csv", 11).rows() {
        let expected = match row.text("verdict") {
            "fresh" => Keeping::Fresh,
            "ageing" => Keeping::Ageing,
            "old" => Keeping::Old,
            "needs_strip" => Keeping::NeedsStrip,
            other => panic!("{row}: {other}"),
        };
        let coat = Coat {
            age_hours: row.number("age_days") * 24.0,
            keep_hours: defaults::material(MaterialKind::Paper).keep_hours,
            humidity_pct: Some(row.number("humidity_pct")),
        };
        assert_eq!(judge(&coat, &defaults::keeping()), expected, "{row}");
    }
}

fn order(ordered_on: NaiveDate, jurisdiction: Jurisdiction) -> Order {
    Order {
        ordered_on,
        promise: None,
        jurisdiction,
        ..desk::order("26-014")
    }
}

#[test]
fn an_order_without_a_promise_is_due_when_the_law_says() {
    for row in table("due.csv", 5).rows() {
        let jurisdiction = match row.text("jurisdiction") {
            "eu" => Jurisdiction::Eu,
            "uk" => Jurisdiction::Uk,
            "us" => Jurisdiction::Us,
            other => panic!("{row}: {other}"),
        };
        let kind = match row.text("kind") {
            "ship_by" => PromiseKind::ShipBy,
            "deliver_by" => PromiseKind::DeliverBy,
            other => panic!("{row}: {other}"),
        };
        let due = due(&order(row.date("ordered_on"), jurisdiction));
        assert_eq!((due.kind, due.date), (kind, row.date("due_on")), "{row}");
        assert!(!due.agreed, "{row}");
    }
}

#[test]
fn silence_means_what_the_american_rule_says() {
    let date = |text: &str| text.parse::<NaiveDate>().ok();
    for row in table("us_notices.csv", 9).rows() {
        let until = || row.date("until");
        let expected = match row.text("silence") {
            "consents" => Silence::Consents { until: until() },
            "cancels" => Silence::Cancels { on: until() },
            "refuses" => Silence::Refuses { on: until() },
            "lapsed" => Silence::Lapsed,
            other => panic!("{row}: {other}"),
        };
        let due_on = row.date("due_on");
        let sent = Order {
            delivery: Delivery::Carrier {
                destination: "overseas".to_owned(),
            },
            ..order(due_on, Jurisdiction::Us)
        };
        let told: Vec<_> = date(row.text("told")).map(Some).into_iter().collect();
        let new_on = date(row.text("new_on"));
        let found = silence(&sent, due_on, &told, new_on, row.date("today"));
        assert_eq!(found, expected, "{row}");
    }
}
