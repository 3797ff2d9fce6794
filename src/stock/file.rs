//! The shape of `stock.yaml`: which keys stand where, and nothing of their meaning.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use schemars::{JsonSchema, Schema};
use serde::Deserialize;

use super::Part;
use crate::size::Size;
use crate::yaml::fields::keys_of;
use crate::yaml::leaf::{Leaf, Scalar};
use crate::yaml::schema;
use crate::yaml::trail::Step;

/// `stock.yaml` as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "keys with lists, such as `sheets:`")]
#[schemars(deny_unknown_fields)]
pub struct StockFile {
    /// Paper, and cloth that was cut to sheets.
    pub sheets: Option<Vec<SheetsFile>>,
    /// Cloth by length.
    pub rolls: Option<Vec<RollFile>>,
    /// Salts in their jars.
    pub salts: Option<Vec<SaltFile>>,
    /// Bottles of stock solution.
    pub bottles: Option<Vec<BottleFile>>,
    /// Mailers, boxes, tubes.
    pub packing: Option<Vec<PackingFile>>,
    /// How stocks keep, how long buying takes.
    pub rules: Option<RulesFile>,
}

/// An entry of `sheets`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    expecting = "an entry such as `{material: rag-300, size: A3, count: 12, counted_at: 2026-05-08}`"
)]
#[schemars(deny_unknown_fields)]
#[schemars(extend("anyOf" = [{"required": ["counted_at"]}, {"required": ["arrives_on"]}]))]
pub struct SheetsFile {
    /// Key of a paper or cloth of the studio.
    #[schemars(required)]
    pub material: Option<Leaf<String>>,
    /// Size of one sheet.
    #[schemars(required)]
    pub size: Option<Leaf<Size>>,
    /// How many.
    #[schemars(required, range(min = 0, max = 100000))]
    pub count: Option<Leaf<u32>>,
    /// When they were counted: a day as it began, or a moment.
    pub counted_at: Option<Leaf<CountedAt>>,
    /// Day on which they come, if they are ordered.
    pub arrives_on: Option<Leaf<NaiveDate>>,
    /// Their batch.
    pub batch: Option<Leaf<String>>,
}

/// An entry of `rolls`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    expecting = "an entry such as `{material: linen-170, width_cm: 140, length_cm: 250, counted_at: 2026-05-08}`"
)]
#[schemars(deny_unknown_fields)]
#[schemars(extend("anyOf" = [{"required": ["counted_at"]}, {"required": ["arrives_on"]}]))]
pub struct RollFile {
    /// Key of a cloth or paper of the studio.
    #[schemars(required)]
    pub material: Option<Leaf<String>>,
    /// Width. [cm]
    #[schemars(required, range(min = 1, max = 1000))]
    pub width_cm: Option<Leaf<f64>>,
    /// What is on it. [cm]
    #[schemars(required, range(min = 0, max = 100000))]
    pub length_cm: Option<Leaf<f64>>,
    /// When it was measured: a day as it began, or a moment.
    pub counted_at: Option<Leaf<CountedAt>>,
    /// Day on which it comes, if it is ordered.
    pub arrives_on: Option<Leaf<NaiveDate>>,
    /// Its batch.
    pub batch: Option<Leaf<String>>,
}

/// An entry of `salts`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    expecting = "an entry such as `{stock: a, name: citrate, grams: 120, counted_at: 2026-05-08}`"
)]
#[schemars(deny_unknown_fields)]
pub struct SaltFile {
    /// Which stock it makes.
    #[schemars(required)]
    pub stock: Option<Leaf<Part>>,
    /// Its name for people.
    pub name: Option<Leaf<String>>,
    /// What was there. [g]
    #[schemars(required, range(min = 0, max = 100000))]
    pub grams: Option<Leaf<f64>>,
    /// When it was weighed: a day as it began, or a moment.
    #[schemars(required)]
    pub counted_at: Option<Leaf<CountedAt>>,
}

/// An entry of `bottles`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(expecting = "an entry such as `{stock: a, ml: 250, made_at: 2026-05-03}`")]
#[schemars(deny_unknown_fields)]
#[schemars(extend("dependencies" = {"left_ml": ["counted_at"], "counted_at": ["left_ml"]}))]
pub struct BottleFile {
    /// Which stock is in it.
    #[schemars(required)]
    pub stock: Option<Leaf<Part>>,
    /// What was made. [ml]
    #[schemars(required, range(min = 0, max = 100000))]
    pub ml: Option<Leaf<f64>>,
    /// When it was made: a day, taken as its evening, or a moment.
    #[schemars(required)]
    pub made_at: Option<Leaf<CountedAt>>,
    /// What was left when it was looked at again. [ml]
    #[schemars(range(min = 0, max = 100000))]
    pub left_ml: Option<Leaf<f64>>,
    /// When that was: a day as it began, or a moment.
    pub counted_at: Option<Leaf<CountedAt>>,
    /// How long this one keeps. [d]
    #[schemars(range(min = 0.5, max = 3650))]
    pub keep_days: Option<Leaf<f64>>,
}

/// An entry of `packing`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(
    expecting = "an entry such as `{name: flat mailer, holds: A3, count: 8, counted_at: 2026-05-08}`"
)]
#[schemars(deny_unknown_fields)]
#[schemars(extend("anyOf" = [{"required": ["counted_at"]}, {"required": ["arrives_on"]}]))]
pub struct PackingFile {
    /// Its name.
    #[schemars(required)]
    pub name: Option<Leaf<String>>,
    /// Largest sheet that lies flat in it.
    pub holds: Option<Leaf<Size>>,
    /// How many.
    #[schemars(required, range(min = 0, max = 100000))]
    pub count: Option<Leaf<u32>>,
    /// When they were counted: a day as it began, or a moment.
    pub counted_at: Option<Leaf<CountedAt>>,
    /// Day on which they come, if they are ordered.
    pub arrives_on: Option<Leaf<NaiveDate>>,
}

/// The key `rules`.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(expecting = "keys such as `buying_days:` below `rules:`")]
#[schemars(deny_unknown_fields)]
pub struct RulesFile {
    /// From making a stock to its first use. [h]
    #[schemars(range(min = 0, max = 720))]
    pub rest_hours: Option<Leaf<f64>>,
    /// How long stock A keeps. [d]
    #[schemars(range(min = 0.5, max = 3650))]
    pub a_keep_days: Option<Leaf<f64>>,
    /// How long stock B keeps. [d]
    #[schemars(range(min = 0.5, max = 3650))]
    pub b_keep_days: Option<Leaf<f64>>,
    /// From ordering goods to having them. [d]
    #[schemars(range(min = 0, max = 365))]
    pub buying_days: Option<Leaf<u32>>,
}

/// The keys that may stand at a place of `stock.yaml`.
pub fn known_keys(at: &[Step]) -> &'static [&'static str] {
    match at {
        [] => keys_of::<StockFile>(),
        [Step::Key(list), ..] => match list.as_str() {
            "sheets" => keys_of::<SheetsFile>(),
            "rolls" => keys_of::<RollFile>(),
            "salts" => keys_of::<SaltFile>(),
            "bottles" => keys_of::<BottleFile>(),
            "packing" => keys_of::<PackingFile>(),
            "rules" => keys_of::<RulesFile>(),
            _ => &[],
        },
        [Step::Index(_), ..] => &[],
    }
}

/// When something was counted: a moment, or a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CountedAt {
    /// A day and a time.
    At(NaiveDateTime),
    /// A day.
    On(NaiveDate),
}

impl CountedAt {
    /// Returns the moment; `of_day` stands in for a day's time.
    pub fn moment(self, of_day: NaiveTime) -> NaiveDateTime {
        match self {
            CountedAt::At(at) => at,
            CountedAt::On(day) => day.and_time(of_day),
        }
    }
}

impl Scalar for CountedAt {
    const EXPECTED: &'static str = "a day such as `2026-05-08`, or `2026-05-08 18:00`";

    fn parse(words: &str) -> Option<CountedAt> {
        let on = NaiveDate::parse(words).map(CountedAt::On);
        on.or_else(|| NaiveDateTime::parse(words).map(CountedAt::At))
    }

    fn guess(words: &str) -> Option<String> {
        NaiveDateTime::guess(words).or_else(|| NaiveDate::guess(words))
    }

    fn schema() -> Schema {
        schema::date_perhaps_time()
    }
}

impl Scalar for Part {
    const EXPECTED: &'static str = "`a` or `b`";

    fn parse(words: &str) -> Option<Part> {
        match words {
            "a" | "A" => Some(Part::A),
            "b" | "B" => Some(Part::B),
            _ => None,
        }
    }

    fn choices() -> &'static [&'static str] {
        &["a", "b"]
    }

    fn schema() -> Schema {
        schema::words_in_any_case(Self::choices())
    }
}
