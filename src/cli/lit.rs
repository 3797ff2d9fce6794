//! What an exposure got: the light of a frame, for `mark`, `expose` and `strip`.

use anyhow::{Result, bail};
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};

use super::load::{Loaded, Sky, instant};
use crate::exposing::{InTheLight, PieceId, Running, Span, count, curve_over, look_up, refresh};
use crate::light::{CurveRules, LightCurve, SeenSky, Site, SkyHour, read_skies};
use crate::order::{Exposed, LightSource, Order, Piece};
use crate::plan::setup::Setup;
use crate::plan::spread::Spreads;
use crate::problem::did_you_mean;
use crate::studio::Material;
use crate::units::{Dose, DoseRate};

/// What a piece got.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lit {
    /// As its order keeps it.
    pub exposed: Exposed,
    /// Whether a clear sky was taken, since nothing was known of it.
    pub clear_taken: bool,
}

/// The studio's place and the forecast over it.
#[derive(Debug)]
pub struct Daylight<'a> {
    loaded: &'a Loaded,
    site: Site,
    /// The skies of the forecast, hour by hour.
    pub forecast: Vec<SkyHour>,
}

impl<'a> Daylight<'a> {
    /// Reads the skies of the forecast.
    pub fn new(loaded: &'a Loaded) -> Daylight<'a> {
        let site = loaded.site();
        let rules = CurveRules::of(&loaded.studio.weather);
        let skies = loaded
            .forecast
            .as_ref()
            .map(|forecast| read_skies(&site, forecast, &rules));
        Daylight {
            loaded,
            site,
            forecast: skies.unwrap_or_default(),
        }
    }

    /// Computes the light over frames from `from` on, as it is known at `now`.
    pub fn curve(&self, light: &InTheLight, from: DateTime<Utc>, now: DateTime<Utc>) -> LightCurve {
        let limits = &self.loaded.studio.weather;
        curve_over(self.site, limits, &light.skies, from, now)
    }

    /// Returns what a piece got that is taken in at `at`: as it was counted in its frame,
    /// or in the last `minutes`. None if neither is known.
    pub fn exposed(
        &self,
        light: &InTheLight,
        (order, piece): (&Order, &Piece),
        at: NaiveDateTime,
        minutes: Option<f64>,
        seen: Option<SeenSky>,
    ) -> Option<Lit> {
        let id = PieceId {
            order: order.number.clone(),
            piece: piece.number,
        };
        let at = instant(&self.loaded.studio, at);
        let kept = light.find(&id);
        let mut running = match kept {
            Some(running) => running.clone(),
            None => self.loaded.running(piece, None)?,
        };
        if let Some(minutes) = minutes {
            let from = at - TimeDelta::milliseconds((minutes * 60_000.0).round() as i64);
            running.spans = vec![Span { from, until: None }];
        }
        let from = running.started_at()?;
        let mut light = light.clone();
        if kept.is_none() {
            light.skies.clear();
            refresh(&mut light.skies, &self.forecast, from);
            let planned = self.planned(&running, &light, from);
            running.planned_minutes = planned;
        }
        if seen.is_some() {
            look_up(&mut light.skies, &self.forecast, from, seen);
        }
        let counted = count(&running, &self.curve(&light, from, at), at);
        let known = counted.gathered.0 > 0.0;
        let exposed = Exposed {
            minutes: rounded(counted.minutes, 10.0),
            planned_minutes: running.planned_minutes.map(|value| rounded(value, 10.0)),
            dose: known.then(|| Dose(rounded(counted.gathered.0, 100.0))),
            dose_spread: known.then(|| rounded(counted.spread, 100.0)),
        };
        (exposed.minutes > 0.0).then_some(Lit {
            exposed,
            clear_taken: counted.clear_taken,
        })
    }

    /// Returns how long a frame is to lie out that begins at `from`. [min]
    pub fn planned(
        &self,
        running: &Running,
        light: &InTheLight,
        from: DateTime<Utc>,
    ) -> Option<f64> {
        if let Some(rate) = running.lamp {
            return Some(rate.minutes_to(running.target));
        }
        let curve = self.curve(light, from, from);
        let exposure = curve.exposure(from, running.target).ok()?;
        Some(exposure.minutes)
    }
}

/// Returns when each frame in the light is to be taken in if it lies there from now on:
/// as `expose` counts it, or by the minutes that it was to take.
pub fn taken_in(loaded: &Loaded, light: &InTheLight) -> impl Fn(&Running) -> DateTime<Utc> {
    let now = instant(&loaded.studio, loaded.now);
    let curve = light.started_at().map(|start| {
        let daylight = Daylight::new(loaded);
        let mut light = light.clone();
        refresh(&mut light.skies, &daylight.forecast, start.max(now));
        daylight.curve(&light, start.min(now), now)
    });
    move |running| {
        let counted = curve.as_ref().map(|curve| count(running, curve, now));
        match counted.map(|counted| counted.to_go) {
            Some(Ok(to_go)) => {
                now + TimeDelta::milliseconds((to_go.minutes * 60_000.0).round() as i64)
            }
            Some(Err(_)) | None => running.taken_in_at(now),
        }
    }
}

impl Loaded {
    /// Returns a frame with a piece's target and light that does not lie out yet; none
    /// if the studio does not know its material any more.
    pub fn running(&self, piece: &Piece, frame: Option<&str>) -> Option<Running> {
        let material = self.studio.materials.get(&piece.material)?;
        Some(Running {
            pieces: Vec::new(),
            frame: frame.map(str::to_owned),
            material: material.key.clone(),
            target: self.target(material),
            target_spread: self.target_spread(material),
            lamp: self.lamp(piece, frame),
            planned_minutes: None,
            spans: Vec::new(),
        })
    }

    /// Returns how far off the minutes of a plan may be.
    pub fn spreads<'a>(&'a self, setup: &'a Setup<'a>, sky: &'a Sky) -> Spreads<'a> {
        let materials = self.studio.materials.values();
        Spreads {
            setup,
            outdoors: self.outdoors(sky),
            dose: materials
                .map(|material| (material.key.clone(), self.target_spread(material)))
                .collect(),
        }
    }

    /// Returns the dose that prints a material with the studio's sensitizer.
    pub fn target(&self, material: &Material) -> Dose {
        let factor = self.studio.sensitizer.exposure_factor;
        material.target_dose.scaled(factor)
    }

    /// Returns the spread of that dose, 0 as long as nothing was learned about it.
    pub fn target_spread(&self, material: &Material) -> f64 {
        let taught = self.taught.get(&material.key);
        let taught = taught.filter(|taught| taught.has_evidence());
        taught.map_or(0.0, |taught| taught.learned.sigma_ln)
    }

    fn lamp(&self, piece: &Piece, frame: Option<&str>) -> Option<DoseRate> {
        let mut lamps = self.studio.frames_for(LightSource::Lamp);
        let of_frame = |name: &str| {
            let frame = self.studio.frames.iter().find(|frame| frame.name == name);
            frame.and_then(|frame| frame.lamp)
        };
        match piece.light {
            LightSource::Sun => None,
            LightSource::Lamp => frame
                .and_then(of_frame)
                .or_else(|| lamps.next().and_then(|frame| frame.lamp)),
        }
    }
}

/// Returns the sky of a word that was typed.
pub fn find_sky(word: &str) -> Result<SeenSky> {
    if let Some(sky) = SeenSky::find(word) {
        return Ok(sky);
    }
    let words: Vec<&str> = SeenSky::ALL.iter().map(|sky| sky.name()).collect();
    let meant = did_you_mean(word, &words).map(|word| format!(" (did you mean `{word}`?)"));
    bail!(
        "`--sky {word}`: expected one of {}{}",
        words.join(", "),
        meant.unwrap_or_default()
    )
}

fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts
}
