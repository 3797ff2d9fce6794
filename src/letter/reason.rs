//! Why a notice is due, and what to do with it, in words for the maker.

use super::words::{day, one_line, ordinal};
use crate::notice::{Cause, Delay, Due, Kind, Notice, Obstacle, Way};
use crate::order::PromiseKind;

/// Says in one sentence, without a period, why the notice is due now.
pub fn reason(notice: &Notice) -> String {
    match &notice.kind {
        Kind::Taken { ordered_on, due } => format!(
            "taken on {}, not confirmed yet; {}",
            day(*ordered_on),
            due_words(due)
        ),
        Kind::Delayed(delay) => delay_words(delay),
        Kind::Dispatched { on, .. } => format!("left on {}, not told yet", day(*on)),
        Kind::Ready { since } => format!("finished on {}, not told yet", day(*since)),
    }
}

/// Says how the notice reaches the customer, and if by hand, what to do.
pub fn way(notice: &Notice) -> String {
    let obstacle = match &notice.way {
        Way::Mail { .. } => return "by mail".to_owned(),
        Way::ByHand { obstacle } => obstacle,
    };
    let what = match obstacle {
        Obstacle::NoAddress => "the order has no mail address; tell the customer yourself",
        Obstacle::Hold { reason } => {
            return format!(
                "on hold ({}); tell the customer yourself, in your own words",
                one_line(reason)
            );
        }
        Obstacle::Refused => "the last letter to this address was refused; ask for another address",
        Obstacle::Unsure => {
            "the mail server may already have such a letter; ask the customer before it goes again"
        }
        Obstacle::Lapsed => {
            "the last day for this letter went by; agree with the customer, or refund in full"
        }
    };
    what.to_owned()
}

fn due_words(due: &Due) -> String {
    let what = match due.kind {
        PromiseKind::ShipBy => "ship by",
        PromiseKind::DeliverBy => "deliver by",
    };
    let whose = if due.agreed {
        "promised"
    } else {
        "nothing promised, the rule says"
    };
    format!("{whose}: {what} {}", day(due.date))
}

fn delay_words(delay: &Delay) -> String {
    let due = due_words(&delay.due);
    let told = match (delay.change, delay.old_on) {
        (1, _) => String::new(),
        (_, Some(old_on)) => format!("; told last: {}", day(old_on)),
        (_, None) => "; told last: no day".to_owned(),
    };
    let now = match delay.new_on {
        Some(new_on) => format!("planned: {}", day(new_on)),
        None => "no day in the plan".to_owned(),
    };
    let change = match delay.change {
        1 => String::new(),
        change => format!(" ({} change)", ordinal(change)),
    };
    let cause = cause_words(delay.cause);
    let tell_by = day(delay.tell_by);
    format!("{due}{told}; {now}, {cause}{change}; tell by {tell_by}")
}

fn cause_words(cause: Cause) -> &'static str {
    match cause {
        Cause::Weather => "kept by the weather",
        Cause::Remake => "kept by a remake",
        Cause::Material => "kept by missing material",
        Cause::Room => "kept by frames, racks or hands",
        Cause::Hold => "kept by a hold",
        Cause::TooEarly => "too early a date from the start",
        Cause::Longer => "it takes longer",
    }
}
