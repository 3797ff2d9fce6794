//! Weather limits, shipping and planner settings from their parts of `studio.yaml`.

use std::collections::BTreeMap;

use super::file::{PlanningFile, ShippingFile, StudioFile};
use super::section::Section;
use super::{LotPrices, Planning, Shipping, WeatherLimits, defaults};
use crate::yaml::address::postal_lines;
use crate::yaml::leaf::Leaf;

/// Reads when a piece may be exposed outdoors.
pub fn weather(shape: &StudioFile, top: &mut Section) -> WeatherLimits {
    let d = defaults::weather();
    let Some(shape) = &shape.weather else {
        return d;
    };
    let at = &mut top.below("weather");
    WeatherLimits {
        wind_max_m_s: at.number(
            &shape.wind_max_m_s,
            "wind_max_m_s",
            d.wind_max_m_s,
            0.0..=40.0,
        ),
        gust_max_m_s: at.number(
            &shape.gust_max_m_s,
            "gust_max_m_s",
            d.gust_max_m_s,
            0.0..=60.0,
        ),
        loose_gust_max_m_s: at.number(
            &shape.loose_gust_max_m_s,
            "loose_gust_max_m_s",
            d.loose_gust_max_m_s,
            0.0..=60.0,
        ),
        gust_ratio: at.number(&shape.gust_ratio, "gust_ratio", d.gust_ratio, 1.0..=4.0),
        rain_max_mm: at.number(&shape.rain_max_mm, "rain_max_mm", d.rain_max_mm, 0.0..=10.0),
        rain_chance_max: at.number(
            &shape.rain_chance_max,
            "rain_chance_max",
            d.rain_chance_max,
            0.0..=1.0,
        ),
        elevation_min_deg: at.number(
            &shape.elevation_min_deg,
            "elevation_min_deg",
            d.elevation_min_deg,
            0.0..=60.0,
        ),
        exposure_max_minutes: at.number(
            &shape.exposure_max_minutes,
            "exposure_max_minutes",
            d.exposure_max_minutes,
            1.0..=480.0,
        ),
        watch_loose: at
            .take(&shape.watch_loose, "watch_loose")
            .unwrap_or(d.watch_loose),
        forecast_stale_hours: at.number(
            &shape.forecast_stale_hours,
            "forecast_stale_hours",
            d.forecast_stale_hours,
            0.5..=240.0,
        ),
    }
}

/// Reads collections and transit.
pub fn shipping(shape: &StudioFile, top: &mut Section) -> Shipping {
    let d = defaults::shipping();
    let Some(shape) = &shape.shipping else {
        return d;
    };
    let transit_days = transit_days(shape, top).unwrap_or(d.transit_days);
    let at = &mut top.below("shipping");
    let collection_days = match &shape.collection_days {
        None => d.collection_days,
        Some(_) => at.list(&shape.collection_days, "collection_days"),
    };
    let sender: Option<String> = at.take(&shape.sender, "sender");
    Shipping {
        collection_days,
        cut_off: at.take(&shape.cut_off, "cut_off").unwrap_or(d.cut_off),
        holidays: at.list(&shape.holidays, "holidays"),
        transit_days,
        carrier: at.take(&shape.carrier, "carrier"),
        sender: sender.as_deref().map(postal_lines).unwrap_or_default(),
    }
}

fn transit_days(shape: &ShippingFile, top: &mut Section) -> Option<BTreeMap<String, u32>> {
    let entries = shape.transit_days.as_ref()?;
    let shipping = top.trail.key("shipping");
    let at = &mut Section::new(shipping.key("transit_days"), top.reader);
    let mut days = BTreeMap::new();
    for (destination, leaf) in &entries.0 {
        let Some(number) = at.take_transit(leaf, destination) else {
            continue;
        };
        if destination == "pickup" {
            let hint = "remove it; `delivery: pickup` in an order needs no transit";
            at.wrong_key(destination, "`pickup` is no way of a carrier", hint);
        }
        if days.insert(destination.clone(), number).is_some() {
            let what = format!("the destination `{destination}` stands twice");
            at.wrong_key(destination, &what, "keep one of the two");
        }
    }
    Some(days)
}

/// Reads the settings of the planner.
pub fn planning(shape: &StudioFile, top: &mut Section) -> Planning {
    let d = defaults::planning();
    let Some(shape) = &shape.planning else {
        return d;
    };
    let lots = lots(shape, top, d.lots);
    let at = &mut top.below("planning");
    let most = 10_000_000;
    Planning {
        days: at.count(&shape.days, "days", d.days, 1..=60),
        late: at.count(&shape.late, "late", d.late, 0..=most),
        risk: at.count(&shape.risk, "risk", d.risk, 0..=most),
        second_go: at.count(&shape.second_go, "second_go", d.second_go, 0..=most),
        session: at.count(&shape.session, "session", d.session, 0..=most),
        ship: at.count(&shape.ship, "ship", d.ship, 0..=most),
        moved: at.count(&shape.moved, "moved", d.moved, 0..=most),
        extra_hours: at.number(&shape.extra_hours, "extra_hours", d.extra_hours, 0.0..=8.0),
        spare_confidence: at.number(
            &shape.spare_confidence,
            "spare_confidence",
            d.spare_confidence,
            0.0..=0.9999,
        ),
        remake_share_paper: at.number(
            &shape.remake_share_paper,
            "remake_share_paper",
            d.remake_share_paper,
            0.0..=0.9,
        ),
        remake_share_cloth: at.number(
            &shape.remake_share_cloth,
            "remake_share_cloth",
            d.remake_share_cloth,
            0.0..=0.9,
        ),
        remake_start_pieces: at.count(
            &shape.remake_start_pieces,
            "remake_start_pieces",
            d.remake_start_pieces,
            0..=10_000,
        ),
        lots,
    }
}

fn lots(shape: &PlanningFile, top: &mut Section, d: LotPrices) -> LotPrices {
    let Some(shape) = &shape.lots else { return d };
    let planning = &mut top.below("planning");
    let at = &mut planning.below("lots");
    let mut price = |leaf: &Option<Leaf<u32>>, key, default: i64| {
        let typed = at.take_within(leaf, key, 0..=1_000_000);
        typed.map_or(default, i64::from)
    };
    LotPrices {
        lot: price(&shape.lot, "lot", d.lot),
        frame_dm2: price(&shape.frame_dm2, "frame_dm2", d.frame_dm2),
        mixed: price(&shape.mixed, "mixed", d.mixed),
        share: price(&shape.share, "share", d.share),
        day_apart: price(&shape.day_apart, "day_apart", d.day_apart),
    }
}
