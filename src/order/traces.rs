//! What points to a customer: whom a maker means by a name, and where a text names somebody.

use std::collections::BTreeSet;

use super::Customer;
use crate::yaml::address::in_ascii;

/// Word that stands in the place of what was forgotten.
pub const FORGOTTEN: &str = "forgotten";

/// Fewest characters of a part of a name that is looked for by itself.
const PART_MIN: usize = 3;

/// Parts of names that many people have, and words beside.
const COMMON: [&str; 13] = [
    "van", "von", "der", "den", "del", "della", "and", "und", "the", "mrs", "frau", "herr",
    "family",
];

/// Fewest digits that are taken for a telephone number.
const PHONE_DIGITS_MIN: usize = 7;

/// Words by which texts of a studio may point to a customer, in small letters.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Traces {
    /// The name, addresses, lines of the postal address: each points to nobody else.
    whole: BTreeSet<String>,
    /// Parts of the name.
    parts: BTreeSet<String>,
}

impl Customer {
    /// Tells whether the order remembers nobody any more.
    pub fn is_forgotten(&self) -> bool {
        self.name == FORGOTTEN && self.email.is_none() && self.address.is_empty()
    }

    /// Tells whether somebody means this customer by a name or a mail address;
    /// capitals and the width of blanks do not count.
    pub fn is_meant_by(&self, typed: &str) -> bool {
        let typed = small(typed);
        let own = [&self.name]
            .into_iter()
            .chain(&self.email)
            .chain(&self.copies_to);
        !self.is_forgotten() && own.into_iter().any(|word| small(word) == typed)
    }
}

impl Traces {
    /// Returns what points to `customer`.
    pub fn of(customer: &Customer) -> Traces {
        let mut traces = Traces::default();
        traces.add(customer);
        traces
    }

    /// Returns what points to somebody of whom only these words are known.
    pub fn of_words(words: &str) -> Traces {
        Traces {
            whole: BTreeSet::from([small(words)]),
            ..Traces::default()
        }
    }

    /// Adds what points to `customer`.
    pub fn add(&mut self, customer: &Customer) {
        let parts = words(&customer.name)
            .filter(|part| part.chars().count() >= PART_MIN && !COMMON.contains(&part.as_str()));
        self.parts.extend(parts);
        self.whole.insert(small(&customer.name));
        let addresses = customer.email.iter().chain(&customer.copies_to);
        self.whole
            .extend(addresses.flat_map(|address| [small(address), small(&in_ascii(address))]));
        let lines = customer.address.iter().map(|line| small(line));
        self.whole
            .extend(lines.filter(|line| line.chars().count() > PART_MIN));
    }

    /// Tells whether a text holds the whole name, a mail address or a line of the
    /// postal address.
    pub fn name_in(&self, text: &str) -> bool {
        let text = small(text);
        self.whole.iter().any(|word| holds(&text, word))
    }

    /// Tells whether a text may name the customer, a part of the name being enough;
    /// so do mail addresses and telephone numbers, whosever they are.
    ///
    /// # Example
    /// ```
    /// use fairday::order::Customer;
    /// use fairday::order::traces::Traces;
    /// let ruth = Customer {
    ///     name: "Ruth Penhallow".into(),
    ///     email: Some("ruth@example.org".into()),
    ///     copies_to: vec![],
    ///     address: vec![],
    ///     language: "en".into(),
    /// };
    /// let traces = Traces::of(&ruth);
    /// assert!(traces.may_be_in("kelp for RUTH"));
    /// assert!(traces.may_be_in("her sister: 0151 496 0000"));
    /// assert!(!traces.may_be_in("truthful print of 2026-05-11 07:00"));
    /// ```
    pub fn may_be_in(&self, text: &str) -> bool {
        let by_part = || words(text).any(|word| self.parts.contains(&word));
        self.name_in(text) || by_part() || has_mail_address(text) || has_phone_number(text)
    }
}

/// Returns a text in small letters, its blanks one wide.
fn small(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").to_lowercase()
}

fn words(text: &str) -> impl Iterator<Item = String> {
    let parts = text.split(|c: char| !c.is_alphanumeric());
    parts.filter(|part| !part.is_empty()).map(str::to_lowercase)
}

/// Tells whether `word` stands in `text` and is no part of a longer word.
fn holds(text: &str, word: &str) -> bool {
    let ends = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
    !word.is_empty()
        && text.match_indices(word).any(|(at, _)| {
            ends(text[..at].chars().next_back()) && ends(text[at + word.len()..].chars().next())
        })
}

fn has_mail_address(text: &str) -> bool {
    text.split_whitespace().any(|word| {
        let part = |c: char| c.is_alphanumeric();
        word.split_once('@')
            .is_some_and(|(local, domain)| local.ends_with(part) && domain.starts_with(part))
    })
}

/// Tells whether digits stand together as they do in a number to call; it begins with
/// a plus or a zero, so that days and sizes are none.
fn has_phone_number(text: &str) -> bool {
    let part = |c: char| c.is_ascii_digit() || " +-/().".contains(c);
    text.split(|c: char| !part(c)).any(|run| {
        let run = run.trim_start_matches([' ', '(', '-', '/', '.']);
        let digits = run.chars().filter(char::is_ascii_digit).count();
        run.starts_with(['+', '0']) && digits >= PHONE_DIGITS_MIN
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn customer() -> Customer {
        Customer {
            name: "Ines  van Calder".to_owned(),
            email: Some("Ines.Calder@example.org".to_owned()),
            copies_to: vec![],
            address: vec!["12 Quayside".to_owned(), "NP4".to_owned()],
            language: "en".to_owned(),
        }
    }

    #[test]
    fn a_customer_is_meant_by_name_or_address_in_any_case() {
        for typed in [
            "ines van calder",
            " INES VAN  CALDER",
            "ines.calder@EXAMPLE.org",
        ] {
            assert!(customer().is_meant_by(typed), "{typed}");
        }
        for typed in ["ines", "", "forgotten", "calder@example.org"] {
            assert!(!customer().is_meant_by(typed), "{typed}");
        }
    }

    #[test]
    fn parts_of_the_name_and_lines_of_the_address_are_traces() {
        let traces = Traces::of(&customer());
        for text in [
            "for Ines's wall",
            "calder-2.tif",
            "ring at 12 quayside",
            "write to tom@elsewhere.org",
            "call +31 6 1234 5678",
            "tel. 06-12345678",
        ] {
            assert!(traces.may_be_in(text), "{text}");
        }
        for text in [
            "the van comes at ten",
            "caldera, seen from above",
            "NP4",
            "2026-05-11 07:00, 30x40 cm",
            "3 @ 30",
        ] {
            assert!(!traces.may_be_in(text), "{text}");
        }
        assert!(!traces.name_in("ines"));
        assert!(traces.name_in("<p>Ines van\n Calder</p>"));
    }
}
