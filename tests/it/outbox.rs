//! Letters are never lost, never sent twice, and what happened is on record.

use std::path::Path;
use std::time::Duration;

use fairday::letter::{Letter, Templates, render_all};
use fairday::notice::{Cause, Standing, notices};
use fairday::outside::journal::{State, Step};
use fairday::outside::mail::{Mail, Sender};
use fairday::outside::mailer::{Answer, Folder, LastStep, Mailer, Outcome};
use fairday::outside::outbox::{Asked, Fate, Outbox, Run, Settle, read_sent};
use fairday::outside::smtp::{Patience, Smtp};
use fairday::studio::MailSecurity;

use super::desk::*;
use super::mail::{at, letter_for};
use super::mail_server::{Act, MailServer, Script, WELL};

pub const MORNING: &str = "2026-05-11T06:45:00+02:00";
const NEXT_MORNING: &str = "2026-05-12T06:45:00+02:00";

pub fn smtp(server: &MailServer) -> Smtp {
    let mut smtp = Smtp::new("127.0.0.1", server.port, MailSecurity::None, None);
    smtp.set_patience(Patience {
        command: Duration::from_millis(300),
        message: Duration::from_millis(300),
    });
    smtp
}

pub fn run(folder: &Path, letters: &[Letter], mailer: &mut dyn Mailer, moment: &str) -> Run {
    let sender = Sender::of(&studio()).unwrap();
    let mut outbox = Outbox::open(folder).unwrap();
    outbox
        .send(letters, &sender, mailer, &|| at(moment), &Asked::default())
        .unwrap()
}

pub fn letter() -> Letter {
    letter_for(&order("26-014"))
}

/// Returns the steps in the journal, in their order.
pub fn steps(folder: &Path) -> Vec<Step> {
    let outbox = Outbox::open(folder).unwrap();
    let entries = outbox.journal().entries().iter();
    entries.map(|entry| entry.step).collect()
}

#[test]
fn a_line_that_breaks_after_the_message_leaves_doubt_and_nothing_goes_twice() {
    for broken in [Act::Drop, Act::Silence] {
        let folder = tempfile::tempdir().unwrap();
        let server = MailServer::start(Script {
            end: broken,
            ..WELL
        });
        let first = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
        assert_eq!(first.sendings[0].fate, Fate::Unknown);
        assert!(first.failure.is_some(), "the run does not go on like that");
        let well = MailServer::start(WELL);
        let again = run(folder.path(), &[letter()], &mut smtp(&well), MORNING);
        assert_eq!(again.sendings[0].fate, Fate::Unknown);
        assert_eq!((server.seen().len(), well.seen().len()), (1, 0));
        assert_eq!(
            read_sent(folder.path()).unwrap()[0].standing,
            Standing::Unsure
        );
    }
}

#[test]
fn one_bad_address_stops_no_other_letter() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let mut bad = order("26-013");
    bad.customer.email = Some("ines at example.org".to_owned());
    let letters = [letter_for(&bad), letter(), letter_for(&order("26-015"))];
    let run = run(folder.path(), &letters, &mut smtp(&server), MORNING);
    let fates: Vec<Fate> = run.sendings.iter().map(|s| s.fate.clone()).collect();
    assert_eq!(fates, [Fate::NoAddress, Fate::Accepted, Fate::Accepted]);
    assert_eq!(server.connections(), 1, "one line carries all");
}

#[test]
fn a_refused_letter_rests_and_then_goes_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let busy = MailServer::start(Script {
        rcpt: Act::Say("451 later"),
        ..WELL
    });
    run(folder.path(), &[letter()], &mut smtp(&busy), MORNING);
    let well = MailServer::start(WELL);
    let early = "2026-05-11T07:14:00+02:00";
    let rests = run(folder.path(), &[letter()], &mut smtp(&well), early);
    let until = at("2026-05-11T07:15:00+02:00");
    assert_eq!(rests.sendings[0].fate, Fate::Resting { until });
    assert_eq!(well.connections(), 0);
    // The second refusal rests for an hour.
    let later = run(
        folder.path(),
        &[letter()],
        &mut smtp(&busy),
        "2026-05-11T07:20:00+02:00",
    );
    let until = at("2026-05-11T08:20:00+02:00");
    assert_eq!(later.sendings[0].fate, Fate::RefusedNow { until });
    let goes = run(
        folder.path(),
        &[letter()],
        &mut smtp(&well),
        "2026-05-11T08:20:00+02:00",
    );
    assert_eq!(goes.sendings[0].fate, Fate::Accepted);
    let mail = String::from_utf8(well.seen()[0].bytes.clone()).unwrap();
    assert!(mail.contains("Message-ID: <20260511-064500-"), "{mail}");
}

/// Half an hour, one, three, six and then always six (RFC 5321, 4.5.4.1), by hand.
#[test]
fn pauses_between_refusals_grow() {
    let folder = tempfile::tempdir().unwrap();
    let busy = MailServer::start(Script {
        rcpt: Act::Say("451 later"),
        ..WELL
    });
    let mut moment = at(MORNING);
    for minutes in [30, 60, 180, 360, 360] {
        let text = moment.to_rfc3339();
        let refused = run(folder.path(), &[letter()], &mut smtp(&busy), &text);
        let until = moment + chrono::Duration::minutes(minutes);
        assert_eq!(refused.sendings[0].fate, Fate::RefusedNow { until });
        assert_eq!(refused.sendings[0].refused_since, Some(at(MORNING)));
        let early = (until - chrono::Duration::minutes(1)).to_rfc3339();
        let rests = run(folder.path(), &[letter()], &mut smtp(&busy), &early);
        assert_eq!(rests.sendings[0].fate, Fate::Resting { until });
        assert_eq!(rests.sendings[0].refused_since, Some(at(MORNING)));
        moment = until;
    }
}

#[test]
fn nothing_goes_twice_and_a_new_date_is_another_letter() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let all = [letter()];
    assert_eq!(
        run(folder.path(), &all, &mut smtp(&server), MORNING).sendings[0].fate,
        Fate::Accepted
    );
    assert_eq!(
        run(folder.path(), &all, &mut smtp(&server), MORNING).sendings[0].fate,
        Fate::Told
    );
    let mut other = letter();
    other.kind = "delayed";
    other.date = None;
    other.text.push_str("later");
    let second = run(
        folder.path(),
        &[other],
        &mut smtp(&server),
        "2026-05-12T06:45:00+02:00",
    );
    assert_eq!(second.sendings[0].fate, Fate::Accepted);
    let seen = server.seen();
    assert_eq!(seen.len(), 2);
    let second = String::from_utf8(seen[1].bytes.clone()).unwrap();
    assert!(second.contains("In-Reply-To: <20260511-064500-26_014-taken-"));
}

#[test]
fn a_letter_that_waited_is_withdrawn_when_its_words_are_old() {
    let folder = tempfile::tempdir().unwrap();
    let shut = MailServer::start(Script {
        greeting: Act::Drop,
        ..WELL
    });
    run(folder.path(), &[letter()], &mut smtp(&shut), MORNING);
    let mut newer = letter();
    newer.text.push_str("One thing more.\n");
    let server = MailServer::start(WELL);
    let run = run(folder.path(), &[newer], &mut smtp(&server), MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted);
    assert_eq!(server.seen().len(), 1);
    let expected = [
        Step::Due,
        Step::Queued,
        Step::Withdrawn,
        Step::Due,
        Step::Queued,
        Step::HandedOver,
        Step::Accepted,
    ];
    assert_eq!(steps(folder.path()), expected);
}

/// Leaves the outbox as a crash right after the step "handed over" would.
fn crashed_in_mid_air(folder: &Path) {
    let server = MailServer::start(WELL);
    run(folder, &[letter()], &mut smtp(&server), MORNING);
    let path = folder.join("outbox/journal.jsonl");
    let journal = std::fs::read_to_string(&path).unwrap();
    let kept: String = journal
        .lines()
        .take(3)
        .flat_map(|line| [line, "\n"])
        .collect();
    assert!(kept.contains("handed_over"));
    std::fs::write(&path, kept).unwrap();
}

#[test]
fn after_a_crash_in_mid_air_the_letter_is_unknown_until_it_is_settled() {
    let folder = tempfile::tempdir().unwrap();
    crashed_in_mid_air(folder.path());
    let server = MailServer::start(WELL);
    let after = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert_eq!(after.sendings[0].fate, Fate::Unknown);
    assert_eq!(steps(folder.path()).last(), Some(&Step::Unknown));
    assert_eq!(server.seen().len(), 0);
    let mut outbox = Outbox::open(folder.path()).unwrap();
    let id = outbox.journal().entries()[0].id.clone();
    assert!(
        outbox
            .settle("nothing", Settle::ToSend, at(MORNING))
            .is_err()
    );
    outbox.settle(&id, Settle::ToSend, at(MORNING)).unwrap();
    drop(outbox);
    let sent = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert_eq!(sent.sendings[0].fate, Fate::Accepted);
    assert_eq!(server.seen().len(), 1);
    let mut outbox = Outbox::open(folder.path()).unwrap();
    let told = outbox.settle(&id, Settle::ToSend, at(MORNING));
    assert!(told.is_err(), "what was told is not open");
}

#[test]
fn a_folder_knows_after_a_crash_what_it_took() {
    for taken in [true, false] {
        let folder = tempfile::tempdir().unwrap();
        crashed_in_mid_air(folder.path());
        let out = folder.path().join("out");
        std::fs::create_dir(&out).unwrap();
        let letters = folder.path().join("outbox/written");
        let file = std::fs::read_dir(letters).unwrap().next().unwrap().unwrap();
        if taken {
            std::fs::copy(file.path(), out.join(file.file_name())).unwrap();
        }
        let mut way = Folder::new(out.clone());
        let after = run(folder.path(), &[letter()], &mut way, MORNING);
        let expected = if taken { Fate::Told } else { Fate::Accepted };
        assert_eq!(after.sendings[0].fate, expected);
        assert_eq!(std::fs::read_dir(&out).unwrap().count(), 1);
    }
}

#[test]
fn a_line_of_the_journal_that_a_crash_cut_is_dropped() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    let path = folder.path().join("outbox/journal.jsonl");
    let whole = std::fs::read_to_string(&path).unwrap();
    for cut_at in [1, 20, 100] {
        std::fs::write(&path, format!("{whole}{}", &whole[..cut_at])).unwrap();
        let again = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
        assert_eq!(again.sendings[0].fate, Fate::Told);
    }
    let other = letter_for(&order("26-015"));
    run(folder.path(), &[other], &mut smtp(&server), MORNING);
    let lines = std::fs::read_to_string(&path).unwrap();
    assert!(lines.starts_with(&whole), "nothing that was whole is lost");
    for line in lines.lines() {
        serde_json::from_str::<serde_json::Value>(line).unwrap();
    }
}

#[test]
fn a_journal_with_a_strange_line_stops_everything() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("outbox")).unwrap();
    let path = folder.path().join("outbox/journal.jsonl");
    std::fs::write(&path, "{}\n").unwrap();
    let error = format!("{:#}", Outbox::open(folder.path()).unwrap_err());
    assert!(error.contains("a line that is no entry, 1"), "{error}");
    assert!(read_sent(folder.path()).is_err());
}

#[test]
fn two_runs_do_not_send_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let first = Outbox::open(folder.path()).unwrap();
    let error = Outbox::open(folder.path()).unwrap_err().to_string();
    assert!(error.starts_with("another run is sending"), "{error}");
    drop(first);
    Outbox::open(folder.path()).unwrap();
}

#[test]
fn the_journal_shows_no_address() {
    let folder = tempfile::tempdir().unwrap();
    let refuses = Act::Say("550 <ines@example.org> unknown");
    let server = MailServer::start(Script {
        rcpt: refuses,
        ..WELL
    });
    run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    let journal = std::fs::read_to_string(folder.path().join("outbox/journal.jsonl")).unwrap();
    assert!(
        journal.contains("i…@example.org") && !journal.contains("ines@"),
        "{journal}"
    );
    let sent = read_sent(folder.path()).unwrap();
    assert_eq!(sent[0].to, "ines@example.org");
    assert_eq!(sent[0].standing, Standing::Refused);
}

/// Cuts the journal as a crash could, around every line end and here and there
/// between, and runs again: what was handed over is never sent again, anything
/// else is sent exactly once.
#[test]
fn a_crash_anywhere_in_the_journal_loses_nothing_and_sends_nothing_twice() {
    let whole = tempfile::tempdir().unwrap();
    let mut way = Folder::new(whole.path().join("out"));
    run(whole.path(), &[letter()], &mut way, MORNING);
    let journal = std::fs::read(whole.path().join("outbox/journal.jsonl")).unwrap();
    let line_ends: Vec<usize> = (1..=journal.len())
        .filter(|end| journal[end - 1] == b'\n')
        .collect();
    assert_eq!(line_ends.len(), 4, "due, queued, handed over, accepted");
    let near_end = |cut: usize| line_ends.iter().any(|end| cut.abs_diff(*end) <= 1);
    // Every cut was tried once; each costs some waits for the disk.
    for cut in (0..=journal.len()).filter(|cut| cut % 41 == 0 || near_end(*cut)) {
        let was = |step: usize| cut >= line_ends[step];
        let (was_due, was_queued, was_handed_over, was_accepted) = (was(0), was(1), was(2), was(3));
        // The letter itself is written between these two steps.
        let written: &[bool] = match (was_due, was_queued) {
            (false, _) => &[false],
            (true, false) => &[false, true],
            (_, true) => &[true],
        };
        for is_written in written {
            let place = format!("cut after {cut} bytes, written: {is_written}");
            let folder = tempfile::tempdir().unwrap();
            let letters = folder.path().join("outbox/written");
            std::fs::create_dir_all(&letters).unwrap();
            let whole = std::fs::read_dir(whole.path().join("outbox/written")).unwrap();
            for entry in whole.filter(|_| *is_written) {
                let entry = entry.unwrap();
                std::fs::copy(entry.path(), letters.join(entry.file_name())).unwrap();
            }
            std::fs::write(folder.path().join("outbox/journal.jsonl"), &journal[..cut]).unwrap();
            let mut way = Counting { handed_over: 0 };
            let after = run(folder.path(), &[letter()], &mut way, NEXT_MORNING);
            let expected = match (was_handed_over, was_accepted) {
                (_, true) => (Fate::Told, 0),
                (true, false) => (Fate::Unknown, 0),
                (false, false) => (Fate::Accepted, 1),
            };
            let found = (after.sendings[0].fate.clone(), way.handed_over);
            assert_eq!(found, expected, "{place}");
            let steps = steps(folder.path());
            let doubt = was_handed_over && !was_accepted;
            let settled = if doubt { State::Unsure } else { State::Told };
            assert_eq!(steps.last().map(|s| s.state()), Some(settled), "{place}");
            // The run goes on with what was begun, under the same name.
            assert_eq!(steps[..2], [Step::Due, Step::Queued], "{place}");
            let dues = steps.iter().filter(|step| **step == Step::Due).count();
            assert_eq!(dues, 1, "{place}");
            let names = names(&letters);
            assert_eq!(names.len(), 1, "{place}");
            let day = if was_due { "20260511-" } else { "20260512-" };
            assert!(names[0].starts_with(day), "{names:?}, {place}");
        }
    }
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let name = |entry: std::io::Result<std::fs::DirEntry>| entry.unwrap().file_name();
    entries.map(|e| name(e).into_string().unwrap()).collect()
}

/// A run died between the two, and its news is over before the next one: nothing is
/// written for it, and that is said as for any letter that never left.
#[test]
fn what_was_due_and_never_written_is_given_up_or_makes_way() {
    let folder = tempfile::tempdir().unwrap();
    let mut way = Folder::new(folder.path().join("out"));
    let cut = |folder: &Path, way: &mut Folder| {
        run(folder, &[letter()], way, MORNING);
        let path = folder.join("outbox/journal.jsonl");
        let journal = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, journal.split_inclusive('\n').next().unwrap()).unwrap();
        std::fs::remove_dir_all(folder.join("outbox/written")).unwrap();
        std::fs::remove_dir_all(folder.join("out")).unwrap();
    };
    cut(folder.path(), &mut way);
    let over = run(folder.path(), &[], &mut way, "2026-05-17T06:45:00+02:00");
    assert_eq!(over.sendings[0].fate, Fate::GivenUp);
    assert_eq!(steps(folder.path()), [Step::Due, Step::Withdrawn]);
    let folder = tempfile::tempdir().unwrap();
    let mut way = Folder::new(folder.path().join("out"));
    cut(folder.path(), &mut way);
    let mut newer = letter();
    newer.text.push_str("One thing more.\n");
    let run = run(folder.path(), &[newer], &mut way, NEXT_MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted);
    let begun = [Step::Due, Step::Withdrawn, Step::Due, Step::Queued];
    assert_eq!(steps(folder.path())[..4], begun);
    assert_eq!(names(&folder.path().join("out")).len(), 1);
}

/// A way that takes everything, counts, and cannot be asked afterwards.
struct Counting {
    handed_over: usize,
}

impl Mailer for Counting {
    fn open(&mut self) -> anyhow::Result<()> {
        Ok(())
    }

    fn hand_over(
        &mut self,
        _mail: &Mail,
        _to: &[lettre::Address],
        last_step: &mut LastStep,
    ) -> anyhow::Result<Answer> {
        last_step(&[])?;
        self.handed_over += 1;
        Ok(Answer {
            outcome: Outcome::Accepted,
            refused: vec![],
            words: String::new(),
            about_letter: true,
        })
    }

    fn look_up(&mut self, _mail: &Mail) -> anyhow::Result<Outcome> {
        Ok(Outcome::Unknown)
    }

    fn name(&self) -> String {
        "a counter".to_owned()
    }

    fn try_out(&mut self, _from: &lettre::Address) -> anyhow::Result<Vec<String>> {
        Ok(vec![])
    }
}

#[test]
fn a_letter_whose_file_was_taken_away_is_written_again() {
    let folder = tempfile::tempdir().unwrap();
    let shut = MailServer::start(Script {
        greeting: Act::Drop,
        ..WELL
    });
    run(folder.path(), &[letter()], &mut smtp(&shut), MORNING);
    let written = folder.path().join("outbox/written");
    std::fs::remove_dir_all(&written).unwrap();
    let server = MailServer::start(WELL);
    let run = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted);
    assert_eq!(server.seen().len(), 1);
}

/// Whoever has two letters in doubt names the one; with one, the order's number will do.
#[test]
fn a_letter_is_settled_by_its_order_if_that_names_it() {
    let folder = tempfile::tempdir().unwrap();
    let broken = MailServer::start(Script {
        end: Act::Drop,
        ..WELL
    });
    let parcel = letter_for(&dispatched("2026-05-08"));
    assert_eq!(parcel.order, "26-014");
    run(folder.path(), &[letter()], &mut smtp(&broken), MORNING);
    let mut outbox = Outbox::open(folder.path()).unwrap();
    let words = |outbox: &mut Outbox, named: &str| {
        let settled = outbox.settle(named, Settle::AsTold, at(MORNING));
        settled.unwrap_or_else(|error| error.to_string())
    };
    let unknown = "the outbox holds no letter `26-015`";
    assert_eq!(words(&mut outbox, "26-015"), unknown);
    let id = outbox.journal().entries()[0].id.clone();
    assert_eq!(words(&mut outbox, "26-014"), id);
    let nothing = "nothing is open about the letters of order `26-014`";
    assert_eq!(words(&mut outbox, "26-014"), nothing);
    drop(outbox);
    run(folder.path(), &[parcel], &mut smtp(&broken), MORNING);
    let mut outbox = Outbox::open(folder.path()).unwrap();
    assert!(words(&mut outbox, "26-014").contains("-dispatched-"));
    drop(outbox);
    let both = tempfile::tempdir().unwrap();
    run(both.path(), &[letter()], &mut smtp(&broken), MORNING);
    let parcel = letter_for(&dispatched("2026-05-08"));
    run(both.path(), &[parcel], &mut smtp(&broken), MORNING);
    let mut outbox = Outbox::open(both.path()).unwrap();
    let several = words(&mut outbox, "26-014");
    assert!(several.starts_with("several letters of order `26-014` are open; name one of `"));
}

/// A letter that may have arrived belongs to the thread: if it did, what follows stands
/// below it, and a name that nobody knows harms nobody (RFC 5322, 3.6.4).
#[test]
fn a_letter_in_doubt_stays_in_the_thread_in_the_order_of_writing() {
    let folder = tempfile::tempdir().unwrap();
    let broken = MailServer::start(Script {
        end: Act::Drop,
        ..WELL
    });
    let well = MailServer::start(WELL);
    run(folder.path(), &[letter()], &mut smtp(&broken), MORNING);
    let later = "2026-05-12T06:45:00+02:00";
    let mut moved = letter();
    moved.kind = "delayed";
    run(folder.path(), &[moved], &mut smtp(&well), later);
    let mut outbox = Outbox::open(folder.path()).unwrap();
    outbox.settle("26-014", Settle::AsTold, at(later)).unwrap();
    let names: Vec<String> = outbox
        .journal()
        .entries()
        .iter()
        .map(|e| e.message_id.clone())
        .collect();
    drop(outbox);
    let parcel = letter_for(&dispatched("2026-05-08"));
    run(
        folder.path(),
        &[parcel],
        &mut smtp(&well),
        "2026-05-13T06:45:00+02:00",
    );
    let header = |bytes: &[u8], name: &str| {
        let parsed = mailparse::parse_mail(bytes).unwrap();
        mailparse::MailHeaderMap::get_first_value(parsed.headers.as_slice(), name)
    };
    let seen = well.seen();
    let (first, second) = (&names[0], &names[4]);
    assert_eq!(header(&seen[0].bytes, "In-Reply-To").as_ref(), Some(first));
    assert_eq!(header(&seen[1].bytes, "In-Reply-To").as_ref(), Some(second));
    let references = format!("{first} {second}");
    assert_eq!(header(&seen[1].bytes, "References"), Some(references));
}

/// A disk that fills up in the middle: what has left is told, what may have is in doubt.
#[test]
fn a_disk_that_fills_up_hides_no_letter_that_has_left() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let journal = folder.path().join("outbox/journal.jsonl");
    struct Fills<'a>(Smtp, usize, &'a Path);
    impl Mailer for Fills<'_> {
        fn open(&mut self) -> anyhow::Result<()> {
            self.0.open()
        }
        fn hand_over(
            &mut self,
            mail: &Mail,
            to: &[lettre::Address],
            last_step: &mut LastStep,
        ) -> anyhow::Result<Answer> {
            let answer = self.0.hand_over(mail, to, last_step);
            self.1 += 1;
            if self.1 == 2 {
                // No journal can be written where a folder stands.
                std::fs::rename(self.2, self.2.with_extension("kept")).unwrap();
                std::fs::create_dir(self.2).unwrap();
            }
            answer
        }
        fn look_up(&mut self, _: &Mail) -> anyhow::Result<Outcome> {
            Ok(Outcome::Unknown)
        }
        fn name(&self) -> String {
            "a way".to_owned()
        }
        fn try_out(&mut self, _: &lettre::Address) -> anyhow::Result<Vec<String>> {
            Ok(vec![])
        }
    }
    let letters = ["26-014", "26-015", "26-016"].map(|number| letter_for(&order(number)));
    let mut way = Fills(smtp(&server), 0, &journal);
    let run = run(folder.path(), &letters, &mut way, MORNING);
    assert!(format!("{:#}", run.failure.unwrap()).contains("journal.jsonl"));
    let fates: Vec<&Fate> = run.sendings.iter().map(|s| &s.fate).collect();
    assert_eq!(fates, [&Fate::Accepted, &Fate::Unknown, &Fate::Waiting]);
    assert_eq!(server.seen().len(), 2);
}

/// Nobody asks for it any more, and it never left: that is said once, not passed over.
#[test]
fn a_letter_that_was_never_taken_is_given_up_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let busy = MailServer::start(Script {
        rcpt: Act::Say("451 later"),
        ..WELL
    });
    run(folder.path(), &[letter()], &mut smtp(&busy), MORNING);
    let fates = |moment: &str| {
        let run = run(folder.path(), &[], &mut smtp(&busy), moment);
        run.sendings.into_iter().map(|s| s.fate).collect::<Vec<_>>()
    };
    assert_eq!(fates("2026-05-16T06:45:00+02:00"), []);
    assert_eq!(fates("2026-05-16T06:46:00+02:00"), [Fate::GivenUp]);
    assert_eq!(steps(folder.path()).last(), Some(&Step::Withdrawn));
    assert_eq!(fates("2026-05-16T06:47:00+02:00"), []);
}

/// What a letter states stands where it was queued, for whoever asks later what was said.
#[test]
fn the_journal_keeps_what_a_letter_states() {
    let folder = tempfile::tempdir().unwrap();
    let order = order("26-014");
    let plan = [outlook(Some("2026-05-20"), Some(Cause::Weather))];
    let orders = std::slice::from_ref(&order);
    let due = notices(orders, &studio(), &plan, &[], today());
    let letters = render_all(&due, orders, &studio(), &Templates::built_in()).unwrap();
    let server = MailServer::start(WELL);
    run(folder.path(), &letters, &mut smtp(&server), MORNING);
    let outbox = Outbox::open(folder.path()).unwrap();
    let entries = outbox.journal().entries();
    let facts = entries[0].facts.as_ref().unwrap();
    // Promised for the 15th in `desk`, moved to the 20th by the plan above.
    assert_eq!(facts["kind"], "delayed");
    assert_eq!(
        (&facts["old_on"], &facts["new_on"]),
        (&"2026-05-15".into(), &"2026-05-20".into())
    );
    assert_eq!(
        (&facts["cause"], &facts["silence"]),
        (&"weather".into(), &"goes_on".into())
    );
    assert!(entries[1..].iter().all(|entry| entry.facts.is_none()));
}
