//! A mix and its coats in words: what it is made of, how much each sheet takes, and
//! where that figure comes from.

use super::dates::{amount, count};
use super::page::NO_BREAK;
use crate::coverage::Coverage;
use crate::mix::{Coating, Mix};
use crate::order::Piece;
use crate::studio::{Material, Sensitizer};

/// Returns grams as a balance shows them: to 0.05 below ten, to 0.1 below a hundred, else
/// whole. [g]
pub fn grams(value: f64) -> String {
    let step = match value {
        v if v < 10.0 => 0.05,
        v if v < 100.0 => 0.1,
        _ => 1.0,
    };
    amount((value / step).round() * step)
}

/// `30.2 ml on the pieces + 20 % margin + 5 ml left in brush and vessel, rounded up to 5 ml`.
pub fn mix_words(mix: &Mix, sensitizer: &Sensitizer) -> String {
    let mut words = format!("{} ml on the pieces", tenth(mix.on_paper_ml));
    if sensitizer.margin > 0.0 {
        words.push_str(&format!(
            " + {} % margin",
            amount(sensitizer.margin * 100.0)
        ));
    }
    if sensitizer.dead_ml > 0.0 {
        words.push_str(&format!(
            " + {} ml left in brush and vessel",
            amount(sensitizer.dead_ml)
        ));
    }
    if sensitizer.step_ml > 0.0 {
        words.push_str(&format!(
            ", rounded up to {} ml",
            amount(sensitizer.step_ml)
        ));
    }
    words
}

/// `2.6 ml each`, `1 to 2.6 ml each`, or `2.6 + 1.6 ml each` for two coats; nothing for
/// no piece.
pub fn each_words<'p>(
    pieces: impl Iterator<Item = &'p Piece>,
    material: &Material,
) -> Option<String> {
    let coats = |first: bool| {
        move |piece: &Piece| {
            let one = Coating {
                coats: 1,
                ..Coating::sheet(piece.size, material)
            };
            let share = if first {
                1.0
            } else {
                material.later_coat_share
            };
            one.ml() * share
        }
    };
    let pieces: Vec<&Piece> = pieces.collect();
    let span = |first: bool| {
        let mut ml: Vec<f64> = pieces.iter().map(|piece| coats(first)(piece)).collect();
        ml.sort_by(f64::total_cmp);
        let (least, most) = (tenth(*ml.first()?), tenth(*ml.last()?));
        Some(match least == most {
            true => least,
            false => format!("{least} to {most}"),
        })
    };
    let first = span(true)?;
    let later = (1..material.coats).filter_map(|_| span(false));
    let all: Vec<String> = std::iter::once(first).chain(later).collect();
    Some(format!("{}{NO_BREAK}ml each", all.join(" + ")))
}

/// `42 ml/m², learned from 4 sessions`; nothing where nothing was measured.
pub fn learned_words(coverage: &Coverage) -> Option<String> {
    (coverage.sessions > 0).then(|| {
        format!(
            "{:.0}{NO_BREAK}ml/m², learned from {} beside {} in studio.yaml",
            coverage.ml_per_m2,
            count(coverage.sessions, "measured session"),
            amount(coverage.before)
        )
    })
}

/// Returns millilitres to a tenth, the smallest amount to the hundredth.
fn tenth(ml: f64) -> String {
    let step = if ml < 1.0 { 0.01 } else { 0.1 };
    amount((ml / step).round() * step)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grams_are_what_a_balance_shows() {
        let shown = [0.7, 3.75, 1.333, 12.345, 28.75, 187.5].map(grams);
        assert_eq!(shown, ["0.7", "3.75", "1.35", "12.3", "28.8", "188"]);
    }
}
