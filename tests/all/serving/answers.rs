//! Drafts, searches and packages.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::{Page, asked};

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
    // the manifest belongs to the folder, not to the package
    let mut written = files(&folder.path().join("package"));
    written.retain(|(name, _)| !name.starts_with('.'));
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
