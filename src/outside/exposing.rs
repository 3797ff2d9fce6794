//! What lies in the light, kept on disk: `exposing.json` in the studio folder.
//!
//! It is the program's own note, not the maker's: it is replaced as a whole, and gone
//! when nothing lies in the light any more.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, Result, bail};
use serde::{Deserialize, Serialize};

use super::disk::{replace_whole, sync_folder};
use crate::exposing::InTheLight;

/// Name of the file.
pub const FILE: &str = "exposing.json";
const FORMAT: &str = "fairday-exposing/1";

#[derive(Serialize, Deserialize)]
struct Kept {
    format: String,
    #[serde(flatten)]
    light: InTheLight,
}

/// Reads what lies in the light; nothing without the file.
///
/// # Errors
/// The disk refuses, or the file holds something else.
pub fn read_exposing(folder: &Path) -> Result<InTheLight> {
    let bytes = match fs::read(folder.join(FILE)) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(InTheLight::default()),
        Err(error) => return Err(error).with_context(|| format!("reading `{FILE}`")),
    };
    let kept: Kept = serde_json::from_slice(&bytes).with_context(|| {
        format!("`{FILE}` is not what this program wrote; delete it if nothing lies in the light")
    })?;
    if kept.format != FORMAT {
        bail!(
            "`{FILE}` is of the kind `{}`, expected `{FORMAT}`; delete it if nothing lies in the light",
            kept.format
        );
    }
    Ok(kept.light)
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
    let kept = Kept {
        format: FORMAT.to_owned(),
        light: light.clone(),
    };
    let mut text = serde_json::to_vec_pretty(&kept).context("writing JSON")?;
    text.push(b'\n');
    replace_whole(&path, &text)
}
