//! An order as the studio knows it: customer, promise, pieces, what was done.
//!
//! This is the meaning; the shape of the YAML file and the way from one to the
//! other are in `file` and `parse`. A *piece* is one physical print: an entry of the file
//! with three copies is three pieces, numbered through the order.

mod check;
pub mod edit;
pub mod file;
pub mod forget;
pub mod gates;
pub mod parse;
mod pieces;
pub mod target;
pub mod traces;

use chrono::{NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};

use crate::size::Size;
use crate::stage::Stage;
use crate::units::Dose;

/// A commission of one customer.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// The number that the maker gave it, unique in the studio.
    pub number: String,
    /// The file it came from, relative to the studio folder.
    pub file: String,
    /// Who wants it.
    pub customer: Customer,
    /// The day it was taken.
    pub ordered_on: NaiveDate,
    /// What the customer was told; none if no date was given.
    pub promise: Option<Promise>,
    /// Whose law is the default for dates and notices.
    pub jurisdiction: Jurisdiction,
    /// How it gets to the customer.
    pub delivery: Delivery,
    /// How much its lateness counts, 1 for most.
    pub weight: u32,
    /// Why nothing of it may go on, if so.
    pub hold: Option<String>,
    /// All its pieces, in the order of the file.
    pub pieces: Vec<Piece>,
    /// What the customer was told about dates, oldest first.
    pub notified: Vec<Notified>,
    /// The dispatch or the handing over, once it happened.
    pub dispatch: Option<Dispatch>,
    /// The day it was cancelled, if it was.
    pub cancelled_on: Option<NaiveDate>,
}

/// Who ordered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Customer {
    /// Name as in the letter's greeting.
    pub name: String,
    /// Mail address; none if letters go another way.
    pub email: Option<String>,
    /// Others who get every letter, too: whom it is a present for, an assistant.
    pub copies_to: Vec<String>,
    /// Postal address below the name, one line each; none if parcels need none.
    pub address: Vec<String>,
    /// Language of the letters, an IETF tag such as `en`.
    pub language: String,
}

/// What a promised date means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PromiseKind {
    /// The day by which it leaves the studio.
    ShipBy,
    /// The day by which the customer has it.
    DeliverBy,
}

/// A date given to a customer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Promise {
    /// What the date means.
    pub kind: PromiseKind,
    /// The last good day, local to the studio.
    pub date: NaiveDate,
    /// Whether the order is worthless after it (a wedding, an opening).
    pub essential: bool,
}

/// Whose default rules hold for late orders. Not legal advice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Jurisdiction {
    /// European Union.
    Eu,
    /// United Kingdom.
    Uk,
    /// United States.
    Us,
    /// Anywhere else; the simple policy alone.
    Other,
}

/// How an order gets to its customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Delivery {
    /// By carrier, to a destination named in `studio.yaml`.
    Carrier {
        /// Key of the transit days.
        destination: String,
    },
    /// The customer comes for it.
    Pickup,
}

/// One physical print.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Number in its order, from 1 over all entries and copies.
    pub number: u32,
    /// Index of its entry in the file's list, from 0.
    pub entry: usize,
    /// Number of the copy in its entry, from 1.
    pub copy: u32,
    /// Copies that the entry asks for.
    pub copies: u32,
    /// What it shows, for people.
    pub title: String,
    /// Key of a paper or cloth of the studio.
    pub material: String,
    /// Size of the sheet.
    pub size: Size,
    /// What makes the picture.
    pub image: Image,
    /// Whether glass presses and shields it.
    pub cover: Cover,
    /// Sun or lamp.
    pub light: LightSource,
    /// Why it may not go on, if so.
    pub hold: Option<String>,
    /// What was done to it.
    pub progress: Progress,
}

/// What makes the picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Image {
    /// A negative, by its name.
    Negative(String),
    /// Loose objects (a photogram), in the maker's words.
    Objects(String),
}

/// Whether the frame's glass lies over the piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Cover {
    /// Under the glass of the frame.
    Glass,
    /// Open: wind takes loose objects.
    None,
}

/// What prints the piece; a sun promise is a promise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LightSource {
    /// Outdoors.
    Sun,
    /// Under the studio's lamp.
    Lamp,
}

/// What was done to a piece, oldest first, with every remake.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Progress {
    /// Entries as in the file.
    pub events: Vec<Event>,
}

/// One entry of the record of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When, on the studio's clock.
    pub at: NaiveDateTime,
    /// What.
    pub what: Done,
}

/// What an entry says.
#[derive(Debug, Clone, PartialEq)]
pub enum Done {
    /// A stage is behind the piece.
    Stage {
        /// The stage that is done.
        stage: Stage,
        /// What is known of an exposure that was timed.
        exposed: Option<Exposed>,
        /// What is known of a coat.
        coated: Option<Coated>,
    },
    /// Somebody looked at the print and judged its exposure.
    Judged {
        /// How it came out.
        verdict: Verdict,
    },
    /// It goes back to coating, with a reason.
    Remake {
        /// Why, in the maker's words.
        reason: String,
    },
}

impl Done {
    /// Takes a stage of which no more is known than that it is done.
    pub fn stage(stage: Stage) -> Done {
        Done::Stage {
            stage,
            exposed: None,
            coated: None,
        }
    }
}

/// What is known of a coat, for the pieces of its entry.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Coated {
    /// Sensitizer that was poured for them. [ml]
    pub poured_ml: Option<f64>,
    /// What was left of it. [ml]
    pub left_ml: Option<f64>,
    /// Batch of the paper or cloth, in the maker's words.
    pub batch: Option<String>,
    /// Batch of the mix or of its stocks, in the maker's words.
    pub mix: Option<String>,
}

impl Coated {
    /// Returns nothing for a coat of which nothing is known.
    pub fn if_known(self) -> Option<Coated> {
        (self != Coated::default()).then_some(self)
    }
}

/// An exposure that was timed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposed {
    /// How long it lay in the light. [min]
    pub minutes: f64,
    /// How long it was to lie there by what was known when it began. [min]
    pub planned_minutes: Option<f64>,
    /// What it got, by the sky of that day.
    pub dose: Option<Dose>,
    /// Standard deviation of the logarithm of that dose.
    pub dose_spread: Option<f64>,
}

impl Exposed {
    /// Takes an exposure of which the minutes are all that is known. [min]
    pub fn of_minutes(minutes: f64) -> Exposed {
        Exposed {
            minutes,
            planned_minutes: None,
            dose: None,
            dose_spread: None,
        }
    }
}

/// How a print came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Too little light.
    Pale,
    /// Right.
    Good,
    /// Too much light.
    Deep,
}

impl Verdict {
    /// Returns the word for it.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Pale => "pale",
            Verdict::Good => "good",
            Verdict::Deep => "deep",
        }
    }
}

/// One try at a piece: how it was exposed and what was thought of it in the end.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Try {
    /// When it was taken in, and what it got, if that was noted.
    pub exposed: Option<(NaiveDateTime, Exposed)>,
    /// The last verdict, which is the one that stands, and when it was given.
    pub verdict: Option<(NaiveDateTime, Verdict)>,
}

impl Try {
    fn of(events: &[Event]) -> Try {
        let mut of = Try::default();
        for event in events {
            match event.what {
                Done::Stage {
                    stage: Stage::Exposing,
                    exposed: Some(exposed),
                    ..
                } => of.exposed = Some((event.at, exposed)),
                Done::Judged { verdict } => of.verdict = Some((event.at, verdict)),
                Done::Stage { .. } | Done::Remake { .. } => {}
            }
        }
        of
    }
}

impl Progress {
    /// Returns the stage that comes next; none for a piece that has left.
    pub fn stage(&self) -> Option<Stage> {
        let last = self
            .current()
            .iter()
            .rev()
            .find_map(|event| match event.what {
                Done::Stage { stage, .. } => Some(stage),
                Done::Judged { .. } | Done::Remake { .. } => None,
            });
        last.map_or(Some(Stage::Coating), Stage::next)
    }

    /// Returns when `stage` was done, in the present try; none before a remake counts.
    pub fn done_at(&self, stage: Stage) -> Option<NaiveDateTime> {
        self.current()
            .iter()
            .rev()
            .find_map(|event| match &event.what {
                Done::Stage { stage: done, .. } if *done == stage => Some(event.at),
                Done::Stage { .. } | Done::Judged { .. } | Done::Remake { .. } => None,
            })
    }

    /// Returns what is known of the coat of the present try.
    pub fn coat(&self) -> Option<&Coated> {
        let coats = self.current().iter().rev();
        let mut coats = coats.filter_map(|event| match &event.what {
            Done::Stage {
                stage: Stage::Coating,
                coated,
                ..
            } => Some(coated.as_ref()),
            Done::Stage { .. } | Done::Judged { .. } | Done::Remake { .. } => None,
        });
        coats.next().flatten()
    }

    /// Returns how the present try came out; none while nobody has judged it.
    pub fn verdict(&self) -> Option<Verdict> {
        let mut events = self.current().iter().rev();
        events.find_map(|event| match event.what {
            Done::Judged { verdict } => Some(verdict),
            Done::Stage { .. } | Done::Remake { .. } => None,
        })
    }

    /// Returns the tries, from one remake to the next, that were exposed or judged.
    pub fn tries(&self) -> Vec<Try> {
        let remade = |event: &Event| matches!(event.what, Done::Remake { .. });
        let tries = self.events.split(remade).map(Try::of);
        tries
            .filter(|of| of.exposed.is_some() || of.verdict.is_some())
            .collect()
    }

    /// Returns how often the piece went back to coating.
    pub fn remakes(&self) -> impl Iterator<Item = (NaiveDateTime, &str)> {
        self.events.iter().filter_map(|event| match &event.what {
            Done::Remake { reason } => Some((event.at, reason.as_str())),
            Done::Stage { .. } | Done::Judged { .. } => None,
        })
    }

    /// Returns the entries since the last remake.
    fn current(&self) -> &[Event] {
        let remade = |event: &Event| matches!(event.what, Done::Remake { .. });
        let from = self
            .events
            .iter()
            .rposition(remade)
            .map_or(0, |index| index + 1);
        &self.events[from..]
    }
}

impl Order {
    /// Returns whether nothing is left to do: it has left, or it was cancelled.
    pub fn is_closed(&self) -> bool {
        self.dispatch.is_some() || self.cancelled_on.is_some()
    }

    /// Returns how a letter or a screen names piece `number` (`piece 2 of 5`).
    pub fn piece_name(&self, number: u32) -> String {
        format!("piece {number} of {}", self.pieces.len())
    }
}

/// A letter about a date that the customer got.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notified {
    /// The day it went out.
    pub on: NaiveDate,
    /// Its kind: `taken`, `planned`, `delayed`, `remade`, `dispatched`, `ready`, `cancelled`.
    pub kind: String,
    /// The date that it stated; none for "unknown".
    pub date: Option<NaiveDate>,
}

/// How and when the order left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dispatch {
    /// The day.
    pub on: NaiveDate,
    /// Who carries it; none when it was handed over at the door.
    pub carrier: Option<String>,
    /// Tracking number.
    pub tracking: Option<String>,
}
