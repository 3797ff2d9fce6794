//! Plans invented studios with more and more time and writes a table of what came out.
//!
//! `cargo run --release --example table -- [--each 20] [--first 101] [--plans FOLDER]`
//! prints Markdown: for every studio of 10, 25 and 50 orders the cost of putting every
//! lot in once, of a search of 0.1, 1 and 10 s on two threads, and the bound. Seconds are
//! processor time of two threads, so that other work beside it takes nothing away.

use std::path::PathBuf;

use anyhow::Context;
use clap::Parser;
use fairday::plan::bound::bound;
use fairday::plan::model::{Cost, Instance};
use fairday::plan::search::{Effort, Solved, solve};

#[path = "../it/random_studio.rs"]
mod random_studio;

mod processor;

use processor::processor_seconds;
use random_studio::{Shape, studio};

/// Orders and days of the three sizes.
const SIZES: [(usize, i64); 3] = [(10, 7), (25, 7), (50, 14)];
/// Seconds of the searches.
const SECONDS: [f64; 3] = [0.1, 1.0, 10.0];
/// Threads of the searches.
const THREADS: usize = 2;
/// Rounds for the bound.
const ROUNDS: u32 = 200;

/// Plans invented studios with more and more time.
#[derive(Debug, Parser)]
struct Args {
    /// Studios of each size.
    #[arg(long, default_value_t = 20)]
    each: u64,
    /// Seed of the first.
    #[arg(long, default_value_t = 101)]
    first: u64,
    /// Where to write the instances and the plans of one second.
    #[arg(long)]
    plans: Option<PathBuf>,
}

fn main() -> anyhow::Result<()> {
    let args = Args::parse();
    anstream::println!("| studio | put in once | 0.1 s | 1 s | 10 s | bound |");
    anstream::println!("|---|---:|---:|---:|---:|---:|");
    for (orders, days) in SIZES {
        for seed in args.first..args.first + args.each {
            let instance = studio(Shape::plain(orders, days), seed);
            anstream::println!("{}", row(&instance, &args)?);
        }
    }
    Ok(())
}

/// Plans one studio with every effort.
fn row(instance: &Instance, args: &Args) -> anyhow::Result<String> {
    let once = search(instance, Some(0), 1.0);
    let mut cells = vec![cell(instance, once.cost)];
    let mut best = once.cost;
    for seconds in SECONDS {
        let solved = search(instance, None, seconds);
        cells.push(cell(instance, solved.cost));
        best = solved.cost;
        if let (Some(folder), true) = (&args.plans, seconds == 1.0) {
            let write = |name: String, text: String| {
                let path = folder.join(name);
                std::fs::write(&path, text).with_context(|| format!("writing `{}`", path.display()))
            };
            write(
                format!("{}.json", instance.name),
                serde_json::to_string(instance)?,
            )?;
            write(
                format!("{}.plan.json", instance.name),
                serde_json::to_string(&solved.timing)?,
            )?;
        }
    }
    let proven = bound(instance, &best, ROUNDS);
    cells.push(format!("{} · {}", proven.late, proven.cost));
    Ok(format!("| {} | {} |", instance.name, cells.join(" | ")))
}

fn search(instance: &Instance, iterations: Option<u64>, seconds: f64) -> Solved {
    let began = processor_seconds();
    let used = || (processor_seconds() - began) / (seconds * THREADS as f64);
    let effort = Effort {
        iterations,
        seed: 1,
        threads: THREADS,
    };
    solve(instance, &effort, &used, None)
}

/// Lateness and cost.
fn cell(instance: &Instance, cost: Cost) -> String {
    format!("{} · {}", cost.late, cost.total(&instance.weights))
}
