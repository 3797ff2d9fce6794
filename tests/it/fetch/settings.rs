//! The part `fetch` of studio.yaml: what is refused before anybody is asked.

use fairday::studio::parse::parse;
use fairday::studio::{Fetch, OpenMeteoUse, Service};

/// Reads a studio with these lines below `fetch`.
fn read(lines: &str) -> (Option<Fetch>, Vec<String>) {
    let text = format!(
        "studio: The Blue Shed
place: {{latitude_deg: 53.9, longitude_deg: -2.9, zone: Europe/London}}
frames: [{{name: large, inside: 42x52 cm}}]
racks: {{dark_dry_sheets: 4, wet_dry_sheets: 4}}
trays: {{inside: 45x60 cm}}
materials: {{rag: {{kind: paper, target_dose_kj_m2: 29}}}}
letters: {{from: studio@example.org}}
fetch: {{{lines}}}
"
    );
    let (studio, problems) = parse(&text, "studio.yaml");
    let words = problems.into_iter().map(|problem| problem.what).collect();
    (studio.and_then(|studio| studio.fetch), words)
}

#[track_caller]
fn refused(lines: &str, expected: &str) {
    let (fetch, problems) = read(lines);
    assert_eq!(fetch, None, "{lines}");
    assert!(
        problems.join("; ").contains(expected),
        "{lines}: {problems:?}"
    );
}

#[test]
fn a_contact_is_enough_and_the_rest_has_defaults() {
    let (fetch, problems) = read("contact: ada@blueprints.co");
    assert_eq!(problems, [""; 0]);
    let expected = Fetch {
        service: Service::MetNorway,
        contact: "ada@blueprints.co".to_owned(),
        host: "https://api.met.no".to_owned(),
        decimals: 2,
        timeout_seconds: 30.0,
    };
    assert_eq!(fetch, Some(expected));
    let (fetch, _) = read("contact: 'https://blueprints.co/about', service: bright_sky");
    assert_eq!(fetch.unwrap().host, "https://api.brightsky.dev");
}

#[test]
fn a_contact_that_reaches_nobody_is_refused() {
    refused("decimals: 2", "the key `contact` is missing");
    refused(
        "contact: maren@example.org",
        "nobody can be reached at `maren@example.org`",
    );
    refused(
        "contact: 'https://www.example.com/me'",
        "nobody can be reached",
    );
    refused(
        "contact: me",
        "expected a mail address or a web page, found `me`",
    );
    refused(
        "contact: \"a@b.co\\r\\nX: y\"",
        "expected a mail address or a web page",
    );
}

#[test]
fn no_more_than_four_decimals_are_sent() {
    refused(
        "contact: ada@blueprints.co, decimals: 5",
        "expected 0 to 4 for `decimals`, found `5`",
    );
}

#[test]
fn the_line_is_private_unless_it_stays_on_this_machine() {
    let host = |host: &str| format!("contact: ada@blueprints.co, host: '{host}'");
    refused(
        &host("http://api.met.no"),
        "fetched from `api.met.no` unprotected",
    );
    refused(
        &host("api.met.no"),
        "expected `https://` and a host, found `api.met.no`",
    );
    refused(&host("https://me:pw@api.met.no"), "without path or account");
    refused(&host("https://api.met.no/x?y"), "without path or account");
    let (fetch, problems) = read(&host("http://127.0.0.1:8080/"));
    assert_eq!(problems, [""; 0]);
    assert_eq!(fetch.unwrap().host, "http://127.0.0.1:8080");
}

#[test]
fn open_meteo_wants_a_key_or_a_declared_use() {
    let open = |rest: &str| format!("contact: ada@blueprints.co, service: open_meteo{rest}");
    refused(
        &open(""),
        "Open-Meteo without a key is for non-commercial use only",
    );
    refused(&open(", non_commercial: no"), "for non-commercial use only");
    refused(
        &open(", key_env: 8fT2kq0rX1"),
        "expected the name of an environment variable",
    );
    let (fetch, _) = read(&open(", non_commercial: yes"));
    let fetch = fetch.unwrap();
    assert_eq!(
        fetch.service,
        Service::OpenMeteo(OpenMeteoUse::NonCommercial)
    );
    assert_eq!(fetch.host, "https://api.open-meteo.com");
    let (fetch, _) = read(&open(", key_env: OPEN_METEO_KEY"));
    assert_eq!(fetch.unwrap().host, "https://customer-api.open-meteo.com");
}

#[test]
fn an_unknown_service_is_named_with_those_there_are() {
    refused(
        "contact: ada@blueprints.co, service: met_norwy",
        "`met_norway`",
    );
}
