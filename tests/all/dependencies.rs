//! Crates that stand twice in `Cargo.lock` are those that DEVELOPERS.md names with a reason.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

fn read(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

#[test]
fn crates_in_two_versions_are_named_with_their_reason() {
    let lock: toml::Table = read("Cargo.lock").parse().unwrap();
    let packages = lock["package"].as_array().unwrap();
    let names = || packages.iter().map(|package| package["name"].as_str().unwrap());
    let twice: BTreeSet<&str> =
        names().filter(|name| names().filter(|other| other == name).count() > 1).collect();
    let text = read("DEVELOPERS.md");
    let section = text.split("## Crates in two versions").nth(1).unwrap().split("\n## ").next().unwrap();
    let rows = section.lines().filter_map(|line| line.strip_prefix("| `")?.split(" | ").next());
    let named: BTreeSet<&str> =
        rows.flat_map(|cell| cell.split(", ")).map(|name| name.trim_matches('`')).collect();
    assert_eq!(twice, named);
}
