//! The shapes of the files as JSON Schemas, for editors that complete and check.
//!
//! Draft 7, which editors know best. A schema sees one file; what needs a second one
//! (whether a material exists), or today, only the program can say.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};

use crate::order::file::OrderFile;
use crate::stock::file::StockFile;
use crate::studio::file::StudioFile;

/// Folder of the schemas in a studio folder.
pub const FOLDER: &str = "schema";

/// Returns names and texts of the schemas, to be put into [`FOLDER`].
///
/// # Example
/// ```
/// let files = fairday::view::schema::files();
/// assert_eq!(files[0].0, "order.json");
/// assert!(files[0].1.contains("\"ordered_on\""));
/// ```
pub fn files() -> Vec<(&'static str, String)> {
    vec![
        (
            "order.json",
            text(schema::<OrderFile>("An order of Fairday")),
        ),
        (
            "studio.json",
            text(schema::<StudioFile>("A studio of Fairday")),
        ),
        (
            "stock.json",
            text(schema::<StockFile>("A stock of Fairday")),
        ),
    ]
}

fn schema<T: JsonSchema>(title: &str) -> Schema {
    let mut schema = SchemaSettings::draft07()
        .into_generator()
        .into_root_schema_for::<T>();
    schema.insert("title".to_owned(), title.into());
    schema
}

fn text(schema: Schema) -> String {
    let text = serde_json::to_string_pretty(&schema).expect("a schema is plain JSON");
    format!("{text}\n")
}
