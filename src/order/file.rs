//! The shape of an order file: which keys stand where, and nothing of their meaning.

use chrono::{NaiveDate, NaiveDateTime};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;

use super::{Cover, Jurisdiction, LightSource, PromiseKind, Verdict};
use crate::size::Size;
use crate::yaml::fields::keys_of;
use crate::yaml::leaf::{Leaf, Scalar};
use crate::yaml::schema;
use crate::yaml::several::Several;
use crate::yaml::trail::Step;

/// An order file as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "keys with values, such as `order: 2026-014`")]
#[schemars(deny_unknown_fields)]
pub struct OrderFile {
    /// Number of the order.
    #[schemars(required)]
    pub order: Option<Leaf<String>>,
    /// The number that it has elsewhere, in a shop; kept so that it is taken once only.
    pub reference: Option<Leaf<String>>,
    /// Who ordered.
    #[schemars(required)]
    pub customer: Option<CustomerFile>,
    /// Day it was taken.
    #[schemars(required)]
    pub ordered_on: Option<Leaf<NaiveDate>>,
    /// Date given to the customer.
    pub promise: Option<PromiseFile>,
    /// Whose default rules hold.
    #[schemars(required)]
    pub jurisdiction: Option<Leaf<Jurisdiction>>,
    /// A destination of the studio, or `pickup`.
    #[schemars(required)]
    pub delivery: Option<Leaf<String>>,
    /// How much lateness counts.
    #[schemars(range(min = 1, max = 100))]
    pub weight: Option<Leaf<u32>>,
    /// Why the whole order waits.
    pub hold: Option<Leaf<String>>,
    /// Day it was cancelled.
    pub cancelled_on: Option<Leaf<NaiveDate>>,
    /// What was bought.
    #[schemars(required, length(min = 1))]
    pub pieces: Option<Vec<PieceFile>>,
    /// What the customer was told.
    pub notified: Option<Vec<NotifiedFile>>,
    /// How it left.
    pub dispatch: Option<DispatchFile>,
}

/// The key `customer`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`name:` and `email:` below `customer:`")]
#[schemars(deny_unknown_fields)]
pub struct CustomerFile {
    /// Name as in the greeting.
    #[schemars(required)]
    pub name: Option<Leaf<String>>,
    /// Mail address, or a list: the customer's own first, then whoever gets copies.
    #[serde(default)]
    #[schemars(schema_with = "mail_addresses")]
    pub email: Option<Several<String>>,
    /// Postal address, line by line.
    pub address: Option<Leaf<String>>,
    /// Language of the letters.
    pub language: Option<Leaf<String>>,
}

/// The key `promise`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`kind:` and `date:` below `promise:`")]
#[schemars(deny_unknown_fields)]
pub struct PromiseFile {
    /// What the date means.
    #[schemars(required)]
    pub kind: Option<Leaf<PromiseKind>>,
    /// The last good day.
    #[schemars(required)]
    pub date: Option<Leaf<NaiveDate>>,
    /// Whether the order is worthless after it.
    pub essential: Option<Leaf<bool>>,
}

/// An entry of `pieces`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "the keys of a piece, such as `title:` and `size:`")]
#[schemars(deny_unknown_fields)]
#[schemars(extend("anyOf" = [
    {"required": ["negative"], "properties": {"objects": {"type": "null"}}},
    {"required": ["objects", "cover"], "properties": {"negative": {"type": "null"}}},
]))]
pub struct PieceFile {
    /// What it shows.
    #[schemars(required)]
    pub title: Option<Leaf<String>>,
    /// Key of a paper or cloth.
    #[schemars(required)]
    pub material: Option<Leaf<String>>,
    /// Size of the sheet.
    #[schemars(required)]
    pub size: Option<Leaf<Size>>,
    /// How many alike.
    #[schemars(range(min = 1, max = 500))]
    pub copies: Option<Leaf<u32>>,
    /// Name of the negative.
    pub negative: Option<Leaf<String>>,
    /// Which loose objects.
    pub objects: Option<Leaf<String>>,
    /// Glass or none.
    pub cover: Option<Leaf<Cover>>,
    /// Sun or lamp.
    pub light: Option<Leaf<LightSource>>,
    /// Why it waits.
    pub hold: Option<Leaf<String>>,
    /// What was done.
    pub progress: Option<Vec<EventFile>>,
}

/// An entry of `progress`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "an entry such as `{at: 2026-05-10 18:30, did: coated}`")]
#[schemars(deny_unknown_fields)]
#[schemars(extend(
    "if" = {"properties": {"did": {"const": "remake"}}},
    "then" = {"required": ["reason"], "not": {"required": ["minutes"]}},
))]
#[schemars(extend("dependencies" = {"left_ml": ["poured_ml"]}))]
pub struct EventFile {
    /// When.
    #[schemars(required)]
    pub at: Option<Leaf<NaiveDateTime>>,
    /// What.
    #[schemars(required)]
    pub did: Option<Leaf<Did>>,
    /// Which copies; all of them without it.
    #[schemars(length(min = 1))]
    pub copies: Option<Vec<Leaf<u32>>>,
    /// How long it was exposed. [min]
    #[schemars(range(min = 0, max = 1440))]
    pub minutes: Option<Leaf<f64>>,
    /// How long it was to be exposed. [min]
    #[schemars(range(min = 0, max = 1440))]
    pub planned_minutes: Option<Leaf<f64>>,
    /// What it got. [kJ/m²]
    #[schemars(range(min = 0, max = 100000))]
    pub dose_kj_m2: Option<Leaf<f64>>,
    /// Standard deviation of the logarithm of that dose.
    #[schemars(range(min = 0, max = 5))]
    pub dose_spread: Option<Leaf<f64>>,
    /// Sensitizer poured for these copies. [ml]
    #[schemars(range(min = 0.01, max = 100000))]
    pub poured_ml: Option<Leaf<f64>>,
    /// What was left of it. [ml]
    #[schemars(range(min = 0, max = 100000))]
    pub left_ml: Option<Leaf<f64>>,
    /// Batch of the paper or cloth.
    pub batch: Option<Leaf<String>>,
    /// Batch of the mix.
    pub mix: Option<Leaf<String>>,
    /// How it came out.
    pub verdict: Option<Leaf<Verdict>>,
    /// Why it is made again.
    pub reason: Option<Leaf<String>>,
}

/// An entry of `notified`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "an entry such as `{on: 2026-04-28, kind: taken, date: 2026-05-15}`")]
#[schemars(deny_unknown_fields)]
pub struct NotifiedFile {
    /// The day the letter went out.
    #[schemars(required)]
    pub on: Option<Leaf<NaiveDate>>,
    /// What it was about.
    #[schemars(required)]
    pub kind: Option<Leaf<NoticeKind>>,
    /// The date it stated.
    pub date: Option<Leaf<StatedDate>>,
}

/// The key `dispatch`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "`on:`, and `carrier:` if there is one, below `dispatch:`")]
#[schemars(deny_unknown_fields)]
pub struct DispatchFile {
    /// The day.
    #[schemars(required)]
    pub on: Option<Leaf<NaiveDate>>,
    /// Who carries it.
    pub carrier: Option<Leaf<String>>,
    /// Tracking number.
    pub tracking: Option<Leaf<String>>,
}

/// Returns what an editor may know of one mail address or a list of them.
fn mail_addresses(_: &mut SchemaGenerator) -> Schema {
    let one = json_schema!({"type": "string", "pattern": ".@.+[.]."});
    json_schema!({"anyOf": [one, {"type": "array", "items": one, "minItems": 1}, {"type": "null"}]})
}

/// The keys that may stand at a place of an order file.
pub fn known_keys(at: &[Step]) -> &'static [&'static str] {
    let key = |step: &Step| match step {
        Step::Key(key) => key.clone(),
        Step::Index(_) => "-".to_owned(),
    };
    let place: Vec<String> = at.iter().map(key).collect();
    match place.join(" ").as_str() {
        "" => keys_of::<OrderFile>(),
        "customer" => keys_of::<CustomerFile>(),
        "promise" => keys_of::<PromiseFile>(),
        "pieces -" => keys_of::<PieceFile>(),
        "pieces - progress -" => keys_of::<EventFile>(),
        "notified -" => keys_of::<NotifiedFile>(),
        "dispatch" => keys_of::<DispatchFile>(),
        _ => &[],
    }
}

/// The word of a progress entry: a stage that is done, `judged`, or `remake`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Did {
    /// The stage is behind the piece.
    Stage(crate::stage::Stage),
    /// Its exposure was judged.
    Judged,
    /// Back to coating.
    Remake,
}

impl Did {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Did::Stage(stage) => stage.done(),
            Did::Judged => "judged",
            Did::Remake => "remake",
        }
    }
}

impl Scalar for Did {
    const EXPECTED: &'static str = "what was done";

    fn parse(words: &str) -> Option<Did> {
        match words {
            "remake" => Some(Did::Remake),
            "judged" => Some(Did::Judged),
            _ => crate::stage::Stage::find_done(words).map(Did::Stage),
        }
    }

    fn choices() -> &'static [&'static str] {
        &[
            "coated", "dried", "exposed", "washed", "finished", "shipped", "judged", "remake",
        ]
    }

    fn guess(words: &str) -> Option<String> {
        let stages = crate::stage::Stage::ALL;
        let stage = stages.iter().find(|stage| stage.name() == words)?;
        Some(stage.done().to_owned())
    }
}

/// The kind of a letter about dates.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticeKind(pub String);

impl Scalar for NoticeKind {
    const EXPECTED: &'static str = "the kind of a letter";

    fn parse(words: &str) -> Option<NoticeKind> {
        let known = Self::choices().contains(&words);
        known.then(|| NoticeKind(words.to_owned()))
    }

    fn choices() -> &'static [&'static str] {
        &[
            "taken",
            "planned",
            "delayed",
            "remade",
            "dispatched",
            "ready",
            "cancelled",
        ]
    }
}

/// A date in a letter, which may have been said to be unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StatedDate(pub Option<NaiveDate>);

impl Scalar for StatedDate {
    const EXPECTED: &'static str = "a date such as `2026-05-15`, or `unknown`";

    fn parse(words: &str) -> Option<StatedDate> {
        match words {
            "unknown" => Some(StatedDate(None)),
            _ => NaiveDate::parse(words).map(|date| StatedDate(Some(date))),
        }
    }

    fn guess(words: &str) -> Option<String> {
        NaiveDate::guess(words)
    }

    fn advice(words: &str) -> Option<String> {
        NaiveDate::advice(words)
    }

    fn schema() -> Schema {
        schema::date_or("unknown")
    }
}

impl Scalar for PromiseKind {
    const EXPECTED: &'static str = "`ship_by` or `deliver_by`";

    fn parse(words: &str) -> Option<PromiseKind> {
        match words {
            "ship_by" => Some(PromiseKind::ShipBy),
            "deliver_by" => Some(PromiseKind::DeliverBy),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["ship_by", "deliver_by"]
    }
}

impl Scalar for Jurisdiction {
    const EXPECTED: &'static str = "`eu`, `uk`, `us` or `other`";

    fn parse(words: &str) -> Option<Jurisdiction> {
        match words.to_ascii_lowercase().as_str() {
            "eu" => Some(Jurisdiction::Eu),
            "uk" => Some(Jurisdiction::Uk),
            "us" => Some(Jurisdiction::Us),
            "other" => Some(Jurisdiction::Other),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["eu", "uk", "us", "other"]
    }

    fn schema() -> Schema {
        schema::words_in_any_case(Self::choices())
    }
}

impl Scalar for Cover {
    const EXPECTED: &'static str = "`glass` or `none`";

    fn parse(words: &str) -> Option<Cover> {
        match words {
            "glass" => Some(Cover::Glass),
            "none" => Some(Cover::None),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["glass", "none"]
    }
}

impl Scalar for Verdict {
    const EXPECTED: &'static str = "`pale`, `good` or `deep`";

    fn parse(words: &str) -> Option<Verdict> {
        match words {
            "pale" => Some(Verdict::Pale),
            "good" => Some(Verdict::Good),
            "deep" => Some(Verdict::Deep),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["pale", "good", "deep"]
    }

    fn guess(words: &str) -> Option<String> {
        let word = match words.to_ascii_lowercase().as_str() {
            "light" | "too light" | "thin" | "weak" | "underexposed" | "too short" => "pale",
            "right" | "fine" | "ok" | "yes" | "perfect" => "good",
            "dark" | "too dark" | "heavy" | "overexposed" | "too long" => "deep",
            _ => return None,
        };
        Some(word.to_owned())
    }
}

impl Scalar for LightSource {
    const EXPECTED: &'static str = "`sun` or `lamp`";

    fn parse(words: &str) -> Option<LightSource> {
        match words {
            "sun" => Some(LightSource::Sun),
            "lamp" => Some(LightSource::Lamp),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["sun", "lamp"]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mapping_of_the_file_tells_its_keys() {
        let key = |words: &str| Step::Key(words.to_owned());
        let event = [
            key("pieces"),
            Step::Index(3),
            key("progress"),
            Step::Index(0),
        ];
        assert_eq!(
            known_keys(&event),
            [
                "at",
                "did",
                "copies",
                "minutes",
                "planned_minutes",
                "dose_kj_m2",
                "dose_spread",
                "poured_ml",
                "left_ml",
                "batch",
                "mix",
                "verdict",
                "reason"
            ]
        );
        assert!(known_keys(&[]).contains(&"ordered_on"));
        assert!(known_keys(&[key("title")]).is_empty());
    }

    #[test]
    fn the_name_of_a_stage_is_guessed_to_mean_that_it_is_done() {
        assert_eq!(Did::guess("washing").as_deref(), Some("washed"));
    }
}
