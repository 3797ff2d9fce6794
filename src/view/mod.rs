//! What is said: values in, text out. Nothing here prints.

pub mod gate;
pub mod problem;
