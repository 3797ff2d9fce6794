//! Stock as JSON, `fairday-stock/1`; its shortages and errands inside other answers.

use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;

use super::{Wall, plain, tenth};
use crate::keeping::Keeping;
use crate::order::Order;
use crate::plan::week::OrderPieces;
use crate::stock::Form;
use crate::studio::Studio;
use crate::supply::{Missing, Outlook, Shortage};
use crate::view::stock::{StockScreen, errands, shortage_words};

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct StockJson {
    format: &'static str,
    studio: String,
    now: Wall,
    counted: bool,
    supplies: Vec<SupplyJson>,
    uncounted: Vec<String>,
    bottles: Vec<BottleJson>,
    mix: Option<MixJson>,
    salts: Vec<SaltJson>,
    packing: Vec<PackingJson>,
    drinks: Vec<DrinksJson>,
    coated: Vec<CoatedJson>,
    days: Vec<DayJson>,
    #[serde(flatten)]
    short: ShortJson,
}

/// What runs out and what to do about it.
#[derive(Debug, Serialize)]
pub struct ShortJson {
    short: Vec<ShortageJson>,
    errands: Vec<ErrandJson>,
}

#[derive(Debug, Serialize)]
struct SupplyJson {
    material: String,
    batch: Option<String>,
    size: Option<String>,
    width_cm: Option<f64>,
    /// Sheets, or centimetres of a roll.
    left: f64,
    left_after_plan: f64,
    arrives_on: Option<NaiveDate>,
    pieces_planned: u32,
    last_goes_on: Option<NaiveDate>,
    coated_beyond_count: u32,
}

#[derive(Debug, Serialize)]
struct BottleJson {
    stock: &'static str,
    made_ml: f64,
    left_ml: f64,
    left_after_plan_ml: f64,
    made_at: Wall,
    age_days: i64,
    rested_at: Wall,
    keeps_until: Wall,
}

#[derive(Debug, Serialize)]
struct MixJson {
    since: Wall,
    until: Wall,
}

#[derive(Debug, Serialize)]
struct SaltJson {
    stock: &'static str,
    name: String,
    left_g: f64,
    planned_g: f64,
    making_g: f64,
}

#[derive(Debug, Serialize)]
struct PackingJson {
    name: String,
    left: u32,
    left_after_plan: u32,
}

#[derive(Debug, Serialize)]
struct DrinksJson {
    material: String,
    ml_per_m2: f64,
    setting_ml_per_m2: f64,
    sessions: usize,
    forgotten: usize,
}

#[derive(Debug, Serialize)]
struct CoatedJson {
    order: String,
    piece: u32,
    coated_at: Wall,
    best_until: Wall,
    keeping: Keeping,
}

#[derive(Debug, Serialize)]
struct DayJson {
    date: NaiveDate,
    materials: Vec<MaterialJson>,
    mix_ml: f64,
    a_ml: f64,
    a_g: f64,
    b_ml: f64,
    b_g: f64,
    parcels: u32,
}

#[derive(Debug, Serialize)]
struct MaterialJson {
    material: String,
    pieces: u32,
    m2: f64,
}

#[derive(Debug, Serialize)]
struct ShortageJson {
    what: &'static str,
    material: Option<String>,
    sizes: Vec<SizeJson>,
    amount: f64,
    pieces: Vec<PiecesJson>,
    on: Option<NaiveDate>,
    buy_by: Option<NaiveDate>,
    arrives_on: Option<NaiveDate>,
    words: String,
}

#[derive(Debug, Serialize)]
struct SizeJson {
    size: String,
    pieces: u32,
}

#[derive(Debug, Serialize)]
struct PiecesJson {
    order: String,
    pieces: Vec<u32>,
}

#[derive(Debug, Serialize)]
struct ErrandJson {
    by: Wall,
    late: bool,
    what: String,
    why: String,
}

/// Says the stock for other programs.
pub fn stock_json(screen: &StockScreen) -> StockJson {
    let outlook = screen.outlook;
    StockJson {
        format: "fairday-stock/1",
        studio: screen.studio.name.clone(),
        now: Wall(screen.now),
        counted: screen.is_counted,
        supplies: supplies(outlook),
        uncounted: outlook.uncounted.clone(),
        bottles: bottles(outlook),
        mix: outlook.mix.map(|mix| MixJson {
            since: Wall(mix.since),
            until: Wall(mix.until),
        }),
        salts: salts(outlook),
        packing: packing(outlook),
        drinks: drinks(screen),
        coated: coated(screen),
        days: days(outlook),
        short: short_json(outlook, screen.studio, screen.orders, screen.now),
    }
}

/// Says what runs out and what to do about it.
pub fn short_json(
    outlook: &Outlook,
    studio: &Studio,
    orders: &[Order],
    now: NaiveDateTime,
) -> ShortJson {
    let short = outlook.shortages.iter();
    let errands = errands(outlook, studio, orders, now);
    ShortJson {
        short: short
            .map(|short| shortage(short, studio, orders, now))
            .collect(),
        errands: errands
            .into_iter()
            .map(|errand| ErrandJson {
                by: Wall(errand.by),
                late: errand.is_late,
                what: plain(&errand.what),
                why: plain(&errand.why),
            })
            .collect(),
    }
}

fn shortage(
    short: &Shortage,
    studio: &Studio,
    orders: &[Order],
    now: NaiveDateTime,
) -> ShortageJson {
    let (what, material, sizes) = match &short.what {
        Missing::Material { material, sizes } => {
            ("material", Some(material.clone()), sizes.as_slice())
        }
        Missing::Salt(part) => ("salt", Some(part.letter().to_owned()), &[][..]),
        Missing::Packing => ("packing", None, &[][..]),
    };
    let sizes = sizes.iter().map(|(size, pieces)| SizeJson {
        size: size.to_string(),
        pieces: *pieces,
    });
    let pieces = |some: &OrderPieces| PiecesJson {
        order: orders[some.order].number.clone(),
        pieces: some.numbers.clone(),
    };
    ShortageJson {
        what,
        material,
        sizes: sizes.collect(),
        amount: hundredth(short.amount),
        pieces: short.pieces.iter().map(pieces).collect(),
        on: short.on,
        buy_by: short.buy_by,
        arrives_on: short.arrives_on,
        words: plain(&shortage_words(short, studio, orders, now.date())),
    }
}

fn supplies(outlook: &Outlook) -> Vec<SupplyJson> {
    let supplies = outlook.supplies.iter().map(|state| {
        let supply = &state.supply;
        let (size, width_cm, unit) = match supply.form {
            Form::Sheets { size, .. } => (Some(size.to_string()), None, 1.0),
            Form::Roll { width, .. } => (None, Some(width.mm() / 10.0), 100.0),
        };
        SupplyJson {
            material: supply.material.clone(),
            batch: supply.batch.clone(),
            size,
            width_cm,
            left: tenth(f64::from(state.left_now) / unit),
            left_after_plan: tenth(f64::from(state.left_then) / unit),
            arrives_on: supply.ordered.then(|| supply.from.date()),
            pieces_planned: state.planned,
            last_goes_on: state.empty_at.map(|at| at.date()),
            coated_beyond_count: state.overdrawn,
        }
    });
    supplies.collect()
}

fn drinks(screen: &StockScreen) -> Vec<DrinksJson> {
    let drinks = screen.coverage.iter().map(|(key, of)| DrinksJson {
        material: key.clone(),
        ml_per_m2: hundredth(of.ml_per_m2),
        setting_ml_per_m2: of.before,
        sessions: of.sessions,
        forgotten: of.forgotten,
    });
    drinks.collect()
}

fn bottles(outlook: &Outlook) -> Vec<BottleJson> {
    let bottles = outlook.bottles.iter().map(|state| BottleJson {
        stock: state.bottle.part.letter(),
        made_ml: state.bottle.made_ml,
        left_ml: tenth(state.left_now_ml),
        left_after_plan_ml: tenth(state.left_then_ml),
        made_at: Wall(state.bottle.made_at),
        age_days: state.age_days,
        rested_at: Wall(state.rested_at),
        keeps_until: Wall(state.keeps_until),
    });
    bottles.collect()
}

fn salts(outlook: &Outlook) -> Vec<SaltJson> {
    let salts = outlook.salts.iter().map(|state| SaltJson {
        stock: state.salt.part.letter(),
        name: state.salt.name.clone(),
        left_g: hundredth(state.left_now_g),
        planned_g: hundredth(state.planned_g),
        making_g: hundredth(state.making_g),
    });
    salts.collect()
}

fn packing(outlook: &Outlook) -> Vec<PackingJson> {
    let packing = outlook.packing.iter().map(|state| PackingJson {
        name: state.packing.name.clone(),
        left: state.left_now,
        left_after_plan: state.left_then,
    });
    packing.collect()
}

fn coated(screen: &StockScreen) -> Vec<CoatedJson> {
    let coated = screen.coated.iter().map(|coat| CoatedJson {
        order: coat.order.clone(),
        piece: coat.piece,
        coated_at: Wall(coat.coated_at),
        best_until: Wall(coat.best_until),
        keeping: coat.keeping,
    });
    coated.collect()
}

fn days(outlook: &Outlook) -> Vec<DayJson> {
    let days = outlook.days.iter().map(|used| DayJson {
        date: used.date,
        materials: used
            .materials
            .iter()
            .map(|(material, (pieces, m2))| MaterialJson {
                material: material.clone(),
                pieces: *pieces,
                m2: (m2 * 10_000.0).round() / 10_000.0,
            })
            .collect(),
        mix_ml: hundredth(used.mix.volume_ml),
        a_ml: hundredth(used.mix.a_ml),
        a_g: hundredth(used.mix.a_g),
        b_ml: hundredth(used.mix.b_ml),
        b_g: hundredth(used.mix.b_g),
        parcels: used.parcels,
    });
    days.collect()
}

fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
