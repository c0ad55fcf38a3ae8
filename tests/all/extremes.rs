//! Extreme values that are legal all the same: a design, or a refusal that helps.

use flatspire::curve::TargetCurve;
use flatspire::layout::Spring;
use flatspire::live::{Depth, Draft, Picture, draft};
use flatspire::model::{Model, ModelSettings};
use flatspire::outline::{CutRules, Outline};
use flatspire::package::files;
use flatspire::pipeline::{Answer, Question, answer};
use flatspire::spec::{Brief, SpringFile};
use serde_json::Value;

/// No sheet that is sold is stronger than this (MPa).
const STRONGEST: f64 = 2500.0;

/// Tables of a package.
const TABLES: [&str; 3] = ["curve.csv", "former/former.csv", "stations.csv"];

fn target(travel: f64, force: f64) -> TargetCurve {
    let deflection: Vec<f64> = (0..=10).map(|k| travel * f64::from(k) / 10.0).collect();
    // soft at first, firm towards the stop
    let force: Vec<f64> =
        (0..=10).map(|k| f64::from(k) / 10.0).map(|s| force * (0.5 * s + 0.5 * s * s)).collect();
    TargetCurve::points(&deflection, &force).curve("curve.csv").unwrap()
}

fn brief(text: &str) -> Brief {
    Brief::parse(text, "brief.toml").unwrap()
}

/// Numbers without a fault, everywhere in what is said.
#[track_caller]
fn assert_plain(value: &Value) {
    match value {
        Value::Number(number) => assert!(number.as_f64().is_some_and(f64::is_finite), "{number}"),
        Value::Array(list) => list.iter().for_each(assert_plain),
        Value::Object(map) => map.values().for_each(assert_plain),
        Value::String(text) => assert_words(text),
        Value::Bool(_) | Value::Null => {}
    }
}

/// Words that a person can act on: no number that is none, no advice that nobody can follow.
#[track_caller]
fn assert_words(text: &str) {
    for wrong in ["NaN", "inf ", "-0 ", "-0.0 ", "-0.00 ", "-0.000 ", "none of 0"] {
        assert!(!text.contains(wrong), "{wrong:?} in: {text}");
    }
    if let Some(strength) = text.split("sheet of at least ").nth(1) {
        let strength: f64 = strength.split(' ').next().unwrap().parse().unwrap();
        assert!(strength < STRONGEST, "{text}");
    }
}

/// A whole answer, or a refusal that says what to change.
#[track_caller]
fn assert_answered(name: &str, target: TargetCurve, brief: &Brief) -> Option<Answer> {
    match answer(Question { target, brief: brief.clone() }, &|_| {}) {
        Ok(answer) => {
            let summary = serde_json::from_slice(&answer.summary.to_json()).unwrap();
            assert_plain(&summary);
            // a number that is none would be written as null
            assert!(summary["fit"]["rms_percent"].is_number(), "{name}: {}", summary["fit"]);
            assert!(summary["flat"]["closing_force_n"].is_number(), "{name}: {}", summary["flat"]);
            assert!(summary["curve"]["force_n"].as_array().unwrap().iter().all(Value::is_number), "{name}");
            if !answer.evaluation.passed() {
                assert!(!answer.summary.evaluation.warnings.is_empty(), "{name}");
            }
            for file in files(&answer).unwrap().iter().filter(|file| TABLES.contains(&file.name.as_str())) {
                let text = String::from_utf8(file.bytes.clone()).unwrap();
                let wrong = text.split([',', '\n']).find(|cell| {
                    cell.contains("NaN")
                        || cell.contains("inf")
                        || (cell.starts_with('-') && cell.parse() == Ok(0.0))
                });
                assert!(wrong.is_none(), "{name}, {}: {wrong:?}", file.name);
            }
            println!(
                "{name}: {:.2} % rms, {:?}",
                answer.evaluation.fit.as_ref().unwrap().summary.rms_percent,
                answer.summary.evaluation.failed
            );
            Some(answer)
        }
        Err(error) => {
            let message = error.to_string();
            println!("{name}: {message}");
            assert_words(&message);
            assert!(message.contains(';') && message.len() < 400, "{name}: {message}");
            None
        }
    }
}

/// A draft, whole and in plain numbers, or a refusal that says what to change. A draft is a search's first step with all
/// checks and the outline: cheap enough to try many.
#[track_caller]
fn assert_drafted(name: &str, target: TargetCurve, brief: &Brief) -> Option<Draft> {
    match draft(&Question { target, brief: brief.clone() }, None, Depth::Quick) {
        Ok(draft) => {
            let picture = serde_json::to_value(Picture::of(&draft)).unwrap();
            assert_plain(&picture);
            assert!(picture["fit"]["rms_percent"].is_number(), "{name}: {}", picture["fit"]);
            assert!(picture["flat"]["closing_force_n"].is_number(), "{name}: {}", picture["flat"]);
            assert!(
                picture["drawn_curve"]["force_n"].as_array().unwrap().iter().all(Value::is_number),
                "{name}"
            );
            for finding in &draft.evaluation.checks.findings {
                assert_words(&finding.to_string());
            }
            println!("{name}: {:.2} % rms", draft.rms_percent());
            Some(draft)
        }
        Err(error) => {
            let message = error.to_string();
            println!("{name}: {message}");
            assert_words(&message);
            assert!(message.contains(';') && message.len() < 400, "{name}: {message}");
            None
        }
    }
}

#[test]
fn any_travel_and_force_is_answered() {
    let brief = brief("[sheet]\nthickness = [0.1, 1.5]\n[arms]\ncount = [1, 3]\n");
    for travel in [1e-3, 1.0, 1e3] {
        for force in [1e-3, 50.0, 1e6] {
            assert_drafted(&format!("{travel} mm, {force} N"), target(travel, force), &brief);
        }
    }
}

#[test]
fn any_number_of_arms_is_answered() {
    for arms in 1..=12 {
        let brief = brief(&format!(
            "[envelope]\nouter_diameter_max = 160\n[sheet]\nthickness = 1\n[arms]\ncount = {arms}\n[process]\nkind = \"laser\"\n"
        ));
        let draft = assert_drafted(&format!("{arms} arms"), target(6.0, 60.0), &brief);
        assert_eq!(draft.unwrap().spring().arms, arms);
    }
}

#[test]
fn any_sheet_and_any_room_is_answered() {
    for (name, text) in [
        ("foil", "[sheet]\nthickness = 0.001\n[arms]\ncount = 2\n"),
        ("plate", "[sheet]\nthickness = 300\n[arms]\ncount = 2\n"),
        (
            "thick for its disc",
            "[envelope]\nouter_diameter_max = 40\n[sheet]\nthickness = 12\n[arms]\ncount = 2\n",
        ),
        ("a grain", "[envelope]\nouter_diameter_max = 0.1\n[arms]\ncount = 2\n"),
        (
            "a mill-wheel",
            "[envelope]\nouter_diameter_max = 20000\n[sheet]\nthickness = 1.5\n[arms]\ncount = 2\n",
        ),
        ("all bore", "[envelope]\nouter_diameter_max = 80\nbore_diameter_min = 79.9\n[arms]\ncount = 2\n"),
        ("no height", "[envelope]\nfree_height_max = 1\n"),
        (
            "no stiffness",
            "[sheet]\nthickness = 1\nyoungs_modulus = 0.026\nshear_modulus = 0.01\n[arms]\ncount = 2\n",
        ),
        ("a weak sheet", "[sheet]\nthickness = 1\nyield_strength = 1e-3\n[arms]\ncount = 2\n"),
    ] {
        assert_drafted(name, target(6.0, 60.0), &brief(text));
    }
}

#[test]
fn an_empty_list_says_what_emptied_it() {
    let error = answer(
        Question { target: target(6.0, 60.0), brief: brief("[envelope]\nfree_height_max = 5\n") },
        &|_| {},
    );
    let message = error.unwrap_err().to_string();
    assert!(message.contains("left to try") && message.contains("allow at least 6.36 mm"), "{message}");
}

#[test]
fn two_thousand_noisy_points_and_three_are_answered() {
    let brief = brief("[envelope]\nouter_diameter_max = 90\n[sheet]\nthickness = 1.5\n[arms]\ncount = 1\n");
    let deflection: Vec<f64> = (0..2000).map(|k| 7.0 * f64::from(k) / 1999.0).collect();
    // half a newton of scatter, the same every time
    let force: Vec<f64> = deflection
        .iter()
        .enumerate()
        .map(|(k, x)| (5.0 * x + ((k * 7919) % 101) as f64 / 101.0 - 0.5).max(0.0))
        .collect();
    let noisy = TargetCurve::points(&deflection, &force).curve("noisy.csv").unwrap();
    let found = assert_answered("noisy", noisy, &brief).unwrap();
    assert!(found.evaluation.fit.unwrap().table.response.len() <= 400);
    let three = TargetCurve::points(&[0.0, 3.0, 7.0], &[0.0, 15.0, 35.0]).curve("three.csv");
    let found = assert_drafted("three points", three.unwrap(), &brief).unwrap();
    assert!(found.rms_percent() < 20.0, "{}", found.rms_percent());
}

/// The same spring at another scale: forces go with the square of it.
#[test]
fn springs_of_every_size_have_a_curve_and_an_outline() {
    let spring = |scale: f64| {
        let list = |values: &[f64]| format!("{:?}", values.iter().map(|v| v * scale).collect::<Vec<f64>>());
        let text = format!(
            "[sheet]\nthickness = {}\nyoungs_modulus = 206000\nshear_modulus = 79300\n[disc]\nouter_diameter = {}\n\
             arm_outer_diameter = {}\narm_inner_diameter = {}\nbore_diameter = {}\narms = 2\nslot = {}\n[arm]\nradius = {}\n\
             width = {}\n[former]\nfree_height = {}\n",
            1.2 * scale,
            80.0 * scale,
            60.0 * scale,
            20.0 * scale,
            8.0 * scale,
            1.4 * scale,
            list(&[10.0, 20.0, 30.0]),
            list(&[2.4, 4.4, 5.6]),
            9.0 * scale
        );
        Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap()
    };
    let forces = |spring: &Spring| {
        let model = Model::of(spring, &ModelSettings { segments: 60, ..ModelSettings::default() }).unwrap();
        model.response(&[0.2, 0.6, 0.9].map(|share| share * model.travel())).unwrap().force
    };
    let plain = forces(&spring(1.0));
    for scale in [1e-4, 1e-2, 1e2] {
        let other = spring(scale);
        for (force, plain) in forces(&other).iter().zip(&plain) {
            let expected = plain * scale * scale;
            assert!((force / expected - 1.0).abs() < 1e-4, "scale {scale}: {force} N, expected {expected} N");
        }
        let rules = CutRules::of(&flatspire::spec::Process::default(), other.sheet.thickness);
        match Outline::of(&other, &rules) {
            Ok(outline) => {
                assert!(outline.contours.iter().flat_map(|contour| &contour.chain.vertices).all(|vertex| {
                    vertex.point[0].is_finite() && vertex.point[1].is_finite() && vertex.bulge.is_finite()
                }));
            }
            Err(error) => assert!(error.to_string().contains(';'), "scale {scale}: {error}"),
        }
    }
}
