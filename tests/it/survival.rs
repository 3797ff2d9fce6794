//! Full disks, protected files, second runs, a pulled plug: under every name lies
//! the old file or the new one.
//!
//! What needs a tracer of system calls is checked in `.ci`.
#![expect(
    clippy::print_stderr,
    reason = "figures and skipped tests are for people"
)]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

use tempfile::TempDir;

type Files = BTreeMap<String, Vec<u8>>;

/// A copy of the demonstration, of which everything may be lost.
fn demo() -> TempDir {
    let copy = tempfile::tempdir().unwrap();
    let orders = Path::new(env!("CARGO_MANIFEST_DIR")).join("orders");
    for entry in fs::read_dir(orders).unwrap().map(Result::unwrap) {
        if entry.file_type().unwrap().is_file() {
            fs::copy(entry.path(), copy.path().join(entry.file_name())).unwrap();
        }
    }
    copy
}

fn fairday(folder: &TempDir, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fairday"));
    command.args(arguments).arg("--dir").arg(folder.path());
    command.env_clear().stdin(Stdio::null());
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

fn run(folder: &TempDir, arguments: &[&str]) -> Output {
    fairday(folder, arguments).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// All files below a folder, without those that were never finished.
fn files(folder: &Path) -> Files {
    let mut found = Files::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = entry.file_name().into_string().unwrap();
        if entry.file_type().unwrap().is_dir() {
            let inner = files(&entry.path());
            found.extend(
                inner
                    .into_iter()
                    .map(|(inner, b)| (format!("{name}/{inner}"), b)),
            );
        } else if !name.starts_with(".fairday-") {
            found.insert(name, fs::read(entry.path()).unwrap());
        }
    }
    found
}

/// Names of the files that are not as they were.
fn changed<'n>(before: &'n Files, now: &Files) -> Vec<&'n str> {
    assert!(before.keys().eq(now.keys()));
    let differs = |(name, bytes): &(&'n String, &Vec<u8>)| now[*name] != **bytes;
    before
        .iter()
        .filter(differs)
        .map(|(name, _)| name.as_str())
        .collect()
}

fn leftovers(folder: &TempDir) -> usize {
    let names = fs::read_dir(folder.path()).unwrap();
    names
        .filter(|e| {
            e.as_ref()
                .unwrap()
                .file_name()
                .to_string_lossy()
                .starts_with(".fairday-")
        })
        .count()
}

/// Two orders of the demonstration that can be marked in one go.
const MARK: [&str; 5] = ["mark", "dried", "2026-021", "2026-026", "2026-018"];

const REMAKE: [&str; 5] = ["remake", "2026-021/1", "2026-020/3", "--reason", "fogged"];

#[cfg(unix)]
#[test]
fn on_a_full_disk_every_file_stays_as_it_was() {
    for command in [&MARK[..], &REMAKE] {
        let folder = demo();
        let before = files(folder.path());
        // No file may grow beyond nothing, which is what a full disk comes to.
        let full = "ulimit -f 0; trap '' XFSZ; exec \"$0\" \"$@\"";
        let output = Command::new("/bin/sh")
            .args(["-c", full, env!("CARGO_BIN_EXE_fairday")])
            .args(command)
            .arg("--dir")
            .arg(folder.path())
            .env_clear()
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(
            said(&output).contains("nothing was written"),
            "{}",
            said(&output)
        );
        assert_eq!(changed(&before, &files(folder.path())), [""; 0]);
        assert_eq!(leftovers(&folder), 0);
    }
}

#[test]
fn a_run_that_is_killed_leaves_the_old_file_or_the_new_one() {
    for command in [&MARK[..], &REMAKE] {
        let folder = demo();
        let before = files(folder.path());
        run(&folder, command);
        let after = files(folder.path());
        assert!(changed(&before, &after).len() > 1);
        let (mut old, mut new) = (0, 0);
        for step in 0..30 {
            let folder = demo();
            let mut child = fairday(&folder, command).spawn().unwrap();
            sleep(Duration::from_micros(step * 1500));
            child.kill().unwrap();
            child.wait().unwrap();
            let now = files(folder.path());
            for (name, bytes) in &now {
                assert!(
                    *bytes == before[name] || *bytes == after[name],
                    "{name} is neither"
                );
            }
            old += usize::from(changed(&before, &now).is_empty());
            new += usize::from(changed(&after, &now).is_empty());
            // The next run clears away what was left, and brings it to the end.
            run(&folder, command);
            assert_eq!(leftovers(&folder), 0);
        }
        eprintln!(
            "{}: killed 30 times, {old} all old, {new} all new",
            command[0]
        );
    }
}

#[test]
fn what_one_order_refuses_no_order_gets() {
    let folder = demo();
    let order = folder.path().join("2026-026-trent.yaml");
    let text = fs::read_to_string(&order).unwrap();
    // A second piece shares the record of the first; a line in it would mark both.
    let second = "  - {title: Two, material: rag-300, size: A4, negative: n, progress: *both}\n";
    let text = text.replace("progress:\n", "progress: &both\n");
    let text = text.replace("notified:\n", &format!("{second}notified:\n"));
    fs::write(&order, text).unwrap();
    let before = files(folder.path());
    let output = run(
        &folder,
        &["mark", "dried", "2026-018", "2026-021", "2026-026/1"],
    );
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    let told = said(&output);
    for words in [
        "nothing was written",
        "2026-026-trent.yaml",
        "line 13",
        "`- {at: 2026-05-11",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    assert_eq!(changed(&before, &files(folder.path())), [""; 0]);
}

#[test]
fn two_runs_at_once_mark_a_piece_once() {
    let folder = demo();
    let mark = ["mark", "dried", "2026-021"];
    let runs: Vec<_> = (0..6)
        .map(|_| fairday(&folder, &mark).spawn().unwrap())
        .collect();
    let ended: Vec<Output> = runs
        .into_iter()
        .map(|run| run.wait_with_output().unwrap())
        .collect();
    let done = ended
        .iter()
        .filter(|output| output.status.success())
        .count();
    assert_eq!(done, 1, "{:?}", ended.iter().map(said).collect::<Vec<_>>());
    let text = fs::read_to_string(folder.path().join("2026-021-lindqvist.yaml")).unwrap();
    assert_eq!(text.matches("did: dried").count(), 1, "{text}");
}

#[cfg(unix)]
#[test]
fn a_protected_folder_or_file_is_told_and_left() {
    use std::os::unix::fs::PermissionsExt;
    let folder = demo();
    let before = files(folder.path());
    let order = folder.path().join("2026-021-lindqvist.yaml");
    let mode = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode));
    mode(&order, 0o444).unwrap();
    let output = run(&folder, &MARK);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        said(&output).contains("write-protected"),
        "{}",
        said(&output)
    );
    assert_eq!(changed(&before, &files(folder.path())), [""; 0]);
    mode(&order, 0o644).unwrap();
    mode(folder.path(), 0o555).unwrap();
    if fs::write(folder.path().join("probe"), "").is_ok() {
        eprintln!("skipped: a_protected_folder: this user may write everywhere");
        return;
    }
    let output = run(&folder, &MARK);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        said(&output).contains("nothing was written"),
        "{}",
        said(&output)
    );
    mode(folder.path(), 0o755).unwrap();
    assert_eq!(changed(&before, &files(folder.path())), [""; 0]);
}
