//! `fairday send`: the letters that are due, each once.

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset};
use clap::Args;

use super::due::letters_due;
use super::load::{Loaded, Thinking, load};
use super::{Common, Ended, output};
use crate::order::Notified;
use crate::order::edit::{Change, apply};
use crate::outside::edit::{edit, lock};
use crate::outside::mail::Sender;
use crate::outside::mailer::mailer;
use crate::outside::outbox::{Fate, Outbox, Sending, Settle};
use crate::view::dates::moment;
use crate::view::sent::{SentLine, SentTone, render_sent};

/// Send the letters that are due.
#[derive(Debug, Args)]
pub struct SendArgs {
    /// Only these orders
    #[arg(value_name = "ORDER")]
    orders: Vec<String>,
    /// Try letters again that were refused a short while ago
    #[arg(long)]
    again: bool,
    /// The letter of this name reached its customer, or she was told otherwise
    #[arg(long, value_name = "LETTER", conflicts_with_all = ["orders", "again"])]
    told: Option<String>,
    /// The letter of this name did not arrive: let it go once more with the next run
    #[arg(long, value_name = "LETTER", conflicts_with_all = ["orders", "again", "told"])]
    once_more: Option<String>,
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
    let Some(due) = letters_due(common, &loaded, &args.thinking, &args.orders)? else {
        return Ok(Ended::NotDone);
    };
    let sender = Sender::of(&loaded.studio)?;
    let environment = |name: &str| std::env::var(name).ok();
    let mut mailer = mailer(
        &loaded.studio.letters.transport,
        &loaded.folder,
        &environment,
    )?;
    let run = open()?.send(&due.letters, &sender, mailer.as_mut(), &clock, args.again)?;
    for sending in run
        .sendings
        .iter()
        .filter(|sending| sending.fate == Fate::Accepted)
    {
        record(&loaded, sending)?;
    }
    let lines: Vec<SentLine> = run
        .sendings
        .iter()
        .map(|sending| line(&loaded, sending))
        .collect();
    output::answer(&render_sent(
        &lines,
        &mailer.name(),
        output::setting(common),
    ))?;
    if let Some(failure) = run.failure {
        return Err(failure);
    }
    let fine = run
        .sendings
        .iter()
        .all(|s| matches!(s.fate, Fate::Accepted | Fate::Told));
    Ok(Ended::look_if(
        !fine || output::has_errors(&loaded.problems),
    ))
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
fn record(loaded: &Loaded, sending: &Sending) -> Result<()> {
    let order = loaded.find_order(&sending.order)?;
    let told = Notified {
        on: sending.on,
        kind: sending.kind.to_owned(),
        date: sending.date,
    };
    let lock = lock(&loaded.folder)?;
    let path = loaded.folder.join(&order.file);
    edit(&lock, &path, |text| apply(text, &Change::Notified(told)))
        .with_context(|| format!("noting the letter in `{}`; the outbox has it", order.file))?;
    Ok(())
}

fn line(loaded: &Loaded, sending: &Sending) -> SentLine {
    let until = |at: &DateTime<FixedOffset>| moment(at.naive_local(), loaded.now.date());
    let name = sending.id.as_deref().unwrap_or("");
    let (tone, fate) = match &sending.fate {
        Fate::Accepted => (SentTone::Good, "sent".to_owned()),
        Fate::Told => (SentTone::Good, "was told before, not sent again".to_owned()),
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
    SentLine {
        order: sending.order.clone(),
        kind: sending.kind,
        tone,
        words: if sending.words.is_empty() {
            fate
        } else {
            format!("{fate} ({})", sending.words)
        },
    }
}
