//! Replaces a file so that there is the old one or the new one, never a part.
//!
//! The new text goes into a file beside the old one, onto the disk, and then takes
//! its name. A link is followed, so that it stays a link; permissions are kept.
//! Other hard links to the file keep the old text.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

/// The right to change files of one studio folder; given back when dropped.
#[derive(Debug)]
pub struct Lock {
    _held: File,
}

/// Name of the file that stands for the lock where a folder cannot be locked.
#[cfg(not(unix))]
const LOCK_FILE: &str = ".fairday.lock";

/// Takes the right to change files in `dir`.
///
/// It ends with the process, however that ends.
///
/// # Errors
/// Another run holds it, or the folder cannot be opened.
pub fn lock(dir: &Path) -> anyhow::Result<Lock> {
    let shown = dir.display();
    let held = open_for_lock(dir).with_context(|| format!("opening the folder `{shown}`"))?;
    match held.try_lock() {
        Ok(()) => Ok(Lock { _held: held }),
        Err(TryLockError::WouldBlock) => {
            bail!("another run of this program is changing files in `{shown}`; try again")
        }
        // Some network disks know no locks; changed-under-us still guards there.
        Err(TryLockError::Error(error)) if error.kind() == ErrorKind::Unsupported => {
            Ok(Lock { _held: held })
        }
        Err(TryLockError::Error(error)) => {
            Err(error).with_context(|| format!("locking the folder `{shown}`"))
        }
    }
}

#[cfg(unix)]
fn open_for_lock(dir: &Path) -> std::io::Result<File> {
    OpenOptions::new().read(true).open(dir)
}

#[cfg(not(unix))]
fn open_for_lock(dir: &Path) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(false);
    options.open(dir.join(LOCK_FILE))
}

/// Reads the file at `path`, lets `change` make its new text, and replaces it.
///
/// Returns whether the text is another one now. The lock is only asked for as a
/// witness that nobody else is at work.
///
/// # Errors
/// The file cannot be read or written, is write-protected, is no UTF-8, or was
/// changed by somebody else meanwhile; and whatever `change` answers. In all of
/// these the old file stands as it was.
pub fn edit<E>(
    _lock: &Lock,
    path: &Path,
    change: impl FnOnce(&str) -> Result<String, E>,
) -> anyhow::Result<bool>
where
    E: std::error::Error + Send + Sync + 'static,
{
    let shown = path.display();
    let real = fs::canonicalize(path).with_context(|| format!("reading `{shown}`"))?;
    let before = fs::read(&real).with_context(|| format!("reading `{shown}`"))?;
    let text = std::str::from_utf8(&before).with_context(|| format!("reading `{shown}`"))?;
    let after = change(text).with_context(|| format!("changing `{shown}`"))?;
    if after == text {
        return Ok(false);
    }
    replace(&real, &before, &after).with_context(|| format!("writing `{shown}`"))?;
    Ok(true)
}

/// Replaces the file `real`, which must still hold `before`.
fn replace(real: &Path, before: &[u8], after: &str) -> anyhow::Result<()> {
    let kept = fs::metadata(real)?;
    if kept.permissions().readonly() {
        bail!("the file is write-protected");
    }
    let dir = real.parent().unwrap_or(Path::new("."));
    let mut fresh = tempfile::Builder::new()
        .prefix(".fairday-")
        .suffix(".new")
        .tempfile_in(dir)?;
    fresh.write_all(after.as_bytes())?;
    fresh.as_file().set_permissions(kept.permissions())?;
    keep_owner(fresh.path(), &kept);
    fresh.as_file().sync_all()?;
    if fs::read(real)? != before {
        bail!("the file was changed by somebody else meanwhile; nothing was written");
    }
    fresh.persist(real).map_err(|refused| refused.error)?;
    sync_folder(dir)
}

/// Gives the new file to the owner of the old one, where one may do that.
#[cfg(unix)]
fn keep_owner(fresh: &Path, kept: &fs::Metadata) {
    use std::os::unix::fs::{MetadataExt, chown};
    let same = fs::metadata(fresh).is_ok_and(|m| m.uid() == kept.uid() && m.gid() == kept.gid());
    if !same {
        // Who may not give files away keeps it; the text counts more than its owner.
        drop(chown(fresh, Some(kept.uid()), Some(kept.gid())));
    }
}

#[cfg(not(unix))]
fn keep_owner(_fresh: &Path, _kept: &fs::Metadata) {}

/// Puts the new name onto the disk, too.
#[cfg(unix)]
fn sync_folder(dir: &Path) -> anyhow::Result<()> {
    match File::open(dir).and_then(|folder| folder.sync_all()) {
        Ok(()) => Ok(()),
        // Some disks refuse it for folders; the name is in place all the same.
        Err(error) if error.kind() == ErrorKind::InvalidInput => Ok(()),
        Err(error) => Err(error).context("securing the folder on the disk"),
    }
}

#[cfg(not(unix))]
fn sync_folder(_dir: &Path) -> anyhow::Result<()> {
    Ok(())
}

/// Writes files that must not exist yet, each with its folder; used for a new studio.
///
/// # Errors
/// One of them exists already, in which case none is written; or the disk refuses.
pub fn write_new(dir: &Path, files: &[(PathBuf, String)]) -> anyhow::Result<()> {
    let taken = files
        .iter()
        .map(|(name, _)| dir.join(name))
        .find(|p| p.exists());
    if let Some(taken) = taken {
        bail!("`{}` exists already; nothing was written", taken.display());
    }
    for (name, text) in files {
        let path = dir.join(name);
        let shown = path.display();
        if let Some(folder) = path.parent() {
            let making = || format!("making the folder `{}`", folder.display());
            fs::create_dir_all(folder).with_context(making)?;
        }
        let mut file = File::create_new(&path).with_context(|| format!("writing `{shown}`"))?;
        file.write_all(text.as_bytes())
            .and_then(|()| file.sync_all())
            .with_context(|| format!("writing `{shown}`"))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;

    use super::*;

    fn add_line(text: &str) -> Result<String, Infallible> {
        Ok(format!("{text}new\n"))
    }

    #[test]
    fn a_file_is_replaced_with_its_permissions_and_nothing_else_is_left() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.yaml");
        fs::write(&path, "old\n").unwrap();
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
        }
        let lock = lock(dir.path()).unwrap();
        assert!(edit(&lock, &path, add_line).unwrap());
        assert_eq!(fs::read_to_string(&path).unwrap(), "old\nnew\n");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(
                fs::metadata(&path).unwrap().permissions().mode() & 0o777,
                0o640
            );
        }
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_change_by_somebody_else_is_not_lost() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.yaml");
        fs::write(&path, "old\n").unwrap();
        let lock = lock(dir.path()).unwrap();
        let refused = edit(&lock, &path, |text| {
            fs::write(&path, "typed meanwhile\n").unwrap();
            add_line(text)
        });
        assert!(format!("{:#}", refused.unwrap_err()).contains("somebody else"));
        assert_eq!(fs::read_to_string(&path).unwrap(), "typed meanwhile\n");
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn two_runs_do_not_write_at_once() {
        let dir = tempfile::tempdir().unwrap();
        let first = lock(dir.path()).unwrap();
        let second = lock(dir.path()).unwrap_err();
        assert!(second.to_string().contains("another run"));
        drop(first);
        lock(dir.path()).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_a_protected_file_stays_as_it_is() {
        let dir = tempfile::tempdir().unwrap();
        let elsewhere = tempfile::tempdir().unwrap();
        let real = elsewhere.path().join("real.yaml");
        fs::write(&real, "old\n").unwrap();
        let link = dir.path().join("a.yaml");
        std::os::unix::fs::symlink(&real, &link).unwrap();
        let lock = lock(dir.path()).unwrap();
        edit(&lock, &link, add_line).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&real).unwrap(), "old\nnew\n");
        let mut protected = fs::metadata(&real).unwrap().permissions();
        protected.set_readonly(true);
        fs::set_permissions(&real, protected).unwrap();
        let refused = edit(&lock, &link, add_line).unwrap_err();
        assert!(format!("{refused:#}").contains("write-protected"));
        assert_eq!(fs::read_to_string(&real).unwrap(), "old\nnew\n");
    }

    #[test]
    fn nothing_new_is_written_over_something_old() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("b"), "mine").unwrap();
        let files = [("a".into(), "1".to_owned()), ("b".into(), "2".to_owned())];
        assert!(write_new(dir.path(), &files).is_err());
        assert!(!dir.path().join("a").exists());
        assert_eq!(fs::read_to_string(dir.path().join("b")).unwrap(), "mine");
    }
}
