//! What `mark coated` says of a coat, dealt out to the entries that it is written into.

use std::collections::BTreeMap;

use anyhow::{Result, bail};
use clap::Args;

use super::mark::Meant;
use super::typed;
use crate::coverage::first_coats_m2;
use crate::mix::coverage_ml_per_m2;
use crate::order::{Coated, Order, Piece};
use crate::stage::Stage;
use crate::stock::Stock;
use crate::studio::{Material, Studio};
use crate::supply::cut::cut;
use crate::view::dates::amount;

/// What may be said of a coat.
#[derive(Debug, Args)]
pub struct CoatArgs {
    /// Sensitizer poured for all of these pieces together, for `coated` [ml]
    #[arg(long, value_name = "ML", value_parser = typed::value::<f64>)]
    poured: Option<f64>,
    /// What was left of it in the vessel, for `coated` [ml]
    #[arg(long, value_name = "ML", requires = "poured", value_parser = typed::value::<f64>)]
    left: Option<f64>,
    /// Batch of the paper or cloth, for `coated` [default: that of stock.yaml if it has one]
    #[arg(long, value_name = "WORDS")]
    batch: Option<String>,
    /// Batch of the mix or its stocks, for `coated`
    #[arg(long, value_name = "WORDS")]
    mix: Option<String>,
}

/// The coats to be written, by the number of the order and the entry in its file.
#[derive(Debug, Default)]
pub struct Coats {
    by_entry: BTreeMap<(String, usize), Coated>,
    /// What the measurement says, in words.
    pub remark: Option<String>,
}

impl CoatArgs {
    /// Deals out what was said to the entries: volumes by area, batches to each.
    ///
    /// # Errors
    /// It is not about a coat, a figure cannot be, or the pieces are of several
    /// materials, whose shares nobody knows.
    pub(super) fn deal(
        &self,
        stage: Stage,
        meant: &[Meant],
        (studio, stock): (&Studio, Option<&Stock>),
    ) -> Result<Coats> {
        let said = self.poured.is_some() || self.batch.is_some() || self.mix.is_some();
        let only_one = stock.is_some_and(Stock::has_batches) && stage == Stage::Coating;
        if !said && !only_one {
            return Ok(Coats::default());
        }
        if stage != Stage::Coating {
            bail!(
                "`--poured`, `--left`, `--batch` and `--mix` go with `coated`, not with `{}`",
                stage.done()
            );
        }
        let entries = entries(meant);
        let areas = match self.poured {
            Some(_) => areas(&entries, one_material(&entries, studio)?),
            None => vec![1.0; entries.len()],
        };
        let poured = self.poured.map(|ml| shares(ml, &areas));
        let left = self.left.map(|ml| shares(ml, &areas));
        self.check()?;
        let coat = |index: usize| Coated {
            poured_ml: poured
                .as_ref()
                .map(|shares| shares[index])
                .filter(|ml| *ml > 0.0),
            left_ml: match (&poured, &left) {
                (Some(poured), Some(left)) if poured[index] > 0.0 => {
                    Some(left[index].min(poured[index]))
                }
                _ => None,
            },
            batch: words(self.batch.as_deref()).or_else(|| {
                let piece = entries[index].2.first()?;
                only_batch(stock?, piece).map(str::to_owned)
            }),
            mix: words(self.mix.as_deref()),
        };
        let keyed = entries
            .iter()
            .enumerate()
            .filter_map(|(index, (order, entry, _))| {
                Some(((order.number.clone(), *entry), coat(index).if_known()?))
            });
        Ok(Coats {
            by_entry: keyed.collect(),
            remark: self.remark(areas.iter().sum(), studio, &entries),
        })
    }

    fn check(&self) -> Result<()> {
        if let Some(poured) = self.poured.filter(|ml| !(*ml > 0.0 && *ml <= 100_000.0)) {
            bail!("`--poured {poured}`: expected millilitres, more than 0; nothing was written");
        }
        let poured = self.poured.unwrap_or_default();
        match self.left.filter(|ml| !(0.0..=poured).contains(ml)) {
            Some(left) => bail!(
                "`--left {left}`: expected 0 to the {poured} ml that were poured; nothing was \
                 written"
            ),
            None => Ok(()),
        }
    }

    fn remark(&self, area_m2: f64, studio: &Studio, entries: &[Entry]) -> Option<String> {
        let (poured, left) = (self.poured?, self.left?);
        let dead_ml = studio.sensitizer.dead_ml;
        let took = coverage_ml_per_m2(poured - dead_ml, left, area_m2);
        let material = studio
            .materials
            .get(&entries.first()?.2.first()?.material)?;
        let less = match dead_ml > 0.0 {
            true => format!(
                ", without the {} ml that brush and vessel keep",
                amount(dead_ml)
            ),
            false => String::new(),
        };
        Some(match took {
            Some(took) => format!(
                "{} took {:.0} ml/m²{less}; mixes went by {:.0}",
                material.name, took, material.coat_ml_per_m2
            ),
            None => format!(
                "what was poured does not even fill brush and vessel ({} ml, `dead_ml` in \
                 studio.yaml), so nothing is learned from it",
                amount(dead_ml)
            ),
        })
    }
}

impl Coats {
    /// Finds what is written of the coat of an entry.
    pub(super) fn find(&self, order: &Order, entry: usize) -> Option<&Coated> {
        self.by_entry.get(&(order.number.clone(), entry))
    }
}

/// Returns the batch of the paper or cloth if the shelf has but one that the piece can be
/// cut from.
fn only_batch<'s>(stock: &'s Stock, piece: &Piece) -> Option<&'s str> {
    let there = stock.supplies.iter();
    let mut batches = there
        .filter(|supply| supply.material == piece.material && !supply.ordered)
        .filter(|supply| cut(supply.form, piece.size).is_some())
        .map(|supply| supply.batch.as_deref());
    let first = batches.next()?;
    batches.all(|batch| batch == first).then_some(first)?
}

/// An order, the entry of its file, and the pieces of it that are meant.
type Entry<'a> = (&'a Order, usize, Vec<&'a Piece>);

fn entries<'a>(meant: &[Meant<'a>]) -> Vec<Entry<'a>> {
    let mut entries: Vec<Entry> = Vec::new();
    for some in meant {
        for piece in some.pieces() {
            match entries.last_mut() {
                Some((order, entry, pieces))
                    if order.number == some.order.number && *entry == piece.entry =>
                {
                    pieces.push(piece);
                }
                _ => entries.push((some.order, piece.entry, vec![piece])),
            }
        }
    }
    entries
}

fn one_material<'s>(entries: &[Entry], studio: &'s Studio) -> Result<&'s Material> {
    let mut keys: Vec<&str> = entries
        .iter()
        .flat_map(|(_, _, pieces)| pieces.iter().map(|piece| piece.material.as_str()))
        .collect();
    keys.sort_unstable();
    keys.dedup();
    match (
        keys.as_slice(),
        keys.first().and_then(|key| studio.materials.get(*key)),
    ) {
        ([_], Some(material)) => Ok(material),
        ([key], None) => bail!("the studio has no material `{key}`; nothing was written"),
        _ => bail!(
            "`--poured` measures one material at a time, these are {}; mark them one after the \
             other; nothing was written",
            keys.join(" and ")
        ),
    }
}

fn areas(entries: &[Entry], material: &Material) -> Vec<f64> {
    let area = |pieces: &Vec<&Piece>| {
        let areas = pieces.iter().map(|piece| first_coats_m2(piece, material));
        areas.sum::<f64>()
    };
    entries.iter().map(|(_, _, pieces)| area(pieces)).collect()
}

/// Deals out a volume by areas, to the hundredth of a millilitre; the shares add up to
/// the volume. [ml]
fn shares(volume_ml: f64, areas: &[f64]) -> Vec<f64> {
    let total: f64 = areas.iter().sum();
    let mut dealt = 0.0;
    let mut so_far = 0.0;
    let share = |area: &f64| {
        so_far += area;
        let until = (volume_ml * 100.0 * so_far / total).round();
        let share = until - dealt;
        dealt = until;
        share / 100.0
    };
    areas.iter().map(share).collect()
}

fn words(text: Option<&str>) -> Option<String> {
    let words = text?.split_whitespace().collect::<Vec<_>>().join(" ");
    (!words.is_empty()).then_some(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_go_by_area_and_add_up() {
        assert_eq!(shares(40.0, &[1.0, 1.0, 2.0]), [10.0, 10.0, 20.0]);
        let thirds = shares(10.0, &[1.0, 1.0, 1.0]);
        assert_eq!(thirds, [3.33, 3.34, 3.33]);
    }
}
