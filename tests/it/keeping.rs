//! Coated sheets that have waited long, found in the orders.

use chrono::NaiveDateTime;
use fairday::keeping::{Aged, Keeping, find_aged};
use fairday::order::{Done, Event, Order, Piece};
use fairday::stage::Stage;

use crate::desk;

fn at(text: &str) -> NaiveDateTime {
    text.parse().unwrap()
}

fn mark(piece: &mut Piece, stage: Stage, on: &str) {
    piece.progress.events.push(Event {
        at: at(on),
        what: Done::stage(stage),
    });
}

/// An order with one piece coated on the 1st, one dried since the 6th, one not begun.
fn order() -> Order {
    let mut order = desk::order("26-014");
    mark(&mut order.pieces[0], Stage::Coating, "2026-05-01T18:00:00");
    mark(&mut order.pieces[1], Stage::Coating, "2026-05-06T18:00:00");
    mark(&mut order.pieces[1], Stage::Drying, "2026-05-07T08:00:00");
    order
}

fn aged(orders: &[Order], humidity_pct: Option<f64>) -> Vec<(u32, f64, Keeping)> {
    let now = at("2026-05-10T06:00:00");
    let short = |aged: &Aged| (aged.piece, aged.age_hours, aged.keeping);
    let aged = find_aged(orders, &desk::studio(), now, humidity_pct);
    aged.iter().map(short).collect()
}

#[test]
fn the_oldest_coat_comes_first_and_what_is_not_coated_not_at_all() {
    // The desk's paper keeps 72 h; a warning comes after 7 days, a strip after 14.
    assert_eq!(
        aged(&[order()], None),
        [(1, 204.0, Keeping::Old), (2, 84.0, Keeping::Ageing)]
    );
}

#[test]
fn damp_air_halves_the_time() {
    assert_eq!(
        aged(&[order()], Some(80.0)),
        [(1, 204.0, Keeping::NeedsStrip), (2, 84.0, Keeping::Ageing)]
    );
}

#[test]
fn exposed_pieces_remakes_and_closed_orders_have_no_coat_to_lose() {
    let mut exposed = order();
    mark(&mut exposed.pieces[0], Stage::Drying, "2026-05-02T08:00:00");
    mark(
        &mut exposed.pieces[0],
        Stage::Exposing,
        "2026-05-09T12:00:00",
    );
    exposed.pieces[1].progress.events.push(Event {
        at: at("2026-05-09T12:00:00"),
        what: Done::Remake {
            reason: "fogged".to_owned(),
        },
    });
    assert_eq!(aged(&[exposed], None), []);
    let cancelled = Order {
        cancelled_on: Some(at("2026-05-09T12:00:00").date()),
        ..order()
    };
    assert_eq!(aged(&[cancelled], None), []);
}

#[test]
fn a_fresh_coat_is_not_spoken_of() {
    let mut fresh = desk::order("26-014");
    mark(&mut fresh.pieces[0], Stage::Coating, "2026-05-07T18:00:00");
    assert_eq!(aged(&[fresh], None), []);
}
