//! Steps on the time axis: a lane for each kind of work, one for each frame.

use chrono::NaiveDateTime;

use super::super::numbered::{Numbered, Work, numbered};
use super::super::svg::{Anchor, Area};
use super::{Canvas, Subject};
use crate::plan::week::{Round, What};
use crate::view::dates::time;

/// A lane's height. [drawing units]
const LANE: f64 = 17.0;

/// A stretch of work as it is drawn and told.
struct Block {
    class: &'static str,
    words: String,
    label: String,
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
    let of_kind: Vec<&Numbered> = steps.iter().filter(|step| step.work == work).collect();
    if of_kind.is_empty() {
        return;
    }
    let area = canvas.lane(label, LANE);
    for (index, step) in of_kind.iter().enumerate() {
        let next = of_kind.get(index + 1).map(|next| canvas.x(next.from));
        let when = span(step.from, step.until);
        let block = match step.session {
            Some(_) => Block {
                class: "mixing",
                words: format!("mix, {when}"),
                label: "mix".to_owned(),
            },
            None => Block {
                class: "work",
                words: format!("{label} {}, {when}", step.number),
                label: step.number.to_string(),
            },
        };
        canvas.block(&block, (step.from, step.until), area, next);
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
        let name = super::super::words::frame_name(rounds[0].0);
        let area = canvas.lane(&shortened(&name, canvas), LANE);
        for (index, (round, step)) in rounds.iter().enumerate() {
            let next = rounds.get(index + 1).map(|(_, next)| canvas.x(next.from));
            let words = format!(
                "Round {} in {name}: in the light from {} for {:.0} min, frame in use {}",
                step.number,
                time(round.light_from),
                round.minutes,
                span(step.from, step.until)
            );
            let whole = canvas.bar((step.from, step.until), area);
            canvas
                .drawing
                .told(&words, |drawing| drawing.rect("handling", whole));
            let seconds = chrono::TimeDelta::seconds((round.minutes * 60.0) as i64);
            let lit = (round.light_from, round.light_from + seconds);
            let block = Block {
                class: if round.lamp { "lit lamp" } else { "lit" },
                words,
                label: step.number.to_string(),
            };
            canvas.block(&block, lit, area, next);
        }
    }
}

/// Cuts a frame's name where the lane's label has no room.
fn shortened(name: &str, canvas: &Canvas) -> String {
    let room = (canvas.axis.0 / 6.6) as usize;
    if name.chars().count() <= room {
        return name.to_owned();
    }
    let begin: String = name.chars().take(room.saturating_sub(1)).collect();
    format!("{begin}…")
}

fn draw_leaving(canvas: &mut Canvas, subject: &Subject) {
    let leaving: Vec<_> = subject
        .steps
        .iter()
        .filter_map(|step| match &step.what {
            What::Leave(parcels) => Some((step.from, parcels)),
            _ => None,
        })
        .collect();
    if leaving.is_empty() {
        return;
    }
    let area = canvas.lane("leaves", LANE);
    let mut free_from = f64::MIN;
    for (index, (at, parcels)) in leaving.into_iter().enumerate() {
        let x = canvas.x(at);
        let pickup = parcels.iter().all(|parcel| parcel.pickup);
        let whom = if pickup { "door" } else { "carrier" };
        let words = format!("{} {whom}, {}", time(at), parcels.len());
        let wide = 5.8 * words.chars().count() as f64 + 5.0;
        // The first has its words on its left, where no other can be.
        let left = index == 0 && x - wide > area.x || x + wide > area.x + area.width;
        canvas.drawing.told(&words, |drawing| {
            drawing.line("leaving", (x, area.y), (x, area.y + area.height));
            if left || x > free_from {
                let place = match left {
                    true => (Anchor::End, x - 4.0),
                    false => (Anchor::Start, x + 4.0),
                };
                drawing.text("figure strong", place.0, (place.1, area.y + 12.5), &words);
            }
        });
        free_from = if left { x } else { x + wide };
    }
}

fn span(from: NaiveDateTime, until: NaiveDateTime) -> String {
    format!("{}–{}", time(from), time(until))
}

impl Canvas {
    fn bar(&self, span: (NaiveDateTime, NaiveDateTime), lane: Area) -> Area {
        let (left, right) = (self.x(span.0), self.x(span.1));
        Area {
            x: left,
            y: lane.y + 1.0,
            width: (right - left).max(1.5),
            height: lane.height - 2.0,
        }
    }

    /// Draws a block with its label: inside if there is room, else behind it unless the
    /// next block is there. Who points at it is told either way.
    fn block(
        &mut self,
        block: &Block,
        span: (NaiveDateTime, NaiveDateTime),
        lane: Area,
        next: Option<f64>,
    ) {
        let bar = self.bar(span, lane);
        let letters = block.label.chars().count() as f64;
        let behind = bar.x + bar.width + 1.0;
        self.drawing.told(&block.words, |drawing| {
            drawing.rect(block.class, bar);
            let kind = block.class.split(' ').next().unwrap_or_default();
            let middle = (bar.x + bar.width / 2.0, lane.y + 12.6);
            if 6.5 * letters + 2.0 <= bar.width {
                drawing.text(&format!("on-{kind}"), Anchor::Middle, middle, &block.label);
            } else if 4.7 * letters <= bar.width {
                let class = format!("on-{kind} small");
                drawing.text(&class, Anchor::Middle, middle, &block.label);
            } else if next.is_none_or(|next| behind + 6.5 * letters <= next) {
                drawing.text(
                    "beside",
                    Anchor::Start,
                    (behind, lane.y + 12.6),
                    &block.label,
                );
            }
        });
    }
}
