//! The rooms of `src` and the direction of what they use: DEVELOPERS.md lists them, a room may use those above it.

use std::collections::{BTreeMap, BTreeSet};
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

/// Files of a room by their path, and what each uses through `super`, tests left out.
fn uses_within(room: &Path) -> BTreeMap<PathBuf, BTreeSet<PathBuf>> {
    let mut files = Vec::new();
    sources(room, &mut files);
    let is_code = |path: &PathBuf| {
        let name = path.file_stem().unwrap().to_str().unwrap();
        !name.contains("test") && name != "hand_cases"
    };
    files.retain(is_code);
    let used_by = |path: &PathBuf| {
        let text = fs::read_to_string(path).unwrap();
        let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
        let lines = code.lines().map(|line| line.split("//").next().unwrap());
        let mut found = BTreeSet::new();
        for line in lines {
            for (at, _) in line.match_indices("super::") {
                // the first of a row of `super::`, followed by a name
                if line[..at].ends_with("super::") {
                    continue;
                }
                let mut folder = path.parent().unwrap().to_owned();
                let mut rest = &line[at + "super::".len()..];
                let mut ups = usize::from(path.file_name().is_some_and(|name| name == "mod.rs"));
                while let Some(next) = rest.strip_prefix("super::") {
                    (rest, ups) = (next, ups + 1);
                }
                (0..ups).for_each(|_| _ = folder.pop());
                let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                let places = [folder.join(format!("{name}.rs")), folder.join(&name).join("mod.rs")];
                found.extend(places.into_iter().filter(|place| files.contains(place) && place != path));
            }
        }
        found
    };
    files.iter().map(|path| (path.clone(), used_by(path))).collect()
}

/// Everything reached from a file.
fn reached(from: &Path, uses: &BTreeMap<PathBuf, BTreeSet<PathBuf>>) -> BTreeSet<PathBuf> {
    let (mut open, mut found) = (vec![from.to_owned()], BTreeSet::new());
    while let Some(path) = open.pop() {
        for next in &uses[&path] {
            if found.insert(next.clone()) {
                open.push(next.clone());
            }
        }
    }
    found
}

/// Groups of files that use one another in a circle.
fn circles(room: &Path) -> Vec<Vec<PathBuf>> {
    let uses = uses_within(room);
    let reach: BTreeMap<&PathBuf, BTreeSet<PathBuf>> =
        uses.keys().map(|path| (path, reached(path, &uses))).collect();
    let mut groups: Vec<Vec<PathBuf>> = Vec::new();
    for path in uses.keys().filter(|path| reach[path].contains(*path)) {
        let group: Vec<PathBuf> = uses
            .keys()
            .filter(|other| reach[path].contains(*other) && reach[other].contains(path))
            .cloned()
            .collect();
        if !groups.contains(&group) {
            groups.push(group);
        }
    }
    groups
}

#[test]
fn files_of_a_room_use_one_another_in_no_circle() {
    for room in standing() {
        let folder = root().join("src").join(&room);
        let found = if folder.is_dir() { circles(&folder) } else { Vec::new() };
        assert!(found.is_empty(), "{room}: {found:#?}");
    }
}
