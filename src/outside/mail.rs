//! A letter as a mail: addresses checked, every byte fixed before it leaves.
//!
//! The same letter, written at the same moment, is the same mail byte for byte;
//! its Message-ID is part of it. Nothing is sent here (`smtp`, `folder`).

use anyhow::{Context, Result, anyhow};
use chrono::{DateTime, FixedOffset};
use lettre::Address;
use lettre::address::Envelope;
use lettre::message::header::{ContentType, HeaderName, HeaderValue};
use lettre::message::{Mailbox, Message, MultiPart, SinglePart};

use crate::letter::{Letter, one_line};
use crate::studio::Studio;
use crate::yaml::address::in_ascii;

/// Longest part of an order number in the name of a mail. [characters]
const NUMBER_MAX: usize = 40;

/// Letters of the same order that a mail refers to, besides the first.
const REFERENCES_MAX: usize = 10;

/// Who writes: the studio's side of every mail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sender {
    /// Name that mail programs show.
    pub name: String,
    /// Address that letters come from.
    pub from: Address,
    /// Address that a person reads, if it is another one.
    pub reply_to: Option<Address>,
}

/// A mail, ready to be handed over as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mail {
    /// Its name in the outbox: moment, order, kind, fingerprint.
    pub id: String,
    /// Message-ID with its angle brackets.
    pub message_id: String,
    /// Where it comes from.
    pub from: Address,
    /// Where it goes: the customer first, then whoever gets it, too.
    pub to: Vec<Address>,
    /// Headers and both bodies, lines ended by CR LF.
    pub bytes: Vec<u8>,
}

impl Sender {
    /// Reads the studio's side from its settings.
    ///
    /// # Errors
    /// When an address is none; the message names the setting.
    pub fn of(studio: &Studio) -> Result<Sender> {
        let letters = &studio.letters;
        let reply_to = letters.reply_to.as_deref();
        Ok(Sender {
            name: one_line(&studio.name),
            from: parse_address(&letters.from).context("reading `letters.from`")?,
            reply_to: reply_to
                .map(parse_address)
                .transpose()
                .context("reading `letters.reply_to`")?,
        })
    }
}

/// Parses a mail address; one with a line break or without a domain is none. A domain
/// beyond ASCII is taken in the form that every mail server knows.
///
/// # Errors
/// When it is no address. The message shows nothing of it.
pub fn parse_address(text: &str) -> Result<Address> {
    in_ascii(text.trim())
        .parse::<Address>()
        .map_err(|error| anyhow!("expected a mail address such as `name@example.org`: {error}"))
}

/// Returns what tells this letter from every other: 16 hexadecimal digits over
/// its addresses and words.
pub fn fingerprint(letter: &Letter, sender: &Sender) -> String {
    let reply_to = sender.reply_to.as_ref().map_or("", |a| a.as_ref());
    let parts = [
        letter.order.as_str(),
        letter.kind,
        letter.to.name.as_str(),
        letter.to.address.as_deref().unwrap_or(""),
        sender.name.as_str(),
        sender.from.as_ref(),
        reply_to,
        letter.subject.as_str(),
        letter.text.as_str(),
        letter.html.as_str(),
    ];
    let copies = letter.to.copies_to.iter().map(String::as_str);
    // FNV-1a, 64 bit; each part is closed by a byte that no text holds.
    let bytes = parts
        .into_iter()
        .chain(copies)
        .flat_map(|part| part.bytes().chain([0xff]));
    let hash = bytes.fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    format!("{hash:016x}")
}

/// Writes `letter` as a mail of the moment `at`.
///
/// `thread` holds the Message-IDs of the order's earlier letters, oldest first,
/// so that mail programs show them together.
///
/// # Errors
/// When the letter has no address or one that is none.
pub fn compose(
    letter: &Letter,
    sender: &Sender,
    at: DateTime<FixedOffset>,
    thread: &[String],
) -> Result<Mail> {
    let address = letter.to.address.as_deref();
    let mut to = vec![parse_address(
        address.context("the letter has no mail address")?,
    )?];
    for copy in &letter.to.copies_to {
        to.push(parse_address(copy)?);
    }
    let print = fingerprint(letter, sender);
    let id = format!(
        "{}-{}-{}-{print}",
        at.format("%Y%m%d-%H%M%S"),
        file_word(&letter.order),
        letter.kind
    );
    let message_id = format!("<{id}@{}>", id_domain(&sender.from));
    let mut builder = Message::builder()
        .message_id(Some(message_id.clone()))
        .date(at.into())
        .from(mailbox(&sender.name, &sender.from))
        .to(mailbox(&letter.to.name, &to[0]))
        // Made from the headers it would lack addresses with quotes.
        .envelope(Envelope::new(Some(sender.from.clone()), to.clone())?)
        .subject(header_words(&letter.subject))
        .raw_header(HeaderValue::new(
            HeaderName::new_from_ascii_str("Auto-Submitted"),
            "auto-generated".to_owned(),
        ));
    for copy in &to[1..] {
        builder = builder.to(Mailbox::new(None, copy.clone()));
    }
    if let Some(reply_to) = &sender.reply_to {
        builder = builder.reply_to(mailbox(&sender.name, reply_to));
    }
    if let Some(last) = thread.last() {
        builder = builder
            .in_reply_to(last.clone())
            .references(references(thread));
    }
    let message = builder.multipart(both_bodies(letter, &print))?;
    Ok(Mail {
        id,
        message_id,
        from: sender.from.clone(),
        to,
        bytes: message.formatted(),
    })
}

impl Mail {
    /// Reads a mail back from its file in the outbox.
    ///
    /// # Errors
    /// When a header that the outbox wrote is missing or holds no address.
    pub fn parse(id: &str, bytes: Vec<u8>) -> Result<Mail> {
        let head = head_of(&bytes);
        let value = |name: &str| {
            find_header(&head, name).with_context(|| format!("the mail has no header `{name}`"))
        };
        Ok(Mail {
            id: id.to_owned(),
            message_id: value("Message-ID")?,
            from: parse_address(address_in(&value("From")?)).context("reading `From`")?,
            to: mailboxes(&value("To")?)
                .into_iter()
                .map(|mailbox| parse_address(address_in(mailbox)))
                .collect::<Result<_>>()
                .context("reading `To`")?,
            bytes,
        })
    }
}

fn mailbox(name: &str, address: &Address) -> Mailbox {
    let name = Some(header_words(name)).filter(|name| !name.is_empty());
    Mailbox::new(name, address.clone())
}

/// Returns words for a header: one line, and nothing in it that a mail program
/// would take for an encoded word and read as something else.
fn header_words(text: &str) -> String {
    one_line(text).replace("=?", "= ?")
}

/// Returns text and HTML as alternatives, the better one last.
fn both_bodies(letter: &Letter, print: &str) -> MultiPart {
    let part = |kind: ContentType, body: &str| {
        SinglePart::builder()
            .header(kind)
            .body(body.replace('\n', "\r\n"))
    };
    MultiPart::alternative()
        .boundary(format!("fairday-{print}"))
        .singlepart(part(ContentType::TEXT_PLAIN, &letter.text))
        .singlepart(part(ContentType::TEXT_HTML, &letter.html))
}

/// Returns the first letter of the thread and the latest ones, parted by blanks.
fn references(thread: &[String]) -> String {
    let first_late = thread.len().saturating_sub(REFERENCES_MAX).max(1);
    let late = thread.get(first_late..).unwrap_or(&[]);
    let kept: Vec<&str> = thread
        .iter()
        .take(1)
        .chain(late)
        .map(String::as_str)
        .collect();
    kept.join(" ")
}

/// Returns `number` with every character that a file name may not hold replaced.
fn file_word(number: &str) -> String {
    number
        .chars()
        .take(NUMBER_MAX)
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '_' })
        .collect()
}

/// Returns the domain for Message-IDs; they are ASCII, domains need not be.
fn id_domain(from: &Address) -> &str {
    let domain = from.domain();
    if domain.is_ascii() && !domain.starts_with('[') {
        domain
    } else {
        "mail.invalid"
    }
}

/// Returns the headers, each on one line.
fn head_of(bytes: &[u8]) -> Vec<String> {
    let text = String::from_utf8_lossy(bytes);
    let mut head: Vec<String> = Vec::new();
    for line in text.lines().take_while(|line| !line.is_empty()) {
        match head.last_mut() {
            Some(last) if line.starts_with([' ', '\t']) => last.push_str(line),
            _ => head.push(line.to_owned()),
        }
    }
    head
}

fn find_header(head: &[String], name: &str) -> Option<String> {
    head.iter().find_map(|line| {
        let (found, value) = line.split_once(':')?;
        found
            .eq_ignore_ascii_case(name)
            .then(|| value.trim().to_owned())
    })
}

/// Cuts the value of a header into its mailboxes; commas in quotes part nothing.
fn mailboxes(value: &str) -> Vec<&str> {
    let (mut quoted, mut escaped, mut start) = (false, false, 0);
    let mut found = Vec::new();
    for (at, c) in value.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            ',' if !quoted => {
                found.push(value[start..at].trim());
                start = at + 1;
            }
            _ => {}
        }
    }
    found.push(value[start..].trim());
    found
}

/// Returns the address in a header of one mailbox.
fn address_in(value: &str) -> &str {
    match value.rsplit_once('<') {
        Some((_, rest)) => rest.trim_end().trim_end_matches('>'),
        None => value,
    }
}
