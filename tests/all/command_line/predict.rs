//! `predict`, `flat` and `outline`: springs from files and from drawings.

use std::ffi::OsStr;
use std::fs;

use serde_json::Value;

use super::{assert_ended, desk, err, json, names, out, package, root, run};

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
    let header = out(&shown).lines().next().unwrap().to_owned();
    fs::write(folder.path().join("table.csv"), "a stranger's\n").unwrap();
    let refused = run(folder.path(), &arguments(&["--at", "examples/linear.csv", "--out", "table.csv"]));
    assert_ended(&refused, 1);
    assert!(
        err(&refused).contains("table.csv: found a file that this program did not write"),
        "{}",
        err(&refused)
    );
    fs::write(folder.path().join("table.csv"), format!("{header}\n")).unwrap();
    let sent = run(folder.path(), &arguments(&["--at", "examples/linear.csv", "--out", "table.csv"]));
    assert_ended(&sent, 0);
    assert!(out(&sent).is_empty(), "{}", out(&sent));
    assert_eq!(fs::read_to_string(folder.path().join("table.csv")).unwrap(), out(&shown));
    assert_eq!(names(folder.path()), ["examples", "quick.toml", "table.csv"]);
    // further than the spring goes
    fs::write(folder.path().join("far.csv"), "deflection_mm\n1\n200\n").unwrap();
    let far = run(folder.path(), &arguments(&["--at", "far.csv"]));
    assert_ended(&far, 2);
    assert!(
        err(&far).contains("far.csv: found a deflection of 200.0 mm") && err(&far).contains("free height"),
        "{}",
        err(&far)
    );
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
    let height = |report: &Value| report["flat"]["solid_height_mm"].as_f64().unwrap();
    // a few thousandths of a millimetre
    assert!((height(&checked) / height(&itself) - 1.0).abs() < 3e-3, "{}", height(&checked));
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
fn data_missing_in_a_drawing_are_asked_for() {
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
fn a_spring_changed_by_hand_gets_its_own_report() {
    let folder = desk();
    let text = fs::read_to_string(package().join("spring.toml")).unwrap();
    let height = text.lines().find(|line| line.starts_with("free_height = ")).unwrap();
    let taller = 1.05 * height.trim_start_matches("free_height = ").parse::<f64>().unwrap();
    let changed = folder.path().join("changed.toml");
    fs::write(&changed, text.replace(height, &format!("free_height = {taller}"))).unwrap();
    let output = run(folder.path(), &["flat", "changed.toml", "--out", "check"]);
    assert!(output.status.code().is_some_and(|code| [0, 3].contains(&code)), "{}", err(&output));
    let page = fs::read_to_string(folder.path().join("check/report.html")).unwrap();
    assert!(page.contains(&format!("{taller:.2}")) || page.contains(&format!("{taller:.1}")), "{taller}");
    // held against the curve that the file carries, which it was shaped for at another height
    assert!(page.contains("rms force error") && !page.contains("no curve asked for"));
    let names = names(&folder.path().join("check"));
    assert!(
        names.contains(&"pictures/sections.svg".to_owned())
            && !names.iter().any(|name| name.starts_with('.'))
    );
}

#[test]
fn a_prediction_goes_to_the_closed_spring() {
    let folder = desk();
    let spring = root().join("tests/data/arms/single_constant/spring.toml");
    let told = run(folder.path(), &[OsStr::new("predict"), spring.as_os_str(), OsStr::new("--json")]);
    assert_ended(&told, 0);
    let told = json(&out(&told));
    let height = told["free_height_mm"].as_f64().unwrap();
    // a hundred rows in even steps from 0 to 99 % of the travel
    let output = run(folder.path(), &[OsStr::new("predict"), spring.as_os_str()]);
    let rows: Vec<f64> =
        out(&output).lines().skip(1).map(|line| line.split(',').next().unwrap().parse().unwrap()).collect();
    assert_eq!((rows.len(), rows[0]), (100, 0.0));
    for (k, row) in rows.iter().enumerate() {
        assert!((row - 0.01 * k as f64 * height).abs() < 1e-5, "row {k}: {row} of {height}");
    }
    let last = told["curve"]["deflection_mm"].as_array().unwrap()[99].as_f64().unwrap();
    assert!((last - 0.99 * height).abs() < 1e-6 * height, "{last} of {height}");
}

#[test]
fn deflections_of_a_file_are_answered_by_that_file() {
    let folder = desk();
    let spring = package();
    let spring = spring.to_str().unwrap();
    let at = |text: &str| {
        fs::write(folder.path().join("at.csv"), text).unwrap();
        run(folder.path(), &["predict", spring, "--at", "at.csv", "--out", "-"])
    };
    // a tester's zero that is a little off is the free height
    let shown = at("x,f\n-0.012,0.01\n1,2\n");
    assert_ended(&shown, 0);
    assert!(out(&shown).contains("\n0.00000,0.00000,"), "{}", out(&shown));
    assert!(err(&shown).contains("2 deflections written to standard output"), "{}", err(&shown));
    // units in a second header row, as in a curve file; without one a note
    let rows = at("travel;force\ncm;N\n0,1;3\n");
    assert_ended(&rows, 0);
    assert!(out(&rows).contains("\n1.00000,"), "{}", out(&rows));
    assert!(!err(&rows).contains("names no unit"), "{}", err(&rows));
    assert!(
        err(&shown).contains("note: at.csv: column 1 (\"x\") names no unit and is read as mm"),
        "{}",
        err(&shown)
    );
    let refused = at("x\n0\n40\n");
    assert_ended(&refused, 2);
    let words = "error: at.csv: found a deflection of 40.00 mm, expected 0 to ";
    assert!(err(&refused).contains(words), "{}", err(&refused));
}

#[test]
fn compare_takes_a_package_folder_as_the_other_commands_do() {
    let folder = desk();
    let package = package();
    let by_folder = run(folder.path(), &["compare", package.to_str().unwrap()]);
    let by_file = run(folder.path(), &["compare", package.join("spring.toml").to_str().unwrap()]);
    assert_eq!((by_folder.status.code(), out(&by_folder)), (by_file.status.code(), out(&by_file)));
    assert!(out(&by_folder).contains("curve error, rms"), "{}", err(&by_folder));
}
