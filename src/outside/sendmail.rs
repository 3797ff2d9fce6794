//! Mails to a program of this machine that takes them, as `sendmail` does.
//!
//! Its exit status says what became of a mail (sysexits: 75 is "later"). One
//! that is killed after the mail was written to it leaves doubt.

use std::io::Write;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};
use lettre::Address;

use super::mail::Mail;
use super::mailer::{Answer, LastStep, Mailer, Outcome};

/// The program.
pub struct Sendmail {
    program: String,
}

impl Sendmail {
    /// Returns the way through `program`, a path or a name on the search path.
    pub fn new(program: &str) -> Sendmail {
        Sendmail {
            program: program.to_owned(),
        }
    }

    fn answer(&self, outcome: Outcome, words: String, about_letter: bool) -> Answer {
        Answer {
            outcome,
            refused: vec![],
            words,
            about_letter,
        }
    }
}

impl Mailer for Sendmail {
    fn open(&mut self) -> Result<()> {
        let is_path = self.program.contains(std::path::MAIN_SEPARATOR);
        if is_path && !std::path::Path::new(&self.program).is_file() {
            bail!(
                "there is no program `{}`; correct `sendmail` below `letters`",
                self.program
            );
        }
        Ok(())
    }

    fn hand_over(
        &mut self,
        mail: &Mail,
        to: &[Address],
        last_step: &mut LastStep,
    ) -> Result<Answer> {
        let mut command = Command::new(&self.program);
        command.args(["-i", "-f", mail.from.as_ref(), "--"]);
        command.args(to.iter().map(AsRef::<str>::as_ref));
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        last_step(&[])?;
        let started = command.spawn();
        let mut child = match started.with_context(|| format!("starting {}", self.name())) {
            Ok(child) => child,
            Err(error) => {
                return Ok(self.answer(Outcome::RefusedNow, format!("{error:#}"), false));
            }
        };
        // Its own lines end as lines of this machine do.
        let text: Vec<u8> = mail
            .bytes
            .iter()
            .copied()
            .filter(|byte| *byte != b'\r')
            .collect();
        let mut input = child.stdin.take().expect("the input is a pipe");
        // Who refuses a mail early need not read it; the exit status tells.
        let _ = input.write_all(&text);
        drop(input);
        let Ok(ended) = child.wait() else {
            return Ok(self.answer(Outcome::Unknown, "its end was not seen".to_owned(), true));
        };
        let words = format!("{} ended with {ended}", self.name());
        Ok(match ended.code() {
            Some(0) => self.answer(Outcome::Accepted, String::new(), true),
            // EX_DATAERR, EX_NOUSER, EX_NOHOST: something about this letter.
            Some(65 | 67 | 68) => self.answer(Outcome::RefusedForGood, words, true),
            Some(75) => self.answer(Outcome::RefusedNow, words, true),
            Some(_) => self.answer(Outcome::RefusedNow, words, false),
            None => self.answer(Outcome::Unknown, words, true),
        })
    }

    /// Its exit status says nothing about one of several.
    fn is_one_by_one(&self) -> bool {
        true
    }

    /// A program cannot be asked what it took.
    fn look_up(&mut self, _mail: &Mail) -> Result<Outcome> {
        Ok(Outcome::Unknown)
    }

    fn name(&self) -> String {
        format!("the program `{}`", self.program)
    }

    fn try_out(&mut self, _from: &Address) -> Result<Vec<String>> {
        self.open()?;
        Ok(vec![format!(
            "{} is there; it is asked nothing before a letter",
            self.name()
        )])
    }
}
