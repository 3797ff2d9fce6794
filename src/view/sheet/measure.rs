//! How much of a page of paper each of its parts takes, as `sheet.….hbs` set them.
//!
//! A studio with templates of its own may need more room than is reckoned with here; its
//! pages then run on to a second one, as full days do.

use super::Paper;
use super::day::DayData;
use super::fit::{Entry, Room, Text, inner};
use super::lists::{LiesRow, MixBlock, RoundCard};
use super::overview::{OverviewData, StripData};
use super::width::Words;

/// The unit of heading and picture on paper. [pt]
const REM: f64 = 9.4;
/// Box to tick with the gap behind it; lines below begin there. [em]
const TICK: f64 = 1.55;
/// A number in its field. [em]
const NUMBER: f64 = 1.66;
/// Gap behind a time. [em]
const TIME_GAP: f64 = 0.3;
/// Gaps above and below a row. [em]
const ROW_GAPS: f64 = 0.34;
/// The rule below a row: a pixel. [pt]
const RULE: f64 = 0.75;
/// Side words, as a share of the list's size.
const QUIET: f64 = 0.975;
/// Width of the drawing of a frame. [em]
const DRAWING: f64 = 4.4;
/// Between the drawing of a frame and its list. [em]
const DRAWING_GAP: f64 = 0.5;
/// The drawing of a frame is no higher. [em]
const DRAWING_MAX: f64 = 5.6;

/// Returns the size of a day's lists on paper, as it stands in the page. [pt]
pub(super) fn day_size(data: &DayData, picture_height: f64, paper: Paper) -> String {
    let (width, _) = inner(paper);
    let minds: usize = data
        .minds
        .iter()
        .map(|mind| lines(mind, width - 20.0, 0.92))
        .sum();
    let minds = match minds {
        0 => 0.0,
        lines => 10.0 + 0.92 * 1.4 * REM * lines as f64,
    };
    let caption = 0.8 * 1.4 * REM * lines(&data.caption, width, 0.8) as f64;
    let picture = 0.4 * REM + picture_height * width + 0.2 * REM + caption;
    let height = header(&data.light) + minds + picture + 0.7 * REM;
    shown(Room::below(height, paper).size_for(&day_entries(data)))
}

/// Returns the size of the week's lists on paper, as it stands in the page. [pt]
pub(super) fn week_size(data: &OverviewData, rests_on: &str, paper: Paper) -> String {
    let (width, _) = inner(paper);
    let strips: f64 = data.days.iter().map(|day| strip_height(day, width)).sum();
    let height = header(rests_on) + strips + 0.7 * REM;
    shown(Room::below(height, paper).size_for(&week_entries(data)))
}

fn shown(size: f64) -> String {
    format!("{size:.1}")
}

/// Returns how many lines a text takes in a width [pt], at a share of the unit.
fn lines(text: &str, width: f64, share: f64) -> usize {
    Words::default().plain(text).lines(width / (share * REM))
}

/// Returns the height of the heading, whose block has a long entry. [pt]
fn header(long: &str) -> f64 {
    // The block is 26 units wide; each of its two rows has a name, a rule and gaps.
    let lines = lines(long, 25.0 * REM, 0.82) as f64;
    2.9 + 2.0 * 12.5 + (1.0 + lines) * 0.82 * 1.3 * REM + 1.5 + 5.6
}

fn strip_height(day: &StripData, width: f64) -> f64 {
    let picture = 16.0 * REM * 46.0 / 240.0 + 0.8;
    let light = 0.78 * 1.25 * REM * lines(&day.light, 16.0 * REM, 0.78) as f64;
    let beside = width - (9.2 + 16.0 + 2.4) * REM;
    let tasks = day.tasks.iter().map(|task| lines(task, beside, 0.92));
    let tasks = 0.92 * 1.4 * REM * tasks.sum::<usize>() as f64;
    (picture + light).max(tasks).max(25.0) + 0.7 * REM + 0.8
}

fn day_entries(data: &DayData) -> Vec<Entry> {
    let mut entries = Vec::new();
    list(
        &mut entries,
        data.errands.iter().map(|row| {
            let words = Words::default().bold(&row.by).sign(TIME_GAP).plain(" ");
            tick(words.bold(&row.what).plain(" ").plain(&row.why))
        }),
    );
    for mix in &data.mixes {
        mix_entries(&mut entries, mix);
    }
    list(&mut entries, data.rounds.iter().flat_map(round_entries));
    list(
        &mut entries,
        data.washes.iter().map(|row| {
            tick(
                numbered_pieces(&row.time, &row.pieces)
                    .plain(" ")
                    .plain(&row.rack),
            )
        }),
    );
    list(
        &mut entries,
        data.finishes.iter().map(|row| {
            tick(
                numbered_pieces(&row.time, &row.pieces)
                    .plain(" ")
                    .plain(&row.stuff),
            )
        }),
    );
    list(
        &mut entries,
        data.packs.iter().map(|row| {
            let who = numbered(&row.time)
                .whole(&row.order)
                .plain(" ")
                .plain(&row.customer);
            let what = who.plain(", ").plain(&row.pieces).plain(", ");
            let what = match row.address.is_empty() {
                true => what,
                false => what
                    .plain("to ")
                    .plain(&row.address.join(" · "))
                    .plain(", "),
            };
            tick(what.plain(&row.way))
        }),
    );
    list(
        &mut entries,
        data.leaves.iter().map(|row| {
            let words = Words::default().bold(&row.time).sign(TIME_GAP).plain(" ");
            let words = words.plain(&row.how).plain(": ");
            let words = row.orders.iter().fold(words, |words, order| {
                words
                    .whole(&order.number)
                    .plain(" ")
                    .plain(&order.customer)
                    .plain(", ")
            });
            Entry {
                flows: true,
                ..tick(words)
            }
        }),
    );
    entries
}

/// Adds the entries of a list; the first bears its heading.
fn list(all: &mut Vec<Entry>, entries: impl Iterator<Item = Entry>) {
    let first = all.len();
    all.extend(entries);
    if let Some(entry) = all.get_mut(first) {
        entry.headed = true;
    }
}

fn numbered(time: &str) -> Words {
    let words = Words::default().sign(NUMBER).bold(time).sign(TIME_GAP);
    words.plain(" ")
}

/// A number in its field, a time, then pieces by the numbers of their orders.
fn numbered_pieces(time: &str, pieces: &[String]) -> Words {
    let words = numbered(time);
    let mut pieces = pieces.iter();
    let first = pieces.next().map_or("", String::as_str);
    pieces.fold(words.whole(first), |words, piece| {
        words.plain(", ").whole(piece)
    })
}

/// A row with a box to tick.
fn tick(words: Words) -> Entry {
    Entry {
        texts: vec![hanging(words)],
        gaps: ROW_GAPS,
        rule: RULE,
        ..Entry::default()
    }
}

fn hanging(words: Words) -> Text {
    Text {
        indent: TICK,
        ..Text::new(words)
    }
}

fn quiet(text: &str) -> Text {
    Text {
        share: QUIET,
        ..Text::new(Words::default().plain(text))
    }
}

fn mix_entries(all: &mut Vec<Entry>, mix: &MixBlock) {
    let time = Words::default().bold(&mix.time).sign(TIME_GAP).plain(" ");
    let total = time.bold("mix ").bold(&mix.total_ml).bold(" ml ");
    let mut first = tick(total.plain("use by ").plain(&mix.use_by));
    first
        .texts
        .push(quiet(&format!("{}: {}.", mix.recipe, mix.why)));
    // The table of the two stocks has two lines, with rules and gaps.
    first.gaps += 2.0 * 1.42 + 0.5;
    let coats = mix.coats.iter().map(|row| {
        let words = numbered_pieces(&row.time, &row.pieces)
            .plain(" ")
            .plain(&row.stuff);
        tick(words.plain(" ").plain(&row.dark))
    });
    let spares = mix.spares.iter().map(|spares| Entry {
        texts: vec![quiet(spares)],
        ..Entry::default()
    });
    let care = Entry {
        texts: vec![quiet(super::lists::CARE_AT_THE_BRUSH)],
        ..Entry::default()
    };
    let rows = std::iter::once(first).chain(coats).chain(spares);
    list(all, rows.chain(std::iter::once(care)));
}

/// A round; one with many pieces may go on in the next column.
fn round_entries(round: &RoundCard) -> Vec<Entry> {
    let indent = DRAWING + DRAWING_GAP;
    let text = |words: Words| Text {
        indent,
        ..Text::new(words)
    };
    let head = numbered(&round.time).bold(&round.frame);
    let lit = Words::default()
        .bold(&round.minutes)
        .plain(" from ")
        .plain(&round.lit);
    let mut texts = vec![
        Text {
            indent: indent + TICK,
            ..Text::new(head)
        },
        text(lit.plain(" used").sign(3.2).plain("min")),
    ];
    let material = Words::default().plain(&round.material);
    let material = round
        .remarks
        .iter()
        .fold(material, |words, remark| words.plain(" · ").bold(remark));
    texts.push(Text {
        share: QUIET,
        ..text(material)
    });
    let lies = |row: &LiesRow| {
        let words = Words::default().sign(1.18).plain(" ").whole(&row.piece);
        text(
            words
                .plain(" ")
                .plain(&row.size)
                .plain(" ")
                .plain(&row.image),
        )
    };
    texts.extend(round.lies.iter().map(lies));
    let top = Entry {
        texts,
        beside: (DRAWING * round.drawing_height).min(DRAWING_MAX),
        gaps: 0.5,
        rule: RULE,
        ..Entry::default()
    };
    let more = round.more.iter().map(|row| Entry {
        texts: vec![lies(row)],
        ..Entry::default()
    });
    std::iter::once(top).chain(more).collect()
}

fn week_entries(data: &OverviewData) -> Vec<Entry> {
    let mut entries = Vec::new();
    let plain = |words: Words| Entry {
        texts: vec![Text::new(words)],
        gaps: 0.25,
        ..Entry::default()
    };
    let courses = data.not_in_time.iter().map(|row| {
        let words = Words::default()
            .whole(&row.order)
            .plain(" ")
            .plain(&row.customer);
        let words = words.plain(" ").sign(0.9).bold(row.course).plain(" ");
        plain(words.plain(&row.dates))
    });
    let more = data
        .more
        .iter()
        .map(|more| plain(Words::default().bold(more)));
    let in_time = Words::default().plain(&data.in_time).plain(", none late.");
    // The heading of what is not in time has a second line.
    let why = (!data.not_in_time.is_empty()).then(|| plain(Words::default()));
    let courses = why.into_iter().chain(courses).chain(more);
    list(&mut entries, courses.chain(std::iter::once(plain(in_time))));
    let stock = data
        .stock
        .iter()
        .map(|stock| plain(Words::default().plain(stock)));
    let errands = data
        .errands
        .iter()
        .map(|row| plain(Words::default().bold(&row.day).plain(" ").plain(&row.what)));
    list(&mut entries, stock.chain(errands));
    // Five signs, each in a line or two.
    let sign = || Text {
        indent: 2.3,
        ..Text::new(Words::default().plain("rain above the limit, a full rack"))
    };
    let signs = Entry {
        texts: std::iter::repeat_with(sign).take(5).collect(),
        gaps: 5.0 * 0.25,
        ..Entry::default()
    };
    list(&mut entries, std::iter::once(signs));
    let care = plain(Words::default().plain(super::overview::CARE));
    list(&mut entries, std::iter::once(care));
    entries
}
