//! Which orders of elsewhere were taken already, asked of the files themselves.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

use crate::order::parse::find_reference;
use crate::yaml::text;

/// References of the orders in a folder.
#[derive(Debug, Default)]
pub struct References {
    known: BTreeSet<String>,
    /// Files that give no order; what they name may be anything in them.
    broken: Vec<String>,
}

impl References {
    /// Reads the references of `files` in `folder`; those of `unread` ones as well as
    /// can be.
    ///
    /// # Errors
    /// A file cannot be read: then nobody knows what was taken.
    pub fn read(folder: &Path, files: &[String], unread: &[String]) -> Result<References> {
        let mut references = References::default();
        for file in files {
            let bytes = fs::read(folder.join(file)).with_context(|| format!("reading `{file}`"))?;
            let text = text::decode(&bytes, file).unwrap_or_default();
            references.known.extend(find_reference(text));
            if unread.contains(file) {
                references
                    .broken
                    .push(String::from_utf8_lossy(&bytes).into_owned());
            }
        }
        Ok(references)
    }

    /// Tells whether an order of that reference was taken.
    ///
    /// A file with errors counts if the reference stands in it anywhere: better an
    /// order to be looked at than one taken twice.
    pub fn contains(&self, reference: &str) -> bool {
        let in_broken = |text: &String| text.contains(reference);
        self.known.contains(reference) || self.broken.iter().any(in_broken)
    }
}
