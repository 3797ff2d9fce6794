//! Disk, clock and mail: everything that reaches beyond the program.

pub mod climate;
pub mod clock;
pub mod disk;
pub mod edit;
pub mod exposing;
pub mod fetch;
pub mod forecast;
pub mod forget;
pub mod http;
pub mod journal;
pub mod kept;
pub mod mail;
pub mod mailer;
mod note;
pub mod orders;
pub mod outbox;
pub mod pages;
pub mod references;
pub mod secret;
pub mod sendmail;
pub mod smtp;
pub mod templates;
