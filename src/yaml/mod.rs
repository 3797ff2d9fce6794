//! Reading the maker's YAML so that every slip can be shown at its place.
//!
//! A file becomes a *shape* first: a plain struct whose values are [`leaf::Leaf`]s,
//! the words as they stand in the file. What a word means is asked afterwards
//! through a [`reader::Reader`], which collects problems instead of stopping at
//! the first. Places in the text are looked up only when there is something to
//! show, so that a thousand good files cost no more than their reading.
//!
//! Nothing here knows what an order or a studio is; what is inserted into a file,
//! and whether it may be, is decided in `order/edit.rs`.

pub mod added;
pub mod address;
mod broken;
pub mod fields;
pub mod insert;
pub mod keyed;
pub mod leaf;
pub mod locate;
pub mod reader;
pub mod schema;
pub mod several;
pub mod text;
pub mod trail;
mod unfold;
