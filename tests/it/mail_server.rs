//! A mail server for tests, on a free port of this machine, that follows a script.

use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};

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
}

/// What it does at each step.
#[derive(Debug, Clone, Copy)]
pub struct Script {
    pub greeting: Act,
    pub ehlo: Act,
    pub auth: Act,
    pub mail: Act,
    pub rcpt: Act,
    pub data: Act,
    pub end: Act,
}

/// A server that takes everything.
pub const WELL: Script = Script {
    greeting: Act::Say("220 test server"),
    ehlo: Act::Say("250-test server\r\n250-AUTH PLAIN LOGIN\r\n250 8BITMIME"),
    auth: Act::Say("235 welcome"),
    mail: Act::Say("250 ok"),
    rcpt: Act::Say("250 ok"),
    data: Act::Say("354 go on"),
    end: Act::Say("250 taken"),
};

/// A mail of which the server saw the final dot.
#[derive(Debug, Clone)]
pub struct Seen {
    pub from: String,
    pub to: String,
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
                    // The client may hang up at any moment; that is its good right.
                    let _ = talk(line.unwrap(), script, number, &seen);
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

/// Ends the talk.
struct HungUp;

impl From<std::io::Error> for HungUp {
    fn from(_: std::io::Error) -> HungUp {
        HungUp
    }
}

fn talk(
    line: TcpStream,
    script: Script,
    connection: usize,
    seen: &Mutex<Vec<Seen>>,
) -> Result<(), HungUp> {
    let mut out = line.try_clone()?;
    let mut lines = BufReader::new(line);
    let mut act = |act: Act, well: Act| -> Result<(), HungUp> {
        let act = match act {
            Act::DropOnce if connection > 0 => well,
            other => other,
        };
        match act {
            Act::Say(words) => Ok(out.write_all(format!("{words}\r\n").as_bytes())?),
            Act::Drop | Act::DropOnce => Err(HungUp),
            Act::Silence => loop {
                std::thread::sleep(std::time::Duration::from_secs(60));
            },
        }
    };
    act(script.greeting, WELL.greeting)?;
    let (mut from, mut to) = (String::new(), String::new());
    loop {
        let mut command = String::new();
        if lines.read_line(&mut command)? == 0 {
            return Ok(());
        }
        let command = command.trim_end().to_owned();
        match command.split([' ', ':']).next().unwrap_or("") {
            "EHLO" => act(script.ehlo, WELL.ehlo)?,
            "AUTH" => act(script.auth, WELL.auth)?,
            "MAIL" => {
                from = command;
                act(script.mail, WELL.mail)?;
            }
            "RCPT" => {
                to = command;
                act(script.rcpt, WELL.rcpt)?;
            }
            "DATA" => {
                act(script.data, WELL.data)?;
                if !matches!(script.data, Act::Say(words) if !words.starts_with("354")) {
                    let bytes = read_message(&mut lines)?;
                    seen.lock().unwrap().push(Seen {
                        from: from.clone(),
                        to: to.clone(),
                        bytes,
                    });
                    act(script.end, WELL.end)?;
                }
            }
            "RSET" => act(Act::Say("250 ok"), WELL.mail)?,
            "QUIT" => return act(Act::Say("221 bye"), WELL.mail),
            _ => act(Act::Say("500 what"), WELL.mail)?,
        }
    }
}

/// Reads up to the final dot, takes the stuffed dots out.
fn read_message(lines: &mut BufReader<TcpStream>) -> Result<Vec<u8>, HungUp> {
    let mut bytes = Vec::new();
    loop {
        let mut line = Vec::new();
        if lines.read_until(b'\n', &mut line)? == 0 {
            return Err(HungUp);
        }
        if line == b".\r\n" {
            return Ok(bytes);
        }
        bytes.extend_from_slice(line.strip_prefix(b".").unwrap_or(&line));
    }
}
