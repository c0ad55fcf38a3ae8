//! One evaluation, said the same everywhere: random springs with random features through every place that judges.
//!
//! `EVALUATION_TIMES=20 cargo test --test all evaluation` tries so many times as many.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use super::study::draw::Draw;
use flatspire::checks::proud_allowed;
use flatspire::curve::{self, TargetCurve};
use flatspire::evaluation::{Asked, Evaluation, Extent, VerdictState};
use flatspire::layout::Spring;
use flatspire::live::{Asked as AskedByPage, CurveGiven, Depth, DraftAsked};
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::SpringFile;
use serde_json::Value;

/// Springs tried in an ordinary run.
const SPRINGS: u64 = 10;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flatspire"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null()).output().unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// A legal spring file with its target, or nothing where the draw makes no spring: arms, seats, hardware, processes, former
/// profiles, duty and band at random.
fn drawn(seed: u64) -> Option<(SpringFile, Spring, TargetCurve)> {
    let mut draw = Draw(seed);
    let arms = 1 + draw.one_of(4);
    let outer = draw.scale(10.0, 40.0);
    let inner = outer * draw.between(0.25, 0.45);
    let process = ["waterjet", "laser", "etch", "wire-edm"][draw.one_of(4)];
    let thickness = if process == "etch" { draw.between(0.1, 0.3) } else { draw.scale(0.4, 1.5) };
    let thickness = (100.0 * thickness).round() / 100.0;
    let slot = match process {
        "waterjet" => 1.4,
        "etch" => 0.5,
        _ => 0.8,
    };
    let width = draw.between(0.1, 0.22) * outer;
    let rim = width * draw.between(0.8, 1.8);
    let height = draw.between(0.08, 0.3) * outer;
    let ease = draw.scale(0.5, 14.0);
    let material =
        ["material = \"1.4310+C1300\"", "youngs_modulus = 200000\nshear_modulus = 77000"][draw.one_of(2)];
    let mut seat = String::new();
    let mut maybe = |one_in: usize, line: String| {
        if draw.chance(one_in) {
            seat.push_str(&line);
            seat.push('\n');
        }
    };
    maybe(3, "pressing = \"plates\"".to_owned());
    maybe(3, "rim = \"held\"".to_owned());
    maybe(4, "hub_hardware_above = 2.0".to_owned());
    maybe(6, "hub_hardware_below = 0.3".to_owned());
    maybe(6, "hub_moment_max = 5".to_owned());
    if arms == 1 && draw.chance(2) {
        seat.push_str("hub = \"tilting\"\n");
    }
    let installed = if draw.chance(3) { 0.2 * height } else { 0.0 };
    let cycles = if draw.chance(3) { "cycles = 1e5\n" } else { "" };
    let profile = if draw.chance(3) {
        let middle = draw.between(0.35, 0.65) * height;
        format!("radius = [{inner}, {}, {outer}]\nheight = [{height}, {middle}, 0]\n", 0.5 * (inner + outer))
    } else {
        String::new()
    };
    let solid = if draw.chance(4) { "[envelope]\nsolid_height_max = 2.0\n" } else { "" };
    let written = format!(
        "format = 1\n[sheet]\n{material}\nthickness = {thickness}\n[disc]\narms = {arms}\nslot = {slot}\narm_outer_diameter = {}\n\
         arm_inner_diameter = {}\n[arm]\nradius = [{inner}, {outer}]\nwidth = [{width}, {rim}]\n[former]\nfree_height = {height}\n\
         ease = {ease}\n{profile}[seat]\n{seat}[process]\nkind = \"{process}\"\n[duty]\n{cycles}installed = {installed}\n{solid}",
        2.0 * outer,
        2.0 * inner
    );
    let mut file = SpringFile::parse(&written, "spring.toml").ok()?;
    let spring = Spring::from_file(&file, None).ok()?;
    let model = Model::of(&spring, &ModelSettings::default()).ok()?;
    let last = draw.between(0.7, 0.95) * model.travel();
    let stops: Vec<f64> = (0..=8).map(|k| installed + (last - installed) * f64::from(k) / 8.0).collect();
    let factor = if draw.chance(2) { 1.0 } else { draw.between(0.9, 1.1) };
    let force: Vec<f64> = model.response(&stops).ok()?.force.iter().map(|f| (factor * f).max(0.0)).collect();
    let mut csv = "travel_mm,force_n".to_owned();
    let band = draw.chance(4);
    csv.push_str(if band { ",force_min,force_max\n" } else { "\n" });
    for (x, f) in stops.iter().zip(&force) {
        csv.push_str(&format!("{},{f}", x - installed));
        csv.push_str(&if band { format!(",{},{}\n", 0.96 * f, 1.05 * f) } else { "\n".to_owned() });
    }
    let target = curve::read(csv.as_bytes(), "target.csv").ok()?;
    file.target = Some(flatspire::spec::Target {
        file: None,
        deflection: Some(target.deflection.clone()),
        force: Some(target.force.clone()),
        force_min: target.force_min.clone(),
        force_max: target.force_max.clone(),
    });
    Some((file, spring, target))
}

/// Names of the verdicts of a JSON answer that are no or not judged.
fn failing(answer: &Value) -> Vec<String> {
    let verdicts = answer["verdicts"].as_object().unwrap();
    verdicts
        .iter()
        .filter(|(_, verdict)| verdict["state"] == "no" || verdict["state"] == "not judged")
        .map(|(name, _)| name.clone())
        .collect()
}

fn sorted(value: &Value) -> Vec<String> {
    let mut names: Vec<String> =
        value.as_array().unwrap().iter().map(|name| name.as_str().unwrap().to_owned()).collect();
    names.sort();
    names
}

fn column(csv: &str, name: &str) -> Vec<f64> {
    let mut rows = csv.lines();
    let place = rows.next().unwrap().split(',').position(|head| head == name).unwrap();
    rows.map(|row| row.split(',').nth(place).unwrap().parse().unwrap()).collect()
}

#[track_caller]
fn assert_close(found: &[f64], wanted: &[f64], what: &str) {
    assert_eq!(found.len(), wanted.len(), "{what}");
    let largest = wanted.iter().copied().fold(0.0, f64::max);
    for (found, wanted) in found.iter().zip(wanted) {
        assert!((found - wanted).abs() <= 2e-4 * largest, "{what}: {found} N and {wanted} N");
    }
}

#[test]
fn every_place_says_the_same_of_random_springs() {
    let times: u64 = std::env::var("EVALUATION_TIMES").ok().and_then(|text| text.parse().ok()).unwrap_or(1);
    let mut tried = 0;
    let mut states: Vec<(String, VerdictState)> = Vec::new();
    for seed in 1.. {
        if tried == SPRINGS * times {
            break;
        }
        let Some((file, spring, target)) = drawn(seed) else { continue };
        tried += 1;
        let place = tempfile::tempdir().unwrap();
        let folder = place.path();
        fs::write(folder.join("spring.toml"), file.to_toml()).unwrap();

        let asked = Asked::of(&file, Some(&target)).to_extent(Extent::WithoutParts);
        let own = Evaluation::of(&spring, asked).unwrap();
        states.extend(own.verdicts.0.iter().map(|named| (named.name.to_owned(), named.verdict.state)));

        // command, in numbers
        let json = run(folder, &["flat", "spring.toml", "--json"]);
        let answer: Value = serde_json::from_slice(&json.stdout).unwrap();
        assert_eq!(code(&json), if own.passed() { 0 } else { 3 }, "seed {seed}");
        assert_eq!(answer["passed"], Value::Bool(own.passed()), "seed {seed}");
        assert_eq!(sorted(&answer["failed"]), failing(&answer), "seed {seed}");
        assert_eq!(answer["verdicts"], serde_json::to_value(rounded(&own)).unwrap(), "seed {seed}");

        // command, in words, and the report it writes
        let said = run(folder, &["flat", "spring.toml", "--out", "checked"]);
        assert_eq!(code(&said), code(&json), "seed {seed}");
        let last = text(&said).lines().last().unwrap().to_owned();
        assert!(last.starts_with("result") && last.contains(&own.verdicts.outcome()), "seed {seed}: {last}");
        let page = fs::read_to_string(folder.join("checked/report.html")).unwrap();
        let stamp =
            own.verdicts.outcome().replacen("not passed", "Not passed", 1).replacen("passed,", "Passed,", 1);
        assert!(page.contains(&stamp), "seed {seed}: {stamp:?} is not in the report");

        // the live page
        let picture = DraftAsked {
            tab: "test".to_owned(),
            number: 1,
            asked: AskedByPage { curve: CurveGiven::of(&target), brief: brief(&file) },
            spring: Some(file.clone()),
            start: None,
            depth: Depth::AsIs,
        }
        .picture(&|| false)
        .unwrap();
        let shown = serde_json::to_value(&picture).unwrap();
        for (name, verdict) in answer["verdicts"].as_object().unwrap() {
            assert_eq!(shown["verdicts"][name]["state"], verdict["state"], "seed {seed}, {name}: {shown}");
        }
        assert_eq!(shown["outcome"], Value::String(own.verdicts.outcome()), "seed {seed}");

        // flat means flat, in the model's own shape
        let model = Model::of(&spring, &ModelSettings::default()).unwrap();
        let seat = &spring.seat;
        if seat.hub_hardware_below.is_none() && own.asked.checks.envelope.solid_height_max.is_none() {
            let state = &model.states(&[0.99 * model.travel()]).unwrap()[0];
            let highest = state.height.iter().copied().fold(0.0, f64::max);
            let flat = own.verdicts.get("flat").unwrap().state == VerdictState::Yes;
            assert!(
                !flat || highest <= proud_allowed(model.travel()) + 1e-6,
                "seed {seed}: {highest} mm proud"
            );
            assert!((own.checks.flat.proud_mm - highest).abs() < 1e-3, "seed {seed}");
        }

        // one curve
        let fit = own.fit.as_ref().unwrap();
        let at: String = fit.table.response.deflection.iter().map(|x| format!("{x}\n")).collect();
        fs::write(folder.join("at.csv"), format!("deflection_mm\n{at}")).unwrap();
        let predicted = text(&run(folder, &["predict", "spring.toml", "--at", "at.csv"]));
        assert_close(
            &column(&predicted, "force_n"),
            &fit.table.response.force,
            &format!("predict, seed {seed}"),
        );
        let installed = own.asked.installed();
        if installed > 0.0 {
            let travel = column(&predicted, "travel_mm");
            let wanted: Vec<f64> = fit.table.response.deflection.iter().map(|x| x - installed).collect();
            assert_close(&travel, &wanted, &format!("origin, seed {seed}"));
        }
        let scattered = run(folder, &["scatter", "spring.toml", "--json", "--runs", "40"]);
        if code(&scattered) == 0 {
            let band: Value = serde_json::from_slice(&scattered.stdout).unwrap();
            let list = |key: &str| -> Vec<f64> {
                band["curve"][key].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
            };
            let nominal = model.response(&list("deflection_mm")).unwrap().force;
            assert_close(&list("force_n"), &nominal, &format!("scatter, seed {seed}"));
        }
        // the drawing measured again, unless the evaluation says that it differs
        let cutting = own.verdicts.get("cutting").unwrap().state;
        let read_back = own.drawing.as_ref().ok().and_then(|drawing| drawing.read_back);
        assert!(
            cutting != VerdictState::Yes || read_back.is_some_and(|read| read.force_percent <= 0.3),
            "seed {seed}"
        );
    }
    // the draws meet every state that they are meant to meet
    for (name, state) in [
        ("flat", VerdictState::Yes),
        ("flat", VerdictState::No),
        ("curve", VerdictState::Yes),
        ("curve", VerdictState::No),
        ("strength", VerdictState::Yes),
        ("strength", VerdictState::NotJudged),
        ("cutting", VerdictState::Yes),
        ("life", VerdictState::NotAsked),
    ] {
        assert!(states.contains(&(name.to_owned(), state)), "no {name} {}", state.word());
    }
}

/// Briefs with features that make a difference to what is said, each with a curve.
const DESIGNED: [(&str, &str); 2] = [
    (
        "deflection_mm,force_n\n0,12\n2,24\n4,38\n5,48\n",
        "[envelope]\nouter_diameter_max = 80\n[sheet]\nthickness = 1.5\n[arms]\ncount = 2\n[duty]\ninstalled = 2\n\
         [seat]\nrim = \"held\"\n",
    ),
    (
        "deflection_mm,force_n,force_min,force_max\n0,0,0,2\n2,10,9,11\n4,20,18,22\n6,30,27,33\n",
        "[envelope]\nouter_diameter_max = 70\n[sheet]\nthickness = 1.2\n[arms]\ncount = 2\n[process]\nkind = \"laser\"\n\
         [seat]\npressing = \"plates\"\nhub_hardware_above = 1.5\n",
    ),
];

#[test]
fn a_design_says_the_same_in_every_file() {
    for (curve, brief) in DESIGNED {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path();
        fs::write(folder.join("curve.csv"), curve).unwrap();
        fs::write(folder.join("brief.toml"), brief).unwrap();
        let said = run(folder, &["design", "curve.csv", "--brief", "brief.toml", "--out", "package"]);
        let read = |name: &str| fs::read_to_string(folder.join("package").join(name)).unwrap();
        let summary: Value = serde_json::from_str(&read("summary.json")).unwrap();
        let passed = summary["passed"] == Value::Bool(true);
        assert_eq!(code(&said), if passed { 0 } else { 3 }, "{brief}");
        assert_eq!(sorted(&summary["failed"]), failing(&summary), "{brief}");
        let last = text(&said).lines().last().unwrap().to_owned();
        assert_eq!(last.contains("not passed"), !passed, "{last}");
        for name in sorted(&summary["failed"]) {
            assert!(last.contains(&name.replace('_', " ")), "{last}");
        }

        // the spring in the folder, evaluated again, is judged as it was designed
        let again = run(folder, &["flat", "package/spring.toml", "--json"]);
        let again_said: Value = serde_json::from_slice(&again.stdout).unwrap();
        for (name, verdict) in summary["verdicts"].as_object().unwrap() {
            assert_eq!(again_said["verdicts"][name]["state"], verdict["state"], "{name}: {brief}");
        }

        // one curve under one origin
        let csv = read("curve.csv");
        let deflection = column(&csv, "deflection_mm");
        let predicted = run(folder, &["predict", "package/spring.toml", "--at", "package/curve.csv"]);
        let predicted = text(&predicted);
        assert_close(&column(&predicted, "deflection_mm"), &deflection, "deflections");
        assert_close(&column(&predicted, "force_n"), &column(&csv, "force_n"), "forces");
        let list = |key: &str| -> Vec<f64> {
            summary["curve"][key].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
        };
        assert_close(&list("deflection_mm"), &deflection, "summary");
        if brief.contains("installed = 2") {
            let travel = column(&csv, "travel_mm");
            assert!(travel.iter().zip(&deflection).all(|(t, x)| (x - t - 2.0).abs() < 1e-4), "{csv}");
            assert_close(&list("travel_mm"), &travel, "travel");
        } else {
            assert!(!csv.contains("travel_mm") && summary["curve"]["travel_mm"].is_null());
        }
    }
}

/// The verdicts at written precision.
fn rounded(evaluation: &Evaluation) -> Value {
    serde_json::from_slice(&flatspire::evaluation::json_bytes(&evaluation.verdicts)).unwrap()
}

/// The brief that a page sends for a spring file.
fn brief(file: &SpringFile) -> flatspire::spec::Brief {
    let mut brief = file.brief();
    brief.sheet.material.clone_from(&file.sheet.material);
    brief.sheet.thickness = Some(vec![file.sheet.thickness]);
    brief.sheet.youngs_modulus = file.sheet.youngs_modulus;
    brief.sheet.shear_modulus = file.sheet.shear_modulus;
    brief.former.ease = Some(file.former.ease);
    brief
}
