//! A trial print of every letter, so that a mistake shows before its day comes.
//!
//! Templates of the studio's own are filled with invented orders of every kind:
//! each branch of the built-in letters is taken at least once. Nothing of it is
//! kept or sent.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};

use super::render;
use super::templates::Templates;
use crate::notice::{Before, Cause, Delay, Kind, Notice, Refund, Silence, Surety, Way};
use crate::order::{
    Cover, Customer, Delivery, Image, Jurisdiction, LightSource, Order, Piece, Progress,
    PromiseKind,
};
use crate::problem::Problem;
use crate::promise::Due;
use crate::size::Size;
use crate::studio::Studio;

/// Returns the studio's templates, after a trial print if any is its own.
///
/// `own` maps file names of the studio's folder `templates/` to their text.
///
/// # Errors
/// Every mistake of form, or else every mistake that the trial print shows, each
/// once, by file and line.
pub fn templates_for(
    studio: &Studio,
    own: &BTreeMap<String, String>,
) -> Result<Templates, Vec<Problem>> {
    let templates = Templates::new(own)?;
    let problems = match own.is_empty() {
        true => Vec::new(),
        false => proof(studio, &templates),
    };
    if problems.is_empty() {
        Ok(templates)
    } else {
        Err(problems)
    }
}

fn proof(studio: &Studio, templates: &Templates) -> Vec<Problem> {
    let mut problems: Vec<Problem> = Vec::new();
    for (order, notice) in samples(studio) {
        for language in templates.languages(notice.kind.name()) {
            let order = in_language(&order, language);
            let Err(problem) = render(&notice, &order, studio, templates) else {
                continue;
            };
            // The same place is wrong for many; the first letter speaks for all.
            let same = |p: &&Problem| (&p.file, &p.spot) == (&problem.file, &problem.spot);
            if problems.iter().find(same).is_none() {
                problems.push(problem);
            }
        }
    }
    problems.sort_by(|a, b| a.sort_key().cmp(&b.sort_key()));
    problems
}

/// Returns `order` of a customer who reads `language`.
fn in_language(order: &Order, language: &str) -> Order {
    let customer = Customer {
        language: language.to_owned(),
        ..order.customer.clone()
    };
    Order {
        customer,
        ..order.clone()
    }
}

/// Returns invented orders and what could be told about them.
pub(super) fn samples(studio: &Studio) -> Vec<(Order, Notice)> {
    let mut samples = Vec::new();
    for order in orders(studio) {
        for kind in kinds(&order) {
            let notice = Notice {
                order: order.number.clone(),
                kind,
                way: Way::Mail {
                    address: "ada@example.org".to_owned(),
                    copies_to: vec![],
                },
            };
            samples.push((order.clone(), notice));
        }
    }
    samples
}

/// A day of the samples; which one matters to nothing.
const SAMPLE_DAY: NaiveDate = match NaiveDate::from_ymd_opt(2026, 5, 15) {
    Some(day) => day,
    None => panic!("15 May 2026 is a day"),
};

/// Returns an order with all materials, and one with a single print of each.
fn orders(studio: &Studio) -> Vec<Order> {
    let keys: Vec<&str> = studio.materials.keys().map(String::as_str).collect();
    let mut lists: Vec<Vec<&str>> = keys.iter().map(|key| vec![*key]).collect();
    lists.push(keys);
    let ways = [
        Delivery::Carrier {
            destination: "home".to_owned(),
        },
        Delivery::Pickup,
    ];
    let mut orders = Vec::new();
    for materials in lists.iter().filter(|list| !list.is_empty()) {
        orders.extend(ways.iter().map(|way| order(materials, way.clone())));
    }
    orders
}

fn order(materials: &[&str], delivery: Delivery) -> Order {
    let pieces = materials.iter().zip(1..).map(|(material, number)| Piece {
        number,
        entry: number as usize - 1,
        copy: 1,
        copies: 1,
        title: "Fern".to_owned(),
        material: (*material).to_owned(),
        size: Size::from_mm(210.0, 297.0),
        image: Image::Negative("fern".to_owned()),
        cover: Cover::Glass,
        light: if number == 1 {
            LightSource::Sun
        } else {
            LightSource::Lamp
        },
        hold: None,
        progress: Progress::default(),
    });
    Order {
        number: "sample".to_owned(),
        file: "sample.yaml".to_owned(),
        customer: Customer {
            name: "Ada Brook".to_owned(),
            email: Some("ada@example.org".to_owned()),
            copies_to: vec![],
            address: Vec::new(),
            language: "en".to_owned(),
        },
        ordered_on: SAMPLE_DAY - Days::new(10),
        promise: None,
        jurisdiction: Jurisdiction::Other,
        delivery,
        weight: 1,
        hold: None,
        pieces: pieces.collect(),
        notified: Vec::new(),
        dispatch: None,
        cancelled_on: None,
    }
}

/// Returns everything that could be told about `order`.
fn kinds(order: &Order) -> Vec<Kind> {
    let words = |text: &str| Some(text.to_owned());
    let mut kinds = vec![
        Kind::Ready { since: SAMPLE_DAY },
        dispatched(None, None),
        dispatched(words("Post"), words("A 1")),
    ];
    let refunds = [Refund::Full, Refund::FullInSevenDays, Refund::ToSettle];
    kinds.extend(refunds.map(|refund| Kind::Cancelled {
        on: SAMPLE_DAY,
        refund,
    }));
    for promise in [PromiseKind::ShipBy, PromiseKind::DeliverBy] {
        for agreed in [true, false] {
            let due = Due {
                kind: promise,
                date: SAMPLE_DAY,
                agreed,
                essential: agreed,
            };
            kinds.push(Kind::Taken {
                ordered_on: order.ordered_on,
                due,
            });
            kinds.push(Kind::Planned {
                plan_on: SAMPLE_DAY,
                due,
            });
            kinds.extend(remakes(order, due));
            kinds.extend(delays(due).into_iter().map(Kind::Delayed));
        }
    }
    kinds
}

/// Returns remakes of one piece and of all, after each thing that was told.
fn remakes(order: &Order, due: Due) -> Vec<Kind> {
    let all: Vec<u32> = order.pieces.iter().map(|piece| piece.number).collect();
    let told = [Before::Nothing, Before::Ready, Before::Dispatched];
    let remade = |pieces: &Vec<u32>, before| Kind::Remade {
        pieces: pieces.clone(),
        remade_on: SAMPLE_DAY,
        before,
        due,
    };
    let lists = [vec![1], all];
    lists
        .iter()
        .flat_map(|pieces| told.map(|before| remade(pieces, before)))
        .collect()
}

fn dispatched(carrier: Option<String>, tracking: Option<String>) -> Kind {
    Kind::Dispatched {
        on: SAMPLE_DAY,
        carrier,
        tracking,
    }
}

/// Returns first and further changes, to a day and to none, for every cause and silence.
fn delays(due: Due) -> Vec<Delay> {
    let later = SAMPLE_DAY + Days::new(5);
    let first = Delay {
        due,
        change: 1,
        old_on: Some(SAMPLE_DAY),
        old_passed: false,
        new_on: Some(later),
        surety: Surety::default(),
        cause: Cause::Weather,
        tell_by: SAMPLE_DAY,
        silence: Silence::GoesOn,
    };
    let again = |old_on, new_on, old_passed| Delay {
        change: 2,
        old_on,
        old_passed,
        new_on,
        ..first.clone()
    };
    let mut delays = vec![
        first.clone(),
        Delay {
            new_on: None,
            old_passed: true,
            ..first.clone()
        },
        again(Some(later), None, false),
        again(Some(later), Some(later + Days::new(1)), true),
        again(None, Some(later), false),
        again(None, Some(SAMPLE_DAY), false),
    ];
    for (risk_per_mille, beyond_forecast) in [(1000, false), (0, true), (1000, true)] {
        let surety = Surety {
            risk_per_mille,
            beyond_forecast,
        };
        delays.extend([
            Delay {
                surety,
                ..first.clone()
            },
            Delay {
                surety,
                ..again(None, Some(later), false)
            },
        ]);
    }
    let causes = [
        Cause::Remake,
        Cause::Material,
        Cause::Room,
        Cause::Hold,
        Cause::TooEarly,
        Cause::Longer,
    ];
    delays.extend(causes.map(|cause| Delay {
        cause,
        ..first.clone()
    }));
    let silences = [
        Silence::Consents { until: later },
        Silence::Cancels { on: later },
        Silence::Refuses { on: later },
        Silence::Lapsed,
    ];
    delays.extend(silences.map(|silence| Delay {
        silence,
        ..first.clone()
    }));
    delays
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::data::data;
    use super::super::hint::names_of;
    use super::*;

    /// Every name that a letter has stands in the table of names, and no other.
    #[test]
    fn the_readme_of_the_templates_names_every_value() {
        let readme = include_str!("../../templates/README.md");
        let in_readme: BTreeSet<&str> = readme
            .lines()
            .filter(|line| line.starts_with("| `"))
            .flat_map(|line| line.split('`').skip(1).step_by(2))
            .filter(|name| name.contains('.') && !name.starts_with("{{"))
            .collect();
        let studio =
            crate::studio::parse::parse(include_str!("../../orders/studio.yaml"), "studio.yaml").0;
        let studio = studio.expect("the studio of the demonstration is whole");
        let templates = Templates::built_in();
        let mut known = BTreeSet::new();
        for (order, notice) in samples(&studio) {
            let words = &templates.find("en", notice.kind.name()).words;
            let values = serde_json::to_value(data(&notice, &order, &studio, words)).unwrap();
            known.extend(names_of(&values));
        }
        // It is made before text and HTML, and not there while it is made.
        known.insert("letter.subject".to_owned());
        let known: BTreeSet<&str> = known.iter().map(String::as_str).collect();
        assert_eq!(in_readme, known);
    }
}
