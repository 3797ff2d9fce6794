//! No answer at all, a service that says no, and a disk that refuses.

use std::time::{Duration, Instant};

use fairday::forecast::fetch::{Outcome, Refusal};
use fairday::outside::fetch::fetch;

use super::server::{Reply, Server, nobody};
use super::{Bench, OLD, good_answer, now};
use crate::mail_server::AUTHORITY_PEM;

#[test]
fn a_status_that_says_no_changes_nothing() {
    let words = |text: &str| Some(text.to_owned());
    let until = now() + chrono::TimeDelta::minutes(2);
    let cases = [
        (
            Reply::new(403, "<h1>Forbidden</h1>"),
            Refusal::Forbidden {
                status: 403,
                words: None,
            },
        ),
        (
            Reply::new(401, "{\"reason\": \"no\\nkey\"}"),
            Refusal::Forbidden {
                status: 401,
                words: words("no key"),
            },
        ),
        (Reply::new(404, good_answer()), Refusal::NotFound),
        (
            Reply::new(500, "oops"),
            Refusal::OutOfOrder {
                status: 500,
                until: None,
            },
        ),
        (
            Reply::new(503, "").header("Retry-After", "120"),
            Refusal::OutOfOrder {
                status: 503,
                until: Some(until),
            },
        ),
        (
            Reply::new(400, "{\"error\":true,\"reason\":\"Value of `x` is odd\"}"),
            Refusal::Other {
                status: 400,
                words: words("Value of `x` is odd"),
            },
        ),
        // Nothing was asked that "not modified" could answer.
        (
            Reply::new(304, ""),
            Refusal::Other {
                status: 304,
                words: None,
            },
        ),
        (
            Reply::new(204, ""),
            Refusal::Other {
                status: 204,
                words: None,
            },
        ),
    ];
    for (reply, expected) in cases {
        let bench = Bench::new(vec![reply]);
        let case = format!("{expected:?}");
        assert_eq!(bench.fetch(0), Outcome::Refused(expected), "{case}");
        bench.assert_old(&case);
    }
}

#[test]
fn a_slow_service_is_waited_for_no_longer_than_the_studio_says() {
    for reply in [
        Reply::new(200, good_answer()).silent(),
        Reply::new(200, good_answer()).dripping(),
    ] {
        let mut bench = Bench::new(vec![reply]);
        bench.fetch.timeout_seconds = 1.0;
        let begun = now_really();
        let failure = format!("{:#}", bench.try_fetch(0).unwrap_err());
        assert!(failure.contains("no whole answer within 1 s"), "{failure}");
        assert!(begun.elapsed() < Duration::from_secs(10));
        bench.assert_old("slow");
    }
}

#[expect(clippy::disallowed_methods, reason = "a real wait is measured")]
fn now_really() -> Instant {
    Instant::now()
}

#[test]
fn nobody_there_is_said_with_the_name_that_was_asked() {
    let mut bench = Bench::new(vec![Reply::new(200, "")]);
    let port = nobody();
    bench.fetch.host = format!("http://127.0.0.1:{port}");
    let failure = format!("{:#}", bench.try_fetch(0).unwrap_err());
    assert!(
        failure.contains(&format!("asking `127.0.0.1:{port}`")),
        "{failure}"
    );
    bench.assert_old("nobody");
}

#[test]
fn a_private_line_wants_a_certificate_that_is_trusted() {
    let mut bench = Bench::new(vec![Reply::new(200, "")]);
    let server = Server::private(vec![Reply::new(200, good_answer())]);
    bench.fetch.host = server.address();
    let failure = format!("{:#}", bench.try_fetch(0).unwrap_err());
    assert!(failure.contains("private"), "{failure}");
    bench.assert_old("an unknown certificate");

    let mut errand = bench.errand(now());
    errand.trusted = Some(AUTHORITY_PEM);
    assert!(matches!(fetch(&errand), Ok(Outcome::New { .. })));
    assert_eq!(bench.forecast(), good_answer());
}

#[test]
fn a_private_line_is_not_left_for_a_plain_one() {
    let mut bench = Bench::new(vec![Reply::new(200, good_answer())]);
    let plain = format!("{}/plain", bench.server.address());
    let server = Server::private(vec![Reply::moved(&plain)]);
    bench.fetch.host = server.address();
    let mut errand = bench.errand(now());
    errand.trusted = Some(AUTHORITY_PEM);
    let failure = format!("{:#}", fetch(&errand).unwrap_err());
    assert!(failure.contains("not private"), "{failure}");
    assert_eq!(bench.server.seen().len(), 0);
    bench.assert_old("a plain line");
}

#[test]
fn a_key_is_sent_and_neither_written_nor_said() {
    use fairday::studio::{OpenMeteoUse, Service};
    let replies = vec![Reply::moved("/round"), Reply::new(200, good_answer())];
    let mut bench = Bench::new(replies);
    bench.fetch.service = Service::OpenMeteo(OpenMeteoUse::Key("KEY".to_owned()));
    let mut errand = bench.errand(now());
    errand.key = Some("s3cret");
    assert!(matches!(fetch(&errand), Ok(Outcome::New { .. })));
    assert!(bench.server.seen()[0].contains("&apikey=s3cret "));
    let record = std::fs::read_to_string(bench.path().join("forecast.fetch.json")).unwrap();
    assert!(!record.contains("s3cret"), "{record}");

    let lost = format!("http://127.0.0.1:{}", nobody());
    bench.fetch.host = lost;
    let mut errand = bench.errand(now());
    errand.key = Some("s3cret");
    let failure = format!("{:?}", fetch(&errand).unwrap_err());
    assert!(!failure.contains("s3cret"), "{failure}");
}

#[cfg(unix)]
#[test]
fn a_write_protected_forecast_stays_and_a_link_stays_a_link() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new(vec![Reply::new(200, good_answer())]);
    let path = bench.path().join("forecast.json");
    let modes = |mode| std::fs::Permissions::from_mode(mode);
    std::fs::set_permissions(&path, modes(0o444)).unwrap();
    let failure = format!("{:#}", bench.try_fetch(0).unwrap_err());
    assert!(failure.contains("write-protected"), "{failure}");
    bench.assert_old("write-protected");

    let elsewhere = tempfile::tempdir().unwrap();
    let real = elsewhere.path().join("real.json");
    std::fs::rename(&path, &real).unwrap();
    std::fs::set_permissions(&real, modes(0o640)).unwrap();
    std::os::unix::fs::symlink(&real, &path).unwrap();
    assert!(matches!(bench.fetch(0), Outcome::New { .. }));
    assert!(std::fs::symlink_metadata(&path).unwrap().is_symlink());
    assert_eq!(std::fs::read(&real).unwrap(), good_answer());
    let mode = std::fs::metadata(&real).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
}

#[cfg(unix)]
#[test]
fn a_folder_that_takes_no_file_leaves_the_forecast_alone() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new(vec![Reply::new(200, good_answer())]);
    let modes = |mode| std::fs::Permissions::from_mode(mode);
    std::fs::set_permissions(bench.path(), modes(0o555)).unwrap();
    if std::fs::write(bench.path().join("probe"), "").is_ok() {
        // Who may do everything is not stopped by permissions: `commands` asks as
        // somebody who may not.
        return;
    }
    let failure = format!("{:#}", bench.try_fetch(0).unwrap_err());
    std::fs::set_permissions(bench.path(), modes(0o755)).unwrap();
    assert!(failure.contains("writing"), "{failure}");
    assert_eq!(bench.forecast(), OLD);
}
