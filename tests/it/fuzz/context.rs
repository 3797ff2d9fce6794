//! What letters and cards are filled with: whatever customers and makers typed.

use fairday::letter::{Templates, render_all};
use fairday::notice::{Cause, notices};
use fairday::order::{Coated, Done, Event, Image, Order};
use fairday::problem::Problem;
use fairday::stage::Stage;
use fairday::view::card::{CardScreen, render_cards, render_certificates};
use fairday::view::sheet::Paper;
use proptest::prelude::*;

use super::{TROUBLE, try_with};
use crate::desk;
use crate::small_studio::at;

/// Words that somebody may type into a field.
fn words() -> impl Strategy<Value = String> {
    let part = prop_oneof![
        prop::sample::select(&TROUBLE[..]).prop_map(str::to_owned),
        "\\PC{0,12}",
        any::<String>().prop_map(|text| text.chars().take(20).collect()),
    ];
    prop::collection::vec(part, 0..5).prop_map(|parts| parts.concat())
}

fn filled(words: &[String]) -> Order {
    let mut order = desk::order("26-014");
    let customer = &mut order.customer;
    customer.name = words[0].clone();
    customer.address = vec![words[1].clone(), words[2].clone()];
    customer.language = words[3].clone();
    order.pieces[0].title = words[4].clone();
    order.pieces[1].image = Image::Negative(words[5].clone());
    order.pieces[1].hold = Some(words[6].clone());
    order.pieces[0].progress.events.push(Event {
        at: at("2026-05-10 18:00"),
        what: Done::Stage {
            stage: Stage::Coating,
            exposed: None,
            coated: Some(Coated {
                batch: Some(words[7].clone()),
                mix: Some(words[8].clone()),
                ..Coated::default()
            }),
        },
    });
    order
}

/// Tags of a page by name, those of the templates; words are never one.
fn tags(page: &str) -> Vec<String> {
    let after = page.split('<').skip(1);
    let name = |text: &str| {
        let end = text.find(|c: char| !c.is_ascii_alphanumeric() && c != '/' && c != '!');
        text[..end.unwrap_or(text.len())].to_ascii_lowercase()
    };
    after.map(name).collect()
}

/// Nothing that is typed becomes a tag, a line of a mail's head, or a fault.
#[test]
fn letters_and_cards_hold_whatever_was_typed() {
    let templates = Templates::built_in();
    let mut studio = desk::studio();
    studio.letters.planned = true;
    try_with("context", prop::collection::vec(words(), 9), |words| {
        let order = filled(words);
        let today = desk::date("2026-05-11");
        let late = desk::outlook(Some("2026-05-20"), Some(Cause::Weather));
        for outlook in [desk::outlook(Some("2026-05-13"), None), late] {
            let due = notices(
                std::slice::from_ref(&order),
                &studio,
                &[outlook],
                &[],
                today,
            );
            let letters = render_all(&due, std::slice::from_ref(&order), &studio, &templates);
            // A word that leaves a gap is told; nothing else stops a letter.
            let letters = letters.unwrap_or_else(|problems| {
                let is_gap = |p: &Problem| p.what.ends_with(" is empty in this letter");
                assert!(problems.iter().all(is_gap), "{problems:?}");
                vec![]
            });
            for letter in letters {
                assert!(!letter.subject.contains(['\n', '\r']), "{}", letter.subject);
                assert!(!letter.to.name.contains(['\n', '\r']), "{}", letter.to.name);
                safe(&letter.html);
            }
        }
        let screen = CardScreen {
            studio: &studio,
            orders: &[&order],
            now: at("2026-05-11 09:00"),
            paper: Paper::A4,
        };
        safe(&render_cards(&screen, &templates).unwrap());
        safe(&render_certificates(&screen, &templates).unwrap());
    });
}

fn safe(page: &str) {
    for tag in tags(page) {
        assert!(!tag.starts_with("script"), "a script in {page}");
    }
}
