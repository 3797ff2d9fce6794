//! Every problem of a studio folder with its message, side by side.
//!
//! A case is a folder in `tests/problems` with the smallest files that cause it
//! and, as `message.txt`, all that is said about them. A studio and a good order
//! are put beside it; the good order must be read in every case. Run with
//! `FAIRDAY_ACCEPT=1` to write the messages anew, then read them.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use fairday::forecast::{Expectation, check};
use fairday::outside::forecast::read_forecast;
use fairday::outside::orders::{Folder, read_folder};
use fairday::view::problem::render_all;

const MEGABYTE: usize = 1_000_000;

fn cases() -> Vec<PathBuf> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/problems");
    let entries = fs::read_dir(dir)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let mut cases: Vec<PathBuf> = entries.filter(|path| path.is_dir()).collect();
    cases.sort();
    cases
}

fn name(case: &Path) -> &str {
    case.file_name().unwrap().to_str().unwrap()
}

/// Copies the case into a folder of its own and completes it; `false` if it cannot
/// be made here.
fn prepare(case: &Path, dir: &Path) -> bool {
    copy(case, dir);
    let common = case.parent().unwrap();
    fs::copy(common.join("good.yaml"), dir.join("good.yaml")).unwrap();
    let name = name(case);
    if !name.starts_with("studio-") {
        fs::copy(common.join("studio.yaml"), dir.join("studio.yaml")).unwrap();
    }
    let order = dir.join("a.yaml");
    match name {
        "five-megabytes" => fs::write(order, "# long\n".repeat(5 * MEGABYTE / 7)).unwrap(),
        "no-permission" => return forbid(&order),
        "link-to-nothing" => return link_to_nothing(&order),
        _ => {}
    }
    true
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        match path.is_dir() {
            true => copy(&path, &target),
            false => drop(fs::copy(&path, &target).unwrap()),
        }
    }
}

/// Takes the right to read away; `false` where that stops nobody (the super-user).
#[cfg(unix)]
fn forbid(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    fs::write(path, "order: 7\n").unwrap();
    fs::set_permissions(path, fs::Permissions::from_mode(0o000)).unwrap();
    fs::read(path).is_err()
}

#[cfg(not(unix))]
fn forbid(_path: &Path) -> bool {
    false
}

#[cfg(unix)]
fn link_to_nothing(path: &Path) -> bool {
    std::os::unix::fs::symlink("nowhere.yaml", path).is_ok()
}

#[cfg(not(unix))]
fn link_to_nothing(_path: &Path) -> bool {
    false
}

/// Reads the folder, and the forecast if the studio names one.
fn read(dir: &Path) -> Folder {
    // A studio file with errors may pin no day; orders are looked at all the same.
    let monday = "2026-05-11T07:00:00".parse().unwrap();
    let mut folder = read_folder(dir, |studio| studio.pinned_now.unwrap_or(monday)).unwrap();
    if let Some(studio) = &folder.studio
        && let Some(file) = &studio.forecast_file
    {
        let (forecast, problems) = read_forecast(dir, file);
        folder.problems.extend(problems);
        let local = studio
            .pinned_now
            .unwrap()
            .and_local_timezone(studio.place.zone);
        let now = local.unwrap().to_utc();
        let expected = Expectation {
            file,
            place: &studio.place,
            now,
            until: now + TimeDelta::days(1),
            fetched_at: None,
            stale_hours: studio.weather.forecast_stale_hours,
        };
        let found = forecast
            .iter()
            .flat_map(|forecast| check(forecast, &expected));
        folder.problems.extend(found);
    }
    folder
}

#[test]
#[expect(clippy::print_stderr, reason = "a case left out is named")]
fn every_problem_has_its_message() {
    let accept = std::env::var_os("FAIRDAY_ACCEPT").is_some();
    let mut wrong = Vec::new();
    for case in cases() {
        let dir = tempfile::tempdir().unwrap();
        if !prepare(&case, dir.path()) {
            eprintln!("skipped here: {}", name(&case));
            continue;
        }
        let folder = read(dir.path());
        let shown = render_all(&folder.problems, 80, false)
            .replace(&dir.path().display().to_string(), "DIR");
        let good = folder.orders.iter().any(|order| order.number == "good");
        assert!(good, "{}: the good order is hidden", name(&case));
        let message = case.join("message.txt");
        if accept {
            fs::write(&message, &shown).unwrap();
        }
        if fs::read_to_string(&message).unwrap_or_default() != shown {
            wrong.push(format!("== {}\n{shown}", name(&case)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Each message has a place, and a hint where there is something to type; lower
/// case, no full stop, nothing of our own making in it.
#[test]
fn messages_keep_the_manner_of_the_house() {
    for case in cases() {
        let dir = tempfile::tempdir().unwrap();
        if !prepare(&case, dir.path()) {
            continue;
        }
        for problem in read(dir.path()).problems {
            let shown = format!("{}: {}", name(&case), problem.what);
            assert!(!problem.what.ends_with('.'), "{shown}");
            let first = problem.what.chars().next().unwrap();
            assert!(
                !first.is_uppercase() || problem.what.starts_with("A"),
                "{shown}"
            );
            for ours in [
                "invalid", "struct", "Option", "serde", "line 1", "sequence", "scalar",
            ] {
                assert!(!problem.what.contains(ours), "{shown}");
            }
            let hint = problem.hint.as_deref().unwrap_or("-");
            assert!(!hint.is_empty() && !hint.ends_with('.'), "{shown}: {hint}");
        }
    }
}

#[test]
fn what_an_editor_left_is_not_even_looked_at() {
    let case = cases()
        .into_iter()
        .find(|case| name(case) == "left-by-an-editor");
    let dir = tempfile::tempdir().unwrap();
    assert!(prepare(&case.unwrap(), dir.path()));
    assert_eq!(read(dir.path()).problems, []);
}

/// The same files under other names and made in another order: the same orders
/// with the same meaning.
#[test]
fn reading_does_not_depend_on_the_order_of_the_files() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    let straight = read(&demo);
    let mut files: Vec<PathBuf> = fs::read_dir(&demo)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    files.sort_by_key(|path| std::cmp::Reverse(path.clone()));
    let dir = tempfile::tempdir().unwrap();
    for (index, file) in files.iter().enumerate() {
        let name = match file.ends_with("studio.yaml") {
            true => "studio.yaml".to_owned(),
            false => format!("{index:02}.yml"),
        };
        fs::copy(file, dir.path().join(name)).unwrap();
    }
    let turned = read(dir.path());
    assert_eq!(turned.studio, straight.studio);
    let by_number = |folder: Folder| {
        let mut orders = folder.orders;
        orders.sort_by(|a, b| a.number.cmp(&b.number));
        for order in &mut orders {
            order.file.clear();
        }
        orders
    };
    assert_eq!(by_number(turned), by_number(straight));
}
