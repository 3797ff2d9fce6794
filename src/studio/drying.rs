//! Whether and from what drying hours are estimated, from its part of `studio.yaml`.

use super::file::StudioFile;
use super::section::Section;
use super::{Drying, RoomAir, defaults};

/// Reads the estimate; none unless `estimate: yes` turns it on.
pub fn drying(shape: &StudioFile, top: &mut Section) -> Option<Drying> {
    let d = defaults::drying();
    let shape = shape.drying.as_ref()?;
    let at = &mut top.below("drying");
    let is_on = at.take(&shape.estimate, "estimate") == Some(true);
    let (warmth, damp) = (-10.0..=45.0, 5.0..=99.0);
    let usual = RoomAir {
        temperature_c: at.number(
            &shape.usual_temperature_c,
            "usual_temperature_c",
            d.usual.temperature_c,
            warmth.clone(),
        ),
        humidity_pct: at.number(
            &shape.usual_humidity_pct,
            "usual_humidity_pct",
            d.usual.humidity_pct,
            damp.clone(),
        ),
    };
    let temperature_c = at.take_within(&shape.temperature_c, "temperature_c", warmth);
    let humidity_pct = at.take_within(&shape.humidity_pct, "humidity_pct", damp);
    if temperature_c.is_some() != humidity_pct.is_some() {
        let hint = "give both `temperature_c` and `humidity_pct` of the room, or neither";
        top.wrong_key("drying", "the air of the room is half given", hint);
    }
    let at = &mut top.below("drying");
    let drying = Drying {
        usual,
        now: temperature_c
            .zip(humidity_pct)
            .map(|(temperature_c, humidity_pct)| RoomAir {
                temperature_c,
                humidity_pct,
            }),
        factor_min: at.number(&shape.factor_min, "factor_min", d.factor_min, 0.2..=1.0),
        factor_max: at.number(&shape.factor_max, "factor_max", d.factor_max, 1.0..=10.0),
    };
    is_on.then_some(drying)
}
