//! How the commands behave beside their answers: help, completions, manual, pager,
//! check and report, and what a slip on the command line is answered with.

use std::fs;
use std::path::{Path, PathBuf};

use clap::{CommandFactory, Parser};
use fairday::cli::Cli;
use serde_json::Value;

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

fn in_folder(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let dir = folder.display().to_string();
    let answer = fairday(&[arguments, &["--dir", &dir]].concat());
    (
        answer.status.code(),
        text(&answer.stdout),
        text(&answer.stderr),
    )
}

/// Asks for the report; its lines joined, since they break where they must.
fn report(folder: &Path) -> (Option<i32>, String) {
    let (code, report, _) = in_folder(folder, &["about"]);
    (
        code,
        report.split_whitespace().collect::<Vec<_>>().join(" "),
    )
}

/// Lines of the help that show how a command is typed.
fn examples(help: &str) -> Vec<&str> {
    let after = help
        .split_once("Examples:\n")
        .map_or("", |(_, after)| after);
    let lines = after.lines().take_while(|line| line.starts_with("  "));
    // Two spaces part a command from what it does.
    let commands = lines.filter_map(|line| line.trim().split("  ").next());
    commands.collect()
}

/// Divides a line as a shell does, as far as our examples need it.
fn words(line: &str) -> Vec<String> {
    let line = line.split(" > ").next().unwrap();
    let mut words = vec![String::new()];
    let mut quote = None;
    for c in line.chars() {
        match (c, quote) {
            ('"' | '\'', None) => quote = Some(c),
            (c, Some(open)) if c == open => quote = None,
            (' ', None) => words.push(String::new()),
            (c, _) => words.last_mut().unwrap().push(c),
        }
    }
    words
}

#[test]
fn every_command_has_examples_and_each_of_them_is_understood() {
    let mut shown = 0;
    for command in Cli::command().get_subcommands() {
        let name = command.get_name();
        let help = text(&fairday(&[name, "--help"]).stdout);
        let examples = examples(&help);
        assert!(!examples.is_empty(), "{name} has no examples:\n{help}");
        for line in examples {
            assert!(line.starts_with("fairday "), "{line}");
            let parsed = Cli::try_parse_from(words(line));
            assert!(parsed.is_ok(), "{line}: {}", parsed.unwrap_err());
            shown += 1;
        }
    }
    assert!(shown >= 20, "{shown}");
}

#[test]
fn help_stays_inside_eighty_columns() {
    use unicode_width::UnicodeWidthStr;
    let help = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_fairday"));
        let answer = command.args(arguments).env_clear().env("COLUMNS", "80");
        text(&answer.output().unwrap().stdout)
    };
    let commands = Cli::command();
    let names = commands
        .get_subcommands()
        .map(|command| command.get_name().to_owned());
    for name in names.chain(["plan".to_owned()]) {
        for line in help(&[&name, "--help"]).lines() {
            assert!(line.width() <= 80, "{name}: {line}");
        }
        assert!(help(&[&name, "--help"]).contains("Options of every command:\n"));
    }
    for line in help(&["--help"]).lines() {
        assert!(line.width() <= 80, "{line}");
    }
}

#[test]
fn completions_and_manual_know_every_command_and_switch() {
    let bash = text(&fairday(&["completions", "bash"]).stdout);
    let zsh = text(&fairday(&["completions", "zsh"]).stdout);
    let manual = text(&fairday(&["man"]).stdout);
    assert!(
        manual.starts_with(".ie") || manual.contains(".TH fairday 1"),
        "{manual}"
    );
    let folder = tempfile::tempdir().unwrap();
    let to = folder.path().display().to_string();
    assert_eq!(fairday(&["man", "--to", &to]).status.code(), Some(0));
    for command in Cli::command().get_subcommands() {
        let name = command.get_name();
        assert!(bash.contains(name) && zsh.contains(name), "{name}");
        assert!(manual.contains(&name.replace('-', "\\-")), "{name}");
        let page = fs::read_to_string(folder.path().join(format!("fairday-{name}.1"))).unwrap();
        assert!(page.contains("Examples:"), "{name}");
        for switch in command.get_arguments().filter_map(|arg| arg.get_long()) {
            assert!(bash.contains(&format!("--{switch}")), "{name} --{switch}");
        }
    }
}

/// The shell itself judges what is printed for it, where it is installed.
#[test]
#[expect(clippy::print_stderr, reason = "a shell that is not there is named")]
fn shells_read_their_completions() {
    for (shell, check) in [("bash", "-n"), ("zsh", "-n"), ("fish", "--no-execute")] {
        let script = tempfile::NamedTempFile::new().unwrap();
        fs::write(script.path(), fairday(&["completions", shell]).stdout).unwrap();
        let path: PathBuf = script.path().to_owned();
        match std::process::Command::new(shell)
            .arg(check)
            .arg(path)
            .status()
        {
            Ok(status) => assert!(status.success(), "{shell}"),
            Err(_) => eprintln!("skipped here: {shell} is not installed"),
        }
    }
}

#[test]
fn a_check_of_the_demo_finds_nothing() {
    let answer = fairday(&["check"]);
    assert_eq!(answer.status.code(), Some(0), "{}", text(&answer.stderr));
    assert_eq!(text(&answer.stdout), "24 files read, nothing to mend.\n");
}

#[test]
fn a_check_shows_every_problem_of_every_file_at_once() {
    let folder = demo_copy();
    let at = |name: &str| folder.path().join(name);
    let hale = fs::read_to_string(at("2026-013-hale.yaml")).unwrap();
    fs::write(
        at("2026-013-hale.yaml"),
        hale.replace("customer:", "custmer:"),
    )
    .unwrap();
    fs::write(at("forecast.json"), "{").unwrap();
    fs::create_dir(at("templates")).unwrap();
    fs::write(at("templates/answer.hbs"), "{{no_such_word}}").unwrap();
    let (code, answer, _) = in_folder(folder.path(), &["check"]);
    assert_eq!(code, Some(1));
    for words in [
        "2026-013-hale.yaml:",
        "unknown key `custmer`",
        "forecast.json",
        "answer.hbs",
        "1 file of no order until mended.",
    ] {
        assert!(answer.contains(words), "{words} is missing:\n{answer}");
    }
    let (_, json, _) = in_folder(folder.path(), &["check", "--json"]);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["format"], "fairday-check/1");
    assert_eq!(json["unread"][0], "2026-013-hale.yaml");
    assert!(json["problems"].as_array().unwrap().len() >= 4);
}

#[test]
fn a_check_without_a_studio_still_looks_at_the_orders() {
    let folder = demo_copy();
    fs::write(folder.path().join("studio.yaml"), "studio: [\n").unwrap();
    fs::write(folder.path().join("x.yaml"), "order: 7\n").unwrap();
    let (code, answer, _) = in_folder(folder.path(), &["check"]);
    assert_eq!(code, Some(1));
    assert!(answer.contains("studio.yaml:1:9"), "{answer}");
    assert!(answer.contains("x.yaml:1:1: the key `customer` is missing"));
    assert!(
        answer.contains("Not looked at until studio.yaml is mended: materials, sizes"),
        "{answer}"
    );
}

/// One pass says it all: what is wrong in the studio's file, and in each order beside it.
#[test]
fn a_check_hides_no_problem_behind_another() {
    let folder = demo_copy();
    let at = |name: &str| folder.path().join(name);
    let order = |name: &str, text: &str| fs::write(at(name), text).unwrap();
    let rest = "customer: {name: Ada}\nordered_on: 2026-05-10\njurisdiction: eu\n";
    let piece = |keys: &str| format!("pieces:\n  - {{title: Fern, negative: fern, {keys}}}\n");
    let fine = piece("material: rag-300, size: A4");
    order(
        "x1.yaml",
        &format!("order: 2026-013\n{rest}delivery: mars\n{fine}"),
    );
    let both = [
        "x1.yaml:5:11: the studio knows no way to `mars`",
        "x1.yaml:1:8: the order number `2026-013` is taken by 2026-013-hale.yaml",
    ];
    let (_, answer, _) = in_folder(folder.path(), &["check"]);
    for words in both {
        assert!(answer.contains(words), "{words} is missing:\n{answer}");
    }
    let unknown = piece("material: glass, size: A4");
    order(
        "x2.yaml",
        &format!("order: x2\n{rest}delivery: pickup\n{unknown}"),
    );
    let large = piece("material: rag-300, size: A0");
    order(
        "x3.yaml",
        &format!("order: x3\n{rest}delivery: pickup\n{large}"),
    );
    let studio = fs::read_to_string(at("studio.yaml")).unwrap();
    // A slip in a setting, in a material, and in a frame.
    for (right, wrong, has_sizes) in [
        ("frame_margin_mm: 5 ", "frame_margin_mm: -5 ", true),
        ("kind: paper", "kind: papyrus", true),
        ("inside: 54x64 cm", "inside: 54 by 64", false),
    ] {
        fs::write(at("studio.yaml"), studio.replacen(right, wrong, 1)).unwrap();
        let (code, answer, _) = in_folder(folder.path(), &["check"]);
        assert_eq!(code, Some(1));
        assert!(answer.contains("error: studio.yaml:"), "{wrong}:\n{answer}");
        for words in both
            .iter()
            .chain(&["x2.yaml:7:45: the studio has no material `glass`"])
        {
            assert!(
                answer.contains(words),
                "{wrong}: {words} is missing:\n{answer}"
            );
        }
        assert!(
            !answer.contains("no material `rag-300`"),
            "{wrong}:\n{answer}"
        );
        let too_large = answer.contains("A0 goes into no frame");
        let not_looked_at = answer.contains("whether sizes fit frames and trays");
        assert_eq!(
            (too_large, not_looked_at),
            (has_sizes, !has_sizes),
            "{wrong}:\n{answer}"
        );
        let words = answer.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            words.contains("the forecast; the climate file; letter templates."),
            "{words}"
        );
        assert_eq!(
            answer.matches("goes into no frame").count(),
            usize::from(has_sizes)
        );
    }
}

#[test]
fn an_order_that_cannot_be_read_is_named_on_the_page_and_in_json() {
    let folder = demo_copy();
    fs::write(folder.path().join("2026-031-new.yaml"), "order: 2026-031\n").unwrap();
    let (_, page, _) = in_folder(folder.path(), &["plan"]);
    assert!(
        page.contains("could not be read: 2026-031-new.yaml"),
        "{page}"
    );
    let (_, json, _) = in_folder(folder.path(), &["plan", "--json"]);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["unread"][0], "2026-031-new.yaml");
    assert_eq!(json["problems"][0]["file"], "2026-031-new.yaml");
    assert_eq!(json["problems"][0]["line"], 1);
}

#[test]
fn the_report_tells_how_things_stand_and_no_secret() {
    let folder = demo_copy();
    let (code, said) = report(folder.path());
    assert_eq!(code, Some(0), "{said}");
    for words in [
        concat!("Fairday ", env!("CARGO_PKG_VERSION")),
        chrono_tz::IANA_TZDB_VERSION,
        "may be written",
        "21 orders",
        "pins Mon 11 May",
        "files into `outbox/sent`",
        "0 told",
    ] {
        assert!(said.contains(words), "{words}:\n{said}");
    }
    let studio = fs::read_to_string(folder.path().join("studio.yaml")).unwrap();
    let smtp = "smtp: {host: mail.example.org, user: maren, password_env: STUDIO_MAIL_PASSWORD}";
    let studio = studio.replace("folder: outbox/sent", smtp);
    fs::write(folder.path().join("studio.yaml"), studio).unwrap();
    let (code, said) = report(folder.path());
    assert_eq!(code, Some(1));
    assert!(
        said.contains("mail.example.org:587, STARTTLS as maren"),
        "{said}"
    );
    assert!(said.contains("STUDIO_MAIL_PASSWORD is not set"), "{said}");
    let secret = std::process::Command::new(env!("CARGO_BIN_EXE_fairday"))
        .args(["about", "--dir", &folder.path().display().to_string()])
        .env_clear()
        .env("STUDIO_MAIL_PASSWORD", "azurite-17")
        .output()
        .unwrap();
    let said = text(&secret.stdout)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(said.contains("password in STUDIO_MAIL_PASSWORD"), "{said}");
    assert!(!said.contains("azurite-17"));
}

#[test]
fn the_report_says_since_when_a_forecast_is_over() {
    let folder = demo_copy();
    let dir = folder.path().display().to_string();
    let line = ["about", "--dir", &dir, "--today", "2026-06-20 07:00"];
    let said = text(&fairday(&line).stdout);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("the forecast is over since"), "{said}");
    assert!(said.contains("next: fairday fetch"), "{said}");
}

/// A folder is made for the studio's own sheets and nowhere else.
#[test]
fn a_page_goes_into_no_folder_that_somebody_misspelled() {
    let folder = demo_copy();
    let nowhere = folder.path().join("nowhere/deep");
    let to = nowhere.join("x.html").display().to_string();
    for line in [
        &["sheet", "--steps", "0", "--to", &to][..],
        &["calendar", "--steps", "0", "--to", &to],
        &["card", "2026-011", "--to", &to],
    ] {
        let (code, _, told) = in_folder(folder.path(), line);
        assert_eq!(code, Some(2), "{line:?}");
        let make = format!(
            "nothing was written; make it, `mkdir -p {}`",
            nowhere.display()
        );
        assert!(told.contains(&make), "{told}");
    }
    assert!(!folder.path().join("nowhere").exists());
    let (code, _, told) = in_folder(folder.path(), &["sheet", "--days", "0"]);
    assert_eq!(code, Some(2));
    assert!(
        told.contains("`--days 0`: expected 1 day or more"),
        "{told}"
    );
    assert!(!folder.path().join("sheets").exists());
}

/// What was typed, and the words of the answer that say what to type instead.
#[test]
fn slips_on_the_command_line_are_answered_with_what_to_type() {
    let rows: &[(&[&str], &str)] = &[
        (
            &["mark", "coated", "2026-012", "--at", "2026-05-11"],
            "is a day without a time; write \"2026-05-11 11:05\"",
        ),
        (
            &["plan", "--width", "-5"],
            "expected a whole number of columns, 40 or more",
        ),
        (
            &["plan", "--width", "wide"],
            "expected a whole number of columns",
        ),
        (
            &["plan", "--today", "0000-01-01"],
            "expected a day or a day and time",
        ),
        (
            &["plan", "--today", "9999-12-31"],
            "expected a day or a day and time",
        ),
        (&["plan", "--if", "off 9999-12-31"], "expected one of"),
        (
            &["mark", "exposed", "2026-021", "--minutes", "11,5"],
            "expected a number; did you mean `11.5`?",
        ),
        (
            &["sheet", "--day", "13.05.2026"],
            "expected a date such as `2026-05-15`; did you mean `2026-05-13`?",
        ),
        (
            &["plan", "--steps", "many"],
            "expected a whole number, such as 7",
        ),
        (
            &["mark", "coated", "2026-012", "--at", "11.05"],
            "expected a time",
        ),
    ];
    for (typed, words) in rows {
        let answer = fairday(typed);
        assert_eq!(answer.status.code(), Some(2), "{typed:?}");
        let said = text(&answer.stderr);
        assert!(said.contains(words), "{typed:?}: {said}");
    }
}

#[test]
fn today_is_read_with_a_t_as_json_writes_it() {
    let with_t = fairday(&["plan", "--json", "--today", "2026-05-11T07:00"]);
    let plain = fairday(&["plan", "--json", "--today", "2026-05-11 07:00"]);
    assert_eq!(with_t.stdout, plain.stdout);
    assert_eq!(with_t.status.code(), Some(1));
}

#[test]
fn what_stands_against_a_start_is_rounded_like_every_other_figure() {
    let mut figures = 0;
    for command in [&["light", "--json"][..], &["blocked", "--json"]] {
        let json: Value = serde_json::from_slice(&fairday(command).stdout).unwrap();
        visit(&json, &mut |key, value| {
            if let (true, Some(number)) = (["minutes", "m_s"].contains(&key), value.as_f64()) {
                figures += 1;
                assert_eq!((number * 10.0).round() / 10.0, number, "{command:?} {key}");
            }
        });
    }
    assert!(figures > 50);
}

fn visit(json: &Value, look: &mut impl FnMut(&str, &Value)) {
    match json {
        Value::Object(fields) => {
            for (key, value) in fields {
                look(key, value);
                visit(value, look);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| visit(item, look)),
        _ => {}
    }
}
