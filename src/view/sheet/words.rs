//! Words of a sheet that picture and lists share.

use super::SheetScreen;
use super::picture::Subject;
use crate::light::Quality;
use crate::plan::dark::Dark;
use crate::plan::daylight::DayLight;
use crate::plan::week::{Round, What};
use crate::view::dates::{count, minutes, time};
use crate::view::weather::{dark_words, light_minutes, origin_words, unfit_words};

/// Names a frame, with its number where there are several alike.
pub(super) fn frame_name(round: &Round) -> String {
    if round.of > 1 {
        format!("{} {}", round.frame, round.which)
    } else {
        round.frame.clone()
    }
}

/// Says what the sky offers on a day: the window, the best light, what stands against it.
pub(super) fn light_words(screen: &SheetScreen, light: &DayLight) -> String {
    let mut words = Vec::new();
    match (&light.best, &light.against) {
        (Some((at, value)), _) => {
            let spans = light
                .windows
                .iter()
                .map(|(from, until)| format!("{}–{}", time(*from), time(*until)));
            let spans: Vec<String> = spans.collect();
            words.push(format!(
                "Light {}, best {} at {}",
                spans.join(", "),
                light_minutes(*value, light.quality),
                time(*at)
            ));
        }
        (None, Some(against)) => words.push(format!("No light: {}", unfit_words(against))),
        (None, None) => words.push(dark_day_words(screen, light)),
    }
    words.extend(origin_words(light.origin).map(str::to_owned));
    if let Some(index) = light.uv_index.filter(|index| *index >= 2.5) {
        words.push(format!("UV index up to {index:.0}"));
    }
    words.join(" · ")
}

/// Says why a day without any start has none.
fn dark_day_words(screen: &SheetScreen, light: &DayLight) -> String {
    match &light.dark {
        Some(Dark::ForecastEnds) if !screen.has_forecast => {
            "No light to plan by: there is no forecast".to_owned()
        }
        Some(dark) => dark_words(dark).map_or_else(
            || "No hours of work".to_owned(),
            |words| format!("No light: {words}"),
        ),
        None => "Nothing waits for the sun".to_owned(),
    }
}

/// Says in sentences what the picture shows, for whom it is read aloud.
pub(super) fn picture_words(subject: &Subject) -> String {
    let mut sentences = vec![format!("{}.", light_words(subject.screen, subject.light))];
    let of = |is: fn(&What) -> bool| subject.steps.iter().filter(|step| is(&step.what)).count();
    let rounds = of(|what| matches!(what, What::Expose(_)));
    if rounds > 0 {
        sentences.push(format!("{} of exposing.", count(rounds, "round")));
    }
    for step in subject.steps {
        if let What::Coat(session) = &step.what {
            sentences.push(format!(
                "Mixing at {}, coating until {}.",
                time(step.from),
                time(session.coats.last().map_or(step.until, |coat| coat.until))
            ));
        }
    }
    for fill in subject.screen.racks {
        let grid = subject.screen.grid;
        let midnight = subject.light.date.and_time(chrono::NaiveTime::MIN);
        let from = grid.slot_from(midnight);
        let most = fill.most_between(from, from + crate::plan::grid::PER_DAY);
        if most > 0 {
            let rack = match (fill.rack.dark, fill.rack.space) {
                (true, crate::plan::model::Space::Sheet) => "dark-dry places",
                (true, crate::plan::model::Space::Line) => "cm of dark-dry line",
                (false, crate::plan::model::Space::Sheet) => "wet-dry places",
                (false, crate::plan::model::Space::Line) => "cm of wet-dry line",
            };
            sentences.push(format!("At most {most} of {} {rack} taken.", fill.places));
        }
    }
    sentences.push("The lists below say the same in words.".to_owned());
    sentences.join(" ")
}

/// Says how long a round stays in the light, and how sure that is.
pub(super) fn round_minutes(round: &Round) -> String {
    match (round.lamp, round.quality) {
        (true, _) => minutes(round.minutes),
        (false, quality) => light_minutes(round.minutes, quality),
    }
}

/// Says what a rough figure rests on, once for a page.
pub(super) fn quality_words(quality: Quality) -> Option<&'static str> {
    match quality {
        Quality::Good => None,
        Quality::Rough => Some("“about”: the forecast tells cloud, not light; watch the colour"),
        Quality::WeakLight => Some("“about”: the sun is low; watch the colour"),
        Quality::ClearSkyOnly => {
            Some("“at least”: nothing is known of the cloud; watch the colour")
        }
    }
}
