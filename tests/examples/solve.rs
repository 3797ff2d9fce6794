//! Solves one instance of the core problem and prints its cost terms as JSON.
//!
//! `cargo run --release --example solve -- INSTANCE [--seconds S] [--iterations N]
//! [--seed K] [--threads T] [--out PLAN]`
//!
//! `--cpu-seconds S` stops by the processor time of all threads together instead of by
//! the clock: two seconds of two threads are one second on an idle machine, and other
//! work beside it takes nothing away.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::{Duration, Instant};

use anyhow::Context;
use clap::Parser;
use fairday::plan::audit::{Broken, audit};
use fairday::plan::model::{Instance, Timing};
use fairday::plan::search::{Effort, Solved, solve};

mod processor;

use processor::processor_seconds;

/// Solves one instance of the core planning problem.
#[derive(Debug, Parser)]
struct Args {
    /// The instance, `studio-plan-instance/1`.
    instance: PathBuf,
    /// How long to search. [s] Without this and `--iterations`, one second.
    #[arg(long)]
    seconds: Option<f64>,
    /// How long to search by the processor time of all threads together. [s]
    #[arg(long, conflicts_with = "seconds")]
    cpu_seconds: Option<f64>,
    /// How many steps to search; the same number gives the same plan.
    #[arg(long)]
    iterations: Option<u64>,
    /// Another seed, another way through the search.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Threads to search with.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Where to write the plan.
    #[arg(long)]
    out: Option<PathBuf>,
}

fn main() -> ExitCode {
    match run(&Args::parse()) {
        Ok(line) => {
            anstream::println!("{line}");
            ExitCode::SUCCESS
        }
        Err(failure) => {
            anstream::eprintln!("error: {failure:#}");
            ExitCode::from(2)
        }
    }
}

fn run(args: &Args) -> anyhow::Result<String> {
    let instance = read(&args.instance)?;
    let clock = started();
    let seconds = match (args.seconds, args.cpu_seconds, args.iterations) {
        (None, None, None) => Some(1.0),
        (seconds, cpu_seconds, _) => seconds.or(cpu_seconds),
    };
    let limit = seconds
        .map(|seconds| {
            Duration::try_from_secs_f64(seconds)
                .with_context(|| format!("expected seconds to be 0 or more, found `{seconds}`"))
        })
        .transpose()?;
    let passed = || match args.cpu_seconds {
        Some(_) => processor_seconds(),
        None => clock.elapsed().as_secs_f64(),
    };
    let used = || limit.map_or(0.0, |limit| passed() / limit.as_secs_f64().max(1e-9));
    let effort = Effort {
        iterations: args.iterations,
        seed: args.seed,
        threads: args.threads,
    };
    let solved = solve(&instance, &effort, &used, None);
    if let Some(out) = &args.out {
        let plan = serde_json::to_string(&solved.timing)?;
        std::fs::write(out, plan).with_context(|| format!("writing `{}`", out.display()))?;
    }
    let line = summary(&instance, &solved, clock.elapsed());
    Ok(line.to_string())
}

#[expect(
    clippy::disallowed_methods,
    reason = "a program of its own, which is asked to stop after some seconds"
)]
fn started() -> Instant {
    Instant::now()
}

fn read(path: &Path) -> anyhow::Result<Instance> {
    let text =
        std::fs::read_to_string(path).with_context(|| format!("reading `{}`", path.display()))?;
    let mut json = serde_json::Deserializer::from_str(&text);
    let instance: Instance = serde_path_to_error::deserialize(&mut json)
        .with_context(|| format!("understanding `{}`", path.display()))?;
    anyhow::ensure!(
        instance.format == "studio-plan-instance/1",
        "expected the format `studio-plan-instance/1` in `{}`, found `{}`",
        path.display(),
        instance.format
    );
    // A plan of nothing breaks no rule but those of sense.
    let nothing = audit(&instance, &Timing::default());
    if let Some(Broken::Senseless(fault)) = nothing.broken.first() {
        anyhow::bail!("`{}` makes no sense: {fault:?}", path.display());
    }
    Ok(instance)
}

fn summary(instance: &Instance, solved: &Solved, elapsed: Duration) -> serde_json::Value {
    serde_json::json!({
        "instance": instance.name,
        "cost": solved.cost.total(&instance.weights),
        "late": solved.cost.late,
        "risk": solved.cost.risk,
        "session": solved.cost.session,
        "ship": solved.cost.ship,
        "unserved": instance.orders.len() - solved.timing.orders.len(),
        "seconds": (elapsed.as_secs_f64() * 1e3).round() / 1e3,
        "iterations": solved.iterations,
    })
}
