//! The plan as JSON, `fairday-plan/1`.

use chrono::NaiveDate;
use serde::Serialize;

use super::{ProblemJson, ShortJson, Wall, plain, short_json, tenth};
use crate::forecast::Origin;
use crate::order::Order;
use crate::plan::bound::Proof;
use crate::plan::course::{Course, OrderCourse};
use crate::plan::daylight::DayLight;
use crate::plan::under_way::StepUnderWay;
use crate::plan::week::{Batch, OrderPieces, Step, What, by_order};
use crate::spare::offers;
use crate::stage::Stage;
use crate::view::plan::{PlanScreen, range_of};

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct PlanJson {
    format: &'static str,
    studio: String,
    now: Wall,
    forecast: String,
    under_way: Vec<UnderWayJson>,
    days: Vec<DayJson>,
    orders: Vec<OrderJson>,
    proof: ProofJson,
    #[serde(flatten)]
    short: ShortJson,
    unread: Vec<String>,
    problems: Vec<ProblemJson>,
}

/// What goes on at the moment of the plan.
#[derive(Debug, Serialize)]
struct UnderWayJson {
    stage: Stage,
    from: Wall,
    until: Wall,
    frame: Option<String>,
    pieces: Vec<PiecesJson>,
}

impl UnderWayJson {
    fn new(step: &StepUnderWay, orders: &[Order]) -> UnderWayJson {
        UnderWayJson {
            stage: step.stage,
            from: Wall(step.from),
            until: Wall(step.until),
            frame: step.frame.as_ref().map(|(name, _)| name.clone()),
            pieces: pieces_json(orders, &by_order(orders, &step.pieces)),
        }
    }
}

/// What the plan has, and what no plan can be better than.
#[derive(Debug, Serialize)]
struct ProofJson {
    /// Weighted order-days after the promise.
    late: i64,
    late_at_least: i64,
    cost: i64,
    cost_at_least: i64,
    most_punctual: bool,
    best: bool,
}

impl ProofJson {
    fn new(proof: &Proof) -> ProofJson {
        ProofJson {
            late: proof.late,
            late_at_least: proof.bound.late,
            cost: proof.cost,
            cost_at_least: proof.bound.cost,
            most_punctual: proof.is_most_punctual(),
            best: proof.is_best(),
        }
    }
}

#[derive(Debug, Serialize)]
struct DayJson {
    date: NaiveDate,
    windows: Vec<SpanJson>,
    best: Option<BestJson>,
    rests_on: Origin,
    uv_index: Option<f64>,
    steps: Vec<StepJson>,
}

#[derive(Debug, Serialize)]
struct SpanJson {
    from: Wall,
    until: Wall,
}

#[derive(Debug, Serialize)]
struct BestJson {
    at: Wall,
    minutes: f64,
}

#[derive(Debug, Serialize)]
struct StepJson {
    from: Wall,
    until: Wall,
    #[serde(flatten)]
    what: WhatJson,
}

#[derive(Debug, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
enum WhatJson {
    Coat {
        mix_ml: f64,
        a_ml: f64,
        a_g: f64,
        b_ml: f64,
        b_g: f64,
        mix_until: Wall,
        mix_stands: bool,
        coats: Vec<CoatJson>,
        offers: Vec<OfferJson>,
    },
    Expose {
        frame: String,
        which: u32,
        light_from: Wall,
        minutes: f64,
        least_minutes: Option<f64>,
        most_minutes: Option<f64>,
        risk_per_mille: i64,
        rests_on: Origin,
        stay: bool,
        lamp: bool,
        material: String,
        pieces: Vec<PiecesJson>,
    },
    Wash {
        wet_dry_until: Option<Wall>,
        material: String,
        pieces: Vec<PiecesJson>,
    },
    Finish {
        material: String,
        pieces: Vec<PiecesJson>,
    },
    Pack {
        order: String,
        pickup: bool,
    },
    Leave {
        orders: Vec<String>,
    },
}

#[derive(Debug, Serialize)]
struct CoatJson {
    from: Wall,
    until: Wall,
    dry: Wall,
    material: String,
    pieces: Vec<PiecesJson>,
}

#[derive(Debug, Serialize)]
struct OfferJson {
    order: String,
    pieces: Vec<u32>,
    spares: u32,
    remake_share: f64,
}

#[derive(Debug, Serialize)]
struct PiecesJson {
    order: String,
    pieces: Vec<u32>,
}

#[derive(Debug, Serialize)]
pub(super) struct OrderJson {
    order: String,
    course: Course,
    due_on: NaiveDate,
    leave_by: NaiveDate,
    leaves_on: Option<NaiveDate>,
    arrives_on: Option<NaiveDate>,
    days_late: Option<i64>,
}

/// Says the plan for other programs.
pub fn plan_json(screen: &PlanScreen) -> PlanJson {
    PlanJson {
        format: "fairday-plan/1",
        studio: screen.studio.name.clone(),
        now: Wall(screen.now),
        forecast: plain(screen.forecast_note),
        under_way: screen
            .under_way
            .steps
            .iter()
            .map(|step| UnderWayJson::new(step, screen.orders))
            .collect(),
        days: screen
            .daylight
            .iter()
            .map(|light| day(screen, light))
            .collect(),
        orders: screen
            .courses
            .iter()
            .map(|course| OrderJson::new(course, &screen.orders[course.order].number))
            .collect(),
        proof: ProofJson::new(screen.proof),
        short: short_json(screen.outlook, screen.studio, screen.orders, screen.now),
        unread: screen.unread.to_vec(),
        problems: screen.problems.iter().map(ProblemJson::new).collect(),
    }
}

impl OrderJson {
    pub(super) fn new(course: &OrderCourse, number: &str) -> OrderJson {
        OrderJson {
            order: number.to_owned(),
            course: course.course,
            due_on: course.due_on,
            leave_by: course.leave_by,
            leaves_on: course.leaves_on,
            arrives_on: course.arrives_on,
            days_late: course.days_late(),
        }
    }
}

fn day(screen: &PlanScreen, light: &DayLight) -> DayJson {
    let steps = screen
        .week
        .find_day(light.date)
        .map(|day| day.steps.as_slice());
    let span = |(from, until): &(_, _)| SpanJson {
        from: Wall(*from),
        until: Wall(*until),
    };
    DayJson {
        date: light.date,
        windows: light.windows.iter().map(span).collect(),
        best: light.best.map(|(at, minutes)| BestJson {
            at: Wall(at),
            minutes: tenth(minutes),
        }),
        rests_on: light.origin,
        uv_index: light.uv_index.map(tenth),
        steps: steps
            .unwrap_or_default()
            .iter()
            .map(|step| step_json(screen, step))
            .collect(),
    }
}

fn step_json(screen: &PlanScreen, step: &Step) -> StepJson {
    StepJson {
        from: Wall(step.from),
        until: Wall(step.until),
        what: what(screen, &step.what),
    }
}

fn what(screen: &PlanScreen, what: &What) -> WhatJson {
    let number = |order: usize| screen.orders[order].number.clone();
    match what {
        What::Coat(session) => WhatJson::Coat {
            mix_ml: session.mix.volume_ml,
            a_ml: session.mix.a_ml,
            a_g: session.mix.a_g,
            b_ml: session.mix.b_ml,
            b_g: session.mix.b_g,
            mix_until: Wall(session.mix_until),
            mix_stands: session.stands,
            coats: session
                .coats
                .iter()
                .map(|coat| CoatJson {
                    from: Wall(coat.from),
                    until: Wall(coat.until),
                    dry: Wall(coat.dry),
                    material: coat.batch.material.clone(),
                    pieces: pieces(screen, &coat.batch),
                })
                .collect(),
            offers: offers(session, screen.orders, screen.studio)
                .into_iter()
                .map(|offer| OfferJson {
                    order: number(offer.pieces.order),
                    pieces: offer.pieces.numbers,
                    spares: offer.spares,
                    remake_share: offer.remake_share,
                })
                .collect(),
        },
        What::Expose(round) => WhatJson::Expose {
            frame: round.frame.clone(),
            which: round.which,
            light_from: Wall(round.light_from),
            minutes: tenth(round.minutes),
            least_minutes: range_of(screen, round).map(|range| tenth(range.least)),
            most_minutes: range_of(screen, round)
                .and_then(|range| range.most)
                .map(tenth),
            risk_per_mille: round.risk_per_mille,
            rests_on: round.origin,
            stay: round.watch,
            lamp: round.lamp,
            material: round.batch.material.clone(),
            pieces: pieces(screen, &round.batch),
        },
        What::Wash(batch) => WhatJson::Wash {
            wet_dry_until: batch.free.map(Wall),
            material: batch.material.clone(),
            pieces: pieces(screen, batch),
        },
        What::Finish(batch) => WhatJson::Finish {
            material: batch.material.clone(),
            pieces: pieces(screen, batch),
        },
        What::Pack(parcel) => WhatJson::Pack {
            order: number(parcel.order),
            pickup: parcel.pickup,
        },
        What::Leave(parcels) => WhatJson::Leave {
            orders: parcels.iter().map(|p| number(p.order)).collect(),
        },
    }
}

fn pieces(screen: &PlanScreen, batch: &Batch) -> Vec<PiecesJson> {
    pieces_json(screen.orders, &batch.pieces)
}

fn pieces_json(orders: &[Order], pieces: &[OrderPieces]) -> Vec<PiecesJson> {
    let all = pieces.iter();
    all.map(|pieces| PiecesJson {
        order: orders[pieces.order].number.clone(),
        pieces: pieces.numbers.clone(),
    })
    .collect()
}
