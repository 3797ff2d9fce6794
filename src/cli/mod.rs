//! Commands: load, call, print. What was typed, and which command it means.
//!
//! No rule of the trade and no wording of answers lives here. Every command
//! returns how it ended; only `main` turns that into an exit code.

mod about;
mod beyond;
mod blocked;
mod calendar;
mod card;
mod chances;
mod check;
mod coated;
mod desk;
mod dialogue;
mod due;
mod expose;
mod fetch;
mod forget;
mod frame;
mod import;
mod light;
mod lit;
mod load;
mod manual;
mod mark;
mod new;
mod notices;

mod output;
pub use output::say_failure;
mod pager;
mod pieces;
mod plan;
mod progress;
mod promise;
mod promised;
mod review;
mod schema;
mod send;
mod sheet;
mod stock;
mod strip;
mod take;
mod typed;
mod what_if;
mod written;

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Result;
use clap::{Args, Parser, Subcommand, ValueEnum};

/// Plans cyanotype commissions by weather, light and rack space.
///
/// Reads a studio folder (studio.yaml, one YAML file per order, a saved
/// forecast), plans the coming days, says which orders are blocked and by what,
/// and writes the customers.
#[derive(Debug, Parser)]
#[command(name = "fairday", version, after_help = AFTER_HELP)]
pub struct Cli {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

const AFTER_HELP: &str = "\
Exit codes: 0 done · 1 done, but somebody must look · 2 not done.
This program plans work. It does not judge whether a workplace is safe or a
promise lawful: follow the safety data sheets, local codes and qualified advice.";

/// Heading over what every command understands, in the help.
const EVERYWHERE: &str = "Options of every command";

/// What every command understands.
#[derive(Debug, Clone, Args)]
pub struct Common {
    /// Studio folder [default: this folder if it has a studio.yaml, else ./orders]
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "DIR")]
    dir: Option<PathBuf>,
    /// Plan as if it were this day, or this day and time ("2026-05-11 07:00")
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "DATE")]
    today: Option<String>,
    /// Columns of the answer [default: the terminal's, at most 100; 80 elsewhere]
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "N", value_parser = columns, allow_negative_numbers = true)]
    width: Option<usize>,
    /// Colour in the answer
    #[arg(long, global = true, help_heading = EVERYWHERE, value_name = "WHEN", default_value = "auto")]
    color: ColorWhen,
    /// Never show a long answer through PAGER
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    no_pager: bool,
}

/// Fewest columns that an answer is set in.
const COLUMNS_MIN: usize = 40;

fn columns(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(columns) if columns >= COLUMNS_MIN => Ok(columns),
        _ => Err(format!(
            "expected a whole number of columns, {COLUMNS_MIN} or more"
        )),
    }
}

/// When an answer is coloured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ColorWhen {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Plan the coming days: coat, dry, expose, wash, finish, pack
    Plan(plan::PlanArgs),
    /// Show every order that is not on course, why, and the one thing to do
    Blocked(blocked::BlockedArgs),
    /// Show the dates that hold for a new order, or how sure every open one is
    Promise(promise::PromiseArgs),
    /// Show the minutes of exposure by day and hour, and the windows
    Light(light::LightArgs),
    /// Put pieces into the light, count their dose, and say when to take them in
    Expose(expose::ExposeArgs),
    /// Get the forecast from the weather service and keep it
    Fetch(fetch::FetchArgs),
    /// Write the week, or a day, as a page for screen and paper
    Sheet(sheet::SheetArgs),
    /// Write cards for the pieces and the parcel of orders
    Card(card::CardArgs),
    /// Write a certificate of edition for each piece of orders
    Certificate(card::CardArgs),
    /// Write the plan as a calendar for a phone
    Calendar(calendar::CalendarArgs),
    /// Show what there is, what the plan will use, what runs out, what to make or buy
    Stock(stock::StockArgs),
    /// Make a test strip: which step to cover when, and what the best step teaches
    Strip(strip::StripArgs),
    /// Look back: dates kept, minutes planned and used, remakes by reason
    Review(review::ReviewArgs),
    /// Note that a stage is done for orders or pieces
    Mark(mark::MarkArgs),
    /// Send pieces back to coating, with the reason
    Remake(mark::RemakeArgs),
    /// Show who must be told what, and each letter word for word
    Notices(notices::NoticesArgs),
    /// Send the letters that are due, each once
    Send(send::SendArgs),
    /// Take a customer out of closed orders, letters and pages; numbers stay
    Forget(forget::ForgetArgs),
    /// Take an order: by questions, or by arguments
    Take(take::TakeArgs),
    /// Take the orders of a CSV table, each once
    Import(import::ImportArgs),
    /// Write a commented starter folder with dates around today
    New(new::NewArgs),
    /// Read all files at once and show every problem
    Check(check::CheckArgs),
    /// Write JSON Schemas of the files, for editors that complete and check
    Schema(schema::SchemaArgs),
    /// Report on versions, clock, forecast, letters and permissions
    About(about::AboutArgs),
    /// Print completions for a shell
    Completions(manual::CompletionsArgs),
    /// Print the manual page
    Man(manual::ManArgs),
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Done, nothing to look at.
    Done,
    /// Done, but somebody must look: blocked, late, problems.
    Look,
    /// Not done; what was wrong has been said.
    NotDone,
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> ExitCode {
        match ended {
            Ended::Done => ExitCode::SUCCESS,
            Ended::Look => ExitCode::from(1),
            Ended::NotDone => ExitCode::from(2),
        }
    }
}

/// Runs the command that was typed.
///
/// # Errors
/// What the machine could not do: a folder that cannot be read, a full disk.
pub fn run(cli: &Cli) -> Result<Ended> {
    let common = &cli.common;
    match &cli.command {
        Command::Plan(args) => plan::run(common, args),
        Command::Blocked(args) => blocked::run(common, args),
        Command::Promise(args) => promise::run(common, args),
        Command::Light(args) => light::run(common, args),
        Command::Expose(args) => expose::run(common, args),
        Command::Fetch(args) => fetch::run(common, args),
        Command::Sheet(args) => sheet::run(common, args),
        Command::Card(args) => card::run_card(common, args),
        Command::Certificate(args) => card::run_certificate(common, args),
        Command::Calendar(args) => calendar::run(common, args),
        Command::Stock(args) => stock::run(common, args),
        Command::Strip(args) => strip::run(common, args),
        Command::Review(args) => review::run(common, args),
        Command::Mark(args) => mark::run_mark(common, args),
        Command::Remake(args) => mark::run_remake(common, args),
        Command::Notices(args) => notices::run(common, args),
        Command::Send(args) => send::run(common, args),
        Command::Forget(args) => forget::run(common, args),
        Command::Take(args) => take::run(common, args),
        Command::Import(args) => import::run(common, args),
        Command::New(args) => new::run(common, args),
        Command::Check(args) => check::run(common, args),
        Command::Schema(args) => schema::run(common, args),
        Command::About(args) => about::run(common, args),
        Command::Completions(args) => manual::run_completions(args),
        Command::Man(args) => manual::run_man(args),
    }
}

impl Ended {
    /// Done; somebody must look if `look`.
    fn look_if(look: bool) -> Ended {
        if look { Ended::Look } else { Ended::Done }
    }
}
