//! How tables of orders are read, from its part of `studio.yaml`.

use std::collections::BTreeMap;

use super::Import;
use super::file::{ImportKeys, StudioFile};
use super::section::Section;

/// Reads how tables of orders are read; none without the key.
pub fn import(shape: &StudioFile, top: &mut Section) -> Option<Import> {
    let shape = shape.import.as_ref()?;
    let at = &mut top.below("import");
    let columns = at.need_part(
        &shape.columns,
        "columns",
        "{reference: Order ID, name: Name}",
    );
    let columns = columns.map(|columns| words(columns, &mut at.below("columns")))?;
    if !columns.contains_key("reference") {
        let hint = "add `reference: HEADING`, the column with the number of the order";
        at.wrong_key(
            "columns",
            "no column keeps an order from being taken twice",
            hint,
        );
    }
    let otherwise = shape.otherwise.as_ref();
    let otherwise = otherwise.map(|keys| words(keys, &mut at.below("otherwise")));
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

fn words(shape: &ImportKeys, at: &mut Section) -> BTreeMap<String, String> {
    let keys = [
        ("reference", &shape.reference),
        ("name", &shape.name),
        ("email", &shape.email),
        ("language", &shape.language),
        ("ordered_on", &shape.ordered_on),
        ("ship_by", &shape.ship_by),
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
    let said = keys.into_iter().filter_map(|(key, leaf)| {
        let word = at.take(leaf, key)?;
        Some((key.to_owned(), word))
    });
    said.collect()
}
