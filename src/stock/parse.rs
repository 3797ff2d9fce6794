//! From the text of `stock.yaml` to a [`Stock`], with everything that is wrong with it.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use super::file::{
    BottleFile, CountedAt, PackingFile, RollFile, SaltFile, SheetsFile, StockFile, known_keys,
};
use super::{Bottle, Form, Packing, Part, Salt, Stock, StockRules, Supply};
use crate::problem::{Problem, did_you_mean};
use crate::studio::Studio;
use crate::studio::section::Section;
use crate::units::Length;
use crate::yaml::leaf::Leaf;
use crate::yaml::reader::Reader;

/// What a stock file is read against.
#[derive(Debug, Clone, Copy, Default)]
pub struct Against<'a> {
    /// The studio whose materials are meant; none to let any pass.
    pub studio: Option<&'a Studio>,
    /// The present moment; what was counted later is a problem.
    pub now: Option<NaiveDateTime>,
}

/// Parses `stock.yaml`, which the maker knows as `file`.
///
/// Returns no stock if a value is wrong or a needed one is missing. A key that is not
/// known is a problem, but the rest is used.
///
/// # Example
/// ```
/// use fairday::stock::parse::{Against, parse};
/// let text = "sheets: [{material: rag, size: A3, count: 12, counted_at: 2026-05-08}]\n";
/// let (stock, problems) = parse(text, "stock.yaml", &Against::default());
/// assert_eq!(problems, []);
/// assert!(stock.unwrap().counts("rag"));
/// let (_, problems) = parse("sheet: []\n", "stock.yaml", &Against::default());
/// assert_eq!(problems[0].hint.as_deref(), Some("write `sheets:`"));
/// ```
pub fn parse(text: &str, file: &str, against: &Against) -> (Option<Stock>, Vec<Problem>) {
    let mut reader = Reader::new(text, file);
    let shape = reader.read_shape::<StockFile>(known_keys);
    let unknown_keys = reader.error_count();
    let stock = shape
        .map(|shape| stock(&shape, against, &mut reader))
        .filter(|_| reader.error_count() == unknown_keys);
    (stock, reader.finish())
}

fn stock(shape: &StockFile, against: &Against, reader: &mut Reader) -> Stock {
    let rules = rules(shape, &mut Section::top(reader));
    let sheets = each(&shape.sheets, "sheets", reader, |entry, at| {
        sheets(entry, against, at)
    });
    let rolls = each(&shape.rolls, "rolls", reader, |entry, at| {
        roll(entry, against, at)
    });
    let salts = each(&shape.salts, "salts", reader, |entry, at| {
        salt(entry, against, at)
    });
    let bottles = each(&shape.bottles, "bottles", reader, |entry, at| {
        bottle(entry, &rules, against, at)
    });
    let packing = each(&shape.packing, "packing", reader, |entry, at| {
        packing(entry, against, at)
    });
    once_each(&salts, reader);
    Stock {
        supplies: sheets.into_iter().chain(rolls).collect(),
        salts,
        bottles,
        packing,
        rules,
    }
}

/// Reads the entries of a list; those with errors are left out.
fn each<F, T>(
    entries: &Option<Vec<F>>,
    key: &str,
    reader: &mut Reader,
    read: impl Fn(&F, &mut Section) -> Option<T>,
) -> Vec<T> {
    let top = crate::yaml::trail::Trail::Root;
    let list = top.key(key);
    let mut read_entries = Vec::new();
    for (index, entry) in entries.iter().flatten().enumerate() {
        let at = &mut Section::new(list.index(index), reader);
        read_entries.extend(read(entry, at));
    }
    read_entries
}

fn once_each(salts: &[Salt], reader: &mut Reader) {
    for part in Part::BOTH {
        if salts.iter().filter(|salt| salt.part == part).count() > 1 {
            let what = format!("the salt of stock {} stands twice", part.letter());
            let at = &mut Section::top(reader);
            at.wrong_key("salts", &what, "add the two weights up in one entry");
        }
    }
}

fn rules(shape: &StockFile, top: &mut Section) -> StockRules {
    let d = StockRules::default();
    let Some(shape) = &shape.rules else { return d };
    let at = &mut top.below("rules");
    StockRules {
        rest_hours: at.number(&shape.rest_hours, "rest_hours", d.rest_hours, 0.0..=720.0),
        a_keep_days: at.number(
            &shape.a_keep_days,
            "a_keep_days",
            d.a_keep_days,
            0.5..=3650.0,
        ),
        b_keep_days: at.number(
            &shape.b_keep_days,
            "b_keep_days",
            d.b_keep_days,
            0.5..=3650.0,
        ),
        buying_days: at.count(&shape.buying_days, "buying_days", d.buying_days, 0..=365),
    }
}

fn sheets(shape: &SheetsFile, against: &Against, at: &mut Section) -> Option<Supply> {
    let material = material(&shape.material, against, at);
    let size = at.need(&shape.size, "size", "A3");
    let count = at.need_within(&shape.count, "count", "12", 0..=100_000);
    let (from, ordered) = since(&shape.counted_at, &shape.arrives_on, against, at)?;
    Some(Supply {
        material: material?,
        form: Form::Sheets {
            size: size?,
            count: count?,
        },
        from,
        ordered,
        batch: at.take(&shape.batch, "batch"),
    })
}

fn roll(shape: &RollFile, against: &Against, at: &mut Section) -> Option<Supply> {
    let material = material(&shape.material, against, at);
    let width = at.need_within(&shape.width_cm, "width_cm", "140", 1.0..=1000.0);
    let length = at.need_within(&shape.length_cm, "length_cm", "250", 0.0..=100_000.0);
    let (from, ordered) = since(&shape.counted_at, &shape.arrives_on, against, at)?;
    Some(Supply {
        material: material?,
        form: Form::Roll {
            width: Length::from_mm(width? * 10.0),
            length: Length::from_mm(length? * 10.0),
        },
        from,
        ordered,
        batch: at.take(&shape.batch, "batch"),
    })
}

fn salt(shape: &SaltFile, against: &Against, at: &mut Section) -> Option<Salt> {
    let part = at.need(&shape.stock, "stock", "a");
    let name = at.take(&shape.name, "name");
    let grams = at.need_within(&shape.grams, "grams", "120", 0.0..=100_000.0);
    let counted = at.need(&shape.counted_at, "counted_at", "2026-05-08")?;
    let counted_at = counted.moment(NaiveTime::MIN);
    not_later(counted_at, "counted_at", against, at);
    let part = part?;
    Some(Salt {
        part,
        name: name.unwrap_or_else(|| format!("salt of stock {}", part.letter())),
        grams: grams?,
        counted_at,
    })
}

/// The time of a day that is named as the one on which a stock was made. It rests the
/// longer for it, never the shorter.
const EVENING: NaiveTime = NaiveTime::from_hms_opt(18, 0, 0).expect("a time of the day");

fn bottle(
    shape: &BottleFile,
    rules: &StockRules,
    against: &Against,
    at: &mut Section,
) -> Option<Bottle> {
    let part = at.need(&shape.stock, "stock", "a");
    let made_ml = at.need_within(&shape.ml, "ml", "250", 0.0..=100_000.0);
    let made = at.need(&shape.made_at, "made_at", "2026-05-03");
    let left_ml = at.take_within(&shape.left_ml, "left_ml", 0.0..=100_000.0);
    let counted = at.take(&shape.counted_at, "counted_at");
    match (left_ml, counted) {
        (Some(_), None) if shape.counted_at.is_none() => {
            at.reader.missing(&at.trail, "counted_at", "2026-05-08");
        }
        (None, Some(_)) if shape.left_ml.is_none() => {
            at.reader.missing(&at.trail, "left_ml", "120");
        }
        _ => {}
    }
    let (part, made_ml, made) = (part?, made_ml?, made?);
    let evening = made.moment(EVENING);
    // Made today and read in the morning: it is there all the same.
    let made_at = match (made, against.now) {
        (CountedAt::On(day), Some(now)) if day == now.date() => evening.min(now),
        _ => evening,
    };
    not_later(made_at, "made_at", against, at);
    let counted_at = counted.map(|counted| counted.moment(NaiveTime::MIN));
    if let Some(counted_at) = counted_at {
        not_later(counted_at, "counted_at", against, at);
    }
    if left_ml.is_some_and(|left| left > made_ml) {
        let what = "more is left than was made";
        at.wrong_value("left_ml", what, "write what is in the bottle now");
    }
    let keep_days = at.number(
        &shape.keep_days,
        "keep_days",
        rules.keep_days(part),
        0.5..=3650.0,
    );
    Some(Bottle {
        part,
        made_ml,
        made_at,
        left_ml: left_ml.unwrap_or(made_ml),
        counted_at: counted_at.unwrap_or(made_at),
        keep_days,
    })
}

fn packing(shape: &PackingFile, against: &Against, at: &mut Section) -> Option<Packing> {
    let name = at.need(&shape.name, "name", "flat mailer");
    let holds = at.take(&shape.holds, "holds");
    let count = at.need_within(&shape.count, "count", "8", 0..=100_000);
    let (counted_at, ordered) = since(&shape.counted_at, &shape.arrives_on, against, at)?;
    Some(Packing {
        name: name?,
        holds,
        count: count?,
        counted_at,
        ordered,
    })
}

/// Reads since when something is there, and whether it is still on its way.
fn since(
    counted: &Option<Leaf<CountedAt>>,
    arrives: &Option<Leaf<NaiveDate>>,
    against: &Against,
    at: &mut Section,
) -> Option<(NaiveDateTime, bool)> {
    if counted.is_some() && arrives.is_some() {
        let what = "it was counted and is still to come";
        at.wrong_key(
            "arrives_on",
            what,
            "keep `arrives_on` until it is there, `counted_at` from then on",
        );
        return None;
    }
    if arrives.is_some() {
        let arrives = at.take(arrives, "arrives_on")?.and_time(NaiveTime::MIN);
        let ordered = against.now.is_none_or(|now| arrives > now);
        return Some((arrives, ordered));
    }
    let counted = at.need(counted, "counted_at", "2026-05-08")?;
    let counted_at = counted.moment(NaiveTime::MIN);
    not_later(counted_at, "counted_at", against, at);
    Some((counted_at, false))
}

fn not_later(moment: NaiveDateTime, key: &str, against: &Against, at: &mut Section) {
    if against.now.is_some_and(|now| moment > now) {
        let problem = at
            .reader
            .warning("this is later than now")
            .hint("look at the date; what is ordered has `arrives_on`");
        at.reader.at_value(&at.trail.key(key), problem);
    }
}

fn material(leaf: &Option<Leaf<String>>, against: &Against, at: &mut Section) -> Option<String> {
    let key = at.need(leaf, "material", "rag-300")?;
    let Some(studio) = against.studio else {
        return Some(key);
    };
    if studio.materials.contains_key(&key) {
        return Some(key);
    }
    let known: Vec<&str> = studio.materials.keys().map(String::as_str).collect();
    let hint = match did_you_mean(&key, &known) {
        Some(word) => format!("write `{word}`"),
        None => format!("use one of: {}", known.join(", ")),
    };
    let what = format!("the studio has no material `{key}`");
    at.wrong_value("material", &what, &hint);
    None
}
