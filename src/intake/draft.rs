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
    /// Mail addresses: the customer's own first, then whoever gets copies.
    pub emails: Vec<String>,
    /// The postal address, its lines parted by commas.
    pub address: Option<String>,
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
        lines.extend(self.customer());
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

    /// Returns the lines of the customer: one, or one for each key where an address
    /// would make it long.
    fn customer(&self) -> Vec<String> {
        let said = [
            ("name", Some(quoted(&self.name))),
            ("email", mail_words(&self.emails)),
            ("address", self.address.as_deref().map(address_word)),
            ("language", self.language.as_deref().map(quoted)),
        ];
        let said = said
            .into_iter()
            .filter_map(|(key, word)| Some((key, word?)));
        if self.address.is_none() {
            let customer = said.fold(Item::new(), |item, (key, word)| item.plain(key, word));
            return vec![format!("customer: {}", customer.render_flow())];
        }
        let below = said.map(|(key, word)| format!("  {key}: {word}"));
        ["customer:".to_owned()].into_iter().chain(below).collect()
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

/// One address stands by itself, more of them in a list.
fn mail_words(addresses: &[String]) -> Option<String> {
    let words: Vec<String> = addresses.iter().map(|one| mail_word(one)).collect();
    match words.as_slice() {
        [] => None,
        [one] => Some(one.clone()),
        [..] => Some(format!("[{}]", words.join(", "))),
    }
}

/// A mail address needs no quotes, though it holds a sign that other words do.
fn mail_word(word: &str) -> String {
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

/// An address of plain words needs no quotes, though commas part its lines.
fn address_word(address: &str) -> String {
    let lines: Vec<String> = address.split(", ").map(quoted).collect();
    let plain = lines.iter().all(|line| !line.starts_with('"'));
    match plain {
        true => lines.join(", "),
        false => quoted(address),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::order::parse::{Against, parse};

    #[test]
    fn an_address_stands_below_the_name_and_reads_as_lines() {
        for (said, written) in [
            ("12 Quayside, Northport", "12 Quayside, Northport"),
            (
                "7: The \"Ropeworks\", #2",
                "\"7: The \\\"Ropeworks\\\", #2\"",
            ),
            ("Åsgatan 3, 902 10 Umeå", "Åsgatan 3, 902 10 Umeå"),
        ] {
            let draft = Draft {
                number: "2026-031".into(),
                name: "Ada Brook".into(),
                emails: vec!["ada@example.org".into()],
                address: Some(said.into()),
                ordered_on: "2026-05-11".into(),
                jurisdiction: "uk".into(),
                delivery: "home".into(),
                pieces: vec![PieceDraft {
                    title: "Fern".into(),
                    material: "rag-300".into(),
                    size: "A4".into(),
                    negative: Some("fern".into()),
                    ..PieceDraft::default()
                }],
                ..Draft::default()
            };
            let text = draft.render(None);
            let below = format!(
                "customer:\n  name: Ada Brook\n  email: ada@example.org\n  address: {written}\n"
            );
            assert!(text.contains(&below), "{text}");
            let (order, problems) = parse(&text, "a.yaml", &Against::default());
            assert_eq!(problems, []);
            let lines: Vec<&str> = said.split(", ").collect();
            assert_eq!(order.unwrap().customer.address, lines);
        }
    }
}
