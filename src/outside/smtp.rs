//! Mails to a mail server, step by step, so that each step's answer is known.
//!
//! Up to the end of the message nothing has been taken: a line that breaks
//! before leaves no doubt. After the final dot the server may have taken it
//! even if its answer never comes (RFC 1047; RFC 5321, 6.1): unknown.

mod words;

use std::fmt::Display;
use std::time::Duration;

use anyhow::{Context, Result, bail};
use lettre::Address;
use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::{Certificate, SmtpConnection, TlsParameters};
use lettre::transport::smtp::commands::{Auth, Data, Mail as MailFrom, Rcpt, Rset};
use lettre::transport::smtp::extension::{ClientId, Extension, MailParameter};
use lettre::transport::smtp::response::{Response, Severity};

use super::mail::Mail;
use super::mailer::{Answer, LastStep, Mailer, Outcome, Refused};
use crate::notice::mask;
use crate::studio::MailSecurity;
use words::{clean, plain, words, words_for};

/// How long the server may take. [s]
///
/// # Sources
/// RFC 5321, 4.5.3.2: five minutes for a command are the least a waiting sender
/// should grant; a person waits here, so one is taken. Ten minutes for the end
/// of the message: giving up earlier would make doubt where there is none.
const COMMAND_SECONDS: u64 = 60;
const MESSAGE_SECONDS: u64 = 600;

/// How long the server may take to say goodbye, which nothing depends on. [s]
const GOODBYE_SECONDS: u64 = 5;

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

/// What went wrong at a step.
enum Trouble {
    /// The server refused, or the line did.
    Error(Error),
    /// The server said yes to something else: it and we are not at the same point of the
    /// talk, and nothing that it says can be relied on.
    OutOfTurn(String),
}

/// Which yes a step wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Yes {
    /// It is done.
    Done,
    /// Go on with the message (354).
    GoOn,
}

/// Says something to the server and waits for its yes.
fn ask(line: &mut SmtpConnection, command: impl Display, wanted: Yes) -> Result<(), Trouble> {
    let response = line.command(command).map_err(Trouble::Error)?;
    in_turn(&response, wanted)
}

/// Tells whether a yes of the server is the one that the step wants.
fn in_turn(response: &Response, wanted: Yes) -> Result<(), Trouble> {
    let is_in_turn = match wanted {
        Yes::Done => response.code().severity == Severity::PositiveCompletion,
        Yes::GoOn => response.has_code(354),
    };
    match is_in_turn {
        true => Ok(()),
        false => Err(Trouble::OutOfTurn(response.code().to_string())),
    }
}

impl Trouble {
    fn is_permanent(&self) -> bool {
        matches!(self, Trouble::Error(error) if error.is_permanent())
    }

    fn is_transient(&self) -> bool {
        matches!(self, Trouble::Error(error) if error.is_transient())
    }

    /// Tells whether the server refused in words.
    fn is_answered(&self) -> bool {
        self.is_permanent() || self.is_transient()
    }

    /// Tells whether the other side is gone, or said that it goes.
    fn is_line_closed(&self) -> bool {
        match self {
            Trouble::OutOfTurn(_) => true,
            Trouble::Error(error) => match error.status() {
                Some(code) => code.to_string() == "421",
                None => !error.is_timeout() && !error.is_client(),
            },
        }
    }

    /// Tells whether the server wants a login, or another one: no fault of the recipient's.
    ///
    /// # Sources
    /// RFC 4954, 6: codes 530, 534, 535, 538.
    fn wants_login(&self) -> bool {
        let code = match self {
            Trouble::Error(error) => error.status().map(|code| code.to_string()),
            Trouble::OutOfTurn(_) => None,
        };
        code.is_some_and(|code| matches!(code.as_str(), "530" | "534" | "535" | "538"))
    }
}

/// A recipient that the server takes a mail not for.
struct NotFor {
    /// Index among those asked for.
    index: usize,
    trouble: Trouble,
}

impl NotFor {
    fn refused(&self) -> Refused {
        let outcome = match self.trouble.is_permanent() {
            true => Outcome::RefusedForGood,
            false => Outcome::RefusedNow,
        };
        Refused {
            index: self.index,
            outcome,
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
        )
        .map_err(plain)?;
        if let (MailSecurity::StartTls, Some(tls)) = (self.security, &tls) {
            if !line.can_starttls() {
                line.abort();
                bail!("the server offers no STARTTLS; nothing is sent in the clear");
            }
            line.starttls(tls, &me)
                .map_err(plain)
                .context("changing to TLS")?;
        }
        if let Some(login) = &self.login {
            log_in(&mut line, login)
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

    /// Says sender, recipients and DATA; nothing is taken by that. Returns for whom
    /// the server refuses it, as long as it takes it for somebody.
    fn announce(
        line: &mut SmtpConnection,
        mail: &Mail,
        to: &[Address],
    ) -> Result<Vec<NotFor>, (Step, Trouble)> {
        let from = mail_from(&mail.from, is_wide(mail));
        ask(line, from, Yes::Done).map_err(|t| (Step::MailFrom, t))?;
        let mut refused: Vec<NotFor> = Vec::new();
        for (index, address) in to.iter().enumerate() {
            let Err(trouble) = ask(line, Rcpt::new(address.clone(), vec![]), Yes::Done) else {
                continue;
            };
            let is_about_one =
                trouble.is_answered() && !trouble.is_line_closed() && !trouble.wants_login();
            if !is_about_one || to.len() == 1 {
                return Err((Step::RcptTo, trouble));
            }
            refused.push(NotFor { index, trouble });
        }
        match refused.len() == to.len() {
            true => Ok(refused),
            false => ask(line, Data, Yes::GoOn)
                .map(|()| refused)
                .map_err(|t| (Step::Data, t)),
        }
    }

    /// Puts an error of a step into an answer, and mends or leaves the line.
    fn refused(&mut self, mail: &Mail, step: Step, trouble: &Trouble) -> Answer {
        let answered = trouble.is_answered();
        let outcome = match step {
            _ if trouble.is_permanent() => Outcome::RefusedForGood,
            _ if trouble.is_transient() => Outcome::RefusedNow,
            Step::MailFrom | Step::RcptTo | Step::Data => Outcome::RefusedNow,
            Step::Message => Outcome::Unknown,
        };
        let closing = trouble.is_line_closed();
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
            refused: vec![],
            words: words(mail, step, trouble),
            about_letter: answered && !closing && step != Step::MailFrom && !trouble.wants_login(),
        }
    }

    /// Takes back a mail that the server takes for nobody.
    fn refused_for_all(&mut self, mail: &Mail, to: &[Address], refused: &[NotFor]) -> Answer {
        let taken_back = self.line.as_mut().map(|line| line.command(Rset));
        if taken_back.is_none_or(|answer| answer.is_err()) {
            self.drop_line();
        }
        Answer {
            outcome: Outcome::RefusedNow,
            refused: refused.iter().map(NotFor::refused).collect(),
            words: words_for(mail, to, refused).join("; "),
            about_letter: true,
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
        to: &[Address],
        last_step: &mut LastStep,
    ) -> Result<Answer> {
        let mut reused = self.line.is_some();
        let refused = loop {
            if let Err(failure) = self.open() {
                return Ok(Answer {
                    outcome: Outcome::RefusedNow,
                    refused: vec![],
                    words: clean(mail, &format!("{failure:#}")),
                    about_letter: false,
                });
            }
            let line = self.line.as_mut().expect("the line was opened above");
            if is_wide(mail) && !line.server_info().supports_feature(Extension::SmtpUtfEight) {
                return Ok(Answer {
                    outcome: Outcome::RefusedForGood,
                    refused: vec![],
                    words: words_of_wide(mail),
                    about_letter: true,
                });
            }
            let (step, trouble) = match Self::announce(line, mail, to) {
                Ok(refused) => break refused,
                Err(found) => found,
            };
            let answer = self.refused(mail, step, &trouble);
            // A server may close a line that was idle; a new one costs nothing.
            let was_idle = reused && step == Step::MailFrom && trouble.is_line_closed();
            if !was_idle {
                return Ok(answer);
            }
            reused = false;
        };
        if refused.len() == to.len() {
            return Ok(self.refused_for_all(mail, to, &refused));
        }
        let not_for: Vec<Refused> = refused.iter().map(NotFor::refused).collect();
        if let Err(failure) = last_step(&not_for) {
            // Without the final dot the server throws away what it has.
            self.line = None;
            return Err(failure);
        }
        let line = self.line.as_mut().expect("the line took DATA");
        line.set_timeout(Some(self.patience.message)).ok();
        let sent = line.message(&mail.bytes).map_err(Trouble::Error);
        line.set_timeout(Some(self.patience.command)).ok();
        let taken = sent.and_then(|response| in_turn(&response, Yes::Done).map(|()| response));
        let mut answer = match taken {
            Ok(response) => Answer {
                outcome: Outcome::Accepted,
                refused: vec![],
                words: clean(mail, &response.message().collect::<Vec<_>>().join(" ")),
                about_letter: true,
            },
            Err(trouble) => self.refused(mail, Step::Message, &trouble),
        };
        if !refused.is_empty() {
            let mut words = words_for(mail, to, &refused);
            words.push(answer.words);
            answer.words = words.join("; ");
        }
        Ok(Answer {
            refused: not_for,
            ..answer
        })
    }

    /// A server cannot be asked what it took.
    fn look_up(&mut self, _mail: &Mail) -> Result<Outcome> {
        Ok(Outcome::Unknown)
    }

    fn name(&self) -> String {
        format!("the mail server `{}:{}`", self.host, self.port)
    }

    fn try_out(&mut self, from: &Address) -> Result<Vec<String>> {
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
        let is_wide = !AsRef::<str>::as_ref(from).is_ascii();
        line.command(mail_from(from, is_wide))
            .map_err(plain)
            .with_context(|| format!("naming the sender `{from}`"))?;
        seen.push(format!("the sender `{from}` is accepted"));
        line.command(Rcpt::new(from.clone(), vec![]))
            .map_err(plain)
            .with_context(|| format!("naming `{from}` as a recipient"))?;
        seen.push(format!(
            "`{from}` is accepted as a recipient; no letter was sent"
        ));
        self.close();
        Ok(seen)
    }
}

impl Smtp {
    /// Takes leave of the server.
    fn close(&mut self) {
        if let Some(mut line) = self.line.take() {
            // What the server says to that changes nothing any more.
            let _ = line.set_timeout(Some(Duration::from_secs(GOODBYE_SECONDS)));
            let _ = line.quit();
        }
    }
}

impl Drop for Smtp {
    fn drop(&mut self) {
        self.close();
    }
}

/// Logs in by the first way that the server knows.
fn log_in(line: &mut SmtpConnection, login: &Login) -> Result<()> {
    let Some(mechanism) = line.server_info().get_auth_mechanism(login.mechanisms) else {
        let ours: Vec<String> = login.mechanisms.iter().map(|m| format!("`{m}`")).collect();
        bail!("the server offers no login by {}", ours.join(" or by "));
    };
    let known = Credentials::new(login.user.clone(), login.secret.clone());
    if mechanism != Mechanism::Xoauth2 {
        line.auth(login.mechanisms, &known).map_err(plain)?;
        return Ok(());
    }
    let token = Auth::new(mechanism, known, None).map_err(plain)?;
    let answer = line.command(token).map_err(plain)?;
    if answer.has_code(334) {
        // A token is refused by a challenge that wants an empty answer; then comes why.
        line.command("\r\n").map_err(plain)?;
    }
    Ok(())
}

/// Names the sender; `is_wide` asks for more than ASCII.
fn mail_from(from: &Address, is_wide: bool) -> MailFrom {
    let options = is_wide.then_some(MailParameter::SmtpUtfEight);
    MailFrom::new(Some(from.clone()), options.into_iter().collect())
}

/// Tells whether an address of the mail needs a server that knows more than ASCII.
fn is_wide(mail: &Mail) -> bool {
    addresses(mail).any(|address| !address.is_ascii())
}

/// Says which addresses of the mail the server cannot take.
fn words_of_wide(mail: &Mail) -> String {
    let wide = addresses(mail).filter(|address| !address.is_ascii());
    let wide: Vec<String> = wide.map(mask).collect();
    format!(
        "the server takes no addresses beyond ASCII (SMTPUTF8): {}",
        wide.join(", ")
    )
}

/// Returns the sender's address and those of the recipients.
fn addresses(mail: &Mail) -> impl Iterator<Item = &str> {
    [&mail.from].into_iter().chain(&mail.to).map(AsRef::as_ref)
}
