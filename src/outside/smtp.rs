//! Mails to a mail server, step by step, so that each step's answer is known.
//!
//! Up to the end of the message nothing has been taken: a line that breaks
//! before leaves no doubt. After the final dot the server may have taken it
//! even if its answer never comes (RFC 1047; RFC 5321, 6.1): unknown.

use std::time::Duration;

use anyhow::{Context, Result, bail};
use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{Certificate, SmtpConnection, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail as MailFrom, Rcpt, Rset};
use lettre::transport::smtp::extension::{ClientId, Extension, MailParameter};

use super::mail::Mail;
use super::mailer::{Answer, Mailer, Outcome};
use crate::letter::one_line;
use crate::notice::mask;
use crate::studio::MailSecurity;

/// How long the server may take. [s]
///
/// # Sources
/// RFC 5321, 4.5.3.2: five minutes for a command are the least a waiting sender
/// should grant; a person waits here, so one is taken. Ten minutes for the end
/// of the message: giving up earlier would make doubt where there is none.
const COMMAND_SECONDS: u64 = 60;
const MESSAGE_SECONDS: u64 = 600;

/// Longest answer of a server that is kept. [characters]
const WORDS_MAX: usize = 300;

/// Account with a password or a token; shown nowhere.
pub struct Login {
    user: String,
    secret: String,
    /// Ways to log in, the first that the server knows is taken.
    mechanisms: &'static [Mechanism],
}

impl Login {
    /// Returns the login of `user`.
    pub fn new(user: &str, password: String) -> Login {
        Login {
            user: user.to_owned(),
            secret: password,
            mechanisms: &[Mechanism::Plain, Mechanism::Login],
        }
    }

    /// Returns the login of `user` with an access token (XOAUTH2).
    pub fn with_token(user: &str, token: String) -> Login {
        Login {
            user: user.to_owned(),
            secret: token,
            mechanisms: &[Mechanism::Xoauth2],
        }
    }
}

/// How long a server may take for an answer.
#[derive(Debug, Clone, Copy)]
pub struct Patience {
    /// For greeting and commands.
    pub command: Duration,
    /// For the end of the message.
    pub message: Duration,
}

impl Default for Patience {
    fn default() -> Patience {
        Patience {
            command: Duration::from_secs(COMMAND_SECONDS),
            message: Duration::from_secs(MESSAGE_SECONDS),
        }
    }
}

/// A mail server, with the line to it once it is open.
pub struct Smtp {
    host: String,
    port: u16,
    security: MailSecurity,
    login: Option<Login>,
    trusted_pem: Option<Vec<u8>>,
    patience: Patience,
    line: Option<SmtpConnection>,
}

/// A step of the talk for one mail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    MailFrom,
    RcptTo,
    Data,
    Message,
}

impl Step {
    fn name(self) -> &'static str {
        match self {
            Step::MailFrom => "MAIL FROM",
            Step::RcptTo => "RCPT TO",
            Step::Data => "DATA",
            Step::Message => "end of message",
        }
    }
}

impl Smtp {
    /// Returns the server at `host` and `port`; no line is opened yet.
    pub fn new(host: &str, port: u16, security: MailSecurity, login: Option<Login>) -> Smtp {
        Smtp {
            host: host.to_owned(),
            port,
            security,
            login,
            trusted_pem: None,
            patience: Patience::default(),
            line: None,
        }
    }

    /// Trusts the certificates in `pem` beside the built-in ones.
    pub fn trust(&mut self, pem: Vec<u8>) {
        self.trusted_pem = Some(pem);
    }

    /// Sets how long the server may take.
    pub fn set_patience(&mut self, patience: Patience) {
        self.patience = patience;
    }

    fn connect(&self) -> Result<SmtpConnection> {
        let me = ClientId::default();
        let tls = match self.security {
            MailSecurity::None => None,
            MailSecurity::StartTls | MailSecurity::Tls => Some(self.tls()?),
        };
        let from_first_byte = tls.as_ref().filter(|_| self.security == MailSecurity::Tls);
        let mut line = SmtpConnection::connect(
            (self.host.trim_matches(['[', ']']), self.port),
            Some(self.patience.command),
            &me,
            from_first_byte,
            None,
        )?;
        if let (MailSecurity::StartTls, Some(tls)) = (self.security, &tls) {
            if !line.can_starttls() {
                line.abort();
                bail!("the server offers no STARTTLS; nothing is sent in the clear");
            }
            line.starttls(tls, &me).context("changing to TLS")?;
        }
        if let Some(login) = &self.login {
            let known = Credentials::new(login.user.clone(), login.secret.clone());
            line.auth(login.mechanisms, &known)
                .with_context(|| format!("logging in as `{}`", mask(&login.user)))?;
        }
        Ok(line)
    }

    fn tls(&self) -> Result<TlsParameters> {
        let mut parameters = TlsParameters::builder(self.host.clone());
        if let Some(pem) = &self.trusted_pem {
            let certificate =
                Certificate::from_pem(pem).context("reading the trusted certificates")?;
            parameters = parameters.add_root_certificate(certificate);
        }
        Ok(parameters.build_rustls()?)
    }

    /// Says sender, recipient and DATA; nothing is taken by that.
    fn announce(line: &mut SmtpConnection, mail: &Mail) -> Result<(), (Step, Error)> {
        let options = is_wide(mail).then_some(MailParameter::SmtpUtfEight);
        let from = MailFrom::new(Some(mail.from.clone()), options.into_iter().collect());
        line.command(from).map_err(|e| (Step::MailFrom, e))?;
        let to = Rcpt::new(mail.to.clone(), vec![]);
        line.command(to).map_err(|e| (Step::RcptTo, e))?;
        line.command(Data).map_err(|e| (Step::Data, e))?;
        Ok(())
    }

    /// Puts an error of a step into an answer, and mends or leaves the line.
    fn refused(&mut self, mail: &Mail, step: Step, error: &Error) -> Answer {
        let answered = error.is_permanent() || error.is_transient();
        let outcome = match step {
            _ if error.is_permanent() => Outcome::RefusedForGood,
            _ if error.is_transient() => Outcome::RefusedNow,
            Step::MailFrom | Step::RcptTo | Step::Data => Outcome::RefusedNow,
            Step::Message => Outcome::Unknown,
        };
        let closing = is_line_closed(error);
        let keep = answered
            && !closing
            && self
                .line
                .as_mut()
                .is_some_and(|line| line.command(Rset).is_ok());
        if !keep {
            self.drop_line();
        }
        Answer {
            outcome,
            words: words(mail, step, error),
            about_letter: answered && !closing && step != Step::MailFrom,
        }
    }

    fn drop_line(&mut self) {
        if let Some(mut line) = self.line.take() {
            line.abort();
        }
    }
}

impl Mailer for Smtp {
    fn open(&mut self) -> Result<()> {
        if self.line.is_none() {
            let line = self
                .connect()
                .with_context(|| format!("connecting to {}", self.name()))?;
            self.line = Some(line);
        }
        Ok(())
    }

    fn hand_over(
        &mut self,
        mail: &Mail,
        last_step: &mut dyn FnMut() -> Result<()>,
    ) -> Result<Answer> {
        let mut reused = self.line.is_some();
        loop {
            if let Err(failure) = self.open() {
                return Ok(Answer {
                    outcome: Outcome::RefusedNow,
                    words: clean(mail, &format!("{failure:#}")),
                    about_letter: false,
                });
            }
            let line = self.line.as_mut().expect("the line was opened above");
            if is_wide(mail) && !line.server_info().supports_feature(Extension::SmtpUtfEight) {
                return Ok(Answer {
                    outcome: Outcome::RefusedForGood,
                    words: "the server takes no addresses beyond ASCII (SMTPUTF8)".to_owned(),
                    about_letter: true,
                });
            }
            let Err((step, error)) = Self::announce(line, mail) else {
                break;
            };
            let answer = self.refused(mail, step, &error);
            // A server may close a line that was idle; a new one costs nothing.
            let was_idle = reused && step == Step::MailFrom && is_line_closed(&error);
            if !was_idle {
                return Ok(answer);
            }
            reused = false;
        }
        if let Err(failure) = last_step() {
            // Without the final dot the server throws away what it has.
            self.line = None;
            return Err(failure);
        }
        let line = self.line.as_mut().expect("the line took DATA");
        line.set_timeout(Some(self.patience.message)).ok();
        let sent = line.message(&mail.bytes);
        line.set_timeout(Some(self.patience.command)).ok();
        match sent {
            Ok(response) => Ok(Answer {
                outcome: Outcome::Accepted,
                words: clean(mail, &response.message().collect::<Vec<_>>().join(" ")),
                about_letter: true,
            }),
            Err(error) => Ok(self.refused(mail, Step::Message, &error)),
        }
    }

    /// A server cannot be asked what it took.
    fn look_up(&mut self, _mail: &Mail) -> Result<Outcome> {
        Ok(Outcome::Unknown)
    }

    fn name(&self) -> String {
        format!("the mail server `{}:{}`", self.host, self.port)
    }

    fn try_out(&mut self, from: &lettre::Address) -> Result<Vec<String>> {
        self.open()?;
        let name = self.name();
        let security = self.security;
        let login = self.login.is_some();
        let line = self.line.as_mut().expect("the line was opened above");
        let mut seen = vec![format!("{name} answers")];
        seen.push(match (security, line.is_encrypted()) {
            (_, true) => "the line is encrypted, the certificate is good".to_owned(),
            (_, false) => "the line is not encrypted; it stays on this machine".to_owned(),
        });
        if login {
            seen.push("the login is accepted".to_owned());
        }
        line.command(MailFrom::new(Some(from.clone()), vec![]))
            .with_context(|| format!("naming the sender `{from}`"))?;
        seen.push(format!("the sender `{from}` is accepted"));
        line.command(Rcpt::new(from.clone(), vec![]))
            .with_context(|| format!("naming `{from}` as a recipient"))?;
        seen.push(format!(
            "`{from}` is accepted as a recipient; no letter was sent"
        ));
        line.command(Rset)?;
        self.close();
        Ok(seen)
    }
}

impl Smtp {
    /// Takes leave of the server.
    fn close(&mut self) {
        if let Some(mut line) = self.line.take() {
            // What the server says to that changes nothing any more.
            let _ = line.quit();
        }
    }
}

impl Drop for Smtp {
    fn drop(&mut self) {
        self.close();
    }
}

/// Tells whether the other side is gone, or said that it goes.
fn is_line_closed(error: &Error) -> bool {
    match error.status() {
        Some(code) => code.to_string() == "421",
        None => !error.is_timeout() && !error.is_client(),
    }
}

/// Tells whether an address of the mail needs a server that knows more than ASCII.
fn is_wide(mail: &Mail) -> bool {
    let (from, to): (&str, &str) = (mail.from.as_ref(), mail.to.as_ref());
    !from.is_ascii() || !to.is_ascii()
}

/// Says where the talk ended and in what words.
fn words(mail: &Mail, step: Step, error: &Error) -> String {
    let said = match error.status() {
        Some(code) => {
            let source = std::error::Error::source(error).map(ToString::to_string);
            format!("{code} {}", source.unwrap_or_default())
        }
        None => error.to_string(),
    };
    clean(mail, &format!("{}: {said}", step.name()))
}

/// Returns a server's words on one line, short, without the customer's address.
fn clean(mail: &Mail, said: &str) -> String {
    let to: &str = mail.to.as_ref();
    // A server may repeat the address in letters of its own size.
    let line = one_line(said);
    let small = (line.to_ascii_lowercase(), to.to_ascii_lowercase());
    let mut masked = String::new();
    let mut rest = 0;
    for (at, found) in small.0.match_indices(&small.1) {
        masked.push_str(&line[rest..at]);
        masked.push_str(&mask(to));
        rest = at + found.len();
    }
    masked.push_str(&line[rest..]);
    masked.chars().take(WORDS_MAX).collect()
}
