//! What a template can ask for.
//!
//! Conditions are always there, as true or false; a value that a letter lacks is
//! absent, so that asking for it without asking its condition first is a
//! mistake that shows. Words of the customer and of the studio come as one line.

use serde::Serialize;

use super::words::{Words, one_line};
use crate::notice::{Before, Cause, Delay, Due, Kind, Notice, Refund, Silence};
use crate::order::{Delivery, LightSource, Order, Piece, PromiseKind};
use crate::studio::{MaterialKind, Studio};

/// Values that a letter may lack, each with the condition to ask first.
pub(super) const CONDITIONS: [(&str, &str); 5] = [
    ("delay.old_date", "delay.old_known"),
    ("delay.new_date", "delay.new_known"),
    ("silence.date", "silence.dated"),
    ("dispatch.carrier", "dispatch.carried"),
    ("dispatch.tracking", "dispatch.tracked"),
];

/// Everything for one letter.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Data {
    pub(super) letter: LetterData,
    pub(super) studio: StudioData,
    pub(super) customer: CustomerData,
    pub(super) order: OrderData,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) promise: Option<PromiseData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) plan: Option<PlanData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) delay: Option<DelayData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) silence: Option<SilenceData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) dispatch: Option<DispatchData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) ready: Option<ReadyData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) remake: Option<RemakeData>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) cancel: Option<CancelData>,
}

/// The letter itself; its subject is known once the subject is rendered.
#[derive(Debug, Clone, Default, Serialize)]
pub(super) struct LetterData {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) subject: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct StudioData {
    name: String,
    /// Who answers.
    person: String,
    /// A person is named, not the studio alone.
    has_person: bool,
    /// Where answers go.
    answers: String,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct CustomerData {
    name: String,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct OrderData {
    number: String,
    ordered_on: String,
    prints: Vec<PrintData>,
    /// More than one print.
    several: bool,
    /// Some of it on paper.
    paper: bool,
    /// Some of it on cloth.
    cloth: bool,
    /// Some of it printed by the sun.
    sunlit: bool,
}

#[derive(Debug, Clone, Serialize)]
struct PrintData {
    count: usize,
    /// More than one copy.
    several: bool,
    title: String,
    size: String,
    material: String,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct PromiseData {
    date: String,
    /// It leaves the studio by the date.
    leaves: bool,
    /// The customer has it by the date.
    arrives: bool,
    /// The customer can collect it by the date.
    collected: bool,
    agreed: bool,
    essential: bool,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct DelayData {
    first: bool,
    /// `second`, `third` and so on.
    change: String,
    recovered: bool,
    /// The new day needs exposures that the weather may well spoil.
    if_sun: bool,
    /// The new day needs exposures that no forecast reaches.
    beyond_forecast: bool,
    old_known: bool,
    old_passed: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    old_date: Option<String>,
    new_known: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    new_date: Option<String>,
    /// There is a cause worth naming. A letter that at last names a day, with
    /// nothing known but that it takes longer, has none.
    reasoned: bool,
    because: BecauseData,
}

/// Exactly one is true.
#[derive(Debug, Clone, Serialize)]
struct BecauseData {
    weather: bool,
    remake: bool,
    material: bool,
    room: bool,
    hold: bool,
    too_early: bool,
    longer: bool,
}

/// Exactly one condition is true.
#[derive(Debug, Clone, Serialize)]
pub(super) struct SilenceData {
    goes_on: bool,
    consents: bool,
    cancels: bool,
    refuses: bool,
    lapsed: bool,
    /// A day belongs to it.
    dated: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    date: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct DispatchData {
    date: String,
    /// A carrier is named.
    carried: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    carrier: Option<String>,
    /// There is a tracking number.
    tracked: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    tracking: Option<String>,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct ReadyData {
    since: String,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct PlanData {
    /// The day on the plan, of the promise's kind.
    date: String,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct RemakeData {
    /// Only what is made again.
    prints: Vec<PrintData>,
    /// More than one print of it.
    several: bool,
    /// The whole order is made again.
    all: bool,
    /// The customer was told that it was ready.
    was_ready: bool,
    /// The customer was told that it had left.
    was_sent: bool,
}

#[derive(Debug, Clone, Serialize)]
pub(super) struct CancelData {
    date: String,
    /// All money goes back.
    refund: bool,
    /// All money goes back within seven working days.
    within_seven_days: bool,
}

/// Gathers what the letter for `notice` can say, days in the words of its language.
pub(super) fn data(notice: &Notice, order: &Order, studio: &Studio, words: &Words) -> Data {
    let day = |date| words.day(date);
    let plain = Data {
        letter: LetterData::default(),
        studio: studio_data(studio),
        customer: CustomerData {
            name: one_line(&order.customer.name),
        },
        order: order_data(order, studio, words),
        promise: None,
        plan: None,
        delay: None,
        silence: None,
        dispatch: None,
        ready: None,
        remake: None,
        cancel: None,
    };
    match &notice.kind {
        Kind::Taken { due, .. } => Data {
            promise: Some(promise_data(due, order, words)),
            ..plain
        },
        Kind::Planned { plan_on, due } => Data {
            promise: Some(promise_data(due, order, words)),
            plan: Some(PlanData {
                date: day(*plan_on),
            }),
            ..plain
        },
        Kind::Delayed(delay) => Data {
            promise: Some(promise_data(&delay.due, order, words)),
            delay: Some(delay_data(delay, studio, words)),
            silence: Some(silence_data(delay.silence, words)),
            ..plain
        },
        Kind::Remade {
            pieces,
            before,
            due,
            ..
        } => Data {
            promise: Some(promise_data(due, order, words)),
            remake: Some(remake_data(pieces, *before, order, studio)),
            ..plain
        },
        Kind::Cancelled { on, refund } => Data {
            cancel: Some(CancelData {
                date: day(*on),
                refund: *refund != Refund::ToSettle,
                within_seven_days: *refund == Refund::FullInSevenDays,
            }),
            ..plain
        },
        Kind::Dispatched {
            on,
            carrier,
            tracking,
        } => Data {
            dispatch: Some(DispatchData {
                date: day(*on),
                carried: carrier.is_some(),
                carrier: carrier.as_deref().map(one_line),
                tracked: tracking.is_some(),
                tracking: tracking.as_deref().map(one_line),
            }),
            ..plain
        },
        Kind::Ready { since } => Data {
            ready: Some(ReadyData { since: day(*since) }),
            ..plain
        },
    }
}

fn studio_data(studio: &Studio) -> StudioData {
    let letters = &studio.letters;
    let (name, person) = (one_line(&studio.name), one_line(&letters.person));
    StudioData {
        has_person: person != name,
        name,
        person,
        answers: one_line(letters.reply_to.as_ref().unwrap_or(&letters.from)),
    }
}

fn order_data(order: &Order, studio: &Studio, words: &Words) -> OrderData {
    let has = |kind: MaterialKind| {
        let of_kind = |piece: &Piece| {
            studio
                .materials
                .get(&piece.material)
                .is_some_and(|material| material.kind == kind)
        };
        order.pieces.iter().any(of_kind)
    };
    OrderData {
        number: one_line(&order.number),
        ordered_on: words.day(order.ordered_on),
        prints: prints(&order.pieces, studio),
        several: order.pieces.len() > 1,
        paper: has(MaterialKind::Paper),
        cloth: has(MaterialKind::Cloth),
        sunlit: order.pieces.iter().any(|p| p.light == LightSource::Sun),
    }
}

/// Returns one line per entry of the file, its copies counted.
fn prints(pieces: &[Piece], studio: &Studio) -> Vec<PrintData> {
    let entries = pieces.chunk_by(|before, piece| before.entry == piece.entry);
    entries
        .map(|copies| {
            let piece = &copies[0];
            let material = studio.materials.get(&piece.material);
            PrintData {
                count: copies.len(),
                several: copies.len() > 1,
                title: one_line(&piece.title),
                size: piece.size.to_string(),
                material: one_line(material.map_or(&piece.material, |m| &m.name)),
            }
        })
        .collect()
}

fn remake_data(pieces: &[u32], before: Before, order: &Order, studio: &Studio) -> RemakeData {
    let remade = |piece: &&Piece| pieces.contains(&piece.number);
    let again: Vec<Piece> = order.pieces.iter().filter(remade).cloned().collect();
    RemakeData {
        prints: prints(&again, studio),
        several: again.len() > 1,
        all: again.len() == order.pieces.len(),
        was_ready: before == Before::Ready,
        was_sent: before == Before::Dispatched,
    }
}

fn promise_data(due: &Due, order: &Order, words: &Words) -> PromiseData {
    let collected = matches!(order.delivery, Delivery::Pickup);
    PromiseData {
        date: words.day(due.date),
        leaves: !collected && due.kind == PromiseKind::ShipBy,
        arrives: !collected && due.kind == PromiseKind::DeliverBy,
        collected,
        agreed: due.agreed,
        essential: due.essential,
    }
}

fn delay_data(delay: &Delay, studio: &Studio, words: &Words) -> DelayData {
    let day = |date| words.day(date);
    let new_known = delay.new_on.is_some();
    DelayData {
        first: delay.change == 1,
        change: words.change(delay.change).to_owned(),
        if_sun: new_known && delay.surety.is_doubtful(&studio.letters),
        beyond_forecast: new_known && delay.surety.beyond_forecast,
        recovered: delay.is_recovered(),
        old_known: delay.old_on.is_some(),
        old_passed: delay.old_passed,
        old_date: delay.old_on.map(day),
        new_known,
        new_date: delay.new_on.map(day),
        reasoned: delay.cause != Cause::Longer || delay.old_on.is_some(),
        because: BecauseData {
            weather: delay.cause == Cause::Weather,
            remake: delay.cause == Cause::Remake,
            material: delay.cause == Cause::Material,
            room: delay.cause == Cause::Room,
            hold: delay.cause == Cause::Hold,
            too_early: delay.cause == Cause::TooEarly,
            longer: delay.cause == Cause::Longer,
        },
    }
}

fn silence_data(silence: Silence, words: &Words) -> SilenceData {
    let date = match silence {
        Silence::Consents { until } => Some(until),
        Silence::Cancels { on } | Silence::Refuses { on } => Some(on),
        Silence::GoesOn | Silence::Lapsed => None,
    };
    SilenceData {
        goes_on: matches!(silence, Silence::GoesOn),
        consents: matches!(silence, Silence::Consents { .. }),
        cancels: matches!(silence, Silence::Cancels { .. }),
        refuses: matches!(silence, Silence::Refuses { .. }),
        lapsed: matches!(silence, Silence::Lapsed),
        dated: date.is_some(),
        date: date.map(|date| words.day(date)),
    }
}
