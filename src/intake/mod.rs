//! New orders before they are files: as answers, or as rows of a table.
//!
//! A [`draft::Draft`] holds words and becomes the text of an order file; whether the
//! words mean anything is judged by reading that text as any other order. Nothing is
//! written here.

pub mod draft;
pub mod name;
pub mod table;
