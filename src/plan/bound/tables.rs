//! What hands cost for a step of some length, for every start, at given prices.

use std::collections::BTreeMap;

use super::facts::Facts;
use crate::plan::model::Slot;

/// More than anything costs.
pub(super) const NEVER: i64 = i64::MAX / 8;

/// Prices of a step by its start.
#[derive(Debug, Clone)]
pub(super) struct Table(Vec<i64>);

impl Table {
    /// Returns the price of beginning at `at`; [`NEVER`] if nobody may.
    pub(super) fn at(&self, at: Slot) -> i64 {
        let at = usize::try_from(at).unwrap_or(usize::MAX);
        self.0.get(at).copied().unwrap_or(NEVER)
    }
}

/// Tables for every length of step that there is.
#[derive(Debug)]
pub(super) struct Tables {
    steps: BTreeMap<Slot, Table>,
    /// Of beginning within the wait for the wash from a slot on.
    washes: BTreeMap<Slot, Table>,
    gap: Slot,
}

impl Tables {
    /// Works out all tables; `sums` are the prices of hands added up.
    pub(super) fn new(facts: &Facts, sums: &[i64]) -> Tables {
        let gap = facts.instance.wash_gap.max(0);
        let step = |&length: &Slot| (length, table(facts, sums, length));
        let steps: BTreeMap<Slot, Table> = facts.lengths.iter().map(step).collect();
        let waits = facts.washes.iter().map(|wash| {
            let table = &steps[wash];
            (*wash, cheapest_within(table, gap))
        });
        Tables {
            washes: waits.collect(),
            steps,
            gap,
        }
    }

    /// Returns the table of a step of that length.
    pub(super) fn step(&self, length: Slot) -> &Table {
        &self.steps[&length]
    }

    /// Returns the table of a wash that may wait: by the end of unloading.
    pub(super) fn wash(&self, length: Slot) -> &Table {
        &self.washes[&length]
    }

    /// Returns the start of the cheapest wash after unloading ended at `gone`.
    pub(super) fn wash_start(&self, length: Slot, gone: Slot) -> Slot {
        let table = self.step(length);
        let starts = gone..=gone + self.gap;
        starts.min_by_key(|&at| table.at(at)).unwrap_or(gone)
    }
}

fn table(facts: &Facts, sums: &[i64], length: Slot) -> Table {
    let last = (facts.horizon - length).max(-1);
    let price = |at: Slot| match facts.manned(at, length) {
        true => sums[(at + length) as usize] - sums[at as usize],
        false => NEVER,
    };
    Table((0..=last).map(price).collect())
}

/// Returns the least of each entry and the `gap` ones after it.
fn cheapest_within(table: &Table, gap: Slot) -> Table {
    let count = table.0.len();
    let mut least = vec![NEVER; count];
    let mut waiting: std::collections::VecDeque<usize> = std::collections::VecDeque::new();
    for at in (0..count).rev() {
        while waiting.back().is_some_and(|&w| table.0[w] >= table.0[at]) {
            waiting.pop_back();
        }
        waiting.push_back(at);
        while waiting.front().is_some_and(|&w| w > at + gap as usize) {
            waiting.pop_front();
        }
        least[at] = waiting.front().map_or(NEVER, |&w| table.0[w]);
    }
    Table(least)
}
