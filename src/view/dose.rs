//! What is known of a dose, in words.

use super::dates::count;
use super::page::NO_BREAK;
use crate::experience::Taught;
use crate::light::learn::Learned;
use crate::units::Dose;

/// `29 kJ/m²`: a dose to three places, which is more than anybody knows of it.
pub fn dose(value: Dose) -> String {
    format!("{}{NO_BREAK}kJ/m²", places(value.0))
}

/// `24.8 kJ/m² (19.9–31.9)`: the dose to print with and between which it lies in nine
/// of ten cases, where something was learned.
pub fn learned_dose(taught: &Taught, factor: f64) -> String {
    let Learned {
        median,
        least,
        most,
        ..
    } = taught.learned;
    if !taught.has_evidence() {
        return dose(taught.before.scaled(factor));
    }
    let of = |value: Dose| places(value.scaled(factor).0);
    format!("{}{NO_BREAK}kJ/m² ({}–{})", of(median), of(least), of(most))
}

/// Says what a dose rests on: `learned from 3 prints and 1 strip`.
pub fn taught_words(taught: &Taught) -> String {
    let forgotten = match taught.forgotten {
        0 => String::new(),
        number => format!("; {} too old to count", count(number, "verdict")),
    };
    if !taught.has_evidence() {
        return format!(
            "dose as in studio.yaml, nothing learned about it yet{forgotten}; teach it: fairday \
             strip, or a verdict with fairday mark"
        );
    }
    let parts = [(taught.prints, "print"), (taught.strips, "strip")];
    let parts: Vec<String> = parts
        .into_iter()
        .filter(|(number, _)| *number > 0)
        .map(|(number, noun)| count(number, noun))
        .collect();
    let leans = match taught.learned.leans_on_prior {
        true => format!(
            "; no print yet came out good, so it still leans on the {} of studio.yaml",
            dose(taught.before)
        ),
        false => String::new(),
    };
    format!(
        "dose learned from {}{leans}{forgotten}; in brackets where it lies in nine of ten cases",
        parts.join(" and ")
    )
}

fn places(value: f64) -> String {
    match value {
        v if v >= 100.0 => format!("{v:.0}"),
        v if v >= 10.0 => format!("{v:.1}"),
        v => format!("{v:.2}"),
    }
}
