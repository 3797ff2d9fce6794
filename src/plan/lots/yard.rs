//! What a lot would be: its smallest frame and its price, remembered.

use std::cmp::Reverse;
use std::collections::{BTreeSet, HashMap};

use super::{LotLay, LotRules, ToLay};
use crate::plan::lay::lay_within;
use crate::size::Size;

/// Tries for one question whether pieces fit; more rarely changes the answer.
const TRIES_MAX: u32 = 3_000;

/// A square decimetre in squares of a tenth of a millimetre.
const AREA_DM2: u64 = 1_000_000;

/// Pieces that go into one frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Lot {
    /// By their number in the yard.
    pub(super) pieces: Vec<usize>,
    /// Its frame, counted from the smallest one.
    pub(super) frame: usize,
    pub(super) price: i64,
}

/// What lots are made of, with answers to questions asked before.
///
/// Pieces are numbered by key, promise and order, whatever their place in the
/// list, so that the list's order decides nothing.
pub(super) struct Yard<'a> {
    rules: &'a LotRules<'a>,
    /// The place of each piece in the list.
    listed: Vec<usize>,
    sizes: Vec<Size>,
    orders: Vec<usize>,
    dues: Vec<Option<i64>>,
    /// Frames from the smallest to the largest, by their place in the list.
    frames: Vec<usize>,
    /// Whether sizes fit into a frame.
    known: HashMap<(usize, Vec<Size>), bool>,
}

impl<'a> Yard<'a> {
    pub(super) fn new<K: Ord>(pieces: &[ToLay<K>], rules: &'a LotRules<'a>) -> Yard<'a> {
        let mut listed: Vec<usize> = (0..pieces.len()).collect();
        listed.sort_by_key(|&place| {
            let piece = &pieces[place];
            let due = piece.due.unwrap_or(i64::MAX);
            (&piece.key, due, piece.order, Reverse(piece.size), place)
        });
        let mut frames: Vec<usize> = (0..rules.frames.len()).collect();
        frames.sort_by_key(|&frame| (area(rules.frames[frame]), rules.frames[frame], frame));
        let in_yard = || listed.iter().map(|&place| &pieces[place]);
        Yard {
            rules,
            sizes: in_yard().map(|piece| piece.size).collect(),
            orders: in_yard().map(|piece| piece.order).collect(),
            dues: in_yard().map(|piece| piece.due).collect(),
            listed,
            frames,
            known: HashMap::new(),
        }
    }

    /// The place of a piece in the list.
    pub(super) fn listed(&self, piece: usize) -> usize {
        self.listed[piece]
    }

    /// The size of a piece, long side first.
    pub(super) fn lying_size(&self, piece: usize) -> Size {
        let size = self.sizes[piece];
        match size.width < size.height {
            true => size.turned(),
            false => size,
        }
    }

    /// How many questions needed an answer that was not known.
    pub(super) fn questions(&self) -> usize {
        self.known.len()
    }

    /// The lot that these pieces make, if they can be one.
    pub(super) fn lot(&mut self, pieces: &[usize]) -> Option<Lot> {
        self.lot_from(pieces, 0)
    }

    /// The same, if it is known that frames before `smallest` are too small.
    pub(super) fn lot_from(&mut self, pieces: &[usize], smallest: usize) -> Option<Lot> {
        if pieces.len() > 1 && !self.together(pieces) {
            return None;
        }
        let order = self.canonical(pieces);
        let sizes: Vec<Size> = order.iter().map(|&p| self.lying_size(p)).collect();
        let needed: u64 = sizes.iter().map(|size| area(*size)).sum();
        let frame = (smallest..self.frames.len())
            .find(|&frame| area(self.inside(frame)) >= needed && self.holds(frame, &sizes))?;
        Some(Lot {
            pieces: pieces.to_vec(),
            frame,
            price: self.price(pieces, frame),
        })
    }

    fn together(&self, pieces: &[usize]) -> bool {
        let listed: Vec<usize> = pieces.iter().map(|&piece| self.listed[piece]).collect();
        (self.rules.together)(&listed)
    }

    fn inside(&self, frame: usize) -> Size {
        self.rules.frames[self.frames[frame]]
    }

    fn holds(&mut self, frame: usize, sizes: &[Size]) -> bool {
        let question = (frame, sizes.to_vec());
        if let Some(&answer) = self.known.get(&question) {
            return answer;
        }
        let inside = self.inside(frame);
        let answer = lay_within(inside, self.rules.margin, sizes, TRIES_MAX).is_some();
        self.known.insert(question, answer);
        answer
    }

    fn price(&self, pieces: &[usize], frame: usize) -> i64 {
        let prices = &self.rules.prices;
        let frame_dm2 = self.inside(frame).area_m2() * 100.0;
        prices.lot + prices.frame_dm2 * frame_dm2.round() as i64 + self.price_of_tying(pieces)
    }

    /// What it costs that these pieces are in one lot, whatever its frame.
    fn price_of_tying(&self, pieces: &[usize]) -> i64 {
        let prices = &self.rules.prices;
        let orders = self.order_count(pieces);
        let dues = || pieces.iter().filter_map(|&piece| self.dues[piece]);
        let first_to_last = dues().min().zip(dues().max());
        let days = first_to_last.map_or(0, |(first, last)| last.saturating_sub(first));
        prices.mixed * (orders - 1)
            + prices.share * orders
            + prices
                .day_apart
                .saturating_mul(days.min(i64::from(u16::MAX)))
    }

    fn order_count(&self, pieces: &[usize]) -> i64 {
        let orders: BTreeSet<usize> = pieces.iter().map(|&piece| self.orders[piece]).collect();
        orders.len() as i64
    }

    /// A price that one lot of these pieces cannot beat, found without laying them.
    pub(super) fn least_price_as_one(&self, pieces: &[usize]) -> i64 {
        let prices = &self.rules.prices;
        let dm2 = self.needed_area(pieces) / AREA_DM2;
        prices.lot + prices.frame_dm2 * dm2 as i64 + self.price_of_tying(pieces)
    }

    /// A price that no division of these pieces can beat.
    pub(super) fn least_price(&self, pieces: &[usize]) -> i64 {
        let prices = &self.rules.prices;
        let needed = self.needed_area(pieces);
        let largest = self.frames.len().checked_sub(1);
        let largest = largest.map_or(1, |frame| area(self.inside(frame)).max(1));
        let lots = needed.div_ceil(largest) as i64;
        let orders = self.order_count(pieces);
        // Another lot costs its price and saves the mixing of one order at most.
        let mixing = prices.mixed.min(prices.lot) * (orders - lots).max(0);
        lots * prices.lot
            + prices.frame_dm2 * (needed / AREA_DM2) as i64
            + mixing
            + prices.share * orders.max(lots)
    }

    fn needed_area(&self, pieces: &[usize]) -> u64 {
        pieces.iter().map(|&piece| area(self.sizes[piece])).sum()
    }

    /// Lays a lot, in the same order of pieces as when it was asked for.
    pub(super) fn lay(&self, lot: &Lot) -> LotLay {
        let order = self.canonical(&lot.pieces);
        let sizes: Vec<Size> = order.iter().map(|&piece| self.sizes[piece]).collect();
        let places = lay_within(self.inside(lot.frame), self.rules.margin, &sizes, TRIES_MAX);
        let places = places.expect("the same question has the same answer");
        let listed = order.iter().map(|&piece| self.listed[piece]);
        let mut pieces: Vec<_> = listed.zip(places).collect();
        pieces.sort_by_key(|(place, _)| *place);
        LotLay {
            frame: self.frames[lot.frame],
            pieces,
        }
    }

    /// The pieces by size, so that equal sizes are the same question.
    fn canonical(&self, pieces: &[usize]) -> Vec<usize> {
        let mut pieces = pieces.to_vec();
        pieces.sort_by_key(|&piece| (Reverse(self.lying_size(piece)), piece));
        pieces
    }
}

fn area(size: Size) -> u64 {
    u64::from(size.width.0) * u64::from(size.height.0)
}
