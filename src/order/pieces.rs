//! The pieces of an order file: entries times copies, each with its own record.

use super::file::{Did, EventFile, OrderFile, PieceFile};
use super::parse::Against;
use super::{Coated, Cover, Done, Event, Exposed, Image, LightSource, Piece, Progress, check};
use crate::stage::Stage;
use crate::units::Dose;
use crate::yaml::reader::Reader;
use crate::yaml::trail::Trail;

/// Copies of one entry that are taken for an order and not for a slip.
const COPIES_MAX: u32 = 500;

/// Sensitizer that is taken for a session and not for a slip. [ml]
const POURED_MAX_ML: f64 = 100_000.0;

/// The least that is measured out. [ml]
const POURED_MIN_ML: f64 = 0.01;

/// An entry of `pieces` and its place.
struct Entry<'a> {
    shape: &'a PieceFile,
    index: usize,
    at: Trail<'a>,
}

/// Reads the list of pieces; entries with errors are left out of it.
pub fn pieces(shape: &OrderFile, against: &Against, reader: &mut Reader) -> Vec<Piece> {
    let top = Trail::Root;
    let list = top.key("pieces");
    let shapes = shape.pieces.as_deref().unwrap_or(&[]);
    if shape.pieces.is_none() {
        let example = "[{title: …, material: …, size: A4, negative: …}]";
        reader.missing(&top, "pieces", example);
    } else if shapes.is_empty() {
        let problem = reader
            .error("`pieces` lists nothing")
            .hint("add an entry that begins with `- title:`");
        reader.at_key(&list, problem);
    }
    let mut pieces = Vec::new();
    for (index, shape) in shapes.iter().enumerate() {
        let at = list.index(index);
        let entry = Entry { shape, index, at };
        match first_copy(&entry, against, reader) {
            Some(first) => pieces.extend(copies(&first, &entry, against, reader)),
            None => drop(record(COPIES_MAX, &entry, against, reader)),
        }
    }
    for (number, piece) in (1..).zip(&mut pieces) {
        piece.number = number;
    }
    pieces
}

/// Reads an entry as its first copy, without number and record.
fn first_copy(entry: &Entry, against: &Against, reader: &mut Reader) -> Option<Piece> {
    let Entry { shape, at, .. } = entry;
    let title = reader.need(&shape.title, at, "title", "Harbour wall");
    let material = reader.need(&shape.material, at, "material", "rag-300");
    let size = reader.need(&shape.size, at, "size", "A4");
    let copies = reader.take_or(&shape.copies, at, "copies", 1);
    check::within(copies, 1..=COPIES_MAX, &at.key("copies"), reader);
    let image = image(entry, reader);
    let cover = cover(entry, image.as_ref(), reader);
    let light = reader.take_or(&shape.light, at, "light", LightSource::Sun);
    let hold = reader.take(&shape.hold, at, "hold");
    if let (Some(material), Some(studio)) = (&material, against.studio) {
        check::material(material, studio, &at.key("material"), reader);
    }
    let piece = Piece {
        number: 0,
        entry: entry.index,
        copy: 1,
        copies: copies.clamp(1, COPIES_MAX),
        title: title?,
        material: material?,
        size: size?,
        image: image?,
        cover,
        light,
        hold,
        progress: Progress::default(),
    };
    if let Some(studio) = against.studio {
        check::fits(&piece, studio, at, reader);
    }
    Some(piece)
}

fn image(entry: &Entry, reader: &mut Reader) -> Option<Image> {
    let Entry { shape, at, .. } = entry;
    let negative = reader.take(&shape.negative, at, "negative");
    let objects = reader.take(&shape.objects, at, "objects");
    if shape.negative.is_some() && shape.objects.is_some() {
        let problem = reader
            .error("a piece has both `negative` and `objects`")
            .hint("keep the one that makes the picture, and remove the other");
        reader.at_key(&at.key("objects"), problem);
        return None;
    }
    if shape.negative.is_none() && shape.objects.is_none() && !reader.is_merging(at) {
        let problem = reader
            .error("the piece has neither `negative` nor `objects`")
            .hint("add `negative: harbour-wall`, or `objects: ferns and lace`");
        reader.at_key(at, problem);
    }
    negative
        .map(Image::Negative)
        .or(objects.map(Image::Objects))
}

/// Reads the cover: glass over a negative if nothing is said; over objects the
/// maker must say, because the wind decides about them.
fn cover(entry: &Entry, image: Option<&Image>, reader: &mut Reader) -> Cover {
    let Entry { shape, at, .. } = entry;
    let given = reader.take(&shape.cover, at, "cover");
    match image {
        Some(Image::Negative(_)) if given == Some(Cover::None) => {
            let problem = reader
                .warning("a negative without glass does not lie flat")
                .hint("write `cover: glass`");
            reader.at_value(&at.key("cover"), problem);
        }
        Some(Image::Objects(_)) if shape.cover.is_none() && !reader.is_merging(at) => {
            let problem = reader
                .error("the key `cover` is missing beside `objects`")
                .hint("add `cover: glass` if they lie flat, `cover: none` if they stand up");
            reader.at_key(&at.key("objects"), problem);
        }
        Some(_) | None => {}
    }
    given.unwrap_or(Cover::Glass)
}

/// Returns a piece for each copy, with the part of the record that concerns it.
fn copies(first: &Piece, entry: &Entry, against: &Against, reader: &mut Reader) -> Vec<Piece> {
    let record = record(first.copies, entry, against, reader);
    let list = entry.at.key("progress");
    let mut pieces = Vec::with_capacity(first.copies as usize);
    for copy in 1..=first.copies {
        let mut progress = Progress::default();
        for line in record.iter().filter(|line| line.concerns(copy)) {
            let at = list.index(line.index);
            if !check::follows(&progress, &line.event, &at, reader) {
                // What comes after a gap would only be told a second time.
                break;
            }
            let short = |studio| check::wait_kept(&progress, &line.event, first, studio);
            if let Some(what) = against.studio.and_then(short) {
                let problem = reader.warning(what);
                reader.at_value(&at.key("at"), problem);
            }
            progress.events.push(line.event.clone());
        }
        pieces.push(Piece {
            copy,
            progress,
            ..first.clone()
        });
    }
    pieces
}

/// A line of the record, before it is dealt out to the copies.
struct Line {
    index: usize,
    /// None means all of them.
    copies: Option<Vec<u32>>,
    event: Event,
}

impl Line {
    fn concerns(&self, copy: u32) -> bool {
        self.copies.as_ref().is_none_or(|some| some.contains(&copy))
    }
}

fn record(copies: u32, entry: &Entry, against: &Against, reader: &mut Reader) -> Vec<Line> {
    let list = entry.at.key("progress");
    let mut lines = Vec::new();
    for (index, line) in entry.shape.progress.iter().flatten().enumerate() {
        let at = list.index(index);
        let some = copy_numbers(line, copies, &at, reader);
        let Some(event) = event(line, &at, reader) else {
            continue;
        };
        check::not_in_future_at(event.at, against.now, &at.key("at"), reader);
        lines.push(Line {
            index,
            copies: some,
            event,
        });
    }
    lines
}

fn event(line: &EventFile, at: &Trail, reader: &mut Reader) -> Option<Event> {
    let when = reader.need(&line.at, at, "at", "2026-05-10 18:30");
    let did = reader.need(&line.did, at, "did", "coated")?;
    let exposed = exposed(line, did, at, reader);
    let coated = coated(line, did, at, reader);
    let verdict = reader.take(&line.verdict, at, "verdict");
    let reason = reader.take(&line.reason, at, "reason");
    if line.verdict.is_some() && did != Did::Judged {
        let problem = reader
            .error("`verdict` belongs to an entry of its own")
            .hint("add an entry such as `{at: …, did: judged, verdict: good}` after it");
        reader.at_key(&at.key("verdict"), problem);
    }
    let what = match did {
        Did::Stage(stage) => Done::Stage {
            stage,
            exposed,
            coated,
        },
        Did::Judged => {
            if line.verdict.is_none() {
                reader.missing(at, "verdict", "good");
            }
            Done::Judged { verdict: verdict? }
        }
        Did::Remake => {
            if line.reason.is_none() {
                reader.missing(at, "reason", "washed out");
            }
            Done::Remake {
                reason: reason.unwrap_or_default(),
            }
        }
    };
    Some(Event { at: when?, what })
}

/// Reads what is known of a timed exposure; only an exposure may be timed.
fn exposed(line: &EventFile, did: Did, at: &Trail, reader: &mut Reader) -> Option<Exposed> {
    let parts = [
        (&line.minutes, "minutes", 1440.0),
        (&line.planned_minutes, "planned_minutes", 1440.0),
        (&line.dose_kj_m2, "dose_kj_m2", 100_000.0),
        (&line.dose_spread, "dose_spread", 5.0),
    ];
    let of_exposing = did == Did::Stage(Stage::Exposing);
    let [minutes, planned_minutes, dose, dose_spread] = parts.map(|(leaf, key, most)| {
        let number = reader.take(leaf, at, key)?;
        let place = at.key(key);
        if !of_exposing {
            let what = format!("`{key}` belongs to `exposed`, not to `{}`", did.word());
            let problem = reader.error(what).hint(format!("remove `{key}` here"));
            reader.at_key(&place, problem);
        } else if !(number > 0.0 && number <= most) {
            let what =
                format!("expected more than 0 and at most {most} for `{key}`, found `{number}`");
            let problem = reader
                .error(what)
                .hint(format!("write what was measured, or remove `{key}`"));
            reader.at_value(&place, problem);
        }
        Some(number)
    });
    if of_exposing && minutes.is_none() && (dose.is_some() || planned_minutes.is_some()) {
        reader.missing(at, "minutes", "12");
    }
    Some(Exposed {
        minutes: minutes?,
        planned_minutes,
        dose: dose.map(Dose),
        dose_spread,
    })
}

/// Reads what is known of a coat; only a coat has sensitizer and batches.
fn coated(line: &EventFile, did: Did, at: &Trail, reader: &mut Reader) -> Option<Coated> {
    let of_coating = did == Did::Stage(Stage::Coating);
    let given = [
        (line.poured_ml.is_some(), "poured_ml"),
        (line.left_ml.is_some(), "left_ml"),
        (line.batch.is_some(), "batch"),
        (line.mix.is_some(), "mix"),
    ];
    for (_, key) in given.into_iter().filter(|(given, _)| *given && !of_coating) {
        let what = format!("`{key}` belongs to `coated`, not to `{}`", did.word());
        let problem = reader.error(what).hint(format!("remove `{key}` here"));
        reader.at_key(&at.key(key), problem);
    }
    let poured_ml = reader.take(&line.poured_ml, at, "poured_ml");
    let left_ml = reader.take(&line.left_ml, at, "left_ml");
    let possible = POURED_MIN_ML..=POURED_MAX_ML;
    if let Some(poured) = poured_ml.filter(|ml| !possible.contains(ml)) {
        let what = format!("expected {POURED_MIN_ML} to {POURED_MAX_ML} ml, found `{poured}`");
        let problem = reader.error(what);
        reader.at_value(&at.key("poured_ml"), problem);
    }
    match (poured_ml, left_ml) {
        (None, Some(_)) if line.poured_ml.is_none() => reader.missing(at, "poured_ml", "40"),
        (Some(poured), Some(left)) if !(0.0..=poured).contains(&left) => {
            let what = format!("expected 0 to the {poured} ml that were poured, found `{left}`");
            let problem = reader.error(what);
            reader.at_value(&at.key("left_ml"), problem);
        }
        (Some(_) | None, _) => {}
    }
    let coated = Coated {
        poured_ml,
        left_ml,
        batch: reader.take(&line.batch, at, "batch"),
        mix: reader.take(&line.mix, at, "mix"),
    };
    coated.if_known()
}

fn copy_numbers(
    line: &EventFile,
    copies: u32,
    at: &Trail,
    reader: &mut Reader,
) -> Option<Vec<u32>> {
    let leaves = line.copies.as_ref()?;
    let list = at.key("copies");
    if leaves.is_empty() {
        let problem = reader
            .error("`copies` names no copy")
            .hint("remove `copies` if the entry is about all of them");
        reader.at_key(&list, problem);
    }
    let numbers: Vec<u32> = reader.list(leaves, at, "copies");
    for (index, number) in numbers.iter().enumerate() {
        if !(1..=copies).contains(number) {
            let what = format!("there is no copy {number}, the piece has {copies}");
            let hint = match copies {
                1 => "remove `copies`, there is only one".to_owned(),
                _ => format!("use numbers from 1 to {copies}"),
            };
            let problem = reader.error(what).hint(hint);
            reader.at_value(&list.index(index), problem);
        }
    }
    Some(numbers)
}
