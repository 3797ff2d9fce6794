//! Writes invented studios into a folder, for checking from outside.
//!
//! `cargo run --release --example studios -- FOLDER COUNT [ORDERS] [DAYS] [FIRST_SEED]`

use std::path::PathBuf;

use anyhow::{Context, ensure};

#[path = "../it/random_studio.rs"]
mod random_studio;

use random_studio::{Shape, studio};

fn main() -> anyhow::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    ensure!(
        (2..=5).contains(&args.len()),
        "expected FOLDER COUNT [ORDERS] [DAYS] [FIRST_SEED]"
    );
    let number = |index: usize, missing: u64| -> anyhow::Result<u64> {
        args.get(index).map_or(Ok(missing), |word| {
            word.parse()
                .with_context(|| format!("expected a whole number, found `{word}`"))
        })
    };
    let folder = PathBuf::from(&args[0]);
    std::fs::create_dir_all(&folder).with_context(|| format!("making `{}`", folder.display()))?;
    let shape = Shape::plain(number(2, 25)? as usize, number(3, 7)? as i64);
    let first = number(4, 1)?;
    for seed in first..first + number(1, 0)? {
        let instance = studio(shape, seed);
        let path = folder.join(format!("{}.json", instance.name));
        std::fs::write(&path, serde_json::to_string(&instance)?)
            .with_context(|| format!("writing `{}`", path.display()))?;
    }
    Ok(())
}
