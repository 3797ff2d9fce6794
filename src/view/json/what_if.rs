//! The difference of two plans as JSON, `fairday-what-if/1`.

use serde::Serialize;

use super::plan::OrderJson;
use super::{Wall, plain};
use crate::view::what_if::{WhatIfScreen, moved_words};

/// The whole answer.
#[derive(Debug, Serialize)]
pub struct WhatIfJson {
    format: &'static str,
    studio: String,
    now: Wall,
    forecast: String,
    questions: Vec<String>,
    moved: Vec<MovedJson>,
    steps_today: usize,
    steps_today_otherwise: usize,
}

#[derive(Debug, Serialize)]
struct MovedJson {
    order: String,
    before: Option<OrderJson>,
    after: OrderJson,
    words: String,
}

/// Says the difference for other programs.
pub fn what_if_json(screen: &WhatIfScreen) -> WhatIfJson {
    let number = |order: usize| screen.orders[order].number.as_str();
    let found = screen.difference;
    WhatIfJson {
        format: "fairday-what-if/1",
        studio: screen.studio.to_owned(),
        now: Wall(screen.now),
        forecast: plain(screen.forecast_note),
        questions: screen.questions.to_vec(),
        moved: found
            .moved
            .iter()
            .map(|moved| MovedJson {
                order: number(moved.order).to_owned(),
                before: moved
                    .before
                    .as_ref()
                    .map(|before| OrderJson::new(before, number(moved.order))),
                after: OrderJson::new(&moved.after, number(moved.order)),
                words: plain(&moved_words(screen, moved)),
            })
            .collect(),
        steps_today: found.steps,
        steps_today_otherwise: found.steps_gone,
    }
}
