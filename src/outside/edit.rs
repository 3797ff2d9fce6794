//! Changes files of the maker: one run at a time, and never over somebody's work.
//!
//! How a file is replaced so that there is the old one or the new one, never a
//! part, is `disk`; what the new text is, `order::edit`.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::ErrorKind;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use anyhow::{Context, bail};

use super::disk::{Over, Ready, sweep};

/// How often a lock is tried that another run holds; a mark holds it for less.
const TRIES: usize = 40;

/// Pause between two tries.
const PAUSE: Duration = Duration::from_millis(50);

/// The right to change files of one studio folder; given back when dropped.
#[derive(Debug)]
pub struct Lock {
    _held: File,
}

/// Name of the file that stands for the lock where a folder cannot be locked.
#[cfg(not(unix))]
const LOCK_FILE: &str = ".fairday.lock";

/// Takes the right to change files in `dir`, and clears away what a crash left there.
///
/// Waits two seconds for another run. The right ends with the process, however
/// that ends.
///
/// # Errors
/// Another run holds it, or the folder cannot be opened.
pub fn lock(dir: &Path) -> anyhow::Result<Lock> {
    let shown = dir.display();
    let held = open_for_lock(dir).with_context(|| format!("opening the folder `{shown}`"))?;
    match wait_for(&held) {
        Ok(()) => {
            sweep(dir);
            Ok(Lock { _held: held })
        }
        Err(TryLockError::WouldBlock) => bail!(
            "another run of this program is changing files in `{shown}`; try again when it is done"
        ),
        // Some network disks know no locks; changed-under-us still guards there.
        Err(TryLockError::Error(error)) if error.kind() == ErrorKind::Unsupported => {
            Ok(Lock { _held: held })
        }
        Err(TryLockError::Error(error)) => {
            Err(error).with_context(|| format!("locking the folder `{shown}`"))
        }
    }
}

/// Takes the lock of an open file, waiting two seconds for whoever has it.
///
/// A program that is just being started by this one has it for a moment, too.
///
/// # Errors
/// Another run holds it still, or the disk knows no locks.
pub(super) fn wait_for(held: &File) -> Result<(), TryLockError> {
    for _ in 0..TRIES {
        match held.try_lock() {
            Err(TryLockError::WouldBlock) => sleep(PAUSE),
            settled => return settled,
        }
    }
    Err(TryLockError::WouldBlock)
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

/// A file with its new text, which lies beside it and has only to take its place.
#[derive(Debug)]
pub struct Prepared {
    before: String,
    /// None if the text stays as it is.
    after: Option<Ready>,
}

/// Reads the file at `path`, lets `change` make its new text, and puts that beside it.
///
/// The lock is only asked for as a witness that nobody else is at work.
///
/// # Errors
/// The file cannot be read, is no UTF-8 or is write-protected, the disk is full; and
/// whatever `change` answers.
pub fn prepare<E>(
    _lock: &Lock,
    path: &Path,
    change: impl FnOnce(&str) -> Result<String, E>,
) -> anyhow::Result<Prepared>
where
    E: std::error::Error + Send + Sync + 'static,
{
    let shown = path.display();
    let before = fs::read_to_string(path).with_context(|| format!("reading `{shown}`"))?;
    let after = change(&before).with_context(|| format!("changing `{shown}`"))?;
    let is_new = after != before;
    let after = is_new
        .then(|| Ready::beside(path, after.as_bytes()))
        .transpose()?;
    Ok(Prepared { before, after })
}

impl Prepared {
    /// Replaces the file. Returns whether its text is another one now.
    ///
    /// # Errors
    /// The disk refuses, or the file was changed by somebody else meanwhile. The
    /// old file stands as it was then.
    pub fn write(self) -> anyhow::Result<bool> {
        match self.after {
            Some(after) => after
                .take_place(Over::Exactly(self.before.as_bytes()))
                .map(|()| true),
            None => Ok(false),
        }
    }
}

/// Reads the file at `path`, lets `change` make its new text, and replaces it.
///
/// Returns whether the text is another one now.
///
/// # Errors
/// Those of [`prepare`] and of [`Prepared::write`]; the old file stands as it was.
pub fn edit<E>(
    lock: &Lock,
    path: &Path,
    change: impl FnOnce(&str) -> Result<String, E>,
) -> anyhow::Result<bool>
where
    E: std::error::Error + Send + Sync + 'static,
{
    prepare(lock, path, change)?.write()
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
}
