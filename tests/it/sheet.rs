//! Sheets: a small day word for word, hostile words, no address outside, where it is written.

use std::path::Path;

use fairday::letter::Templates;
use fairday::order::Order;
use fairday::plan::course::courses;
use fairday::plan::daylight::daylight;
use fairday::plan::racks::rack_fills;
use fairday::plan::sky::{day_sky, usual_dose};
use fairday::plan::week::week;
use fairday::view::sheet::{Paper, SheetScreen, render_day, render_week};

use super::commands::{fairday, text};
use super::desk;
use super::small_studio::{Small, light, order, small};

/// Renders the week, or a day, of a small studio.
fn page(small: &Small, day: Option<&str>) -> String {
    let (_, fair) = light(small);
    small.with_plan(|asked| {
        let setup = asked.setup;
        let week = week(setup, &small.studio, asked.timing);
        let daylight = daylight(setup, &asked.outdoors, &small.studio.weather, |_| Some(6.0));
        let skies: Vec<_> = daylight
            .iter()
            .map(|light| day_sky(&setup.grid, light.date, &asked.outdoors, &fair))
            .collect();
        let (usual, racks) = (usual_dose(setup), rack_fills(setup, asked.timing));
        let courses = courses(setup, &small.studio, asked.timing);
        let screen = SheetScreen {
            studio: &small.studio,
            orders: &small.orders,
            now: small.now,
            has_forecast: true,
            forecast_note: "Invented weather.",
            week: &week,
            daylight: &daylight,
            skies: &skies,
            racks: &racks,
            grid: &setup.grid,
            courses: &courses,
            aged: &[],
            coverage: &Default::default(),
            errands: &[],
            usual: usual.as_ref(),
            paper: Paper::A4,
        };
        let templates = Templates::built_in();
        match day {
            Some(day) => render_day(&screen, desk::date(day), &templates),
            None => render_week(&screen, &templates),
        }
        .unwrap()
    })
}

/// Compares with a file in `tests/sheets/`, the style left out; with `FAIRDAY_ACCEPT=1`
/// the file is written anew.
pub fn check_file(name: &str, found: &str) {
    let (begin, rest) = found.split_once("<style>").unwrap();
    let (_, end) = rest.split_once("</style>").unwrap();
    let found = format!("{begin}<style>…</style>{end}");
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/sheets")
        .join(name);
    if std::env::var_os("FAIRDAY_ACCEPT").is_some() {
        std::fs::write(&path, &found).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(expected, found, "{name} has changed");
}

/// One sheet A3 by hand: 0.12474 m² × 45 ml/m² = 5.61 ml, with a fifth more 6.74 ml, so
/// 10 ml are mixed, 5 ml of each stock. Coated on Monday it is dry twelve hours later,
/// so it is exposed on Tuesday.
#[test]
fn a_small_day_word_for_word() {
    let small = small(vec![order("26-1", 1, "2026-05-15")]);
    check_file("monday.html", &page(&small, Some("2026-05-11")));
    check_file("tuesday.html", &page(&small, Some("2026-05-12")));
}

#[test]
fn what_a_customer_typed_is_never_a_tag() {
    let mut nasty = order("26-1", 2, "2026-05-15");
    nasty.customer.name = "<script>alert(1)</script> \u{202e}drawkcab".to_owned();
    nasty.customer.address = vec!["\"><img src=x onerror=alert(2)>".to_owned()];
    for piece in &mut nasty.pieces {
        piece.title = "</title></svg><b>".repeat(12);
        piece.image = fairday::order::Image::Negative("{{studio.name}}<i>".to_owned());
    }
    let rtl = Order {
        customer: fairday::order::Customer {
            name: "ליאת כהן".to_owned(),
            ..nasty.customer.clone()
        },
        ..order("26-2", 1, "2026-05-15")
    };
    let page = page(&small(vec![nasty, rtl]), None);
    for tag in ["<script", "<img", "<b><", "<i>n", "onerror=alert(2)>\""] {
        assert!(!page.contains(tag), "{tag}");
    }
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(page.contains("{{studio.name}}&lt;i&gt;"));
    assert!(page.contains("ליאת כהן"));
    assert!(!page.contains('\u{202e}'));
}

#[test]
fn nothing_in_a_sheet_asks_another_address() {
    let page = text(&fairday(&["sheet", "--to", "-"]).stdout);
    assert!(page.starts_with("<!DOCTYPE html>"));
    for mark in ["http:", "https:", "src=", "@import", "//cdn"] {
        assert!(!page.contains(mark), "{mark}");
    }
    let addresses = page
        .match_indices("url(")
        .map(|(at, _)| &page[at + 4..at + 5]);
    assert!(addresses.into_iter().all(|first| first == "#"));
    assert_eq!(page, text(&fairday(&["sheet", "--to", "-"]).stdout));
}

#[test]
fn every_day_with_work_has_a_page_and_the_paper_is_the_one_asked_for() {
    let page = text(&fairday(&["sheet", "--paper", "letter", "--to", "-"]).stdout);
    assert!(page.contains("size: letter portrait"));
    let days = page.matches("<section class=\"sheet day").count();
    assert_eq!(days, 6, "Monday to Saturday; Sunday is off");
    assert_eq!(page.matches("<section class=\"sheet week").count(), 1);
    assert!(page.contains("7 of 7"));
    let day = text(&fairday(&["sheet", "--day", "2026-05-13", "--to", "-"]).stdout);
    assert_eq!(day.matches("<section class=\"sheet").count(), 1);
    assert!(day.contains("Wednesday"));
}

/// Copies the demonstration into a folder of its own.
fn demo_copy() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for entry in std::fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    folder
}

#[test]
fn a_sheet_is_written_beside_the_orders_and_never_over_one() {
    let folder = demo_copy();
    let dir = folder.path().to_str().unwrap();
    let answer = fairday(&["sheet", "--dir", dir, "--day", "2026-05-11"]);
    assert_eq!(answer.status.code(), Some(0), "{}", text(&answer.stderr));
    assert!(
        text(&answer.stdout).starts_with(&format!("Written: {dir}/sheets/day-2026-05-11.html"))
    );
    let order = format!("{dir}/2026-011-oduya.yaml");
    let before = std::fs::read(&order).unwrap();
    let answer = fairday(&["sheet", "--dir", dir, "--to", &order]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(text(&answer.stderr).contains("name another file with `--to FILE`"));
    assert_eq!(std::fs::read(&order).unwrap(), before);
    let answer = fairday(&["sheet", "--dir", dir, "--day", "2027-01-01"]);
    assert_eq!(answer.status.code(), Some(2));
    assert!(text(&answer.stderr).contains("runs from 2026-05-11 to"));
}

/// Without a forecast every day says why it has no light, on its page and in the week.
#[test]
fn without_a_forecast_each_day_says_so() {
    let folder = demo_copy();
    let file = folder.path().join("studio.yaml");
    let studio = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, studio.replace("\nforecast: forecast.json", "\n")).unwrap();
    let dir = folder.path().to_str().unwrap();
    let page = text(&fairday(&["sheet", "--dir", dir, "--to", "-"]).stdout);
    let reason = "No light to plan by: there is no forecast";
    let days = page.matches("<section class=\"sheet day").count();
    assert!(days > 0);
    assert_eq!(
        page.matches(&format!("<dd>{reason}")).count(),
        days,
        "each day with work"
    );
    // Sunday is off.
    assert_eq!(page.matches(&format!("</svg><p>{reason}")).count(), 6);
    assert_eq!(page.matches("</svg><p>No hours of work").count(), 1);
}

/// What is packed and what leaves: where the name ends and the address begins.
#[test]
fn a_parcel_is_told_in_words_that_do_not_run_together() {
    let page = text(&fairday(&["sheet", "--to", "-"]).stdout);
    let packed = "<bdi>Edwin Hale</bdi>, 3 pieces<span class=\"then\">, to <bdi>12 Quayside</bdi> \
                  · <bdi>Northport</bdi> · <bdi>NP4 2AB</bdi>, by the parcel line</span>";
    assert!(page.contains(packed));
    assert!(page.contains("2 pieces<span class=\"then\">, for collection by the customer</span>"));
    assert!(page.contains("for collection by the customer: <b class=\"o\">2026-014</b>"));
    for word in ["door", "comes for it", "· home"] {
        assert!(!page.contains(word), "{word}");
    }
}

/// The mix and each coat have times of their own on the terminal too, and the steps
/// of a day stand in the order of their times.
#[test]
fn a_session_is_told_as_it_goes() {
    let plan = text(&fairday(&["plan"]).stdout);
    let monday = plan.split("Today, Mon 11 May").nth(1).unwrap();
    let monday = monday.split("Tomorrow").next().unwrap();
    let rows: Vec<&str> = monday
        .lines()
        .filter(|line| line.starts_with("  ") && line.as_bytes()[2].is_ascii_digit())
        .collect();
    let mut begins: Vec<&str> = rows.iter().map(|row| &row[2..7]).collect();
    let told = begins.clone();
    begins.sort_unstable();
    assert_eq!(told, begins);
    let of = |verb: &str| {
        rows.iter()
            .filter(|row| row.split_whitespace().nth(1) == Some(verb))
            .count()
    };
    assert_eq!(of("mix"), 1);
    assert!(of("coat") > 1);
}

/// A number and its unit are never on two lines.
#[test]
fn no_line_of_a_screen_begins_with_a_unit() {
    for command in [&["plan"][..], &["blocked"], &["light"]] {
        for width in ["60", "72", "80", "93"] {
            let answer = text(&fairday(&[command, &["--width", width]].concat()).stdout);
            for line in answer.lines() {
                let first = line.trim_start().split([' ', ',']).next().unwrap_or("");
                assert!(
                    !["g", "ml", "mm", "min", "%", "m/s"].contains(&first),
                    "{line}"
                );
            }
        }
    }
}
