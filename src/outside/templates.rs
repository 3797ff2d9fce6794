//! Reads the templates that a studio keeps of its own.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, Result};

/// Folder of the templates in the studio folder.
const FOLDER: &str = "templates";

/// Largest file that is taken for a template. [bytes]
const TEMPLATE_MAX_BYTES: u64 = 1_000_000;

/// Returns the `.hbs` files in the studio's folder `templates/` by name; none
/// if there is no such folder.
///
/// # Errors
/// When a file cannot be read, is no text or is too large for a letter.
pub fn read_templates(studio_folder: &Path) -> Result<BTreeMap<String, String>> {
    let folder = studio_folder.join(FOLDER);
    let listing = match std::fs::read_dir(&folder) {
        Ok(listing) => listing,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(BTreeMap::new()),
        Err(error) => {
            return Err(error)
                .with_context(|| format!("reading the folder `{}`", folder.display()));
        }
    };
    let mut templates = BTreeMap::new();
    for entry in listing {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if !name.ends_with(".hbs") || name.starts_with('.') {
            continue;
        }
        let text = read(&path).with_context(|| format!("reading `{FOLDER}/{name}`"))?;
        templates.insert(name.into_owned(), text);
    }
    Ok(templates)
}

fn read(path: &Path) -> Result<String> {
    let size = std::fs::metadata(path)?.len();
    anyhow::ensure!(size <= TEMPLATE_MAX_BYTES, "it is too large for a letter");
    Ok(std::fs::read_to_string(path)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_templates_are_read_and_no_folder_is_no_template() {
        let studio = tempfile::tempdir().unwrap();
        assert!(read_templates(studio.path()).unwrap().is_empty());
        let folder = studio.path().join("templates");
        std::fs::create_dir(&folder).unwrap();
        std::fs::write(folder.join("answer.hbs"), "Ring.").unwrap();
        std::fs::write(folder.join("answer.hbs~"), "Rin").unwrap();
        std::fs::write(folder.join("README.md"), "notes").unwrap();
        let found = read_templates(studio.path()).unwrap();
        let expected = BTreeMap::from([("answer.hbs".to_owned(), "Ring.".to_owned())]);
        assert_eq!(found, expected);
        std::fs::write(folder.join("foot.hbs"), [0xff, 0xfe]).unwrap();
        let error = format!("{:#}", read_templates(studio.path()).unwrap_err());
        assert!(
            error.starts_with("reading `templates/foot.hbs`: "),
            "{error}"
        );
    }
}
