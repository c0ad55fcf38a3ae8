//! Drafts, searches and packages.

use std::io::Read;
use std::path::Path;
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
            let name = entry.name().unwrap().split_once('/').unwrap().1.to_owned();
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
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            found.extend(files(&path).into_iter().map(|(below, bytes)| (format!("{name}/{below}"), bytes)));
        } else {
            found.push((name, std::fs::read(path).unwrap()));
        }
    }
    found.sort();
    found
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
    assert_same(&unpack(&package.body), &files(&folder.path().join("package")));
    // a search that is asked for again is not run again, another page's is its own
    let again = page.post("/search", &json!({ "tab": "a", "asked": asked() })).json();
    assert_eq!(again["state"], json!("found"));
    assert_eq!(page.post("/search/look", &json!({ "tab": "b" })).json()["state"], json!("none"));
}

/// Writes the files of an archive and the archive's own spring again, by the command line alone.
fn commanded(package: &[(String, Vec<u8>)], folder: &Path) -> Vec<(String, Vec<u8>)> {
    let spring = &package.iter().find(|(name, _)| name == "spring.toml").unwrap().1;
    std::fs::write(folder.join("spring.toml"), spring).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(["flat", "spring.toml", "--out", "package", "--package"])
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(matches!(output.status.code(), Some(0 | 3)), "{}", String::from_utf8_lossy(&output.stderr));
    files(&folder.join("package"))
}

#[track_caller]
fn assert_same(found: &[(String, Vec<u8>)], written: &[(String, Vec<u8>)]) {
    let mut found = found.to_vec();
    found.sort();
    // the manifest belongs to the folder, not to the package
    let written: Vec<_> = written.iter().filter(|(name, _)| !name.starts_with('.')).cloned().collect();
    let names = |list: &[(String, Vec<u8>)]| list.iter().map(|(name, _)| name.clone()).collect::<Vec<_>>();
    assert_eq!(names(&found), names(&written));
    for ((name, one), (_, other)) in found.iter().zip(&written) {
        assert!(one == other, "{name} differs");
    }
}

#[test]
fn what_is_on_the_page_is_what_is_taken_and_what_the_command_says() {
    let page = Page::open(&[]);
    let first = page.post("/draft", &json!({ "tab": "a", "number": 1, "asked": asked() })).json();
    // drawn by hand: another curve than any search was asked for
    let mut moved = asked();
    moved["curve"]["force_n"][3] = json!(36.5);
    moved["brief"]["fit"] = json!({ "good_parts_min": 20.0 });
    let body = json!({ "tab": "a", "number": 2, "asked": moved, "spring": first["spring"], "depth": "fine" });
    let drawn = page.post("/draft", &body).json();
    let ask =
        json!({ "asked": moved, "spring": drawn["spring"], "units": "mm-n", "name": "spring-as-drawn" });
    let reply = page.post("/package", &ask);
    assert_eq!(reply.status, 200, "{}", reply.text());
    let package = unpack(&reply.body);
    let summary: Value =
        serde_json::from_slice(&package.iter().find(|(name, _)| name == "summary.json").unwrap().1).unwrap();
    // the spring that was seen, not another one
    for part in ["sheet", "disc", "arm", "former"] {
        let (taken, seen) = (&summary["spring"][part], &drawn["spring"][part]);
        assert!(same(taken, seen), "{part}: {taken} is taken, {seen} is seen");
    }
    // the same words and states, cutting and parts among them
    for name in ["curve", "flat", "strength", "life", "keeps_height", "cutting", "guide", "parts", "assembly"]
    {
        let (said, seen) = (&summary["verdicts"][name], &drawn["verdicts"][name]);
        assert_eq!((&said["state"], &said["reason"]), (&seen["state"], &seen["reason"]), "{name}");
    }
    assert_ne!(drawn["verdicts"]["parts"]["state"], json!("not asked"));
    assert_eq!((&summary["passed"], &summary["failed"]), (&drawn["passed"], &drawn["failed"]));
    assert!(drawn["drawing"]["cut"]["machine_seconds"].is_array() && drawn["setting"]["way"].is_string());
    // byte for byte what the command line writes for that spring
    let folder = tempfile::TempDir::new().unwrap();
    assert_same(&package, &commanded(&package, folder.path()));
    // one file of it is that file
    let mut one = ask.clone();
    one["file"] = json!("outline_mm.dxf");
    let drawing = &package.iter().find(|(name, _)| name == "outline_mm.dxf").unwrap().1;
    assert!(page.post("/package", &one).body == *drawing);
    one["file"] = json!("../Cargo.toml");
    assert_eq!(page.post("/package", &one).status, 422);
}

/// Whether a summary says what the page has, to the seven digits that a summary writes.
fn same(said: &Value, seen: &Value) -> bool {
    match (said, seen) {
        (Value::Number(said), Value::Number(seen)) => {
            let (said, seen) = (said.as_f64().unwrap(), seen.as_f64().unwrap());
            (said - seen).abs() <= 1e-6 * seen.abs()
        }
        (Value::Array(said), Value::Array(seen)) => {
            said.len() == seen.len() && said.iter().zip(seen).all(|(said, seen)| same(said, seen))
        }
        (Value::Object(said), Value::Object(seen)) => {
            seen.iter().all(|(key, seen)| same(said.get(key).unwrap_or(&Value::Null), seen))
        }
        (said, seen) => said == seen,
    }
}

#[test]
fn green_is_only_what_the_command_passes() {
    let page = Page::open(&[]);
    let mut wide = asked();
    wide["brief"]["process"] = json!({ "kind": "waterjet", "kerf": 5.0, "slot": 1.4 });
    let body = json!({ "tab": "a", "number": 1, "asked": wide, "depth": "fine" });
    let drawn = page.post("/draft", &body).json();
    assert_eq!(drawn["passed"], json!(false), "a kerf of 5 mm cuts no slot of 1.4 mm");
    assert!(drawn["failed"].as_array().unwrap().contains(&json!("cutting")), "{}", drawn["failed"]);
    assert!(drawn["outcome"].as_str().unwrap().contains("cutting"));
}

#[test]
fn long_lists_are_refused_at_once_and_stop_nobody() {
    let page = Page::open(&[]);
    let thick: Vec<f64> = (0..100_000).map(|k| 0.5 + 1e-5 * f64::from(k)).collect();
    let mut long = asked();
    long["brief"]["sheet"]["thickness"] = json!(thick);
    let start = Instant::now();
    let reply = page.post("/draft", &json!({ "tab": "a", "number": 1, "asked": long }));
    assert!(matches!(reply.status, 400 | 422), "{}", reply.status);
    let mut many = asked();
    many["brief"]["arms"]["count"] = Value::from(vec![2; 12_000]);
    let reply = page.post("/draft", &json!({ "tab": "b", "number": 1, "asked": many }));
    assert!(matches!(reply.status, 200 | 400 | 422), "{}", reply.status);
    assert_eq!(page.post("/draft", &json!({ "tab": "c", "number": 1, "asked": asked() })).status, 200);
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
}

#[test]
fn the_second_of_a_search_is_taken_as_design_takes_it() {
    let page = Page::open(&[]);
    let mut asked = asked();
    asked["brief"]["sheet"]["thickness"] = json!([1.2, 1.5]);
    asked["brief"]["arms"]["count"] = json!([1, 2]);
    assert_eq!(page.post("/search", &json!({ "tab": "a", "asked": asked })).status, 200);
    let standing = searched(&page, "a");
    let second = &standing["found"]["designs"][1]["spring"];
    assert!(second.is_object(), "{standing}");
    let ask = json!({ "asked": asked, "spring": second, "units": "mm-n", "name": "spring-design-2" });
    let package = unpack(&page.post("/package", &ask).body);
    let folder = tempfile::TempDir::new().unwrap();
    for (name, bytes) in unpack(&page.post("/question", &asked).body) {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    let output = Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(["design", "curve.csv", "--brief", "brief.toml", "--take", "2", "--out", "package"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(matches!(output.status.code(), Some(0 | 3)), "{}", String::from_utf8_lossy(&output.stderr));
    assert_same(&package, &files(&folder.path().join("package")));
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

#[test]
fn a_draft_of_a_resting_hand_depends_on_its_start_alone() {
    let page = Page::open(&[]);
    let start =
        page.post("/draft", &json!({ "tab": "a", "number": 1, "asked": asked(), "depth": "fine" })).json();
    // two ways of the hand
    let mut number = 1;
    let mut drawn = |forces: &[f64]| {
        let mut spring = start["spring"].clone();
        for force in forces {
            number += 1;
            let mut moved = asked();
            moved["curve"]["force_n"][3] = json!(force);
            let body = json!({ "tab": "a", "number": number, "asked": moved, "spring": spring });
            spring = page.post("/draft", &body).json()["spring"].clone();
        }
        spring
    };
    let (short, long) = (drawn(&[36.5]), drawn(&[44.0, 30.0, 41.0, 36.5]));
    assert_ne!(short, long, "the two ways have come to the same draft by themselves: choose others");
    let mut moved = asked();
    moved["curve"]["force_n"][3] = json!(36.5);
    let rested = |number: u64, spring: &Value| {
        let body = json!({
            "tab": "b", "number": number, "asked": moved, "spring": spring, "start": start["spring"], "depth": "fine",
        });
        page.post("/draft", &body).body
    };
    assert!(rested(1, &short) == rested(2, &long), "the path shows in the spring");
}

#[test]
fn a_spring_to_compare_is_judged_like_the_one_on_the_page() {
    let page = Page::open(&[]);
    let drawn =
        page.post("/draft", &json!({ "tab": "a", "number": 1, "asked": asked(), "depth": "fine" })).json();
    let ask = json!({ "asked": asked(), "spring": drawn["spring"] });
    let looked = page.post("/look", &ask);
    assert_eq!(looked.status, 200, "{}", looked.text());
    let looked = looked.json();
    assert_eq!((&looked["verdicts"], &looked["parts"]), (&drawn["verdicts"], &drawn["parts"]));
    let small = looked["small"].as_str().unwrap();
    let parts = looked["outline"]["parts"].as_array().unwrap();
    assert_eq!(small.matches('M').count(), parts.len());
    assert!(small.len() < 6000, "{} letters are no thumbnail", small.len());
    // the page may save it and is told what is wrong with it
    let whole =
        json!({ "parts": [{ "place": "kept spring A", "asked": asked(), "spring": drawn["spring"] }] });
    assert_eq!(page.post("/check", &whole).status, 200);
    let mut spoilt = whole.clone();
    spoilt["parts"][0]["spring"]["sheet"]["thickness"] = json!(-1.5);
    let refused = page.post("/check", &spoilt);
    assert_eq!(refused.status, 422);
    let said = refused.json()["message"].as_str().unwrap().to_owned();
    assert!(said.starts_with("kept spring A: ") && said.contains("thickness"), "{said}");
}

#[test]
fn an_assembly_is_shown_as_flat_judges_it_and_taken_as_flat_writes_it() {
    let page = Page::open(&[]);
    let text = "format = 1\nkind = \"series\"\nheight = 19.16\n[[member]]\nfolder = \"disc\"\ncount = 2\nstacked = \"series\"\n";
    let disc = include_str!("../../../examples/brake_cut.toml");
    let given =
        json!({ "name": "assembly.toml", "text": text, "members": [{ "folder": "disc", "text": disc }] });
    let shown = page.post("/assembly", &json!({ "given": given, "units": "mm-n" }));
    assert_eq!(shown.status, 200, "{}", shown.text());
    let shown = shown.json();
    let folder = tempfile::TempDir::new().unwrap();
    std::fs::create_dir(folder.path().join("disc")).unwrap();
    std::fs::write(folder.path().join("assembly.toml"), text).unwrap();
    std::fs::write(folder.path().join("disc/spring.toml"), disc).unwrap();
    let run = |arguments: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_flatspire"))
            .args(arguments)
            .current_dir(folder.path())
            .output()
            .unwrap()
    };
    let said: Value = serde_json::from_slice(&run(&["flat", ".", "--json"]).stdout).unwrap();
    for (name, verdict) in said["verdicts"].as_object().unwrap() {
        let own = &shown["verdicts"][name];
        assert_eq!((&own["state"], &own["reason"]), (&verdict["state"], &verdict["reason"]), "{name}");
    }
    assert!(shown["sections"].as_str().unwrap().starts_with("<svg"));
    // the package of its disc
    let package = page.post("/assembly", &json!({ "given": given, "units": "mm-n", "files": true }));
    let in_folder = |(name, bytes): (String, Vec<u8>)| Some((name.strip_prefix("disc/")?.to_owned(), bytes));
    let taken: Vec<_> = unpack(&package.body).into_iter().filter_map(in_folder).collect();
    let output = run(&["flat", "disc/spring.toml", "--out", "package", "--package"]);
    assert!(matches!(output.status.code(), Some(0 | 3)), "{}", String::from_utf8_lossy(&output.stderr));
    assert_same(&taken, &files(&folder.path().join("package")));
    // named on the command line it is what the page begins with
    let begun = Page::open(&[folder.path().to_str().unwrap()]).get("/opening").json();
    assert_eq!(
        (&begun["assembly"]["text"], &begun["assembly"]["members"]),
        (&given["text"], &given["members"])
    );
    // without its discs it is refused with what to do
    let alone = json!({ "name": "assembly.toml", "text": text, "members": [] });
    let refused = page.post("/assembly", &json!({ "given": alone, "units": "mm-n" }));
    assert_eq!(refused.status, 422);
    assert!(refused.text().contains("disc/spring.toml did not come with it"), "{}", refused.text());
}
