//! An invented studio and its orders, for tests of notices, letters and mail.

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveTime, Weekday};
use fairday::notice::{Cause, Outlook, Surety};
use fairday::order::{
    Cover, Customer, Delivery, Dispatch, Done, Event, Image, Jurisdiction, LightSource, Notified,
    Order, Piece, Progress, Promise, PromiseKind,
};
use fairday::size::Size;
use fairday::stage::Stage;
use fairday::studio::{
    HandlingMinutes, Letters, Material, MaterialKind, Place, Planning, Racks, Sensitizer, Shipping,
    Stand, Studio, Transport, Trays, WeatherLimits, WorkHours,
};
use fairday::units::Dose;

/// The Monday on which most of the tests stand.
pub const TODAY: &str = "2026-05-11";

pub fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn today() -> NaiveDate {
    date(TODAY)
}

/// Blue Shed Prints, one person, letters into a folder.
pub fn studio() -> Studio {
    let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let week = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
    ];
    Studio {
        name: "Blue Shed Prints".to_owned(),
        place: Place {
            latitude_deg: 52.1,
            longitude_deg: 5.1,
            altitude_m: 4.0,
            zone: chrono_tz::Europe::Amsterdam,
        },
        pinned_now: None,
        hands: 1,
        work: vec![WorkHours {
            days: week.to_vec(),
            from: time(9),
            until: time(17),
        }],
        days_off: vec![],
        keeping: fairday::studio::defaults::keeping(),
        stand: Stand {
            tilt_deg: 0.0,
            azimuth_deg: 180.0,
            albedo: 0.2,
            aerosol: 0.1,
        },
        frames: vec![],
        frame_margin_mm: 5.0,
        racks: Racks {
            dark_dry_sheets: 10,
            dark_dry_line_cm: 200,
            wet_dry_sheets: 10,
            wet_dry_line_cm: 200,
            sheet_place: Size::from_mm(297.0, 420.0),
        },
        trays: Trays {
            count: 1,
            inside: Size::from_mm(400.0, 500.0),
        },
        materials: materials(),
        sensitizer: Sensitizer {
            name: "classic".to_owned(),
            a_percent: 25.0,
            b_percent: 10.0,
            a_parts: 1.0,
            b_parts: 1.0,
            exposure_factor: 1.0,
            margin: 0.2,
            dead_ml: 0.0,
            step_ml: 5.0,
            setup_minutes: 15.0,
            mix_life_hours: 4.0,
            sessions_per_day: 1,
        },
        minutes: HandlingMinutes {
            load: 4.0,
            unload: 2.0,
            wash_within: 60.0,
            pack: 8.0,
        },
        weather: WeatherLimits {
            wind_max_m_s: 8.0,
            gust_max_m_s: 12.0,
            loose_gust_max_m_s: 5.5,
            gust_ratio: 1.6,
            rain_max_mm: 0.1,
            rain_chance_max: 0.3,
            elevation_min_deg: 10.0,
            exposure_max_minutes: 60.0,
            watch_loose: true,
            forecast_stale_hours: 24.0,
        },
        shipping: Shipping {
            collection_days: week.to_vec(),
            cut_off: time(16),
            holidays: vec![date("2026-05-14")],
            transit_days: BTreeMap::from([("home".to_owned(), 2), ("far".to_owned(), 10)]),
            carrier: Some("Lowland Post".to_owned()),
            sender: vec!["2 Samphire Lane".to_owned()],
        },
        letters: Letters {
            from: "studio@blue-shed.example.org".to_owned(),
            reply_to: None,
            person: "Marit".to_owned(),
            transport: Transport::Folder("outbox/sent".to_owned()),
            planned: false,
            remade: false,
            hold_days: fairday::studio::defaults::HOLD_DAYS,
            doubt_share: fairday::studio::defaults::DOUBT_SHARE,
        },
        forecast_file: None,
        drying: None,
        climate: None,
        promises: fairday::studio::defaults::promises(),
        learning: fairday::studio::defaults::learning(),
        fetch: None,
        import: None,
        planning: Planning {
            days: 14,
            late: 10,
            risk: 1,
            session: 1,
            ship: 1,
            ..fairday::studio::defaults::planning()
        },
    }
}

fn materials() -> BTreeMap<String, Material> {
    let material = |key: &str, name: &str, kind| Material {
        key: key.to_owned(),
        name: name.to_owned(),
        kind,
        target_dose: Dose(18.0),
        coat_ml_per_m2: 45.0,
        coats: 1,
        later_coat_share: 0.6,
        coat_minutes: 4.0,
        dark_dry_hours: 12.0,
        keep_hours: 72.0,
        wash_minutes: 15.0,
        wet_dry_hours: 12.0,
        cure_hours: 24.0,
        finish_minutes: 8.0,
        buffered: false,
        available_on: None,
        strips: Vec::new(),
    };
    BTreeMap::from([
        (
            "rag".to_owned(),
            material("rag", "cotton rag paper", MaterialKind::Paper),
        ),
        (
            "linen".to_owned(),
            material("linen", "linen", MaterialKind::Cloth),
        ),
    ])
}

/// An order of three prints on paper, taken on 4 May, to leave by 15 May, to the EU.
pub fn order(number: &str) -> Order {
    Order {
        number: number.to_owned(),
        file: format!("{number}.yaml"),
        customer: Customer {
            name: "Ines Calder".to_owned(),
            email: Some("ines@example.org".to_owned()),
            copies_to: vec![],
            address: Vec::new(),
            language: "en".to_owned(),
        },
        ordered_on: date("2026-05-04"),
        promise: Some(Promise {
            kind: PromiseKind::ShipBy,
            date: date("2026-05-15"),
            essential: false,
        }),
        jurisdiction: Jurisdiction::Eu,
        delivery: Delivery::Carrier {
            destination: "home".to_owned(),
        },
        weight: 1,
        hold: None,
        pieces: vec![
            piece(1, 0, "Fern, unfurling", "A4", "rag"),
            piece(2, 0, "Fern, unfurling", "A4", "rag"),
            piece(3, 1, "Harbour at low tide", "8x10 in", "rag"),
        ],
        notified: vec![],
        dispatch: None,
        cancelled_on: None,
    }
}

pub fn piece(number: u32, entry: usize, title: &str, size: &str, material: &str) -> Piece {
    Piece {
        number,
        entry,
        copy: 1,
        copies: 1,
        title: title.to_owned(),
        material: material.to_owned(),
        size: Size::parse(size).unwrap(),
        image: Image::Negative(title.to_owned()),
        cover: Cover::Glass,
        light: LightSource::Sun,
        hold: None,
        progress: Progress::default(),
    }
}

/// The same order with the promise by `kind` and `on`, under `jurisdiction`.
pub fn promised(kind: PromiseKind, on: &str, jurisdiction: Jurisdiction) -> Order {
    Order {
        promise: Some(Promise {
            kind,
            date: date(on),
            essential: false,
        }),
        jurisdiction,
        ..order("26-014")
    }
}

/// The same order, fetched by the customer, all pieces finished on `on`.
pub fn finished_pickup(on: &str) -> Order {
    let mut order = order("26-014");
    order.delivery = Delivery::Pickup;
    for piece in &mut order.pieces {
        finish(piece, on);
    }
    order
}

pub fn finish(piece: &mut Piece, on: &str) {
    piece.progress.events.push(Event {
        at: date(on).and_hms_opt(15, 0, 0).unwrap(),
        what: Done::stage(Stage::Finishing),
    });
}

/// Sends the piece back to coating on `on`.
pub fn remake(piece: &mut Piece, on: &str) {
    piece.progress.events.push(Event {
        at: date(on).and_hms_opt(16, 0, 0).unwrap(),
        what: Done::Remake {
            reason: "washed out".to_owned(),
        },
    });
}

/// The same order, collected by the carrier on `on`.
pub fn dispatched(on: &str) -> Order {
    Order {
        dispatch: Some(Dispatch {
            on: date(on),
            carrier: None,
            tracking: Some("LP 0042 1177".to_owned()),
        }),
        ..order("26-014")
    }
}

pub fn notified(on: &str, kind: &str, stated: Option<&str>) -> Notified {
    Notified {
        on: date(on),
        kind: kind.to_owned(),
        date: stated.map(date),
    }
}

/// The plan's view: it leaves on that day, none for never in the fourteen days.
pub fn outlook(leaves_on: Option<&str>, cause: Option<Cause>) -> Outlook {
    Outlook {
        order: "26-014".to_owned(),
        leaves_on: leaves_on.map(date),
        arrives_on: leaves_on.map(|on| date(on) + chrono::Days::new(2)),
        planned_until: date("2026-05-24"),
        cause,
        surety: Surety::default(),
    }
}
