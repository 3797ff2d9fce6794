//! What happened as JSON, `fairday-review/1`.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;

use super::tenth;
use crate::review::{Broken, Exposures};
use crate::view::review::ReviewScreen;

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct ReviewJson {
    format: &'static str,
    studio: String,
    since: Option<NaiveDate>,
    until: NaiveDate,
    promises: PromisesJson,
    exposures: BTreeMap<String, ExposuresJson>,
    remakes: Vec<RemakesJson>,
    finished: usize,
}

#[derive(Debug, Serialize)]
struct PromisesJson {
    kept: usize,
    share_kept: Option<f64>,
    broken: Vec<BrokenJson>,
}

#[derive(Debug, Serialize)]
struct BrokenJson {
    order: String,
    leave_by: NaiveDate,
    left_on: Option<NaiveDate>,
    agreed: bool,
}

#[derive(Debug, Serialize)]
struct ExposuresJson {
    count: usize,
    planned_minutes: f64,
    used_minutes: f64,
    pale: usize,
    good: usize,
    deep: usize,
}

#[derive(Debug, Serialize)]
struct RemakesJson {
    reason: String,
    count: usize,
}

/// Says what happened for other programs.
pub fn review_json(screen: &ReviewScreen) -> ReviewJson {
    let review = screen.review;
    let broken = |broken: &Broken| BrokenJson {
        order: broken.order.clone(),
        leave_by: broken.leave_by,
        left_on: broken.left_on,
        agreed: broken.agreed,
    };
    let exposures = |(key, of): (&String, &Exposures)| {
        let of = ExposuresJson {
            count: of.count,
            planned_minutes: tenth(of.planned_minutes),
            used_minutes: tenth(of.used_minutes),
            pale: of.pale,
            good: of.good,
            deep: of.deep,
        };
        (key.clone(), of)
    };
    let thousandth = |share: f64| (share * 1000.0).round() / 1000.0;
    ReviewJson {
        format: "fairday-review/1",
        studio: screen.studio.name.clone(),
        since: screen.since,
        until: screen.today,
        promises: PromisesJson {
            kept: review.promises.kept,
            share_kept: review.promises.share_kept().map(thousandth),
            broken: review.promises.broken.iter().map(broken).collect(),
        },
        exposures: review.exposures.iter().map(exposures).collect(),
        remakes: review
            .remakes
            .iter()
            .map(|remakes| RemakesJson {
                reason: remakes.reason.clone(),
                count: remakes.count,
            })
            .collect(),
        finished: review.finished,
    }
}
