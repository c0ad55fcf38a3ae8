//! The program as its users meet it: commands, files, messages, exit codes. Everything goes through the binary.

use std::ffi::OsStr;
use std::fmt::Write as _;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

/// A brief that leaves little to choose, so that a design takes seconds.
const QUICK: &str = "[envelope]\nouter_diameter_max = 90\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.5\n\
                     [arms]\ncount = 1\n";

/// The files of a package.
const FILES: [&str; 41] = [
    "comparison.png",
    "comparison.svg",
    "curve.csv",
    "curve.png",
    "curve.svg",
    "former.csv",
    "former.png",
    "former.stl",
    "former.svg",
    "height.png",
    "height.svg",
    "outline.svg",
    "outline_mm.dxf",
    "plan.png",
    "plan.svg",
    "rate.png",
    "rate.svg",
    "report.html",
    "scatter.png",
    "scatter.svg",
    "seated.png",
    "seated.svg",
    "sections.png",
    "sections.svg",
    "setting.txt",
    "spring.stl",
    "spring.toml",
    "spring_closed.png",
    "spring_closed.svg",
    "spring_free.png",
    "spring_free.svg",
    "spring_half.png",
    "spring_half.svg",
    "stations.csv",
    "stress_along.png",
    "stress_along.svg",
    "stress_over_travel.png",
    "stress_over_travel.svg",
    "summary.json",
    "width.png",
    "width.svg",
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

/// Names in a folder, sorted, hidden ones too.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

#[test]
fn a_design_writes_its_files_and_passes() {
    let (_, output) = designed();
    assert_ended(output, 0);
    assert_eq!(names(&package()), FILES);
    let said = out(output);
    for part in
        ["curve met", "closes flat", "stress held", "caution", "41 files written to package", "o asked for"]
    {
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
    fs::create_dir(&into).unwrap();
    for name in FILES {
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

#[test]
fn wrong_curves_are_refused_with_row_and_column() {
    let rows = |count: usize| {
        let mut text = String::from("deflection_mm,force_n\n");
        for k in 0..count {
            let _ = writeln!(text, "{k},{k}");
        }
        text
    };
    let cases: [(&str, String, &[&str]); 16] = [
        (
            "not a number",
            "deflection_mm,force_n\n0,0\n1,ten\n2,3\n".to_owned(),
            &["row 3, column 2 (\"force_n\")", "\"ten\"", "expected a number"],
        ),
        ("an empty cell", "x,f\n0,0\n,2\n2,3\n".to_owned(), &["row 3, column 1 (\"x\")", "empty cell"]),
        (
            "NaN",
            "x,f\n# a comment and a blank line count as rows\n\n0,0\n1,NaN\n2,3\n".to_owned(),
            &["row 5, column 2", "NaN"],
        ),
        ("infinite", "f,x\n0,0\ninf,1\n3,2\n".to_owned(), &["row 3, column 1 (\"f\")", "infinite"]),
        ("too large to hold", "x,f\n0,0\n1,1e999\n3,2\n".to_owned(), &["row 3, column 2", "infinite"]),
        (
            "negative deflection",
            "x,f\n0,0\n-1,1\n2,3\n".to_owned(),
            &["row 3, column 1", "deflection of -1 mm", "0 mm or more"],
        ),
        (
            "negative force",
            "x,f\r\n0,0\r\n1,-4\r\n2,3\r\n".to_owned(),
            &["row 3, column 2", "force of -4 N", "0 N or more"],
        ),
        ("two points", rows(2), &["points at different deflections is 2", "at least 3"]),
        ("three rows, two points", "x,f\n0,0\n1,1\n1,2\n".to_owned(), &["is 2", "at least 3"]),
        ("too many rows", rows(100_001), &["more than 100000 rows", "row 100002", "thin it out"]),
        ("no header", "0,0\n1,1\n2,3\n".to_owned(), &["row 1 holds numbers", "expected a header"]),
        (
            "no force column",
            "x,power\n0,0\n1,1\n2,3\n".to_owned(),
            &["row 1", "no column for the force", "force, load or f"],
        ),
        (
            "unknown unit",
            "x_mm,f_oz\n0,0\n1,1\n2,3\n".to_owned(),
            &["row 1, column 2", "\"oz\"", "N, kN, kgf or lbf"],
        ),
        ("a cell too many", "x;f\n0;0\n1;1;1\n2;3\n".to_owned(), &["row 3", "is 3, expected 2"]),
        ("nothing", String::new(), &["no row at all", "expected a header"]),
        ("no force", "x,f\n0,0\n1,0\n2,0\n".to_owned(), &["every force is zero"]),
    ];
    let folder = desk();
    for (name, text, parts) in cases {
        fs::write(folder.path().join("curve.csv"), text).unwrap();
        let output = design(folder.path(), "curve.csv", "refused");
        assert_ended(&output, 2);
        let message = err(&output);
        assert!(message.starts_with("error: curve.csv: "), "{name}: {message}");
        for part in parts {
            assert!(message.contains(part), "{name}: {part:?} is not in: {message}");
        }
        assert!(out(&output).is_empty() && !folder.path().join("refused").exists(), "{name}");
    }
    fs::write(folder.path().join("curve.csv"), b"x,f\n0,0\n1,\xff\n2,3\n").unwrap();
    let output = design(folder.path(), "curve.csv", "refused");
    assert_ended(&output, 2);
    assert!(err(&output).contains("row 3") && err(&output).contains("UTF-8"), "{}", err(&output));
}

#[test]
fn other_ways_of_writing_a_curve_mean_the_same() {
    let folder = desk();
    let plain = fs::read_to_string(root().join("examples/linear.csv")).unwrap();
    let mut written = String::from("\u{feff}# written elsewhere\r\nLoad [N];Travel [mm]\r\n");
    for line in plain.lines().filter(|line| line.starts_with(|c: char| c.is_ascii_digit())) {
        let (x, f) = line.split_once(',').unwrap();
        let _ = write!(written, "{};{}\r\n", f.replace('.', ","), x.replace('.', ","));
    }
    fs::write(folder.path().join("elsewhere.csv"), written).unwrap();
    let output = design(folder.path(), "elsewhere.csv", "package");
    assert_ended(&output, 0);
    let read = |path: PathBuf| fs::read_to_string(path.join("spring.toml")).unwrap();
    assert_eq!(read(folder.path().join("package")), read(package()));
}

#[test]
fn what_was_mended_in_a_curve_is_said() {
    let folder = desk();
    let text = "travel,force\n0,0\n2,10\n1,5\n3,15\n4,19\n4,21\n5,25\n6,30\n3,14\n1,4\n";
    fs::write(folder.path().join("curve.csv"), text).unwrap();
    let output =
        run(folder.path(), &["design", "curve.csv", "--brief", "quick.toml", "--out", "package", "--json"]);
    let summary = json(&out(&output));
    let warnings = summary["warnings"].to_string();
    for part in ["mm", "N", "sorted"] {
        assert!(warnings.contains(part), "{part:?} is not in: {warnings}");
    }
    // the warnings of the summary are said aloud too
    for warning in summary["warnings"].as_array().unwrap() {
        assert!(err(&output).contains(warning.as_str().unwrap()), "{warning} was not said");
    }
}

#[test]
fn a_softening_curve_ends_with_three_and_the_reason() {
    let folder = desk();
    let text = "deflection_mm,force_n\n0,0\n1,10\n2,17\n3,22\n4,25\n5,26.5\n6,27\n";
    fs::write(folder.path().join("soft.csv"), text).unwrap();
    let output =
        run(folder.path(), &["design", "soft.csv", "--brief", "quick.toml", "--out", "package", "--json"]);
    assert_ended(&output, 3);
    assert!(err(&output).contains("the rate falls"), "{}", err(&output));
    // one JSON object and nothing else, the same as the file
    assert_eq!(out(&output), fs::read_to_string(folder.path().join("package/summary.json")).unwrap());
    let summary = json(&out(&output));
    assert_eq!(summary["fit"]["reachable"], Value::Bool(false));
    assert!(summary["fit"]["reason"].as_str().unwrap().contains("rate"), "{}", summary["fit"]);
    assert_eq!(names(&folder.path().join("package")), FILES);
}

#[test]
fn what_cannot_be_read_ends_with_one() {
    let folder = desk();
    let cases: [&[&str]; 5] = [
        &["design", "missing.csv"],
        &["design", "examples/linear.csv", "--brief", "missing.toml"],
        &["predict", "missing.toml"],
        &["predict", "examples"],
        &["outline", "missing.toml"],
    ];
    for arguments in cases {
        let output = run(folder.path(), arguments);
        assert_ended(&output, 1);
        let named = arguments.iter().rev().find(|argument| !argument.starts_with("--")).unwrap();
        assert!(err(&output).starts_with(&format!("error: {named}: cannot be read")), "{}", err(&output));
    }
}

#[test]
fn wrong_briefs_are_refused_with_their_place() {
    let cases = [
        ("[seat]\nhup = \"guided\"\n", "brief.toml: line 2, column 1: unknown field `hup`"),
        ("[sheets]\n", "brief.toml: line 1, column 2: unknown field `sheets`"),
        ("\n[arms]\ncount = \"two\"\n", "brief.toml: line 3, column 9: "),
        ("[sheet\n", "brief.toml: line 1, column 7: "),
        ("[process]\nkind = \"shears\"\n", "brief.toml: line 2, column 8: unknown variant `shears`"),
        ("[arms]\ncount = 13\n", "brief.toml: [arms.count] is [13], expected numbers from 1 to 12"),
        ("[sheet]\nthickness = -1\n", "brief.toml: [sheet.thickness] is -1, expected a number above zero"),
        ("[sheet]\nmaterial = \"butter\"\n", "sheet \"butter\" is not in the stock"),
        ("[envelope]\nfree_height_max = 5\n", "the curve needs 7.00 mm of travel"),
    ];
    let folder = desk();
    for (text, message) in cases {
        fs::write(folder.path().join("brief.toml"), text).unwrap();
        let output = run(folder.path(), &["design", "examples/linear.csv", "--brief", "brief.toml"]);
        assert_ended(&output, 2);
        assert!(err(&output).contains(message), "{message:?} is not in: {}", err(&output));
    }
    assert_eq!(names(folder.path()), ["brief.toml", "examples", "quick.toml"]);
}

#[test]
fn what_was_typed_wrong_ends_with_two() {
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
fn a_prediction_has_its_columns() {
    let folder = desk();
    let spring = root().join("tests/data/arms/single_constant/spring.toml");
    let output = run(folder.path(), &[OsStr::new("predict"), spring.as_os_str()]);
    assert_ended(&output, 0);
    let text = out(&output);
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("deflection_mm,force_n,rate_n_per_mm,seated_share,peak_stress_mpa"));
    let rows: Vec<Vec<f64>> =
        lines.map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect()).collect();
    assert!(rows.len() > 50 && rows.iter().all(|row| row.len() == 5), "{} rows", rows.len());
    assert!(rows.windows(2).all(|pair| pair[0][0] < pair[1][0]), "deflections rise");
    assert!(rows.iter().all(|row| (0.0..=1.0).contains(&row[3]) && row[2] > 0.0), "shares and rates");
}

#[test]
fn a_prediction_at_given_deflections_goes_where_it_is_sent() {
    let folder = desk();
    let spring = package().join("spring.toml");
    let arguments = |rest: &[&str]| {
        let mut all = vec!["predict".to_owned(), spring.display().to_string()];
        all.extend(rest.iter().map(|part| (*part).to_owned()));
        all
    };
    let shown = run(folder.path(), &arguments(&["--at", "examples/linear.csv"]));
    assert_ended(&shown, 0);
    let deflections: Vec<f64> =
        out(&shown).lines().skip(1).map(|line| line.split(',').next().unwrap().parse().unwrap()).collect();
    assert_eq!(deflections.len(), 21);
    assert!((deflections[20] - 7.0).abs() < 1e-9);
    // the package's table says the same: its target column left out
    let table = fs::read_to_string(package().join("curve.csv")).unwrap();
    let without_target: String = table
        .lines()
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            format!("{},{}\n", cells[0], cells[2..].join(","))
        })
        .collect();
    assert_eq!(out(&shown), without_target);
    // the same table into a file, over what stood there, and nothing left beside it
    fs::write(folder.path().join("table.csv"), "old\n").unwrap();
    let sent = run(folder.path(), &arguments(&["--at", "examples/linear.csv", "--out", "table.csv"]));
    assert_ended(&sent, 0);
    assert!(out(&sent).is_empty(), "{}", out(&sent));
    assert_eq!(fs::read_to_string(folder.path().join("table.csv")).unwrap(), out(&shown));
    assert_eq!(names(folder.path()), ["examples", "quick.toml", "table.csv"]);
    // further than the spring goes
    fs::write(folder.path().join("far.csv"), "deflection_mm\n1\n200\n").unwrap();
    let far = run(folder.path(), &arguments(&["--at", "far.csv"]));
    assert_ended(&far, 2);
    assert!(err(&far).contains("200 mm") && err(&far).contains("free height"), "{}", err(&far));
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

/// Forces of a printed prediction.
fn forces(text: &str) -> Vec<f64> {
    text.lines().skip(1).map(|line| line.split(',').nth(1).unwrap().parse().unwrap()).collect()
}

#[test]
fn a_drawing_is_predicted_as_the_spring_it_was_drawn_from() {
    let folder = desk();
    let (drawing, spring) = (package().join("outline_mm.dxf"), package().join("spring.toml"));
    let (drawing, spring) = (drawing.display().to_string(), spring.display().to_string());
    let at = ["--at", "examples/linear.csv"];
    let designed = run(folder.path(), &["predict", &spring, at[0], at[1]]);
    let drawn = run(folder.path(), &["predict", &drawing, "--like", &spring, at[0], at[1]]);
    assert_ended(&drawn, 0);
    let (designed, drawn) = (forces(&out(&designed)), forces(&out(&drawn)));
    let floor = 0.1 * designed.iter().copied().fold(0.0, f64::max);
    let worst = designed.iter().zip(&drawn).map(|(a, b)| (a - b).abs() / a.max(floor)).fold(0.0, f64::max);
    assert!(worst < 0.003, "{worst}");
    assert!(worst > 0.0, "the drawing was measured, not looked up");
    // the design says the same of itself
    let summary = json(&fs::read_to_string(package().join("summary.json")).unwrap());
    assert!(summary["drawing"]["read_back"]["force_percent"].as_f64().unwrap() < 0.3);

    let checked = run(folder.path(), &["flat", &drawing, "--like", &spring, "--json"]);
    let itself = run(folder.path(), &["flat", &spring, "--json"]);
    assert_ended(&checked, 0);
    let (checked, itself) = (json(&out(&checked)), json(&out(&itself)));
    assert_eq!(checked["flat"]["solid_height_mm"], itself["flat"]["solid_height_mm"]);
    let closing = |report: &Value| report["flat"]["closing_force_n"].as_f64().unwrap();
    // with a hundredth of the height left the force climbs steeply
    let ratio = closing(&checked) / closing(&itself);
    assert!((ratio - 1.0).abs() < 0.1, "{ratio}");

    // thicker sheet, said beside the drawing: force goes with the cube of the thickness at most, less in narrow arms
    let like = ["--like", &spring, "--thickness", "1.65"];
    let thicker =
        run(folder.path(), &["predict", &drawing, like[0], like[1], like[2], like[3], at[0], at[1]]);
    let ratio = forces(&out(&thicker))[2] / drawn[2];
    assert!(ratio > 1.1_f64.powi(2) && ratio < 1.1_f64.powi(3), "{ratio}");
}

#[test]
fn what_a_drawing_does_not_say_is_asked_for() {
    let folder = desk();
    let drawing = package().join("outline_mm.dxf").display().to_string();
    let spring = package().join("spring.toml").display().to_string();
    for (arguments, words) in [
        (vec![drawing.as_str()], "how thick the sheet is; give --thickness"),
        (vec![&drawing, "--thickness", "1.5"], "which sheet it is; give --material"),
        (vec![&drawing, "--thickness", "1.5", "--material", "1.4310+C1300"], "give --free-height"),
        (vec![&drawing, "--thickness=-1"], "--thickness: found -1, expected a length in mm above zero"),
        (vec![&spring, "--thickness", "1.5"], "--thickness is for a spring given as a drawing"),
    ] {
        let mut all = vec!["predict"];
        all.extend(arguments);
        let output = run(folder.path(), &all);
        assert_ended(&output, 2);
        assert!(err(&output).contains(words), "{}", err(&output));
    }
    fs::write(folder.path().join("broken.dxf"), "0\nSECTION\nx\n").unwrap();
    let output = run(folder.path(), &["flat", "broken.dxf", "--like", &spring]);
    assert_ended(&output, 2);
    assert!(err(&output).contains("broken.dxf, line 3"), "{}", err(&output));
}

#[test]
fn more_drawings_come_on_request_alone() {
    let folder = desk();
    let spring = package().join("spring.toml").display().to_string();
    let plain = run(folder.path(), &["outline", &spring, "--out", "plain"]);
    assert_ended(&plain, 0);
    assert_eq!(names(&folder.path().join("plain")), ["outline.svg", "outline_mm.dxf"]);
    let more = [
        "outline",
        &spring,
        "--out",
        "more",
        "--tool-path",
        "--columns",
        "3",
        "--rows",
        "2",
        "--without-notes",
    ];
    let output = run(folder.path(), &more);
    assert_ended(&output, 0);
    let written = names(&folder.path().join("more"));
    assert_eq!(written.len(), 5, "{written:?}");
    assert!(written.iter().any(|name| name.starts_with("KERF_0.90_COMPENSATED")), "{written:?}");
    assert!(out(&output).contains("6 discs, 3 by 2"), "{}", out(&output));
    let read = |folder_name: &str, name: &str| {
        fs::read_to_string(folder.path().join(folder_name).join(name)).unwrap()
    };
    assert!(
        read("plain", "outline_mm.dxf").contains("\nTEXT")
            && !read("more", "outline_mm.dxf").contains("\nTEXT")
    );
    let too_small = run(folder.path(), &["outline", &spring, "--sheet", "50x50"]);
    assert_ended(&too_small, 2);
    assert!(err(&too_small).contains("--sheet: found 50x50"), "{}", err(&too_small));
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
    for part in ["explained           yes", "hysteresis", "measured", "curve expected", "caution"] {
        assert!(out(&done).contains(part), "{part:?} is not in: {}", out(&done));
    }
    let expected = [
        "curve.csv",
        "curve.png",
        "curve.svg",
        "former.csv",
        "former.stl",
        "measured.png",
        "measured.svg",
        "outline.svg",
        "outline_mm.dxf",
        "part.toml",
        "setting.txt",
        "spring.stl",
        "spring.toml",
        "stations.csv",
        "summary.json",
    ];
    assert_eq!(names(&folder.path().join("second-cut")), expected);
    let summary = json(&fs::read_to_string(folder.path().join("second-cut/summary.json")).unwrap());
    // the part of the example is 0.035 mm thinner than its drawing says
    let thickness = &summary["correction"]["estimates"][0];
    let end = |key: &str| thickness[key].as_f64().unwrap();
    assert!(end("low") < -0.035 && end("high") > -0.035, "{thickness}");
    let rms = |pointer: &str| summary.pointer(pointer).and_then(Value::as_f64).unwrap();
    assert!(rms("/fit/rms_percent") < 0.5 * rms("/correction/rms_before_percent"), "{}", summary["fit"]);
    assert!(rms("/correction/expected/within_percent") < 3.0, "{}", summary["correction"]["expected"]);
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
    assert_ended(&short, 2);
    assert!(err(&short).starts_with("error: short.csv: 4 readings"), "{}", err(&short));
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

/// Commands of the README: lines of its `sh` blocks, as `flatspire …`.
fn readme_commands() -> Vec<String> {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let mut commands = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("```") {
            inside = line == "```sh";
        } else if inside {
            let line = line.replace("cargo run --release -- ", "flatspire ");
            if line.starts_with("flatspire ") {
                commands.push(line);
            }
        }
    }
    commands
}

#[test]
#[cfg(unix)]
fn the_commands_of_the_readme_run() {
    let commands = readme_commands();
    let folder = desk();
    let help = out(&run(folder.path(), &["--help"]));
    let listed: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert!(listed.len() >= 6, "{help}");
    for name in listed {
        let shown = commands.iter().any(|line| line.starts_with(&format!("flatspire {name} ")));
        assert!(shown, "the README shows no example of {name}");
    }
    let binary = PathBuf::from(env!("CARGO_BIN_EXE_flatspire"));
    let path = format!("{}:{}", binary.parent().unwrap().display(), std::env::var("PATH").unwrap());
    for line in commands {
        if line.starts_with("flatspire serve") {
            runs_until_it_is_stopped(&line, folder.path(), &path);
            continue;
        }
        let output = Command::new("sh")
            .args(["-c", &line])
            .current_dir(folder.path())
            .env("PATH", &path)
            .output()
            .unwrap();
        assert_eq!(code(&output), 0, "{line}\n{}{}", out(&output), err(&output));
    }
}

/// A command that serves until it is stopped: it says where, answers there, and goes on. The port is any free one.
fn runs_until_it_is_stopped(line: &str, folder: &Path, path: &str) {
    let mut child = Command::new("sh")
        .args(["-c", &format!("exec {line} --port 0")])
        .current_dir(folder)
        .env("PATH", path)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
    let address = said.split("http://").nth(1).and_then(|rest| rest.split('/').next()).unwrap_or_default();
    let answered = TcpStream::connect(address).and_then(|mut stream| {
        stream.write_all(format!("GET / HTTP/1.1\r\nHost: {address}\r\n\r\n").as_bytes())?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).map(|_| answer)
    });
    let goes_on = child.try_wait().unwrap().is_none();
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(answered.unwrap().starts_with("HTTP/1.1 200"), "{line}: {said}");
    assert!(goes_on, "{line} ended by itself");
}
