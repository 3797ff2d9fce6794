//! Fairday plans the work of a small studio that prints cyanotypes to order.
//!
//! Orders, studio and forecast come in as text; a plan, the reasons for what is
//! blocked, and letters go out. The crate is laid out in ranks: words, what the
//! studio knows, what follows, what is said, the outside, the commands. Ranks
//! up to "what is said" read no clock, disk, environment or network and print
//! nothing; `DEVELOPERS.md` has the map.

pub mod capacity;
pub mod cli;
pub mod climate;
pub mod coverage;
pub mod dry;
pub mod experience;
pub mod exposing;
pub mod forecast;
pub mod intake;
pub mod keeping;
pub mod letter;
pub mod light;
pub mod mix;
pub mod notice;
pub mod odds;
pub mod order;
pub mod outside;
pub mod plan;
pub mod problem;
pub mod promise;
pub mod review;
pub mod size;
pub mod spare;
pub mod stage;
pub mod stock;
pub mod studio;
pub mod supply;
pub mod units;
pub mod view;
pub mod window;
pub mod yaml;
