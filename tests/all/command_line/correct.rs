//! `correct`: a measured part explained and cut again.

use std::fmt::Write as _;
use std::fs;

use serde_json::Value;

use super::{assert_ended, desk, err, json, names, out, run};

#[test]
fn a_measured_part_is_explained_and_cut_again() {
    let folder = desk();
    let correct = |curve: &str, rest: &[&str]| {
        let mut all = vec!["correct", "examples/first_cut.toml", curve];
        all.extend(rest);
        run(folder.path(), &all)
    };
    let done = correct("examples/first_cut.csv", &["--thickness", "1.97", "--out", "second-cut"]);
    assert_ended(&done, 0);
    for part in ["explained           yes", "hysteresis", "measured", "next part", "remedy", "caution"] {
        assert!(out(&done).contains(part), "{part:?} is not in: {}", out(&done));
    }
    let expected = [
        "curve.csv",
        "curve.png",
        "curve.svg",
        "drawing.pdf",
        "former/former.csv",
        "former/former.stl",
        "former/former_profile_mm.dxf",
        "former/former_rings_mm.dxf",
        "former/former_turned.step",
        "former/set_shape.csv",
        "inspection.pdf",
        "outline.svg",
        "outline_mm.dxf",
        "part.toml",
        "pictures/drawing.svg",
        "pictures/measured.png",
        "pictures/measured.svg",
        "setting.txt",
        "solids/blank.step",
        "solids/spring.step",
        "solids/spring.stl",
        "spring.toml",
        "stations.csv",
        "summary.json",
    ];
    assert_eq!(names(&folder.path().join("second-cut")), expected);
    let summary = json(&fs::read_to_string(folder.path().join("second-cut/summary.json")).unwrap());
    // the part of the example is 0.035 mm thinner than its drawing says, at the edge of what a micrometer's 1.97 ± 0.005 mm allows
    let thickness = &summary["correction"]["estimates"][0];
    let end = |key: &str| thickness[key].as_f64().unwrap();
    assert!(end("low") < -0.0348 && end("high") > -0.035, "{thickness}");
    let rms = |pointer: &str| summary.pointer(pointer).and_then(Value::as_f64).unwrap();
    assert!(rms("/fit/rms_percent") < 0.5 * rms("/correction/rms_before_percent"), "{}", summary["fit"]);
    // the bound of the next part holds its own scatter too: more than the middle, less than the error of the measured part
    let (middle, bound) =
        (rms("/correction/expected/rms_percent"), rms("/correction/expected/within_percent"));
    assert!(middle < 0.5 * rms("/correction/rms_before_percent"), "{}", summary["correction"]["expected"]);
    assert!(
        bound > middle && bound < rms("/correction/trims/0/rms_percent"),
        "{}",
        summary["correction"]["expected"]
    );
    assert_eq!(out(&done).contains("more than the 3 % asked"), bound > 3.0, "{}", out(&done));
    // the new drawing is a spring like any other
    let file: toml::Table =
        fs::read_to_string(folder.path().join("second-cut/spring.toml")).unwrap().parse().unwrap();
    assert_alike(&summary["spring"], &serde_json::to_value(file).unwrap());

    // a curve that no correction explains: sagging here, proud there
    let text = fs::read_to_string(folder.path().join("examples/first_cut.csv")).unwrap();
    let mut bent = String::from("travel_mm,force_n\n");
    for line in text.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())) {
        let (x, f) = line.split_once(',').unwrap();
        let (x, f): (f64, f64) = (x.parse().unwrap(), f.parse().unwrap());
        let _ = writeln!(bent, "{x},{}", f * (1.0 - 0.1 * (std::f64::consts::PI * x / 2.0).sin()));
    }
    fs::write(folder.path().join("bent.csv"), bent).unwrap();
    let unexplained = correct("bent.csv", &["--out", "third-cut"]);
    assert_ended(&unexplained, 3);
    assert!(out(&unexplained).contains("explained           NO"), "{}", out(&unexplained));
    assert_eq!(names(&folder.path().join("third-cut")), ["measured.png", "measured.svg"]);

    // the spring that was measured is not overwritten unasked
    fs::create_dir(folder.path().join("kept")).unwrap();
    fs::copy(folder.path().join("examples/first_cut.toml"), folder.path().join("kept/spring.toml")).unwrap();
    let arguments = ["correct", "kept/spring.toml", "examples/first_cut.csv", "--out", "kept"];
    let refused = run(folder.path(), &arguments);
    assert_ended(&refused, 1);
    assert!(err(&refused).contains("--force"), "{}", err(&refused));
    assert_eq!(names(&folder.path().join("kept")), ["spring.toml"]);

    // what is wrong is said
    let wrong = correct("examples/first_cut.csv", &["--thickness", "0"]);
    assert_ended(&wrong, 2);
    fs::write(folder.path().join("short.csv"), "travel,force\n0,0\n1,5\n2,10\n3,15\n").unwrap();
    let short = correct("short.csv", &[]);
    assert_ended(&short, 3);
    assert!(out(&short).contains("found 4 readings of a branch"), "{}", out(&short));
}

/// The same but for the seven digits to which the summary's numbers are written.
#[track_caller]
fn assert_alike(short: &Value, long: &Value) {
    match (short, long) {
        (Value::Object(short), Value::Object(long)) => {
            assert!(short.keys().eq(long.keys()), "{short:?} {long:?}");
            short.values().zip(long.values()).for_each(|(a, b)| assert_alike(a, b));
        }
        (Value::Array(short), Value::Array(long)) => {
            assert_eq!(short.len(), long.len());
            short.iter().zip(long).for_each(|(a, b)| assert_alike(a, b));
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            assert!((a - b).abs() <= 1e-6 * b.abs(), "{a} {b}");
        }
        (a, b) => assert_eq!(a, b),
    }
}
