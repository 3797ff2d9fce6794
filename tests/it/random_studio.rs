//! Invented studios of any size, for tests, benchmarks and the example `studios`.
//!
//! [`studio`] draws one week or more of a studio: hands, racks, frames, a sky that
//! changes by the hour, lots and orders. The same shape and seed give the same
//! studio. Nothing here is a forecast or a price list; the numbers only have to
//! be of the size that a real studio knows.

use std::collections::BTreeMap;

use fairday::plan::model::{
    Begun, Capacity, Class, Held, Instance, Lot, Order, SessionRule, Slot, Space, Taken, Weights,
};
use rand::rngs::SmallRng;
use rand::seq::{IndexedRandom, SliceRandom};
use rand::{Rng, SeedableRng};

/// Slots of five minutes in a day.
const PER_DAY: Slot = 288;
/// Slots of five minutes in an hour.
const HOUR: Slot = 12;
/// Longest exposure that the invented studios accept. [slots]
const EXPOSURE_MAX: Slot = 24;
/// Frames by name, with the rack places and trays that a filled one needs.
const FRAMES: [(&str, i64, i64); 3] = [("S", 2, 1), ("M", 3, 1), ("L", 5, 2)];

/// What kind of studio to draw.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    /// How many orders.
    pub orders: usize,
    /// How many days.
    pub days: i64,
    /// Whether lots already exposed or washed, collections at the door and orders
    /// without a lot may occur; the plain format does not know them.
    pub extended: bool,
}

impl Shape {
    /// Returns a shape of the plain format.
    pub fn plain(orders: usize, days: i64) -> Self {
        Self {
            orders,
            days,
            extended: false,
        }
    }
}

/// The sky of one hour.
#[derive(Debug, Clone, Copy)]
struct Hour {
    /// Share of the clear light that arrives.
    light: f64,
    /// Chance of a failure that does not depend on the length. [per mille]
    doubt: i64,
    /// Whether it rains.
    wet: bool,
    /// Whether loose objects would move.
    gusty: bool,
}

/// Draws the studio that belongs to `shape` and `seed`.
pub fn studio(shape: Shape, seed: u64) -> Instance {
    let mut rng = SmallRng::seed_from_u64(seed);
    let horizon = shape.days * PER_DAY;
    let off = rng.random_range(0..7);
    let work = work(&mut rng, shape.days, off);
    let collections = collections(&mut rng, shape.days, off);
    let sky = sky(&mut rng, shape.days);
    let capacity = capacity(&mut rng);
    let mut lots = lots(&mut rng, shape, &work);
    if !shape.extended {
        keep_racks_sound(&mut lots, &capacity);
    }
    let orders = orders(&mut rng, shape, &mut lots, &collections);
    Instance {
        format: "studio-plan-instance/1".to_owned(),
        name: format!("r{}-d{}-s{seed}", shape.orders, shape.days),
        slot_min: 5,
        per_day: PER_DAY,
        horizon,
        work,
        operators: if rng.random_bool(0.25) { 2 } else { 1 },
        collections,
        unserved_day: shape.days + 3,
        capacity,
        frames: frames(&mut rng),
        session: SessionRule {
            setup: rng.random_range(2..=4),
            mix_life: *[12, 24, 24, 36].choose(&mut rng).expect("not empty"),
            max_per_day: *[1, 2, 2, 3].choose(&mut rng).expect("not empty"),
        },
        load: 1,
        unload: 1,
        wash_gap: *[6, 12, 24].choose(&mut rng).expect("not empty"),
        weights: Weights {
            late: 100_000,
            risk: 10,
            session: 300,
            ship: 1,
        },
        classes: classes(&sky, shape.days),
        lots,
        orders,
        begun: begun(&mut rng, shape),
    }
}

/// Draws what goes on in the first hours.
fn begun(rng: &mut SmallRng, shape: Shape) -> Begun {
    if !shape.extended {
        return Begun::default();
    }
    let whats = [
        Held::Hands,
        Held::Trays,
        Held::Frame(FRAMES[0].0.to_owned()),
    ];
    let taken = whats.into_iter().map(|what| {
        let from = rng.random_range(0..10 * HOUR);
        Taken {
            what,
            amount: rng.random_range(0..=2),
            from,
            until: from + rng.random_range(0..6 * HOUR),
        }
    });
    Begun {
        taken: taken.collect(),
        sessions: rng.random_range(0..=1),
    }
}

/// Draws two stretches of work a day, one on short days, none on the day off.
fn work(rng: &mut SmallRng, days: i64, off: i64) -> Vec<(Slot, Slot)> {
    let (start, noon, end) = (rng.random_range(7..=9), 13, rng.random_range(16..=18));
    let mut stretches = Vec::new();
    for day in (0..days).filter(|day| (day + off) % 7 != 6) {
        let at = |hour: i64| day * PER_DAY + hour * HOUR;
        stretches.push((at(start), at(noon)));
        if (day + off) % 7 != 5 {
            stretches.push((at(noon + 1), at(end)));
        }
    }
    stretches
}

/// Draws the carrier's days: most working days, late in the afternoon.
fn collections(rng: &mut SmallRng, days: i64, off: i64) -> Vec<Slot> {
    let hour = rng.random_range(14..=17);
    let weekdays: Vec<bool> = (0..7).map(|_| rng.random_bool(0.85)).collect();
    (0..days)
        .filter(|day| (day + off) % 7 < 5 && weekdays[((day + off) % 7) as usize])
        .map(|day| day * PER_DAY + hour * HOUR)
        .collect()
}

/// Draws the places in racks and trays.
fn capacity(rng: &mut SmallRng) -> Capacity {
    Capacity {
        dark_sheet: rng.random_range(15..=30),
        dark_line: rng.random_range(6..=12),
        open_sheet: rng.random_range(20..=36),
        open_line: rng.random_range(8..=14),
        tray: rng.random_range(2..=4),
    }
}

/// Draws how many frames of each size there are.
fn frames(rng: &mut SmallRng) -> BTreeMap<String, i64> {
    let counts = [
        rng.random_range(2..=4),
        rng.random_range(1..=3),
        rng.random_range(1..=2),
    ];
    FRAMES
        .iter()
        .zip(counts)
        .map(|((name, _, _), count)| ((*name).to_owned(), count))
        .collect()
}

/// Draws the sky hour by hour: each day has a mood, hours wander about it.
fn sky(rng: &mut SmallRng, days: i64) -> Vec<Hour> {
    let mut hours = Vec::new();
    for day in 0..days {
        let mood = rng.random_range(0.0..1.0f64).powf(1.5);
        let breeze = rng.random_range(0.0..1.0f64);
        let mut cloud = mood;
        for _ in 0..24 {
            cloud = (cloud + rng.random_range(-0.25..0.25) + 0.3 * (mood - cloud)).clamp(0.0, 1.0);
            let wind = breeze + rng.random_range(-0.2..0.2);
            let doubt = 20.0 + 5.0 * day.min(8) as f64 + 300.0 * cloud * cloud;
            hours.push(Hour {
                light: 1.0 - 0.8 * cloud,
                doubt: doubt as i64 + rng.random_range(0..12),
                wet: cloud > 0.75 && rng.random_bool(0.3),
                gusty: wind > 0.75,
            });
        }
    }
    hours
}

/// Returns the six classes: three doses, each for flat and for loose objects.
fn classes(sky: &[Hour], days: i64) -> Vec<Class> {
    let mut classes = Vec::new();
    for loose in [false, true] {
        for dose in [8, 12, 18] {
            classes.push(Class {
                name: format!("dose{dose}{}", if loose { "-loose" } else { "" }),
                options: options(sky, days, f64::from(dose), loose),
            });
        }
    }
    classes
}

/// Returns the table of admissible starts of one class.
fn options(sky: &[Hour], days: i64, dose: f64, loose: bool) -> Vec<(Slot, Slot, Slot, i64)> {
    let mut rows: Vec<(Slot, Slot, Slot, i64)> = Vec::new();
    for start in 0..days * PER_DAY {
        let Some((length, risk)) = exposure(sky, start, dose, loose) else {
            continue;
        };
        match rows.last_mut() {
            Some(row) if row.1 + 1 == start && (row.2, row.3) == (length, risk) => row.1 = start,
            Some(_) | None => rows.push((start, start, length, risk)),
        }
    }
    rows
}

/// Returns length and risk of an exposure that starts at `start`, if it may.
fn exposure(sky: &[Hour], start: Slot, dose: f64, loose: bool) -> Option<(Slot, i64)> {
    let mut gathered = 0.0;
    let mut doubt = 0;
    for length in 1..=EXPOSURE_MAX {
        let slot = start + length - 1;
        let hour = sky.get((slot / HOUR) as usize)?;
        if hour.wet || (loose && hour.gusty) {
            return None;
        }
        let of_day = (slot % PER_DAY) as f64 / PER_DAY as f64;
        let height = ((of_day - 0.25) * std::f64::consts::TAU).sin().max(0.0);
        gathered += hour.light * height * 5.0;
        doubt = doubt.max(hour.doubt);
        if gathered >= dose {
            let risk = doubt + 6 * length + if loose { 20 } else { 0 };
            return Some((length, risk));
        }
    }
    None
}

/// Draws the lots; some are coated already.
fn lots(rng: &mut SmallRng, shape: Shape, work: &[(Slot, Slot)]) -> Vec<Lot> {
    let count = shape.orders + rng.random_range(0..=shape.orders / 4);
    (0..count)
        .map(|index| lot(rng, shape, work, index))
        .collect()
}

/// Makes lots uncoated that would not have found a place to dry beside the others.
fn keep_racks_sound(lots: &mut [Lot], capacity: &Capacity) {
    for index in 0..lots.len() {
        let Some(end) = lots[index].coated_end else {
            continue;
        };
        let (space, dry) = (lots[index].space, end + lots[index].dark);
        let beside = lots[..index].iter().filter(|other| {
            let overlaps = |from: Slot| from < dry && end < from + other.dark;
            other.space == space && other.coated_end.is_some_and(overlaps)
        });
        let amount: i64 = beside.map(|other| other.amount).sum();
        let places = match space {
            Space::Sheet => capacity.dark_sheet,
            Space::Line => capacity.dark_line,
        };
        if amount + lots[index].amount > places {
            lots[index].coated_end = None;
        }
    }
}

/// Draws one lot.
fn lot(rng: &mut SmallRng, shape: Shape, work: &[(Slot, Slot)], index: usize) -> Lot {
    let (frame, amount, tray) = *FRAMES
        .choose_weighted(rng, |frame| match frame.0 {
            "L" => 2,
            _ => 4,
        })
        .expect("weights are positive");
    let cloth = rng.random_bool(0.2);
    let loose = rng.random_bool(0.25);
    let dark = *if cloth {
        &[96, 120, 168]
    } else {
        &[24, 36, 60]
    }
    .choose(rng)
    .expect("not empty");
    let coated = rng.random_bool(0.2).then(|| -rng.random_range(20..900));
    let mut lot = Lot {
        id: format!("L{index}"),
        cls: rng.random_range(0..3) + if loose { 3 } else { 0 },
        frame: frame.to_owned(),
        space: if cloth { Space::Line } else { Space::Sheet },
        amount,
        coat: rng.random_range(1..=5),
        dark,
        keep: *[2016, 2016, 288].choose(rng).expect("not empty"),
        attended: loose && rng.random_bool(0.6),
        wash: rng.random_range(2..=4),
        tray,
        open: *if cloth { &[72, 96, 120] } else { &[36, 60, 96] }
            .choose(rng)
            .expect("not empty"),
        cure: *[144, 288, 288].choose(rng).expect("not empty"),
        finish: rng.random_range(1..=5),
        release: if rng.random_bool(0.1) {
            work.choose(rng).map_or(0, |stretch| stretch.0)
        } else {
            0
        },
        coated_end: coated,
        exposed_end: None,
        washed_end: None,
    };
    if coated.is_some() {
        lot.release = 0;
        lot.keep = 2016;
    }
    if shape.extended && rng.random_bool(0.1) {
        lot.exposed_end = Some(rng.random_range(-10..40));
    } else if shape.extended && rng.random_bool(0.1) {
        lot.washed_end = Some(-rng.random_range(0..300));
    }
    lot
}

/// Draws the orders; every lot serves one, some serve several.
fn orders(rng: &mut SmallRng, shape: Shape, lots: &mut [Lot], collections: &[Slot]) -> Vec<Order> {
    let mut own: Vec<usize> = (0..lots.len()).collect();
    own.shuffle(rng);
    let mut orders: Vec<Order> = (0..shape.orders)
        .map(|index| order(rng, index, collections))
        .collect();
    for (turn, lot) in own.into_iter().enumerate() {
        let order = turn % shape.orders.max(1);
        orders[order].lots.push(lots[lot].id.clone());
    }
    for order in &mut orders {
        if rng.random_bool(0.3) {
            let shared = lots.choose(rng).expect("there are lots").id.clone();
            if !order.lots.contains(&shared) {
                order.lots.push(shared);
            }
        }
        if shape.extended && rng.random_bool(0.05) {
            order.lots.clear();
        }
        order.handover = shape.extended && rng.random_bool(0.15);
        if shape.extended && rng.random_bool(0.2) {
            order.release = rng.random_range(0..2 * PER_DAY);
        }
    }
    orders
}

/// Draws an order without its lots.
fn order(rng: &mut SmallRng, index: usize, collections: &[Slot]) -> Order {
    let late_enough = collections.len().min(2);
    Order {
        id: format!("O{index}"),
        lots: Vec::new(),
        pack: rng.random_range(1..=3),
        weight: *[1, 1, 1, 2, 2, 4].choose(rng).expect("not empty"),
        promise: collections[late_enough..]
            .choose(rng)
            .or(collections.last())
            .copied()
            .unwrap_or(PER_DAY),
        handover: false,
        release: 0,
    }
}

#[test]
fn the_same_seed_draws_the_same_studio() {
    let shape = Shape {
        extended: true,
        ..Shape::plain(25, 7)
    };
    assert_eq!(studio(shape, 3), studio(shape, 3));
    assert_ne!(studio(shape, 3), studio(shape, 4));
}
