//! The command line: reads arguments, calls the library, decides about the exit code.

fn main() {}
