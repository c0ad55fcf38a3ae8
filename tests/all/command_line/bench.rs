//! `correct` at the bench: made-up parts of one drawing, several of them, and the sheet that is filled in there.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use flatspire::layout::Spring;
use flatspire::model::ModelSettings;
use flatspire::spec::SpringFile;
use flatspire::variation::{Deviation, RandomStream, VariedSpring};
use serde_json::Value;

use super::{assert_ended, desk, err, json, names, out, root, run};

const DRAWING: &str = "examples/first_cut.toml";
/// Largest deflection at the bench (mm), 93 % of the travel.
const END: f64 = 7.6;
const ROWS: usize = 60;

/// Force of a part, in a model that is finer than the one that explains it.
fn part(deviation: Deviation) -> impl Fn(f64) -> f64 {
    let text = fs::read_to_string(root().join(DRAWING)).unwrap();
    let spring = Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap();
    let settings = ModelSettings { segments: 350, ..ModelSettings::default() };
    let model = VariedSpring::new(&spring, 350).unwrap().model(&deviation, &settings).unwrap();
    let x: Vec<f64> = (0..=380).map(|k| END * f64::from(k) / 380.0).collect();
    let force = model.response(&x).unwrap().force;
    move |at: f64| {
        let place = (at / END * 380.0).clamp(0.0, 380.0);
        let k = (place.floor() as usize).min(379);
        force[k] + (place - k as f64) * (force[k + 1] - force[k])
    }
}

/// Loading and unloading by the rows of a bench, with friction of `friction` N either way and noise of `noise` N.
fn table(force: impl Fn(f64) -> f64, zero: f64, from: f64, friction: f64, noise: f64) -> String {
    let mut stream = RandomStream::new(41, 0);
    let mut text = String::from("travel_mm,force_n\n");
    let steps = |k: usize| from + (END - from) * k as f64 / (ROWS - 1) as f64;
    let rows = (0..ROWS).map(|k| (k, 1.0)).chain((0..ROWS - 1).rev().map(|k| (k, -1.0)));
    for (k, way) in rows {
        let x = steps(k);
        let touched = if x > 0.0 { way * friction } else { 0.0 };
        let _ = writeln!(text, "{:.4},{:.4}", x + zero, force(x) + touched + noise * stream.normal());
    }
    text
}

fn corrected(folder: &Path, measured: &str) -> Value {
    fs::write(folder.join("measured.csv"), measured).unwrap();
    let done = run(folder, &["correct", DRAWING, "measured.csv", "--json"]);
    assert!(matches!(done.status.code(), Some(0 | 3)), "{}", err(&done));
    json(&out(&done))["correction"].clone()
}

#[test]
fn parts_that_are_off_are_explained_with_remedies_no_worse_than_nothing() {
    let folder = desk();
    let off = |values: [f64; 6]| Deviation::from_values(values);
    let cases = [
        ("as drawn", off([0.0; 6]), 0.0, 0.05),
        ("too stiff", off([0.04, 2.0, -0.04, 0.0, 0.0, 0.0]), 0.0, 0.05),
        ("too soft", off([-0.04, -2.0, 0.05, 0.0, 0.0, 10.0]), 0.0, 0.05),
        ("too high", off([0.0, 0.0, 0.0, 0.2, 0.0, 0.0]), 0.0, 0.05),
        ("too low", off([0.0, 0.0, 0.0, -0.2, 0.0, 0.0]), 0.0, 0.05),
        ("zero off", off([0.02, 0.0, 0.0, 0.0, 0.0, 0.0]), 0.12, 0.05),
        ("zero of the tester", off([0.02, 0.0, 0.0, 0.0, 0.0, 0.0]), 3.1, 0.05),
        ("noise", off([-0.02, 0.0, 0.0, 0.1, 0.0, 0.0]), 0.0, 0.5),
    ];
    for (name, deviation, zero, noise) in cases {
        let found = corrected(folder.path(), &table(part(deviation), zero, 0.0, 0.2, noise));
        let number = |pointer: &str| found.pointer(pointer).and_then(Value::as_f64).unwrap_or(f64::NAN);
        println!(
            "{name:<20} {} rms {:.2} after {:.2}, nothing {:.2}, expected {:.2}, kept {}, {}",
            found["explained"],
            number("/rms_before_percent"),
            number("/rms_after_percent"),
            number("/trims/0/within_percent"),
            number("/expected/within_percent"),
            found["kept"],
            found["advised"]
        );
        assert_eq!(found["explained"], true, "{name}: {}", found["reason"]);
        assert!(number("/expected/within_percent") <= number("/trims/0/within_percent"), "{name}: {found}");
        assert_eq!(found["trims"][0]["kind"], "nothing", "{name}");
        assert!(found["advised"].is_string(), "{name}");
    }
    // counted from a preload: the first reading is a force
    let found = corrected(folder.path(), &table(part(Deviation::default()), -2.0, 2.0, 0.2, 0.05));
    assert_eq!(found["explained"], true, "{}", found["reason"]);
    assert!(found["notes"][0].as_str().unwrap().contains("counts from -2."), "{}", found["notes"]);
}

#[test]
fn an_unexplained_measurement_is_reported_with_its_cause() {
    let folder = desk();
    let drawn = part(Deviation::default());
    let thick = part(Deviation { thickness_mm: 0.3, ..Deviation::default() });
    let cases: [(&str, &dyn Fn(f64) -> f64, &str); 5] = [
        ("touches", &|x| drawn(x) + 6.0 * (x - 4.0).max(0.0), "touches"),
        ("bottoms", &|x| drawn(x) + 60.0 * (x - 6.5).max(0.0), "bottoms"),
        ("slips", &|x| drawn(x) - if x > 4.03 { 3.0 } else { 0.0 }, "slips"),
        ("yields", &|x| drawn(x) - 2.5 * (x - 4.0).max(0.0), "yields"),
        ("another sheet", &|x| thick(x), "sheet"),
    ];
    for (name, force, words) in cases {
        let found = corrected(folder.path(), &table(force, 0.0, 0.0, 0.0, 0.03));
        println!("{name}: {} {}", found["explained"], found["reason"]);
        assert_eq!(found["explained"], false, "{name}");
        assert!(found["reason"].as_str().unwrap().contains(words), "{name}: {}", found["reason"]);
    }
    let done = run(folder.path(), &["correct", DRAWING, "measured.csv"]);
    assert_ended(&done, 3);
    assert!(out(&done).starts_with("do first            look at part and bench"), "{}", out(&done));
}

#[test]
fn a_valid_file_that_tells_nothing_is_answered_and_not_refused() {
    let folder = desk();
    fs::write(folder.path().join("few.csv"), "deflection_mm,force_n\n0,0\n2,4\n4,9\n6,15\n").unwrap();
    fs::write(folder.path().join("many.csv"), table(part(Deviation::default()), 0.0, 0.0, 0.0, 0.03))
        .unwrap();
    let cases: [(&[&str], &str); 2] = [
        (&["correct", DRAWING, "few.csv"], "found 4 readings of a branch"),
        (&["correct", DRAWING, "many.csv", "--thickness", "0.5"], "another sheet"),
    ];
    for (arguments, words) in cases {
        let done = run(folder.path(), arguments);
        assert_ended(&done, 3);
        assert!(out(&done).contains(words), "{}", out(&done));
        // nothing was fitted: no table of estimates, no readings said to be near flat
        assert!(out(&done).starts_with("do first            look at the measurement: "), "{}", out(&done));
        assert!(!out(&done).contains("deviation") && !err(&done).contains("near flat"), "{}", err(&done));
    }
}

#[test]
fn a_perfect_measurement_leaves_the_drawing_as_it_is() {
    let folder = desk();
    fs::write(folder.path().join("measured.csv"), table(part(Deviation::default()), 0.0, 0.0, 0.0, 0.0))
        .unwrap();
    let done = run(folder.path(), &["correct", DRAWING, "measured.csv", "--out", "kept"]);
    assert_ended(&done, 0);
    assert!(
        out(&done).starts_with("do first            leave drawing and parts as they are"),
        "{}",
        out(&done)
    );
    assert!(out(&done).contains("drawing             kept"), "{}", out(&done));
    assert_ended(&run(folder.path(), &["outline", DRAWING, "--out", "drawn"]), 0);
    let bytes = |place: &str| fs::read(folder.path().join(place)).unwrap();
    assert!(
        bytes("kept/outline_mm.dxf") == bytes("drawn/outline_mm.dxf"),
        "{:?}",
        names(&folder.path().join("drawn"))
    );
}

#[test]
fn a_bench_sheet_is_written_filled_in_and_read_back() {
    let folder = desk();
    let write = ["correct", DRAWING, "--bench-sheet", "bench.csv", "--parts", "3"];
    assert_ended(&run(folder.path(), &write), 0);
    let parts = [0.02, 0.03].map(|thickness_mm| part(Deviation { thickness_mm, ..Deviation::default() }));
    let mut filled = String::new();
    for line in fs::read_to_string(folder.path().join("bench.csv")).unwrap().lines() {
        let cells: Vec<&str> = line.split(',').collect();
        match cells[..] {
            ["force_n", at, branch, ..] => {
                let x: f64 = at.parse().unwrap();
                let force = parts.each_ref().map(|part| part(x));
                let _ = writeln!(filled, "force_n,{at},{branch},{:.3},{:.3},", force[0], force[1]);
            }
            ["thickness_mm", ..] => filled.push_str("thickness_mm,,,2.021,2.029,\n"),
            _ => {
                let _ = writeln!(filled, "{line}");
            }
        }
    }
    fs::write(folder.path().join("bench.csv"), filled).unwrap();
    let done = run(folder.path(), &["correct", DRAWING, "bench.csv", "--json"]);
    assert_ended(&done, 0);
    let found = json(&out(&done))["correction"].clone();
    assert_eq!(found["explained"], true, "{}", found["reason"]);
    let list = found["parts"].as_array().unwrap();
    assert_eq!(
        list.iter().map(|part| part["name"].as_str().unwrap()).collect::<Vec<_>>(),
        ["part 1", "part 2"]
    );
    for (part, truth) in list.iter().zip([0.02, 0.03]) {
        let thickness = part["deviation"]["thickness_mm"].as_f64().unwrap();
        assert!((thickness - truth).abs() < 0.005, "{thickness} for {truth}");
    }
    // a sheet that was filled in is not lost
    let refused = run(folder.path(), &write);
    assert_ended(&refused, 1);
    assert!(err(&refused).contains("--force"), "{}", err(&refused));
}

#[test]
fn several_files_are_several_parts_unless_they_are_of_one() {
    let folder = desk();
    for (name, thickness_mm) in [("a.csv", 0.02), ("b.csv", -0.02)] {
        let measured = table(part(Deviation { thickness_mm, ..Deviation::default() }), 0.0, 0.0, 0.2, 0.05);
        fs::write(folder.path().join(name), measured).unwrap();
    }
    // asked for more closely than single parts of this sheet keep
    let strict = fs::read_to_string(folder.path().join(DRAWING)).unwrap();
    let strict = strict.replace("tolerance_percent = 3", "tolerance_percent = 2");
    fs::write(folder.path().join("strict.toml"), strict).unwrap();
    let done = run(folder.path(), &["correct", "strict.toml", "a.csv", "b.csv", "--thickness", "2.02,1.98"]);
    assert!(matches!(done.status.code(), Some(0 | 3)), "{}", err(&done));
    for words in ["part                force over the drawn one", "sorted by force: a with b"] {
        assert!(out(&done).contains(words), "{}", out(&done));
    }
    let one =
        run(folder.path(), &["correct", DRAWING, "a.csv", "a.csv", "--same-part", "--thickness", "2.02"]);
    assert!(matches!(one.status.code(), Some(0 | 3)), "{}", err(&one));
    assert!(!out(&one).contains("force over the drawn one"), "{}", out(&one));
    let refused = run(folder.path(), &["correct", DRAWING, "a.csv", "b.csv", "--thickness", "2.02,1.98,2"]);
    assert_ended(&refused, 2);
    assert!(err(&refused).contains("found 3 values, expected 2"), "{}", err(&refused));
}
