//! Assemblies through the binary: the package, its files read again, what is refused.

use std::fs;
use std::process::Output;
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

use super::{FILES, assert_ended, desk, err, json, names, out, run};

const BRIEF: &str = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[arms]\ncount = [2, 3]\n\
                     [fit]\ntolerance_percent = 1.5\n";

/// The files of an assembly beside the folders of its discs.
const ABOVE: [&str; 11] = [
    "assembly.toml",
    "assembly.txt",
    "curve.csv",
    "curve.png",
    "curve.svg",
    "disc",
    "parts.csv",
    "report.html",
    "sections.png",
    "sections.svg",
    "summary.json",
];

fn designed() -> &'static (TempDir, Output) {
    static DESIGNED: OnceLock<(TempDir, Output)> = OnceLock::new();
    DESIGNED.get_or_init(|| {
        let folder = desk();
        fs::write(folder.path().join("brief.toml"), BRIEF).unwrap();
        let output = run(
            folder.path(),
            &["design", "examples/centring.csv", "--brief", "brief.toml", "--out", "stick"],
        );
        (folder, output)
    })
}

/// Columns of a table with a header.
fn columns(text: &str) -> (Vec<String>, Vec<Vec<f64>>) {
    let mut lines = text.lines();
    let head: Vec<String> = lines.next().unwrap().split(',').map(str::to_owned).collect();
    let rows: Vec<Vec<f64>> =
        lines.map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect()).collect();
    let columns = (0..head.len()).map(|k| rows.iter().map(|row| row[k]).collect()).collect();
    (head, columns)
}

#[test]
fn a_curve_to_both_sides_makes_the_package_of_an_assembly() {
    let (folder, output) = designed();
    assert_ended(output, 0);
    let stick = folder.path().join("stick");
    assert_eq!(names(&stick), ABOVE);
    assert_eq!(names(&stick.join("disc")), FILES);
    let said = out(output);
    for part in ["assembly  ", "side a", "side b", "friction", "preloaded spring, do not open", "result  "] {
        assert!(said.contains(part), "{part:?} is not in: {said}");
    }
    let summary = json(&fs::read_to_string(stick.join("summary.json")).unwrap());
    assert_eq!(summary["passed"], Value::Bool(true));
    assert_eq!(summary["spring"], Value::Null);
    assert_eq!(summary["assembly"]["kind"], "opposed");
    assert_eq!(summary["verdicts"]["assembly"]["state"], "yes");
    assert_eq!(summary["flat"]["member"], "disc");
    let number = |pointer: &str| summary.pointer(pointer).and_then(Value::as_f64).unwrap();
    assert!(number("/fit/rms_percent") <= number("/fit/tolerance_percent"));
    assert!(number("/assembly/members/0/preload_n") > 0.0);
    // what is written down adds up: discs, hub piece
    let steps = fs::read_to_string(stick.join("assembly.txt")).unwrap();
    let height = format!("{:.2} mm at rest", number("/assembly/height_mm"));
    assert!(steps.contains(&height) && steps.contains("Cautions"), "{height}: {steps}");
    let parts = fs::read_to_string(stick.join("parts.csv")).unwrap();
    assert!(parts.contains("disc,2,") && parts.contains("hub piece,1,"), "{parts}");
    // a page that needs nothing else, and leads to the disc's own
    let page = fs::read_to_string(stick.join("report.html")).unwrap();
    assert!(page.contains("href=\"disc/report.html\"") && page.contains("Order of assembly"));
    assert!(!page.contains("<script"), "the page of an assembly has no script");
}

#[test]
fn predict_of_an_assembly_is_the_difference_of_its_discs() {
    let (folder, _) = designed();
    let folder = folder.path();
    let output = run(folder, &["predict", "stick"]);
    assert_ended(&output, 0);
    let (head, whole) = columns(&out(&output));
    assert_eq!(
        head.join(","),
        "deflection_mm,force_n,rate_n_per_mm,seated_share,peak_stress_mpa,disc_a_deflection_mm,disc_b_deflection_mm"
    );
    // the disc's own curve at the deflections that both discs see
    let force_at = |deflections: &[f64]| -> Vec<f64> {
        let mut order: Vec<f64> = deflections.to_vec();
        order.sort_by(f64::total_cmp);
        order.dedup();
        let text: String = order.iter().map(|x| format!("{x}\n")).collect();
        fs::write(folder.join("at.csv"), format!("deflection_mm\n{text}")).unwrap();
        let single = run(folder, &["predict", "stick/disc/spring.toml", "--at", "at.csv"]);
        assert_ended(&single, 0);
        let (_, single) = columns(&out(&single));
        let force = if single.len() == 6 { &single[2] } else { &single[1] };
        deflections.iter().map(|x| force[order.partition_point(|other| other < x)]).collect()
    };
    let (a, b) = (force_at(&whole[5]), force_at(&whole[6]));
    let largest = whole[1].iter().fold(0.0, |most: f64, force| most.max(force.abs()));
    for k in 0..whole[0].len() {
        let expected = a[k] - b[k];
        assert!(
            (whole[1][k] - expected).abs() < 2e-3 * largest,
            "at {}: {} {expected}",
            whole[0][k],
            whole[1][k]
        );
    }
    let far = fs::write(folder.join("far.csv"), "deflection_mm\n0\n50\n");
    far.unwrap();
    let refused = run(folder, &["predict", "stick/assembly.toml", "--at", "far.csv"]);
    assert_ended(&refused, 2);
    assert!(err(&refused).contains("50 mm"), "{}", err(&refused));
}

#[test]
fn flat_says_the_heights_between_the_plates() {
    let (folder, _) = designed();
    let output = run(folder.path(), &["flat", "stick/assembly.toml"]);
    assert_ended(&output, 0);
    for part in ["height at rest", "height, every disc free", "stored energy at rest", "result  "] {
        assert!(out(&output).contains(part), "{part}: {}", out(&output));
    }
    let output = run(folder.path(), &["flat", "stick", "--json"]);
    assert_ended(&output, 0);
    let summary = json(&out(&output));
    assert_eq!(summary["assembly"]["discs"], 2);
    // pressed together until disc a has no room left
    let file = fs::read_to_string(folder.path().join("stick/assembly.toml")).unwrap();
    let line = file.lines().find(|line| line.starts_with("installed")).unwrap();
    fs::create_dir_all(folder.path().join("tight")).unwrap();
    let copied = folder.path().join("tight/disc");
    fs::create_dir_all(&copied).unwrap();
    fs::copy(folder.path().join("stick/disc/spring.toml"), copied.join("spring.toml")).unwrap();
    fs::write(folder.path().join("tight/assembly.toml"), file.replacen(line, "installed = 40.0", 1)).unwrap();
    let tight = run(folder.path(), &["flat", "tight"]);
    assert_ended(&tight, 3);
    assert!(out(&tight).contains("assembly no"), "{}", out(&tight));
}

#[test]
fn what_takes_one_spring_says_so_of_an_assembly() {
    let (folder, _) = designed();
    for command in ["scatter", "outline", "compare"] {
        let output = run(folder.path(), &[command, "stick/assembly.toml"]);
        assert_ended(&output, 2);
        assert!(err(&output).contains("an assembly of springs"), "{command}: {}", err(&output));
    }
}

#[test]
fn an_assembly_of_another_curve_is_not_overwritten_unasked() {
    let (folder, _) = designed();
    let other = "deflection_mm,force_n\n-3,-6\n-1,-2\n0,0\n1,2\n3,6\n";
    fs::write(folder.path().join("other.csv"), other).unwrap();
    let before = fs::read(folder.path().join("stick/assembly.toml")).unwrap();
    let refused = run(folder.path(), &["design", "other.csv", "--brief", "brief.toml", "--out", "stick"]);
    assert_ended(&refused, 1);
    assert!(err(&refused).contains("--force"), "{}", err(&refused));
    assert_eq!(fs::read(folder.path().join("stick/assembly.toml")).unwrap(), before);
}
