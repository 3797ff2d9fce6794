//! Forgetting a customer: closed orders, letters and pages lose them, numbers stay.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::commands::{fairday, text};

/// The demo with an order of Tom's that has left and is to be told, and one that is open.
fn studio() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for entry in fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
    }
    let sent = folder.path().join("2026-009-whitlock.yaml");
    let order = fs::read_to_string(&sent).unwrap();
    let told = "  - {on: 2026-05-06, kind: dispatched, date: 2026-05-06}\n";
    let order = order.replace(told, "").replace("Gulls", "Tom's gulls");
    fs::write(
        &sent,
        format!("# rings at 12 Quayside, +44 151 496 0000\n{order}"),
    )
    .unwrap();
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let dir = folder.display().to_string();
    let answer = fairday(&[arguments, &["--dir", &dir]].concat());
    let said = [text(&answer.stdout), text(&answer.stderr)].concat();
    (answer.status.code(), said)
}

/// Every file with its text, by its name below the folder.
fn contents(folder: &Path) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(dir) = open.pop() {
        for entry in fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let name = path.strip_prefix(folder).unwrap().display().to_string();
            found.insert(name, fs::read_to_string(&path).unwrap());
        }
    }
    found
}

fn traces(folder: &Path) -> Vec<String> {
    let is_trace = |text: &str| {
        let text = text.to_lowercase();
        [
            "whitlock",
            "tom@",
            "t…@",
            "151 496",
            "quayside, +",
            "pl-50713",
        ]
        .iter()
        .any(|word| text.contains(word))
    };
    let named = contents(folder).into_iter();
    named
        .filter(|(name, text)| is_trace(name) || is_trace(text))
        .map(|(name, _)| name)
        .collect()
}

#[test]
fn a_customer_goes_from_order_letters_and_pages_and_the_numbers_stay() {
    let folder = studio();
    let folder = folder.path();
    run(folder, &["send", "2026-009", "--steps", "0"]);
    run(folder, &["card", "2026-009"]);
    let before = contents(folder);
    assert!(traces(folder).len() >= 5, "{:?}", traces(folder));
    let (code, shown) = run(folder, &["forget", "TOM whitlock"]);
    assert_eq!(code, Some(0), "{shown}");
    for words in [
        "2026-009   goes    name and addresses, title, tracking number, 1 comment",
        "`2026-009-whitlock.yaml` becomes `2026-009.yaml`",
        "outbox     goes    2 mails",
        "`sheets/card-2026-009.html`",
        "Nothing has been changed.",
    ] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
    assert_eq!(contents(folder), before, "a look changes nothing");
    let (code, shown) = run(folder, &["forget", "tom@example.org", "--yes"]);
    assert_eq!(code, Some(0), "{shown}");
    assert_eq!(traces(folder), [""; 0], "{shown}");
    let after = contents(folder);
    let order = &after["2026-009.yaml"];
    let kept = [
        "title: forgotten",
        "customer: {name: forgotten}\n",
        "did: exposed, minutes: 10}",
        "dispatch: {on: 2026-05-06, carrier: the parcel line, tracking: forgotten}",
        "- {on: 2026-05-11, kind: dispatched, date: 2026-05-06}",
    ];
    for words in kept {
        assert!(order.contains(words), "{words}\n{order}");
    }
    let journal = &after["outbox/journal.jsonl"];
    assert_eq!(journal.lines().count(), 4, "{journal}");
    assert_eq!(journal.matches("\"to\":\"…\"").count(), 4, "{journal}");
    assert_eq!(journal.matches("\"facts\"").count(), 0, "{journal}");
    let (code, shown) = run(folder, &["forget", "Tom Whitlock", "--yes"]);
    assert_eq!((code, contents(folder)), (Some(0), after), "{shown}");
    assert!(
        shown.starts_with("Nothing of `Tom Whitlock` is left"),
        "{shown}"
    );
    let (_, notices) = run(folder, &["notices", "--list", "--steps", "0"]);
    assert!(!notices.contains("2026-009"), "{notices}");
}

#[test]
fn an_open_order_and_a_letter_in_doubt_are_refused_with_what_to_do() {
    let folder = studio();
    let folder = folder.path();
    let before = contents(folder);
    let (code, shown) = run(folder, &["forget", "Ruth Penhallow", "--yes"]);
    assert_eq!(code, Some(1), "{shown}");
    let words = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("`fairday mark shipped 2026-014`"), "{shown}");
    assert!(words.contains("Nothing of it can go yet."), "{shown}");
    assert_eq!(contents(folder), before);
    run(folder, &["send", "2026-009", "--steps", "0"]);
    let journal = folder.join("outbox/journal.jsonl");
    let lines = fs::read_to_string(&journal).unwrap();
    fs::write(&journal, lines.replace("\"accepted\"", "\"unknown\"")).unwrap();
    let before = contents(folder);
    let (code, shown) = run(folder, &["forget", "Tom Whitlock", "--yes"]);
    assert_eq!(code, Some(1), "{shown}");
    assert!(shown.contains("settle that first"), "{shown}");
    assert_eq!(contents(folder), before);
}

#[test]
fn a_name_that_nobody_has_is_guessed() {
    let folder = studio();
    let (code, shown) = run(folder.path(), &["forget", "Tom Whitlok"]);
    assert_eq!(code, Some(1));
    assert!(shown.contains("Did you mean `Tom Whitlock`?"), "{shown}");
    let (code, shown) = run(folder.path(), &["forget", "2026-009"]);
    assert_eq!(code, Some(2));
    assert!(
        shown.contains("name its customer: `Tom Whitlock`"),
        "{shown}"
    );
}

/// The order of the steps lets every stop be made good by the same words: letters,
/// pages, names of files, and the orders' own words last.
#[test]
fn a_run_that_stopped_half_way_is_finished_by_the_next() {
    let whole = studio();
    run(whole.path(), &["send", "2026-009", "--steps", "0"]);
    let before = contents(whole.path());
    run(whole.path(), &["forget", "Tom Whitlock", "--yes"]);
    let after = contents(whole.path());
    let stops: [&[&str]; 3] = [
        &["outbox/sent"],
        &["outbox/sent", "outbox/written"],
        &["outbox/sent", "outbox/written", "2026-009"],
    ];
    for stop in stops {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in &before {
            let renamed = stop.contains(&"2026-009") && name.starts_with("2026-009");
            let is_gone = name.ends_with(".eml") && stop.iter().any(|dir| name.starts_with(dir));
            if is_gone {
                continue;
            }
            let name = if renamed { "2026-009.yaml" } else { name };
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
        let (code, shown) = run(folder.path(), &["forget", "Tom Whitlock", "--yes"]);
        assert_eq!(code, Some(0), "{stop:?}: {shown}");
        assert_eq!(contents(folder.path()), after, "{stop:?}");
    }
}
