//! The weather that a place usually has, for the days that no forecast reaches.
//!
//! From a typical-year file (EPW or TMY3), or roughly by latitude. It gives light,
//! wind, temperature and humidity by month and hour; rain only as a share that
//! the studio sets, since these files' rain is mostly missing or zero unmarked.
//! Whole days and chances of dates are not here.

mod beyond;
mod read;
mod usual;

pub use beyond::{Beyond, extend};
pub use read::{Row, TypicalYear, parse};
pub use usual::{Usual, UsualHour};
