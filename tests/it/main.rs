//! End-to-end, reference and property tests: one program, one module a subject.

mod audit;
mod commands;
mod demo;
mod desk;
mod edits;
mod forecast;
mod forecast_broken;
mod forecast_genuine;
mod genuine_plans;
mod judged;
mod keeping;
mod lay;
mod letters;
mod light;
mod lots;
mod mail;
mod mail_answers;
mod mail_server;
mod measured;
mod notices;
mod notices_over_weeks;
mod outbox;
mod random_studio;
mod search;
mod tidy;
mod trade;
