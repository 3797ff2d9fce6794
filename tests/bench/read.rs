//! How long a studio folder takes to read: 1,000 and 10,000 order files.
//!
//! The files are written into a folder that goes away afterwards; what is measured
//! is listing, reading and understanding them all.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use fairday::outside::orders::{Folder, read_folder};
use tempfile::TempDir;

const STUDIO: &str = "
studio: The Blue Shed
today: 2026-05-11 07:00
place: {latitude_deg: 53.9, longitude_deg: -2.9, zone: Europe/London}
frames: [{name: large, inside: 54x64 cm}]
racks: {dark_dry_sheets: 8, wet_dry_sheets: 8}
trays: {inside: 45x62 cm}
materials:
  rag-300: {kind: paper, target_dose_kj_m2: 29}
  linen-170: {kind: cloth, target_dose_kj_m2: 60}
letters: {from: studio@example.org}
";

fn main() {
    divan::main();
}

/// An order as a maker writes it: remarks, two pieces, a record. About 900 bytes.
fn order(index: usize) -> String {
    let mut text = format!("# order {index}\norder: 2026-{index:05}\n");
    text.push_str("customer:\n  name: Ada Lindqvist\n");
    let _ = writeln!(text, "  email: ada{index}@example.org");
    text.push_str(
        "ordered_on: 2026-04-28\npromise:\n  kind: ship_by\n  date: 2026-05-15   # told by mail\n\
         jurisdiction: eu\ndelivery: neighbours\npieces:\n  - title: Harbour wall\n    \
         material: rag-300\n    size: A4\n    copies: 2\n    negative: harbour-wall\n    \
         progress:\n      - {at: 2026-05-08 18:30, did: coated}\n      \
         - {at: 2026-05-09 11:05, did: exposed, minutes: 12, copies: [1]}\n      \
         - {at: 2026-05-09 11:40, did: washed, copies: [1]}\n      \
         - {at: 2026-05-09 13:05, did: exposed, minutes: 9.5, copies: [2]}\n  \
         - title: \"Ferns: the second\"\n    material: linen-170\n    size: 30x40 cm\n    \
         objects: ferns and lace\n    cover: none\n    # stands up a hand high\n\
         notified:\n  - {on: 2026-04-28, kind: taken, date: 2026-05-15}\n",
    );
    text
}

/// Writes a studio with `count` orders.
fn folder(count: usize) -> TempDir {
    let dir = tempfile::tempdir().expect("a place for files of this run");
    fs::write(dir.path().join("studio.yaml"), STUDIO).expect("the place can be written to");
    for index in 0..count {
        let path = dir.path().join(format!("2026-{index:05}.yaml"));
        fs::write(path, order(index)).expect("the place can be written to");
    }
    dir
}

fn read(dir: &Path) -> Folder {
    let pinned = |studio: &fairday::studio::Studio| studio.pinned_now.expect("it is pinned");
    read_folder(dir, pinned).expect("the folder is there")
}

#[divan::bench(args = [1_000, 10_000], sample_count = 10, sample_size = 1)]
fn read_orders(bencher: divan::Bencher, count: usize) {
    let dir = folder(count);
    let first = read(dir.path());
    assert_eq!((first.orders.len(), first.problems.len()), (count, 0));
    bencher.bench_local(|| read(dir.path()));
}

/// A tenth of the files has a slip in it, so their places are looked up, too.
#[divan::bench(args = [1_000], sample_count = 10, sample_size = 1)]
fn read_orders_with_slips(bencher: divan::Bencher, count: usize) {
    let dir = folder(count);
    for index in (0..count).step_by(10) {
        let path = dir.path().join(format!("2026-{index:05}.yaml"));
        let text = order(index).replace("    size: A4", "    sise: A4");
        fs::write(path, text).expect("the place can be written to");
    }
    assert_eq!(read(dir.path()).orders.len(), count - count / 10);
    bencher.bench_local(|| read(dir.path()));
}
