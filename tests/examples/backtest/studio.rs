//! An invented studio at the place of a year, with a random load.

use anyhow::{Result, bail};
use chrono::{Days, NaiveDate};
use fairday::climate::TypicalYear;
use fairday::order::Order;
use fairday::plan::what_if::asked_order;
use fairday::size::Size;
use fairday::studio::Studio;
use fairday::studio::parse::parse;
use rand::Rng;
use rand::rngs::SmallRng;
use rand::seq::IndexedRandom;

/// The orders of a studio on a morning, and the one that is asked about.
pub struct Load {
    pub orders: Vec<Order>,
    pub asked: Order,
}

/// Makes the studio; the hour of its clock is that of the file's standard time.
pub fn studio(year: &TypicalYear) -> Result<Studio> {
    // The zones of this name count their hours westward.
    let zone = format!("Etc/GMT{:+}", -(year.offset_h.round() as i64));
    let zone = zone.replace("+0", "").replace("-0", "");
    let text = format!(
        "studio: Back-test\n\
         place: {{latitude_deg: {}, longitude_deg: {}, altitude_m: {}, zone: {zone}}}\n\
         work: [{{days: [mon, tue, wed, thu, fri], from: 8:00, until: 17:30}}]\n\
         frames: [{{name: small, inside: 31x43.5 cm, count: 2}}, {{name: large, inside: 54x64 cm}}]\n\
         racks: {{dark_dry_sheets: 10, dark_dry_line_cm: 250, wet_dry_sheets: 12, wet_dry_line_cm: 300}}\n\
         trays: {{inside: 45x62 cm, count: 2}}\n\
         materials:\n\
        \x20 rag: {{kind: paper, target_dose_kj_m2: 20, dark_dry_hours: 6}}\n\
        \x20 lawn: {{kind: cloth, target_dose_kj_m2: 35, dark_dry_hours: 12}}\n\
         weather: {{exposure_max_minutes: 90}}\n\
         letters: {{from: studio@example.org}}\n\
         promises: {{days: 45}}\n",
        year.latitude_deg,
        year.longitude_deg,
        year.altitude_m.max(0.0)
    );
    let (studio, problems) = parse(&text, "studio.yaml");
    let Some(studio) = studio else {
        bail!("the studio of the back-test does not read: {problems:?}");
    };
    Ok(studio)
}

/// Draws three to nine open orders, due in three days to three weeks, and another.
pub fn load(rng: &mut SmallRng, today: NaiveDate) -> Load {
    let count = rng.random_range(3..=9);
    let orders = (0..count)
        .map(|index| order(rng, index, today, Days::new(rng_days(index))))
        .collect();
    Load {
        orders,
        asked: Order {
            promise: None,
            ..order(rng, count, today, Days::new(300))
        },
    }
}

/// Due days spread over three weeks, whatever the number of orders.
fn rng_days(index: usize) -> u64 {
    3 + (index as u64 * 7) % 19
}

fn order(rng: &mut SmallRng, index: usize, today: NaiveDate, due: Days) -> Order {
    let sorts = [
        ("rag", "A4"),
        ("rag", "A4"),
        ("rag", "A3"),
        ("rag", "A5"),
        ("lawn", "30x40 cm"),
    ];
    let (material, size) = *sorts.choose(rng).expect("there are sorts");
    let size = Size::parse(size).expect("a size that is read elsewhere too");
    let copies = *[1, 1, 2, 2, 3, 5].choose(rng).expect("there are numbers");
    asked_order(material, size, copies, today + due, today, index)
}
