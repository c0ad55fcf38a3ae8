//! `design`: its files, its summary, what it does not overwrite.

use std::fs;

use serde_json::Value;

use super::{
    FILES, FOLDERS, MANIFEST, assert_ended, design, designed, desk, err, json, names, out, package, program,
    run,
};

#[test]
fn a_design_writes_its_files_and_passes() {
    let (_, output) = designed();
    assert_ended(output, 0);
    assert_eq!(names(&package()), FILES);
    let said = out(output);
    for part in [
        "curve  ",
        "flat  ",
        "strength  ",
        "caution",
        "52 files; begin with package",
        "o asked for",
        "result  ",
    ] {
        assert!(said.contains(part), "{part:?} is not in: {said}");
    }
}

#[test]
fn the_summary_has_its_keys() {
    let summary = json(&fs::read_to_string(package().join("summary.json")).unwrap());
    let number = |pointer: &str| summary.pointer(pointer).and_then(Value::as_f64);
    for pointer in [
        "/fit/rms_percent",
        "/fit/max_percent",
        "/fit/tolerance_percent",
        "/flat/solid_height_mm",
        "/flat/closing_force_n",
        "/flat/least_gap_mm",
        "/stress/peak_mpa",
        "/stress/allowable_mpa",
    ] {
        assert!(number(pointer).is_some_and(f64::is_finite), "{pointer}: {:?}", summary.pointer(pointer));
    }
    for pointer in ["/fit/reachable", "/flat/closes", "/stress/ok"] {
        assert_eq!(summary.pointer(pointer), Some(&Value::Bool(true)), "{pointer}");
    }
    assert!(summary["fit"]["reason"].is_string());
    assert!(summary["warnings"].as_array().unwrap().iter().all(Value::is_string));
    assert!(summary["shortlist"].as_array().unwrap().iter().all(|other| other["rms_percent"].is_number()));
    let length = |key: &str| summary["curve"][key].as_array().unwrap().len();
    assert_eq!(
        ["deflection_mm", "force_n", "target_n"].map(length),
        [21; 3],
        "one entry for each row of the example"
    );
    assert!(number("/fit/rms_percent") <= number("/fit/tolerance_percent"));
    assert!(number("/fit/rms_percent") <= number("/fit/max_percent"));
}

#[test]
fn the_summary_holds_the_spring_as_its_file_does() {
    let summary = json(&fs::read_to_string(package().join("summary.json")).unwrap());
    let text = fs::read_to_string(package().join("spring.toml")).unwrap();
    let file: toml::Table = text.parse().unwrap();
    assert_eq!(summary["spring"], serde_json::to_value(file).unwrap());
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let folder = desk();
    let output = program(folder.path())
        .args(["design", "examples/linear.csv", "--brief", "quick.toml", "--out", "again"])
        .env("TZ", "Pacific/Auckland")
        .env("LC_ALL", "de_DE.UTF-8")
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .unwrap();
    assert_ended(&output, 0);
    for name in FILES {
        let one = fs::read(package().join(name)).unwrap();
        let other = fs::read(folder.path().join("again").join(name)).unwrap();
        assert!(one == other, "{name} differs between two runs");
    }
}

#[test]
fn a_spring_of_another_curve_is_not_overwritten_unasked() {
    let folder = desk();
    let into = folder.path().join("package");
    for below in FOLDERS {
        fs::create_dir_all(into.join(below)).unwrap();
    }
    for name in names(&package()).iter().map(String::as_str).chain([MANIFEST]) {
        fs::copy(package().join(name), into.join(name)).unwrap();
    }
    let before = fs::read(into.join("spring.toml")).unwrap();
    fs::write(folder.path().join("short.csv"), "deflection_mm,force_n\n0,0\n2,10\n4,20\n6,30\n").unwrap();
    let refused = design(folder.path(), "short.csv", "package");
    assert_ended(&refused, 1);
    assert!(err(&refused).contains("--force") && err(&refused).contains("spring.toml"), "{}", err(&refused));
    assert_eq!(fs::read(into.join("spring.toml")).unwrap(), before);
    let forced =
        run(folder.path(), &["design", "short.csv", "--brief", "quick.toml", "--out", "package", "--force"]);
    assert_ended(&forced, 0);
    assert_ne!(fs::read(into.join("spring.toml")).unwrap(), before);
    // the same curve again needs no asking
    assert_ended(&design(folder.path(), "short.csv", "package"), 0);
    assert_eq!(names(&into), FILES);
}
