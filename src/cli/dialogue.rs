//! Questions in a terminal, one at a time, each with what is taken for no answer.

use std::io::{BufRead, Write};

use anyhow::{Result, bail};

/// Where questions are shown and answers come from.
pub struct Dialogue<'a> {
    /// Answers, a line each.
    pub answers: &'a mut dyn BufRead,
    /// Where questions go.
    pub out: &'a mut dyn Write,
}

/// Judges an answer: what is taken for it, or what was expected.
pub type Judge<'j> = &'j dyn Fn(&str) -> Result<String, String>;

impl Dialogue<'_> {
    /// Asks until the answer is one; an empty line takes `usual`, if there is one.
    ///
    /// # Errors
    /// The answers have ended.
    pub fn ask(&mut self, question: &str, usual: Option<&str>, judge: Judge) -> Result<String> {
        loop {
            match usual {
                Some("") => write!(self.out, "{question} (or nothing): ")?,
                Some(usual) => write!(self.out, "{question} [{usual}]: ")?,
                None => write!(self.out, "{question}: ")?,
            }
            self.out.flush()?;
            let mut line = String::new();
            if self.answers.read_line(&mut line)? == 0 {
                writeln!(self.out)?;
                bail!("the answers ended; nothing was written");
            }
            let said = match (line.trim(), usual) {
                ("", Some("")) => return Ok(String::new()),
                ("", Some(usual)) => usual,
                (said, _) => said,
            };
            match judge(said) {
                Ok(answer) => return Ok(answer),
                Err(expected) => writeln!(self.out, "  {expected}")?,
            }
        }
    }

    /// Asks for yes or no.
    ///
    /// # Errors
    /// The answers have ended.
    pub fn confirm(&mut self, question: &str, usual: bool) -> Result<bool> {
        let usual = if usual { "yes" } else { "no" };
        let judge = |said: &str| match said.to_lowercase().as_str() {
            "y" | "yes" => Ok("yes".to_owned()),
            "n" | "no" => Ok("no".to_owned()),
            _ => Err("expected yes or no".to_owned()),
        };
        Ok(self.ask(question, Some(usual), &judge)? == "yes")
    }

    /// Shows a text between two questions.
    ///
    /// # Errors
    /// Nobody listens.
    pub fn say(&mut self, text: &str) -> Result<()> {
        writeln!(self.out, "{text}")?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_answer_is_asked_for_again_and_an_empty_one_takes_the_usual() {
        let mut answers = &b"A9\n\nA4\n\n"[..];
        let mut out = Vec::new();
        let mut dialogue = Dialogue {
            answers: &mut answers,
            out: &mut out,
        };
        let judge = |said: &str| match said {
            "A4" => Ok(said.to_owned()),
            _ => Err("expected a size".to_owned()),
        };
        assert_eq!(dialogue.ask("Size", None, &judge).unwrap(), "A4");
        assert_eq!(dialogue.ask("Size", Some("A4"), &judge).unwrap(), "A4");
        assert!(dialogue.ask("Size", None, &judge).is_err());
        let said = String::from_utf8(out).unwrap();
        let wrong = "Size:   expected a size\n";
        assert!(said.starts_with(&wrong.repeat(2)), "{said}");
    }
}
