//! The rooms of `src` and the direction of what they use: DEVELOPERS.md lists them, a room may use those above it.

use std::fs;
use std::path::{Path, PathBuf};

/// The room everybody may use; it uses none.
const MATHEMATICS: &str = "numeric";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The rooms in the order of the table in DEVELOPERS.md, lowest first.
fn listed() -> Vec<String> {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let rooms = text.split("## Rooms").nth(1).unwrap().split("\n## ").next().unwrap();
    rooms
        .lines()
        .filter_map(|line| line.strip_prefix("| `"))
        .filter_map(|rest| rest.split('`').next())
        .map(str::to_owned)
        .collect()
}

/// The rooms there are: folders and files of `src` beside `lib.rs` and `main.rs`.
fn standing() -> Vec<String> {
    let mut rooms: Vec<String> = fs::read_dir(root().join("src"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name != "lib.rs" && name != "main.rs")
        .map(|name| name.trim_end_matches(".rs").to_owned())
        .collect();
    rooms.sort();
    rooms
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Rooms that a line uses: every `crate::name` outside comments; a group counts as the name `{`.
fn used(line: &str) -> Vec<String> {
    let code = line.split("//").next().unwrap_or_default();
    code.split("crate::")
        .skip(1)
        .map(|rest| match rest.chars().next() {
            Some('{') => "{".to_owned(),
            _ => rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect(),
        })
        .collect()
}

/// Lines of `text`, a file of `room`, that use a room not above it in `order`.
fn reversed(room: &str, text: &str, order: &[String]) -> Vec<String> {
    let place = |name: &str| order.iter().position(|listed| listed == name);
    text.lines()
        .enumerate()
        .filter(|(_, line)| {
            used(line).iter().any(|other| {
                let allowed = other == room
                    || other == MATHEMATICS
                    || matches!((place(other), place(room)), (Some(theirs), Some(own)) if theirs < own);
                !allowed
            })
        })
        .map(|(number, line)| format!("line {}: {}", number + 1, line.trim()))
        .collect()
}

#[test]
fn the_list_of_rooms_is_complete() {
    let mut rooms = listed();
    rooms.sort();
    assert_eq!(rooms, standing(), "left: the table in DEVELOPERS.md, right: what stands in src");
}

#[test]
fn rooms_use_only_rooms_above_them() {
    let order = listed();
    let mut files = Vec::new();
    sources(&root().join("src"), &mut files);
    let mut found = Vec::new();
    for path in files {
        let inside = path.strip_prefix(root().join("src")).unwrap().to_owned();
        let room = inside.iter().next().unwrap().to_str().unwrap().trim_end_matches(".rs").to_owned();
        if room == "lib" || room == "main" {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        found.extend(
            reversed(&room, &text, &order).into_iter().map(|line| format!("{}, {line}", inside.display())),
        );
    }
    assert!(
        found.is_empty(),
        "a room may use only rooms above it in DEVELOPERS.md, one `use crate::room` a line:\n{}",
        found.join("\n")
    );
}

#[test]
fn an_arrow_downwards_is_found() {
    let order = ["numeric", "curve", "model", "cli"].map(str::to_owned);
    assert!(reversed("model", "use crate::curve::TargetCurve;\n", &order).is_empty());
    assert!(reversed("curve", "use crate::numeric::bracketed; // not crate::cli\n", &order).is_empty());
    assert_eq!(reversed("curve", "use crate::model::Model;\n", &order).len(), 1);
    assert_eq!(reversed("model", "    let x = crate::cli::main();\n", &order).len(), 1);
    assert_eq!(reversed("cli", "use crate::{curve, model};\n", &order).len(), 1);
}
