//! Files that are there whole or not at all, also after a power cut.
//!
//! The bytes go into a file beside, onto the disk, and then take the name; then
//! the folder goes onto the disk, too. Whatever stops that on its way, under the
//! name lies the old file or the new one. What may be left over is the file
//! beside, which [`sweep`] takes away.

use std::fs::{self, File, Metadata, Permissions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use tempfile::NamedTempFile;

/// Begin and end of the names of files that are not finished.
const UNFINISHED: (&str, &str) = (".fairday-", ".new");

/// Writes `bytes` to `path`, for its owner alone, whatever lies there.
///
/// # Errors
/// When the disk refuses; the file at `path` is then as it was.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    let write = || -> io::Result<()> {
        let beside = fill(path, bytes, Readers::Owner, None)?;
        beside.persist(path)?;
        sync_folder(folder_of(path))
    };
    write().map_err(told).with_context(|| writing(path))
}

/// Writes `bytes` to `path`, which must not exist yet, as readable as any file.
///
/// # Errors
/// It exists, in which case it stays as it is; or the disk refuses.
pub fn write_fresh(path: &Path, bytes: &[u8]) -> Result<()> {
    let write = || -> io::Result<()> {
        let beside = fill(path, bytes, Readers::AsUsual, None)?;
        beside.persist_noclobber(path)?;
        sync_folder(folder_of(path))
    };
    write().map_err(told).with_context(|| writing(path))
}

fn writing(path: &Path) -> String {
    format!("writing `{}`", path.display())
}

/// Says what the disk refused, without the name of the file beside that nobody knows, and
/// what to do about it.
fn told(error: io::Error) -> anyhow::Error {
    let whole = error.to_string();
    let plain = whole.split(" at path ").next().unwrap_or(&whole);
    let next = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "; nothing was written to it; make room on the disk, then run this once more"
        }
        ErrorKind::ReadOnlyFilesystem => {
            "; nothing was written to it; the disk can only be read, so write elsewhere or mount \
             it for writing"
        }
        _ => "; nothing was written to it",
    };
    io::Error::new(error.kind(), format!("{plain}{next}")).into()
}

/// Replaces the file at `path`, or makes it: a link stays a link, and permissions
/// and owner are kept. Other hard links to the file keep the old bytes.
///
/// # Errors
/// When the disk refuses or the file is write-protected; it is then as it was.
pub fn replace_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    Ready::beside(path, bytes)?.take_place(Over::Anything)
}

/// New bytes for a file, safe on the disk beside it; dropped, they are gone again.
#[derive(Debug)]
pub struct Ready {
    beside: NamedTempFile,
    path: PathBuf,
    /// The file itself, where `path` is a link.
    real: PathBuf,
}

/// What may lie where new bytes take their place.
#[derive(Debug, Clone, Copy)]
pub enum Over<'b> {
    /// Whatever there is.
    Anything,
    /// These bytes, which somebody else may have changed meanwhile.
    Exactly(&'b [u8]),
}

impl Ready {
    /// Writes `bytes` beside the file at `path`, as [`replace_whole`] does.
    ///
    /// # Errors
    /// When the disk refuses, or when the file is write-protected or none.
    pub fn beside(path: &Path, bytes: &[u8]) -> Result<Ready> {
        let fill = || -> Result<Ready> {
            let (real, old) = find_old(path)?;
            Ok(Ready {
                beside: fill(&real, bytes, Readers::AsUsual, old.as_ref()).map_err(told)?,
                path: path.to_owned(),
                real,
            })
        };
        fill().with_context(|| writing(path))
    }

    /// Puts the bytes where the file is.
    ///
    /// # Errors
    /// When the disk refuses, or something else lies there; the file is then as it was.
    pub fn take_place(self, over: Over) -> Result<()> {
        let take = || -> Result<()> {
            if let Over::Exactly(before) = over
                && fs::read(&self.real)? != before
            {
                bail!("the file was changed by somebody else meanwhile; look at it and try again");
            }
            let placed = self.beside.persist(&self.real);
            placed.map_err(|refused| told(refused.error))?;
            Ok(sync_folder(folder_of(&self.real))?)
        };
        take().with_context(|| writing(&self.path))
    }
}

/// Finds the file that is to be replaced, behind any link, and what it is.
fn find_old(path: &Path) -> Result<(PathBuf, Option<Metadata>)> {
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok((path.to_owned(), None)),
        Err(error) => return Err(error.into()),
        Ok(_) => {}
    }
    let real = fs::canonicalize(path).context("following the link")?;
    let old = fs::metadata(&real)?;
    if !old.is_file() {
        bail!("it is no file");
    }
    if old.permissions().readonly() {
        bail!("the file is write-protected");
    }
    Ok((real, Some(old)))
}

/// Who may read a file that is new.
enum Readers {
    /// Whoever may read what is made on this machine.
    AsUsual,
    /// Its owner alone.
    Owner,
}

/// Makes a file beside `path` with these bytes, safe on the disk, in the dress of
/// the `old` one if there is one.
fn fill(
    path: &Path,
    bytes: &[u8],
    readers: Readers,
    old: Option<&Metadata>,
) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(UNFINISHED.0).suffix(UNFINISHED.1);
    if let (Readers::AsUsual, Some(usual)) = (readers, usual_permissions()) {
        builder.permissions(usual);
    }
    let mut beside = builder.tempfile_in(folder_of(path))?;
    beside.write_all(bytes)?;
    if let Some(old) = old {
        beside.as_file().set_permissions(old.permissions())?;
        keep_owner(beside.path(), old);
    }
    beside.as_file().sync_all()?;
    Ok(beside)
}

/// Returns the folder of a file; that of a bare name is the present one.
fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        Some(_) | None => Path::new("."),
    }
}

/// Returns what a new file may be; the machine takes its usual share away.
#[cfg(unix)]
fn usual_permissions() -> Option<Permissions> {
    use std::os::unix::fs::PermissionsExt;
    Some(Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn usual_permissions() -> Option<Permissions> {
    None
}

/// Gives the new file to the owner of the old one, where one may do that.
#[cfg(unix)]
fn keep_owner(fresh: &Path, old: &Metadata) {
    use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
    let same = fs::metadata(fresh).is_ok_and(|m| m.uid() == old.uid() && m.gid() == old.gid());
    if same {
        return;
    }
    // Who may not give files away keeps it; the text counts more than its owner.
    // Giving away takes rights that go with an owner; they are set once more.
    drop(chown(fresh, Some(old.uid()), Some(old.gid())));
    let mode = Permissions::from_mode(old.permissions().mode());
    drop(fs::set_permissions(fresh, mode));
}

#[cfg(not(unix))]
fn keep_owner(_fresh: &Path, _old: &Metadata) {}

/// Makes the names in `folder` last.
///
/// # Errors
/// When the disk refuses.
#[cfg(unix)]
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    match File::open(folder).and_then(|folder| folder.sync_all()) {
        // Some disks refuse it for folders; the name is in place all the same.
        Err(error) if error.kind() == ErrorKind::InvalidInput => Ok(()),
        synced => synced,
    }
}

/// Other systems than Unix do not open folders; their renames last without it.
///
/// # Errors
/// None.
#[cfg(not(unix))]
pub fn sync_folder(_folder: &Path) -> io::Result<()> {
    Ok(())
}

/// Writes files that must not exist yet, with their folders; used for a new studio.
///
/// A file that lies there in the same words counts as written, so that a run that
/// was stopped half way can be run again.
///
/// # Errors
/// One of them exists already, in which case none is written; or the disk refuses.
pub fn write_new(dir: &Path, files: &[(PathBuf, String)]) -> Result<()> {
    let path = |name: &PathBuf| dir.join(name);
    let is_there = |name, text: &String| fs::read(path(name)).is_ok_and(|b| b == text.as_bytes());
    let (done, open): (Vec<_>, Vec<_>) =
        files.iter().partition(|(name, text)| is_there(name, text));
    let taken = match open.is_empty() {
        true => done.first(),
        false => open
            .iter()
            .find(|(name, _)| path(name).symlink_metadata().is_ok()),
    };
    if let Some((name, _)) = taken {
        bail!(
            "`{}` exists already; nothing was written",
            path(name).display()
        );
    }
    for (name, text) in open {
        let path = path(name);
        let folder = folder_of(&path);
        fs::create_dir_all(folder)
            .with_context(|| format!("making the folder `{}`", folder.display()))?;
        sweep(folder);
        write_fresh(&path, text.as_bytes())?;
    }
    Ok(())
}

/// Lists what cannot be written in a studio folder: the folder, or files of it.
///
/// The folder is tried with an empty file that is gone at once.
pub fn write_protected(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    if tempfile::Builder::new()
        .prefix(UNFINISHED.0)
        .suffix(UNFINISHED.1)
        .tempfile_in(folder)
        .is_err()
    {
        found.push("the folder itself".to_owned());
    }
    let files = fs::read_dir(folder).into_iter().flatten().flatten();
    let yaml = files.filter(|file| file.file_name().to_string_lossy().ends_with(".yaml"));
    let readonly = yaml.filter(|file| {
        let kept = fs::metadata(file.path());
        kept.is_ok_and(|kept| kept.permissions().readonly())
    });
    found.extend(readonly.map(|file| file.file_name().to_string_lossy().into_owned()));
    found.sort();
    found
}

/// Removes what a crash left unfinished in `folder`. Nobody else may be writing there.
///
/// What cannot be removed stays; it is in nobody's way.
pub fn sweep(folder: &Path) {
    let Ok(listing) = fs::read_dir(folder) else {
        return;
    };
    for entry in listing.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.starts_with(UNFINISHED.0) && name.ends_with(UNFINISHED.1) {
            let _ = fs::remove_file(entry.path());
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
        fs::write(path(".fairday-x1.new"), "ha").unwrap();
        let others = [".tmpx", ".fairday-notes", "x.new"];
        for name in others {
            fs::write(path(name), "not ours").unwrap();
        }
        sweep(folder.path());
        assert_eq!(fs::read(path("a.eml")).unwrap(), b"whole");
        assert!(others.iter().all(|name| path(name).exists()));
        assert!(!path(".fairday-x1.new").exists());
    }

    #[test]
    fn nothing_new_is_written_over_something_old() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("b"), "mine").unwrap();
        let files = [("a".into(), "1".to_owned()), ("b".into(), "2".to_owned())];
        assert!(write_new(dir.path(), &files).is_err());
        assert!(!dir.path().join("a").exists());
        assert_eq!(fs::read_to_string(dir.path().join("b")).unwrap(), "mine");
        assert!(write_fresh(&dir.path().join("b"), b"2").is_err());
        assert_eq!(fs::read_to_string(dir.path().join("b")).unwrap(), "mine");
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_new_studio_that_was_stopped_half_way_is_finished_and_then_refused() {
        let dir = tempfile::tempdir().unwrap();
        let files = [
            ("a".into(), "1".to_owned()),
            ("in/b".into(), "2".to_owned()),
        ];
        fs::write(dir.path().join("a"), "1").unwrap();
        write_new(dir.path(), &files).unwrap();
        assert_eq!(fs::read_to_string(dir.path().join("in/b")).unwrap(), "2");
        let refused = write_new(dir.path(), &files).unwrap_err();
        assert!(refused.to_string().contains("exists already"));
    }

    /// Nobody knows the name of the file beside; what to do about it is said.
    #[test]
    fn a_full_disk_is_told_in_words_that_help() {
        let dir = tempfile::tempdir().unwrap();
        let gone = dir.path().join("none").join("a");
        let said = format!("{:#}", write_whole(&gone, b"1").unwrap_err());
        assert!(said.ends_with("; nothing was written to it") && !said.contains(".fairday-"));
        for (kind, words) in [
            (ErrorKind::StorageFull, "make room on the disk"),
            (ErrorKind::ReadOnlyFilesystem, "the disk can only be read"),
        ] {
            let said = told(io::Error::from(kind)).to_string();
            assert!(
                said.contains(words) && said.contains("nothing was written"),
                "{said}"
            );
        }
    }

    /// A forecast that is there comes back as it was; a new one is made.
    #[test]
    fn a_file_that_is_not_there_is_made() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("forecast.json");
        replace_whole(&path, b"one").unwrap();
        let two = || Ready::beside(&path, b"two").unwrap();
        assert!(two().take_place(Over::Exactly(b"none")).is_err());
        two().take_place(Over::Exactly(b"one")).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    }
}
