//! What stands in for the weather beyond the forecast, from its part of `studio.yaml`.

use super::file::StudioFile;
use super::section::Section;
use super::{Climate, ClimateSource, defaults};

/// Reads the climate; none without the key `climate`.
pub fn climate(shape: &StudioFile, top: &mut Section) -> Option<Climate> {
    let shape = shape.climate.as_ref()?;
    let at = &mut top.below("climate");
    let file = at.take(&shape.file, "file");
    let rough = at.take(&shape.rough, "rough") == Some(true);
    let wet_share = at.number(
        &shape.wet_share,
        "wet_share",
        defaults::WET_SHARE,
        0.0..=1.0,
    );
    let source = match (file, rough) {
        (Some(file), false) => ClimateSource::File(file),
        (None, true) => ClimateSource::ByLatitude,
        (Some(_), true) => {
            let hint = "keep `file`, or `rough: yes` to do without one";
            at.wrong_key("rough", "the climate is both a file and rough", hint);
            return None;
        }
        (None, false) => {
            let hint = "write `climate: {file: here.epw}`, or `climate: {rough: yes}`";
            top.wrong_key("climate", "the climate names no file", hint);
            return None;
        }
    };
    Some(Climate { source, wet_share })
}
