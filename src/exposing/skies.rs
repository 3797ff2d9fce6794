//! The sky over the frames: as forecast, until somebody looks up.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use crate::light::{CloudMethod, SeenSky, Sky, SkyHour};

/// How far ahead skies are kept; no frame lies out longer. [h, own choice]
const AHEAD_HOURS: i64 = 14;

/// The sky from a moment on, until the next of its kind.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SkyFrom {
    /// From when.
    pub from: DateTime<Utc>,
    /// None where nothing is known.
    pub sky: Option<Sky>,
}

impl SkyFrom {
    fn is_seen(&self) -> bool {
        self.sky.is_some_and(|sky| sky.method == CloudMethod::Seen)
    }
}

/// Returns the sky at a moment.
pub(super) fn sky_at(skies: &[SkyFrom], at: DateTime<Utc>) -> Option<Sky> {
    let index = skies.partition_point(|sky| sky.from <= at);
    skies[..index].last()?.sky
}

/// Takes the forecast for everything from `now` on; what lies before stays as it was.
///
/// A sky that was seen stays until somebody looks up again: it is surer than any
/// forecast of this hour. Hours of which the forecast says nothing stay, too, since a
/// new forecast often begins with the next full hour.
pub fn refresh(skies: &mut Vec<SkyFrom>, forecast: &[SkyHour], now: DateTime<Utc>) {
    let before = skies.partition_point(|sky| sky.from <= now);
    if skies[..before].last().is_some_and(SkyFrom::is_seen) {
        skies.truncate(before);
        return;
    }
    lay_forecast(skies, forecast, now);
}

/// Notes how the sky looks from `at` on; none goes by the forecast again.
pub fn look_up(
    skies: &mut Vec<SkyFrom>,
    forecast: &[SkyHour],
    at: DateTime<Utc>,
    seen: Option<SeenSky>,
) {
    match seen {
        Some(seen) => {
            skies.retain(|sky| sky.from < at);
            let sky = Some(seen.sky());
            skies.push(SkyFrom { from: at, sky });
        }
        None => {
            skies.retain(|sky| sky.from < at || !sky.is_seen());
            lay_forecast(skies, forecast, at);
        }
    }
}

fn lay_forecast(skies: &mut Vec<SkyFrom>, forecast: &[SkyHour], now: DateTime<Utc>) {
    let end = now + TimeDelta::hours(AHEAD_HOURS);
    let hour = TimeDelta::hours(1);
    let mut borders: Vec<DateTime<Utc>> = vec![now];
    borders.extend(skies.iter().map(|sky| sky.from));
    borders.extend(
        forecast
            .iter()
            .flat_map(|sky| [sky.start, sky.start + hour]),
    );
    borders.retain(|border| (now..end).contains(border));
    borders.sort_unstable();
    borders.dedup();
    let at = |border: DateTime<Utc>| {
        let told = forecast
            .iter()
            .find(|sky| sky.start <= border && border - sky.start < hour);
        told.and_then(|told| told.sky)
            .or_else(|| sky_at(skies, border).filter(|sky| sky.method != CloudMethod::Seen))
    };
    let coming: Vec<SkyFrom> = borders
        .into_iter()
        .map(|from| SkyFrom {
            from,
            sky: at(from),
        })
        .collect();
    skies.retain(|sky| sky.from < now);
    skies.extend(coming);
    skies.dedup_by(|next, sky| next.sky == sky.sky);
}
