//! The dose a material wants, learned from verdicts.

use fairday::light::cloud::{CloudMethod, Sky};
use fairday::light::learn::{GOOD_BAND, Observation, Prior, Verdict, learn, logged_sigma_ln};
use fairday::units::Dose;

use super::{Row, Table, Worst, relative};

fn prior() -> Prior {
    Prior {
        median: Dose(20.0),
        sigma_ln: 2f64.ln(),
    }
}

fn entry(row: Row) -> Observation {
    let verdict = match row.text("verdict") {
        "pale" => Verdict::Pale,
        "good" => Verdict::Good,
        "deep" => Verdict::Deep,
        other => panic!("{other}"),
    };
    let dose = Dose(row.number("dose_kj_m2"));
    Observation::new(dose, row.number("sigma_ln"), verdict)
}

/// Four decimals in the table; our normal distribution is good to 1e-7. Asked is 0.1 %.
#[test]
fn the_posterior_agrees_after_each_verdict() {
    let table = Table::read("dose_posterior.csv", 7);
    let mut worst = Worst::default();
    let mut log = Vec::new();
    for row in table.rows() {
        if row.text("entry") != "prior" {
            log.push(entry(row));
        }
        let learned = learn(prior(), &log);
        for (column, found) in [
            ("median_kj_m2", learned.median.0),
            ("q05_kj_m2", learned.least.0),
            ("q95_kj_m2", learned.most.0),
            ("mean_ln", learned.mean_ln),
            ("sd_ln", learned.sigma_ln),
        ] {
            worst.see(
                relative(found, row.number(column)),
                format!("{row} {column}"),
            );
        }
    }
    worst.within(1e-4, "dose posterior, relative");
}

#[test]
fn the_order_of_the_log_does_not_matter() {
    let table = Table::read("dose_posterior.csv", 7);
    let mut log: Vec<Observation> = table.rows().skip(1).map(entry).collect();
    let forwards = learn(prior(), &log);
    log.reverse();
    let backwards = learn(prior(), &log);
    assert!(relative(backwards.median.0, forwards.median.0) < 1e-9);
    assert!(relative(backwards.sigma_ln, forwards.sigma_ln) < 1e-9);
}

#[test]
fn only_pale_prints_lean_on_the_prior() {
    let pale = Observation::new(Dose(12.0), 0.15, Verdict::Pale);
    let deep = Observation::new(Dose(40.0), 0.15, Verdict::Deep);
    assert!(learn(prior(), &[]).leans_on_prior);
    assert!(learn(prior(), &[pale, pale, pale]).leans_on_prior);
    assert!(!learn(prior(), &[pale, deep]).leans_on_prior);
}

/// A hundred verdicts far from the prior: the answer goes there and stays finite.
#[test]
fn much_evidence_far_away_stays_finite() {
    let good = Observation::new(Dose(90.0), 0.15, Verdict::Good);
    let learned = learn(prior(), &vec![good; 100]);
    assert!((80.0..100.0).contains(&learned.median.0), "{learned:?}");
    assert!(
        learned.sigma_ln > 0.0 && learned.sigma_ln < 0.1,
        "{learned:?}"
    );
}

/// Seven eighths of the weight is one step of the strip: a coarse strip says less.
#[test]
fn a_coarse_strip_says_less_than_a_fine_one() {
    let fine = learn(
        prior(),
        &[Observation::of_strip(Dose(25.0), 0.15, 1.2, GOOD_BAND)],
    );
    let coarse = learn(
        prior(),
        &[Observation::of_strip(Dose(25.0), 0.15, 2.0, GOOD_BAND)],
    );
    assert!(coarse.sigma_ln > fine.sigma_ln, "{coarse:?} {fine:?}");
}

#[test]
fn a_seen_sky_is_surer_than_a_forecast_one() {
    for method in [
        CloudMethod::GlobalLight,
        CloudMethod::UvIndex,
        CloudMethod::CloudLayers,
        CloudMethod::CloudCover,
    ] {
        let overcast = Sky::with_factor(0.4, method);
        assert!(
            logged_sigma_ln(&overcast) <= overcast.sigma_ln,
            "{method:?}"
        );
    }
    assert_eq!(logged_sigma_ln(&Sky::ASSUMED_CLEAR), 0.50);
}
