//! End-to-end, reference and property tests: one program, one module a subject.

mod audit;
mod random_studio;
