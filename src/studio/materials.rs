//! Materials, sensitizer and handling times from their parts of `studio.yaml`.

use std::collections::BTreeMap;

use super::file::{MaterialFile, StudioFile};
use super::section::Section;
use super::{HandlingMinutes, KeepingLimits, Material, MaterialKind, Sensitizer, defaults};
use crate::units::Dose;

/// A week, for durations in hours. [h]
const WEEK_HOURS: f64 = 168.0;

/// Reads papers and cloths; there must be at least one.
pub fn materials(shape: &StudioFile, top: &mut Section) -> BTreeMap<String, Material> {
    let example = "{rag-300: {kind: paper, target_dose_kj_m2: 29}}";
    let Some(entries) = top.need_part(&shape.materials, "materials", example) else {
        return BTreeMap::new();
    };
    let list = top.trail.key("materials");
    let mut materials = BTreeMap::new();
    for (key, entry) in &entries.0 {
        let at = &mut Section::new(list.key(key), top.reader);
        let Some(material) = material(key, entry, at) else {
            continue;
        };
        if materials.insert(key.clone(), material).is_some() {
            let what = format!("the material `{key}` stands twice");
            let problem = at.reader.error(what).hint("keep one of the two");
            at.reader.at_key(&list.key(key), problem);
        }
    }
    if entries.0.is_empty() {
        let hint = format!("write `materials: {example}`");
        top.wrong_key("materials", "`materials` lists nothing", &hint);
    }
    materials
}

fn material(key: &str, shape: &MaterialFile, at: &mut Section) -> Option<Material> {
    let kind = at.need(&shape.kind, "kind", "paper");
    let dose = at.need_within(
        &shape.target_dose_kj_m2,
        "target_dose_kj_m2",
        "29",
        0.1..=5000.0,
    );
    // What else is wrong is told beside a wrong kind, too.
    let d = defaults::material(kind.unwrap_or(MaterialKind::Paper));
    let ml = at.number(
        &shape.coat_ml_per_m2,
        "coat_ml_per_m2",
        d.coat_ml_per_m2,
        1.0..=1000.0,
    );
    let coat = at.number(
        &shape.coat_minutes,
        "coat_minutes",
        d.coat_minutes,
        0.0..=240.0,
    );
    let dark = at.number(
        &shape.dark_dry_hours,
        "dark_dry_hours",
        d.dark_dry_hours,
        0.0..=WEEK_HOURS,
    );
    let keep = at.number(&shape.keep_hours, "keep_hours", d.keep_hours, 1.0..=8760.0);
    let wash = at.number(
        &shape.wash_minutes,
        "wash_minutes",
        d.wash_minutes,
        1.0..=600.0,
    );
    let wet = at.number(
        &shape.wet_dry_hours,
        "wet_dry_hours",
        d.wet_dry_hours,
        0.0..=WEEK_HOURS,
    );
    let cure = at.number(
        &shape.cure_hours,
        "cure_hours",
        d.cure_hours,
        0.0..=WEEK_HOURS,
    );
    let finish = at.number(
        &shape.finish_minutes,
        "finish_minutes",
        d.finish_minutes,
        0.0..=600.0,
    );
    Some(Material {
        key: key.to_owned(),
        name: at
            .take(&shape.name, "name")
            .unwrap_or_else(|| key.to_owned()),
        kind: kind?,
        target_dose: Dose(dose?),
        coat_ml_per_m2: ml,
        coats: at.count(&shape.coats, "coats", d.coats, 1..=4),
        later_coat_share: at.number(
            &shape.later_coat_share,
            "later_coat_share",
            d.later_coat_share,
            0.0..=2.0,
        ),
        coat_minutes: coat,
        dark_dry_hours: dark,
        keep_hours: keep,
        wash_minutes: wash,
        wet_dry_hours: wet,
        cure_hours: cure,
        finish_minutes: finish,
        buffered: at.take(&shape.buffered, "buffered").unwrap_or(d.buffered),
        available_on: at.take(&shape.available_on, "available_on"),
        strips: super::learning::strips(shape, at),
    })
}

/// Reads recipe and life of the mix.
pub fn sensitizer(shape: &StudioFile, top: &mut Section) -> Sensitizer {
    let d = defaults::sensitizer();
    let Some(shape) = &shape.sensitizer else {
        return d;
    };
    let at = &mut top.below("sensitizer");
    Sensitizer {
        name: at.take(&shape.name, "name").unwrap_or(d.name),
        a_percent: at.number(&shape.a_percent, "a_percent", d.a_percent, 0.1..=100.0),
        // What dissolves at all: 46 g in 100 ml (International Chemical Safety Card 1132).
        b_percent: at.number(&shape.b_percent, "b_percent", d.b_percent, 0.1..=46.0),
        a_parts: at.number(&shape.a_parts, "a_parts", d.a_parts, 0.01..=100.0),
        b_parts: at.number(&shape.b_parts, "b_parts", d.b_parts, 0.01..=100.0),
        exposure_factor: at.number(
            &shape.exposure_factor,
            "exposure_factor",
            d.exposure_factor,
            0.01..=20.0,
        ),
        margin: at.number(&shape.margin, "margin", d.margin, 0.0..=2.0),
        dead_ml: at.number(&shape.dead_ml, "dead_ml", d.dead_ml, 0.0..=5000.0),
        step_ml: at.number(&shape.step_ml, "step_ml", d.step_ml, 0.1..=1000.0),
        setup_minutes: at.number(
            &shape.setup_minutes,
            "setup_minutes",
            d.setup_minutes,
            0.0..=240.0,
        ),
        mix_life_hours: at.number(
            &shape.mix_life_hours,
            "mix_life_hours",
            d.mix_life_hours,
            0.25..=720.0,
        ),
        sessions_per_day: at.count(
            &shape.sessions_per_day,
            "sessions_per_day",
            d.sessions_per_day,
            1..=10,
        ),
    }
}

/// Reads when the age of coated sheets is spoken of.
pub fn keeping(shape: &StudioFile, top: &mut Section) -> KeepingLimits {
    let d = defaults::keeping();
    let Some(shape) = &shape.keeping else {
        return d;
    };
    let at = &mut top.below("keeping");
    KeepingLimits {
        warn_days: at.number(&shape.warn_days, "warn_days", d.warn_days, 0.1..=3650.0),
        strip_days: at.number(&shape.strip_days, "strip_days", d.strip_days, 0.1..=3650.0),
        damp_above_pct: at.number(
            &shape.damp_above_pct,
            "damp_above_pct",
            d.damp_above_pct,
            0.0..=100.0,
        ),
        damp_share: at.number(&shape.damp_share, "damp_share", d.damp_share, 0.05..=1.0),
    }
}

/// Reads handling times.
pub fn minutes(shape: &StudioFile, top: &mut Section) -> HandlingMinutes {
    let d = defaults::minutes();
    let Some(shape) = &shape.minutes else {
        return d;
    };
    let at = &mut top.below("minutes");
    HandlingMinutes {
        load: at.number(&shape.load, "load", d.load, 0.0..=120.0),
        unload: at.number(&shape.unload, "unload", d.unload, 0.0..=120.0),
        wash_within: at.number(
            &shape.wash_within,
            "wash_within",
            d.wash_within,
            0.0..=1440.0,
        ),
        pack: at.number(&shape.pack, "pack", d.pack, 0.0..=240.0),
    }
}
