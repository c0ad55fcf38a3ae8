//! Who is let in, and what the careless and the hostile are told.

use std::io::Write;
use std::net::{Shutdown, TcpStream};
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::{Page, asked, read};

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
fn invalid_requests_do_not_stop_the_page() {
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
        ("a giant body", format!("POST /open HTTP/1.1\r\n{host}Content-Type: application/octet-stream\r\nContent-Length: 99999999999\r\n\r\n").into_bytes(), 413),
        ("a length beyond numbers", format!("POST /open HTTP/1.1\r\n{host}Content-Length: 99999999999999999999999\r\n\r\n").into_bytes(), 400),
        ("a negative length", format!("POST /open HTTP/1.1\r\n{host}Content-Length: -1\r\n\r\n").into_bytes(), 400),
        ("two lengths", format!("POST /open HTTP/1.1\r\n{host}Content-Length: 1\r\nContent-Length: 2\r\n\r\nab").into_bytes(), 400),
        ("chunks", format!("POST /open HTTP/1.1\r\n{host}Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n").into_bytes(), 411),
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
        (&|b| b["asked"]["curve"]["deflection_mm"] = json!([0.0, 0.0, 0.0, 0.0]), "at least 2"),
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
