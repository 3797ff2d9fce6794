//! From orders, studio and light to days that a person can follow.
//!
//! `model` is the core problem as data; the rest of this folder makes it out of
//! orders, solves it, audits the answer and turns it back into days.

pub mod audit;
pub mod grid;
pub mod lay;
pub mod lots;
pub mod model;
pub mod search;
pub mod waiting;
