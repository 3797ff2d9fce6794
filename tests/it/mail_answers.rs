//! What a mail server and a program that takes mails may answer, beside the talk itself
//! (`mail_talk`): passwords, certificates, addresses, tokens.

use std::path::Path;

use fairday::outside::journal::Step;
use fairday::outside::mail::Sender;
use fairday::outside::mailer::{Mailer, mailer};
use fairday::outside::outbox::{Fate, Run};
use fairday::outside::smtp::{Login, Smtp};
use fairday::studio::{MailSecurity, Secret, Transport};

use super::desk::*;
use super::mail::at;
use super::mail_server::{
    AUTHORITY_PEM, Act, MailServer, SECOND_AUTHORITY_PEM, Script, Seen, Shown, Tls, WELL,
};
use super::outbox::{MORNING, letter, run, smtp, steps};

/// Runs one letter against a server and compares fate, steps and what was seen.
fn check(script: Script, fate: Fate, expected: &[Step], seen: usize) {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(script);
    let run = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert_eq!(run.sendings[0].fate, fate, "{script:?}: {:?}", run.failure);
    assert_eq!(steps(folder.path()), expected, "{script:?}");
    assert_eq!(server.seen().len(), seen, "{script:?}");
    assert!(!run.sendings[0].words.contains("ines@"), "{script:?}");
}

fn refused_now() -> Fate {
    Fate::RefusedNow {
        until: at("2026-05-11T07:15:00+02:00"),
    }
}

#[test]
fn a_well_server_takes_the_mail_as_it_lies_in_the_outbox() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let run = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert!(run.failure.is_none());
    assert_eq!(run.sendings[0].fate, Fate::Accepted);
    assert_eq!(run.sendings[0].on, today());
    let taken = [Step::Due, Step::Queued, Step::HandedOver, Step::Accepted];
    assert_eq!(steps(folder.path()), taken);
    let seen = &server.seen()[0];
    assert_eq!(seen.from, "MAIL FROM:<studio@blue-shed.example.org>");
    assert_eq!(seen.to, ["RCPT TO:<ines@example.org>"]);
    let id = run.sendings[0].id.clone().unwrap();
    let file = folder.path().join(format!("outbox/written/{id}.eml"));
    let written = std::fs::read(file).unwrap();
    assert_eq!(seen.bytes.trim_ascii_end(), written.trim_ascii_end());
}

#[test]
fn a_line_that_was_idle_too_long_is_opened_anew() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(Script {
        mail: Act::DropOnce,
        ..WELL
    });
    let run = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted);
    assert_eq!((server.connections(), server.seen().len()), (2, 1));
}

fn of_settings(security: MailSecurity, host: &str, password: Option<&str>) -> anyhow::Result<()> {
    let transport = Transport::Smtp {
        host: host.to_owned(),
        port: 587,
        security,
        user: password.map(|_| "marit".to_owned()),
        secret: password.map(|name| Secret::Env(name.to_owned())),
    };
    let environment = |name: &str| (name == "SET").then(|| "secret".to_owned());
    mailer(&transport, Path::new("."), &environment).map(|_| ())
}

#[test]
fn letters_never_leave_this_machine_in_the_clear_nor_without_their_password() {
    let words = |result: anyhow::Result<()>| format!("{:#}", result.unwrap_err());
    assert!(of_settings(MailSecurity::None, "127.0.0.1", None).is_ok());
    assert!(of_settings(MailSecurity::StartTls, "mail.example.org", Some("SET")).is_ok());
    assert_eq!(
        words(of_settings(MailSecurity::None, "mail.example.org", None)),
        "the mail server `mail.example.org` is not this machine; set `security` to `starttls` or `tls`"
    );
    assert_eq!(
        words(of_settings(
            MailSecurity::Tls,
            "mail.example.org",
            Some("UNSET")
        )),
        "the environment variable `UNSET`, which holds the mail password, is not set"
    );
}

#[test]
fn a_server_without_tls_gets_no_letter_that_asks_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let mut strict = Smtp::new("127.0.0.1", server.port, MailSecurity::StartTls, None);
    let run = run(folder.path(), &[letter()], &mut strict, MORNING);
    let failure = format!("{:#}", run.failure.unwrap());
    assert!(failure.contains("offers no STARTTLS"), "{failure}");
    assert_eq!(server.seen().len(), 0);
}

#[test]
fn a_login_that_is_refused_stops_the_run_and_shows_no_password() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(Script {
        auth: Act::Say("535 wrong"),
        ..WELL
    });
    let login = Login::new("marit@example.org", "hunter-two".to_owned());
    let mut way = Smtp::new("127.0.0.1", server.port, MailSecurity::None, Some(login));
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    let failure = format!("{:#}", run.failure.unwrap());
    assert!(
        failure.contains("logging in as `m…@example.org`: 535 wrong"),
        "{failure}"
    );
    assert!(!failure.contains("hunter"));
    assert_eq!(steps(folder.path()), [Step::Due, Step::Queued]);
}

#[test]
fn trying_out_hands_over_nothing() {
    let server = MailServer::start(WELL);
    let from = Sender::of(&studio()).unwrap().from;
    let seen = smtp(&server).try_out(&from).unwrap();
    assert_eq!(
        seen.last().unwrap(),
        "`studio@blue-shed.example.org` is accepted as a recipient; no letter was sent"
    );
    assert_eq!(server.seen().len(), 0);
    let refusing = MailServer::start(Script {
        mail: Act::Say("550 not you"),
        ..WELL
    });
    let error = format!("{:#}", smtp(&refusing).try_out(&from).unwrap_err());
    assert!(error.contains("naming the sender"), "{error}");
}

#[test]
fn a_token_logs_in_by_xoauth2() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(Script {
        ehlo: Act::Say("250-test server\r\n250-AUTH PLAIN XOAUTH2\r\n250 8BITMIME"),
        ..WELL
    });
    let login = Login::with_token("marit", "token-two".to_owned());
    let mut way = Smtp::new("127.0.0.1", server.port, MailSecurity::None, Some(login));
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted, "{:?}", run.failure);
    // "user=marit\x01auth=Bearer token-two\x01\x01" in base64.
    let auth = "AUTH XOAUTH2 dXNlcj1tYXJpdAFhdXRoPUJlYXJlciB0b2tlbi10d28BAQ==";
    assert_eq!(server.seen()[0].auth.as_deref(), Some(auth));
}

#[test]
fn a_server_that_asks_for_name_and_password_gets_them() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(Script {
        ehlo: Act::Say("250-test server\r\n250-AUTH LOGIN\r\n250 8BITMIME"),
        ..WELL
    });
    let login = Login::new("marit", "hunter-two".to_owned());
    let mut way = Smtp::new("127.0.0.1", server.port, MailSecurity::None, Some(login));
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted, "{:?}", run.failure);
    // "marit" and "hunter-two" in base64.
    let auth = "AUTH LOGIN bWFyaXQ= aHVudGVyLXR3bw==";
    assert_eq!(server.seen()[0].auth.as_deref(), Some(auth));
}

/// A token is refused by a challenge; who answers it with nothing is told why.
#[test]
fn a_token_that_is_refused_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(Script {
        ehlo: Act::Say("250-test server\r\n250-AUTH XOAUTH2\r\n250 8BITMIME"),
        // {"status":"401"} in base64.
        auth: Act::Say("334 eyJzdGF0dXMiOiI0MDEifQ=="),
        ..WELL
    });
    let login = Login::with_token("marit", "token-two".to_owned());
    let mut way = Smtp::new("127.0.0.1", server.port, MailSecurity::None, Some(login));
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    let failure = format!("{:#}", run.failure.unwrap());
    assert!(failure.ends_with("535 5.7.8 it expired"), "{failure}");
    assert_eq!(steps(folder.path()), [Step::Due, Step::Queued]);
}

#[test]
fn a_server_without_a_login_of_ours_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let login = Login::with_token("marit", "token-two".to_owned());
    let mut way = Smtp::new("127.0.0.1", server.port, MailSecurity::None, Some(login));
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    let failure = format!("{:#}", run.failure.unwrap());
    let expected = "the server offers no login by `XOAUTH2`";
    assert!(failure.ends_with(expected), "{failure}");
}

/// The next letter goes over a new line when the old one could not be cleared.
#[test]
fn a_line_that_cannot_be_cleared_is_left() {
    for reset in [Act::Say("451 no"), Act::Drop, Act::Silence] {
        let folder = tempfile::tempdir().unwrap();
        let server = MailServer::start(Script {
            rcpt: Act::Say("550 unknown"),
            reset,
            ..WELL
        });
        let letters = [letter(), letter_for_another()];
        let run = run(folder.path(), &letters, &mut smtp(&server), MORNING);
        for sending in &run.sendings {
            assert_eq!(sending.fate, Fate::RefusedForGood, "{:?}", run.failure);
        }
        assert_eq!(server.connections(), 2, "{reset:?}");
    }
}

#[test]
fn an_address_is_masked_however_the_server_writes_it() {
    let refuses = Act::Say("550 <INES@Example.org> unknown");
    check(
        Script {
            rcpt: refuses,
            ..WELL
        },
        Fate::RefusedForGood,
        &[Step::Due, Step::Queued, Step::RefusedForGood],
        0,
    );
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(Script {
        rcpt: refuses,
        ..WELL
    });
    let run = run(folder.path(), &[letter()], &mut smtp(&server), MORNING);
    assert!(
        !run.sendings[0].words.contains("INES"),
        "{:?}",
        run.sendings
    );
}

/// One letter through a program that ends with `status`, or is killed.
#[cfg(unix)]
#[test]
fn a_program_that_takes_mails_says_what_became_of_them() {
    use fairday::outside::sendmail::Sendmail;
    use std::os::unix::fs::PermissionsExt;
    let cases = [
        ("cat > $0.mail; echo \"$@\" > $0.args", Fate::Accepted),
        ("cat > /dev/null; exit 67", Fate::RefusedForGood),
        ("exit 75", refused_now()),
        ("cat > /dev/null; kill -9 $$", Fate::Unknown),
    ];
    for (body, fate) in cases {
        let folder = tempfile::tempdir().unwrap();
        let program = folder.path().join("sendmail");
        std::fs::write(&program, format!("#!/bin/sh\n{body}\n")).unwrap();
        std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o700)).unwrap();
        let mut way = Sendmail::new(program.to_str().unwrap());
        let run = run(folder.path(), &[letter()], &mut way, MORNING);
        assert_eq!(run.sendings[0].fate, fate, "{body}: {:?}", run.failure);
        if fate == Fate::Accepted {
            let arguments = std::fs::read_to_string(program.with_extension("args")).unwrap();
            assert_eq!(
                arguments.trim(),
                "-i -f studio@blue-shed.example.org -- ines@example.org"
            );
            let mail = std::fs::read_to_string(program.with_extension("mail")).unwrap();
            assert!(mail.contains("\nTo: ") && !mail.contains('\r'));
        }
    }
}

/// Sends one letter over TLS; returns the run and what the server saw.
fn over_tls(script: Script, security: MailSecurity, trusted: Option<&[u8]>) -> (Run, Vec<Seen>) {
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(script);
    let login = Login::new("marit", "hunter-two".to_owned());
    let mut way = Smtp::new("localhost", server.port, security, Some(login));
    if let Some(authority) = trusted {
        way.trust(authority.to_vec());
    }
    let run = run(folder.path(), &[letter()], &mut way, MORNING);
    (run, server.seen())
}

#[test]
fn letters_and_login_go_over_tls() {
    for (tls, security) in [
        (Tls::OnDemand, MailSecurity::StartTls),
        (Tls::FromFirstByte, MailSecurity::Tls),
    ] {
        let script = Script { tls, ..WELL };
        let (run, seen) = over_tls(script, security, Some(AUTHORITY_PEM));
        assert_eq!(run.sendings[0].fate, Fate::Accepted, "{:?}", run.failure);
        assert!(seen[0].encrypted);
        // "\0marit\0hunter-two" in base64.
        let auth = "AUTH PLAIN AG1hcml0AGh1bnRlci10d28=";
        assert_eq!(seen[0].auth.as_deref(), Some(auth));
    }
}

#[test]
fn a_wrong_certificate_gets_no_letter_and_no_password() {
    let cases = [
        (
            Shown::Good,
            None,
            "nobody whom this machine trusts vouches for its certificate",
        ),
        (
            Shown::Elsewhere,
            Some(SECOND_AUTHORITY_PEM),
            "its certificate is for another host",
        ),
        (
            Shown::Expired,
            Some(SECOND_AUTHORITY_PEM),
            "its certificate has expired",
        ),
    ];
    for (certificate, trusted, words) in cases {
        for (tls, security) in [
            (Tls::OnDemand, MailSecurity::StartTls),
            (Tls::FromFirstByte, MailSecurity::Tls),
        ] {
            let script = Script {
                tls,
                certificate,
                ..WELL
            };
            let (run, seen) = over_tls(script, security, trusted);
            let failure = format!("{:#}", run.failure.unwrap());
            assert!(failure.ends_with(words), "{failure}");
            assert_eq!(run.sendings[0].fate, Fate::Waiting, "{words}");
            assert!(seen.is_empty());
        }
    }
}

#[test]
fn an_address_beyond_ascii_goes_only_to_a_server_that_takes_it() {
    let mut foreign = order("26-014");
    foreign.customer.email = Some("inés@example.org".to_owned());
    let foreign = super::mail::letter_for(&foreign);
    let wide = Act::Say("250-test server\r\n250-SMTPUTF8\r\n250 8BITMIME");
    let expected = [
        (WELL.ehlo, Fate::RefusedForGood, 0),
        (wide, Fate::Accepted, 1),
    ];
    for (ehlo, fate, seen) in expected {
        let folder = tempfile::tempdir().unwrap();
        let server = MailServer::start(Script { ehlo, ..WELL });
        let letters = [foreign.clone(), letter_for_another()];
        let run = run(folder.path(), &letters, &mut smtp(&server), MORNING);
        assert_eq!(run.sendings[0].fate, fate);
        if fate == Fate::RefusedForGood {
            let words = "takes no addresses beyond ASCII (SMTPUTF8): i…@example.org";
            assert!(run.sendings[0].words.ends_with(words), "{:?}", run.sendings);
        }
        assert_eq!(run.sendings[1].fate, Fate::Accepted, "the next one goes on");
        assert_eq!(server.seen().len(), seen + 1);
    }
}

/// The name before the `@` is what needs a server that knows more; a domain does not.
#[test]
fn a_domain_beyond_ascii_goes_to_any_server() {
    let mut order = order("26-014");
    order.customer.email = Some("ines@bücher.example".to_owned());
    let folder = tempfile::tempdir().unwrap();
    let server = MailServer::start(WELL);
    let letters = [super::mail::letter_for(&order)];
    let run = run(folder.path(), &letters, &mut smtp(&server), MORNING);
    assert_eq!(run.sendings[0].fate, Fate::Accepted, "{:?}", run.sendings);
    let seen = &server.seen()[0];
    // The example of RFC 3492 for this word: "bücher" is "bcher-kva".
    assert_eq!(seen.to, ["RCPT TO:<ines@xn--bcher-kva.example>"]);
    assert!(seen.bytes.is_ascii());
}

fn letter_for_another() -> fairday::letter::Letter {
    super::mail::letter_for(&order("26-015"))
}
