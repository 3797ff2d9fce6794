//! What lies in the light, kept on disk: `exposing.json` in the studio folder.
//!
//! It is the program's own note, not the maker's: it is replaced as a whole, and gone
//! when nothing lies in the light any more.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, Result};

use super::disk::{replace_whole, sync_folder};
use super::note::{note_bytes, read_note};
use crate::exposing::InTheLight;

/// Name of the file.
pub const FILE: &str = "exposing.json";
const FORMAT: &str = "fairday-exposing/1";

const REMEDY: &str = "delete it if nothing lies in the light";

/// Reads what lies in the light; nothing without the file.
///
/// # Errors
/// The disk refuses, or the file holds something else.
pub fn read_exposing(folder: &Path) -> Result<InTheLight> {
    let light = read_note(folder, FILE, FORMAT, REMEDY)?;
    Ok(light.unwrap_or_default())
}

/// Keeps what lies in the light; removes the file when nothing does.
///
/// # Errors
/// The disk refuses; the file is then as it was.
pub fn write_exposing(folder: &Path, light: &InTheLight) -> Result<()> {
    let path = folder.join(FILE);
    if light.running.is_empty() {
        return match fs::remove_file(&path) {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
            done => done
                .and_then(|()| sync_folder(folder))
                .with_context(|| format!("removing `{FILE}`")),
        };
    }
    replace_whole(&path, &note_bytes(FORMAT, light)?)
}
