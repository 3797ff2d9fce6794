//! How long dates that hold take: 1,000 weathers, 10 and 50 open orders, all threads.

use divan::Bencher;
use fairday::climate::Days;
use fairday::light::Site;
use fairday::odds::{Scene, honest_dates, odds};
use fairday::order::Order;
use fairday::plan::what_if::asked_order;
use fairday::size::Size;
use fairday::studio::Studio;
use fairday::studio::parse::parse;

const STUDIO: &str = "\
studio: The Blue Shed
place: {latitude_deg: 52.0, longitude_deg: 5.0, zone: Etc/GMT}
work: [{days: [mon, tue, wed, thu, fri], from: 8:00, until: 17:30}]
frames: [{name: small, inside: 31x43.5 cm, count: 2}, {name: large, inside: 54x64 cm}]
racks: {dark_dry_sheets: 12, dark_dry_line_cm: 300, wet_dry_sheets: 14, wet_dry_line_cm: 400}
trays: {inside: 45x62 cm, count: 2}
materials:
  rag: {kind: paper, target_dose_kj_m2: 29, dark_dry_hours: 6}
  lawn: {kind: cloth, target_dose_kj_m2: 44, dark_dry_hours: 9}
letters: {from: studio@example.org}
";

fn main() {
    divan::main();
}

/// A studio and its orders, two prints each, due over five weeks.
struct Stage {
    studio: Studio,
    site: Site,
    climate: Days,
    orders: Vec<Order>,
}

impl Stage {
    fn new(orders: usize) -> Stage {
        let studio = parse(STUDIO, "studio.yaml").0.expect("the studio reads");
        Stage {
            site: Site::new(&studio.place, &studio.stand),
            climate: Days::by_latitude(52.0, 5.0, 0.1),
            studio,
            orders: (0..orders).map(order).collect(),
        }
    }

    fn scene(&self) -> Scene<'_> {
        Scene {
            orders: &self.orders,
            studio: &self.studio,
            site: &self.site,
            forecast: None,
            climate: &self.climate,
            now: "2026-05-11T08:00:00".parse().expect("a moment"),
            dry_factor: 1.0,
        }
    }
}

fn order(index: usize) -> Order {
    let today = "2026-05-11".parse().expect("a day");
    let (material, size) = [("rag", "A4"), ("rag", "A3"), ("lawn", "30x40 cm")][index % 3];
    let size = Size::parse(size).expect("a size");
    let by = today + chrono::Days::new(5 + (index as u64 * 7) % 30);
    asked_order(material, size, 2, by, today, index)
}

/// How sure all open orders are.
#[divan::bench(args = [10, 50], sample_count = 10)]
fn odds_of_1000_weathers(bencher: Bencher, orders: usize) {
    let stage = Stage::new(orders);
    bencher.bench(|| odds(&stage.scene()));
}

/// The dates of one order more: the work is gone through twice.
#[divan::bench(args = [10, 50], sample_count = 10)]
fn dates_of_1000_weathers(bencher: Bencher, orders: usize) {
    let stage = Stage::new(orders);
    let asked = order(orders);
    bencher.bench(|| honest_dates(&stage.scene(), &asked));
}
