//! End-to-end, reference and property tests: one program, one module a subject.

mod random_studio;
