//! An order as it was said, and the file that it becomes.

use crate::yaml::insert::{Item, quoted};

/// An order as it was said: words for each key, none where nothing was said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Draft {
    /// Its number.
    pub number: String,
    /// The number that it has elsewhere.
    pub reference: Option<String>,
    /// The customer's name.
    pub name: String,
    /// The customer's mail address.
    pub email: Option<String>,
    /// Language of the letters.
    pub language: Option<String>,
    /// The day it was taken.
    pub ordered_on: String,
    /// What was promised: kind and day.
    pub promise: Option<(String, String)>,
    /// Whose rules hold.
    pub jurisdiction: String,
    /// A destination, or `pickup`.
    pub delivery: String,
    /// Why it waits.
    pub hold: Option<String>,
    /// What was bought.
    pub pieces: Vec<PieceDraft>,
}

/// A piece as it was said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PieceDraft {
    /// What it shows.
    pub title: String,
    /// Key of its material.
    pub material: String,
    /// Its size.
    pub size: String,
    /// How many alike; one if nothing was said.
    pub copies: Option<String>,
    /// Name of the negative.
    pub negative: Option<String>,
    /// Which loose objects.
    pub objects: Option<String>,
    /// Glass or none.
    pub cover: Option<String>,
    /// Sun or lamp.
    pub light: Option<String>,
}

impl Draft {
    /// Returns the text of its file; `schema` is where an editor finds what it knows.
    ///
    /// # Example
    /// ```
    /// use fairday::intake::draft::{Draft, PieceDraft};
    /// let draft = Draft {
    ///     number: "7".into(), name: "Ada: Brook".into(), ordered_on: "2026-05-11".into(),
    ///     jurisdiction: "eu".into(), delivery: "pickup".into(),
    ///     pieces: vec![PieceDraft { title: "Fern".into(), ..PieceDraft::default() }],
    ///     ..Draft::default()
    /// };
    /// let text = draft.render(None);
    /// assert!(text.starts_with("order: 7\ncustomer: {name: \"Ada: Brook\"}\n"));
    /// ```
    pub fn render(&self, schema: Option<&str>) -> String {
        let mut lines = Vec::new();
        if let Some(schema) = schema {
            lines.push(format!("# yaml-language-server: $schema={schema}"));
        }
        lines.push(line("order", &self.number));
        lines.extend(self.reference.as_ref().map(|word| line("reference", word)));
        let mut customer = Item::new().text("name", &self.name);
        for (key, word) in [("email", &self.email), ("language", &self.language)] {
            if let Some(word) = word {
                customer = customer.plain(key, flow_word(word));
            }
        }
        lines.push(format!("customer: {}", customer.render_flow()));
        lines.push(line("ordered_on", &self.ordered_on));
        if let Some((kind, date)) = &self.promise {
            let promise = Item::new().text("kind", kind).text("date", date);
            lines.push(format!("promise: {}", promise.render_flow()));
        }
        lines.push(line("jurisdiction", &self.jurisdiction));
        lines.push(line("delivery", &self.delivery));
        lines.extend(self.hold.as_ref().map(|word| line("hold", word)));
        lines.push("pieces:".to_owned());
        for piece in &self.pieces {
            lines.extend(piece.lines());
        }
        lines.join("\n") + "\n"
    }
}

impl PieceDraft {
    /// Returns its lines in the list of pieces.
    fn lines(&self) -> Vec<String> {
        let said = [
            ("title", Some(&self.title)),
            ("material", Some(&self.material)),
            ("size", Some(&self.size)),
            ("copies", self.copies.as_ref()),
            ("negative", self.negative.as_ref()),
            ("objects", self.objects.as_ref()),
            ("cover", self.cover.as_ref()),
            ("light", self.light.as_ref()),
        ];
        let said = said
            .into_iter()
            .filter_map(|(key, word)| Some((key, word?)));
        said.enumerate()
            .map(|(index, (key, word))| {
                let dash = if index == 0 { "-" } else { " " };
                format!("  {dash} {}", line(key, word))
            })
            .collect()
    }
}

fn line(key: &str, word: &str) -> String {
    format!("{key}: {}", quoted(word))
}

/// A mail address needs no quotes, though it holds a sign that other words do.
fn flow_word(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "@._+-".contains(c);
    let first = word
        .chars()
        .next()
        .is_some_and(|c| c.is_ascii_alphanumeric());
    match first && word.contains('@') && word.chars().all(plain) {
        true => word.to_owned(),
        false => quoted(word),
    }
}
