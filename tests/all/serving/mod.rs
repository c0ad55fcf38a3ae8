//! The page of `serve` as a browser, a careless program and a hostile one meet it: everything goes through the binary
//! and its socket.

mod answers;
mod visitors;

use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};

/// A running page, ended with the test.
struct Page {
    child: Child,
    port: u16,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

struct Reply {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Reply {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    #[track_caller]
    fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }

    fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| {
            let (found, value) = line.split_once(':')?;
            found.eq_ignore_ascii_case(name).then(|| value.trim())
        })
    }
}

impl Page {
    fn open(arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_flatspire"))
            .args(["serve", "--port", "0", "--json"])
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let said: Value = serde_json::from_str(&line).unwrap();
        let address = said["address"].as_str().unwrap();
        let port = address.trim_end_matches('/').rsplit(':').next().unwrap().parse().unwrap();
        Self { child, port }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_mins(1))).unwrap();
        stream
    }

    /// Sends bytes and reads what comes back; nothing where the connection was just closed.
    fn raw(&self, bytes: &[u8]) -> Option<Reply> {
        let mut stream = self.connect();
        // whoever is refused may find the door closed while still talking
        let _ = stream.write_all(bytes);
        read(&mut stream)
    }

    fn ask(&self, method: &str, path: &str, headers: &str, body: &[u8]) -> Reply {
        let mut bytes = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Length: {}\r\n{headers}\r\n",
            self.port,
            body.len()
        )
        .into_bytes();
        bytes.extend_from_slice(body);
        self.raw(&bytes).unwrap()
    }

    fn get(&self, path: &str) -> Reply {
        self.ask("GET", path, "", b"")
    }

    fn post(&self, path: &str, body: &Value) -> Reply {
        self.ask("POST", path, "Content-Type: application/json\r\n", body.to_string().as_bytes())
    }

    /// Whether the page still answers.
    #[track_caller]
    fn assert_alive(&self) {
        assert_eq!(self.get("/").status, 200);
    }
}

fn read(stream: &mut TcpStream) -> Option<Reply> {
    let mut bytes = Vec::new();
    let mut part = [0; 8192];
    loop {
        match stream.read(&mut part) {
            Ok(0) => break,
            Ok(count) => bytes.extend_from_slice(&part[..count]),
            Err(error) if error.kind() == ErrorKind::ConnectionReset => break,
            Err(error) => panic!("{error} after {} bytes", bytes.len()),
        }
    }
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n")?;
    let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let status = head.split(' ').nth(1)?.parse().ok()?;
    Some(Reply { status, head, body: bytes[end + 4..].to_vec() })
}

/// A straight line and little to choose.
fn asked() -> Value {
    json!({
        "curve": { "deflection_mm": [0.0, 2.0, 4.0, 7.0], "force_n": [0.0, 10.0, 20.0, 35.0] },
        "brief": {
            "envelope": { "outer_diameter_max": 90.0 },
            "sheet": { "material": "1.4310+C1300", "thickness": [1.5] },
            "arms": { "count": [1] },
        },
    })
}
