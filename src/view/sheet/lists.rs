//! The lists of a day: what to mix, what lies where, what to wash, finish and pack.

use chrono::NaiveDate;
use serde::Serialize;

use super::SheetScreen;
use super::frame::{drawing_height, frame_drawing};
use super::numbered::{Numbered, Work};
use super::words::{frame_name, round_minutes};
use crate::order::{Delivery, Image, Piece};
use crate::plan::model::Space;
use crate::plan::together::places_of_piece;
use crate::plan::week::{Batch, Coat, Parcel, Round, Session, Step, What};
use crate::spare::offers;
use crate::studio::MaterialKind;
use crate::view::coating::{each_words, grams, learned_words, mix_words};
use crate::view::dates::{amount, count, moment, time};
use crate::view::page::{NO_BREAK, keep_units};
use crate::view::pieces::{COLLECTION, piece_names, pieces_of, pieces_words, stuff_words};
use crate::view::weather::origin_words;

/// Risk below this is not worth a word. [‰]
const RISK_WORTH_SAYING: i64 = 200;

/// What to mind with brush and bottles.
pub(super) const CARE_AT_THE_BRUSH: &str =
    "Gloves, eye protection, no heat, no acid; the safety data sheets on the bottles decide.";

/// So many pieces of a round stay beside its drawing, the others may go on in the next
/// column;
const LIES_TOGETHER: usize = 4;
/// fewer if their images have longer names. [characters]
const NAMES_TOGETHER: usize = 120;

/// A session: the mix, then what goes under the brush.
#[derive(Debug, Serialize)]
pub(super) struct MixBlock {
    pub(super) time: String,
    pub(super) total_ml: String,
    pub(super) a_ml: String,
    pub(super) a_g: String,
    pub(super) b_ml: String,
    pub(super) b_g: String,
    pub(super) recipe: String,
    pub(super) why: String,
    pub(super) use_by: String,
    pub(super) coats: Vec<CoatRow>,
    pub(super) spares: Option<String>,
    care: &'static str,
}

/// A lot under the brush.
#[derive(Debug, Serialize)]
pub(super) struct CoatRow {
    pub(super) number: usize,
    pub(super) time: String,
    pub(super) pieces: Vec<String>,
    pub(super) stuff: String,
    pub(super) dark: String,
}

/// A loading of a frame.
#[derive(Debug, Serialize)]
pub(super) struct RoundCard {
    pub(super) number: usize,
    pub(super) frame: String,
    pub(super) time: String,
    pub(super) minutes: String,
    pub(super) lit: String,
    pub(super) drawing: String,
    /// Height of the drawing as a share of its width.
    #[serde(skip)]
    pub(super) drawing_height: f64,
    pub(super) material: String,
    /// What stays beside the drawing.
    pub(super) lies: Vec<LiesRow>,
    /// What may go on in the next column.
    pub(super) more: Vec<LiesRow>,
    pub(super) remarks: Vec<String>,
}

/// A piece in a frame.
#[derive(Debug, Serialize)]
pub(super) struct LiesRow {
    pub(super) mark: String,
    pub(super) piece: String,
    pub(super) size: String,
    pub(super) image: String,
}

/// Something to make or to order.
#[derive(Debug, Serialize)]
pub(super) struct ErrandRow {
    pub(super) by: String,
    pub(super) what: String,
    pub(super) why: String,
}

/// Pieces into the water.
#[derive(Debug, Serialize)]
pub(super) struct WashRow {
    pub(super) number: usize,
    pub(super) time: String,
    pub(super) pieces: Vec<String>,
    pub(super) rack: String,
}

/// Pieces to finish.
#[derive(Debug, Serialize)]
pub(super) struct FinishRow {
    pub(super) number: usize,
    pub(super) time: String,
    pub(super) pieces: Vec<String>,
    pub(super) stuff: String,
}

/// An order to pack.
#[derive(Debug, Serialize)]
pub(super) struct PackRow {
    pub(super) number: usize,
    pub(super) time: String,
    pub(super) order: String,
    pub(super) customer: String,
    pub(super) pieces: String,
    pub(super) address: Vec<String>,
    pub(super) way: String,
}

/// Orders that leave.
#[derive(Debug, Serialize)]
pub(super) struct LeaveRow {
    pub(super) time: String,
    pub(super) how: String,
    pub(super) orders: Vec<LeavingOrder>,
}

/// An order that leaves.
#[derive(Debug, Serialize)]
pub(super) struct LeavingOrder {
    pub(super) number: String,
    pub(super) customer: String,
}

/// Lists what to make and to order on a day.
pub(super) fn errands(screen: &SheetScreen, date: NaiveDate) -> Vec<ErrandRow> {
    let due = screen
        .errands
        .iter()
        .filter(|errand| errand.by.date() == date);
    due.map(|errand| ErrandRow {
        by: errand.by_time(),
        what: keep_units(&errand.what),
        why: keep_units(&errand.why),
    })
    .collect()
}

/// Lists the sessions with their mixes.
pub(super) fn mixes(screen: &SheetScreen, steps: &[Numbered]) -> Vec<MixBlock> {
    let sessions = steps.iter().filter_map(|step| Some((step.session?, step)));
    sessions
        .map(|(session, step)| mix_block(screen, session, step, steps))
        .collect()
}

fn mix_block(
    screen: &SheetScreen,
    session: &Session,
    step: &Numbered,
    steps: &[Numbered],
) -> MixBlock {
    let mix = &session.mix;
    let sensitizer = &screen.studio.sensitizer;
    let mut why = match session.stands {
        true => format!("mixed at {}; what is left to coat takes: ", time(step.from)),
        false => String::new(),
    };
    why += &mix_words(mix, sensitizer);
    let mut materials: Vec<&str> = Vec::new();
    for coat in &session.coats {
        let key = coat.batch.material.as_str();
        if !materials.contains(&key) {
            materials.push(key);
            let learned = screen.coverage.get(key).and_then(learned_words);
            let name = screen.studio.materials.get(key).map_or(key, |m| &m.name);
            why.extend(learned.map(|learned| format!("; {name} takes {learned}")));
        }
    }
    let own = |coat: &Coat| session.coats.iter().any(|own| std::ptr::eq(own, coat));
    let coats = steps
        .iter()
        .filter_map(|step| Some((step.coat.filter(|coat| own(coat))?, step)));
    MixBlock {
        time: span(step),
        total_ml: amount(mix.volume_ml),
        a_ml: amount(mix.a_ml),
        a_g: grams(mix.a_g),
        b_ml: amount(mix.b_ml),
        b_g: grams(mix.b_g),
        recipe: sensitizer.name.clone(),
        why: keep_units(&why),
        use_by: moment(session.mix_until, step.from.date()),
        coats: coats
            .map(|(coat, step)| coat_row(screen, coat, step))
            .collect(),
        spares: spares(screen, session),
        care: CARE_AT_THE_BRUSH,
    }
}

fn coat_row(screen: &SheetScreen, coat: &Coat, step: &Numbered) -> CoatRow {
    let places = rack_words(screen, &coat.batch);
    let dry = moment(coat.dry, coat.until.date());
    let material = screen.studio.materials.get(&coat.batch.material);
    let pieces = pieces_of(screen.orders, &coat.batch);
    let each = material.and_then(|material| each_words(pieces, material));
    let stuff = stuff_words(screen.orders, screen.studio, &coat.batch);
    let stuff = match each {
        Some(each) => format!("{stuff}, {each}"),
        None => stuff,
    };
    CoatRow {
        number: step.number,
        time: span(step),
        pieces: piece_names(screen.orders, &coat.batch.pieces),
        stuff: keep_units(&stuff),
        dark: keep_units(&format!("dark, {places}, till{NO_BREAK}{dry}")),
    }
}

/// Says how much of a rack a batch takes: `2 places`, `53 cm of line`.
fn rack_words(screen: &SheetScreen, batch: &Batch) -> String {
    let material = screen.studio.materials.get(&batch.material);
    let Some(material) = material else {
        return String::new();
    };
    let pieces = pieces_of(screen.orders, batch);
    let taken: i64 = pieces
        .map(|piece| places_of_piece(piece.size, material.kind, screen.studio))
        .sum();
    match space(material.kind) {
        Space::Sheet => count(usize::try_from(taken).unwrap_or(0), "place").replace(' ', NO_BREAK),
        Space::Line => format!("{taken} cm of line"),
    }
}

fn space(kind: MaterialKind) -> Space {
    match kind {
        MaterialKind::Paper => Space::Sheet,
        MaterialKind::Cloth => Space::Line,
    }
}

fn spares(screen: &SheetScreen, session: &Session) -> Option<String> {
    let offers = offers(session, screen.orders, screen.studio);
    let words: Vec<String> = offers
        .iter()
        .map(|offer| {
            let pieces = pieces_words(screen.orders, std::slice::from_ref(&offer.pieces));
            format!("{} of {pieces}", offer.spares)
        })
        .collect();
    (!words.is_empty()).then(|| format!("Worth coating to spare: {}", words.join(", ")))
}

/// Lists the rounds with drawings.
pub(super) fn rounds(screen: &SheetScreen, steps: &[Numbered]) -> Vec<RoundCard> {
    let rounds = steps.iter().filter_map(|step| Some((step.round?, step)));
    rounds
        .map(|(round, step)| round_card(screen, round, step))
        .collect()
}

fn round_card(screen: &SheetScreen, round: &Round, step: &Numbered) -> RoundCard {
    let laid = marked(screen, round);
    let inside = screen
        .studio
        .frames
        .iter()
        .find(|frame| frame.name == round.frame)
        .map(|frame| frame.inside);
    let lies = laid.iter().map(|(number, piece, _, mark)| LiesRow {
        mark: mark.clone(),
        piece: number.clone(),
        size: piece.size.to_string(),
        image: image_words(piece),
    });
    let mut lies: Vec<LiesRow> = lies.collect();
    let more = lies.split_off(beside_drawing(&lies));
    let drawn: Vec<_> = laid
        .iter()
        .map(|(_, piece, laid, mark)| (*piece, *laid, mark.clone()))
        .collect();
    let material = screen.studio.materials.get(&round.batch.material);
    let material = material.map_or(&round.batch.material, |material| &material.name);
    RoundCard {
        number: step.number,
        frame: frame_name(round),
        time: span(step),
        minutes: round_minutes(round),
        lit: time(round.light_from),
        drawing: inside
            .map(|inside| frame_drawing(inside, &drawn))
            .unwrap_or_default(),
        drawing_height: inside.map_or(0.0, drawing_height),
        material: keep_units(material),
        lies,
        more,
        remarks: remarks(round),
    }
}

/// Returns how many pieces stay beside the drawing.
fn beside_drawing(lies: &[LiesRow]) -> usize {
    let names = lies.iter().scan(0, |all, row| {
        *all += row.image.chars().count();
        Some(*all)
    });
    let short = names.take_while(|all| *all <= NAMES_TOGETHER);
    short.take(LIES_TOGETHER).count()
}

/// The pieces of a round in the order in which they lie: name, piece, place, mark.
fn marked<'a>(
    screen: &SheetScreen<'a>,
    round: &Round,
) -> Vec<(String, &'a Piece, crate::plan::lay::Laid, String)> {
    let mut pieces: Vec<(String, &Piece)> = Vec::new();
    for some in &round.batch.pieces {
        let order = &screen.orders[some.order];
        for piece in order
            .pieces
            .iter()
            .filter(|p| some.numbers.contains(&p.number))
        {
            let name = match order.pieces.len() {
                1 => order.number.clone(),
                _ => format!("{}/{}", order.number, piece.number),
            };
            pieces.push((name, piece));
        }
    }
    let marks = ('A'..='Z')
        .map(String::from)
        .chain((27..).map(|n| n.to_string()));
    pieces
        .into_iter()
        .zip(&round.laid)
        .zip(marks)
        .map(|(((name, piece), laid), mark)| (name, piece, *laid, mark))
        .collect()
}

fn image_words(piece: &Piece) -> String {
    match &piece.image {
        Image::Negative(name) => format!("negative {name}"),
        Image::Objects(what) => what.clone(),
    }
}

fn remarks(round: &Round) -> Vec<String> {
    let mut remarks = Vec::new();
    if round.watch {
        remarks.push("stay with it".to_owned());
    }
    remarks.extend(origin_words(round.origin).map(str::to_owned));
    if round.risk_per_mille >= RISK_WORTH_SAYING {
        remarks.push(format!(
            "weather risk {} %",
            (round.risk_per_mille + 5) / 10
        ));
    }
    remarks
}

/// Lists what is washed.
pub(super) fn washes(screen: &SheetScreen, steps: &[Numbered]) -> Vec<WashRow> {
    let of_kind = steps.iter().filter(|step| step.work == Work::Wash);
    of_kind
        .filter_map(|step| {
            let batch = step.batch?;
            let free = batch.free.map(|free| moment(free, step.from.date()));
            let places = rack_words(screen, batch);
            Some(WashRow {
                number: step.number,
                time: span(step),
                pieces: piece_names(screen.orders, &batch.pieces),
                rack: keep_units(&format!(
                    "wet-dry, {places}, till{NO_BREAK}{}",
                    free.unwrap_or_default()
                )),
            })
        })
        .collect()
}

/// Lists what is finished.
pub(super) fn finishes(screen: &SheetScreen, steps: &[Numbered]) -> Vec<FinishRow> {
    let of_kind = steps.iter().filter(|step| step.work == Work::Finish);
    of_kind
        .filter_map(|step| {
            let batch = step.batch?;
            Some(FinishRow {
                number: step.number,
                time: span(step),
                pieces: piece_names(screen.orders, &batch.pieces),
                stuff: keep_units(&stuff_words(screen.orders, screen.studio, batch)),
            })
        })
        .collect()
}

/// Lists what is packed, with address and way.
pub(super) fn packs(screen: &SheetScreen, steps: &[Numbered]) -> Vec<PackRow> {
    let parcels = steps.iter().filter_map(|step| Some((step.parcel?, step)));
    parcels
        .map(|(parcel, step)| {
            let order = &screen.orders[parcel.order];
            PackRow {
                number: step.number,
                time: span(step),
                order: order.number.clone(),
                customer: order.customer.name.clone(),
                pieces: count(order.pieces.len(), "piece"),
                address: match order.delivery {
                    Delivery::Pickup => Vec::new(),
                    Delivery::Carrier { .. } => order.customer.address.clone(),
                },
                way: way_words(screen, parcel),
            }
        })
        .collect()
}

fn way_words(screen: &SheetScreen, parcel: &Parcel) -> String {
    let order = &screen.orders[parcel.order];
    match &order.delivery {
        Delivery::Pickup => COLLECTION.to_owned(),
        Delivery::Carrier { .. } => {
            let carrier = screen.studio.shipping.carrier.as_deref();
            format!("by {}", carrier.unwrap_or("the carrier"))
        }
    }
}

/// Lists what leaves.
pub(super) fn leaves(screen: &SheetScreen, steps: &[Step]) -> Vec<LeaveRow> {
    let mut rows = Vec::new();
    for step in steps {
        let What::Leave(parcels) = &step.what else {
            continue;
        };
        let pickup = parcels.iter().all(|parcel| parcel.pickup);
        let orders = parcels.iter().map(|parcel| &screen.orders[parcel.order]);
        let orders = orders.map(|order| LeavingOrder {
            number: order.number.clone(),
            customer: order.customer.name.clone(),
        });
        rows.push(LeaveRow {
            time: time(step.from),
            how: match pickup {
                true => COLLECTION.to_owned(),
                false => "the carrier comes".to_owned(),
            },
            orders: orders.collect(),
        });
    }
    rows
}

fn span(step: &Numbered) -> String {
    format!("{}–{}", time(step.from), time(step.until))
}
