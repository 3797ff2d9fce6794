//! Writes pages and calendars for people, and never over anything else; and what the
//! program makes for other programs, schemas and manual pages.
//!
//! One run writes into a folder at a time, and clears away what a crash left there.

use std::fs;
use std::io::{ErrorKind, Read};
use std::path::Path;

use anyhow::{Context, Result, bail};

use super::disk::replace_whole;
use super::edit::lock;

/// How pages and calendars of ours begin.
const BEGINS: [&str; 2] = ["<!DOCTYPE html>", "BEGIN:VCALENDAR"];

/// Writes a page to `path`, in the place of an older one; its folder is made if need be.
///
/// # Errors
/// When the disk refuses, another run writes there, or when a file stands there that
/// begins as no page does: an order or a forecast is never written over.
pub fn write_page(path: &Path, text: &str) -> Result<()> {
    if let Some(begin) = find_begin(path)?
        && !BEGINS.iter().any(|ours| begin.starts_with(ours.as_bytes()))
    {
        bail!(
            "`{}` is there already and is no page; name another file with `--to FILE`",
            path.display()
        );
    }
    let folder = path.parent().filter(|parent| *parent != Path::new(""));
    let folder = folder.unwrap_or(Path::new("."));
    make_folder(folder)?;
    let _alone = lock(folder)?;
    replace_whole(path, text.as_bytes())
}

/// Writes files of the program's own making into `folder`, in the place of older ones;
/// the folder is made if need be.
///
/// # Errors
/// When the disk refuses, or another run writes there; each file is the old one then,
/// or the new one.
pub fn write_made(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<()> {
    make_folder(folder)?;
    let _alone = lock(folder)?;
    let mut files = files.iter();
    files.try_for_each(|(name, bytes)| replace_whole(&folder.join(name), bytes))
}

fn make_folder(folder: &Path) -> Result<()> {
    let made = fs::create_dir_all(folder);
    made.with_context(|| format!("making the folder `{}`", folder.display()))
}

/// Returns the text that a page or calendar at `path` has now; none if there is none,
/// or if it is none of ours.
///
/// # Errors
/// When there is a file and it cannot be read.
pub fn find_page(path: &Path) -> Result<Option<String>> {
    let ours = |begin: Vec<u8>| BEGINS.iter().any(|b| begin.starts_with(b.as_bytes()));
    if !find_begin(path)?.is_some_and(ours) {
        return Ok(None);
    }
    let text = fs::read_to_string(path);
    Ok(Some(text.with_context(|| {
        format!("reading `{}`", path.display())
    })?))
}

/// Returns the first bytes of a file; none if there is no file, or an empty one.
fn find_begin(path: &Path) -> Result<Option<Vec<u8>>> {
    let open = match fs::File::open(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        other => other,
    };
    let mut begin = Vec::new();
    let read = open.and_then(|file| file.take(32).read_to_end(&mut begin));
    read.with_context(|| format!("looking at `{}`", path.display()))?;
    Ok((!begin.is_empty()).then_some(begin))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_order_is_never_written_over_and_an_older_page_is() {
        let folder = tempfile::tempdir().unwrap();
        let order = folder.path().join("a.yaml");
        fs::write(&order, "order: 1\n").unwrap();
        let error = write_page(&order, "<!DOCTYPE html>")
            .unwrap_err()
            .to_string();
        assert!(
            error.ends_with("name another file with `--to FILE`"),
            "{error}"
        );
        assert_eq!(fs::read_to_string(&order).unwrap(), "order: 1\n");
        let page = folder.path().join("sheets/week.html");
        write_page(&page, "<!DOCTYPE html>1").unwrap();
        write_page(&page, "<!DOCTYPE html>2").unwrap();
        assert_eq!(fs::read_to_string(&page).unwrap(), "<!DOCTYPE html>2");
    }
}
