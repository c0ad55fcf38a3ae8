//! Assemblies through the binary: the package, its files read again, what is refused.

use std::fs;
use std::process::Output;
use std::sync::OnceLock;

use flatspire::outline::{Role, from_dxf};
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
    "pictures/sections.png",
    "pictures/sections.svg",
    "report.html",
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
fn scatter_draws_assemblies_whose_discs_share_their_coil() {
    let (folder, _) = designed();
    let folder = folder.path();
    let command = ["scatter", "stick", "--runs", "200", "--seed", "5", "--json", "--out", "stick-scatter"];
    let output = run(folder, &command);
    assert_ended(&output, 0);
    let found = json(&out(&output));
    let share = found["yield_share"].as_f64().unwrap();
    // the package says the same from other draws
    let summary = json(&fs::read_to_string(folder.join("stick/summary.json")).unwrap());
    let good = summary["parts"]["good_percent"].as_f64().unwrap();
    assert!((100.0 * share - good).abs() < 12.0, "{share} {good}");
    let known = summary["parts"]["good_percent_sheet_measured"].as_f64().unwrap();
    assert!(known + 8.0 > good, "{known} {good}");
    // both discs in one cause where the coil is shared, each on its own elsewhere
    let causes = found["causes"].as_array().unwrap();
    let of = |name: &str| causes.iter().filter(|cause| cause["cause"] == name).count();
    assert_eq!((of("thickness"), of("modulus"), of("kerf"), of("free_height")), (1, 1, 2, 2), "{causes:?}");
    assert_eq!(names(&folder.join("stick-scatter")), ["scatter.csv", "scatter.png", "scatter.svg"]);
    assert_eq!(out(&run(folder, &command)), out(&output), "the same seed draws the same parts");
    let page = fs::read_to_string(folder.join("stick/report.html")).unwrap();
    assert!(page.contains(&format!("{good:.0} % of assemblies are as wanted as bought")));
}

#[test]
fn correct_tells_the_shim_for_plates_that_stand_too_far_apart() {
    let (folder, _) = designed();
    let folder = folder.path();
    // both discs pressed in less than drawn: what the tester measures then
    let file = fs::read_to_string(folder.join("stick/assembly.toml")).unwrap();
    let looser: String = file
        .lines()
        .map(|line| match line.strip_prefix("installed = ") {
            Some(value) => format!("installed = {}\n", value.parse::<f64>().unwrap() - 0.12),
            None => format!("{line}\n"),
        })
        .collect();
    fs::create_dir_all(folder.join("loose/disc")).unwrap();
    fs::copy(folder.join("stick/disc/spring.toml"), folder.join("loose/disc/spring.toml")).unwrap();
    fs::write(folder.join("loose/assembly.toml"), looser).unwrap();
    let output = run(folder, &["predict", "loose"]);
    assert_ended(&output, 0);
    let (_, table) = columns(&out(&output));
    let mut rows = String::from("deflection_mm,force_n\n");
    for (x, force) in table[0].iter().zip(&table[1]).filter(|(x, _)| x.abs() <= 4.0) {
        rows.push_str(&format!("{x},{force}\n"));
    }
    fs::write(folder.join("stick_measured.csv"), rows).unwrap();
    let output = run(folder, &["correct", "stick", "stick_measured.csv", "--json", "--out", "stick-trim"]);
    assert_ended(&output, 0);
    let found = &json(&out(&output))["trim"];
    assert_eq!(found["explained"], Value::Bool(true), "{found}");
    let shims: f64 =
        found["shims"].as_array().unwrap().iter().map(|shim| shim["thickness_mm"].as_f64().unwrap()).sum();
    assert!((shims - 0.24).abs() < 0.13, "0.12 mm at each disc, {shims} mm of shims");
    let number = |key: &str| found[key].as_f64().unwrap();
    assert!(number("rms_trimmed_percent") < number("rms_measured_percent"), "{found}");
    assert_eq!(names(&folder.join("stick-trim")), ["measured.png", "measured.svg"]);
    let said = run(folder, &["correct", "stick", "stick_measured.csv"]);
    assert!(out(&said).contains("shim  ") && out(&said).contains("nothing is cut again"), "{}", out(&said));
    let refused = run(folder, &["correct", "stick", "stick_measured.csv", "--thickness", "1.0"]);
    assert_ended(&refused, 2);
    assert!(
        err(&refused).contains("--thickness") && err(&refused).contains("spring.toml"),
        "{}",
        err(&refused)
    );
}

#[test]
fn outline_draws_each_disc_into_its_folder() {
    let (folder, _) = designed();
    let folder = folder.path();
    let output = run(folder, &["outline", "stick", "--out", "stick-drawn", "--columns", "2"]);
    assert_ended(&output, 0);
    assert_eq!(names(&folder.join("stick-drawn")), ["disc"]);
    assert_eq!(
        names(&folder.join("stick-drawn/disc")),
        ["outline.svg", "outline_mm.dxf", "sheet.svg", "sheet_mm.dxf"]
    );
    let read = |name: &str| fs::read(folder.join(name)).unwrap();
    assert_eq!(read("stick-drawn/disc/outline.svg"), read("stick/disc/outline.svg"));
}

#[test]
fn discs_of_one_sheet_are_nested_together_in_complete_sets() {
    let folder = desk();
    let place = |name: &str| folder.path().join("stack").join(name);
    let spring = |outside: f64| {
        format!(
            "format = 1\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.2\n[disc]\nouter_diameter = {outside}\n\
             arm_outer_diameter = {}\narm_inner_diameter = {}\nbore_diameter = 8\narms = 2\nslot = 1.4\n[arm]\nradius = \
             [{}, {}]\nwidth = [3, 4]\n[former]\nfree_height = 5\n[shop]\nsheet = [500, 300]\nmargin = 8\nspacing = 4\n",
            0.86 * outside,
            0.36 * outside,
            0.18 * outside,
            0.43 * outside
        )
    };
    for (name, outside) in [("a", 76.0), ("b", 60.0)] {
        fs::create_dir_all(place(name)).unwrap();
        fs::write(place(name).join("spring.toml"), spring(outside)).unwrap();
    }
    let assembly = "format = 1\nkind = \"series\"\nheight = 20\n[[member]]\nfolder = \"a\"\ncount = 2\nstacked = \
                    \"series\"\n[[member]]\nfolder = \"b\"\n";
    fs::write(place("assembly.toml"), assembly).unwrap();
    let output = run(folder.path(), &["outline", "stack", "--out", "drawn", "--json"]);
    assert!(matches!(output.status.code(), Some(0 | 3)), "{}", err(&output));
    let found = &json(&out(&output))["shared_sheet"];
    let assemblies = found["assemblies"].as_u64().unwrap();
    // by area: two squares of 80 and one of 64 a set against 488 by 288 mm
    assert!((6..=9).contains(&assemblies), "{found}");
    assert_eq!(found["parts"].as_u64().unwrap(), 3 * assemblies);
    let bytes = fs::read(folder.path().join("drawn/sheet_mm.dxf")).unwrap();
    let circles: Vec<([f64; 2], f64)> = from_dxf(&bytes, "sheet_mm.dxf")
        .unwrap()
        .contours
        .iter()
        .filter(|contour| contour.role == Role::Outside)
        .filter_map(flatspire::outline::Contour::as_circle)
        .collect();
    for (radius, count) in [(38.0, 2 * assemblies), (30.0, assemblies)] {
        let found = circles.iter().filter(|(_, own)| (own - radius).abs() < 1e-6).count();
        assert_eq!(found as u64, count, "{circles:?}");
    }
    for (k, (p, a)) in circles.iter().enumerate() {
        assert!(
            p[0] - a > 8.0 - 1e-3
                && p[0] + a < 492.0 + 1e-3
                && p[1] - a > 8.0 - 1e-3
                && p[1] + a < 292.0 + 1e-3
        );
        for (q, b) in &circles[..k] {
            assert!((p[0] - q[0]).hypot(p[1] - q[1]) - a - b > 4.0 - 1e-3, "{p:?} {q:?}");
        }
    }
    // discs of different sheets are not nested together
    let thicker = spring(60.0).replace("thickness = 1.2", "thickness = 1.5");
    fs::write(place("b").join("spring.toml"), thicker).unwrap();
    let output = run(folder.path(), &["outline", "stack", "--out", "apart", "--json"]);
    assert!(json(&out(&output))["shared_sheet"].is_null());
    assert_eq!(names(&folder.path().join("apart")), ["a", "b"]);
}

#[test]
fn commands_for_one_spring_or_a_curve_refuse_an_assembly() {
    let (folder, _) = designed();
    let commands: [&[&str]; 2] = [
        &["design", "--like", "stick/assembly.toml", "--thickness", "1.02", "--out", "again"],
        &["design", "stick/assembly.toml"],
    ];
    for command in commands {
        let output = run(folder.path(), command);
        assert_ended(&output, 2);
        let said = err(&output);
        assert!(said.contains("an assembly of springs") && said.contains("; "), "{command:?}: {said}");
    }
    // one disc pushes one way only
    let output = run(folder.path(), &["compare", "stick"]);
    assert_ended(&output, 2);
    assert!(err(&output).contains("one way only"), "{}", err(&output));
}

#[test]
fn compare_sets_an_assembly_beside_one_disc() {
    let (folder, _) = designed();
    let folder = folder.path();
    fs::create_dir_all(folder.join("half/disc")).unwrap();
    fs::copy(folder.join("stick/disc/spring.toml"), folder.join("half/disc/spring.toml")).unwrap();
    let file = fs::read_to_string(folder.join("stick/assembly.toml")).unwrap();
    let above = file.split("[target]").next().unwrap();
    // a straight curve: one disc does it, this pair does not
    let target = "[target]\ndeflection = [0.0, 1.0, 2.0, 3.0]\nforce = [0.0, 4.0, 8.0, 12.0]\n";
    fs::write(folder.join("half/assembly.toml"), format!("{above}{target}")).unwrap();
    let output = run(folder, &["compare", "half", "--json", "--out", "half-compared"]);
    assert_ended(&output, 3);
    let found = json(&out(&output));
    assert_eq!(found["one_disc"]["verdicts"]["curve"]["state"], "yes", "{found}");
    assert_eq!(found["assembly"]["verdicts"]["curve"]["state"], "no");
    assert_eq!(names(&folder.join("half-compared")), ["comparison.png", "comparison.svg"]);
}

#[test]
fn a_disc_changed_by_hand_keeps_the_whole_package_from_being_written() {
    let (folder, _) = designed();
    let folder = folder.path();
    let manifest = json(&fs::read_to_string(folder.join("stick").join(super::MANIFEST)).unwrap());
    let files = manifest["files"].as_object().unwrap();
    assert!(files.contains_key("disc/spring.toml") && files.contains_key("assembly.toml"));
    assert!(!folder.join("stick/disc").join(super::MANIFEST).exists(), "one manifest for the whole");
    let command = ["design", "examples/centring.csv", "--brief", "brief.toml", "--out", "changed"];
    assert_ended(&run(folder, &command), 0);
    let place = folder.join("changed/disc/outline.svg");
    fs::write(&place, "<svg/>").unwrap();
    fs::remove_file(folder.join("changed/report.html")).unwrap();
    let refused = run(folder, &command);
    assert_ended(&refused, 1);
    assert!(err(&refused).contains("changed/disc/outline.svg"), "{}", err(&refused));
    assert!(!folder.join("changed/report.html").exists(), "all or nothing");
    let forced: Vec<&str> = command.into_iter().chain(["--force"]).collect();
    assert_ended(&run(folder, &forced), 0);
    assert_eq!(fs::read(folder.join("changed/disc/outline.svg.kept")).unwrap(), b"<svg/>");
    assert!(folder.join("changed/report.html").exists());
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

#[test]
fn a_third_disc_in_series_is_read_and_what_does_not_fit_is_refused_with_key_and_remedy() {
    let folder = desk();
    let folder = folder.path();
    let spring = fs::read_to_string(folder.join("examples/first_cut.toml")).unwrap();
    let whole = "kind = \"opposed-series\"\nheight = 40\n[[member]]\nfolder = \"disc-a\"\nside = \"a\"\ninstalled = 3.0\n\
                 [[member]]\nfolder = \"disc-b\"\nside = \"b\"\ninstalled = 3.0\n\
                 [[member]]\nfolder = \"disc-c\"\nside = \"c\"\nspacer = 16.0\n";
    for disc in ["disc-a", "disc-b", "disc-c"] {
        fs::create_dir_all(folder.join("three").join(disc)).unwrap();
        fs::write(folder.join("three").join(disc).join("spring.toml"), &spring).unwrap();
    }
    let file = folder.join("three/assembly.toml");
    fs::write(&file, whole).unwrap();
    let output = run(folder, &["predict", "three"]);
    assert_ended(&output, 0);
    let (head, columns) = columns(&out(&output));
    assert_eq!(head[5..], ["disc-a_deflection_mm", "disc-b_deflection_mm", "disc-c_deflection_mm"]);
    for (row, x) in columns[0].iter().enumerate() {
        let hub = columns[5][row] - 3.0;
        assert!(
            (hub + columns[7][row] - x).abs() < 1e-4,
            "at {x}: hub {hub}, third disc {}",
            columns[7][row]
        );
    }
    assert!(columns[1].windows(2).all(|pair| pair[1] >= pair[0]) && columns[1][0].abs() < 1e-9);
    for (found, other, expected) in [
        ("spacer = 16.0", "spacer = 4.0", "member.spacer of side \"c\": found 4 mm, expected more than"),
        ("spacer = 16.0", "installed = 1.0", "member.installed"),
        ("side = \"c\"\n", "", "member.side"),
        ("installed = 3.0\n[[", "count = 2\n[[", "member.count"),
    ] {
        fs::write(&file, whole.replacen(found, other, 1)).unwrap();
        let refused = run(folder, &["predict", "three"]);
        assert_ended(&refused, 2);
        let said = err(&refused);
        assert!(said.contains(expected) && said.contains("assembly.toml"), "{said}");
    }
}
