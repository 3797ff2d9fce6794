//! The weather that a place usually has, for the days that no forecast reaches.
//!
//! From a typical-year file (EPW or TMY3), or roughly by latitude. It gives light,
//! wind, temperature and humidity by month and hour; rain only as a share that
//! the studio sets, since these files' rain is mostly missing or zero unmarked.
//! Whole days, their hours together, are there to draw weathers from; what follows
//! from them for dates is `odds`.

mod beyond;
pub mod days;
mod read;
mod usual;

pub use beyond::{Beyond, extend};
pub use days::{Days, WholeDay};
pub use read::{Row, TypicalYear, parse};
pub use usual::{Usual, UsualHour};
