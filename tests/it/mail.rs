//! A letter survives the way into a mail and back, whatever a customer typed.

use chrono::{DateTime, FixedOffset};
use fairday::letter::{Letter, Templates, render};
use fairday::notice::notices;
use fairday::order::Order;
use fairday::outside::mail::{Mail, Sender, compose, parse_address};
use mailparse::{MailHeaderMap, parse_mail};

use super::desk::*;

pub fn at(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

pub fn letter_for(order: &Order) -> Letter {
    let mut due = notices(std::slice::from_ref(order), &studio(), &[], &[], today());
    render(&due.remove(0), order, &studio(), &Templates::built_in()).unwrap()
}

fn composed(letter: &Letter, thread: &[String]) -> Mail {
    let sender = Sender::of(&studio()).unwrap();
    compose(letter, &sender, at("2026-05-11T06:45:00+02:00"), thread).unwrap()
}

/// Parses the mail with another library and compares everything with the letter.
fn check_survives(letter: &Letter) {
    let mail = composed(letter, &[]);
    assert!(mail.bytes.is_ascii(), "safe for every server");
    assert!(
        mail.bytes
            .split(|b| *b == b'\n')
            .all(|line| line.len() <= 999)
    );
    let parsed = parse_mail(&mail.bytes).unwrap();
    let header = |name: &str| parsed.headers.get_first_value(name).unwrap();
    // Encoded words that a customer typed must not be read as words of ours.
    let plain = |text: &str| text.replace("=?", "= ?");
    assert_eq!(header("Subject"), plain(&letter.subject));
    let to = mailparse::addrparse_header(parsed.headers.get_first_header("To").unwrap()).unwrap();
    let to = to.extract_single_info().unwrap();
    assert_eq!(to.display_name.unwrap_or_default(), plain(&letter.to.name));
    assert_eq!(Some(to.addr), letter.to.address);
    assert_eq!(parsed.subparts.len(), 2);
    let bodies: Vec<String> = parsed
        .subparts
        .iter()
        .map(|part| part.get_body().unwrap().replace("\r\n", "\n"))
        .collect();
    assert_eq!(parsed.ctype.mimetype, "multipart/alternative");
    assert_eq!(parsed.subparts[0].ctype.mimetype, "text/plain");
    assert_eq!(parsed.subparts[1].ctype.mimetype, "text/html");
    for part in &parsed.subparts {
        assert_eq!(part.ctype.charset, "utf-8");
    }
    assert_eq!(bodies[0].trim_end(), letter.text.trim_end());
    assert_eq!(bodies[1].trim_end(), letter.html.trim_end());
    let names: Vec<String> = parsed.headers.iter().map(|h| h.get_key()).collect();
    for name in &names {
        let known = [
            "Message-ID",
            "Date",
            "From",
            "To",
            "Subject",
            "Auto-Submitted",
            "MIME-Version",
            "Content-Type",
        ];
        assert!(known.contains(&name.as_str()), "{name} was smuggled in");
    }
    assert_eq!(names.len(), 8);
}

#[test]
fn every_letter_parses_back_equal() {
    check_survives(&letter_for(&order("26-014")));
    check_survives(&letter_for(&dispatched("2026-05-08")));
    check_survives(&letter_for(&finished_pickup("2026-05-10")));
}

#[test]
fn hostile_and_foreign_words_parse_back_equal() {
    let names = [
        "Ines\r\nBcc: everybody@example.org",
        "\"Ines\" <boss@example.org>",
        "O'Neil, Ines (\\home)",
        "Łucja Żółć",
        "عنان بن داود",
        "=?utf-8?q?Ines?=",
        "李明",
        ".",
        ".\r\n.\r\nQUIT",
        &"Ines ".repeat(2_000),
        &"é".repeat(5_000),
    ];
    for name in names {
        let mut hostile = order("26-014");
        hostile.customer.name = name.to_owned();
        hostile.pieces[0].title = format!("{name}\n.\n");
        hostile.number = name.chars().take(60).collect();
        check_survives(&letter_for(&hostile));
    }
}

#[test]
fn an_address_with_quotes_gets_its_letter() {
    let mut quoted = order("26-014");
    quoted.customer.email = Some("\"ines calder\"@example.org".to_owned());
    check_survives(&letter_for(&quoted));
}

#[test]
fn addresses_that_could_carry_more_are_none() {
    for text in [
        "",
        "ines",
        "ines@",
        "@example.org",
        "ines@example.org\r\nBcc: b@example.org",
        "ines@example.org, b@example.org",
        "ines@example.org> RCPT TO:<b@example.org",
        "ines @example.org",
        "<ines@example.org>",
        "ines\u{0}@example.org",
    ] {
        let error = parse_address(text).unwrap_err().to_string();
        assert!(!error.contains("ines"), "{error} shows the address");
    }
    for text in [
        "ines@example.org",
        "\"i c\"@example.org",
        "i+b@sub.example.org",
    ] {
        assert_eq!(parse_address(text).unwrap().to_string(), text);
    }
}

#[test]
fn the_same_letter_at_the_same_moment_is_the_same_mail() {
    let letter = letter_for(&order("26-014"));
    let mail = composed(&letter, &[]);
    assert_eq!(mail, composed(&letter, &[]));
    let print = mail.id.rsplit_once('-').unwrap().1;
    assert_eq!(print.len(), 16);
    assert_eq!(mail.id, format!("20260511-064500-26_014-taken-{print}"));
    let id = format!("<{}@blue-shed.example.org>", mail.id);
    assert_eq!(mail.message_id, id);
    let mut other = letter.clone();
    other.text.push('!');
    assert_ne!(composed(&other, &[]).message_id, id);
    assert_eq!(Mail::parse(&mail.id, mail.bytes.clone()).unwrap(), mail);
}

#[test]
fn a_robot_is_told_not_to_answer_and_a_thread_is_kept() {
    let thread: Vec<String> = (1..=30)
        .map(|n| format!("<20260511-064500-26_014-delayed-{n:016x}@blue-shed.example.org>"))
        .collect();
    let mail = composed(&letter_for(&order("26-014")), &thread);
    let parsed = parse_mail(&mail.bytes).unwrap();
    let header = |name: &str| parsed.headers.get_first_value(name).unwrap();
    assert_eq!(header("Auto-Submitted"), "auto-generated");
    assert_eq!(header("In-Reply-To"), thread[29]);
    let references: Vec<String> = header("References")
        .split_whitespace()
        .map(str::to_owned)
        .collect();
    assert_eq!(references[0], thread[0], "the first letter stays");
    assert_eq!(references[1..], thread[20..]);
}

#[test]
fn answers_go_where_a_person_reads_them() {
    let mut studio = studio();
    studio.letters.reply_to = Some("marit@example.org".to_owned());
    let sender = Sender::of(&studio).unwrap();
    let letter = letter_for(&order("26-014"));
    let mail = compose(&letter, &sender, at("2026-05-11T06:45:00+02:00"), &[]).unwrap();
    let parsed = parse_mail(&mail.bytes).unwrap();
    let reply_to = parsed.headers.get_first_value("Reply-To").unwrap();
    assert_eq!(reply_to, "\"Blue Shed Prints\" <marit@example.org>");
    studio.letters.reply_to = Some("Marit".to_owned());
    let error = format!("{:#}", Sender::of(&studio).unwrap_err());
    assert!(error.starts_with("reading `letters.reply_to`: "), "{error}");
}
