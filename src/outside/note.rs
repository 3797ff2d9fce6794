//! The program's own notes in the studio folder: JSON with the name of its format.
//!
//! A note is replaced as a whole and never edited; where it is put, and who may read
//! it, is for its owner to say.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, Result, bail};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
struct Note<T> {
    format: String,
    #[serde(flatten)]
    what: T,
}

/// Reads the note `file`; none without the file.
///
/// # Errors
/// The disk refuses, or the file holds something else; `remedy` says what to do then.
pub fn read_note<T: DeserializeOwned>(
    folder: &Path,
    file: &str,
    format: &str,
    remedy: &str,
) -> Result<Option<T>> {
    let bytes = match fs::read(folder.join(file)) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error).with_context(|| format!("reading `{file}`")),
    };
    let note: Note<T> = serde_json::from_slice(&bytes)
        .with_context(|| format!("`{file}` is not what this program wrote; {remedy}"))?;
    if note.format != format {
        bail!(
            "`{file}` is of the kind `{}`, expected `{format}`; {remedy}",
            note.format
        );
    }
    Ok(Some(note.what))
}

/// Returns the bytes of a note.
///
/// # Errors
/// It cannot be said in JSON.
pub fn note_bytes<T: Serialize>(format: &str, what: &T) -> Result<Vec<u8>> {
    let note = Note {
        format: format.to_owned(),
        what,
    };
    let mut bytes = serde_json::to_vec_pretty(&note).context("writing JSON")?;
    bytes.push(b'\n');
    Ok(bytes)
}
