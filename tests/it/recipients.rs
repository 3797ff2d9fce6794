//! Letters to several recipients: each has an outcome, and who has it gets it once.

use std::path::Path;

use fairday::letter::Letter;
use fairday::outside::journal::{Reached, Step};
use fairday::outside::mail::{Mail, Sender, compose};
use fairday::outside::mailer::Folder;
use fairday::outside::outbox::{Fate, Outbox, Run, Settle};
use mailparse::{MailAddr, MailHeaderMap};

use super::desk::studio;
use super::mail::at;
use super::mail_server::{Act, MailServer, Script, WELL};
use super::outbox::{MORNING, letter, run, smtp, steps};

const NOW: Act = Act::Say("451 later");
const GOOD: Act = Act::Say("550 nobody here");
const OK: Act = Act::Say("250 ok");
const LATER: &str = "2026-05-11T07:20:00+02:00";

fn for_two() -> Letter {
    let mut letter = letter();
    letter.to.copies_to = vec!["tom@example.org".to_owned()];
    letter
}

fn send(folder: &Path, script: Script, moment: &str) -> (Run, Vec<Vec<String>>) {
    let server = MailServer::start(script);
    let run = run(folder, &[for_two()], &mut smtp(&server), moment);
    (run, server.seen().into_iter().map(|seen| seen.to).collect())
}

fn reached(folder: &Path) -> Vec<Reached> {
    let outbox = Outbox::open(folder).unwrap();
    let last = outbox.journal().entries().last().unwrap();
    last.recipients.iter().map(|r| r.reached).collect()
}

fn both(first: Act, second: Act) -> Script {
    Script {
        rcpt: first,
        other_rcpt: second,
        ..WELL
    }
}

const INES: &str = "RCPT TO:<ines@example.org>";
const TOM: &str = "RCPT TO:<tom@example.org>";

#[test]
fn each_of_two_recipients_has_an_outcome_and_the_customer_decides() {
    use Reached::{Accepted, RefusedForGood, RefusedNow};
    let until = at("2026-05-11T07:15:00+02:00");
    let in_part = |until| Fate::AcceptedInPart { until };
    let now = Fate::RefusedNow { until };
    type Row = (Act, Act, Fate, [Reached; 2], &'static [&'static str]);
    let table: [Row; 7] = [
        (OK, OK, Fate::Accepted, [Accepted, Accepted], &[INES, TOM]),
        (
            OK,
            NOW,
            in_part(Some(until)),
            [Accepted, RefusedNow],
            &[INES],
        ),
        (OK, GOOD, in_part(None), [Accepted, RefusedForGood], &[INES]),
        (NOW, OK, now.clone(), [RefusedNow, Accepted], &[TOM]),
        (
            GOOD,
            OK,
            Fate::RefusedForGood,
            [RefusedForGood, Accepted],
            &[TOM],
        ),
        (
            GOOD,
            NOW,
            Fate::RefusedForGood,
            [RefusedForGood, RefusedNow],
            &[],
        ),
        (NOW, GOOD, now, [RefusedNow, RefusedForGood], &[]),
    ];
    for (first, second, fate, each, taken_for) in table {
        let folder = tempfile::tempdir().unwrap();
        let (run, seen) = send(folder.path(), both(first, second), MORNING);
        let cell = format!("{first:?}, {second:?}: {:?}", run.sendings);
        assert_eq!(run.sendings[0].fate, fate, "{cell}");
        assert_eq!(run.sendings[0].tells, each[0] == Accepted, "{cell}");
        assert_eq!(reached(folder.path()), each, "{cell}");
        let expected: Vec<Vec<String>> = match taken_for {
            [] => vec![],
            some => vec![some.iter().map(|to| (*to).to_owned()).collect()],
        };
        assert_eq!(seen, expected, "{cell}");
        for (act, name) in [(first, "i…@example.org: "), (second, "t…@example.org: ")] {
            if let Act::Say(words) = act
                && act != OK
            {
                let said = format!("{name}RCPT TO: {words}");
                assert!(run.sendings[0].words.contains(&said), "{said}; {cell}");
            }
        }
        let journal = folder.path().join("outbox/journal.jsonl");
        let journal = std::fs::read_to_string(journal).unwrap();
        assert!(
            !journal.contains("ines@") && !journal.contains("tom@"),
            "{journal}"
        );
    }
}

#[test]
fn a_retry_goes_only_to_those_who_have_not_got_it() {
    for (script, left, tells) in [(both(OK, NOW), TOM, false), (both(NOW, OK), INES, true)] {
        let folder = tempfile::tempdir().unwrap();
        send(folder.path(), script, MORNING);
        let (_, early) = send(folder.path(), WELL, "2026-05-11T07:14:00+02:00");
        assert_eq!(early.len(), 0, "it rests");
        let (run, seen) = send(folder.path(), WELL, LATER);
        assert_eq!(seen, [[left]]);
        let sending = run.sendings.last().unwrap();
        assert_eq!((&sending.fate, sending.tells), (&Fate::Accepted, tells));
        assert_eq!(reached(folder.path()), [Reached::Accepted; 2]);
        let (_, again) = send(folder.path(), WELL, LATER);
        assert_eq!(again.len(), 0);
    }
}

/// The notice is not due any more once the customer has it; the copy is owed all the same.
#[test]
fn a_copy_is_tried_from_the_outbox_until_it_is_too_old() {
    let folder = tempfile::tempdir().unwrap();
    send(folder.path(), both(OK, NOW), MORNING);
    let server = MailServer::start(WELL);
    let days_later = "2026-05-17T07:20:00+02:00";
    let old = run(folder.path(), &[], &mut smtp(&server), days_later);
    assert_eq!(old.sendings[0].fate, Fate::AcceptedInPart { until: None });
    assert_eq!(
        reached(folder.path()),
        [Reached::Accepted, Reached::Withdrawn]
    );
    assert_eq!(server.connections(), 0);
    let nothing = run(folder.path(), &[], &mut smtp(&server), days_later);
    assert_eq!(nothing.sendings.len(), 0);
    let folder = tempfile::tempdir().unwrap();
    send(folder.path(), both(OK, NOW), MORNING);
    let soon = run(folder.path(), &[], &mut smtp(&server), LATER);
    assert_eq!(soon.sendings[0].fate, Fate::Accepted);
    assert_eq!(server.seen()[0].to, [TOM]);
}

#[test]
fn doubt_about_one_is_settled_and_the_other_is_tried() {
    for (settle, expected) in [
        (Settle::AsTold, vec![TOM]),
        (Settle::ToSend, vec![INES, TOM]),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let breaks = Script {
            end: Act::Drop,
            ..both(OK, NOW)
        };
        let (run, _) = send(folder.path(), breaks, MORNING);
        assert_eq!(run.sendings[0].fate, Fate::Unknown);
        let doubt = [Reached::Unknown, Reached::RefusedNow];
        assert_eq!(reached(folder.path()), doubt);
        let (_, again) = send(folder.path(), WELL, LATER);
        assert_eq!(again.len(), 0, "nothing goes while somebody is in doubt");
        let mut outbox = Outbox::open(folder.path()).unwrap();
        let id = outbox.journal().entries()[0].id.clone();
        outbox.settle(&id, settle, at(LATER)).unwrap();
        drop(outbox);
        let (_, seen) = send(folder.path(), WELL, "2026-05-11T09:00:00+02:00");
        assert_eq!(seen, [expected]);
        assert_eq!(reached(folder.path()), [Reached::Accepted; 2]);
    }
}

#[test]
fn a_crash_in_mid_air_leaves_doubt_only_about_those_who_might_have_got_it() {
    let folder = tempfile::tempdir().unwrap();
    send(folder.path(), both(OK, GOOD), MORNING);
    let path = folder.path().join("outbox/journal.jsonl");
    let journal = std::fs::read_to_string(&path).unwrap();
    let three: String = journal.lines().take(3).flat_map(|l| [l, "\n"]).collect();
    std::fs::write(&path, three).unwrap();
    let (_, seen) = send(folder.path(), WELL, LATER);
    assert_eq!(seen.len(), 0);
    let each = [Reached::Unknown, Reached::RefusedForGood];
    assert_eq!(reached(folder.path()), each);
    assert_eq!(steps(folder.path()).last(), Some(&Step::Unknown));
}

/// Names with commas and quotes part no recipients; read by another library, then by us.
#[test]
fn a_mail_names_all_recipients_and_is_read_back_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let mut letter = for_two();
    letter.to.name = "Calder, \"Ines\" <x@y>".to_owned();
    let mut out = Folder::new(folder.path().join("out"));
    let sent = run(folder.path(), &[letter.clone()], &mut out, MORNING);
    assert_eq!(sent.sendings[0].fate, Fate::Accepted);
    assert_eq!(reached(folder.path()), [Reached::Accepted; 2]);
    let file = std::fs::read_dir(folder.path().join("out")).unwrap().next();
    let bytes = std::fs::read(file.unwrap().unwrap().path()).unwrap();
    let parsed = mailparse::parse_mail(&bytes).unwrap();
    let to = parsed.headers.get_first_header("To").unwrap();
    let to = mailparse::addrparse_header(to).unwrap();
    let address = |found: &MailAddr| match found {
        MailAddr::Single(single) => single.addr.clone(),
        MailAddr::Group(group) => group.group_name.clone(),
    };
    let found: Vec<String> = to.iter().map(address).collect();
    assert_eq!(found, ["ines@example.org", "tom@example.org"]);
    letter.to.copies_to.push("\"a, b\"@example.org".to_owned());
    let sender = Sender::of(&studio()).unwrap();
    let mail = compose(&letter, &sender, at(MORNING), &[]).unwrap();
    assert_eq!(mail.to.len(), 3);
    assert_eq!(Mail::parse(&mail.id, mail.bytes.clone()).unwrap(), mail);
}

#[cfg(unix)]
#[test]
fn a_program_is_asked_for_one_recipient_at_a_time() {
    use fairday::outside::sendmail::Sendmail;
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let program = folder.path().join("sendmail");
    let script = "#!/bin/sh\ncat > /dev/null\necho \"$5 $6\" >> $0.args\n\
                  case \"$5\" in tom*) exit 67;; esac\n";
    std::fs::write(&program, script).unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o700)).unwrap();
    let mut way = Sendmail::new(program.to_str().unwrap());
    let run = run(folder.path(), &[for_two()], &mut way, MORNING);
    assert_eq!(run.sendings[0].fate, Fate::AcceptedInPart { until: None });
    let each = [Reached::Accepted, Reached::RefusedForGood];
    assert_eq!(reached(folder.path()), each);
    let asked = std::fs::read_to_string(program.with_extension("args")).unwrap();
    assert_eq!(asked, "ines@example.org \ntom@example.org \n");
}
