//! What prints and strips teach: from the order files to the dose that is planned with.

use chrono::NaiveDateTime;
use fairday::experience::{Taught, taught};
use fairday::light::learn::{Entry, Observation, Prior, learn, learn_drifting};
use fairday::order::{Done, Event, Exposed, LightSource, Order, Verdict};
use fairday::stage::Stage;
use fairday::studio::{Strip, Studio};
use fairday::units::Dose;

use crate::desk;

fn at(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
}

/// An order whose pieces were exposed together and judged one by one.
fn printed(when: &str, dose: Option<f64>, verdicts: &[Verdict]) -> Order {
    let mut order = desk::order("26-014");
    order.pieces.truncate(verdicts.len());
    for (piece, verdict) in order.pieces.iter_mut().zip(verdicts) {
        let exposed = Exposed {
            dose: dose.map(Dose),
            dose_spread: dose.map(|_| 0.15),
            ..Exposed::of_minutes(10.0)
        };
        let exposed = Done::Stage {
            stage: Stage::Exposing,
            exposed: Some(exposed),
            coated: None,
        };
        let judged = Done::Judged { verdict: *verdict };
        let event = |what| Event { at: at(when), what };
        piece.progress.events = vec![event(exposed), event(judged)];
    }
    order
}

/// The studio of the desk (18 kJ/m²) without drift, so that plain posteriors compare.
fn studio() -> Studio {
    let mut studio = desk::studio();
    studio.learning.drift_pct_per_month = 0.0;
    studio
}

fn rag(orders: &[Order], studio: &Studio) -> Taught {
    taught(orders, studio, at("2026-05-20 12:00"))["rag"]
}

fn prior() -> Prior {
    Prior {
        median: Dose(18.0),
        sigma_ln: 2f64.ln(),
    }
}

#[test]
fn pieces_of_one_frame_count_once_for_each_verdict() {
    use Verdict::{Good, Pale};
    let orders = [printed("2026-05-11 12:53", Some(24.0), &[Good, Good, Pale])];
    let found = rag(&orders, &studio());
    assert_eq!((found.prints, found.strips), (2, 0));
    let dose = Dose(24.0);
    let both = [
        Observation::new(dose, 0.15, Good),
        Observation::new(dose, 0.15, Pale),
    ];
    let expected = learn(prior(), &both);
    assert!((found.learned.median.0 / expected.median.0 - 1.0).abs() < 1e-12);
    let again = [
        printed("2026-05-12 12:53", Some(24.0), &[Good]),
        orders[0].clone(),
    ];
    assert_eq!(rag(&again, &studio()).prints, 3);
}

#[test]
fn a_faster_sensitizer_is_counted_in_doses_of_the_classic_one() {
    let orders = [printed("2026-05-11 12:53", Some(3.0), &[Verdict::Good])];
    let mut fast = studio();
    fast.sensitizer.exposure_factor = 0.125;
    let classic = [printed("2026-05-11 12:53", Some(24.0), &[Verdict::Good])];
    let (fast, classic) = (rag(&orders, &fast), rag(&classic, &studio()));
    assert!((fast.learned.median.0 - classic.learned.median.0).abs() < 1e-9);
}

/// The desk lies at 53.9° N: ten minutes before 12:53 in May are some 30 kJ/m².
#[test]
fn an_exposure_noted_by_minutes_alone_teaches_less() {
    let bare = rag(
        &[printed("2026-05-11 12:53", None, &[Verdict::Good])],
        &studio(),
    );
    let counted = rag(
        &[printed("2026-05-11 12:53", Some(30.0), &[Verdict::Good])],
        &studio(),
    );
    assert_eq!(bare.prints, 1);
    assert!(
        bare.learned.sigma_ln > counted.learned.sigma_ln * 1.3,
        "{bare:?}"
    );
    assert!(bare.learned.median.0 > 18.5, "{bare:?}");
}

#[test]
fn the_lamp_says_nothing_of_the_sun_and_a_failed_try_still_teaches() {
    let mut lamp = printed("2026-05-11 12:53", Some(24.0), &[Verdict::Good]);
    lamp.pieces[0].light = LightSource::Lamp;
    assert!(!rag(&[lamp], &studio()).has_evidence());
    let mut remade = printed("2026-05-11 12:53", Some(9.0), &[Verdict::Pale]);
    let reason = "too pale".to_owned();
    remade.pieces[0].progress.events.push(Event {
        at: at("2026-05-12 09:00"),
        what: Done::Remake { reason },
    });
    let found = rag(&[remade], &studio());
    assert_eq!(found.prints, 1);
    assert!(found.learned.leans_on_prior && found.learned.median.0 > 18.0);
}

#[test]
fn a_strip_counts_as_one_and_the_old_are_forgotten() {
    let mut studio = studio();
    let strip = |day: &str| Strip {
        at: at(day),
        best: Dose(25.0),
        step: 1.41,
        spread: 0.15,
    };
    let rag_of = |studio: &mut Studio, days: &[&str]| {
        let material = studio.materials.get_mut("rag").unwrap();
        material.strips = days.iter().map(|day| strip(day)).collect();
        rag(&[], studio)
    };
    let one = rag_of(&mut studio, &["2026-05-10 12:00"]);
    assert_eq!((one.prints, one.strips, one.forgotten), (0, 1, 0));
    assert!(!one.learned.leans_on_prior);
    let two = rag_of(&mut studio, &["2023-05-10 12:00", "2026-05-10 12:00"]);
    assert_eq!((two.strips, two.forgotten), (1, 1));
    assert_eq!(two.learned, one.learned);
}

/// A walk alone, seen by somebody who cannot tell pale from deep: variances add, as
/// for any sum of independent normal steps. The grid ends at four deviations, which
/// costs under 1 %.
#[test]
fn a_walk_adds_its_variance() {
    let blind = Observation::new(Dose(18.0), 1e6, Verdict::Pale);
    for (drift_ln, age_days) in [(0.0, 400.0), (0.01, 365.0), (0.02, 100.0), (0.0183, 1.0)] {
        let log = [Entry {
            seen: blind,
            age_days,
        }];
        let found = learn_drifting(prior(), &log, drift_ln).sigma_ln;
        let expected = (2f64.ln().powi(2) + drift_ln * drift_ln * age_days).sqrt();
        assert!((found / expected - 1.0).abs() < 0.01, "{found} {expected}");
    }
}

/// Twenty prints of one day a year ago cannot be surer of today than the drift of a
/// year, however sure they were of their own day.
#[test]
fn old_prints_fade_together() {
    let good = Observation::new(Dose(24.0), 0.15, Verdict::Good);
    let log = |age_days| {
        vec![
            Entry {
                seen: good,
                age_days
            };
            20
        ]
    };
    let drift_ln = 0.10 / 30.44f64.sqrt();
    let fresh = learn_drifting(prior(), &log(0.0), drift_ln);
    let old = learn_drifting(prior(), &log(365.0), drift_ln);
    let drift_of_a_year = drift_ln * 365f64.sqrt();
    assert!(fresh.sigma_ln < 0.10, "{fresh:?}");
    let expected = fresh.sigma_ln.hypot(drift_of_a_year);
    assert!((old.sigma_ln / expected - 1.0).abs() < 0.01, "{old:?}");
    assert!((old.median.0 / fresh.median.0 - 1.0).abs() < 0.005);
}

/// What came last counts most: chemistry that grew slow is followed.
#[test]
fn a_drifting_material_is_followed() {
    let seen = |dose: f64, age_days| Entry {
        seen: Observation::new(Dose(dose), 0.15, Verdict::Good),
        age_days,
    };
    let mut log: Vec<Entry> = (0..6).map(|n| seen(20.0, 400.0 + f64::from(n))).collect();
    log.push(seen(32.0, 2.0));
    log.push(seen(32.0, 1.0));
    let still = learn_drifting(prior(), &log, 0.0);
    let drifting = learn_drifting(prior(), &log, 0.10 / 30.44f64.sqrt());
    assert!(still.median.0 < 26.0, "{still:?}");
    assert!(drifting.median.0 > 28.5, "{drifting:?}");
}
