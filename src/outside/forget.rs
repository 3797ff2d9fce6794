//! Pages and file names that name a customer who is to be forgotten.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use super::disk::sync_folder;
use super::edit::Lock;
use super::pages::find_page;

/// Finds the pages and calendars in `folder` whose words are told by `names` to name
/// the customer; none without the folder.
///
/// Marks of HTML and the folds of a calendar are taken out of the words first.
///
/// # Errors
/// When the folder or a page cannot be read.
pub fn pages_naming(folder: &Path, names: &dyn Fn(&str) -> bool) -> Result<Vec<PathBuf>> {
    let listing = match fs::read_dir(folder) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        listing => listing.with_context(|| format!("reading the folder `{}`", folder.display()))?,
    };
    let mut found = Vec::new();
    for entry in listing {
        let path = entry.context("reading a folder")?.path();
        if !path.is_file() {
            continue;
        }
        if find_page(&path)?.is_some_and(|text| names(&plain(&text))) {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

/// Removes pages, and makes that last.
///
/// # Errors
/// When the disk refuses; another run can remove what is left.
pub fn remove_pages(folder: &Path, pages: &[PathBuf]) -> Result<()> {
    for page in pages {
        fs::remove_file(page).with_context(|| format!("removing `{}`", page.display()))?;
    }
    if pages.is_empty() {
        return Ok(());
    }
    sync_folder(folder).with_context(|| format!("writing the folder `{}`", folder.display()))
}

/// Gives a file of the studio folder another name that nothing has yet.
///
/// The lock is only asked for as a witness that nobody else is at work.
///
/// # Errors
/// When the disk refuses, or something has that name.
pub fn rename(_lock: &Lock, folder: &Path, from: &str, to: &str) -> Result<()> {
    if folder.join(to).symlink_metadata().is_ok() {
        bail!("`{to}` exists already; `{from}` keeps its name");
    }
    fs::rename(folder.join(from), folder.join(to))
        .and_then(|()| sync_folder(folder))
        .with_context(|| format!("renaming `{from}` to `{to}`"))
}

/// Returns the words of a page as they are read.
fn plain(text: &str) -> String {
    let signs = [
        ("\r\n ", ""),
        ("\n ", ""),
        ("\\,", ","),
        ("\\;", ";"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#x27;", "'"),
        ("&#39;", "'"),
        ("&amp;", "&"),
    ];
    let is_calendar = text.starts_with("BEGIN:");
    let signs = signs.into_iter().skip(if is_calendar { 0 } else { 4 });
    signs.fold(text.to_owned(), |text, (sign, word)| {
        text.replace(sign, word)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_found_behind_marks_and_folds() {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
        write("a.html", "<!DOCTYPE html><td>O&#x27;Neil &amp; Co</td>");
        write(
            "b.ics",
            "BEGIN:VCALENDAR\r\nSUMMARY:Pack 7 O'Ne\r\n il & Co\r\n",
        );
        write("c.html", "<!DOCTYPE html><td>Ada</td>");
        write("d.txt", "O'Neil & Co");
        let names = |text: &str| text.contains("O'Neil & Co");
        let found = pages_naming(folder.path(), &names).unwrap();
        let names_of = |path: &PathBuf| path.file_name().unwrap().to_owned();
        let found_names: Vec<_> = found.iter().map(names_of).collect();
        assert_eq!(found_names, ["a.html", "b.ics"]);
        remove_pages(folder.path(), &found).unwrap();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
        assert!(
            pages_naming(&folder.path().join("none"), &names)
                .unwrap()
                .is_empty()
        );
    }
}
