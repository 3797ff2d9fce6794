//! Work in progress, orders without lots, and what is handed over at the door.

use fairday::plan::audit::{Broken, Fault, Resource, Start, Step, audit, audit_from};
use fairday::plan::model::{Instance, LotTiming, Space, Timing};

use super::{BLUE, LACE, check, check_kept, lace, order, pack, plan, studio};

/// A lot out of the frame has only wash and finishing left, and no last start.
#[test]
fn an_exposed_lot_waits_for_the_wash_as_long_as_it_takes() {
    fn exposed(instance: &mut Instance, timing: &mut Timing) {
        instance.lots[LACE].exposed_end = Some(-3);
        lace(timing).expose = None;
    }
    let cost = check_kept(exposed);
    assert_eq!(cost.risk, 50);
    check(
        10,
        |instance, timing| {
            exposed(instance, timing);
            instance.lots[LACE].exposed_end = Some(42);
        },
        &[Broken::WashedAtWrongTime {
            lot: "lace".to_owned(),
            wash: 41,
            earliest: 42,
            latest: None,
        }],
    );
}

/// A washed lot hangs on the line until 2 + 8 and its colour is there at 2 + 12.
#[test]
fn a_washed_lot_has_only_finishing_left() {
    fn washed(instance: &mut Instance, timing: &mut Timing) {
        instance.lots[LACE].washed_end = Some(2);
        *lace(timing) = LotTiming {
            finish: 14,
            ..LotTiming::default()
        };
    }
    check_kept(washed);
    check(
        12,
        |instance, timing| {
            washed(instance, timing);
            lace(timing).finish = 13;
        },
        &[Broken::FinishedTooEarly {
            lot: "lace".to_owned(),
            finish: 13,
            earliest: 14,
        }],
    );
    check(
        0,
        |instance, timing| {
            washed(instance, timing);
            lace(timing).wash = Some(41);
        },
        &[Broken::Senseless(Fault::NeedlessStep {
            lot: "lace".to_owned(),
            step: Step::Wash,
        })],
    );
}

/// What is out of the frame needs none, nor a class; the studio may have sold it.
#[test]
fn a_washed_lot_may_name_a_frame_that_is_gone() {
    check_kept(|instance, timing| {
        instance.lots[LACE].frame = String::new();
        instance.lots[LACE].cls = 7;
        instance.lots[LACE].washed_end = Some(2);
        *lace(timing) = LotTiming {
            finish: 57,
            ..LotTiming::default()
        };
    });
}

#[test]
fn an_order_without_lots_is_only_packed() {
    check_kept(|instance, timing| {
        instance.orders.push(order("carl", &[], 1, 30));
        pack(timing, "carl", 12);
    });
}

/// By hand: bert is packed on day 2 after the last collection of that day, and
/// leaves on day 2 all the same.
#[test]
fn what_is_handed_over_needs_no_collection() {
    let cost = check_kept(|instance, timing| {
        instance.orders[1].handover = true;
        pack(timing, "bert", 65);
    });
    assert_eq!((cost.late, cost.ship), (3, 10));
    check(
        14,
        |instance, timing| {
            instance.orders[1].handover = true;
            instance.horizon = 61;
            pack(timing, "bert", 61);
        },
        &[Broken::EndsAfterHorizon {
            of: "bert".to_owned(),
            end: 62,
            horizon: 61,
        }],
    );
}

/// Adds washed lots that fill six sheets' places of two until slot `until`.
fn overfill_sheets(instance: &mut Instance, until: i64) {
    for name in ["old", "older", "oldest"] {
        let mut lot = instance.lots[BLUE].clone();
        lot.id = name.to_owned();
        lot.washed_end = Some(until - lot.open);
        instance.lots.push(lot);
    }
}

#[test]
fn what_hangs_there_already_is_nobodys_fault() {
    check_kept(|instance, _| overfill_sheets(instance, 39));
}

#[test]
fn what_is_added_to_an_overfull_rack_is() {
    check(
        18,
        |instance, _| overfill_sheets(instance, 40),
        &[Broken::OverCapacity {
            resource: Resource::Open(Space::Sheet),
            at: 39,
            taken: 8,
            places: 2,
            by: ["old", "older", "oldest", "blue"]
                .map(str::to_owned)
                .to_vec(),
        }],
    );
}

/// The plain format knows no given start: a rack that coated lots overfill is
/// then broken if they are in the plan, and only then.
#[test]
fn the_plain_format_judges_coated_lots_like_any_other() {
    let mut instance = studio();
    instance.capacity.dark_line = 2;
    let rules = |instance: &Instance, timing: &Timing, start| -> Vec<u8> {
        let broken = audit_from(instance, timing, start).broken;
        broken.iter().map(Broken::rule).collect()
    };
    assert_eq!(rules(&instance, &plan(), Start::Judged), [18]);
    assert_eq!(rules(&instance, &plan(), Start::Given), Vec::<u8>::new());
    assert_eq!(audit(&instance, &plan()).broken.len(), 1);

    let mut without = plan();
    without.lots.remove("lace");
    without.orders.remove("bert");
    assert_eq!(rules(&instance, &without, Start::Judged), Vec::<u8>::new());
}
