//! A mail server for tests, on a free port of this machine, that follows a script.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::{ServerConfig, ServerConnection, StreamOwned};

/// The authority that vouches for the server, as a client trusts it.
pub const AUTHORITY_PEM: &[u8] = include_bytes!("../mail/ca.pem");

/// The authority that vouches for the wrong certificates.
pub const SECOND_AUTHORITY_PEM: &[u8] = include_bytes!("../mail/second.ca.pem");

/// Which certificate the server shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    Good,
    Expired,
    /// Of another host.
    Elsewhere,
}

/// What the server does at a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// It says this line.
    Say(&'static str),
    /// It drops the line.
    Drop,
    /// It drops the line of the first connection only, and is well afterwards.
    DropOnce,
    /// It never answers.
    Silence,
    /// It takes its time, and is well then.
    Slowly,
}

/// How long a slow server takes.
pub const SLOWLY: Duration = Duration::from_millis(150);

/// When the line is encrypted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tls {
    Never,
    /// Offered, and begun when asked for.
    OnDemand,
    FromFirstByte,
}

/// What it does at each step.
#[derive(Debug, Clone, Copy)]
pub struct Script {
    pub tls: Tls,
    pub certificate: Shown,
    pub greeting: Act,
    /// EHLO on a line that may be encrypted and is not yet.
    pub plain_ehlo: Act,
    pub starttls: Act,
    pub ehlo: Act,
    pub auth: Act,
    pub mail: Act,
    pub rcpt: Act,
    /// RCPT for anybody after the first recipient.
    pub other_rcpt: Act,
    pub data: Act,
    pub end: Act,
    /// RSET, after a letter that was refused.
    pub reset: Act,
    pub quit: Act,
}

/// A server that takes everything.
pub const WELL: Script = Script {
    tls: Tls::Never,
    certificate: Shown::Good,
    greeting: Act::Say("220 test server"),
    plain_ehlo: Act::Say("250-test server\r\n250 STARTTLS"),
    starttls: Act::Say("220 go on"),
    ehlo: Act::Say("250-test server\r\n250-AUTH PLAIN LOGIN\r\n250 8BITMIME"),
    auth: Act::Say("235 welcome"),
    mail: Act::Say("250 ok"),
    rcpt: Act::Say("250 ok"),
    other_rcpt: Act::Say("250 ok"),
    data: Act::Say("354 go on"),
    end: Act::Say("250 taken"),
    reset: Act::Say("250 ok"),
    quit: Act::Say("221 bye"),
};

/// A mail of which the server saw the final dot.
#[derive(Debug, Clone)]
pub struct Seen {
    pub from: String,
    /// The recipients that were taken.
    pub to: Vec<String>,
    /// What the client said to log in, if it did.
    pub auth: Option<String>,
    pub encrypted: bool,
    pub bytes: Vec<u8>,
}

/// The running server.
pub struct MailServer {
    pub port: u16,
    seen: Arc<Mutex<Vec<Seen>>>,
    connections: Arc<AtomicUsize>,
}

impl MailServer {
    /// Starts a server; it ends with the test program.
    pub fn start(script: Script) -> MailServer {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let server = MailServer {
            port: listener.local_addr().unwrap().port(),
            seen: Arc::default(),
            connections: Arc::default(),
        };
        let (seen, connections) = (server.seen.clone(), server.connections.clone());
        std::thread::spawn(move || {
            for line in listener.incoming() {
                let number = connections.fetch_add(1, Ordering::SeqCst);
                let seen = seen.clone();
                std::thread::spawn(move || {
                    let mut talk = Talk {
                        line: BufReader::new(Line::Plain(line.unwrap())),
                        script,
                        connection: number,
                        auth: None,
                    };
                    // The client may hang up at any moment; that is its good right.
                    let _ = talk.run(&seen);
                });
            }
        });
        server
    }

    /// Returns the mails whose final dot came through.
    pub fn seen(&self) -> Vec<Seen> {
        self.seen.lock().unwrap().clone()
    }

    /// Returns how many connections were made.
    pub fn connections(&self) -> usize {
        self.connections.load(Ordering::SeqCst)
    }
}

/// The line to one client.
enum Line {
    Plain(TcpStream),
    Encrypted(Box<StreamOwned<ServerConnection, TcpStream>>),
    Gone,
}

impl Read for Line {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        match self {
            Line::Plain(stream) => stream.read(into),
            Line::Encrypted(stream) => stream.read(into),
            Line::Gone => Ok(0),
        }
    }
}

impl Write for Line {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        match self {
            Line::Plain(stream) => stream.write(bytes),
            Line::Encrypted(stream) => stream.write(bytes),
            Line::Gone => Ok(0),
        }
    }

    fn flush(&mut self) -> std::io::Result<()> {
        match self {
            Line::Plain(stream) => stream.flush(),
            Line::Encrypted(stream) => stream.flush(),
            Line::Gone => Ok(()),
        }
    }
}

/// Ends the talk.
struct HungUp;

impl From<std::io::Error> for HungUp {
    fn from(_: std::io::Error) -> HungUp {
        HungUp
    }
}

struct Talk {
    line: BufReader<Line>,
    script: Script,
    connection: usize,
    auth: Option<String>,
}

impl Talk {
    fn run(&mut self, seen: &Mutex<Vec<Seen>>) -> Result<(), HungUp> {
        let script = self.script;
        if script.tls == Tls::FromFirstByte {
            self.encrypt();
        }
        self.act(script.greeting, WELL.greeting)?;
        let (mut from, mut to) = (String::new(), Vec::new());
        let mut asked = 0;
        loop {
            let mut command = String::new();
            if self.line.read_line(&mut command)? == 0 {
                return Ok(());
            }
            let command = command.trim_end().to_owned();
            match command.split([' ', ':']).next().unwrap_or("") {
                "EHLO" if script.tls == Tls::OnDemand && !self.is_encrypted() => {
                    self.act(script.plain_ehlo, WELL.plain_ehlo)?;
                }
                "EHLO" => self.act(script.ehlo, WELL.ehlo)?,
                "STARTTLS" => {
                    self.act(script.starttls, WELL.starttls)?;
                    if !matches!(script.starttls, Act::Say(words) if !words.starts_with("220")) {
                        self.encrypt();
                    }
                }
                "AUTH" => self.log_in(command)?,
                "MAIL" => {
                    (from, to, asked) = (command, Vec::new(), 0);
                    self.act(script.mail, WELL.mail)?;
                }
                "RCPT" => {
                    asked += 1;
                    let act = match asked {
                        1 => script.rcpt,
                        _ => script.other_rcpt,
                    };
                    if !matches!(act, Act::Say(words) if !words.starts_with("250")) {
                        to.push(command);
                    }
                    self.act(act, WELL.rcpt)?;
                }
                "DATA" => {
                    self.act(script.data, WELL.data)?;
                    if !matches!(script.data, Act::Say(words) if !words.starts_with("354")) {
                        let bytes = self.read_message()?;
                        seen.lock().unwrap().push(Seen {
                            from: from.clone(),
                            to: to.clone(),
                            auth: self.auth.clone(),
                            encrypted: self.is_encrypted(),
                            bytes,
                        });
                        self.act(script.end, WELL.end)?;
                    }
                }
                "RSET" => self.act(script.reset, WELL.reset)?,
                "QUIT" => return self.act(script.quit, WELL.quit),
                _ => self.say("500 what")?,
            }
        }
    }

    /// Asks for name and password if the client wants to be asked (LOGIN). A server that
    /// answers with a challenge of its own gets an answer and refuses (XOAUTH2).
    fn log_in(&mut self, command: String) -> Result<(), HungUp> {
        let asks: &[&str] = match (command.as_str(), self.script.auth) {
            // "Username:" and "Password:" in base64.
            ("AUTH LOGIN", _) => &["334 VXNlcm5hbWU6", "334 UGFzc3dvcmQ6"],
            (_, Act::Say(words)) if words.starts_with("334") => &[words],
            _ => &[],
        };
        let mut said = vec![command];
        for ask in asks {
            self.say(ask)?;
            let mut answer = String::new();
            self.line.read_line(&mut answer)?;
            said.push(answer.trim_end().to_owned());
        }
        self.auth = Some(said.join(" "));
        match self.script.auth {
            Act::Say(words) if words.starts_with("334") => self.say("535 5.7.8 it expired"),
            act => self.act(act, WELL.auth),
        }
    }

    fn say(&mut self, words: &str) -> Result<(), HungUp> {
        let line = self.line.get_mut();
        line.write_all(format!("{words}\r\n").as_bytes())?;
        Ok(line.flush()?)
    }

    fn act(&mut self, act: Act, well: Act) -> Result<(), HungUp> {
        let act = match act {
            Act::DropOnce if self.connection > 0 => well,
            other => other,
        };
        match act {
            Act::Say(words) => self.say(words),
            Act::Drop | Act::DropOnce => Err(HungUp),
            Act::Slowly => {
                std::thread::sleep(SLOWLY);
                match well {
                    Act::Say(words) => self.say(words),
                    _ => Err(HungUp),
                }
            }
            Act::Silence => loop {
                std::thread::sleep(Duration::from_secs(60));
            },
        }
    }

    fn is_encrypted(&self) -> bool {
        matches!(self.line.get_ref(), Line::Encrypted(_))
    }

    fn encrypt(&mut self) {
        let session = ServerConnection::new(tls_config(self.script.certificate)).unwrap();
        let line = std::mem::replace(self.line.get_mut(), Line::Gone);
        if let Line::Plain(stream) = line {
            *self.line.get_mut() = Line::Encrypted(Box::new(StreamOwned::new(session, stream)));
        }
    }

    /// Reads up to the final dot, takes the stuffed dots out.
    fn read_message(&mut self) -> Result<Vec<u8>, HungUp> {
        let mut bytes = Vec::new();
        loop {
            let mut line = Vec::new();
            if self.line.read_until(b'\n', &mut line)? == 0 {
                return Err(HungUp);
            }
            if line == b".\r\n" {
                return Ok(bytes);
            }
            bytes.extend_from_slice(line.strip_prefix(b".").unwrap_or(&line));
        }
    }
}

fn tls_config(shown: Shown) -> Arc<ServerConfig> {
    let (certificate, key): (&[u8], &[u8]) = match shown {
        Shown::Good => (
            include_bytes!("../mail/server.pem"),
            include_bytes!("../mail/server.key.pem"),
        ),
        Shown::Expired => (
            include_bytes!("../mail/expired.pem"),
            include_bytes!("../mail/second.key.pem"),
        ),
        Shown::Elsewhere => (
            include_bytes!("../mail/elsewhere.pem"),
            include_bytes!("../mail/second.key.pem"),
        ),
    };
    let certificate = CertificateDer::from_pem_slice(certificate);
    let key = PrivateKeyDer::from_pem_slice(key);
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(vec![certificate.unwrap()], key.unwrap());
    Arc::new(config.unwrap())
}
