//! A web server for tests, on a free port of this machine, that gives what it is told.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpListener;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::{ServerConfig, ServerConnection, StreamOwned};

/// What it gives to one question.
#[derive(Debug, Clone)]
pub struct Reply {
    status: u16,
    headers: Vec<(String, String)>,
    body: Vec<u8>,
    manner: Manner,
}

/// How it gives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Manner {
    /// All of it.
    Whole,
    /// So many bytes of the body, then it hangs up.
    Cut(usize),
    /// It never says a word.
    Silent,
    /// A byte now and then.
    Dripping,
}

impl Reply {
    pub fn new(status: u16, body: impl Into<Vec<u8>>) -> Reply {
        Reply {
            status,
            headers: Vec::new(),
            body: body.into(),
            manner: Manner::Whole,
        }
    }

    /// A redirection to a path of the same server.
    pub fn moved(to: &str) -> Reply {
        Reply::new(302, "").header("Location", to)
    }

    pub fn header(mut self, name: &str, value: &str) -> Reply {
        self.headers.push((name.to_owned(), value.to_owned()));
        self
    }

    pub fn cut(self, bytes: usize) -> Reply {
        let manner = Manner::Cut(bytes);
        Reply { manner, ..self }
    }

    pub fn silent(self) -> Reply {
        let manner = Manner::Silent;
        Reply { manner, ..self }
    }

    pub fn dripping(self) -> Reply {
        let manner = Manner::Dripping;
        Reply { manner, ..self }
    }
}

/// The running server; it ends with the test program.
pub struct Server {
    port: u16,
    scheme: &'static str,
    seen: Arc<Mutex<Vec<String>>>,
}

impl Server {
    /// Gives the replies in their order, and the last one from then on.
    pub fn start(replies: Vec<Reply>) -> Server {
        Server::with(replies, None)
    }

    /// The same over TLS, as `localhost`.
    pub fn private(replies: Vec<Reply>) -> Server {
        let certificates = CertificateDer::pem_slice_iter(include_bytes!("../../mail/server.pem"))
            .collect::<Result<_, _>>()
            .unwrap();
        let key = PrivateKeyDer::from_pem_slice(include_bytes!("../../mail/server.key.pem"));
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_no_client_auth()
            .with_single_cert(certificates, key.unwrap())
            .unwrap();
        Server::with(replies, Some(Arc::new(config)))
    }

    fn with(replies: Vec<Reply>, tls: Option<Arc<ServerConfig>>) -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let server = Server {
            port: listener.local_addr().unwrap().port(),
            scheme: if tls.is_some() { "https" } else { "http" },
            seen: Arc::default(),
        };
        let seen = server.seen.clone();
        std::thread::spawn(move || {
            for line in listener.incoming() {
                let (line, seen, tls) = (line.unwrap(), seen.clone(), tls.clone());
                let replies = replies.clone();
                std::thread::spawn(move || {
                    // The client may hang up at any moment; that is its good right.
                    let _ = match tls {
                        None => talk(line, &replies, &seen),
                        Some(tls) => {
                            let connection = ServerConnection::new(tls).unwrap();
                            talk(StreamOwned::new(connection, line), &replies, &seen)
                        }
                    };
                });
            }
        });
        server
    }

    pub fn address(&self) -> String {
        let host = if self.scheme == "https" {
            "localhost"
        } else {
            "127.0.0.1"
        };
        format!("{}://{host}:{}", self.scheme, self.port)
    }

    /// Returns the heads of all questions so far.
    pub fn seen(&self) -> Vec<String> {
        self.seen.lock().unwrap().clone()
    }
}

fn talk(
    line: impl Read + Write,
    replies: &[Reply],
    seen: &Mutex<Vec<String>>,
) -> std::io::Result<()> {
    let mut line = BufReader::new(line);
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        if line.read_line(&mut head)? == 0 {
            return Ok(());
        }
    }
    let number = {
        let mut seen = seen.lock().unwrap();
        seen.push(head);
        seen.len() - 1
    };
    let reply = replies.get(number).or(replies.last()).unwrap();
    give(line.get_mut(), reply)
}

fn give(line: &mut impl Write, reply: &Reply) -> std::io::Result<()> {
    if reply.manner == Manner::Silent {
        std::thread::sleep(Duration::from_secs(30));
        return Ok(());
    }
    let mut head = format!("HTTP/1.1 {} as told\r\nConnection: close\r\n", reply.status);
    if !matches!(reply.status, 204 | 304) {
        head.push_str(&format!("Content-Length: {}\r\n", reply.body.len()));
    }
    for (name, value) in &reply.headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    line.write_all(head.as_bytes())?;
    line.write_all(b"\r\n")?;
    match reply.manner {
        Manner::Cut(bytes) => line.write_all(&reply.body[..bytes])?,
        Manner::Dripping => {
            for byte in &reply.body {
                line.write_all(&[*byte])?;
                line.flush()?;
                std::thread::sleep(Duration::from_millis(100));
            }
        }
        Manner::Whole | Manner::Silent => line.write_all(&reply.body)?,
    }
    line.flush()
}

/// Packs bytes as gzip in stored blocks: larger than before, but gzip.
///
/// # Sources
/// RFC 1951, 3.2.4 and RFC 1952, 2.3; CRC-32 by its polynomial, bit by bit.
pub fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut out = vec![0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 255];
    let blocks: Vec<&[u8]> = bytes.chunks(60_000).collect();
    for (index, block) in blocks.iter().enumerate() {
        out.push(u8::from(index + 1 == blocks.len()));
        let length = block.len() as u16;
        out.extend(length.to_le_bytes());
        out.extend((!length).to_le_bytes());
        out.extend(*block);
    }
    let crc = bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ (0xedb8_8320 & (crc & 1).wrapping_neg())
        })
    });
    out.extend((!crc).to_le_bytes());
    out.extend((bytes.len() as u32).to_le_bytes());
    out
}

/// A port at which nobody listens.
pub fn nobody() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().port()
}
