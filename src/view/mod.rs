//! What is said on screens: values in, text out. Words are made here, once.

pub mod about;
pub mod blocked;
pub mod calendar;
pub mod card;
pub mod check;
pub mod course;
pub mod dates;
pub mod fetched;
pub mod gate;
pub mod json;
pub mod light;
pub mod marked;
pub mod need;
pub mod notices;
pub mod page;
pub mod pieces;
pub mod plan;
pub mod problem;
pub mod promise;
pub mod schema;
pub mod sent;
pub mod sheet;
pub mod taken;
pub mod weather;
pub mod what_if;
