//! `fairday send`: the letters that are due, each once.

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset};
use clap::Args;

use super::due::letters_due;
use super::load::{Loaded, Thinking, load};
use super::{Common, Ended, output};
use crate::letter::Letter;
use crate::notice::Standing;
use crate::order::Notified;
use crate::order::edit::{Change, apply};
use crate::outside::edit::{edit, lock};
use crate::outside::journal::{Reached, Recipient};
use crate::outside::mail::Sender;
use crate::outside::mailer::mailer;
use crate::outside::outbox::{Asked, Fate, Outbox, Sending, Settle};
use crate::view::dates::moment;
use crate::view::sent::{SentLine, SentTone, render_sent};

/// Send the letters that are due.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday send
  fairday send 2026-014 --again
  fairday send --addresses")]
pub struct SendArgs {
    /// Only these orders
    #[arg(value_name = "ORDER")]
    orders: Vec<String>,
    /// Try letters again that were refused a short while ago
    #[arg(long)]
    again: bool,
    /// Only try the way out: connect, log in, name sender and recipient; send nothing
    #[arg(long = "try", conflicts_with_all = ["orders", "again", "told", "once_more"])]
    only_try: bool,
    /// The letter of this name reached its customer, or she was told otherwise
    #[arg(long, value_name = "LETTER", conflicts_with_all = ["orders", "again"])]
    told: Option<String>,
    /// The letter of this name did not arrive: let it go once more with the next run
    #[arg(long, value_name = "LETTER", conflicts_with_all = ["orders", "again", "told"])]
    once_more: Option<String>,
    /// Show mail addresses whole; the record keeps them masked all the same
    #[arg(long)]
    addresses: bool,
    #[command(flatten)]
    thinking: Thinking,
}

/// Sends what is due and records it.
pub fn run(common: &Common, args: &SendArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let open = || Outbox::open(&loaded.folder);
    let clock = || loaded.instant();
    match (&args.told, &args.once_more) {
        (Some(id), _) => return settle(&mut open()?, id, Settle::AsTold, clock()),
        (None, Some(id)) => return settle(&mut open()?, id, Settle::ToSend, clock()),
        (None, None) => {}
    }
    let sender = Sender::of(&loaded.studio)?;
    let environment = |name: &str| std::env::var(name).ok();
    let mut mailer = mailer(
        &loaded.studio.letters.transport,
        &loaded.folder,
        &environment,
    )?;
    if args.only_try {
        let seen = mailer.try_out(&sender.from)?;
        output::answer(
            &seen
                .iter()
                .map(|line| format!("{line}\n"))
                .collect::<String>(),
        )?;
        return Ok(Ended::Done);
    }
    let mut outbox = open()?;
    outbox.recover(mailer.as_mut(), clock())?;
    catch_up(&loaded, &outbox)?;
    let Some(due) = letters_due(common, &loaded, &args.thinking, &args.orders)? else {
        return Ok(Ended::NotDone);
    };
    let (by_mail, by_hand): (Vec<Letter>, Vec<Letter>) = due
        .letters
        .into_iter()
        .partition(|letter| letter.to.address.is_some());
    let asked = Asked {
        impatient: args.again,
        only: args.orders.clone(),
    };
    let run = outbox.send(&by_mail, &sender, mailer.as_mut(), &clock, &asked)?;
    for sending in run.sendings.iter().filter(|sending| sending.tells) {
        let told = Notified {
            on: sending.on,
            kind: sending.kind.clone(),
            date: sending.date,
        };
        record(&loaded, &sending.order, told)?;
    }
    let mut lines: Vec<SentLine> = run
        .sendings
        .iter()
        .map(|sending| line(&loaded, sending, args.addresses))
        .collect();
    lines.extend(by_hand.iter().map(line_by_hand));
    output::answer(&render_sent(
        &lines,
        &mailer.name(),
        output::setting(common),
    ))?;
    if let Some(failure) = run.failure {
        return Err(failure);
    }
    let told = |sending: &Sending| matches!(sending.fate, Fate::Accepted | Fate::Told);
    let fine = by_hand.is_empty() && run.sendings.iter().all(told);
    Ok(Ended::look_if(
        !fine || output::has_errors(&loaded.problems),
    ))
}

/// Notes in the order files what an earlier run sent and had no time to note.
fn catch_up(loaded: &Loaded, outbox: &Outbox) -> Result<()> {
    for sent in outbox
        .sent()
        .into_iter()
        .filter(|sent| sent.standing == Standing::Told)
    {
        let told = Notified {
            on: sent.on,
            kind: sent.kind,
            date: sent.date,
        };
        let order = loaded
            .orders
            .iter()
            .find(|order| order.number == sent.order);
        if order.is_some_and(|order| !order.notified.contains(&told)) {
            record(loaded, &sent.order, told)?;
        }
    }
    Ok(())
}

fn settle(
    outbox: &mut Outbox,
    id: &str,
    settle: Settle,
    at: DateTime<FixedOffset>,
) -> Result<Ended> {
    outbox.settle(id, settle, at)?;
    let words = match settle {
        Settle::AsTold => "counts as told",
        Settle::ToSend => "goes once more with the next `fairday send`",
    };
    output::answer(&format!("{id} {words}\n"))?;
    Ok(Ended::Done)
}

/// Notes in the order's file that its customer was told.
fn record(loaded: &Loaded, number: &str, told: Notified) -> Result<()> {
    let order = loaded.find_order(number)?;
    let lock = lock(&loaded.folder)?;
    let path = loaded.folder.join(&order.file);
    edit(&lock, &path, |text| apply(text, &Change::Notified(told)))
        .with_context(|| format!("noting the letter in `{}`; the outbox has it", order.file))?;
    Ok(())
}

fn line_by_hand(letter: &Letter) -> SentLine {
    SentLine {
        order: letter.order.clone(),
        kind: letter.kind.to_owned(),
        tone: SentTone::Look,
        words: format!(
            "yours to tell by hand; why: fairday notices {}",
            letter.order
        ),
    }
}

fn line(loaded: &Loaded, sending: &Sending, addresses: bool) -> SentLine {
    let until = |at: &DateTime<FixedOffset>| moment(at.naive_local(), loaded.now.date());
    let name = sending.id.as_deref().unwrap_or("");
    let (tone, fate) = match &sending.fate {
        Fate::Accepted => (SentTone::Good, "sent".to_owned()),
        Fate::Told => (SentTone::Good, "was told before, not sent again".to_owned()),
        Fate::AcceptedInPart { until: Some(at) } => (
            SentTone::Look,
            format!(
                "sent, but not to all; tried for the others from {}",
                until(at)
            ),
        ),
        Fate::AcceptedInPart { until: None } => (
            SentTone::Bad,
            "sent, but not to all; tell the others yourself".to_owned(),
        ),
        Fate::RefusedNow { until: at } => (
            SentTone::Look,
            format!("refused for now, rests until {}", until(at)),
        ),
        Fate::Resting { until: at } => (
            SentTone::Look,
            format!(
                "was refused, rests until {} (`--again`: try now)",
                until(at)
            ),
        ),
        Fate::RefusedForGood => (
            SentTone::Bad,
            "refused for good; check the address".to_owned(),
        ),
        Fate::Unknown => (
            SentTone::Bad,
            format!(
                "nobody knows whether it arrived; ask the customer, then \
                 `fairday send --told {name}` or `--once-more {name}`"
            ),
        ),
        Fate::Waiting => (SentTone::Look, "waits in the outbox".to_owned()),
        Fate::NoAddress => (
            SentTone::Look,
            "has no mail address; tell them yourself".to_owned(),
        ),
    };
    let whole = |index: usize| sending.to.get(index).filter(|_| addresses);
    let fate = match (sending.recipients.as_slice(), whole(0)) {
        ([], None) => fate,
        ([], Some(to)) => format!("{fate}, to {to}"),
        (recipients, _) => format!("{fate} – {}", each(recipients, whole)),
    };
    SentLine {
        order: sending.order.clone(),
        kind: sending.kind.clone(),
        tone,
        words: if sending.words.is_empty() {
            fate
        } else {
            format!("{fate} ({})", sending.words)
        },
    }
}

/// Says for each of several recipients how far the letter has come.
fn each<'a>(recipients: &'a [Recipient], whole: impl Fn(usize) -> Option<&'a String>) -> String {
    let one = |(index, recipient): (usize, &'a Recipient)| {
        let words = match recipient.reached {
            Reached::Waiting => "waits",
            Reached::HandedOver | Reached::Unknown => "unknown",
            Reached::Accepted => "has it",
            Reached::RefusedNow => "refused for now",
            Reached::RefusedForGood => "refused for good",
            Reached::Withdrawn => "not tried again",
        };
        format!("{}: {words}", whole(index).unwrap_or(&recipient.to))
    };
    let each: Vec<String> = recipients.iter().enumerate().map(one).collect();
    each.join(", ")
}
