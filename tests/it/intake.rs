//! New orders: by arguments, out of tables, and the first week of a newcomer.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::commands::{fairday, text};

fn demo_copy() -> tempfile::TempDir {
    let copy = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for entry in fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, copy.path().join(path.file_name().unwrap())).unwrap();
    }
    copy
}

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let dir = folder.display().to_string();
    let answer = fairday(&[arguments, &["--dir", &dir]].concat());
    let (said, told) = (text(&answer.stdout), text(&answer.stderr));
    (answer.status.code(), said, told)
}

const FERN: &str = "title: Fern, material: rag-300, size: A4, copies: 2, negative: fern";

fn take<'a>(more: &[&'a str]) -> Vec<&'a str> {
    let said = [
        "take",
        "--name",
        "Ada Brook",
        "--email",
        "ada@example.org",
        "--to",
        "home",
        "--jurisdiction",
        "uk",
    ];
    [&said, more].concat()
}

#[test]
fn an_order_is_taken_in_the_manner_of_the_demo_and_planned() {
    let folder = demo_copy();
    let (code, said, told) = run(
        folder.path(),
        &take(&["--promise", "safe", "--piece", FERN]),
    );
    assert_eq!(code, Some(0), "{told}");
    assert!(said.contains("Leaves by; the days nearest"), "{said}");
    let file = fs::read_to_string(folder.path().join("2026-031-brook.yaml")).unwrap();
    let (before, rest) = file.split_once("promise: {kind: ship_by, date: ").unwrap();
    let (day, after) = rest.split_once("}\n").unwrap();
    assert_eq!(
        format!("{before}{after}"),
        "order: 2026-031\ncustomer: {name: Ada Brook, email: ada@example.org}\n\
         ordered_on: 2026-05-11\njurisdiction: uk\ndelivery: home\npieces:\n\
         \x20 - title: Fern\n    material: rag-300\n    size: A4\n    copies: 2\n    negative: fern\n"
    );
    // The day promised is the first that the page says holds in 95 or more.
    let day: chrono::NaiveDate = day.parse().unwrap();
    let shown = day.format("%a %-d %b").to_string();
    let shares: Vec<(String, u32)> = said.lines().filter_map(day_and_share).collect();
    let first = shares.iter().find(|(_, share)| *share >= 95).unwrap();
    assert_eq!(first.0, shown, "{said}");
    assert!(shares.len() > 1 && shares[0].1 < 95, "{said}");
    let words = format!(
        "Promised to leave by {shown}, which holds in {} of 100",
        first.1
    );
    assert!(said.contains(&words), "{words}\n{said}");
    assert_eq!(run(folder.path(), &["check"]).0, Some(0));
    assert!(
        run(folder.path(), &["plan", "--json"])
            .1
            .contains("\"2026-031\"")
    );
}

/// Reads a row such as `Wed 13 May  holds in 86 of 100 · nearest to 50`.
fn day_and_share(line: &str) -> Option<(String, u32)> {
    let (day, rest) = line.split_once(" holds in ")?;
    let (share, _) = rest.split_once(" of 100")?;
    let is_row = line.starts_with("  ") && day.trim().split(' ').count() == 3;
    is_row.then_some((day.trim().to_owned(), share.parse().ok()?))
}

#[test]
fn mail_addresses_for_copies_and_a_day_of_arrival_are_taken_by_argument() {
    let folder = demo_copy();
    let said = [
        "take",
        "--name",
        "Ada Brook",
        "--to",
        "home",
        "--jurisdiction",
        "uk",
        "--piece",
        FERN,
        "--email",
        "ada@example.org, tom@example.org",
        "--arrives-by",
        "2026-06-12",
    ];
    let (code, said, told) = run(folder.path(), &said);
    assert_eq!(code, Some(0), "{told}");
    assert!(
        said.contains("Promised to arrive by Fri 12 Jun, which holds in 100 of 100 weathers.\n"),
        "{said}"
    );
    let file = fs::read_to_string(folder.path().join("2026-031-brook.yaml")).unwrap();
    for line in [
        "customer: {name: Ada Brook, email: [ada@example.org, tom@example.org]}\n",
        "promise: {kind: deliver_by, date: 2026-06-12}\n",
    ] {
        assert!(file.contains(line), "{line}{file}");
    }
    assert_eq!(run(folder.path(), &["check"]).0, Some(0));
}

/// What is wrong is told by the argument that says it, not by a place in a file that is
/// not there; a day that has gone by is taken, since the order may be one to catch up on.
#[test]
fn a_promise_that_cannot_be_is_refused_and_one_gone_by_is_warned_of() {
    let folder = demo_copy();
    let (code, _, told) = run(
        folder.path(),
        &take(&["--promise", "2026-05-01", "--piece", FERN]),
    );
    assert_eq!(code, Some(2));
    let words = "error: `--promise 2026-05-01`: the promise `2026-05-01` lies before the day of \
                 the order, 2026-05-11\n";
    assert!(told.ends_with(words), "{told}");
    let late = [
        "--ordered-on",
        "2026-04-01",
        "--promise",
        "2026-04-02",
        "--piece",
        FERN,
    ];
    let (code, said, told) = run(folder.path(), &take(&late));
    assert_eq!(code, Some(0), "{told}");
    assert!(
        told.contains("warning: 2026-04-02 has gone by already; today is 2026-05-11"),
        "{told}"
    );
    assert!(said.contains("Promised to leave by Thu 2 Apr.\n"), "{said}");
    for (switch, word, words) in [
        (
            "--language",
            "x9x",
            "`--language x9x`: expected a language such as `en`",
        ),
        (
            "--number",
            "1/2",
            "`--number 1/2`: the order number `1/2` holds a slash",
        ),
        (
            "--email",
            "ada@example.org, tom",
            "expected an address such as",
        ),
    ] {
        let mut line = vec![
            "take",
            "--name",
            "Ada",
            "--to",
            "pickup",
            "--jurisdiction",
            "uk",
            "--promise",
            "none",
            "--piece",
            FERN,
        ];
        line.extend([switch, word]);
        let (code, _, told) = run(folder.path(), &line);
        assert_eq!(code, Some(2));
        assert!(told.contains(words) && !told.contains(".yaml:"), "{told}");
    }
}

/// A line of the check is the line of the file that was written.
#[test]
fn a_warning_about_a_new_order_names_the_line_of_its_file() {
    let work = tempfile::tempdir().unwrap();
    let folder = work.path().join("s");
    let dir = folder.display().to_string();
    assert_eq!(
        fairday(&["new", &dir, "--today", "2026-05-11"])
            .status
            .code(),
        Some(0)
    );
    let today = ["--today", "2026-05-11 07:00"];
    let later = take(&[
        "--ordered-on",
        "2026-05-20",
        "--promise",
        "none",
        "--piece",
        FERN,
    ]);
    let (_, _, told) = run(&folder, &[&later[..], &today].concat());
    let (_, said, _) = run(&folder, &["check", "--today", "2026-05-11 07:00"]);
    let place = "brook.yaml:4:13: `2026-05-20` is later than today";
    assert!(
        told.contains(place) && said.contains(place),
        "{told}\n{said}"
    );
}

#[test]
fn an_address_and_a_language_are_taken_by_argument() {
    let folder = demo_copy();
    let more = ["--promise", "none", "--piece", FERN, "--language", "de"];
    let address = ["--address", "Hauptstraße 7, 12345 Blauburg"];
    let (code, _, told) = run(folder.path(), &take(&[&more[..], &address].concat()));
    assert_eq!(code, Some(0), "{told}");
    let file = fs::read_to_string(folder.path().join("2026-031-brook.yaml")).unwrap();
    let customer = "customer:\n  name: Ada Brook\n  email: ada@example.org\n  \
                    address: Hauptstraße 7, 12345 Blauburg\n  language: de\n";
    assert!(file.contains(customer), "{file}");
}

#[test]
fn nothing_is_written_over_and_nothing_wrong_is_written() {
    let folder = demo_copy();
    fs::write(folder.path().join("7-brook.yaml"), "# mine\n").unwrap();
    let before = fs::read_dir(folder.path()).unwrap().count();
    let rows: &[(&[&str], &str)] = &[
        (
            &["--promise", "none", "--number", "7", "--piece", FERN],
            "exists already",
        ),
        (&["--piece", FERN], "missing: --promise"),
        (&["--promise", "none"], "missing: --piece"),
        (&["--promise", "soon", "--piece", FERN], "expected a date"),
        (
            &["--promise", "none", "--piece", "title Fern"],
            "expected keys as in an order file",
        ),
        (
            &["--promise", "none", "--piece", "title: F, colour: blue"],
            "`colour` is none of them",
        ),
        (
            &[
                "--promise",
                "none",
                "--piece",
                "title: F, material: rag, size: A4, negative: f",
            ],
            "the studio has no material `rag`",
        ),
        (
            &[
                "--promise",
                "none",
                "--piece",
                "title: F, material: rag-300, size: A0, negative: f",
            ],
            "goes into no frame",
        ),
        (
            &["--promise", "none", "--number", "2026-020", "--piece", FERN],
            "such an order already",
        ),
    ];
    for (more, words) in rows {
        let (code, _, told) = run(folder.path(), &take(more));
        assert_eq!(code, Some(2), "{more:?}");
        assert!(told.contains(words), "{more:?}: {told}");
    }
    let (code, said, _) = run(
        folder.path(),
        &take(&["--promise", "none", "--preview", "--piece", FERN]),
    );
    assert_eq!(code, Some(0));
    assert!(
        said.contains("not written") && !said.contains("promise: {"),
        "{said}"
    );
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), before);
    let mine = fs::read_to_string(folder.path().join("7-brook.yaml")).unwrap();
    assert_eq!(mine, "# mine\n");
}

/// The number stays free for the order whose file has a slip in it.
#[test]
fn a_file_with_errors_keeps_its_number() {
    let folder = demo_copy();
    let broken = folder.path().join("2026-031-moss.yaml");
    fs::write(&broken, "order: 2026-031\ncustomer: {name: Moss\n").unwrap();
    let (_, said, _) = run(
        folder.path(),
        &take(&["--promise", "none", "--piece", FERN]),
    );
    assert!(said.contains("Took order 2026-032 into"), "{said}");
}

#[test]
fn words_that_yaml_would_misread_come_back_as_they_were_said() {
    let folder = demo_copy();
    let name = "Zoë: \"Ink\" #1 O'Neil";
    let said = [
        "take",
        "--name",
        name,
        "--to",
        "pickup",
        "--jurisdiction",
        "uk",
        "--promise",
        "none",
        "--hold",
        "yes",
        "--piece",
        "title: 'No: 7', material: rag-300, size: 8x10 in, negative: '007'",
    ];
    let (code, _, told) = run(folder.path(), &said);
    assert_eq!(code, Some(0), "{told}");
    let file = folder.path().join("2026-031-O-Neil.yaml".to_lowercase());
    let text = fs::read_to_string(&file).unwrap();
    let against = fairday::order::parse::Against::default();
    let (order, problems) = fairday::order::parse::parse(&text, "a.yaml", &against);
    assert_eq!(problems, []);
    let order = order.unwrap();
    assert_eq!(
        (order.customer.name.as_str(), order.hold.as_deref()),
        (name, Some("yes"))
    );
    assert_eq!(order.pieces[0].title, "No: 7");
}

const IMPORT: &str = "
import:
  columns: {reference: Order, name: Name, email: Email, ordered_on: Date, title: Item, size: Size, material: Paper, copies: Qty, negative: File}
  otherwise: {jurisdiction: uk, delivery: home}
  words: {material: {\"Cotton rag\": rag-300}}
  date_format: \"%d/%m/%Y\"
";

const HEAD: &str = "Order,Name,Email,Date,Item,Size,Paper,Qty,File";

fn shop(folder: &Path) {
    let studio = folder.join("studio.yaml");
    let text = fs::read_to_string(&studio).unwrap();
    fs::write(studio, format!("{text}{IMPORT}")).unwrap();
}

fn import(folder: &Path, table: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let path = folder.join("shop.csv");
    fs::write(&path, table).unwrap();
    let path = path.display().to_string();
    run(folder, &[&["import", &path], more].concat())
}

/// Quotes, a line break and a doubled quote inside a field, as RFC 4180 has them.
#[test]
fn a_table_is_taken_once_however_often_it_is_given() {
    let folder = demo_copy();
    shop(folder.path());
    let table = format!(
        "{HEAD}\r\n\
         #1042,\"Brook, Ada\",ada@example.org,09/05/2026,\"Fern, \"\"large\"\"\r\nleaf\",A4,Cotton rag,2,fern\r\n\
         #1042,\"Brook, Ada\",ada@example.org,09/05/2026,Gull,A5,Cotton rag,1,gull\r\n\
         #1043,Noor Vale,noor@example.org,10/05/2026 18:03,Lace,8x10 in,washi-40,1,lace\r\n"
    );
    let (code, said, told) = import(folder.path(), &table, &["--preview"]);
    assert_eq!(code, Some(0), "{told}");
    assert!(
        said.starts_with("2 orders would be taken; nothing was written"),
        "{said}"
    );
    assert!(!folder.path().join("2026-031-ada.yaml").exists());
    let (code, said, told) = import(folder.path(), &table, &[]);
    assert_eq!(code, Some(0), "{told}");
    assert!(said.starts_with("2 orders taken"), "{said}");
    let first = fs::read_to_string(folder.path().join("2026-031-ada.yaml")).unwrap();
    assert!(first.contains("reference: \"#1042\"\n"), "{first}");
    assert!(first.contains("ordered_on: 2026-05-09\n"), "{first}");
    assert_eq!(first.matches("  - title: ").count(), 2, "{first}");
    assert!(first.contains("\"Fern, \\\"large\\\""), "{first}");
    assert!(first.contains("size: A5\n    negative: gull\n"), "{first}");
    assert_eq!(run(folder.path(), &["check"]).0, Some(0));
    let (code, said, _) = import(folder.path(), &table, &[]);
    assert_eq!(code, Some(0));
    assert!(
        said.starts_with("0 orders taken  2 orders known already"),
        "{said}"
    );
    // A file that is broken later still keeps its order from being taken again.
    fs::write(
        folder.path().join("2026-031-ada.yaml"),
        format!("{first}colour: blue\n"),
    )
    .unwrap();
    let (_, said, _) = import(folder.path(), &table, &[]);
    assert!(
        said.starts_with("0 orders taken  2 orders known already"),
        "{said}"
    );
    // So does one that was closed.
    let second = folder.path().join("2026-032-vale.yaml");
    let text = fs::read_to_string(&second).unwrap();
    fs::write(&second, format!("{text}cancelled_on: 2026-05-11\n")).unwrap();
    let (_, said, _) = import(folder.path(), &table, &[]);
    assert!(said.starts_with("0 orders taken"), "{said}");
}

#[test]
fn marks_of_spreadsheets_are_no_hindrance() {
    let row = |separator: &str| {
        let fields = [
            "7",
            "Ada Brook",
            "ada@example.org",
            "09/05/2026",
            "Fern",
            "A4",
            "Cotton rag",
            "1",
            "fern",
        ];
        let head = HEAD.replace(',', separator);
        format!("{head}\r\n{}", fields.join(separator))
    };
    for table in [
        format!("\u{feff}{}\r\n", row(";")),
        row("\t"),
        row(","),
        format!("{}\n\n", row(",")),
    ] {
        let folder = demo_copy();
        shop(folder.path());
        let (code, said, told) = import(folder.path(), &table, &[]);
        assert_eq!(code, Some(0), "{table:?}: {told}");
        assert!(said.starts_with("1 order taken"), "{table:?}: {said}");
    }
}

/// Each bad row is told with its line; the good orders are taken, no half ones.
#[test]
fn bad_rows_are_told_and_good_orders_taken() {
    let folder = demo_copy();
    shop(folder.path());
    let table = format!(
        "{HEAD}\n\
         1,Ada Brook,ada@example.org,09/05/2026,Fern,A9,Cotton rag,1,fern\n\
         2,Noor Vale,noor@example.org,09/05/2026,Lace,A4,Cotton rag,1,lace\n\
         3,Sam,sam@example.org,2026-05-09,Tide,A4,Glass,1,tide\n\
         4,Ida,ida(at)example.org,09/05/2026,Tide,A4,Cotton rag,many,tide\n\
         5,Eli,eli@example.org,09/05/2026,Tide,A4,Cotton rag\n\
         ,Kit,kit@example.org,09/05/2026,Tide,A4,Cotton rag,1,tide\n\
         8,Bea,bea@example.org,09/05/2026,Sea,A4,Cotton rag,1,sea\n\
         8,Bea,bea@example.org,09/05/2026,Sea,A4,Cotton rag,0,sea\n"
    );
    let (code, said, told) = import(folder.path(), &table, &[]);
    assert_eq!(code, Some(1), "{told}");
    assert!(said.starts_with("1 order taken"), "{said}");
    assert!(said.contains("2, Noor Vale"), "{said}");
    for (place, words) in [
        ("2:45", "for `size`, found `A9`, in the column `Size`"),
        (
            "4:42",
            "the studio has no material `Glass`, in the column `Paper`",
        ),
        ("5:56", "for `copies`, found `many`, in the column `Qty`"),
        ("5:7", "`ida(at)example.org` is no mail address"),
        ("6:1", "expected 9 fields as in the first line, found 7"),
        ("7:1", "the column `Order` is empty"),
        (
            "9:52",
            "expected 1 to 500 for `copies`, found `0`, in the column `Qty`",
        ),
    ] {
        let place = format!("shop.csv:{place}: ");
        let found = told
            .lines()
            .any(|l| l.contains(&place) && l.contains(words));
        assert!(found, "{place}{words}\n{told}");
    }
    assert!(
        !told.contains("shop.csv:3:") && !told.contains("shop.csv:8:"),
        "{told}"
    );
}

/// Lines that end in two signs, and blank ones, count as an editor counts them.
#[test]
fn a_bad_row_is_told_with_its_line_whatever_ends_the_lines() {
    let folder = demo_copy();
    shop(folder.path());
    let good =
        |number: u32| format!("{number},Ada,,09/05/2026,\"Fern\n leaf\",A4,Cotton rag,1,f\n");
    let bad = "7,Ada,,09/05/2026,Fern,A9,Cotton rag,1,f\n";
    let table = format!("{HEAD}\n{}\n\n{bad}{}", good(5), good(6));
    for table in [table.clone(), table.replace('\n', "\r\n")] {
        let (code, said, told) = import(folder.path(), &table, &["--preview"]);
        assert_eq!(code, Some(1), "{told}");
        assert!(said.starts_with("2 orders would be taken"), "{said}");
        assert!(told.contains("shop.csv:6:24: "), "{told}");
        assert!(told.contains("7,Ada,,09/05/2026,Fern,A9"), "{told}");
    }
}

/// Columns that are read together, and a day by which a parcel is to be there.
#[test]
fn an_address_in_several_columns_is_on_the_parcel_card() {
    let folder = demo_copy();
    let studio = folder.path().join("studio.yaml");
    let mapping = IMPORT
        .replace(
            "name: Name,",
            "name: [First, Last], address: [Street, Town, Code],",
        )
        .replace("ordered_on: Date,", "ordered_on: Date, deliver_by: Until,");
    let text = fs::read_to_string(&studio).unwrap();
    fs::write(&studio, format!("{text}{mapping}")).unwrap();
    let head = "Order,First,Last,Street,Town,Code,Until,Email,Date,Item,Size,Paper,Qty,File";
    let table = format!(
        "{head}\r\n7,Ada,Brook,\"12 Quayside\r\nFlat 2,\",Northport,,29/05/2026,,09/05/2026,Fern,A4,\
         Cotton rag,1,fern\r\n"
    );
    let (code, said, told) = import(folder.path(), &table, &[]);
    assert_eq!(code, Some(0), "{told}");
    assert!(said.contains("Ada Brook"), "{said}");
    let order = fs::read_to_string(folder.path().join("2026-031-brook.yaml")).unwrap();
    assert!(
        order.contains("  address: 12 Quayside, Flat 2, Northport\n"),
        "{order}"
    );
    assert!(
        order.contains("promise: {kind: deliver_by, date: 2026-05-29}\n"),
        "{order}"
    );
    let (_, card, _) = run(folder.path(), &["card", "2026-031", "--to", "-"]);
    for line in ["12 Quayside", "Flat 2", "Northport"] {
        assert!(card.contains(line), "{line}: {card}");
    }
}

#[test]
fn what_no_column_says_is_told_once_and_an_empty_field_with_its_line() {
    let folder = demo_copy();
    shop(folder.path());
    let table = format!("{HEAD}\n7,Ada,,,Fern,A4,Cotton rag,1,fern\n");
    let (_, _, told) = import(folder.path(), &table, &[]);
    assert!(
        told.contains("shop.csv:2:1: the column `Date` is empty"),
        "{told}"
    );
    assert!(
        told.contains("add `ordered_on: …` below `otherwise`"),
        "{told}"
    );
    let studio = folder.path().join("studio.yaml");
    let text = fs::read_to_string(&studio).unwrap();
    fs::write(&studio, text.replace("ordered_on: Date, ", "")).unwrap();
    let (_, said, told) = import(folder.path(), &table, &[]);
    assert!(said.starts_with("0 orders taken"), "{said}");
    assert_eq!(told.matches("nothing says what `ordered_on` is").count(), 1);
    assert!(
        told.contains("add `ordered_on: HEADING` below `columns`"),
        "{told}"
    );
}

/// The day is told as the table writes days, the field is marked and not the row, and a
/// value of studio.yaml is told by its place there.
#[test]
fn a_wrong_field_is_told_by_its_column_and_in_the_manner_of_the_table() {
    let folder = demo_copy();
    shop(folder.path());
    let row = |day: &str, copies: &str| {
        format!("{HEAD}\n7,Ada,ada@example.org,{day},Fern,A4,Cotton rag,{copies},fern\n")
    };
    let (code, _, told) = import(folder.path(), &row("31/02/2026", "0"), &[]);
    assert_eq!(code, Some(1));
    let words = "shop.csv:2:23: expected a day such as `15/05/2026` for `ordered_on`, found \
                 `31/02/2026`, in the column `Date`\n";
    assert!(told.contains(words), "{told}");
    let marked = format!("\n   | {}{}\n", " ".repeat(22), "^".repeat(10));
    assert!(told.contains(&marked), "{told}");
    assert!(
        told.contains("for `copies`, found `0`, in the column `Qty`"),
        "{told}"
    );
    assert_eq!(told.matches("error: ").count(), 2, "{told}");
    let studio = folder.path().join("studio.yaml");
    let text = fs::read_to_string(&studio).unwrap();
    fs::write(&studio, text.replace("delivery: home}", "delivery: mars}")).unwrap();
    let (_, _, told) = import(folder.path(), &row("09/05/2026", "1"), &[]);
    assert!(
        told.contains("the studio knows no way to `mars`\n"),
        "{told}"
    );
    assert!(
        told.contains("correct `delivery` below `import: {otherwise"),
        "{told}"
    );
}

#[test]
fn an_empty_table_is_called_empty_once() {
    let folder = demo_copy();
    shop(folder.path());
    for table in ["", "\n\n"] {
        let (code, _, told) = import(folder.path(), table, &[]);
        assert_eq!(code, Some(1));
        assert!(told.contains("shop.csv: the table is empty\n"), "{told}");
        assert_eq!(told.matches("error").count(), 1, "{told}");
        assert!(told.contains("hint: save it once more as CSV"), "{told}");
    }
}

#[test]
fn a_table_that_does_not_match_its_mapping_is_told_so() {
    let folder = demo_copy();
    let (code, _, told) = import(folder.path(), HEAD, &[]);
    assert_eq!(code, Some(2));
    assert!(told.contains("add `import: {columns:"), "{told}");
    shop(folder.path());
    let (_, _, told) = import(folder.path(), &HEAD.replace("Email", "E-mail"), &[]);
    assert!(told.contains("there is no column `Email`"), "{told}");
    assert!(told.contains("write `email: E-mail`"), "{told}");
    let (code, said, _) = import(folder.path(), &format!("{HEAD}\n"), &[]);
    assert_eq!((code, said.as_str()), (Some(0), "0 orders taken\n"));
}

/// The commands of the README, run by a shell as they stand there.
#[cfg(unix)]
#[test]
fn the_first_week_of_the_readme_runs_as_it_stands() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = fs::read_to_string(root.join("README.md")).unwrap();
    let (_, week) = readme.split_once("## A first week").unwrap();
    let (_, block) = week.split_once("```sh\n").unwrap();
    let (block, _) = block.split_once("```").unwrap();
    for step in [
        "new", "take", "check", "plan", "stock", "sheet", "mark", "notices", "send",
    ] {
        assert!(
            block.contains(&format!("fairday {step}")),
            "{step} is missing"
        );
    }
    let work = tempfile::tempdir().unwrap();
    fs::create_dir(work.path().join("orders")).unwrap();
    fs::copy(
        root.join("orders/forecast.json"),
        work.path().join("orders/forecast.json"),
    )
    .unwrap();
    let program = Path::new(env!("CARGO_BIN_EXE_fairday"));
    let path = format!("{}:/usr/bin:/bin", program.parent().unwrap().display());
    // One is an answer, too: somebody must look.
    let script =
        format!("set -e\nfairday() {{ command fairday \"$@\" || [ $? -eq 1 ]; }}\n{block}");
    let answer = Command::new("sh")
        .args(["-c", &script])
        .current_dir(work.path())
        .env_clear()
        .env("PATH", path)
        .output()
        .unwrap();
    let (said, told) = (text(&answer.stdout), text(&answer.stderr));
    assert!(answer.status.success(), "{said}\n{told}");
    let studio = work.path().join("my-studio");
    for order in ["2026-003-brook", "2026-004-vale", "2026-005-orchard"] {
        let text = fs::read_to_string(studio.join(format!("{order}.yaml"))).unwrap();
        assert!(text.starts_with("# yaml-language-server: $schema=./schema/order.json\n"));
        assert!(
            text.contains("kind: taken"),
            "{order} was not told:\n{text}"
        );
    }
    let brook = fs::read_to_string(studio.join("2026-003-brook.yaml")).unwrap();
    assert!(
        brook.contains("{at: 2026-05-11 06:40, did: coated}"),
        "{brook}"
    );
    let letters = fs::read_dir(studio.join("outbox")).unwrap();
    let letters = letters.filter(|file| {
        let path = file.as_ref().unwrap().path();
        path.extension().is_some_and(|ending| ending == "eml")
    });
    assert!(letters.count() >= 3, "{said}");
}
