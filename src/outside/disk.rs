//! Files that are there whole or not at all, also after a power cut.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

use anyhow::{Context, Result};

/// Begin of the names of files that are not finished.
const UNFINISHED: &str = ".fairday-";

/// Writes `bytes` to `path`: first beside it, then, once on the disk, in its place.
///
/// # Errors
/// When the disk refuses; the file at `path` is then as it was.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let write = || -> std::io::Result<()> {
        let mut beside = tempfile::Builder::new()
            .prefix(UNFINISHED)
            .tempfile_in(folder)?;
        beside.write_all(bytes)?;
        beside.as_file().sync_all()?;
        beside.persist(path)?;
        sync_folder(folder)
    };
    write().with_context(|| format!("writing `{}`", path.display()))
}

/// Replaces the file at `path`, or makes it, as [`write_whole`] does, and readable
/// for whom it was: a link stays a link, and permissions are kept.
///
/// # Errors
/// When the disk refuses; the file is then as it was.
pub fn replace_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = real.parent().unwrap_or(Path::new("."));
    let replace = || -> std::io::Result<()> {
        let mut beside = tempfile::Builder::new();
        let mut beside = usual_permissions(&mut beside)
            .prefix(".fairday-")
            .suffix(".new")
            .tempfile_in(folder)?;
        beside.write_all(bytes)?;
        if let Ok(kept) = fs::metadata(&real) {
            if kept.permissions().readonly() {
                return Err(std::io::Error::other("the file is write-protected"));
            }
            beside.as_file().set_permissions(kept.permissions())?;
        }
        beside.as_file().sync_all()?;
        beside.persist(&real)?;
        sync_folder(folder)
    };
    replace().with_context(|| format!("writing `{}`", path.display()))
}

/// Lets a new file be as readable as any that is made here, not for its owner alone.
#[cfg(unix)]
fn usual_permissions<'a, 'b, 'c>(
    builder: &'a mut tempfile::Builder<'b, 'c>,
) -> &'a mut tempfile::Builder<'b, 'c> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn usual_permissions<'a, 'b, 'c>(
    builder: &'a mut tempfile::Builder<'b, 'c>,
) -> &'a mut tempfile::Builder<'b, 'c> {
    builder
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

/// Removes what a crash left unfinished in `folder`. Nobody else may be writing there.
///
/// What cannot be removed stays; it is in nobody's way.
pub fn sweep(folder: &Path) {
    let Ok(listing) = std::fs::read_dir(folder) else {
        return;
    };
    for entry in listing.flatten() {
        let name = entry.file_name();
        if name.to_string_lossy().starts_with(UNFINISHED) {
            let _ = std::fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sweep_takes_the_unfinished_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        write_whole(&path("a.eml"), b"whole").unwrap();
        std::fs::write(path(".fairday-x1"), "ha").unwrap();
        std::fs::write(path(".tmpx"), "not ours").unwrap();
        sweep(folder.path());
        assert_eq!(std::fs::read(path("a.eml")).unwrap(), b"whole");
        assert!(path(".tmpx").exists() && !path(".fairday-x1").exists());
    }
}
