//! Reading of curves and briefs, right and wrong.

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use serde_json::Value;

use super::{FILES, QUICK, assert_ended, design, desk, err, json, names, out, package, root, run};

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
        ("one point", rows(1), &["points at different deflections is 1", "at least 2"]),
        ("two rows, one point", "x,f\n1,1\n1,2\n".to_owned(), &["is 1", "at least 2"]),
        ("too many rows", rows(100_001), &["more than 100000 rows", "row 100002", "thin it out"]),
        ("no header", "0,0\n1,1\n2,3\n".to_owned(), &["row 1 holds numbers", "expected a header"]),
        (
            "no force column",
            "x,power\n0,0\n1,1\n2,3\n".to_owned(),
            &["row 1", "no column for the force", "force, load or f"],
        ),
        (
            "unknown unit",
            "x_mm,f_stone\n0,0\n1,1\n2,3\n".to_owned(),
            &["row 1, column 2", "\"stone\"", "N, kN, kgf, gf, g, lbf, ozf or oz"],
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
    assert!(err(&output).contains("row 3") && err(&output).contains("expected a number"), "{}", err(&output));
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
fn corrections_of_a_curve_are_noted() {
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
    let one = format!("{QUICK}[assembly]\nkind = \"single\"\n");
    fs::write(folder.path().join("one.toml"), one).unwrap();
    let output =
        run(folder.path(), &["design", "soft.csv", "--brief", "one.toml", "--out", "package", "--json"]);
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
fn unreadable_files_end_with_one() {
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
