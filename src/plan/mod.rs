//! From orders, studio and light to days that a person can follow.
//!
//! `model` is the core problem as data. The way there: `waiting` → `together` →
//! `starts` → `setup`; the answer by `search`, judged by `audit`; the way back:
//! `week` for the days, `course` for the orders, `reason` for what is not in time.

pub mod audit;
pub mod bound;
pub mod calm;
pub mod carry;
pub mod course;
pub mod dark;
pub mod daylight;
pub mod earliest;
pub mod grid;
pub mod hours;
pub mod kept;
pub mod lay;
pub mod lots;
pub mod model;
pub mod outlook;
pub mod racks;
pub mod reason;
pub mod search;
pub mod second_go;
pub mod setup;
pub mod since;
pub mod sky;
pub mod spread;
pub mod starts;
pub mod together;
pub mod under_way;
pub mod waiting;
pub mod week;
pub mod what_if;
