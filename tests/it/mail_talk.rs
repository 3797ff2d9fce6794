//! Every answer that a mail server may give at every point of the talk, over TLS and
//! with a login: what becomes of the letter, what stands in the journal, what is said.

use std::time::Duration;

use fairday::outside::journal::Step;
use fairday::outside::outbox::Fate;
use fairday::outside::smtp::{Login, Patience, Smtp};
use fairday::studio::MailSecurity;

use super::mail::at;
use super::mail_server::{AUTHORITY_PEM, Act, MailServer, Script, Tls, WELL};
use super::outbox::{MORNING, letter, run, steps};

/// A point of the talk at which the server does something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Point {
    Greeting,
    Ehlo,
    StartTls,
    EhloAgain,
    Auth,
    Mail,
    Rcpt,
    Data,
    End,
    /// After everything was taken.
    Quit,
}

const POINTS: [Point; 10] = [
    Point::Greeting,
    Point::Ehlo,
    Point::StartTls,
    Point::EhloAgain,
    Point::Auth,
    Point::Mail,
    Point::Rcpt,
    Point::Data,
    Point::End,
    Point::Quit,
];

fn script(point: Point, act: Act) -> Script {
    let well = Script {
        tls: Tls::OnDemand,
        ..WELL
    };
    match point {
        Point::Greeting => Script {
            greeting: act,
            ..well
        },
        Point::Ehlo => Script {
            plain_ehlo: act,
            ..well
        },
        Point::StartTls => Script {
            starttls: act,
            ..well
        },
        Point::EhloAgain => Script { ehlo: act, ..well },
        Point::Auth => Script { auth: act, ..well },
        Point::Mail => Script { mail: act, ..well },
        Point::Rcpt => Script { rcpt: act, ..well },
        Point::Data => Script { data: act, ..well },
        Point::End => Script { end: act, ..well },
        Point::Quit => Script { quit: act, ..well },
    }
}

/// What one letter came to.
struct Came {
    fate: Fate,
    steps: Vec<Step>,
    /// What the maker reads about it, or about the run.
    said: String,
    seen: usize,
}

fn send_one(script: Script) -> Came {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(script);
    let login = Login::new("marit@example.org", "hunter-two".to_owned());
    let security = MailSecurity::StartTls;
    let mut way = Smtp::new("localhost", server.port, security, Some(login));
    way.trust(AUTHORITY_PEM.to_vec());
    way.set_patience(Patience {
        command: Duration::from_millis(900),
        message: Duration::from_millis(900),
    });
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    let failure = run.failure.map(|failure| format!("{failure:#}"));
    let words = run.sendings[0].words.clone();
    let journal = std::fs::read_to_string(folder.path().join("outbox/journal.jsonl")).unwrap();
    for told in [&journal, &words, failure.as_ref().unwrap_or(&words)] {
        assert!(!told.contains("hunter"), "{told}");
        assert!(!told.contains("ines@"), "{told}");
    }
    Came {
        fate: run.sendings[0].fate.clone(),
        steps: steps(folder.path()),
        said: [words, failure.unwrap_or_default()].join(" | "),
        seen: server.seen().len(),
    }
}

/// Fate, steps and whether the message came through, for an act at a point.
fn expected(point: Point, act: Act) -> (Fate, Vec<Step>, usize) {
    use Step::{
        Accepted, Due, HandedOver, Queued, RefusedForGood, RefusedNow, SenderRefused, Unknown,
    };
    let until = at("2026-05-11T07:15:00+02:00");
    let now = Fate::RefusedNow { until };
    // What a server says to a goodbye changes nothing.
    if act == Act::Slowly || point == Point::Quit {
        return (Fate::Accepted, vec![Due, Queued, HandedOver, Accepted], 1);
    }
    let says_for_good = matches!(act, Act::Say(words) if words.starts_with('5'));
    let says = matches!(act, Act::Say(_));
    match point {
        // Nothing was said about the letter yet: it waits, and the run ends.
        Point::Greeting | Point::Ehlo | Point::StartTls | Point::EhloAgain | Point::Auth => {
            (Fate::Waiting, vec![Due, Queued], 0)
        }
        // What is wrong with the sender is not wrong with the customer's address.
        Point::Mail if says_for_good => (Fate::Waiting, vec![Due, Queued, SenderRefused], 0),
        Point::Rcpt | Point::Data if says_for_good => {
            (Fate::RefusedForGood, vec![Due, Queued, RefusedForGood], 0)
        }
        Point::Mail | Point::Rcpt | Point::Data => (now, vec![Due, Queued, RefusedNow], 0),
        Point::End if says_for_good => {
            let steps = vec![Due, Queued, HandedOver, RefusedForGood];
            (Fate::RefusedForGood, steps, 1)
        }
        Point::End if says => (now, vec![Due, Queued, HandedOver, RefusedNow], 1),
        // Only here does nobody know.
        Point::End | Point::Quit => (Fate::Unknown, vec![Due, Queued, HandedOver, Unknown], 1),
    }
}

/// What is said names the point, and the server's own words if it had any.
fn said_of(point: Point, act: Act) -> Vec<&'static str> {
    let place = match point {
        Point::Greeting | Point::Ehlo | Point::EhloAgain => "connecting to the mail server",
        Point::StartTls => "changing to TLS",
        Point::Auth => "logging in as `m…@example.org`",
        Point::Mail => "MAIL FROM: ",
        Point::Rcpt => "RCPT TO: ",
        Point::Data => "DATA: ",
        Point::End => "end of message: ",
        Point::Quit => return vec!["taken"],
    };
    match act {
        Act::Say(words) => vec![place, &words[..3], &words[4..]],
        Act::Drop => vec![place, "the line broke"],
        Act::Silence => vec![place, "no answer in time"],
        Act::Slowly | Act::DropOnce => vec![],
    }
}

const ACTS: [Act; 5] = [
    Act::Say("451 not today"),
    Act::Say("550 not ever"),
    Act::Drop,
    Act::Silence,
    Act::Slowly,
];

#[test]
fn every_answer_at_every_point_has_its_outcome_and_its_words() {
    let cells = POINTS.iter().flat_map(|p| ACTS.iter().map(|a| (*p, *a)));
    let cells: Vec<(Point, Act)> = cells.collect();
    assert_eq!(cells.len(), 50);
    std::thread::scope(|scope| {
        for cells in cells.chunks(5) {
            scope.spawn(move || {
                for (point, act) in cells {
                    let came = send_one(script(*point, *act));
                    let cell = format!("{point:?}, {act:?}: {}", came.said);
                    let (fate, steps, seen) = expected(*point, *act);
                    assert_eq!(came.fate, fate, "{cell}");
                    assert_eq!(came.steps, steps, "{cell}");
                    assert_eq!(came.seen, seen, "{cell}");
                    for words in said_of(*point, *act) {
                        assert!(came.said.contains(words), "{words}; {cell}");
                    }
                }
            });
        }
    });
}

/// 421 says that the line is closed; it is a refusal for now wherever it comes.
#[test]
fn a_server_that_takes_its_leave_refuses_for_now() {
    for point in [Point::Mail, Point::Rcpt, Point::Data] {
        let came = send_one(script(point, Act::Say("421 closing")));
        let until = at("2026-05-11T07:15:00+02:00");
        assert_eq!(came.fate, Fate::RefusedNow { until }, "{}", came.said);
        assert!(came.said.contains("ended the run"), "{}", came.said);
    }
    let came = send_one(script(Point::Greeting, Act::Say("421 full")));
    assert_eq!(
        (came.fate, came.steps),
        (Fate::Waiting, vec![Step::Due, Step::Queued])
    );
}

/// A yes that belongs to another command: from here on the two are not at the same point
/// of the talk, and a later "taken" would be about something else.
#[test]
fn a_yes_out_of_turn_is_no_yes() {
    let until = at("2026-05-11T07:15:00+02:00");
    let now = Fate::RefusedNow { until };
    let cases = [
        (Point::Mail, "354 go on", now.clone()),
        (Point::Rcpt, "354 go on", now.clone()),
        (Point::Data, "250 ok", now.clone()),
        // The final dot was seen, and what was said to it tells nothing.
        (Point::End, "354 go on", Fate::Unknown),
        // Words slipped in before the line was encrypted: each answer is that to the
        // command before, until DATA meets the yes to RCPT.
        (Point::StartTls, "220 go on\r\n250 AUTH PLAIN", now),
    ];
    for (point, words, fate) in cases {
        let came = send_one(script(point, Act::Say(words)));
        assert_eq!(came.fate, fate, "{point:?}: {}", came.said);
        assert!(
            came.said.contains("out of turn"),
            "{point:?}: {}",
            came.said
        );
        assert_eq!(came.seen, usize::from(point == Point::End), "{point:?}");
    }
}

/// RFC 4954, 6: the server wants a login. No address is wrong, so no letter is refused.
#[test]
fn a_login_that_is_wanted_condemns_no_address() {
    for point in [Point::Rcpt, Point::Data] {
        let came = send_one(script(point, Act::Say("530 log in first")));
        let steps = vec![Step::Due, Step::Queued, Step::SenderRefused];
        assert_eq!((came.fate, came.steps), (Fate::Waiting, steps), "{point:?}");
        assert!(came.said.contains("530 log in first"), "{}", came.said);
    }
}
