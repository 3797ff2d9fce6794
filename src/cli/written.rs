//! Where pages and calendars are written, and saying so.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};

use super::output;
use crate::outside::pages::{find_page, write_page};

/// Folder for written pages in the studio folder.
pub const FOLDER: &str = "sheets";

/// Where something written goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// To the answer itself.
    Answer,
    /// Into a file among the studio's sheets; their folder is made if need be.
    Sheet(PathBuf),
    /// Into a file of the maker's choice, in a folder that is there.
    File(PathBuf),
}

impl Place {
    /// Returns the place that was typed; else the file `name` among the studio's sheets.
    pub fn new(folder: &Path, name: &str, typed: Option<&Path>) -> Place {
        match typed {
            Some(path) if path == Path::new("-") => Place::Answer,
            Some(path) => Place::File(path.to_owned()),
            None => Place::Sheet(folder.join(FOLDER).join(name)),
        }
    }
}

/// Writes a page of HTML and says where it is and what to do with it.
///
/// # Errors
/// When the disk refuses, or something that is no page of ours stands there.
pub fn page(place: &Place, text: &str) -> Result<()> {
    match place {
        Place::Answer => output::answer(text),
        Place::Sheet(path) | Place::File(path) => {
            write(place, path, text)?;
            output::answer(&format!(
                "Written: {}\nOpen it in a browser, or print it from there.\n",
                path.display()
            ))
        }
    }
}

/// Writes a calendar and says where it is and what to do with it.
///
/// # Errors
/// When the disk refuses, or something that is no calendar of ours stands there.
pub fn calendar(place: &Place, text: &str) -> Result<()> {
    match place {
        Place::Answer => output::answer(text),
        Place::Sheet(path) | Place::File(path) => {
            write(place, path, text)?;
            output::answer(&format!(
                "Written: {}\nOpen it on the phone, or let its calendar fetch it; \
                 written again,\nit moves entries and doubles none.\n",
                path.display()
            ))
        }
    }
}

/// Writes into the studio's sheets, or where the maker said; a folder that she misspelled
/// is not made.
fn write(place: &Place, path: &Path, text: &str) -> Result<()> {
    let folder = path.parent().filter(|folder| *folder != Path::new(""));
    if let (Place::File(_), Some(folder)) = (place, folder)
        && !folder.exists()
    {
        let shown = folder.display();
        bail!(
            "there is no folder `{shown}`; nothing was written; make it, `mkdir -p {shown}`, or \
             name another file with `--to FILE`"
        );
    }
    write_page(path, text)
}

/// Returns the text that stands at a place now; none if nothing does.
///
/// # Errors
/// When there is a file and it cannot be read.
pub fn find_before(place: &Place) -> Result<Option<String>> {
    match place {
        Place::Answer => Ok(None),
        Place::Sheet(path) | Place::File(path) => find_page(path),
    }
}

/// Makes a name of a file from a number of an order, whatever signs it has.
pub fn file_name(number: &str) -> String {
    let sign = |c: char| if c.is_alphanumeric() { c } else { '-' };
    number.chars().map(sign).collect()
}
