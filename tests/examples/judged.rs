//! Plans invented studios, spoils the plans, and prints what the audit says to each.
//!
//! `cargo run --release --example judged -- COUNT [ITERATIONS] [SPOILT] [INSTANCE…]`
//!
//! One JSON line for each instance, for comparing with another judge: the
//! instance, its plan, and the audit's verdict on the plan and on `SPOILT` changed
//! copies. A change sets one value of the instance or of the plan, or takes it
//! out; it is given as `[document, path, value]` so that the other judge can make
//! the same change.

use std::io::Write;

use anyhow::{Context, ensure};
use fairday::plan::audit::{Broken, Fault, FrameWork, Resource, Start, audit_from};
use fairday::plan::model::{Instance, Space, Timing};
use fairday::plan::search::{Effort, solve};
use rand::rngs::SmallRng;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use serde_json::{Value, json};

#[path = "../it/random_studio.rs"]
mod random_studio;

use random_studio::{Shape, studio};

fn main() -> anyhow::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    ensure!(
        !args.is_empty(),
        "expected COUNT [ITERATIONS] [SPOILT] [INSTANCE…]"
    );
    let number = |index: usize, missing: u64| -> anyhow::Result<u64> {
        args.get(index).map_or(Ok(missing), |word| {
            word.parse()
                .with_context(|| format!("expected a whole number, found `{word}`"))
        })
    };
    let (count, iterations, spoilt) = (number(0, 0)?, number(1, 100)?, number(2, 10)?);
    let invented = (1..=count).map(|seed| Ok(studio(shape(seed), seed)));
    let read = args.iter().skip(3).map(|path| read(path));
    let mut out = std::io::stdout().lock();
    for (number, instance) in invented.chain(read).enumerate() {
        let mut rng = SmallRng::seed_from_u64(number as u64);
        let line = judge(&instance?, iterations, spoilt, &mut rng)?;
        writeln!(out, "{line}")?;
    }
    Ok(())
}

/// Small studios and large ones, short weeks and long ones.
fn shape(seed: u64) -> Shape {
    let orders = [3, 6, 10, 15, 25, 40][seed as usize % 6];
    let days = [4, 7, 7, 10][seed as usize / 6 % 4];
    Shape::plain(orders, days)
}

fn read(path: &str) -> anyhow::Result<Instance> {
    let text = std::fs::read_to_string(path).with_context(|| format!("reading `{path}`"))?;
    serde_json::from_str(&text).with_context(|| format!("reading `{path}`"))
}

/// Plans an instance and judges the plan and its changed copies.
fn judge(
    instance: &Instance,
    iterations: u64,
    spoilt: u64,
    rng: &mut SmallRng,
) -> anyhow::Result<Value> {
    let effort = Effort {
        iterations: Some(iterations),
        seed: 1,
        threads: 2,
    };
    let timing = solve(instance, &effort, &|| 0.0, None).timing;
    let documents = [
        serde_json::to_value(instance)?,
        serde_json::to_value(&timing)?,
    ];
    let changed: Vec<Value> = (0..spoilt)
        .filter_map(|_| {
            let changes: Vec<Change> = (0..rng.random_range(1..=3))
                .map(|_| Change::draw(&documents, rng))
                .collect();
            let mut copies = documents.clone();
            changes.iter().for_each(|change| change.make(&mut copies));
            let [instance, timing] = copies;
            // A value of the wrong kind is for the reader to refuse, not for a judge.
            let instance: Instance = serde_json::from_value(instance).ok()?;
            let timing: Timing = serde_json::from_value(timing).ok()?;
            let changes: Vec<Value> = changes.iter().map(Change::shown).collect();
            Some(json!({"changes": changes, "verdict": verdict(&instance, &timing)}))
        })
        .collect();
    let [shown_instance, shown_timing] = documents;
    Ok(json!({
        "instance": shown_instance,
        "plan": shown_timing,
        "verdict": verdict(instance, &timing),
        "spoilt": changed,
    }))
}

const INSTANCE: usize = 0;
const PLAN: usize = 1;

/// A value of the instance or of the plan that becomes another one.
struct Change {
    document: usize,
    path: Vec<Value>,
    /// The new value; none to take it out.
    value: Option<Value>,
}

impl Change {
    fn draw(documents: &[Value; 2], rng: &mut SmallRng) -> Change {
        let document = if rng.random_bool(0.7) { PLAN } else { INSTANCE };
        let (mut path, mut at) = (Vec::new(), &documents[document]);
        loop {
            let step = match at {
                Value::Object(map) => map
                    .keys()
                    .collect::<Vec<_>>()
                    .choose(rng)
                    .map(|key| json!(key)),
                Value::Array(list) if list.is_empty() => None,
                Value::Array(list) => Some(json!(rng.random_range(0..list.len()))),
                Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => None,
            };
            let Some(step) = step else {
                break;
            };
            at = child(at, &step).expect("the step was found here");
            path.push(step);
            if document == PLAN && path.len() > 1 && rng.random_bool(0.05) {
                break;
            }
        }
        let value = new_value(at, rng);
        Change {
            document,
            path,
            value,
        }
    }

    fn make(&self, documents: &mut [Value; 2]) {
        let Some((last, before)) = self.path.split_last() else {
            return;
        };
        let mut at = &mut documents[self.document];
        for step in before {
            let next = match step {
                Value::String(key) => at.get_mut(key),
                step => at.get_mut(step.as_u64().expect("an index") as usize),
            };
            let Some(next) = next else {
                return; // an earlier change took it out
            };
            at = next;
        }
        match (at, last, &self.value) {
            (Value::Object(map), Value::String(key), Some(value)) => {
                map.insert(key.clone(), value.clone());
            }
            (Value::Object(map), Value::String(key), None) => {
                map.shift_remove(key);
            }
            (Value::Array(list), index, value) => {
                let index = index.as_u64().expect("an index") as usize;
                match value {
                    Some(value) if index < list.len() => list[index] = value.clone(),
                    None if index < list.len() => drop(list.remove(index)),
                    Some(_) | None => {}
                }
            }
            (_, _, _) => {}
        }
    }

    fn shown(&self) -> Value {
        let document = ["instance", "plan"][self.document];
        json!([document, self.path, self.value])
    }
}

fn child<'a>(at: &'a Value, step: &Value) -> Option<&'a Value> {
    match step {
        Value::String(key) => at.get(key),
        step => at.get(step.as_u64()? as usize),
    }
}

/// Another value of the same kind, or none.
fn new_value(old: &Value, rng: &mut SmallRng) -> Option<Value> {
    match old {
        Value::Number(number) => {
            let number = number.as_i64().unwrap_or(0);
            let near: i64 = rng.random_range(-3..=3);
            let far: i64 = rng.random_range(-600..=600);
            match rng.random_range(0..40) {
                0..20 => Some(json!(number + near)),
                20..35 => Some(json!(number + far)),
                35..38 => Some(json!(0)),
                38 => Some(json!(rng.random::<i64>())),
                _ => None,
            }
        }
        Value::Bool(yes) => Some(json!(!yes)),
        Value::Null => Some(json!(rng.random_range(-300..300))),
        Value::String(_) => Some(json!("ghost")),
        Value::Array(_) | Value::Object(_) => None,
    }
}

/// The audit's verdict: rules with their facts, whether it ended early, the cost.
fn verdict(instance: &Instance, timing: &Timing) -> Value {
    let found = audit_from(instance, timing, Start::Judged);
    json!({
        "broken": found.broken.iter().map(facts).collect::<Vec<_>>(),
        "ended": found.broken.iter().any(ends_it),
        "cost": found.cost,
        "total": found.cost.total(&instance.weights),
    })
}

fn facts(broken: &Broken) -> Value {
    let rule = broken.rule();
    match broken {
        Broken::Senseless(fault) => json!([rule, format!("{fault:?}")]),
        Broken::SetupOutsideWork { session, at } => json!([rule, session, at.from]),
        Broken::TooManySessions { day, count, .. } => json!([rule, day, count]),
        Broken::FrameOutsideWork { lot, work, at } => {
            let work = match work {
                FrameWork::Loading => "load",
                FrameWork::Unloading => "unload",
                FrameWork::Attending => "attended exposure of",
            };
            json!([rule, lot, work, at.from, at.until])
        }
        Broken::CoatingOutsideWork { lot, at }
        | Broken::WashingOutsideWork { lot, at }
        | Broken::FinishingOutsideWork { lot, at } => json!([rule, lot, at.from, at.until]),
        Broken::PackingOutsideWork { order, at } => json!([rule, order, at.from, at.until]),
        Broken::CoatedBeforeRelease { lot, .. }
        | Broken::CoatedOutsideMix { lot, .. }
        | Broken::LoadedWet { lot, .. }
        | Broken::KeptTooLong { lot, .. }
        | Broken::FinishedTooEarly { lot, .. } => json!([rule, lot]),
        Broken::ExposedOutsideWindow { lot, expose } => json!([rule, lot, expose]),
        Broken::WashedAtWrongTime {
            lot,
            wash,
            earliest,
            ..
        } => json!([rule, lot, wash, earliest]),
        Broken::EndsAfterHorizon { of, .. } => json!([rule, of]),
        Broken::PackedBeforeFinished { order, lot, .. } => json!([rule, order, lot]),
        Broken::PackedBeforeRelease { order, .. } => json!([rule, order]),
        Broken::NeverCollected { order, .. } => json!([rule, order]),
        Broken::OverCapacity {
            resource,
            at,
            places,
            ..
        } => json!([rule, resource_name(resource), at, places]),
    }
}

fn resource_name(resource: &Resource) -> String {
    let space = |space: &Space| match space {
        Space::Sheet => "sheet",
        Space::Line => "line",
    };
    match resource {
        Resource::Hands => "op".to_owned(),
        Resource::Dark(of) => format!("dark_{}", space(of)),
        Resource::Open(of) => format!("open_{}", space(of)),
        Resource::Trays => "tray".to_owned(),
        Resource::Frame(name) => name.clone(),
    }
}

/// Whether the audit judged nothing else after it.
fn ends_it(broken: &Broken) -> bool {
    let Broken::Senseless(fault) = broken else {
        return false;
    };
    match fault {
        Fault::NumberOutOfRange { .. }
        | Fault::Negative { .. }
        | Fault::NoSlotsInADay
        | Fault::RowBackwards { .. }
        | Fault::LotTwice { .. }
        | Fault::OrderTwice { .. }
        | Fault::UnknownFrame { .. }
        | Fault::UnknownClass { .. }
        | Fault::OrderOfUnknownLot { .. } => true,
        Fault::UnknownLot { .. }
        | Fault::UnknownOrder { .. }
        | Fault::MissingStep { .. }
        | Fault::NeedlessStep { .. }
        | Fault::NegativeStart { .. } => false,
    }
}
