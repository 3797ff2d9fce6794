//! The audit: a small plan that keeps every rule, and one change for each rule.
//!
//! The plan has hour-long slots, 24 a day, and one person who works from 8 to 10
//! and from 12 to 18:
//!
//! ```text
//! day 0   8 setup   9 coat blue (dark until 22)
//! day 1  33 load blue  34–36 in the sun  36 unload
//!        37 load lace  38 wash blue (rack until 45)
//!        38–40 in the sun  40 unload  41 wash lace (line until 50)
//! day 2  56 finish blue  57 finish lace  60 pack anna  61 pack bert  65 collection
//! ```

mod begun;
mod rules;
mod senseless;

use std::collections::BTreeMap;

use fairday::plan::audit::{Broken, Span, audit};
use fairday::plan::model::{
    Begun, Capacity, Class, Cost, Instance, Lot, LotTiming, Order, OrderTiming, Session,
    SessionRule, Space, Timing, Weights,
};

fn studio() -> Instance {
    Instance {
        format: "studio-plan-instance/1".to_owned(),
        name: "two-lots".to_owned(),
        slot_min: 60,
        per_day: 24,
        horizon: 96,
        work: (0..4)
            .flat_map(|day| {
                [
                    (24 * day + 8, 24 * day + 10),
                    (24 * day + 12, 24 * day + 18),
                ]
            })
            .collect(),
        operators: 1,
        collections: vec![17, 41, 65],
        unserved_day: 9,
        capacity: Capacity {
            dark_sheet: 2,
            dark_line: 3,
            open_sheet: 2,
            open_line: 3,
            tray: 1,
        },
        frames: BTreeMap::from([("A3".to_owned(), 1), ("A2".to_owned(), 1)]),
        session: SessionRule {
            setup: 1,
            mix_life: 4,
            max_per_day: 1,
        },
        load: 1,
        unload: 1,
        wash_gap: 2,
        weights: Weights {
            late: 1000,
            risk: 1,
            session: 100,
            ship: 10,
        },
        classes: vec![Class {
            name: "plain".to_owned(),
            options: vec![(34, 36, 2, 50), (37, 38, 2, 20)],
        }],
        lots: vec![
            Lot {
                id: "blue".to_owned(),
                cls: 0,
                frame: "A3".to_owned(),
                space: Space::Sheet,
                amount: 2,
                coat: 1,
                dark: 12,
                keep: 24,
                attended: false,
                wash: 1,
                tray: 1,
                open: 6,
                cure: 12,
                finish: 1,
                release: 9,
                coated_end: None,
                exposed_end: None,
                washed_end: None,
            },
            Lot {
                id: "lace".to_owned(),
                cls: 0,
                frame: "A2".to_owned(),
                space: Space::Line,
                amount: 3,
                coat: 2,
                dark: 10,
                keep: 48,
                attended: false,
                wash: 1,
                tray: 1,
                open: 8,
                cure: 12,
                finish: 1,
                release: 0,
                coated_end: Some(-6),
                exposed_end: None,
                washed_end: None,
            },
        ],
        orders: vec![
            order("anna", &["blue"], 2, 66),
            order("bert", &["lace", "blue"], 3, 30),
        ],
        begun: Begun::default(),
    }
}

fn order(id: &str, lots: &[&str], weight: i64, promise: i64) -> Order {
    Order {
        id: id.to_owned(),
        lots: lots.iter().map(|lot| (*lot).to_owned()).collect(),
        pack: 1,
        weight,
        promise,
        handover: false,
        release: 0,
    }
}

fn plan() -> Timing {
    let blue = LotTiming {
        coat: Some(9),
        session: Some(0),
        expose: Some(34),
        wash: Some(38),
        finish: 56,
    };
    let lace = LotTiming {
        expose: Some(38),
        wash: Some(41),
        finish: 57,
        ..LotTiming::default()
    };
    Timing {
        sessions: vec![Session { start: 8 }],
        lots: BTreeMap::from([("blue".to_owned(), blue), ("lace".to_owned(), lace)]),
        orders: BTreeMap::from([
            ("anna".to_owned(), OrderTiming { pack: 60 }),
            ("bert".to_owned(), OrderTiming { pack: 61 }),
        ]),
    }
}

const BLUE: usize = 0;
const LACE: usize = 1;

fn blue(timing: &mut Timing) -> &mut LotTiming {
    timing.lots.get_mut("blue").unwrap()
}

fn lace(timing: &mut Timing) -> &mut LotTiming {
    timing.lots.get_mut("lace").unwrap()
}

fn pack(timing: &mut Timing, order: &str, at: i64) {
    timing
        .orders
        .insert(order.to_owned(), OrderTiming { pack: at });
}

fn span(from: i64, until: i64) -> Span {
    Span { from, until }
}

/// Changes the good plan and expects exactly these verdicts, of this rule.
fn check(rule: u8, change: impl Fn(&mut Instance, &mut Timing), expected: &[Broken]) {
    let (mut instance, mut timing) = (studio(), plan());
    change(&mut instance, &mut timing);
    let broken = audit(&instance, &timing).broken;
    assert_eq!(broken, expected);
    let rules: Vec<u8> = broken.iter().map(Broken::rule).collect();
    assert!(rules.iter().all(|&found| found == rule), "{rules:?}");
}

fn check_kept(change: impl Fn(&mut Instance, &mut Timing)) -> Cost {
    let (mut instance, mut timing) = (studio(), plan());
    change(&mut instance, &mut timing);
    let found = audit(&instance, &timing);
    assert_eq!(found.broken, []);
    found.cost
}
