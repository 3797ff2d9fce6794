//! What a maker reads of a letter of which nobody knows, and the two ways out of it.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use super::commands::{fairday, text};

const CHOICES: &str = "nobody knows whether it arrived; ask the customer, then \
                       `fairday send --told 2026-009` if it did, \
                       `fairday send --once-more 2026-009` if not";

/// The demo with a parcel that is to be told, sent through a program of ours.
struct Studio {
    folder: tempfile::TempDir,
}

impl Studio {
    fn new() -> Studio {
        let folder = tempfile::tempdir().unwrap();
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
        for entry in fs::read_dir(demo).unwrap() {
            let path = entry.unwrap().path();
            fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
        let studio = Studio { folder };
        studio.edit("2026-009-whitlock.yaml", |order| {
            let told = "  - {on: 2026-05-06, kind: dispatched, date: 2026-05-06}\n";
            order.replace(told, "")
        });
        let program = studio.program().display().to_string();
        studio.edit("studio.yaml", |settings| {
            settings.replace("  folder: outbox/sent", &format!("  sendmail: {program}"))
        });
        studio
    }

    fn program(&self) -> PathBuf {
        self.folder.path().join("take-mail")
    }

    fn edit(&self, file: &str, change: impl Fn(String) -> String) {
        let path = self.folder.path().join(file);
        let before = fs::read_to_string(&path).unwrap();
        let after = change(before.clone());
        assert_ne!(before, after, "{file}");
        fs::write(path, after).unwrap();
    }

    /// Sets what the program does with a mail.
    fn takes(&self, script: &str) {
        fs::write(self.program(), format!("#!/bin/sh\n{script}\n")).unwrap();
        fs::set_permissions(self.program(), fs::Permissions::from_mode(0o700)).unwrap();
    }

    /// Runs a command; returns its code and what it said, on one line.
    fn run(&self, arguments: &[&str]) -> (Option<i32>, String) {
        let dir = self.folder.path().display().to_string();
        let answer = fairday(&[arguments, &["--dir", &dir]].concat());
        let said = [text(&answer.stdout), text(&answer.stderr)].concat();
        let words: Vec<&str> = said.split_whitespace().collect();
        (answer.status.code(), words.join(" "))
    }

    fn send(&self) -> (Option<i32>, String) {
        self.run(&["send", "2026-009", "--steps", "0"])
    }

    fn mails(&self) -> usize {
        let kept = fs::read_to_string(self.folder.path().join("mails"));
        kept.map_or(0, |text| text.matches("Message-ID:").count())
    }
}

/// A studio whose program took the mail and was killed before it could say so.
fn in_doubt() -> Studio {
    let studio = Studio::new();
    let mails = studio.folder.path().join("mails").display().to_string();
    studio.takes(&format!("cat >> '{mails}'; kill -9 $$"));
    let (code, said) = studio.send();
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains(CHOICES), "{said}");
    studio.takes(&format!("cat >> '{mails}'"));
    studio
}

#[test]
fn a_doubt_is_told_by_every_run_and_nothing_goes_again_by_itself() {
    let studio = in_doubt();
    for _ in 0..2 {
        let (code, said) = studio.send();
        assert_eq!(code, Some(1), "{said}");
        assert!(said.contains(CHOICES), "{said}");
        assert_eq!(studio.mails(), 1);
    }
    let (_, said) = studio.run(&["notices", "2026-009", "--steps", "0"]);
    assert!(said.contains(CHOICES), "{said}");
    assert!(said.contains("None of them goes by mail."), "{said}");
}

#[test]
fn a_letter_that_arrived_counts_as_told() {
    let studio = in_doubt();
    let (code, said) = studio.run(&["send", "--told", "2026-009"]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.ends_with(" counts as told"), "{said}");
    let (code, said) = studio.send();
    assert_eq!((code, said.as_str()), (Some(0), "No letter is due."));
    assert_eq!(studio.mails(), 1);
    let order = studio.folder.path().join("2026-009-whitlock.yaml");
    let noted = "{on: 2026-05-11, kind: dispatched, date: 2026-05-06}";
    assert!(fs::read_to_string(order).unwrap().contains(noted));
    let (code, said) = studio.run(&["send", "--told", "2026-009"]);
    let nothing = "error: nothing is open about the letters of order `2026-009`";
    assert_eq!((code, said.as_str()), (Some(2), nothing));
}

#[test]
fn a_letter_that_did_not_arrive_goes_once_more_and_once_only() {
    let studio = in_doubt();
    let (code, said) = studio.run(&["send", "--once-more", "2026-009"]);
    assert_eq!(code, Some(0), "{said}");
    let (code, said) = studio.send();
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.starts_with("2026-009 dispatched sent 1 letter"),
        "{said}"
    );
    assert_eq!(studio.mails(), 2);
    let (code, said) = studio.send();
    assert_eq!((code, said.as_str()), (Some(0), "No letter is due."));
    assert_eq!(studio.mails(), 2);
}

/// Weeks later the parcel is no news any more, and still nobody knows.
#[test]
fn a_doubt_outlives_its_news() {
    let studio = in_doubt();
    let later = ["2026-009", "--steps", "0", "--today", "2026-05-21 07:00"];
    let (code, said) = studio.run(&[&["send"], &later[..]].concat());
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains(CHOICES), "{said}");
    let (_, said) = studio.run(&[&["notices"], &later[..]].concat());
    let named = format!("2026-009 dispatched of Monday 11 May 2026: {CHOICES}");
    assert!(said.contains(&named), "{said}");
    let (_, said) = studio.run(&[&["notices", "--json"], &later[..]].concat());
    let doubt = "\"doubts\": [ { \"order\": \"2026-009\", \"kind\": \"dispatched\", \
                 \"on\": \"2026-05-11\", \"date\": \"2026-05-06\" } ]";
    assert!(said.contains(doubt), "{said}");
    assert_eq!(studio.mails(), 1);
}

/// A mail server that refused for a reason of its own condemned an address that is right.
#[test]
fn a_letter_that_was_refused_by_mistake_goes_once_more() {
    let studio = Studio::new();
    studio.takes("cat > /dev/null; exit 67");
    let (code, said) = studio.send();
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains("refused for good; check the address"),
        "{said}"
    );
    let mails = studio.folder.path().join("mails").display().to_string();
    studio.takes(&format!("cat >> '{mails}'"));
    let (_, said) = studio.send();
    let way_out = "the last letter to this address was refused for good; correct the address in \
                   the order's file, or if it is right `fairday send --once-more 2026-009`";
    assert!(said.contains(way_out), "{said}");
    assert_eq!(studio.mails(), 0);
    studio.run(&["send", "--once-more", "2026-009"]);
    let (code, said) = studio.send();
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(studio.mails(), 1);
}

#[test]
fn a_letter_that_is_refused_since_yesterday_is_said_to_be() {
    let studio = Studio::new();
    studio.takes("cat > /dev/null; exit 75");
    let (code, said) = studio.send();
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains("refused for now, rests until 07:30"),
        "{said}"
    );
    assert!(!said.contains("refused since"), "{said}");
    let next_day = ["--today", "2026-05-12 06:00"];
    let (_, said) = studio.run(&[&["send", "2026-009", "--steps", "0"], &next_day[..]].concat());
    let since = "refused since Monday 11 May 2026, so tell them yourself if it cannot wait";
    assert!(said.contains(since), "{said}");
    assert!(said.contains("rests until 07:00"), "{said}");
}
