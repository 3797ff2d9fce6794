//! The readers: forecasts, tables, typical years, orders, studio, stock, templates.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use fairday::climate;
use fairday::forecast;
use fairday::intake::table;
use fairday::letter::templates_for;
use fairday::order::parse::Against;
use fairday::order::parse::parse as parse_order;
use fairday::problem::Problem;
use fairday::studio::parse::parse as parse_studio;
use fairday::studio::{Import, Studio};
use fairday::view::problem::render;

use super::try_reader;
use crate::climate::{epw, tmy3};
use crate::desk;
use crate::small_studio::at;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The files of a folder with an ending, in order.
fn samples(folder: &str, ending: &str) -> Vec<String> {
    let entries = fs::read_dir(root().join(folder)).unwrap();
    let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.to_string_lossy().ends_with(ending));
    paths.sort();
    let texts = paths.iter().map(|path| fs::read_to_string(path).unwrap());
    texts.collect()
}

/// Whatever is said can be shown, and its place is in the file.
fn shown(text: &str, problems: &[Problem]) {
    for problem in problems {
        assert!(!render(problem, 80, false).is_empty());
        if let Some(spot) = &problem.spot {
            let lines = text.split('\n').count();
            assert!((1..=lines).contains(&spot.line), "{problem:?}");
            assert!(spot.column >= 1 && spot.length >= 1, "{problem:?}");
        }
    }
}

#[test]
fn forecasts() {
    let samples = samples("tests/forecast", ".json");
    assert_eq!(samples.len(), 3);
    try_reader("forecast", &samples, |text| {
        let (read, problems) = forecast::parse(text, "forecast.json");
        shown(text, &problems);
        let Some(read) = read else {
            assert!(!problems.is_empty(), "silently refused");
            return;
        };
        // What everybody counts on who asks a forecast.
        let starts: Vec<_> = read.hours.iter().map(|hour| hour.start).collect();
        assert!(starts.is_sorted_by(|a, b| a < b), "hours out of order");
        for hour in &read.hours {
            let within = |value: Option<f64>, least: f64, most: f64| {
                assert!(
                    value.is_none_or(|v| (least..=most).contains(&v)),
                    "{hour:?}"
                );
            };
            within(hour.cloud_pct, 0.0, 100.0);
            within(hour.humidity_pct, 0.0, 100.0);
            within(hour.global_w_m2, 0.0, 2000.0);
            within(hour.wind_m_s, 0.0, 200.0);
        }
    });
}

fn import() -> Import {
    let pairs = |pairs: &[(&str, &str)]| -> BTreeMap<String, String> {
        let owned = |(key, word): &(&str, &str)| ((*key).to_owned(), (*word).to_owned());
        pairs.iter().map(owned).collect()
    };
    let columns = pairs(&[
        ("reference", "Order"),
        ("name", "Name"),
        ("email", "Email"),
        ("ordered_on", "Date"),
        ("title", "Item"),
        ("size", "Size"),
        ("copies", "Qty"),
        ("negative", "File"),
    ]);
    let mut columns: BTreeMap<String, Vec<String>> = columns
        .into_iter()
        .map(|(key, column)| (key, vec![column]))
        .collect();
    columns.insert("address".into(), vec!["Street".into(), "Town".into()]);
    Import {
        columns,
        otherwise: pairs(&[
            ("jurisdiction", "uk"),
            ("delivery", "home"),
            ("material", "rag"),
            ("copies", "1"),
        ]),
        words: BTreeMap::new(),
        date_format: Some("%d/%m/%Y".to_owned()),
    }
}

/// What is taken from a table reads as an order without an error, and no reference twice.
#[test]
fn tables() {
    let head = "Order,Name,Email,Street,Town,Date,Item,Size,Qty,File\r\n";
    let plain = format!(
        "{head}#1042,Ada Brook,ada@example.org,7 Tar Lane,Northport,01/05/2026,Fern,A4,2,fern\r\n\
         #1043,\"Vale, \"\"Noor\"\"\",noor@example.org,\"The Mill\nunit 3: #2\",,02/05/2026,\"Lace\nwhite\",8x10 in,1,lace\r\n\
         #1043,\"Vale, \"\"Noor\"\"\",noor@example.org,,,02/05/2026,Tide,A3,1,tide\r\n"
    );
    let samples = [
        plain.replace(',', ";"),
        plain.replace(',', "\t"),
        plain.clone(),
        "\u{feff}".to_owned() + &plain.replace("\r\n", "\n"),
    ];
    let (studio, import) = (desk::studio(), import());
    let against = Against {
        studio: Some(&studio),
        now: Some(at("2026-05-11 09:00")),
    };
    try_reader("table", &samples, |text| {
        let table = table::read(text, "shop.csv", &import, &against, &|_| false);
        shown(text, &table.problems);
        let mut references = Vec::new();
        for (number, found) in table.orders.iter().enumerate() {
            let mut draft = found.draft.clone();
            draft.number = format!("2026-{number:03}");
            let file = draft.render(None);
            let (order, problems) = parse_order(&file, "a.yaml", &against);
            assert!(order.is_some(), "{file}\n{problems:?}");
            references.push(found.draft.reference.clone().unwrap());
        }
        let count = references.len();
        references.sort();
        references.dedup();
        assert_eq!(references.len(), count, "a reference twice");
    });
}

/// A typical year has its hours in order and values that can be.
#[test]
fn typical_years() {
    let samples = [epw(), tmy3()];
    try_reader("climate", &samples, |text| {
        match climate::parse(text, "a.epw") {
            Err(problem) => shown(text, &[*problem]),
            Ok(year) => {
                assert!((-90.0..=90.0).contains(&year.latitude_deg));
                assert!(year.rows.len() >= 8000, "{} rows", year.rows.len());
            }
        }
    });
}

#[test]
fn orders() {
    let mut samples = samples("orders", ".yaml");
    samples.retain(|text| text.contains("\norder:") || text.starts_with("order:"));
    assert!(samples.len() > 15);
    let studio = desk::studio();
    let against = Against {
        studio: Some(&studio),
        now: Some(at("2026-05-11 09:00")),
    };
    try_reader("order", &samples, |text| {
        let (order, problems) = parse_order(text, "a.yaml", &against);
        shown(text, &problems);
        assert!(order.is_some() || !problems.is_empty(), "silently dropped");
    });
}

#[test]
fn studios_and_stocks() {
    let demo = |name: &str| fs::read_to_string(root().join("orders").join(name)).unwrap();
    let starter = fairday::studio::starter::files("2026-05-11".parse().unwrap());
    try_reader(
        "studio",
        &[demo("studio.yaml"), starter[0].1.clone()],
        |text| {
            let (studio, problems) = parse_studio(text, "studio.yaml");
            shown(text, &problems);
            assert!(studio.is_some() || !problems.is_empty(), "silently dropped");
        },
    );
    let studio = parse_studio(&demo("studio.yaml"), "studio.yaml").0.unwrap();
    let against = fairday::stock::parse::Against {
        studio: Some(&studio),
        now: Some(at("2026-05-11 09:00")),
    };
    let starter = starter.last().unwrap().1.clone();
    try_reader("stock", &[demo("stock.yaml"), starter], |text| {
        let (stock, problems) = fairday::stock::parse::parse(text, "stock.yaml", &against);
        shown(text, &problems);
        assert!(stock.is_some() || !problems.is_empty(), "silently dropped");
    });
}

/// A studio's own templates: a mistake is told with its file, and nothing is fatal.
#[test]
fn templates() {
    let names = [
        "taken.txt.hbs",
        "delayed.html.hbs",
        "card.page.hbs",
        "words.yaml",
    ];
    let samples: Vec<String> = names
        .iter()
        .map(|name| fs::read_to_string(root().join("templates").join(name)).unwrap())
        .collect();
    let studio: Studio = desk::studio();
    try_reader("template", &samples, |text| {
        // Under each of the names; a card that is a letter must not be fatal, either.
        let name = names[text.len() % names.len()];
        let own = BTreeMap::from([(name.to_owned(), text.to_owned())]);
        if let Err(problems) = templates_for(&studio, &own) {
            assert!(!problems.is_empty());
            shown(text, &problems);
        }
    });
}
