//! The plan that the studio goes by, on disk: `kept-plan.json` in its folder.
//!
//! It is the program's own note, written when the maker says `fairday plan --keep`,
//! replaced as a whole. Deleting it costs nothing but the comparison.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, Result, bail};
use serde::{Deserialize, Serialize};

use super::disk::write_whole;
use super::edit::lock;
use crate::plan::kept::KeptPlan;

/// Name of the file.
pub const FILE: &str = "kept-plan.json";
const FORMAT: &str = "fairday-kept-plan/1";

#[derive(Serialize, Deserialize)]
struct Kept {
    format: String,
    #[serde(flatten)]
    plan: KeptPlan,
}

/// Reads the plan that the studio goes by; none without the file.
///
/// # Errors
/// The disk refuses, or the file holds something else.
pub fn read_kept(folder: &Path) -> Result<Option<KeptPlan>> {
    let bytes = match fs::read(folder.join(FILE)) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error).with_context(|| format!("reading `{FILE}`")),
    };
    let kept: Kept = serde_json::from_slice(&bytes).with_context(|| {
        format!(
            "`{FILE}` is not what this program wrote; delete it and keep a plan anew with \
             `fairday plan --keep`"
        )
    })?;
    if kept.format != FORMAT {
        bail!(
            "`{FILE}` is of format `{}`, expected `{FORMAT}`",
            kept.format
        );
    }
    Ok(Some(kept.plan))
}

/// Keeps a plan to go by, in place of the one before.
///
/// # Errors
/// The disk refuses; the plan before is still there.
pub fn write_kept(folder: &Path, plan: &KeptPlan) -> Result<()> {
    let _lock = lock(folder)?;
    let kept = Kept {
        format: FORMAT.to_owned(),
        plan: plan.clone(),
    };
    let mut bytes = serde_json::to_vec_pretty(&kept)?;
    bytes.push(b'\n');
    write_whole(&folder.join(FILE), &bytes)
}
