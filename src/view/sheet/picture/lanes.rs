//! Steps on the time axis: a lane for each kind of work, one for each frame.

use chrono::NaiveDateTime;

use super::super::numbered::{Numbered, Work, numbered};
use super::super::svg::{Anchor, Area};
use super::super::width::width;
use super::super::words::frame_name;
use super::rows::{Extent, rows};
use super::{Canvas, Subject};
use crate::plan::week::{Round, What};
use crate::view::dates::time;

/// Height of a lane with one row. [drawing units]
const LANE: f64 = 16.0;
/// What each further row adds. [drawing units]
const ROW: f64 = 15.0;
/// Size of numbers in and beside blocks, as in `sheet.style`. [drawing units]
const NUMBER: f64 = 11.0;
/// Size of the words at a collection, as in `sheet.style`. [drawing units]
const FIGURE: f64 = 10.5;
/// Least width of a block. [drawing units]
const BLOCK_MIN: f64 = 1.5;

/// A stretch of time.
type Span = (NaiveDateTime, NaiveDateTime);

/// A stretch of work as it is drawn and told.
struct Block {
    class: &'static str,
    words: String,
    label: String,
    span: Span,
    /// The longer stretch around it in which a frame is handled.
    around: Option<Span>,
}

/// Where the label of a block has room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Inside,
    Behind,
    Before,
}

/// Draws all lanes that have something on this day.
pub(super) fn draw(canvas: &mut Canvas, subject: &Subject) {
    let steps = numbered(subject.steps);
    draw_kind(canvas, &steps, Work::Coat, "coat");
    draw_frames(canvas, &steps);
    draw_kind(canvas, &steps, Work::Wash, "wash");
    draw_kind(canvas, &steps, Work::Finish, "finish");
    draw_kind(canvas, &steps, Work::Pack, "pack");
    draw_leaving(canvas, subject);
}

fn draw_kind(canvas: &mut Canvas, steps: &[Numbered], work: Work, label: &str) {
    let of_kind = steps.iter().filter(|step| step.work == work);
    let blocks: Vec<Block> = of_kind
        .map(|step| {
            let when = span(step.from, step.until);
            let (class, words, number) = match step.session {
                Some(_) => ("mixing", format!("mix, {when}"), "mix".to_owned()),
                None => (
                    "work",
                    format!("{label} {}, {when}", step.number),
                    step.number.to_string(),
                ),
            };
            Block {
                class,
                words,
                label: number,
                span: (step.from, step.until),
                around: None,
            }
        })
        .collect();
    if !blocks.is_empty() {
        canvas.blocks(label, &blocks);
    }
}

fn draw_frames(canvas: &mut Canvas, steps: &[Numbered]) {
    let mut rounds: Vec<(&Round, &Numbered)> = steps
        .iter()
        .filter_map(|step| Some((step.round?, step)))
        .collect();
    rounds.sort_by_key(|(round, step)| (round.lamp, round.frame.clone(), round.which, step.from));
    let alike = |a: &(&Round, &Numbered), b: &(&Round, &Numbered)| {
        (&a.0.frame, a.0.which) == (&b.0.frame, b.0.which)
    };
    for rounds in rounds.chunk_by(alike) {
        let first = rounds[0].0;
        let name = frame_name(first);
        let blocks: Vec<Block> = rounds
            .iter()
            .map(|(round, step)| round_block(round, step, &name))
            .collect();
        let number = (first.of > 1).then_some(first.which);
        let room = canvas.label_room();
        canvas.blocks(&shortened(&first.frame, number, room), &blocks);
    }
}

fn round_block(round: &Round, step: &Numbered, name: &str) -> Block {
    let seconds = chrono::TimeDelta::seconds((round.minutes * 60.0) as i64);
    Block {
        class: if round.lamp { "lit lamp" } else { "lit" },
        words: format!(
            "Round {} in {name}: in the light from {} for {:.0} min, frame in use {}",
            step.number,
            time(round.light_from),
            round.minutes,
            span(step.from, step.until)
        ),
        label: step.number.to_string(),
        span: (round.light_from, round.light_from + seconds),
        around: Some((step.from, step.until)),
    }
}

/// Shortens a frame's name to the room of a label, in the middle where its last word
/// tells it from another; its number among frames alike always stands. [em]
fn shortened(frame: &str, number: Option<u32>, room: f64) -> String {
    let number = number.map_or(String::new(), |number| format!(" {number}"));
    let fits = |name: &str| width(name, true) <= room;
    let whole = format!("{frame}{number}");
    if fits(&whole) {
        return whole;
    }
    let last = frame.rsplit(' ').next().unwrap_or_default();
    let last = if width(last, true) <= 0.45 * room {
        last
    } else {
        ""
    };
    let begins = frame.char_indices().map(|(at, _)| frame[..at].trim_end());
    let shortened = begins.map(|begin| format!("{begin}…{last}{number}"));
    let fitting = shortened.take_while(|name| fits(name)).last();
    fitting.unwrap_or_else(|| format!("…{number}"))
}

fn draw_leaving(canvas: &mut Canvas, subject: &Subject) {
    let leaving = subject.steps.iter().filter_map(|step| match &step.what {
        What::Leave(parcels) => Some((step.from, parcels)),
        _ => None,
    });
    let blocks: Vec<Block> = leaving
        .map(|(at, parcels)| {
            let whom = match parcels.iter().all(|parcel| parcel.pickup) {
                true => "for collection",
                false => "carrier",
            };
            let words = format!("{} {whom}, {}", time(at), parcels.len());
            Block {
                class: "leaving",
                label: words.clone(),
                words,
                span: (at, at),
                around: None,
            }
        })
        .collect();
    if !blocks.is_empty() {
        canvas.blocks("leaves", &blocks);
    }
}

fn span(from: NaiveDateTime, until: NaiveDateTime) -> String {
    format!("{}–{}", time(from), time(until))
}

impl Block {
    fn label_width(&self) -> f64 {
        let size = if self.is_moment() { FIGURE } else { NUMBER };
        width(&self.label, true) * size
    }

    /// Whether it is a line at a moment and no stretch of work.
    fn is_moment(&self) -> bool {
        self.class == "leaving"
    }
}

impl Canvas {
    /// Draws blocks in a lane, in as many rows as they need for none to cover another and
    /// for each to show its label.
    fn blocks(&mut self, label: &str, blocks: &[Block]) {
        let placed: Vec<(Side, Extent)> = blocks.iter().map(|block| self.place(block)).collect();
        let extents: Vec<Extent> = placed.iter().map(|(_, extent)| *extent).collect();
        let rows = rows(&extents);
        let more = rows.iter().max().copied().unwrap_or(0);
        let lane = self.lane(label, LANE + ROW * more as f64);
        for ((block, (side, _)), row) in blocks.iter().zip(&placed).zip(rows) {
            let row = Area {
                y: lane.y + ROW * row as f64,
                height: LANE,
                ..lane
            };
            self.block(block, *side, row);
        }
    }

    /// Finds the side on which a block has its label, and what both take.
    fn place(&self, block: &Block) -> (Side, Extent) {
        let Extent { from, until } = self.outer(block);
        let label = block.label_width();
        let (begin, end) = self.reach(block.span);
        // Room for the eye between a label and the next block.
        let beside = label + 4.0;
        match () {
            () if !block.is_moment() && label + 2.0 <= end - begin => {
                (Side::Inside, Extent { from, until })
            }
            () if until + label + 1.0 <= self.right() => {
                let until = until + beside;
                (Side::Behind, Extent { from, until })
            }
            () => {
                let from = from - beside;
                (Side::Before, Extent { from, until })
            }
        }
    }

    fn outer(&self, block: &Block) -> Extent {
        let (from, until) = self.reach(block.around.unwrap_or(block.span));
        Extent { from, until }
    }

    /// Returns where a stretch begins and ends on the axis.
    fn reach(&self, span: Span) -> (f64, f64) {
        let left = self.x(span.0);
        (left, self.x(span.1).max(left + BLOCK_MIN))
    }

    /// Draws a block and its label. Who points at it is told more.
    fn block(&mut self, block: &Block, side: Side, row: Area) {
        let (left, right) = self.reach(block.span);
        let outer = self.outer(block);
        let bar = |from: f64, until: f64| Area {
            x: from,
            y: row.y + 1.0,
            width: until - from,
            height: row.height - 2.0,
        };
        let base = row.y + 12.0;
        self.drawing.told(&block.words, |drawing| {
            if block.around.is_some() {
                drawing.rect("handling", bar(outer.from, outer.until));
            }
            if block.is_moment() {
                drawing.line("leaving", (left, row.y), (left, row.y + row.height));
            } else {
                drawing.rect(block.class, bar(left, right));
            }
            let kind = block.class.split(' ').next().unwrap_or_default();
            let class = match (side, block.is_moment()) {
                (Side::Inside, _) => format!("on-{kind}"),
                (_, true) => "figure strong".to_owned(),
                (_, false) => "beside".to_owned(),
            };
            let (anchor, x) = match side {
                Side::Inside => (Anchor::Middle, (left + right) / 2.0),
                Side::Behind => (Anchor::Start, outer.until + 2.0),
                Side::Before => (Anchor::End, outer.from - 2.0),
            };
            drawing.text(&class, anchor, (x, base), &block.label);
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frame_keeps_its_number_and_what_tells_it_from_another() {
        let name = "small contact frame of beech";
        let short = |name, number, room| shortened(name, number, room);
        assert_eq!(short("small", Some(2), 7.0), "small 2");
        assert_eq!(short(name, Some(2), 8.0), "small…beech 2");
        assert_eq!(short(name, Some(2), 4.5), "small… 2");
        assert_eq!(short(name, None, 4.5), "small c…");
        assert_eq!(short("Glaswanne", Some(11), 1.0), "… 11");
    }
}
