//! `fairday take`: a new order, by questions or by arguments.

use std::io::{IsTerminal, stderr, stdin};
use std::path::PathBuf;

use anyhow::{Result, bail};
use chrono::{Datelike, NaiveDate};
use clap::Args;

use super::chances::Chances;
use super::desk::{Desk, any, any_order, judged, one_of, scalar};
use super::dialogue::Dialogue;
use super::load::{Found, Loaded, find, load};
use super::pieces::pieces;
use super::promised::promise;
use super::{Common, Ended, output};
use crate::intake::draft::Draft;
use crate::intake::name::{file_name, next_number};
use crate::odds::{DayShare, SAFE, first_with};
use crate::order::parse::{Against, parse};
use crate::order::{Delivery, Jurisdiction, Order};
use crate::outside::disk::write_new;
use crate::outside::edit::lock;
use crate::problem::{Problem, Severity};
use crate::view::dates::day;
use crate::view::page::NO_BREAK;
use crate::view::promise::{PromiseScreen, hundred, render_promise};
use crate::view::schema;
use crate::yaml::leaf::Scalar;

/// Take an order.
///
/// Asks for what no argument says, shows the dates that hold for it with the present
/// load, and writes its file; no file is ever overwritten.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub struct TakeArgs {
    /// The customer's name
    #[arg(long)]
    name: Option<String>,
    /// Mail address, the customer's own; more of them, parted by commas, get copies;
    /// none for letters that go another way
    #[arg(long, value_name = "ADDRESS")]
    email: Option<String>,
    /// A piece by the keys of an order file; may be repeated
    #[arg(long = "piece", value_name = "KEYS")]
    pieces: Vec<String>,
    /// A destination of studio.yaml, or pickup
    #[arg(long, value_name = "PLACE")]
    to: Option<String>,
    /// Postal address for the parcel card, its lines parted by commas
    #[arg(long, value_name = "LINES")]
    address: Option<String>,
    /// Language of the letters [default: en]
    #[arg(long, value_name = "CODE")]
    language: Option<String>,
    /// Whose rules hold: eu, uk, us or other [default: as the latest order to that place]
    #[arg(long, value_name = "WHOSE")]
    jurisdiction: Option<String>,
    /// The day by which it leaves, or is ready; `safe` for the first that holds in at
    /// least 95 of 100 weathers, `none` for no promise
    #[arg(long, value_name = "DAY", conflicts_with = "arrives_by")]
    pub(super) promise: Option<String>,
    /// The day by which it is with the customer, where that is what was promised; also
    /// `safe`
    #[arg(long, value_name = "DAY")]
    pub(super) arrives_by: Option<String>,
    /// Number of the order [default: the next of this year]
    #[arg(long)]
    number: Option<String>,
    /// The day it was ordered [default: today]
    #[arg(long, value_name = "DAY")]
    ordered_on: Option<String>,
    /// Why nothing of it may go on yet
    #[arg(long, value_name = "WHY")]
    hold: Option<String>,
    /// Show dates and file, and write nothing
    #[arg(long)]
    preview: bool,
}

const EXAMPLES: &str = "\
Examples:
  fairday take
  fairday take --name \"Ada Brook\" --to home --promise safe
  fairday take --piece \"title: Fern, material: rag-300, size: A4, negative: fern\"
  fairday take --preview";

/// Asks, shows, writes.
pub fn run(common: &Common, args: &TakeArgs) -> Result<Ended> {
    let Some(loaded) = load(common)? else {
        return Ok(Ended::NotDone);
    };
    output::show_problems(common, &loaded.problems);
    let (mut answers, mut questions) = (stdin().lock(), stderr());
    let at_terminal = stdin().is_terminal() && stderr().is_terminal();
    let dialogue = Dialogue {
        answers: &mut answers,
        out: &mut questions,
    };
    take(common, args, &loaded, at_terminal.then_some(dialogue))
}

fn take(
    common: &Common,
    args: &TakeArgs,
    loaded: &Loaded,
    dialogue: Option<Dialogue>,
) -> Result<Ended> {
    let mut desk = Desk {
        studio: &loaded.studio,
        now: loaded.now,
        dialogue,
        missing: Vec::new(),
    };
    let mut draft = draft(args, loaded, &mut desk)?;
    let is_said = args.promise.is_some() || args.arrives_by.is_some();
    if !is_said && desk.dialogue.is_none() {
        desk.missing.push("--promise DAY (or safe, or none)");
    }
    if !desk.missing.is_empty() {
        bail!(
            "not asked without a terminal, and missing: {}",
            desk.missing.join("; ")
        );
    }
    let file = file_name(&draft.number, &draft.name);
    let (order, _) = judge(loaded, &draft, &file)?;
    let safe = show_dates(common, loaded, &order)?;
    draft.promise = promise(args, &mut desk, &draft, safe.as_ref())?;
    let (_, worth_a_look) = judge(loaded, &draft, &file)?;
    output::show_problems(common, &worth_a_look);
    let share = share_of_promise(loaded, &draft, safe.as_ref());
    let text = draft.render(schema_of(loaded));
    if args.preview {
        output::answer(&format!("\n{file}, not written:\n\n{text}"))?;
        return Ok(Ended::Done);
    }
    if let Some(dialogue) = &mut desk.dialogue {
        dialogue.say(&format!("\n{text}"))?;
        if !dialogue.confirm(&format!("Write {file}"), true)? {
            output::answer("Nothing was written.\n")?;
            return Ok(Ended::Done);
        }
    }
    let _lock = lock(&loaded.folder)?;
    let number_before = draft.number.clone();
    renumber(common, args, &mut draft)?;
    let (file, text) = match draft.number == number_before {
        true => (file, text),
        false => (
            file_name(&draft.number, &draft.name),
            draft.render(schema_of(loaded)),
        ),
    };
    write_new(&loaded.folder, &[(PathBuf::from(&file), text)])?;
    output::answer(&format!(
        "Took order {} into {file}.\n{}Next: fairday plan, and fairday notices {}\n",
        draft.number,
        promise_words(&draft, share, loaded.now.date()),
        draft.number
    ))?;
    Ok(Ended::Done)
}

/// Says the promise of an order that was taken, and in how many weathers it holds.
fn promise_words(draft: &Draft, share: Option<f64>, today: NaiveDate) -> String {
    let Some((kind, date)) = &draft.promise else {
        return String::new();
    };
    let shown = NaiveDate::parse(date).map_or(date.clone(), |date| day(date, today));
    let verb = match (kind.as_str(), draft.delivery.as_str()) {
        ("deliver_by", _) => "to arrive",
        (_, "pickup") => "to be ready",
        _ => "to leave",
    };
    let share = share.map(hundred);
    let share = share.map(|share| format!(", which holds in {share} of 100 weathers"));
    let words = format!("Promised {verb} by {shown}{}.\n", share.unwrap_or_default());
    words.replace(NO_BREAK, " ")
}

/// Returns in what share of weathers the promise of the draft holds; none without one, or
/// for a day that has gone by.
fn share_of_promise(loaded: &Loaded, draft: &Draft, safe: Option<&DayShare>) -> Option<f64> {
    let (kind, date) = draft.promise.as_ref()?;
    let date = NaiveDate::parse(date)?;
    let of_safe = |safe: &&DayShare| match kind.as_str() {
        "deliver_by" => safe.arrives_on == date,
        _ => safe.leaves_on == date,
    };
    if let Some(safe) = safe.filter(of_safe) {
        return Some(safe.share);
    }
    let (order, _) = judge(loaded, draft, "").ok()?;
    let own = Chances::of(loaded).dates(&order).0.own;
    own.filter(|_| date >= loaded.now.date())
}

/// Gives the order the next number if another run has taken an order with its number
/// while this one asked.
fn renumber(common: &Common, args: &TakeArgs, draft: &mut Draft) -> Result<()> {
    let Found::Whole(now) = find(common)? else {
        return Ok(());
    };
    let known = now.numbers_in_use();
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    if known.contains(&draft.number.as_str()) {
        if args.number.is_some() {
            bail!(
                "another order has become {} meanwhile; nothing was written",
                draft.number
            );
        }
        let next = next_number(&known, now.now.date().year());
        output::remark(&format!(
            "another order has become {} meanwhile, so this one is {next}",
            draft.number
        ));
        draft.number = next;
    }
    Ok(())
}

/// Says where the schema of orders lies, if the folder has it.
pub fn schema_of(loaded: &Loaded) -> Option<&'static str> {
    let path = loaded.folder.join(schema::FOLDER).join("order.json");
    path.exists().then_some("./schema/order.json")
}

/// Reads the draft as the file it would be; returns the order with what is worth a look.
fn judge(loaded: &Loaded, draft: &Draft, file: &str) -> Result<(Order, Vec<Problem>)> {
    let against = Against {
        studio: Some(&loaded.studio),
        now: Some(loaded.now),
    };
    let (order, problems) = parse(&draft.render(schema_of(loaded)), file, &against);
    if let Some(order) = order {
        return Ok((order, problems));
    }
    // Every word was judged where it was said, so this is about how they go together.
    let errors = problems
        .into_iter()
        .filter(|p| p.severity == Severity::Error);
    let said: Vec<String> = errors.map(|problem| problem.what).collect();
    bail!("this order cannot be taken: {}", said.join("; "))
}

/// Shows the days that hold; returns the one to propose.
fn show_dates(common: &Common, loaded: &Loaded, order: &Order) -> Result<Option<DayShare>> {
    let mut chances = Chances::of(loaded);
    let (dates, days) = chances.dates(order);
    let scene = chances.scene();
    let screen = PromiseScreen {
        studio: &loaded.studio,
        orders: scene.orders,
        order,
        now: loaded.now,
        ground: &chances.ground(),
        dates: &dates,
        days: &days,
    };
    output::answer(&render_promise(&screen, output::setting(common)))?;
    Ok(first_with(&days, SAFE).copied())
}

fn draft(args: &TakeArgs, loaded: &Loaded, desk: &mut Desk) -> Result<Draft> {
    let used = loaded.numbers_in_use();
    let used: Vec<&str> = used.iter().map(String::as_str).collect();
    let today = loaded.now.date();
    let next = next_number(&used, today.year());
    let number = args.number.clone().unwrap_or(next);
    if used.contains(&number.as_str()) {
        bail!("`--number {number}`: there is such an order already");
    }
    let numbered = Draft {
        number: number.clone(),
        ..any_order()
    };
    refuse("--number", &number, &numbered, desk)?;
    let name = desk.need(
        "--name",
        "Customer's name",
        args.name.as_deref(),
        None,
        &any,
    )?;
    let question = "Mail address, copies after commas";
    let emails = desk.may("--email", question, args.email.as_deref(), &|said| {
        parted(said).iter().try_for_each(|one| mail(one))?;
        Ok(said.to_owned())
    })?;
    let emails = emails.map_or(Vec::new(), |said| parted(&said));
    if let Some(tag) = &args.language {
        let spoken = Draft {
            language: Some(tag.clone()),
            ..any_order()
        };
        refuse("--language", tag, &spoken, desk)?;
    }
    let pieces = pieces(&args.pieces, desk)?;
    let places = loaded
        .studio
        .shipping
        .transit_days
        .keys()
        .map(String::as_str);
    let places: Vec<&str> = places.chain(["pickup"]).collect();
    let question = format!("Goes to ({})", places.join(", "));
    let one_of_places = |said: &str| one_of(said, &places);
    let delivery = desk.need("--to", &question, args.to.as_deref(), None, &one_of_places)?;
    let address = match (&args.address, delivery.as_str()) {
        // Who comes for it is asked for no address.
        (None, "pickup") => None,
        (typed, _) => desk.may(
            "--address",
            "Postal address, its lines parted by commas",
            typed.as_deref(),
            &any,
        )?,
    };
    // The latest order to that place, else the latest of all.
    let latest = loaded
        .orders
        .iter()
        .max_by_key(|order| (goes_to(order, &delivery), order.ordered_on));
    let there = latest.filter(|order| goes_to(order, &delivery));
    let latest = match desk.dialogue {
        Some(_) => latest,
        None => there,
    };
    let latest = latest.map(|order| whose(order.jurisdiction));
    let typed = args.jurisdiction.as_deref();
    let typed = typed.or(latest.filter(|_| desk.dialogue.is_none()));
    let question = "Whose rules hold (eu, uk, us, other)";
    let jurisdiction = desk.need(
        "--jurisdiction",
        question,
        typed,
        latest,
        &scalar::<Jurisdiction>,
    )?;
    let ordered_on = match &args.ordered_on {
        Some(day) => judged("--ordered-on", day, &scalar::<NaiveDate>)?,
        None => today.to_string(),
    };
    Ok(Draft {
        number,
        name,
        emails,
        address,
        language: args.language.clone(),
        ordered_on,
        jurisdiction,
        delivery,
        hold: args.hold.clone(),
        pieces,
        ..Draft::default()
    })
}

fn goes_to(order: &Order, place: &str) -> bool {
    match &order.delivery {
        Delivery::Carrier { destination } => destination == place,
        Delivery::Pickup => place == "pickup",
    }
}

fn whose(jurisdiction: Jurisdiction) -> &'static str {
    match jurisdiction {
        Jurisdiction::Eu => "eu",
        Jurisdiction::Uk => "uk",
        Jurisdiction::Us => "us",
        Jurisdiction::Other => "other",
    }
}

/// Refuses a word that is wrong in an order of which nothing else is.
fn refuse(argument: &str, typed: &str, with_it: &Draft, desk: &Desk) -> Result<()> {
    let about_pieces = desk.errors(&any_order());
    let is_new = |problem: &Problem| about_pieces.iter().all(|p| p.what != problem.what);
    let errors = desk.errors(with_it);
    match errors.into_iter().find(is_new) {
        Some(problem) => bail!("`{argument} {typed}`: {}", problem.what),
        None => Ok(()),
    }
}

/// Parts words at commas.
fn parted(said: &str) -> Vec<String> {
    let parts = said.split(',').map(str::trim);
    let parts = parts.filter(|part| !part.is_empty());
    parts.map(str::to_owned).collect()
}

fn mail(said: &str) -> Result<(), String> {
    match said.parse::<lettre::Address>() {
        // A name in the own network reaches no customer.
        Ok(address) if address.domain().contains('.') => Ok(()),
        Ok(_) | Err(_) => Err(format!(
            "expected an address such as ada@example.org, found {said}"
        )),
    }
}
