//! One question over HTTP(S), within limits: time, size, number of redirections.
//!
//! A status is an answer, whatever it says; only no answer is a failure. Nothing
//! is kept here and nothing is asked twice.

use std::io::ErrorKind;
use std::time::Duration;

use anyhow::{Context, Result, anyhow};
use ureq::tls::{Certificate, PemItem, RootCerts, TlsConfig, parse_pem};
use ureq::{Agent, Body, Error, Proxy, http};

use crate::forecast::fetch::Headers;

/// The largest answer that is taken, unpacked. [bytes]
const BODY_MAX: u64 = 20_000_000;

/// The most redirections that are followed. [own choice]
const REDIRECTIONS_MAX: u32 = 5;

/// Bytes of headers that are taken. [bytes]
const HEADERS_MAX: usize = 64 * 1024;

/// What is asked, of whom and how.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The whole address.
    pub url: &'a str,
    /// In whose name.
    pub agent: &'a str,
    /// Only a newer answer is wanted.
    pub if_modified_since: Option<&'a str>,
    /// Longest wait for the whole of it. [s]
    pub timeout_seconds: f64,
    /// Certificates (PEM) that are trusted instead of the built-in ones.
    pub trusted: Option<&'a [u8]>,
}

/// What came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// The headers that matter.
    pub headers: Headers,
    /// The body, unpacked.
    pub body: Vec<u8>,
}

/// Asks once. A line that was private from the first stays so through redirections.
///
/// # Errors
/// No whole answer: nobody there, too slow, too large, broken off, a wrong
/// certificate, redirections without end.
pub fn ask(question: &Question) -> Result<Answer> {
    let agent = agent(question)?;
    let mut request = agent.get(question.url);
    if let Some(since) = question.if_modified_since {
        request = request.header("If-Modified-Since", since);
    }
    let mut response = request.call().map_err(|error| words(error, question))?;
    let header = |name: http::HeaderName| {
        let value = response.headers().get(name)?;
        value.to_str().ok().map(str::to_owned)
    };
    let headers = Headers {
        date: header(http::header::DATE),
        expires: header(http::header::EXPIRES),
        last_modified: header(http::header::LAST_MODIFIED),
        retry_after: header(http::header::RETRY_AFTER),
    };
    let status = response.status().as_u16();
    let body = read(response.body_mut()).map_err(|error| words(error, question))?;
    Ok(Answer {
        status,
        headers,
        body,
    })
}

fn read(body: &mut Body) -> Result<Vec<u8>, Error> {
    body.with_config().limit(BODY_MAX).read_to_vec()
}

fn agent(question: &Question) -> Result<Agent> {
    let is_private = question.url.starts_with("https://");
    let timeout = Duration::from_secs_f64(question.timeout_seconds);
    let mut config = Agent::config_builder()
        .user_agent(question.agent)
        .accept("application/json")
        .http_status_as_error(false)
        .https_only(is_private)
        .max_redirects(REDIRECTIONS_MAX)
        .max_redirects_will_error(true)
        .max_response_header_size(HEADERS_MAX)
        .timeout_global(Some(timeout))
        .tls_config(trust(question.trusted)?);
    if !is_private {
        // A plain line is for this machine alone; a proxy would carry it elsewhere.
        config = config.proxy(None::<Proxy>);
    }
    Ok(config.build().new_agent())
}

fn trust(pem: Option<&[u8]>) -> Result<TlsConfig> {
    let Some(pem) = pem else {
        return Ok(TlsConfig::default());
    };
    let items: Result<Vec<PemItem>, Error> = parse_pem(pem).collect();
    let items = items.context("reading the certificates of `SSL_CERT_FILE`")?;
    let certificate = |item| match item {
        PemItem::Certificate(certificate) => Some(certificate),
        _ => None,
    };
    let certificates: Vec<Certificate> = items.into_iter().filter_map(certificate).collect();
    let roots = RootCerts::new_with_certs(&certificates);
    Ok(TlsConfig::builder().root_certs(roots).build())
}

/// Says why there is no answer, without the address: it may hold a key.
fn words(error: Error, question: &Question) -> anyhow::Error {
    match error {
        Error::Timeout(_) | Error::BodyStalled => {
            anyhow!("no whole answer within {} s", question.timeout_seconds)
        }
        Error::HostNotFound => anyhow!("there is no such host, or no way into the net"),
        Error::ConnectionFailed => anyhow!("nobody answers there"),
        Error::TooManyRedirects => {
            anyhow!("it sent us on more than {REDIRECTIONS_MAX} times")
        }
        Error::RequireHttpsOnly(_) => anyhow!("it sent us on to a line that is not private"),
        Error::BodyExceedsLimit(_) => {
            anyhow!("the answer is larger than {} MB", BODY_MAX / 1_000_000)
        }
        // So a line says that its other end is not whom it should be.
        Error::Io(cause) if cause.kind() == ErrorKind::InvalidData => {
            anyhow!(cause).context("the line could not be made private")
        }
        Error::Io(cause) => anyhow!(cause).context("the line broke"),
        Error::Decompress(_, cause) => anyhow!(cause).context("the packed answer is broken"),
        Error::Rustls(cause) => anyhow!(cause).context("the line could not be made private"),
        Error::BadUri(_) => anyhow!("the address cannot be used"),
        other => anyhow!(other).context("talking with it failed"),
    }
}
