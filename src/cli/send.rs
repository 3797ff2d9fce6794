//! `fairday send`: the letters that are due, each once.

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset, NaiveDate};
use clap::Args;

use super::due::letters_due;
use super::load::{Loaded, Thinking, load};
use super::progress::while_doing;
use super::{Common, Ended, output};
use crate::letter::{Letter, in_doubt, refused};
use crate::notice::{Notice, Obstacle, Sent, Standing, Way, doubts};
use crate::order::Notified;
use crate::order::edit::{Change, apply};
use crate::outside::edit::{edit, lock};
use crate::outside::journal::{Reached, Recipient};
use crate::outside::mail::Sender;
use crate::outside::mailer::mailer;
use crate::outside::outbox::{Asked, Fate, Outbox, Sending, Settle};
use crate::view::dates::{full_day, moment};
use crate::view::sent::{SentLine, SentTone, render_sent};

/// Send the letters that are due.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fairday send
  fairday send 2026-014 --again
  fairday send --told 2026-014
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
    /// The letter in doubt of this order reached its customer, or she was told otherwise;
    /// names of letters serve as well
    #[arg(long, value_name = "ORDER", num_args = 1.., conflicts_with_all = ["orders", "again"])]
    told: Vec<String>,
    /// It did not arrive, or was refused by mistake: let it go once more with the next run
    #[arg(long, value_name = "ORDER", num_args = 1.., conflicts_with_all = ["orders", "again", "told"])]
    once_more: Vec<String>,
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
    // While somebody changes the orders nothing leaves: what is sent is noted in them.
    drop(lock(&loaded.folder)?);
    let open = || Outbox::open(&loaded.folder);
    let clock = || loaded.instant();
    let settled = [
        (&args.told, Settle::AsTold),
        (&args.once_more, Settle::ToSend),
    ];
    if let Some((named, how)) = settled.into_iter().find(|(named, _)| !named.is_empty()) {
        return settle(&mut open()?, named, how, clock());
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
    let by_hand = due.notices.iter().filter(|n| !n.way.is_by_mail());
    let has_address = |letter: &&Letter| letter.to.address.is_some();
    let by_mail: Vec<Letter> = due.letters.iter().filter(has_address).cloned().collect();
    let asked = Asked {
        impatient: args.again,
        only: args.orders.clone(),
    };
    let send = || outbox.send(&by_mail, &sender, mailer.as_mut(), &clock, &asked);
    let run = while_doing("sending", send)?;
    let mut failure = run.failure;
    for sending in run.sendings.iter().filter(|sending| sending.tells) {
        let told = Notified {
            on: sending.on,
            kind: sending.kind.clone(),
            date: sending.date,
        };
        // What was sent is said in any case; the next run notes what this one could not.
        if let Err(error) = record(&loaded, &sending.order, told) {
            failure.get_or_insert(error);
        }
    }
    let mut lines: Vec<SentLine> = run
        .sendings
        .iter()
        .map(|sending| line(&loaded, sending, args.addresses))
        .collect();
    lines.extend(by_hand.map(line_by_hand));
    let sent = outbox.sent();
    let doubts = doubts(&loaded.orders, &sent, &due.notices);
    let is_new = |doubt: &&Sent| {
        let asked = args.orders.is_empty() || args.orders.contains(&doubt.order);
        let same = |s: &Sending| (&s.order, &s.kind) == (&doubt.order, &doubt.kind);
        asked
            && !run
                .sendings
                .iter()
                .any(|s| same(s) && s.fate == Fate::Unknown)
    };
    lines.extend(doubts.into_iter().filter(is_new).map(line_of_doubt));
    output::answer(&render_sent(
        &lines,
        &mailer.name(),
        output::setting(common),
    ))?;
    if let Some(failure) = failure {
        return Err(failure);
    }
    let fine = lines.iter().all(|line| line.tone == SentTone::Good);
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

/// Settles letters that the maker found out about, each named by itself or by its order.
fn settle(
    outbox: &mut Outbox,
    named: &[String],
    settle: Settle,
    at: DateTime<FixedOffset>,
) -> Result<Ended> {
    let words = match settle {
        Settle::AsTold => "counts as told",
        Settle::ToSend => "goes once more with the next `fairday send`, if its news still holds",
    };
    for named in named {
        let id = outbox.settle(named, settle, at)?;
        output::answer(&format!("{id} {words}\n"))?;
    }
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

fn line_by_hand(notice: &Notice) -> SentLine {
    let order = &notice.order;
    let (tone, words) = match &notice.way {
        Way::ByHand {
            obstacle: Obstacle::Unsure,
        } => (SentTone::Bad, in_doubt(order)),
        Way::ByHand {
            obstacle: Obstacle::Refused,
        } => (SentTone::Bad, refused(order)),
        _ => {
            let words = format!("yours to tell by hand; why: fairday notices {order}");
            (SentTone::Look, words)
        }
    };
    SentLine {
        order: order.clone(),
        kind: notice.kind.name().to_owned(),
        tone,
        words,
    }
}

/// Speaks of a letter in doubt that no notice asks for any more.
fn line_of_doubt(doubt: &Sent) -> SentLine {
    SentLine {
        order: doubt.order.clone(),
        kind: doubt.kind.clone(),
        tone: SentTone::Bad,
        words: in_doubt(&doubt.order),
    }
}

fn line(loaded: &Loaded, sending: &Sending, addresses: bool) -> SentLine {
    let until = |at: &DateTime<FixedOffset>| moment(at.naive_local(), loaded.now.date());
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
            tone_of_refusal(loaded, sending),
            format!(
                "refused for now, rests until {}{}",
                until(at),
                since(loaded, sending)
            ),
        ),
        Fate::Resting { until: at } => (
            tone_of_refusal(loaded, sending),
            format!(
                "was refused, rests until {} (`--again`: try now){}",
                until(at),
                since(loaded, sending)
            ),
        ),
        Fate::RefusedForGood => (
            SentTone::Bad,
            "refused for good; check the address".to_owned(),
        ),
        Fate::Unknown => (SentTone::Bad, in_doubt(&sending.order)),
        Fate::Waiting => (SentTone::Look, "waits in the outbox".to_owned()),
        Fate::GivenUp => (
            SentTone::Bad,
            "was never taken, and its news is over; tell them yourself if it still matters"
                .to_owned(),
        ),
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

/// Returns since which earlier day a letter is refused for now.
fn refused_for_days(loaded: &Loaded, sending: &Sending) -> Option<NaiveDate> {
    let since = sending.refused_since?.date_naive();
    (since < loaded.now.date()).then_some(since)
}

/// A letter that is refused since yesterday may not arrive before its news is old.
fn tone_of_refusal(loaded: &Loaded, sending: &Sending) -> SentTone {
    match refused_for_days(loaded, sending) {
        Some(_) => SentTone::Bad,
        None => SentTone::Look,
    }
}

fn since(loaded: &Loaded, sending: &Sending) -> String {
    refused_for_days(loaded, sending).map_or(String::new(), |since| {
        format!(
            "; refused since {}, so tell them yourself if it cannot wait",
            full_day(since)
        )
    })
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
