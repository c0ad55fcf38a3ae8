//! Crates that stand twice in `Cargo.lock` are those that DEVELOPERS.md names with a reason; all come from the one registry,
//! under licences that go with our own.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

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

/// Licences (SPDX) that may go into a program under MIT or Apache-2.0.
const LICENCES: [&str; 7] =
    ["MIT", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "Zlib", "Unicode-3.0", "Unlicense"];

/// Whether an SPDX expression of alternatives, or of several of them at once, can be met; `/` is how older crates write OR.
fn may_be_used(expression: &str) -> bool {
    let plain = expression.replace(['(', ')'], "").replace('/', " OR ");
    plain.split(" AND ").all(|part| part.split(" OR ").any(|licence| LICENCES.contains(&licence.trim())))
}

#[test]
fn licences_are_read_as_spdx_says() {
    for good in ["MIT", "MIT/Apache-2.0", "GPL-3.0-only OR MIT", "(MIT OR Apache-2.0) AND Unicode-3.0"] {
        assert!(may_be_used(good), "{good}");
    }
    for bad in ["", "GPL-3.0-only", "MIT AND GPL-3.0-only", "Apache-2.0 WITH LLVM-exception"] {
        assert!(!may_be_used(bad), "{bad}");
    }
}

/// The crates built for this machine, with those of the tests. Needs no network: all are there when this test runs.
#[test]
fn crates_come_from_the_registry_under_licences_that_go_with_ours() {
    let version = Command::new("rustc").arg("-vV").output().unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let found = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--offline", "--locked", "--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(found.status.success(), "{}", String::from_utf8_lossy(&found.stderr));
    let found: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
    let packages = found["packages"].as_array().unwrap();
    assert!(packages.len() > 50, "{} crates", packages.len());
    for package in packages.iter().filter(|package| package["name"] != env!("CARGO_PKG_NAME")) {
        let name = &package["name"];
        let licence = package["license"].as_str().unwrap_or_default();
        assert!(may_be_used(licence), "{name}: licence {licence:?}, expected one of {LICENCES:?}");
        let source = package["source"].as_str().unwrap_or("a folder");
        assert!(source.starts_with("registry+"), "{name} comes from {source}, expected the registry");
    }
}
