//! The letters that are due: plan, reasons, notices and their words, for two commands.

use anyhow::Result;

use super::load::{Loaded, Thinking};
use super::progress::{ASKING_WHY, while_doing};
use super::{Common, output};
use crate::letter::{Letter, render_all, templates_for};
use crate::notice::{Kind, Notice, Sent, doubts, notices};
use crate::outside::templates::read_templates;
use crate::plan::course::courses;
use crate::plan::outlook::outlooks;
use crate::plan::reason::{Asked, findings};
use crate::plan::week::week;

/// What must be told, and in which words; the two lists go together.
#[derive(Debug)]
pub struct Due {
    /// The facts.
    pub notices: Vec<Notice>,
    /// The letters.
    pub letters: Vec<Letter>,
    /// Earlier letters in doubt of which no notice speaks.
    pub doubts: Vec<Sent>,
}

/// Finds the letters due, for all orders or for `only` some of them.
///
/// None if a template has a mistake; it has been shown then.
pub fn letters_due(
    common: &Common,
    loaded: &Loaded,
    thinking: &Thinking,
    only: &[String],
) -> Result<Option<Due>> {
    for number in only {
        loaded.find_order(number)?;
    }
    let sky = loaded.sky();
    let setup = loaded.setup(&sky);
    let timing = loaded.plan(&setup, thinking)?;
    let courses = courses(&setup, &loaded.studio, &timing);
    let asked = Asked {
        setup: &setup,
        fair: &loaded.fair_setup(&sky),
        outdoors: loaded.outdoors(&sky),
        studio: &loaded.studio,
        site: loaded.site(),
        timing: &timing,
        effort: thinking.second_look(&setup),
        only,
    };
    let findings = while_doing(ASKING_WHY, || findings(&asked));
    let told_by_days = week(&setup, &loaded.studio, &timing);
    let outlooks = outlooks(&setup, &courses, &findings, &told_by_days);
    let sent = loaded.sent()?;
    let today = loaded.now.date();
    let mut notices = notices(&loaded.orders, &loaded.studio, &outlooks, &sent, today);
    notices.retain(|notice| only.is_empty() || only.contains(&notice.order));
    if loaded.forecast.is_none() {
        keep_delays_back(&mut notices);
    }
    let doubts = doubts(&loaded.orders, &sent, &notices).into_iter();
    let doubts = doubts.filter(|doubt| only.is_empty() || only.contains(&doubt.order));
    let doubts: Vec<Sent> = doubts.cloned().collect();
    let rendered = templates_for(&loaded.studio, &read_templates(&loaded.folder)?)
        .and_then(|templates| render_all(&notices, &loaded.orders, &loaded.studio, &templates));
    match rendered {
        Ok(letters) => Ok(Some(Due {
            notices,
            letters,
            doubts,
        })),
        Err(problems) => {
            output::show_problems(common, &problems);
            Ok(None)
        }
    }
}

/// Takes delays out that nobody can judge: without a forecast every date is a guess.
fn keep_delays_back(notices: &mut Vec<Notice>) {
    let before = notices.len();
    notices.retain(|notice| !matches!(notice.kind, Kind::Delayed(_)));
    if notices.len() < before {
        output::remark(
            "No forecast, so nobody can say what is late: letters about delays are kept back.",
        );
    }
}
