//! The page of `serve` as a browser, a careless program and a hostile one meet it: everything goes through the binary
//! and its socket.

use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

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

#[test]
fn the_page_and_its_own_files_are_served_and_nothing_from_the_disk() {
    let page = Page::open(&[]);
    let start = page.get("/");
    assert_eq!(start.status, 200);
    assert!(start.header("content-type").unwrap().starts_with("text/html"));
    let policy = start.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
    assert_eq!(start.header("x-content-type-options"), Some("nosniff"));
    for path in ["/page.js", "/chart.js", "/page.css", "/icon.svg", "/?from=a-bookmark"] {
        assert_eq!(page.get(path).status, 200, "{path}");
    }
    let head = page.ask("HEAD", "/", "", b"");
    assert!(head.status == 200 && head.body.is_empty());
    for path in [
        "/../Cargo.toml",
        "/..%2f..%2fetc/passwd",
        "/%2e%2e/Cargo.toml",
        "//etc/passwd",
        "/page.js/../../Cargo.toml",
        "/Cargo.toml",
        "/page.html",
        "/src/live/page/page.html",
        "/\\..\\Cargo.toml",
        "file:///etc/passwd",
        "/.git/config",
        "*",
    ] {
        let reply = page.get(path);
        assert!(matches!(reply.status, 400 | 404), "{path}: {}", reply.status);
        assert!(!reply.text().contains("[package]") && !reply.text().contains("root:"), "{path}");
    }
}

#[test]
fn other_hosts_other_sites_and_other_methods_are_refused() {
    let page = Page::open(&[]);
    let port = page.port;
    let with_host = |host: &str| page.raw(format!("GET / HTTP/1.1\r\n{host}\r\n").as_bytes()).unwrap().status;
    assert_eq!(with_host(&format!("Host: localhost:{port}\r\n")), 200);
    assert_eq!(with_host("Host: evil.example\r\n"), 421);
    assert_eq!(with_host("Host: 127.0.0.1\r\n"), 421);
    assert_eq!(with_host(""), 421);
    let twice = format!("Host: 127.0.0.1:{port}\r\nHost: evil.example\r\n");
    assert_eq!(with_host(&twice), 400);
    let kind = "Content-Type: application/json\r\n";
    let body = asked().to_string();
    for origin in
        ["http://evil.example", "null", "https://localhost", &format!("http://127.0.0.1:{}", port ^ 1)]
    {
        let headers = format!("{kind}Origin: {origin}\r\n");
        assert_eq!(page.ask("POST", "/search", &headers, body.as_bytes()).status, 403, "{origin}");
    }
    let headers = format!("{kind}Sec-Fetch-Site: cross-site\r\n");
    assert_eq!(page.ask("POST", "/draft", &headers, b"{}").status, 403);
    let headers = format!("{kind}Origin: http://localhost:{port}\r\nSec-Fetch-Site: same-origin\r\n");
    assert_eq!(page.ask("POST", "/question", &headers, body.as_bytes()).status, 200);
    // what a plain form of another site can send
    for kind in ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"] {
        assert_eq!(page.ask("POST", "/draft", &format!("Content-Type: {kind}\r\n"), b"{}").status, 415);
    }
    for method in ["PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT", "BREW"] {
        let reply = page.ask(method, "/", "", b"");
        assert_eq!(reply.status, 405, "{method}");
        assert_eq!(reply.header("allow"), Some("GET, HEAD, POST"));
    }
    assert!(page.get("/").header("access-control-allow-origin").is_none());
}

#[test]
fn what_is_no_request_does_not_bring_the_page_down() {
    let page = Page::open(&[]);
    let port = page.port;
    let host = format!("Host: 127.0.0.1:{port}\r\n");
    let statuses: [(&str, Vec<u8>, u16); 12] = [
        ("garbage", vec![0, 255, 13, 10, 13, 10, 7, 7], 400),
        ("a TLS greeting", vec![0x16, 3, 1, 2, 0, 1, 0, 1, 0xfc, 3, 3, 13, 10, 13, 10], 400),
        ("HTTP/2", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".to_vec(), 400),
        ("no version", b"GET /\r\n\r\n".to_vec(), 400),
        ("a head without end", [b"GET / HTTP/1.1\r\nX: ".to_vec(), vec![b'a'; 64 * 1024]].concat(), 431),
        ("header lines without end", [b"GET / HTTP/1.1\r\n".to_vec(), b"X: y\r\n".repeat(1000), b"\r\n".to_vec()].concat(), 431),
        ("a giant body", format!("POST /curve HTTP/1.1\r\n{host}Content-Type: application/octet-stream\r\nContent-Length: 99999999999\r\n\r\n").into_bytes(), 413),
        ("a length beyond numbers", format!("POST /curve HTTP/1.1\r\n{host}Content-Length: 99999999999999999999999\r\n\r\n").into_bytes(), 400),
        ("a negative length", format!("POST /curve HTTP/1.1\r\n{host}Content-Length: -1\r\n\r\n").into_bytes(), 400),
        ("two lengths", format!("POST /curve HTTP/1.1\r\n{host}Content-Length: 1\r\nContent-Length: 2\r\n\r\nab").into_bytes(), 400),
        ("chunks", format!("POST /curve HTTP/1.1\r\n{host}Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n").into_bytes(), 411),
        ("no length", format!("POST /draft HTTP/1.1\r\n{host}Content-Type: application/json\r\n\r\n{{}}").into_bytes(), 411),
    ];
    for (name, bytes, status) in statuses {
        let reply = page.raw(&bytes).unwrap_or_else(|| panic!("{name}: no answer"));
        assert_eq!(reply.status, status, "{name}: {}", reply.text());
        page.assert_alive();
    }
    for body in ["", "{", "[1,2", "\"", "{\"tab\":\"a\",\"number\":-1}", "\u{0}", &"[".repeat(200_000)] {
        for path in ["/draft", "/search", "/search/look", "/search/stop", "/package", "/question", "/compare"]
        {
            let reply = page.ask("POST", path, "Content-Type: application/json\r\n", body.as_bytes());
            assert_eq!(reply.status, 400, "{path}");
            assert!(reply.json()["message"].as_str().unwrap().contains("not understood"));
        }
    }
    page.assert_alive();
}

#[test]
fn numbers_that_cannot_be_meant_are_answered_in_words() {
    let page = Page::open(&[]);
    let draft = |change: &dyn Fn(&mut Value)| {
        let mut body = json!({ "tab": "a", "number": 1, "asked": asked() });
        change(&mut body);
        let reply = page.post("/draft", &body);
        (reply.status, reply.json()["message"].as_str().unwrap_or_default().to_owned())
    };
    let cases: [(&dyn Fn(&mut Value), &str); 9] = [
        (&|b| b["asked"]["curve"]["force_n"][1] = json!(-3.0), "force of -3 N"),
        (&|b| b["asked"]["curve"]["force_n"] = json!([0.0, 0.0, 0.0, 0.0]), "every force is zero"),
        (&|b| b["asked"]["curve"]["force_n"] = json!([1.0]), "1"),
        (&|b| b["asked"]["curve"]["deflection_mm"] = json!([0.0, 0.0, 0.0, 0.0]), "at least 3"),
        (&|b| b["asked"]["brief"]["sheet"]["material"] = json!("cheese"), "cheese"),
        (&|b| b["asked"]["brief"]["sheet"]["thickness"] = json!([]), "sheet.thickness"),
        (&|b| b["asked"]["brief"]["arms"]["count"] = json!([1_000_000]), "arms.count"),
        (&|b| b["asked"]["brief"]["envelope"]["outer_diameter_max"] = json!(3.0), "none of"),
        (&|b| b["asked"]["brief"]["envelope"]["free_height_max"] = json!(2.0), "free height may be 2 mm"),
    ];
    for (change, words) in cases {
        let (status, said) = draft(change);
        assert_eq!(status, 422, "{said}");
        assert!(said.contains(words), "{words:?} is not in: {said}");
    }
    // a spring that is none, and one that would wind for ever
    for spring in [json!({}), json!({ "format": 1 })] {
        assert_eq!(draft(&|b| b["spring"] = spring.clone()).0, 400);
    }
    page.assert_alive();
}

#[test]
fn slow_partial_and_silent_connections_keep_nobody_waiting() {
    let page = Page::open(&[]);
    let mut slow: Vec<TcpStream> = (0..20).map(|_| page.connect()).collect();
    for (k, stream) in slow.iter_mut().enumerate() {
        if k % 2 == 0 {
            stream.write_all(b"POST /draft HTTP/1.1\r\nHost: 127").unwrap();
        }
    }
    let start = Instant::now();
    page.assert_alive();
    assert!(start.elapsed() < Duration::from_secs(4), "{:?}", start.elapsed());
    // half a request is told so in time, silence is closed
    for (k, stream) in slow.iter_mut().enumerate() {
        let reply = read(stream);
        assert_eq!(reply.map(|reply| reply.status), (k % 2 == 0).then_some(408));
    }
    assert!(start.elapsed() < Duration::from_secs(30), "{:?}", start.elapsed());
    // a body that never comes, and a page that is closed before its answer
    let head = format!(
        "POST /draft HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{{",
        page.port
    );
    let mut stream = page.connect();
    stream.write_all(head.as_bytes()).unwrap();
    stream.shutdown(Shutdown::Write).unwrap();
    assert_eq!(read(&mut stream).unwrap().status, 400);
    for _ in 0..10 {
        let mut stream = page.connect();
        let body = json!({ "tab": "gone", "number": 1, "asked": asked() }).to_string();
        let head = format!(
            "POST /draft HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            page.port,
            body.len()
        );
        stream.write_all(head.as_bytes()).unwrap();
        drop(stream);
    }
    page.assert_alive();
}

#[test]
fn very_many_connections_are_turned_away_and_the_page_recovers() {
    let page = Page::open(&[]);
    let crowd: Vec<TcpStream> = (0..200).map(|_| page.connect()).collect();
    drop(crowd);
    let end = Instant::now() + Duration::from_secs(20);
    while Instant::now() < end {
        if page.raw(format!("GET / HTTP/1.1\r\nHost: localhost:{}\r\n\r\n", page.port).as_bytes()).is_some() {
            page.assert_alive();
            return;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    panic!("the page does not answer any more");
}

#[test]
fn a_port_that_is_taken_is_said_so() {
    let page = Page::open(&[]);
    let output = Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(["serve", "--port", &page.port.to_string()])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains(&format!("port {}", page.port)) && said.contains("--port 0"), "{said}");
    let output = Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(["serve", "no-such-curve.csv", "--port", "0"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn a_draft_follows_and_two_pages_do_not_disturb_each_other() {
    let page = Page::open(&[]);
    let draft = |tab: &str, number: u64, asked: &Value, spring: &Value| {
        page.post("/draft", &json!({ "tab": tab, "number": number, "asked": asked, "spring": spring }))
    };
    let first = draft("one", 5, &asked(), &Value::Null);
    assert_eq!(first.status, 200, "{}", first.text());
    let first = first.json();
    assert_eq!(first["chosen_anew"], json!(true));
    assert!(first["outline"]["parts"].as_array().unwrap().len() >= 2);
    assert!(!first["cautions"].as_array().unwrap().is_empty());
    // an older number of the same page is stale, of another one it is not
    assert_eq!(draft("one", 4, &asked(), &Value::Null).status, 204);
    assert_eq!(draft("two", 4, &asked(), &Value::Null).status, 200);
    let mut moved = asked();
    moved["curve"]["force_n"][3] = json!(38.0);
    let second = draft("one", 6, &moved, &first["spring"]).json();
    assert_eq!(second["chosen_anew"], json!(false));
    assert_eq!(second["spring"]["disc"], first["spring"]["disc"]);
    assert_ne!(second["spring"]["arm"], first["spring"]["arm"]);
    assert_ne!(second["outline"], first["outline"]);
    // the same question, the same answer
    assert_eq!(draft("one", 7, &moved, &first["spring"]).json(), second);
}

#[test]
fn a_curve_that_cannot_be_followed_comes_with_the_nearest_one() {
    let page = Page::open(&[]);
    let mut soft = asked();
    soft["curve"]["force_n"] = json!([0.0, 20.0, 28.0, 35.0]);
    let reply = page.post("/draft", &json!({ "tab": "a", "number": 1, "asked": soft })).json();
    assert_eq!(reply["fit"]["reachable"], json!(false));
    let findings = reply["reach"]["findings"].as_array().unwrap();
    assert!(!findings.is_empty() && findings[0]["remedy"].is_string());
    let nearest = reply["reach"]["nearest"]["force_n"].as_array().unwrap();
    assert!(nearest[1].as_f64().unwrap() < 19.0, "{nearest:?}");
}

/// Names and bytes in an archive.
fn unpack(bytes: &[u8]) -> Vec<(String, Vec<u8>)> {
    let mut read = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
    (0..read.len())
        .map(|k| {
            let mut entry = read.by_index(k).unwrap();
            let name = entry.name().unwrap().rsplit('/').next().unwrap().to_owned();
            let mut bytes = Vec::new();
            entry.read_to_end(&mut bytes).unwrap();
            (name, bytes)
        })
        .collect()
}

/// Waits for a page's search.
fn searched(page: &Page, tab: &str) -> Value {
    let end = Instant::now() + Duration::from_mins(5);
    while Instant::now() < end {
        let standing = page.post("/search/look", &json!({ "tab": tab })).json();
        if standing["state"] != json!("running") {
            return standing;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    panic!("the search does not end");
}

fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
        .iter()
        .map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), std::fs::read(path).unwrap()))
        .collect()
}

#[test]
fn the_package_is_the_one_that_design_writes() {
    let page = Page::open(&[]);
    let ask = json!({ "asked": asked(), "units": "mm-n" });
    // before a search there is none
    assert_eq!(page.post("/package", &ask).status, 409);
    assert_eq!(page.post("/search", &json!({ "tab": "a", "asked": asked() })).status, 200);
    let standing = searched(&page, "a");
    assert_eq!(standing["state"], json!("found"), "{standing}");
    assert!(!standing["found"]["designs"].as_array().unwrap().is_empty());
    let package = page.post("/package", &ask);
    assert_eq!(package.header("content-type"), Some("application/zip"));
    assert!(package.header("content-disposition").unwrap().contains("spring.zip"));
    // the question as files, given to the command line
    let folder = tempfile::TempDir::new().unwrap();
    for (name, bytes) in unpack(&page.post("/question", &asked()).body) {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    let output = Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(["design", "curve.csv", "--brief", "brief.toml", "--out", "package"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let mut found = unpack(&package.body);
    found.sort();
    let written = files(&folder.path().join("package"));
    let names = |list: &[(String, Vec<u8>)]| list.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&found), names(&written));
    for ((name, one), (_, other)) in found.iter().zip(&written) {
        assert!(one == other, "{name} differs");
    }
    // a search that is asked for again is not run again, another page's is its own
    let again = page.post("/search", &json!({ "tab": "a", "asked": asked() })).json();
    assert_eq!(again["state"], json!("found"));
    assert_eq!(page.post("/search/look", &json!({ "tab": "b" })).json()["state"], json!("none"));
}

#[test]
fn a_search_is_stopped_and_no_more_than_two_run() {
    let page = Page::open(&[]);
    let mut wide = asked();
    wide["brief"] = json!({});
    let start = |tab: &str| page.post("/search", &json!({ "tab": tab, "asked": wide }));
    assert_eq!(start("a").json()["state"], json!("running"));
    assert_eq!(start("b").json()["state"], json!("running"));
    let third = start("c");
    assert_eq!(third.status, 503);
    assert!(third.json()["message"].as_str().unwrap().contains("two searches"));
    for tab in ["a", "b"] {
        assert_eq!(page.post("/search/stop", &json!({ "tab": tab })).status, 200);
    }
    for tab in ["a", "b"] {
        assert_eq!(searched(&page, tab)["state"], json!("stopped"));
    }
    assert_eq!(start("c").json()["state"], json!("running"));
    page.assert_alive();
}

#[test]
fn a_curve_of_the_users_own_opens_with_its_units() {
    let page = Page::open(&["examples/linear.csv", "--brief", "examples/pedal.toml", "--units", "in-lbf"]);
    let opening = page.get("/opening").json();
    assert_eq!((&opening["example"], &opening["units"]), (&json!(false), &json!("in-lbf")));
    assert_eq!(opening["asked"]["brief"]["envelope"]["outer_diameter_max"], json!(90.0));
    assert!(opening["sheets"].as_array().unwrap().len() > 3);
}
