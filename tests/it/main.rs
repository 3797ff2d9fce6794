//! End-to-end, reference and property tests: one program, one module a subject.

mod audit;
mod forecast;
mod forecast_genuine;
mod light;
mod random_studio;
