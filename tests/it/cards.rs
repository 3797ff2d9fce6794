//! Cards and certificates: word for word, and with hostile words.

use fairday::letter::Templates;
use fairday::order::{Delivery, Done, Event, Exposed};
use fairday::stage::Stage;
use fairday::view::card::{CardScreen, render_cards, render_certificates};
use fairday::view::sheet::Paper;

use super::desk;
use super::sheet::check_file;
use super::small_studio::{at, order};

fn page(order: &fairday::order::Order, certificate: bool) -> String {
    let screen = CardScreen {
        studio: &desk::studio(),
        orders: &[order],
        now: at("2026-05-11 09:00"),
        paper: Paper::A4,
    };
    let render = if certificate {
        render_certificates
    } else {
        render_cards
    };
    render(&screen, &Templates::built_in()).unwrap()
}

#[test]
fn a_card_and_a_certificate_word_for_word() {
    let mut one = order("26-1", 1, "2026-05-15");
    one.customer.address = vec!["7 Tar Lane".to_owned(), "Northport".to_owned()];
    let done = |at, stage, minutes: Option<f64>| Event {
        at: super::small_studio::at(at),
        what: Done::Stage {
            stage,
            exposed: minutes.map(Exposed::of_minutes),
            coated: None,
        },
    };
    let piece = &mut one.pieces[0];
    (piece.copy, piece.copies) = (2, 5);
    piece.progress.events = vec![
        done("2026-05-09 18:30", Stage::Coating, None),
        done("2026-05-10 13:05", Stage::Exposing, Some(9.5)),
    ];
    check_file("card.html", &page(&one, false));
    let certificate = page(&one, true);
    check_file("certificate.html", &certificate);
    for words in [
        "number 2 of 5",
        "9.5\u{a0}min, 10 May 2026, 13:05",
        "a draft",
    ] {
        assert!(certificate.contains(words), "{words}");
    }
}

/// The mix is named by the maker or left to be written; the parcel says who sends it and
/// how it goes, and a pickup has no tracking.
#[test]
fn a_parcel_card_says_who_sends_it_and_how_it_goes() {
    let mut one = order("26-1", 1, "2026-05-15");
    one.customer.address = vec!["7 Tar Lane".to_owned()];
    one.pieces[0].progress.events = vec![Event {
        at: at("2026-05-09 18:30"),
        what: Done::Stage {
            stage: Stage::Coating,
            exposed: None,
            coated: None,
        },
    }];
    let carried = page(&one, false);
    for words in [
        "<dt>way</dt><dd>by Lowland Post</dd>",
        "<dt>from</dt><dd>Blue Shed Prints · <bdi>2 Samphire Lane</bdi></dd>",
        "<dt>tracking</dt>",
        "<dt>mix</dt><dd><i class=\"line\"></i></dd>",
        "<dt>coated</dt><dd>9 May 2026, 18:30</dd>",
    ] {
        assert!(carried.contains(words), "{words}");
    }
    one.delivery = Delivery::Pickup;
    let fetched = page(&one, false);
    assert!(fetched.contains("<dt>way</dt><dd>for collection by the customer</dd>"));
    assert!(fetched.contains("<dt>collected</dt>"));
    for words in ["door", "tracking", "<dt>left</dt>", "<dt>to</dt>"] {
        assert!(!fetched.contains(words), "{words}");
    }
}

#[test]
fn what_a_customer_typed_is_never_a_tag_on_a_card() {
    let mut nasty = order("26-1", 2, "2026-05-15");
    nasty.customer.name = "<script>alert(1)</script>".to_owned();
    nasty.customer.address = vec!["<img src=x>\u{202e}".to_owned()];
    nasty.pieces[0].title = "</article><b>".repeat(16);
    for certificate in [true, false] {
        let page = page(&nasty, certificate);
        for tag in ["<script", "<img", "<b></", "\u{202e}"] {
            assert!(!page.contains(tag), "{tag}");
        }
    }
}
