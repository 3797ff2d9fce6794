//! A closed gate in words.

use crate::order::gates::{Closed, Mark, Wait};
use crate::stage::Stage;

/// Renders why `mark` may not be set, as one sentence without a full stop.
///
/// # Example
/// ```
/// use fairday::order::gates::{Closed, Mark};
/// use fairday::stage::Stage;
/// use fairday::view::gate::render;
/// let at = "2026-05-11T10:00:00".parse().unwrap();
/// let mark = Mark { stage: Stage::Exposing, at };
/// let closed = Closed::Held { reason: "waits for payment".to_owned() };
/// assert_eq!(render(&closed, mark), "it is on hold: waits for payment");
/// let closed = Closed::NotNext { next: Some(Stage::Coating) };
/// assert_eq!(render(&closed, mark), "it is not `coated` yet, so it cannot be `exposed`");
/// ```
pub fn render(closed: &Closed, mark: Mark) -> String {
    let done = mark.stage.done();
    match closed {
        Closed::OrderClosed => "the order has left or was cancelled".to_owned(),
        Closed::Held { reason } => format!("it is on hold: {reason}"),
        Closed::NotNext { next: None } => "it has left already".to_owned(),
        Closed::NotNext { next: Some(next) } if *next > mark.stage => {
            format!("it is `{done}` already, next it is to be `{}`", next.done())
        }
        Closed::NotNext { next: Some(next) } => {
            format!("it is not `{}` yet, so it cannot be `{done}`", next.done())
        }
        Closed::Earlier { last_at } => format!(
            "its last entry is of {}, later than the time given",
            last_at.format("%Y-%m-%d %H:%M")
        ),
        Closed::TooSoon(wait) => render_wait(wait),
        Closed::SistersOpen { pieces } => {
            let each: Vec<String> = pieces
                .iter()
                .map(|(number, stage)| format!("piece {number} is at {}", stage.name()))
                .collect();
            format!("the order is not complete: {}", each.join(", "))
        }
    }
}

fn render_wait(wait: &Wait) -> String {
    let what = match wait.since {
        Stage::Coating => "the coat is not dry",
        Stage::Drying | Stage::Exposing | Stage::Washing | Stage::Finishing | Stage::Shipping => {
            "the print is not dry and its colour not full"
        }
    };
    format!(
        "{what}: {} at {}, {} h, so not before {}",
        wait.since.done(),
        wait.since_at.format("%Y-%m-%d %H:%M"),
        wait.hours,
        wait.over_at.format("%Y-%m-%d %H:%M")
    )
}
