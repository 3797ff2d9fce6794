//! A rack that is too full this morning is a fact, and no reason to refuse a plan.

use std::fs;
use std::path::Path;

use crate::commands::{fairday, text};

/// Two sheets coated half an hour ago.
const COATED_TWICE: &str = "\
order: 2026-011
customer: {name: Ida Brook, email: ida@example.org}
ordered_on: 2026-05-04
promise: {kind: ship_by, date: 2026-05-22}
jurisdiction: uk
delivery: home
pieces:
  - title: Estuary
    material: rag-300
    size: A3
    copies: 2
    negative: estuary
    progress:
      - {at: 2026-05-11 06:30, did: coated}
";

#[test]
fn two_wet_sheets_and_one_dark_place_still_give_a_plan() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    let folder = tempfile::tempdir().unwrap();
    let studio = fs::read_to_string(demo.join("studio.yaml")).unwrap();
    let places = "dark_dry_sheets: 12";
    assert!(studio.contains(places));
    let studio = studio.replace(places, "dark_dry_sheets: 1");
    fs::write(folder.path().join("studio.yaml"), studio).unwrap();
    fs::copy(
        demo.join("forecast.json"),
        folder.path().join("forecast.json"),
    )
    .unwrap();
    fs::write(folder.path().join("2026-011-brook.yaml"), COATED_TWICE).unwrap();

    let answer = fairday(&["plan", "--dir", folder.path().to_str().unwrap()]);
    assert_ne!(answer.status.code(), Some(2), "{}", text(&answer.stderr));
    assert!(text(&answer.stdout).contains("2026-011"));
}
