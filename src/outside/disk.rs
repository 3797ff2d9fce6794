//! Files that are there whole or not at all, also after a power cut.

use std::fs::File;
use std::io::Write;
use std::path::Path;

use anyhow::{Context, Result};

/// Writes `bytes` to `path`: first beside it, then, once on the disk, in its place.
///
/// # Errors
/// When the disk refuses; the file at `path` is then as it was.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let write = || -> std::io::Result<()> {
        let mut beside = tempfile::NamedTempFile::new_in(folder)?;
        beside.write_all(bytes)?;
        beside.as_file().sync_all()?;
        beside.persist(path)?;
        sync_folder(folder)
    };
    write().with_context(|| format!("writing `{}`", path.display()))
}

/// Makes the names in `folder` last.
///
/// # Errors
/// When the disk refuses.
pub fn sync_folder(folder: &Path) -> std::io::Result<()> {
    // Other systems than Unix do not open folders; their renames last without it.
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}
