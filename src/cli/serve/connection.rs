//! One connection: a request read within limits of size and time, an answer written, closed.
//!
//! A subset of HTTP/1.1 (RFC 9112): one request a connection, bodies by `Content-Length` alone. `httparse` takes the
//! head apart.

use std::io::{ErrorKind, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant};

use crate::live::{Head, POLICY, Refusal, admit};

/// Largest head (bytes).
const MOST_HEAD: usize = 16 * 1024;
/// Most header lines.
const MOST_LINES: usize = 64;
/// Time for the whole head; a browser that opens a connection ahead of need finds it closed and opens another.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Time for the whole body.
const BODY_TIME: Duration = Duration::from_secs(15);
/// Time for writing the answer to somebody who does not read.
const WRITE_TIME: Duration = Duration::from_secs(15);
/// How long and how much is still read after an answer, so that the other side gets to see it.
const LINGER_TIME: Duration = Duration::from_secs(1);
const LINGER_BYTES: usize = 16 * 1024 * 1024;

/// A request that was let in.
#[derive(Debug)]
pub struct Request {
    /// its head
    pub head: Head,
    /// what followed `?` in its target
    pub query: Option<String>,
    /// its body
    pub body: Vec<u8>,
}

/// Answer to one request.
#[derive(Debug)]
pub struct Answer {
    /// HTTP status
    pub status: u16,
    /// media type
    pub kind: &'static str,
    /// name of the file it is to be kept as
    pub file: Option<&'static str>,
    /// the body
    pub body: Vec<u8>,
}

impl Answer {
    /// A body of a kind.
    pub fn of(kind: &'static str, body: impl Into<Vec<u8>>) -> Self {
        Self { status: 200, kind, file: None, body: body.into() }
    }

    /// JSON of a value.
    pub fn json(value: &impl serde::Serialize) -> Self {
        // numbers, strings and lists: writing cannot fail
        Self::of("application/json", serde_json::to_vec(value).unwrap_or_default())
    }

    /// A message for the page, with a status.
    pub fn message(status: u16, message: &str) -> Self {
        Self { status, ..Self::json(&serde_json::json!({ "message": message })) }
    }
}

/// Reads one request. `Err(None)` is a connection that brought none: nobody is there to be answered.
pub fn read(stream: &mut TcpStream, port: u16) -> Result<Request, Option<Refusal>> {
    let refuse = |status, message: &str| Some(Refusal { status, message: message.to_owned() });
    let until = Instant::now() + HEAD_TIME;
    let mut bytes = Vec::new();
    let (head, query, start) = loop {
        if bytes.len() > MOST_HEAD {
            return Err(refuse(431, "the head of the request is too large"));
        }
        match more(stream, &mut bytes, until, 4096) {
            Ok(0) if bytes.is_empty() => return Err(None),
            Ok(0) => return Err(refuse(400, "the request ends in its head")),
            Ok(_) => {}
            Err(ErrorKind::WouldBlock | ErrorKind::TimedOut) if !bytes.is_empty() => {
                return Err(refuse(408, "the request took too long"));
            }
            Err(_) => return Err(None),
        }
        if let Some(found) = parse(&bytes)? {
            break found;
        }
    };
    admit(&head, port).map_err(Some)?;
    let length = head.content_length.filter(|_| head.method == "POST").unwrap_or(0);
    let mut body = bytes.split_off(start);
    body.truncate(length);
    let until = Instant::now() + BODY_TIME;
    while body.len() < length {
        let left = length - body.len();
        match more(stream, &mut body, until, left.min(64 * 1024)) {
            Ok(0) => return Err(refuse(400, "the request ends in its body")),
            Ok(_) => {}
            Err(ErrorKind::WouldBlock | ErrorKind::TimedOut) => {
                return Err(refuse(408, "the request took too long"));
            }
            Err(_) => return Err(None),
        }
    }
    Ok(Request { head, query, body })
}

/// Reads at most `most` bytes more, before a moment.
fn more(
    stream: &mut TcpStream,
    bytes: &mut Vec<u8>,
    until: Instant,
    most: usize,
) -> Result<usize, ErrorKind> {
    let left = until.saturating_duration_since(Instant::now());
    if left.is_zero() {
        return Err(ErrorKind::TimedOut);
    }
    stream.set_read_timeout(Some(left)).map_err(|error| error.kind())?;
    let before = bytes.len();
    bytes.resize(before + most, 0);
    let read = loop {
        match stream.read(&mut bytes[before..]) {
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            other => break other,
        }
    };
    bytes.truncate(before + read.as_ref().copied().unwrap_or(0));
    read.map_err(|error| error.kind())
}

type Parsed = (Head, Option<String>, usize);

/// The head, what followed `?`, and where the body begins; `None` while the head is not whole.
fn parse(bytes: &[u8]) -> Result<Option<Parsed>, Option<Refusal>> {
    let refuse = |status, message: &str| Err(Some(Refusal { status, message: message.to_owned() }));
    let mut lines = [httparse::EMPTY_HEADER; MOST_LINES];
    let mut request = httparse::Request::new(&mut lines);
    let start = match request.parse(bytes) {
        Ok(httparse::Status::Partial) => return Ok(None),
        Ok(httparse::Status::Complete(start)) => start,
        Err(httparse::Error::TooManyHeaders) => return refuse(431, "the request has too many header lines"),
        Err(_) => return refuse(400, "this is no HTTP request"),
    };
    let method = request.method.unwrap_or_default().to_owned();
    if !matches!(method.as_str(), "GET" | "HEAD" | "POST") {
        return refuse(405, "expected GET, HEAD or POST");
    }
    let target = request.path.unwrap_or_default();
    let (path, query) = match target.split_once('?') {
        Some((path, query)) => (path, Some(query.to_owned())),
        None => (target, None),
    };
    let mut head = Head { method, path: path.to_owned(), ..Head::default() };
    for line in request.headers.iter() {
        let value = String::from_utf8_lossy(line.value).trim().to_owned();
        let place = match line.name.to_ascii_lowercase().as_str() {
            "host" => &mut head.host,
            "origin" => &mut head.origin,
            "sec-fetch-site" => &mut head.fetch_site,
            "content-type" => &mut head.content_type,
            "content-length" => {
                // digits alone: no sign, no list
                let length = value.bytes().all(|b| b.is_ascii_digit()).then(|| value.parse().ok()).flatten();
                if length.is_none() || head.content_length.is_some() {
                    return refuse(400, "Content-Length is not one number");
                }
                head.content_length = length;
                continue;
            }
            "transfer-encoding" => return refuse(411, "expected a Content-Length, not a transfer encoding"),
            _ => continue,
        };
        if place.is_some() {
            return refuse(400, "a header line is there twice that may be there once");
        }
        *place = Some(value);
    }
    Ok(Some((head, query, start)))
}

/// Writes an answer and closes; the other side may have closed before.
pub fn write(stream: &mut TcpStream, answer: &Answer, with_body: bool) {
    let mut head = format!(
        "HTTP/1.1 {} {}\r\nContent-Type: {}\r\nContent-Length: {}\r\nConnection: close\r\nCache-Control: no-store\r\n\
         Content-Security-Policy: {POLICY}\r\nX-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\n\
         Cross-Origin-Resource-Policy: same-origin\r\nCross-Origin-Opener-Policy: same-origin\r\n",
        answer.status,
        phrase(answer.status),
        answer.kind,
        answer.body.len()
    );
    if answer.status == 405 {
        head.push_str("Allow: GET, HEAD, POST\r\n");
    }
    if let Some(name) = answer.file {
        head.push_str(&format!("Content-Disposition: attachment; filename=\"{name}\"\r\n"));
    }
    head.push_str("\r\n");
    let _ = stream.set_write_timeout(Some(WRITE_TIME));
    let mut whole = head.into_bytes();
    if with_body {
        whole.extend_from_slice(&answer.body);
    }
    if stream.write_all(&whole).and_then(|()| stream.shutdown(Shutdown::Write)).is_ok() {
        linger(stream);
    }
}

/// Reads the rest of the request: closing with unread bytes would reset the connection before the answer is read.
fn linger(stream: &mut TcpStream) {
    let until = Instant::now() + LINGER_TIME;
    let mut bytes = Vec::new();
    let mut left = LINGER_BYTES;
    while left > 0 {
        bytes.clear();
        match more(stream, &mut bytes, until, left.min(64 * 1024)) {
            Ok(read) if read > 0 => left -= read,
            _ => return,
        }
    }
}

/// The status in words (RFC 9110, section 15).
fn phrase(status: u16) -> &'static str {
    match status {
        200 => "OK",
        204 => "No Content",
        400 => "Bad Request",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        409 => "Conflict",
        411 => "Length Required",
        413 => "Content Too Large",
        415 => "Unsupported Media Type",
        421 => "Misdirected Request",
        422 => "Unprocessable Content",
        431 => "Request Header Fields Too Large",
        503 => "Service Unavailable",
        _ => "Error",
    }
}
