//! The plan that the studio goes by, on disk: `kept-plan.json` in its folder.
//!
//! It is the program's own note, written when the maker says `fairday plan --keep`,
//! replaced as a whole. Deleting it costs nothing but the comparison.

use std::path::Path;

use anyhow::Result;

use super::disk::write_whole;
use super::edit::lock;
use super::note::{note_bytes, read_note};
use crate::plan::kept::KeptPlan;

/// Name of the file.
pub const FILE: &str = "kept-plan.json";
const FORMAT: &str = "fairday-kept-plan/1";
const REMEDY: &str = "delete it and keep a plan anew with `fairday plan --keep`";

/// Reads the plan that the studio goes by; none without the file.
///
/// # Errors
/// The disk refuses, or the file holds something else.
pub fn read_kept(folder: &Path) -> Result<Option<KeptPlan>> {
    read_note(folder, FILE, FORMAT, REMEDY)
}

/// Keeps a plan to go by, in place of the one before.
///
/// # Errors
/// The disk refuses; the plan before is still there.
pub fn write_kept(folder: &Path, plan: &KeptPlan) -> Result<()> {
    let _lock = lock(folder)?;
    write_whole(&folder.join(FILE), &note_bytes(FORMAT, plan)?)
}
