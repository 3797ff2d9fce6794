//! `fairday plan --if …`: the plan as it is beside the plan as it would be.

use anyhow::{Result, bail};

use super::load::{Loaded, Sky, Thinking};
use super::{Common, Ended, output, typed};
use crate::plan::carry::carry;
use crate::plan::course::courses;
use crate::plan::setup::setup;
use crate::plan::starts::Outdoors;
use crate::plan::week::week;
use crate::plan::what_if::{FORMS, Known, NotAsked, Question, difference};
use crate::view::json::what_if_json;
use crate::view::what_if::{WhatIfScreen, render_what_if};

/// Answers questions about the loaded studio; no file is written.
pub fn run(
    common: &Common,
    loaded: &Loaded,
    sky: &Sky,
    thinking: &Thinking,
    questions: &[String],
    json: bool,
) -> Result<Ended> {
    let known = supposed(loaded, questions)?;
    let outdoors = Outdoors {
        light: &sky.light,
        forecast: known.forecast.as_ref(),
        dry_factor: loaded.dry_factor(),
    };
    let real = loaded.setup(sky);
    let asked = setup(
        &known.orders,
        &known.studio,
        &outdoors,
        loaded.now,
        loaded.under_way(),
    );
    let shown = loaded.plan(&real, thinking)?;
    let before = thinking.plan_on(&real, &shown)?;
    let after = thinking.plan_otherwise(
        &asked,
        &carry(&real, &before, &asked),
        loaded.studio.planning.moved,
    )?;
    let found = difference(
        (
            &courses(&real, &loaded.studio, &before),
            &week(&real, &loaded.studio, &before),
        ),
        (
            &courses(&asked, &known.studio, &after),
            &week(&asked, &known.studio, &after),
        ),
        loaded.now.date(),
    );
    let screen = WhatIfScreen {
        studio: &loaded.studio.name,
        orders: &known.orders,
        now: loaded.now,
        forecast_note: &loaded.forecast_note(),
        questions,
        difference: &found,
    };
    if json {
        output::answer_json(&what_if_json(&screen))?;
    } else {
        output::show(common, &render_what_if(&screen, output::setting(common)))?;
    }
    Ok(Ended::look_if(output::has_errors(&loaded.problems)))
}

/// Returns what the studio knows with all questions taken to be so.
fn supposed(loaded: &Loaded, questions: &[String]) -> Result<Known> {
    let mut known = Known {
        studio: loaded.studio.clone(),
        orders: loaded.begun().to_vec(),
        forecast: loaded.forecast.clone(),
    };
    for text in questions {
        let Some(question) = Question::parse(text) else {
            bail!("`--if \"{text}\"`: expected one of {FORMS}");
        };
        match known.suppose(&question, loaded.now.date()) {
            Ok(()) => {}
            Err(NotAsked::NoFrame(name)) => {
                let frames = loaded.studio.frames.iter();
                let names: Vec<&str> = frames.map(|frame| frame.name.as_str()).collect();
                typed::one_of("frame", &name, &names)?;
            }
            Err(NotAsked::NotPlanned(day)) => bail!(
                "`--if \"{text}\"`: the plan goes from {} for {} days; {day} is none of them",
                loaded.now.date(),
                loaded.studio.planning.days
            ),
            Err(NotAsked::NoMaterial(key)) => {
                let keys = loaded.studio.materials.keys();
                let keys: Vec<&str> = keys.map(String::as_str).collect();
                typed::one_of("material", &key, &keys)?;
            }
        }
    }
    Ok(known)
}
