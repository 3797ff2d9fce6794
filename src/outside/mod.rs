//! Disk, clock and mail: everything that reaches beyond the program.

pub mod clock;
pub mod forecast;
pub mod orders;
