//! The ways out for a mail, and what each says of it.
//!
//! A way either takes a mail, refuses it for now or for good, or leaves it
//! unknown whether it was taken. What concerns all mails alike – no server
//! there, no login – is a failure and says nothing about any single one.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use lettre::Address;

use super::disk::{sweep, write_whole};
use super::mail::Mail;
use super::secret::login;
use super::sendmail::Sendmail;
use super::smtp::Smtp;
use crate::studio::{MailSecurity, Transport};

/// What became of a mail that was handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Taken; whoever took it answers for it now.
    Accepted,
    /// Not taken, and trying again later may help.
    RefusedNow,
    /// Not taken, and trying again will not help.
    RefusedForGood,
    /// It may or may not have been taken.
    Unknown,
}

/// What became of a mail for those it was handed over for, with what was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// What became of the mail; of those whom `refused` does not name.
    pub outcome: Outcome,
    /// Those for whom it was refused before the others got it.
    pub refused: Vec<Refused>,
    /// Where in the talk it was decided, and in what words; addresses are masked.
    pub words: String,
    /// Whether the reason lies in this letter's recipient or content. If not,
    /// the others would fare alike.
    pub about_letter: bool,
}

/// A recipient for whom a mail was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Refused {
    /// Index among those it was handed over for.
    pub index: usize,
    /// Whether trying again may help.
    pub outcome: Outcome,
}

/// What is called right before the point from which on a broken line leaves doubt; it
/// is told who is refused by then.
pub type LastStep<'a> = dyn FnMut(&[Refused]) -> Result<()> + 'a;

/// A way out for mails.
pub trait Mailer {
    /// Makes sure that mails can be handed over.
    ///
    /// # Errors
    /// Whatever would stop every mail.
    fn open(&mut self) -> Result<()>;

    /// Hands `mail` over for the addresses `to`, which are some of its own. `last_step`
    /// is called right before the point from which on a broken line leaves the outcome
    /// unknown; if it fails, the mail is not handed over.
    ///
    /// # Errors
    /// What `last_step` failed with.
    fn hand_over(
        &mut self,
        mail: &Mail,
        to: &[Address],
        last_step: &mut LastStep,
    ) -> Result<Answer>;

    /// Tells whether the way can answer only for one recipient at a time.
    fn is_one_by_one(&self) -> bool {
        false
    }

    /// Tells what became of a mail whose handing over was cut short.
    ///
    /// # Errors
    /// When the way cannot be asked now.
    fn look_up(&mut self, mail: &Mail) -> Result<Outcome>;

    /// Names the way for people, without secrets.
    fn name(&self) -> String;

    /// Goes as far as possible without handing over any mail, and says what was seen.
    ///
    /// # Errors
    /// Whatever would stop every mail.
    fn try_out(&mut self, from: &Address) -> Result<Vec<String>>;
}

/// Returns the way that the studio's settings name.
///
/// `folder` is the studio folder. `environment` finds the value of an
/// environment variable; the password and, under `SSL_CERT_FILE`, certificates
/// that are trusted beside the built-in ones come from there.
///
/// # Errors
/// When a password is named but not set, or when the line would carry letters
/// in the clear beyond this machine.
pub fn mailer(
    transport: &Transport,
    folder: &Path,
    environment: &dyn Fn(&str) -> Option<String>,
) -> Result<Box<dyn Mailer>> {
    match transport {
        Transport::Folder(path) => Ok(Box::new(Folder::new(folder.join(path)))),
        Transport::Sendmail(program) => Ok(Box::new(Sendmail::new(program))),
        Transport::Smtp {
            host,
            port,
            security,
            user,
            secret,
        } => {
            if *security == MailSecurity::None && !is_loopback(host) {
                bail!(
                    "the mail server `{host}` is not this machine; \
                     set `security` to `starttls` or `tls`"
                );
            }
            let login = match (user, secret) {
                (None, _) => None,
                (Some(user), Some(secret)) => Some(login(user, secret, folder, environment)?),
                (Some(_), None) => bail!(
                    "the mail login `user` is set; name the variable of its password in `password_env`"
                ),
            };
            let mut smtp = Smtp::new(host, *port, *security, login);
            if let Some(path) = environment("SSL_CERT_FILE") {
                let pem = std::fs::read(&path)
                    .with_context(|| format!("reading the certificates in `{path}`"))?;
                smtp.trust(pem);
            }
            Ok(Box::new(smtp))
        }
    }
}

/// Tells whether `host` is this machine without asking anybody.
fn is_loopback(host: &str) -> bool {
    let bare = host.trim_start_matches('[').trim_end_matches(']');
    let address = bare.parse::<std::net::IpAddr>();
    host.eq_ignore_ascii_case("localhost") || address.is_ok_and(|address| address.is_loopback())
}

/// `.eml` files in a folder, one per mail, for a mail program to pick up.
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// Returns the way into `path`; the folder is made when it is first needed.
    pub fn new(path: PathBuf) -> Folder {
        Folder { path }
    }

    fn file(&self, mail: &Mail) -> PathBuf {
        self.path.join(format!("{}.eml", mail.id))
    }
}

impl Mailer for Folder {
    fn open(&mut self) -> Result<()> {
        std::fs::create_dir_all(&self.path)
            .with_context(|| format!("making the folder `{}`", self.path.display()))?;
        sweep(&self.path);
        Ok(())
    }

    fn hand_over(
        &mut self,
        mail: &Mail,
        _to: &[Address],
        last_step: &mut LastStep,
    ) -> Result<Answer> {
        last_step(&[])?;
        let answer = |outcome, words: String| Answer {
            outcome,
            refused: vec![],
            words,
            about_letter: false,
        };
        match write_whole(&self.file(mail), &mail.bytes) {
            Ok(()) => Ok(answer(
                Outcome::Accepted,
                "written into the folder".to_owned(),
            )),
            Err(error) => Ok(answer(Outcome::RefusedNow, format!("{error:#}"))),
        }
    }

    fn look_up(&mut self, mail: &Mail) -> Result<Outcome> {
        let there = std::fs::read(self.file(mail)).is_ok_and(|bytes| bytes == mail.bytes);
        Ok(if there {
            Outcome::Accepted
        } else {
            Outcome::RefusedNow
        })
    }

    fn name(&self) -> String {
        format!("the folder `{}`", self.path.display())
    }

    fn try_out(&mut self, _from: &Address) -> Result<Vec<String>> {
        self.open()?;
        tempfile::NamedTempFile::new_in(&self.path)
            .with_context(|| format!("writing into `{}`", self.path.display()))?;
        Ok(vec![format!("{} takes files", self.name())])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_this_machine_is_loopback() {
        for host in [
            "localhost",
            "LOCALHOST",
            "127.0.0.1",
            "127.3.2.1",
            "::1",
            "[::1]",
        ] {
            assert!(is_loopback(host), "{host}");
        }
        for host in ["localhost.example.org", "128.0.0.1", "mail.example.org", ""] {
            assert!(!is_loopback(host), "{host}");
        }
    }
}
