//! The typical-year file on disk; what is in it is judged by [`crate::climate`].

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::climate::{TypicalYear, parse};
use crate::problem::Problem;

/// The largest file that is read; those known are below 2 MB. [bytes]
const SIZE_MAX: u64 = 20_000_000;

/// Reads the typical year saved as `file`, relative to the studio's folder.
///
/// Old files name their places in other letters than UTF-8; those are replaced.
///
/// # Errors
/// The file is missing, too large, packed, or no typical year: one problem.
pub fn read_climate(folder: &Path, file: &str) -> Result<TypicalYear, Box<Problem>> {
    let error = |what: String| Box::new(Problem::error(file, what));
    let mut bytes = Vec::new();
    File::open(folder.join(file))
        .and_then(|open| open.take(SIZE_MAX + 1).read_to_end(&mut bytes))
        .map_err(|cause| {
            let problem = error(format!("the climate file cannot be read: {cause}"));
            Box::new(problem.hint("change `file` below `climate` in `studio.yaml`"))
        })?;
    if bytes.len() as u64 > SIZE_MAX {
        return Err(error(format!(
            "expected at most {} MB, found more",
            SIZE_MAX / 1_000_000
        )));
    }
    if bytes.starts_with(&[0x1f, 0x8b]) {
        let problem = error("expected a typical year, found a packed file".to_owned());
        return Err(Box::new(problem.hint("unpack it with `gunzip`")));
    }
    parse(&String::from_utf8_lossy(&bytes), file)
}
