//! The list of seeded faults holds: every place is found once, every test named is there.
//! `tests/tools/seeded_faults.py` seeds them.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct List {
    fault: Vec<Fault>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Fault {
    name: String,
    file: String,
    find: String,
    replace: String,
    tests: Vec<String>,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn faults() -> Vec<Fault> {
    let text = std::fs::read_to_string(root().join("tests/faults/faults.toml")).unwrap();
    toml::from_str::<List>(&text).unwrap().fault
}

/// The text as it stands in the source, and the part of it that is exchanged.
fn parts(fault: &Fault) -> (String, String) {
    let plain = fault.find.replace(['⟦', '⟧'], "");
    let marked = fault.find.split_once('⟦').and_then(|(_, rest)| rest.split_once('⟧')).map(|(part, _)| part);
    (plain.clone(), marked.map_or(plain, ToOwned::to_owned))
}

#[test]
fn every_fault_has_one_place_and_changes_it() {
    let mut names = BTreeSet::new();
    for fault in faults() {
        let name = &fault.name;
        assert!(names.insert(name.clone()), "{name}: twice in the list");
        let source = std::fs::read_to_string(root().join(&fault.file))
            .unwrap_or_else(|error| panic!("{name}: {}: {error}", fault.file));
        let (plain, part) = parts(&fault);
        let found = source.matches(&plain).count();
        assert_eq!(found, 1, "{name}: {plain:?} stands {found} times in {}", fault.file);
        assert!(!part.is_empty() && part.trim() != fault.replace.trim(), "{name} changes nothing");
    }
    assert!(names.len() > 80, "{} faults", names.len());
}

#[test]
fn every_fault_names_tests_that_are_there() {
    let modules = |path: &Path| path.exists() || path.with_extension("").is_dir();
    for fault in faults() {
        assert!(!fault.tests.is_empty(), "{}: no tests", fault.name);
        for test in &fault.tests {
            let (binary, filter) = test.split_once(' ').expect("lib or all, then a name");
            let first = filter.split("::").next().unwrap();
            let folder = match binary {
                "lib" => "src",
                "all" => "tests/all",
                other => panic!("{}: {other:?} is neither lib nor all", fault.name),
            };
            let path = root().join(folder).join(format!("{first}.rs"));
            assert!(modules(&path), "{}: no {}", fault.name, path.display());
        }
    }
}
#[test]
fn the_share_caught_is_that_of_the_results() {
    let read = |name: &str| std::fs::read_to_string(root().join("tests/faults").join(name)).unwrap();
    let names: BTreeSet<String> = faults().into_iter().map(|fault| fault.name).collect();
    let (mut rows, mut caught) = (0, 0);
    for row in csv::Reader::from_reader(read("results.csv").as_bytes()).records() {
        let row = row.unwrap();
        // a fault that was taken off the list leaves its row behind until the next run
        assert!(names.contains(&row[0]), "{:?} is no fault of the list", &row[0]);
        rows += 1;
        caught += usize::from(&row[2] == "caught");
    }
    let share = 100.0 * f64::from(caught as u32) / f64::from(rows);
    let text = read("share.csv");
    let expected = format!("faults,caught,share_percent\n{rows},{caught},{share:.1}\n");
    assert_eq!(text, expected);
    assert!(rows == 0 || share >= 95.0, "{share} % of the seeded faults are caught");
}
