//! The program as its users meet it: commands, files, messages, exit codes. Everything goes through the binary.

mod assembly;
mod bench;
mod correct;
mod design;
mod documents;
mod predict;
mod reading;
mod same_numbers;

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

/// A brief that leaves little to choose, so that a design takes seconds.
const QUICK: &str = "[envelope]\nouter_diameter_max = 90\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.5\n\
                     [arms]\ncount = 1\n";

/// The files of a package.
const FILES: [&str; 52] = [
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
    "pictures/comparison.png",
    "pictures/comparison.svg",
    "pictures/drawing.svg",
    "pictures/former.png",
    "pictures/former.svg",
    "pictures/height.png",
    "pictures/height.svg",
    "pictures/plan.png",
    "pictures/plan.svg",
    "pictures/rate.png",
    "pictures/rate.svg",
    "pictures/roots.png",
    "pictures/roots.svg",
    "pictures/scatter.png",
    "pictures/scatter.svg",
    "pictures/seated.png",
    "pictures/seated.svg",
    "pictures/sections.png",
    "pictures/sections.svg",
    "pictures/spring_closed.png",
    "pictures/spring_closed.svg",
    "pictures/spring_free.png",
    "pictures/spring_free.svg",
    "pictures/spring_half.png",
    "pictures/spring_half.svg",
    "pictures/stress_along.png",
    "pictures/stress_along.svg",
    "pictures/stress_over_travel.png",
    "pictures/stress_over_travel.svg",
    "pictures/width.png",
    "pictures/width.svg",
    "report.html",
    "setting.txt",
    "solids/blank.step",
    "solids/spring.step",
    "solids/spring.stl",
    "spring.toml",
    "stations.csv",
    "summary.json",
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The program, to be run in a folder.
fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flatspire"));
    command.current_dir(folder).stdin(Stdio::null());
    command
}

fn run<S: AsRef<OsStr>>(folder: &Path, arguments: &[S]) -> Output {
    program(folder).args(arguments).output().unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

#[track_caller]
fn assert_ended(output: &Output, expected: i32) {
    assert_eq!(code(output), expected, "standard output: {}\nstandard error: {}", out(output), err(output));
    assert!(!err(output).contains("panicked"), "{}", err(output));
}

/// A folder with the examples and the quick brief.
fn desk() -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("examples")).unwrap();
    for entry in fs::read_dir(root().join("examples")).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join("examples").join(path.file_name().unwrap())).unwrap();
    }
    fs::write(folder.path().join("quick.toml"), QUICK).unwrap();
    folder
}

fn design(folder: &Path, curve: &str, into: &str) -> Output {
    run(folder, &["design", curve, "--brief", "quick.toml", "--out", into])
}

/// One design of an example, shared by the tests that only look at it: the folder and what was said.
fn designed() -> &'static (TempDir, Output) {
    static DESIGNED: OnceLock<(TempDir, Output)> = OnceLock::new();
    DESIGNED.get_or_init(|| {
        let folder = desk();
        let output = design(folder.path(), "examples/linear.csv", "package");
        (folder, output)
    })
}

fn package() -> PathBuf {
    designed().0.path().join("package")
}

/// Name of the manifest of a package.
const MANIFEST: &str = ".flatspire.json";

/// Folders of a package.
const FOLDERS: [&str; 3] = ["former", "pictures", "solids"];

/// Names in a folder and in the folders of its package, sorted, hidden ones too, without the manifest.
fn names(folder: &Path) -> Vec<String> {
    let inside = |folder: &Path| -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    };
    let mut names = Vec::new();
    for name in inside(folder).into_iter().filter(|name| name != MANIFEST) {
        if FOLDERS.contains(&name.as_str()) {
            names.extend(inside(&folder.join(&name)).iter().map(|below| format!("{name}/{below}")));
        } else {
            names.push(name);
        }
    }
    names.sort();
    names
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

#[test]
fn usage_errors_end_with_two() {
    let folder = desk();
    let cases: [&[&str]; 5] = [
        &[],
        &["design"],
        &["desing", "examples/linear.csv"],
        &["design", "examples/linear.csv", "--breif", "quick.toml"],
        &["predict", "spring.toml", "--units", "furlong"],
    ];
    for arguments in cases {
        let output = run(folder.path(), arguments);
        assert_ended(&output, 2);
        assert!(
            out(&output).is_empty() && err(&output).contains("--help"),
            "{arguments:?}: {}",
            err(&output)
        );
    }
}

#[test]
fn every_command_prints_one_json_object() {
    let folder = desk();
    let spring = package().join("spring.toml").display().to_string();
    let cut: [&str; 2] = ["examples/first_cut.toml", "examples/first_cut.csv"];
    let cases: [(&[&str], &str); 9] = [
        (&["compare", cut[0], "--out", "comparison"], "/springs/1/fit/rms_percent"),
        (&["scatter", cut[0], "--runs", "200", "--out", "scatter"], "/curve/low_n/0"),
        (&["correct", cut[0], cut[1], "--out", "second-cut"], "/correction/estimates/0/value"),
        (&["predict", &spring], "/curve/force_n/0"),
        (&["predict", &spring, "--out", "table.csv"], "/curve/peak_stress_mpa/0"),
        (&["flat", &spring], "/flat/closes"),
        (&["outline", &spring, "--out", "drawings"], "/files/0"),
        (&["stock"], "/sheets/0/name"),
        (&["stock", "1.4310+C1300"], "/youngs_modulus/value"),
    ];
    for (arguments, pointer) in cases {
        let output = program(folder.path()).args(arguments).arg("--json").output().unwrap();
        assert_ended(&output, 0);
        let value = json(&out(&output));
        assert!(value.is_object() && value.pointer(pointer).is_some(), "{arguments:?}: {pointer} in {value}");
    }
}

/// Everything a reader in inches and pounds is told, on standard output, on standard error and in the report.
#[test]
fn whoever_asks_for_inches_reads_no_millimetres() {
    let folder = desk();
    let spring = package().join("spring.toml");
    let spring = spring.to_str().unwrap();
    let said = run(folder.path(), &["flat", spring, "--out", "told", "--units", "in-lbf"]);
    let page = fs::read_to_string(folder.path().join("told/report.html")).unwrap();
    // the words of the page, without its drawings, scripts, data and the spring file; a slash is escaped there
    let mut words = page.split("<main").nth(1).unwrap().replace("&#x2f;", "/");
    for (open, close) in [("<svg", "</svg>"), ("<script", "</script>"), ("<pre", "</pre>")] {
        while let Some(start) = words.find(open) {
            let end = words[start..].find(close).map_or(words.len(), |end| start + end + close.len());
            words.replace_range(start..end, "");
        }
    }
    assert!(out(&said).contains(" in\n") && words.contains("\u{a0}lbf"), "{words}");
    for text in [out(&said), err(&said), words] {
        for unit in ["mm", "N", "N/mm", "MPa", "kg", "J"] {
            for space in [" ", "\u{a0}"] {
                let written = format!("{space}{unit}");
                let metric = text.match_indices(&written).find(|(place, _)| {
                    let number = text[..*place].ends_with(|c: char| c.is_ascii_digit());
                    let rest = &text[place + written.len()..];
                    number && !rest.starts_with(|c: char| c.is_alphanumeric() || "/²³·".contains(c))
                });
                let around =
                    metric.map(|(place, _)| text[..place + written.len()].lines().next_back().unwrap());
                assert_eq!(around, None);
            }
        }
    }
}

#[test]
fn nobody_reading_is_no_mistake() {
    let folder = desk();
    let spring = package().join("spring.toml").display().to_string();
    let cases: [&[&str]; 5] =
        [&["predict", &spring], &["flat", &spring], &["stock"], &["completions", "fish"], &["--help"]];
    for arguments in cases {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let shut = program(folder.path()).args(arguments).stdout(writer).output().unwrap();
        assert_ended(&shut, 0);
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let unheard = program(folder.path()).args(arguments).stderr(writer).output().unwrap();
        assert_ended(&unheard, 0);
        assert!(!unheard.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn a_place_that_cannot_be_written_ends_with_one_and_nothing_half_done() {
    let folder = desk();
    fs::write(folder.path().join("file"), "in the way").unwrap();
    for into in ["file", "file/below"] {
        let output = design(folder.path(), "examples/linear.csv", into);
        assert_ended(&output, 1);
        assert!(err(&output).starts_with(&format!("error: {into}: cannot be written")), "{}", err(&output));
    }
    assert_eq!(fs::read_to_string(folder.path().join("file")).unwrap(), "in the way");
    assert_eq!(names(folder.path()), ["examples", "file", "quick.toml"]);
    // a folder where the last file of the package should go: what was written is whole, nothing temporary is left
    let blocked = folder.path().join("blocked");
    fs::create_dir_all(blocked.join("summary.json")).unwrap();
    let output = design(folder.path(), "examples/linear.csv", "blocked");
    assert_ended(&output, 1);
    assert!(err(&output).contains("summary.json"), "{}", err(&output));
    for name in names(&blocked).iter().filter(|name| *name != "summary.json") {
        let written = fs::read(blocked.join(name)).unwrap();
        assert!(written == fs::read(package().join(name)).unwrap(), "{name} is not whole");
    }
    let spring = package().join("spring.toml").display().to_string();
    let output = run(folder.path(), &["predict", &spring, "--out", "nowhere/table.csv"]);
    assert_ended(&output, 1);
    assert!(err(&output).contains("nowhere/table.csv: cannot be written"), "{}", err(&output));
}
