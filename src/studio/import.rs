//! How tables of orders are read, from its part of `studio.yaml`.

use std::collections::BTreeMap;

use super::Import;
use super::file::{ImportKeys, StudioFile};
use super::section::Section;
use crate::yaml::leaf::Leaf;
use crate::yaml::several::Several;

/// Reads how tables of orders are read; none without the key.
pub fn import(shape: &StudioFile, top: &mut Section) -> Option<Import> {
    let shape = shape.import.as_ref()?;
    let at = &mut top.below("import");
    let columns = at.need_part(
        &shape.columns,
        "columns",
        "{reference: Order ID, name: Name}",
    );
    let columns = columns.map(|columns| keyed(columns, &mut at.below("columns"), headings))?;
    if !columns.contains_key("reference") {
        let hint = "add `reference: HEADING`, the column with the number of the order";
        at.wrong_key(
            "columns",
            "no column keeps an order from being taken twice",
            hint,
        );
    }
    let otherwise = shape.otherwise.as_ref();
    let otherwise = otherwise.map(|keys| keyed(keys, &mut at.below("otherwise"), word));
    let translated = shape
        .words
        .iter()
        .flat_map(|words| &words.0)
        .map(|(key, words)| {
            let pairs = words.0.iter();
            let pairs = pairs.filter_map(|(theirs, ours)| Some((theirs.clone(), ours.parse()?)));
            (key.clone(), pairs.collect())
        });
    Some(Import {
        columns,
        otherwise: otherwise.unwrap_or_default(),
        words: translated.collect(),
        date_format: at.take(&shape.date_format, "date_format"),
    })
}

/// Reads what is said for each key.
fn keyed<T, W>(
    shape: &ImportKeys<T>,
    at: &mut Section,
    read: impl Fn(&Option<T>, &mut Section, &str) -> Option<W>,
) -> BTreeMap<String, W> {
    let keys = [
        ("reference", &shape.reference),
        ("name", &shape.name),
        ("email", &shape.email),
        ("address", &shape.address),
        ("language", &shape.language),
        ("ordered_on", &shape.ordered_on),
        ("ship_by", &shape.ship_by),
        ("deliver_by", &shape.deliver_by),
        ("jurisdiction", &shape.jurisdiction),
        ("delivery", &shape.delivery),
        ("title", &shape.title),
        ("material", &shape.material),
        ("size", &shape.size),
        ("copies", &shape.copies),
        ("negative", &shape.negative),
        ("objects", &shape.objects),
        ("cover", &shape.cover),
        ("light", &shape.light),
    ];
    let said = keys.into_iter().filter_map(|(key, shape)| {
        let words = read(shape, at, key)?;
        Some((key.to_owned(), words))
    });
    said.collect()
}

fn word(leaf: &Option<Leaf<String>>, at: &mut Section, key: &str) -> Option<String> {
    at.take(leaf, key)
}

fn headings(shape: &Option<Several<String>>, at: &mut Section, key: &str) -> Option<Vec<String>> {
    let headings = at.several(shape, key);
    (!headings.is_empty()).then_some(headings)
}
