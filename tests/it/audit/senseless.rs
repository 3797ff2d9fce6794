//! R0: what makes no sense is named, and nothing makes the audit panic.

use fairday::plan::audit::{Broken, Fault, Start, Step, audit, audit_from};
use fairday::plan::model::{Instance, Timing};
use proptest::prelude::*;

use super::{BLUE, LACE, blue, check, lace, pack, plan, studio};

fn check_fault(change: impl Fn(&mut Instance, &mut Timing), expected: Fault) {
    check(0, change, &[Broken::Senseless(expected)]);
}

#[test]
fn r0_names_and_references_must_be_known() {
    check_fault(
        |_, timing| {
            let steps = *lace(timing);
            timing.lots.insert("ghost".to_owned(), steps);
        },
        Fault::UnknownLot {
            lot: "ghost".to_owned(),
        },
    );
    check_fault(
        |_, timing| pack(timing, "ghost", 61),
        Fault::UnknownOrder {
            order: "ghost".to_owned(),
        },
    );
    check_fault(
        |instance, _| instance.lots[LACE].frame = "A1".to_owned(),
        Fault::UnknownFrame {
            lot: "lace".to_owned(),
            frame: "A1".to_owned(),
        },
    );
    check_fault(
        |instance, _| instance.lots[LACE].cls = 1,
        Fault::UnknownClass {
            lot: "lace".to_owned(),
            class: 1,
        },
    );
    check_fault(
        |instance, _| instance.orders[0].lots.push("ghost".to_owned()),
        Fault::OrderOfUnknownLot {
            order: "anna".to_owned(),
            lot: "ghost".to_owned(),
        },
    );
    check_fault(
        |instance, _| {
            let again = instance.lots[LACE].clone();
            instance.lots.push(again);
        },
        Fault::LotTwice {
            lot: "lace".to_owned(),
        },
    );
    check_fault(
        |instance, _| {
            let again = instance.orders[0].clone();
            instance.orders.push(again);
        },
        Fault::OrderTwice {
            order: "anna".to_owned(),
        },
    );
}

#[test]
fn r0_a_lot_has_the_steps_it_needs_and_no_others() {
    check_fault(
        |_, timing| {
            blue(timing).wash = None;
            timing.orders.clear();
        },
        Fault::MissingStep {
            lot: "blue".to_owned(),
            step: Step::Wash,
        },
    );
    check_fault(
        |_, timing| lace(timing).coat = Some(13),
        Fault::NeedlessStep {
            lot: "lace".to_owned(),
            step: Step::Coat,
        },
    );
}

#[test]
fn r0_numbers_must_be_possible() {
    check_fault(|instance, _| instance.per_day = 0, Fault::NoSlotsInADay);
    check_fault(
        |instance, _| instance.lots[BLUE].dark = -1,
        Fault::Negative {
            of: "blue".to_owned(),
            value: -1,
        },
    );
    check_fault(
        |_, timing| blue(timing).finish = i64::MAX,
        Fault::NumberOutOfRange {
            of: "blue".to_owned(),
            value: i64::MAX,
        },
    );
    check_fault(
        |instance, _| instance.classes[0].options[0] = (36, 34, 2, 50),
        Fault::RowBackwards {
            class: "plain".to_owned(),
        },
    );
    let early = audit(&studio(), &{
        let mut timing = plan();
        pack(&mut timing, "anna", -1);
        timing
    });
    assert!(
        early
            .broken
            .contains(&Broken::Senseless(Fault::NegativeStart {
                of: "anna".to_owned(),
                step: Step::Pack,
                at: -1,
            }))
    );
}

/// A number that breaks careless arithmetic, or one that nearly fits.
fn odd() -> impl Strategy<Value = i64> {
    prop_oneof![
        Just(i64::MIN),
        Just(i64::MAX),
        Just(0),
        Just(1 << 31),
        Just(-(1 << 31)),
        any::<i64>(),
        -3..100_i64,
    ]
}

/// Puts `value` where `place` says, of the numbers of an instance and a timing.
fn set(instance: &mut Instance, timing: &mut Timing, place: usize, value: i64) {
    let lot = &mut instance.lots[place % 2];
    let steps = ["blue", "lace"][place % 2];
    let steps = timing.lots.get_mut(steps).unwrap();
    match place / 2 {
        0 => instance.per_day = value,
        1 => instance.horizon = value,
        2 => instance.work[place % 2].0 = value,
        3 => instance.work[place % 2].1 = value,
        4 => instance.operators = value,
        5 => instance.collections[place % 2] = value,
        6 => instance.unserved_day = value,
        7 => instance.capacity.dark_sheet = value,
        8 => instance.capacity.tray = value,
        9 => instance.session.setup = value,
        10 => instance.session.mix_life = value,
        11 => instance.session.max_per_day = value,
        12 => instance.load = value,
        13 => instance.unload = value,
        14 => instance.wash_gap = value,
        15 => instance.classes[0].options[place % 2].0 = value,
        16 => instance.classes[0].options[place % 2].1 = value,
        17 => instance.classes[0].options[place % 2].2 = value,
        18 => instance.classes[0].options[place % 2].3 = value,
        19 => lot.amount = value,
        20 => lot.coat = value,
        21 => lot.dark = value,
        22 => lot.keep = value,
        23 => lot.wash = value,
        24 => lot.tray = value,
        25 => lot.open = value,
        26 => lot.cure = value,
        27 => lot.finish = value,
        28 => lot.release = value,
        29 => lot.coated_end = Some(value),
        30 => lot.exposed_end = Some(value),
        31 => lot.washed_end = Some(value),
        32 => lot.cls = value as usize,
        33 => instance.orders[place % 2].pack = value,
        34 => instance.orders[place % 2].weight = value,
        35 => instance.orders[place % 2].promise = value,
        36 => timing.sessions[0].start = value,
        37 => steps.coat = Some(value),
        38 => steps.session = Some(value as usize),
        39 => steps.expose = Some(value),
        40 => steps.wash = Some(value),
        41 => steps.finish = value,
        42 => pack(timing, "anna", value),
        43 => instance.orders[place % 2].handover = true,
        44 => instance.weights.late = value,
        _ => instance.weights.ship = value,
    }
}

proptest! {
    /// Tests run with overflow checks, so a sum that does not fit would panic.
    #[test]
    fn odd_numbers_never_panic(changes in proptest::collection::vec((0..92_usize, odd()), 1..6)) {
        let (mut instance, mut timing) = (studio(), plan());
        for (place, value) in changes {
            set(&mut instance, &mut timing, place, value);
        }
        for start in [Start::Judged, Start::Given] {
            let found = audit_from(&instance, &timing, start);
            found.cost.total(&instance.weights);
        }
    }
}
