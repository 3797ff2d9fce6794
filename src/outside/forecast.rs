//! The saved forecast on disk.
//!
//! Reads the file and hands its text on; what is in it is judged by
//! [`crate::forecast`]. Nothing is fetched here.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

use crate::forecast::{self, Forecast};
use crate::problem::Problem;

/// The largest file that is read. A forecast of 16 days is well below 1 MB. [bytes]
const SIZE_MAX: u64 = 20_000_000;

/// First bytes of a file that is packed with gzip.
const GZIP: [u8; 2] = [0x1f, 0x8b];

/// Reads the forecast saved as `file`, relative to the studio's folder.
///
/// A file that cannot be read or understood is one problem, an error; the plan
/// can go on without a forecast.
pub fn read_forecast(folder: &Path, file: &str) -> (Option<Forecast>, Vec<Problem>) {
    match read_text(&folder.join(file), file) {
        Ok(text) => forecast::parse(&text, file),
        Err(problem) => (None, vec![*problem]),
    }
}

fn read_text(path: &Path, file: &str) -> Result<String, Box<Problem>> {
    let error = |what: String, hint: &str| Box::new(Problem::error(file, what).hint(hint));
    let bytes = read_bytes(path).map_err(|cause| match cause.kind() {
        ErrorKind::NotFound => error(
            "the saved forecast is missing".to_owned(),
            "get it with `fairday fetch`, save one there, or change `forecast` in `studio.yaml`",
        ),
        ErrorKind::PermissionDenied => error(
            "the saved forecast may not be read".to_owned(),
            "give yourself the right to read the file",
        ),
        ErrorKind::FileTooLarge => error(
            format!("expected at most {} MB, found more", SIZE_MAX / 1_000_000),
            "save the forecast of the studio alone",
        ),
        _ => Box::new(Problem::error(
            file,
            format!("the file cannot be read: {cause}"),
        )),
    })?;
    if bytes.starts_with(&GZIP) {
        let what = "expected JSON, found a packed file".to_owned();
        return Err(error(what, "unpack it with `gunzip`"));
    }
    String::from_utf8(bytes).map_err(|_| {
        let what = "expected text in UTF-8, found other bytes".to_owned();
        error(what, "save the forecast again")
    })
}

/// Reads a file that is no larger than it may be; asks the open file, not its name.
fn read_bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?
        .take(SIZE_MAX + 1)
        .read_to_end(&mut bytes)?;
    if bytes.len() as u64 > SIZE_MAX {
        return Err(ErrorKind::FileTooLarge.into());
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(bytes: &[u8], expected: &str) {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("forecast.json"), bytes).unwrap();
        let (forecast, problems) = read_forecast(folder.path(), "forecast.json");
        assert_eq!(forecast, None);
        assert_eq!(problems.len(), 1);
        assert_eq!(problems[0].what, expected);
        assert_eq!(problems[0].file, "forecast.json");
    }

    #[test]
    fn what_cannot_be_read_is_a_problem_with_its_reason() {
        check(b"\x1f\x8b\x08\x00", "expected JSON, found a packed file");
        check(
            b"{\"a\": \"\xff\"}",
            "expected text in UTF-8, found other bytes",
        );
        check(b"", "expected a saved forecast, found an empty file");
        check(
            &vec![b' '; SIZE_MAX as usize + 1],
            "expected at most 20 MB, found more",
        );
    }

    #[test]
    fn a_missing_file_and_a_folder_are_problems_too() {
        let folder = tempfile::tempdir().unwrap();
        let (_, problems) = read_forecast(folder.path(), "forecast.json");
        assert_eq!(problems[0].what, "the saved forecast is missing");
        let (_, problems) = read_forecast(folder.path(), ".");
        assert!(problems[0].what.starts_with("the file cannot be read: "));
    }

    #[test]
    fn a_saved_forecast_is_read_from_the_folder() {
        let (forecast, problems) = read_forecast(Path::new("tests/forecast"), "met_norway.json");
        assert_eq!(problems, []);
        assert_eq!(forecast.map(|f| f.hours.len()), Some(15));
    }
}
