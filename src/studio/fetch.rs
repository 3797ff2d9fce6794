//! How the forecast is fetched, from its part of `studio.yaml`.
//!
//! What the services' terms ask for is asked for here: a contact, at most four
//! decimals, a key or a declared use for Open-Meteo, a line that is private.

use super::file::{FetchFile, ServiceName, StudioFile};
use super::section::Section;
use super::{Fetch, OpenMeteoUse, Service, defaults};

/// The most decimals of a coordinate; MET Norway refuses more.
///
/// # Sources
/// Terms of service of the MET Weather API, "Traffic", point 5.
const DECIMALS_MAX: u32 = 4;

/// Domains that belong to nobody (RFC 2606, RFC 6761).
const NOBODYS: [&str; 8] = [
    "example.org",
    "example.com",
    "example.net",
    "example",
    "invalid",
    "test",
    "localhost",
    "local",
];

/// Reads how the forecast is fetched; none without the key `fetch`.
pub fn fetch(shape: &StudioFile, top: &mut Section) -> Option<Fetch> {
    let shape = shape.fetch.as_ref()?;
    let at = &mut top.below("fetch");
    let service = service(shape, at);
    let contact = at.need(&shape.contact, "contact", "ada@blueprints.example");
    let given = at.take(&shape.host, "host");
    let decimals = at.take_within(&shape.decimals, "decimals", 0..=DECIMALS_MAX);
    let timeout = at.number(
        &shape.timeout_seconds,
        "timeout_seconds",
        defaults::FETCH_TIMEOUT_SECONDS,
        1.0..=300.0,
    );
    let service = service?;
    let host = given.map_or_else(|| usual_host(&service).to_owned(), |host| bare(&host));
    check_host(&host, at);
    let contact: String = contact?;
    check_contact(&contact, &host, at);
    Some(Fetch {
        service,
        contact,
        host,
        decimals: decimals.unwrap_or(defaults::FETCH_DECIMALS),
        timeout_seconds: timeout,
    })
}

fn service(shape: &FetchFile, at: &mut Section) -> Option<Service> {
    let name = match &shape.service {
        None => ServiceName::MetNorway,
        Some(_) => at.take(&shape.service, "service")?,
    };
    let key_env = at.take(&shape.key_env, "key_env");
    let non_commercial = at.take(&shape.non_commercial, "non_commercial");
    match name {
        ServiceName::MetNorway => Some(Service::MetNorway),
        ServiceName::BrightSky => Some(Service::BrightSky),
        ServiceName::OpenMeteo => {
            open_meteo(key_env, non_commercial == Some(true), at).map(Service::OpenMeteo)
        }
    }
}

fn open_meteo(
    key_env: Option<String>,
    non_commercial: bool,
    at: &mut Section,
) -> Option<OpenMeteoUse> {
    if let Some(name) = key_env {
        if is_variable(&name) {
            return Some(OpenMeteoUse::Key(name));
        }
        let hint = "write `key_env: OPEN_METEO_KEY`, and the key into that variable, not here";
        at.wrong_value(
            "key_env",
            "expected the name of an environment variable",
            hint,
        );
        return None;
    }
    if !non_commercial {
        let what = "Open-Meteo without a key is for non-commercial use only";
        let hint = "name the variable that holds your key, `key_env: OPEN_METEO_KEY`; or, if you \
                    sell nothing, declare it with `non_commercial: yes`";
        at.wrong_value("service", what, hint);
        return None;
    }
    Some(OpenMeteoUse::NonCommercial)
}

/// Tells whether the word can name a variable; a key that was put there by mistake
/// mostly cannot, since keys begin with a digit or hold small letters.
fn is_variable(name: &str) -> bool {
    let fits = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '_';
    name.chars().all(fits) && !name.starts_with(|c: char| c.is_ascii_digit())
}

fn usual_host(service: &Service) -> &'static str {
    match service {
        Service::MetNorway => defaults::MET_NORWAY_HOST,
        Service::OpenMeteo(OpenMeteoUse::Key(_)) => defaults::OPEN_METEO_KEY_HOST,
        Service::OpenMeteo(OpenMeteoUse::NonCommercial) => defaults::OPEN_METEO_HOST,
        Service::BrightSky => defaults::BRIGHT_SKY_HOST,
    }
}

fn bare(host: &str) -> String {
    host.trim_end_matches('/').to_owned()
}

fn check_host(host: &str, at: &mut Section) {
    let hint = "write it like `https://api.met.no`";
    let Some((scheme, name)) = host.split_once("://") else {
        let what = format!("expected `https://` and a host, found `{host}`");
        return at.wrong_value("host", &what, hint);
    };
    let plain = |c: char| c.is_ascii_alphanumeric() || "-.:[]".contains(c);
    if name.is_empty() || !name.chars().all(plain) {
        let what = format!("expected a host without path or account, found `{name}`");
        return at.wrong_value("host", &what, hint);
    }
    match scheme {
        "https" => {}
        "http" if is_here(name) => {}
        _ => {
            let what = format!("the forecast would be fetched from `{name}` unprotected");
            at.wrong_value("host", &what, "write `https://` before the host");
        }
    }
}

/// Tells whether a host with its port is this machine.
fn is_here(name: &str) -> bool {
    let host = without_port(name);
    let numbers = |rest: &str| rest.chars().all(|c| c.is_ascii_digit() || c == '.');
    matches!(host, "localhost" | "[::1]") || host.strip_prefix("127.").is_some_and(numbers)
}

fn without_port(name: &str) -> &str {
    match name.find(']') {
        Some(end) => &name[..=end],
        None => name.split(':').next().unwrap_or_default(),
    }
}

/// Notes a contact at which nobody can be reached; services ban those who invent one.
fn check_contact(contact: &str, host: &str, at: &mut Section) {
    let hint = "write a mail address that you read, or your web page";
    let is_page = contact.starts_with("https://") || contact.starts_with("http://");
    let visible = contact.chars().all(|c| c.is_ascii_graphic());
    let is_mail = contact.parse::<lettre::Address>().is_ok();
    if !visible || !(is_page || is_mail) {
        let what = format!("expected a mail address or a web page, found `{contact}`");
        return at.wrong_value("contact", &what, hint);
    }
    let asks_here = host
        .split_once("://")
        .is_some_and(|(_, name)| is_here(name));
    let domain = domain(contact).to_ascii_lowercase();
    let of_nobody = NOBODYS.iter().any(|nobodys| {
        domain
            .strip_suffix(nobodys)
            .is_some_and(|rest| rest.is_empty() || rest.ends_with('.'))
    });
    if of_nobody && !asks_here {
        let what = format!("nobody can be reached at `{contact}`, and the service asks for it");
        at.wrong_value("contact", &what, hint);
    }
}

/// Returns the domain of a mail address or a web page.
fn domain(contact: &str) -> &str {
    match contact.split_once("://") {
        Some((_, page)) => without_port(page.split(['/', '?', '#']).next().unwrap_or_default()),
        None => contact.rsplit_once('@').map_or("", |(_, domain)| domain),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn this_machine_is_told_from_others() {
        for name in ["localhost:80", "127.0.0.1", "127.3.2.1:8080", "[::1]:99"] {
            assert!(is_here(name), "{name}");
        }
        for name in [
            "localhost.example.org",
            "127.0.0.1.example.org",
            "128.0.0.1",
            "[::2]",
        ] {
            assert!(!is_here(name), "{name}");
        }
    }

    #[test]
    fn the_domain_of_a_contact_is_found() {
        assert_eq!(domain("ada@blueprints.example"), "blueprints.example");
        assert_eq!(
            domain("https://blueprints.example:8/about.html"),
            "blueprints.example"
        );
    }

    #[test]
    fn a_key_is_no_name_of_a_variable() {
        assert!(is_variable("OPEN_METEO_KEY"));
        assert!(!is_variable("8fT2kq0rX1"));
    }
}
