//! Why a notice is due, and what to do with it, in words for the maker.

use chrono::NaiveDate;

use super::Letter;
use super::words::{day, one_line, verb};
use crate::notice::{Before, Cause, Delay, Due, Kind, Notice, Obstacle, Refund, Way};
use crate::order::Delivery;

/// Says in one sentence, without a period, why the notice is due now; `delivery` is that
/// of its order.
pub fn reason(notice: &Notice, delivery: &Delivery, today: NaiveDate) -> String {
    match &notice.kind {
        Kind::Taken { ordered_on, due } => format!(
            "taken on {}, not confirmed yet; {}",
            day(*ordered_on),
            due_words(due, delivery)
        ),
        Kind::Delayed(delay) => delay_words(delay, delivery, today),
        Kind::Dispatched { on, .. } => format!("left on {}, not told yet", day(*on)),
        Kind::Ready { since } => format!("finished on {}, not told yet", day(*since)),
        Kind::Planned { plan_on, due } => {
            format!(
                "planned for {}; {}",
                day(*plan_on),
                due_words(due, delivery)
            )
        }
        Kind::Remade {
            remade_on, before, ..
        } => {
            let before = match before {
                Before::Nothing => "the date holds",
                Before::Ready => "the customer was told that it is ready",
                Before::Dispatched => "the customer was told that it has left",
            };
            format!("made again since {}; {before}", day(*remade_on))
        }
        Kind::Cancelled { on, refund } => {
            let refund = match refund {
                Refund::Full => "refund in full",
                Refund::FullInSevenDays => "refund in full within seven working days",
                Refund::ToSettle => "settle what was paid",
            };
            format!("cancelled on {}, not told yet; {refund}", day(*on))
        }
    }
}

/// Says that a letter is not in its customer's language, and how to change that.
pub fn language(letter: &Letter) -> Option<String> {
    let wanted = letter.language_missing.as_ref()?.to_ascii_lowercase();
    Some(format!(
        "in {}, since nobody wrote `{}` letters in `{wanted}`; your own go into `templates/{wanted}/`",
        letter.language, letter.kind
    ))
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
        Obstacle::Refused => return refused(&notice.order),
        Obstacle::Unsure => return in_doubt(&notice.order),
        Obstacle::Lapsed => {
            "the last day for this letter went by; agree with the customer, or refund in full"
        }
    };
    what.to_owned()
}

/// Says what to do about a letter of which nobody knows whether it arrived.
pub fn in_doubt(order: &str) -> String {
    format!(
        "nobody knows whether it arrived; ask the customer, then \
         `fairday send --told {order}` if it did, `fairday send --once-more {order}` if not"
    )
}

/// Says what to do about a letter that was refused for good.
pub fn refused(order: &str) -> String {
    format!(
        "the last letter to this address was refused for good; correct the address in the \
         order's file, or if it is right `fairday send --once-more {order}`"
    )
}

fn due_words(due: &Due, delivery: &Delivery) -> String {
    let whose = if due.agreed {
        "promised"
    } else {
        "nothing promised, the rule says"
    };
    format!("{whose}: {} {}", verb(delivery, due.kind), day(due.date))
}

fn delay_words(delay: &Delay, delivery: &Delivery, today: NaiveDate) -> String {
    let due = due_words(&delay.due, delivery);
    let told = match (delay.change, delay.old_on) {
        (1, _) => String::new(),
        (_, Some(old_on)) => format!("; told last: {}", day(old_on)),
        (_, None) => "; told last: no day".to_owned(),
    };
    let now = match delay.new_on {
        Some(new_on) => format!("planned: {}{}", day(new_on), surety_words(delay)),
        None => "no day in the plan".to_owned(),
    };
    let change = match delay.change {
        1 => String::new(),
        change => format!(" (change {change})"),
    };
    let cause = cause_words(delay.cause);
    let tell_by = match delay.tell_by > today {
        true => format!("tell by {}", day(delay.tell_by)),
        false => "tell today".to_owned(),
    };
    format!("{due}{told}; {now}, {cause}{change}; {tell_by}")
}

fn surety_words(delay: &Delay) -> String {
    let beyond = match delay.surety.beyond_forecast {
        true => ", beyond the forecast",
        false => "",
    };
    match delay.surety.risk_per_mille / 10 {
        0 => beyond.to_owned(),
        percent => format!(" with {percent} % weather risk{beyond}"),
    }
}

fn cause_words(cause: Cause) -> &'static str {
    match cause {
        Cause::Weather => "held up by the weather",
        Cause::Remake => "held up by a remake",
        Cause::Material => "held up by missing material",
        Cause::Room => "held up by work ahead of it",
        Cause::Hold => "on hold",
        Cause::TooEarly => "too early a date from the start",
        Cause::Longer => "it takes longer",
    }
}
