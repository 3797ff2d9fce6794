//! `fairday take`: a new order, by questions or by arguments.

use std::collections::BTreeMap;
use std::io::{IsTerminal, stderr, stdin};
use std::path::PathBuf;

use anyhow::{Result, bail};
use chrono::{Datelike, NaiveDate};
use clap::Args;

use super::chances::Chances;
use super::dialogue::Dialogue;
use super::load::{Found, Loaded, find, load};
use super::{Common, Ended, output, typed};
use crate::intake::draft::{Draft, PieceDraft};
use crate::intake::name::{file_name, next_number};
use crate::order::file::PieceFile;
use crate::order::parse::{Against, parse};
use crate::order::{Cover, Delivery, Jurisdiction, LightSource, Order};
use crate::outside::disk::write_new;
use crate::outside::edit::lock;
use crate::problem::{Severity, did_you_mean};
use crate::size::Size;
use crate::studio::Studio;
use crate::view::promise::{PromiseScreen, render_promise};
use crate::view::schema;
use crate::yaml::leaf::{Leaf, Scalar};

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
    /// Mail address; none for letters that go another way
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
    /// The day by which it leaves; `safe` for the one that holds in 95 of 100
    /// weathers, `none` for no promise
    #[arg(long, value_name = "DAY")]
    promise: Option<String>,
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

/// The chance of the date that is proposed.
const PROPOSED: f64 = 0.95;

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
        dialogue,
        missing: Vec::new(),
    };
    let mut draft = draft(args, loaded, &mut desk)?;
    if args.promise.is_none() && desk.dialogue.is_none() {
        desk.missing.push("--promise DAY (or safe, or none)");
    }
    if !desk.missing.is_empty() {
        bail!(
            "not asked without a terminal, and missing: {}",
            desk.missing.join("; ")
        );
    }
    let file = file_name(&draft.number, &draft.name);
    let Some(order) = judge(common, loaded, &draft, &file) else {
        return Ok(Ended::NotDone);
    };
    let proposed = show_dates(common, loaded, &order)?;
    draft.promise = promise(args, &mut desk, proposed)?;
    if judge(common, loaded, &draft, &file).is_none() {
        return Ok(Ended::NotDone);
    }
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
        "Took order {} into {file}.\nNext: fairday plan, and fairday notices {}\n",
        draft.number, draft.number
    ))?;
    Ok(Ended::Done)
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

/// Reads the draft as the file it would be; shows what is wrong with it.
fn judge(common: &Common, loaded: &Loaded, draft: &Draft, file: &str) -> Option<Order> {
    let against = Against {
        studio: Some(&loaded.studio),
        now: Some(loaded.now),
    };
    let (order, problems) = parse(&draft.render(None), file, &against);
    output::show_problems(common, &problems);
    if order.is_none() {
        output::remark("nothing was written");
    }
    order
}

/// Shows the dates that hold; returns the one to propose.
fn show_dates(common: &Common, loaded: &Loaded, order: &Order) -> Result<Option<NaiveDate>> {
    let mut chances = Chances::of(loaded);
    let dates = chances.dates(order);
    let scene = chances.scene();
    let screen = PromiseScreen {
        studio: &loaded.studio,
        orders: scene.orders,
        order,
        now: loaded.now,
        ground: &chances.ground(),
        dates: &dates,
    };
    output::answer(&render_promise(&screen, output::setting(common)))?;
    let held = dates.held.iter().flatten();
    let safe = held.into_iter().find(|held| held.level >= PROPOSED);
    Ok(safe.map(|held| held.leaves_on))
}

fn promise(
    args: &TakeArgs,
    desk: &mut Desk,
    proposed: Option<NaiveDate>,
) -> Result<Option<(String, String)>> {
    let usual = proposed.map_or("none".to_owned(), |day| day.to_string());
    let judge = |said: &str| match (said, proposed) {
        ("none", _) => Ok(String::new()),
        ("safe", Some(day)) => Ok(day.to_string()),
        ("safe", None) => Err("no day holds in 95 of 100 weathers; say a day, or none".to_owned()),
        (said, _) => scalar::<NaiveDate>(said),
    };
    let question = "Promised to leave by (a day, safe or none)";
    let day = desk.need(
        "--promise",
        question,
        args.promise.as_deref(),
        Some(&usual),
        &judge,
    )?;
    Ok((!day.is_empty()).then(|| ("ship_by".to_owned(), day)))
}

/// Where words come from: arguments first, then questions.
struct Desk<'s, 'd> {
    studio: &'s Studio,
    dialogue: Option<Dialogue<'d>>,
    missing: Vec<&'static str>,
}

impl Desk<'_, '_> {
    /// Returns what an argument says, else the answer; empty, and noted, without both.
    fn need(
        &mut self,
        argument: &'static str,
        question: &str,
        typed: Option<&str>,
        usual: Option<&str>,
        judge: &dyn Fn(&str) -> Result<String, String>,
    ) -> Result<String> {
        if let Some(typed) = typed {
            return match judge(typed) {
                Ok(word) => Ok(word),
                Err(expected) => bail!("`{argument} {typed}`: {expected}"),
            };
        }
        match &mut self.dialogue {
            Some(dialogue) => dialogue.ask(question, usual, judge),
            None => {
                self.missing.push(argument);
                Ok(String::new())
            }
        }
    }

    /// Returns what an argument says, else the answer; nothing without both.
    fn may(
        &mut self,
        question: &str,
        typed: Option<&str>,
        judge: &dyn Fn(&str) -> Result<String, String>,
    ) -> Result<Option<String>> {
        let said = match (typed, &mut self.dialogue) {
            (Some(typed), _) => typed.to_owned(),
            (None, Some(dialogue)) => dialogue.ask(question, Some(""), judge)?,
            (None, None) => String::new(),
        };
        Ok(Some(said).filter(|said| !said.is_empty() && said != "none"))
    }
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
    let name = desk.need(
        "--name",
        "Customer's name",
        args.name.as_deref(),
        None,
        &any,
    )?;
    let email = desk.may("Mail address", args.email.as_deref(), &mail)?;
    let pieces = pieces(args, desk)?;
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
        Some(day) => match scalar::<NaiveDate>(day) {
            Ok(day) => day,
            Err(expected) => bail!("`--ordered-on {day}`: {expected}"),
        },
        None => today.to_string(),
    };
    Ok(Draft {
        number,
        name,
        email,
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

fn pieces(args: &TakeArgs, desk: &mut Desk) -> Result<Vec<PieceDraft>> {
    if !args.pieces.is_empty() {
        return args.pieces.iter().map(|keys| typed_piece(keys)).collect();
    }
    if desk.dialogue.is_none() {
        desk.missing
            .push("--piece \"title: …, material: …, size: …, negative: …\"");
        return Ok(Vec::new());
    }
    let mut pieces = vec![good_piece(desk)?];
    while let Some(dialogue) = &mut desk.dialogue
        && dialogue.confirm("Another piece", false)?
    {
        pieces.push(good_piece(desk)?);
    }
    Ok(pieces)
}

/// Asks for a piece until it is one that the studio can make.
fn good_piece(desk: &mut Desk) -> Result<PieceDraft> {
    loop {
        let piece = asked_piece(desk)?;
        let faults = faults(desk.studio, &piece);
        match &mut desk.dialogue {
            Some(dialogue) if !faults.is_empty() => {
                for fault in faults {
                    dialogue.say(&format!("  {fault}"))?;
                }
                dialogue.say("  so this piece is asked for once more")?;
            }
            _ => return Ok(piece),
        }
    }
}

/// Says what is wrong with a piece, as if it were all of an order.
fn faults(studio: &Studio, piece: &PieceDraft) -> Vec<String> {
    let draft = Draft {
        number: "new".to_owned(),
        name: "new".to_owned(),
        // Any day will do.
        ordered_on: "2000-01-01".to_owned(),
        jurisdiction: whose(Jurisdiction::Other).to_owned(),
        delivery: "pickup".to_owned(),
        pieces: vec![piece.clone()],
        ..Draft::default()
    };
    let against = Against {
        studio: Some(studio),
        now: None,
    };
    let (_, problems) = parse(&draft.render(None), "", &against);
    let errors = problems
        .into_iter()
        .filter(|problem| problem.severity == Severity::Error);
    errors.map(|problem| problem.what).collect()
}

/// Keys that a new piece may have.
const PIECE_KEYS: [&str; 8] = [
    "title", "material", "size", "copies", "negative", "objects", "cover", "light",
];

/// Reads a piece by the keys of an order file, in one line.
fn typed_piece(keys: &str) -> Result<PieceDraft> {
    let inside = keys.trim().trim_start_matches('{').trim_end_matches('}');
    let text = format!("{{{inside}}}");
    let shape: Result<PieceFile, _> = serde_yaml::from_str(&text);
    let typed: BTreeMap<String, serde_yaml::Value> =
        serde_yaml::from_str(&text).unwrap_or_default();
    let odd = typed.keys().find(|key| !PIECE_KEYS.contains(&key.as_str()));
    let Some(shape) = shape.ok().filter(|_| odd.is_none()) else {
        let odd = odd.map(|key| format!("; `{key}` is none of them"));
        bail!(
            "`--piece \"{keys}\"`: expected keys as in an order file, such as \"title: Fern, \
             material: rag-300, size: A4, copies: 2, negative: fern\"{}",
            odd.unwrap_or_default()
        );
    };
    fn word<T: Scalar>(leaf: &Option<Leaf<T>>) -> Option<String> {
        leaf.as_ref().map(|leaf| leaf.words().to_owned())
    }
    Ok(PieceDraft {
        title: word(&shape.title).unwrap_or_default(),
        material: word(&shape.material).unwrap_or_default(),
        size: word(&shape.size).unwrap_or_default(),
        copies: word(&shape.copies),
        negative: word(&shape.negative),
        objects: word(&shape.objects),
        cover: word(&shape.cover),
        light: word(&shape.light),
    })
}

fn asked_piece(desk: &mut Desk) -> Result<PieceDraft> {
    let studio = desk.studio;
    let materials: Vec<&str> = studio.materials.keys().map(String::as_str).collect();
    let has_lamp = studio.frames_for(LightSource::Lamp).next().is_some();
    let Some(dialogue) = &mut desk.dialogue else {
        return Ok(PieceDraft::default());
    };
    let title = dialogue.ask("What it shows", None, &any)?;
    let question = format!("Material ({})", materials.join(", "));
    let material = dialogue.ask(&question, None, &|said| one_of(said, &materials))?;
    let size = dialogue.ask("Size, such as A4 or 8x10 in", None, &scalar::<Size>)?;
    let copies = dialogue.ask("Copies", Some("1"), &scalar::<u32>)?;
    let negative = dialogue.ask("Name of the negative", Some(""), &any)?;
    let mut piece = PieceDraft {
        title,
        material,
        size,
        copies: Some(copies).filter(|copies| copies != "1"),
        ..PieceDraft::default()
    };
    if negative.is_empty() {
        piece.objects = Some(dialogue.ask("Which loose objects", None, &any)?);
        let question = "Under glass, or none over them (glass, none)";
        piece.cover = Some(dialogue.ask(question, Some("none"), &scalar::<Cover>)?);
    } else {
        piece.negative = Some(negative);
    }
    if has_lamp {
        let light = dialogue.ask("Light (sun, lamp)", Some("sun"), &scalar::<LightSource>)?;
        piece.light = Some(light).filter(|light| light != "sun");
    }
    Ok(piece)
}

fn any(said: &str) -> Result<String, String> {
    match said.is_empty() {
        true => Err("expected a few words".to_owned()),
        false => Ok(said.to_owned()),
    }
}

fn mail(said: &str) -> Result<String, String> {
    match said.parse::<lettre::Address>() {
        // A name in the own network reaches no customer.
        Ok(address) if address.domain().contains('.') => Ok(said.to_owned()),
        Ok(_) | Err(_) => Err("expected an address such as ada@example.org".to_owned()),
    }
}

fn scalar<T: Scalar>(said: &str) -> Result<String, String> {
    typed::value::<T>(said).map(|_| said.to_owned())
}

fn one_of(said: &str, known: &[&str]) -> Result<String, String> {
    if known.contains(&said) {
        return Ok(said.to_owned());
    }
    let meant = did_you_mean(said, known).map(|word| format!("; did you mean {word}?"));
    Err(format!(
        "expected one of {}{}",
        known.join(", "),
        meant.unwrap_or_default()
    ))
}
