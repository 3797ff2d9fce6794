//! Reads the templates that a studio keeps of its own.

use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, Result};

/// Folder of the templates in the studio folder.
const FOLDER: &str = "templates";

/// Largest file that is taken for a template. [bytes]
const TEMPLATE_MAX_BYTES: u64 = 1_000_000;

/// Returns the templates and words in the studio's folder `templates/`, and in the
/// folders of languages below it, by name: `answer.hbs`, `de/answer.hbs`,
/// `de/words.yaml`; none if there is no such folder.
///
/// # Errors
/// When a file cannot be read, is no text or is too large for a letter.
pub fn read_templates(studio_folder: &Path) -> Result<BTreeMap<String, String>> {
    let mut templates = BTreeMap::new();
    let folder = studio_folder.join(FOLDER);
    for language in gather(&folder, "", &mut templates)? {
        gather(
            &folder.join(&language),
            &format!("{language}/"),
            &mut templates,
        )?;
    }
    Ok(templates)
}

/// Reads the templates of one folder, names its folders.
fn gather(
    folder: &Path,
    prefix: &str,
    templates: &mut BTreeMap<String, String>,
) -> Result<Vec<String>> {
    let listing = match std::fs::read_dir(folder) {
        Ok(listing) => listing,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => {
            return Err(error)
                .with_context(|| format!("reading the folder `{}`", folder.display()));
        }
    };
    let mut folders = Vec::new();
    for entry in listing {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if name.starts_with('.') {
            continue;
        }
        if path.is_dir() {
            folders.push(name.into_owned());
        } else if name.ends_with(".hbs") || name == "words.yaml" {
            let name = format!("{prefix}{name}");
            let text = read(&path).with_context(|| format!("reading `{FOLDER}/{name}`"))?;
            templates.insert(name, text);
        }
    }
    Ok(folders)
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
        std::fs::create_dir(folder.join("nl")).unwrap();
        std::fs::write(folder.join("nl/words.yaml"), "day: x").unwrap();
        let found = read_templates(studio.path()).unwrap();
        let expected = BTreeMap::from([
            ("answer.hbs".to_owned(), "Ring.".to_owned()),
            ("nl/words.yaml".to_owned(), "day: x".to_owned()),
        ]);
        assert_eq!(found, expected);
        std::fs::write(folder.join("foot.hbs"), [0xff, 0xfe]).unwrap();
        let error = format!("{:#}", read_templates(studio.path()).unwrap_err());
        assert!(
            error.starts_with("reading `templates/foot.hbs`: "),
            "{error}"
        );
    }
}
