//! What lies on the shelf: paper, cloth, salts, stock solutions and packing, as counted.
//!
//! A count belongs to a moment; what was used since is in the orders' own records and
//! is worked out in `supply`. So nothing here is ever written by the program: whoever
//! counts again writes a new number and a new day.

pub mod file;
pub mod parse;

use chrono::{NaiveDate, NaiveDateTime};

use crate::size::Size;
use crate::units::Length;

/// Everything that `stock.yaml` says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// Papers and cloths, in the order of the file.
    pub supplies: Vec<Supply>,
    /// Salts, at most one entry for each part.
    pub salts: Vec<Salt>,
    /// Bottles of stock solution, in the order of the file.
    pub bottles: Vec<Bottle>,
    /// Mailers, boxes and tubes, in the order of the file.
    pub packing: Vec<Packing>,
    /// How stock solutions keep, and how long buying takes.
    pub rules: StockRules,
}

/// Sheets of one size, or a length of cloth.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Key of its material in `studio.yaml`.
    pub material: String,
    /// Sheets or a roll.
    pub form: Form,
    /// Since when it is there as counted.
    pub from: NaiveDateTime,
    /// Whether it is still on its way when it is read.
    pub ordered: bool,
    /// Its batch, in the maker's words.
    pub batch: Option<String>,
}

/// What pieces are cut from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Sheets alike.
    Sheets {
        /// Size of one.
        size: Size,
        /// How many.
        count: u32,
    },
    /// Cloth by length.
    Roll {
        /// Across.
        width: Length,
        /// What is on it.
        length: Length,
    },
}

/// One of the two parts of a sensitizer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Stock A, the citrate in the classic recipe.
    A,
    /// Stock B, the ferricyanide in the classic recipe.
    B,
}

impl Part {
    /// Both, in order.
    pub const BOTH: [Part; 2] = [Part::A, Part::B];

    /// Returns its letter for people.
    pub fn letter(self) -> &'static str {
        match self {
            Part::A => "A",
            Part::B => "B",
        }
    }
}

/// A salt in its jar.
#[derive(Debug, Clone, PartialEq)]
pub struct Salt {
    /// Which stock it makes.
    pub part: Part,
    /// Its name for people.
    pub name: String,
    /// What was there. [g]
    pub grams: f64,
    /// When.
    pub counted_at: NaiveDateTime,
}

/// A bottle of stock solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Bottle {
    /// Which stock.
    pub part: Part,
    /// What was made. [ml]
    pub made_ml: f64,
    /// When it was made.
    pub made_at: NaiveDateTime,
    /// What was left when somebody looked. [ml]
    pub left_ml: f64,
    /// When somebody looked; when it was made if nobody did since.
    pub counted_at: NaiveDateTime,
    /// How long it keeps. [d]
    pub keep_days: f64,
}

/// Packing of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Packing {
    /// Its name.
    pub name: String,
    /// Largest sheet that lies flat in it; none for what takes anything.
    pub holds: Option<Size>,
    /// How many.
    pub count: u32,
    /// When.
    pub counted_at: NaiveDateTime,
    /// Whether it is still on its way when it is read.
    pub ordered: bool,
}

/// How stock solutions keep, and how long buying takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockRules {
    /// From making a stock to its first use. [h]
    pub rest_hours: f64,
    /// How long stock A keeps. [d]
    pub a_keep_days: f64,
    /// How long stock B keeps. [d]
    pub b_keep_days: f64,
    /// From ordering goods to having them. [d]
    pub buying_days: u32,
}

impl Default for StockRules {
    /// Stocks rest a day before use and keep half a year; goods come within five days.
    /// Common practice, no source; Ware, "The Traditional Cyanotype Process", saw mould on
    /// stock A after a week or two in many places, so look at it.
    fn default() -> StockRules {
        StockRules {
            rest_hours: 24.0,
            a_keep_days: 180.0,
            b_keep_days: 180.0,
            buying_days: 5,
        }
    }
}

impl StockRules {
    /// Returns how long a stock keeps. [d]
    pub fn keep_days(&self, part: Part) -> f64 {
        match part {
            Part::A => self.a_keep_days,
            Part::B => self.b_keep_days,
        }
    }
}

impl Stock {
    /// Tells whether a material is counted at all.
    pub fn counts(&self, material: &str) -> bool {
        self.supplies
            .iter()
            .any(|supply| supply.material == material)
    }

    /// Tells whether any supply has a batch.
    pub fn has_batches(&self) -> bool {
        self.supplies.iter().any(|supply| supply.batch.is_some())
    }

    /// Returns the day from which a supply that is on its way counts.
    pub fn next_arrival(&self, material: &str, now: NaiveDateTime) -> Option<NaiveDate> {
        let coming = self.supplies.iter();
        let coming = coming.filter(|supply| supply.material == material && supply.from > now);
        coming.map(|supply| supply.from.date()).min()
    }
}
