//! Cards that go with the work: one for each piece, one for the parcel, and the
//! certificate of an edition. Values in, a page of HTML out.
//!
//! What is on record is printed; what is not yet done has a line to write on. The form
//! stands in `templates/` (`card.….hbs`, `certificate.….hbs`), and a studio may replace
//! it. Nothing is planned here.

use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;

use super::dates::{amount, count, full_day, time};
use super::dose::dose;
use super::page::keep_units;
use super::pieces::COLLECTION;
use super::sheet::Paper;
use crate::letter::Templates;
use crate::order::{Delivery, Done, Image, LightSource, Order, Piece, PromiseKind};
use crate::problem::Problem;
use crate::stage::Stage;
use crate::studio::Studio;

/// Everything that cards and certificates show.
#[derive(Debug, Clone, Copy)]
pub struct CardScreen<'a> {
    /// The studio.
    pub studio: &'a Studio,
    /// The orders, in the order of the cards.
    pub orders: &'a [&'a Order],
    /// The moment of printing.
    pub now: NaiveDateTime,
    /// What it is printed on.
    pub paper: Paper,
}

#[derive(Debug, Serialize)]
struct PageData {
    title: String,
    paper: &'static str,
    studio: StudioData,
    made: String,
    orders: Vec<OrderData>,
}

#[derive(Debug, Serialize)]
struct StudioData {
    name: String,
    address: Vec<String>,
    person: String,
    answers: String,
}

#[derive(Debug, Serialize)]
struct OrderData {
    number: String,
    customer: String,
    ordered: String,
    promise: Option<String>,
    hold: Option<String>,
    address: Vec<String>,
    pickup: bool,
    destination: String,
    /// How it gets to the customer.
    way: String,
    carrier: String,
    tracking: Option<String>,
    dispatched: Option<String>,
    count: usize,
    /// Their number, in words.
    pieces_in_words: String,
    pieces: Vec<PieceData>,
}

#[derive(Debug, Serialize)]
struct PieceData {
    number: u32,
    of: usize,
    title: String,
    size: String,
    material: String,
    image: String,
    light: &'static str,
    copy: u32,
    copies: u32,
    edition: bool,
    hold: Option<String>,
    batch: Option<String>,
    mix: Option<String>,
    /// The mix by the name that the maker gave it.
    mix_name: Option<String>,
    exposure: Option<String>,
    printed: Option<String>,
    remakes: Option<usize>,
    record: Vec<RecordRow>,
    finished: bool,
}

#[derive(Debug, Serialize)]
struct RecordRow {
    stage: &'static str,
    done: Option<String>,
}

/// Writes the cards of orders: the parcel first, then every piece.
///
/// # Errors
/// A mistake in a template of the studio's own, with its place.
pub fn render_cards(screen: &CardScreen, templates: &Templates) -> Result<String, Problem> {
    templates.page("card.page", &page_data(screen, "Cards"))
}

/// Writes a certificate for each piece of the orders.
///
/// # Errors
/// A mistake in a template of the studio's own, with its place.
pub fn render_certificates(screen: &CardScreen, templates: &Templates) -> Result<String, Problem> {
    templates.page("certificate.page", &page_data(screen, "Certificate"))
}

/// Returns the data of an invented page, with everything there: to try templates with.
pub fn sample(studio: &Studio, order: &Order) -> impl Serialize {
    let screen = CardScreen {
        studio,
        orders: &[order],
        now: order.ordered_on.and_time(chrono::NaiveTime::MIN),
        paper: Paper::A4,
    };
    page_data(&screen, "Certificate")
}

fn page_data(screen: &CardScreen, what: &str) -> PageData {
    let letters = &screen.studio.letters;
    let numbers: Vec<&str> = screen.orders.iter().map(|o| o.number.as_str()).collect();
    PageData {
        title: format!("{what} · {} · {}", numbers.join(", "), screen.studio.name),
        paper: screen.paper.name(),
        studio: StudioData {
            name: screen.studio.name.clone(),
            address: screen.studio.shipping.sender.clone(),
            person: letters.person.clone(),
            answers: letters.reply_to.as_ref().unwrap_or(&letters.from).clone(),
        },
        made: full_day(screen.now.date()),
        orders: screen
            .orders
            .iter()
            .map(|order| order_data(screen.studio, order))
            .collect(),
    }
}

fn order_data(studio: &Studio, order: &Order) -> OrderData {
    let dispatch = order.dispatch.as_ref();
    let named = dispatch.and_then(|dispatch| dispatch.carrier.as_deref());
    let carrier = named.or(studio.shipping.carrier.as_deref());
    let (pickup, destination) = match &order.delivery {
        Delivery::Pickup => (true, COLLECTION.to_owned()),
        Delivery::Carrier { destination } => (false, destination.clone()),
    };
    let promise = order.promise.map(|promise| {
        let what = match (pickup, promise.kind) {
            (true, _) => "to be ready by",
            (false, PromiseKind::ShipBy) => "to leave by",
            (false, PromiseKind::DeliverBy) => "to arrive by",
        };
        format!("{what} {}", full_day(promise.date))
    });
    OrderData {
        number: order.number.clone(),
        customer: order.customer.name.clone(),
        ordered: full_day(order.ordered_on),
        promise,
        hold: order.hold.clone(),
        address: order.customer.address.clone(),
        pickup,
        destination,
        way: match pickup {
            true => COLLECTION.to_owned(),
            false => format!("by {}", carrier.unwrap_or("the carrier")),
        },
        carrier: carrier.unwrap_or_default().to_owned(),
        tracking: dispatch.and_then(|dispatch| dispatch.tracking.clone()),
        dispatched: dispatch.map(|dispatch| full_day(dispatch.on)),
        count: order.pieces.len(),
        pieces_in_words: count(order.pieces.len(), "piece"),
        pieces: order
            .pieces
            .iter()
            .map(|piece| piece_data(studio, order, piece))
            .collect(),
    }
}

fn piece_data(studio: &Studio, order: &Order, piece: &Piece) -> PieceData {
    let material = studio.materials.get(&piece.material);
    let material = material.map_or(&piece.material, |material| &material.name);
    let done = |stage| piece.progress.done_at(stage);
    PieceData {
        number: piece.number,
        of: order.pieces.len(),
        title: piece.title.clone(),
        size: keep_units(&piece.size.to_string()),
        material: keep_units(material),
        image: match &piece.image {
            Image::Negative(name) => format!("negative {name}"),
            Image::Objects(what) => what.clone(),
        },
        light: match piece.light {
            LightSource::Sun => "sunlight",
            LightSource::Lamp => "lamp light",
        },
        copy: piece.copy,
        copies: piece.copies,
        edition: piece.copies > 1,
        hold: piece.hold.clone(),
        batch: piece.progress.coat().and_then(|coat| coat.batch.clone()),
        mix: mix(piece),
        mix_name: piece.progress.coat().and_then(|coat| coat.mix.clone()),
        exposure: exposure(piece),
        printed: done(Stage::Exposing).map(|at| full_day(at.date())),
        remakes: Some(piece.progress.remakes().count()).filter(|count| *count > 0),
        record: record(piece),
        finished: done(Stage::Finishing).is_some(),
    }
}

/// Names the mix of the present coat: what came under the brush together came from one.
fn mix(piece: &Piece) -> Option<String> {
    let at = piece.progress.done_at(Stage::Coating)?;
    let named = piece.progress.coat().and_then(|coat| coat.mix.as_deref());
    Some(match named {
        Some(named) => format!("{named}, coat of {}", moment(at)),
        None => format!("coat of {}", moment(at)),
    })
}

/// Says how the piece was exposed in its present try, with minutes where they are on record.
fn exposure(piece: &Piece) -> Option<String> {
    let at = piece.progress.done_at(Stage::Exposing)?;
    let timed =
        piece
            .progress
            .events
            .iter()
            .rev()
            .find_map(|event| match (&event.what, event.at == at) {
                (
                    Done::Stage {
                        stage: Stage::Exposing,
                        exposed,
                        ..
                    },
                    true,
                ) => *exposed,
                _ => None,
            });
    let minutes = timed.map(|exposed| format!("{} min, ", amount(exposed.minutes)));
    let got = timed.and_then(|exposed| exposed.dose);
    let got = got.map(|got| format!("{}, ", dose(got)));
    Some(keep_units(&format!(
        "{}{}{}",
        minutes.unwrap_or_default(),
        got.unwrap_or_default(),
        moment(at)
    )))
}

fn record(piece: &Piece) -> Vec<RecordRow> {
    let stages = Stage::ALL
        .into_iter()
        .filter(|stage| *stage != Stage::Shipping);
    stages
        .map(|stage| RecordRow {
            stage: stage.done(),
            done: match stage {
                Stage::Exposing => exposure(piece),
                _ => piece.progress.done_at(stage).map(moment),
            },
        })
        .collect()
}

fn moment(at: NaiveDateTime) -> String {
    format!("{}, {}", day(at.date()), time(at))
}

fn day(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}
