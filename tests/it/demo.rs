//! The demonstration folder: it must read cleanly and show every stage.

use std::path::Path;

use fairday::order::Order;
use fairday::outside::orders::read_folder;
use fairday::stage::Stage;
use fairday::studio::Studio;
use fairday::view::problem::render_all;

fn demo() -> (Studio, Vec<Order>) {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    let pinned = |studio: &Studio| {
        studio
            .pinned_now
            .expect("the demonstration pins its moment")
    };
    let folder = read_folder(&dir, pinned).unwrap();
    assert_eq!(render_all(&folder.problems, 80, false), "");
    (folder.studio.unwrap(), folder.orders)
}

#[test]
fn the_demonstration_reads_without_a_problem() {
    let (studio, orders) = demo();
    assert_eq!(
        studio.pinned_now.unwrap().to_string(),
        "2026-05-11 07:00:00"
    );
    assert_eq!(orders.len(), 21);
    let mails = orders
        .iter()
        .filter_map(|order| order.customer.email.as_deref());
    assert!(mails.into_iter().all(|mail| mail.ends_with("@example.org")));
}

#[test]
fn the_demonstration_has_a_piece_at_every_stage() {
    let (_, orders) = demo();
    let open = orders.iter().filter(|order| !order.is_closed());
    let pieces: Vec<_> = open.flat_map(|order| &order.pieces).collect();
    for stage in Stage::ALL {
        let here = |piece: &&&fairday::order::Piece| piece.progress.stage() == Some(stage);
        // Drying ends unmarked: a coated piece is at drying until it is exposed.
        let expected = stage != Stage::Exposing;
        assert_eq!(pieces.iter().any(|p| here(&p)), expected, "{stage:?}");
    }
}

#[test]
fn the_demonstration_has_a_hold_a_remake_and_a_cancelled_order() {
    let (_, orders) = demo();
    assert!(orders.iter().any(|order| order.hold.is_some()));
    assert!(orders.iter().any(|order| order.cancelled_on.is_some()));
    assert!(orders.iter().any(|order| order.dispatch.is_some()));
    let pieces: Vec<_> = orders.iter().flat_map(|order| &order.pieces).collect();
    assert!(pieces.iter().any(|piece| piece.hold.is_some()));
    assert!(
        pieces
            .iter()
            .any(|piece| piece.progress.remakes().count() > 0)
    );
}
