//! Reports of springs that differ: one arm, five arms, inches, checks that fail, a curve that cannot be followed, and a
//! question without an answer. `cargo run --example reports -- FOLDER`
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::fs;
use std::path::Path;

use flatspire::curve;
use flatspire::evaluation::{Asked, Evaluation};
use flatspire::layout::Spring;
use flatspire::pipeline::{Question, answer};
use flatspire::plot::Units;
use flatspire::report::{Report, Subject, files, without_spring};
use flatspire::spec::{Brief, SpringFile};

const LINEAR: &str = "deflection_mm,force_n,force_min,force_max\n0,0,0,2\n1,5,4,6\n2,10,9,11\n3,15,13.5,16.5\n4,20,18,22\n5,25,\
                      22.5,27.5\n6,30,27,33\n7,35,31.5,38.5\n";
const SOFTENING: &str = "deflection_mm,force_n\n0,0\n1,10\n2,17\n3,22\n4,25\n5,26.5\n6,27\n";

/// A brake of a feel rig that is asked for too much: it yields, and its height does not stay.
const TOO_HIGH: &str = "
[sheet]
material = \"1.4310+C1300\"
thickness = 1.5
[disc]
outer_diameter = 74
arm_outer_diameter = 62
arm_inner_diameter = 22
bore_diameter = 9
arms = 2
slot = 1.4
[arm]
radius = [11, 21, 31]
width = [5.0, 6.0, 8.0]
[former]
free_height = 14.0
[duty]
cycles = 200000
stroke_start = 1.0
[target]
deflection = [0, 3, 6, 9, 12]
force = [0, 120, 260, 430, 700]
";

fn brief(text: &str) -> Brief {
    Brief::parse(text, "brief.toml").unwrap()
}

fn designed(into: &Path, target: &str, text: &str, units: Units) {
    let target = curve::read(target.as_bytes(), "curve.csv").unwrap();
    let answer = answer(Question { target, brief: brief(text) }, &|_| {}).unwrap();
    fs::create_dir_all(into).unwrap();
    for file in files(&answer, units).unwrap() {
        let place = into.join(file.name);
        fs::create_dir_all(place.parent().unwrap()).unwrap();
        fs::write(place, file.bytes).unwrap();
    }
    let subject = Subject::of(&answer);
    println!("{}: {} arms, passed {}", into.display(), subject.spring.arms, answer.evaluation.passed());
}

fn main() {
    let folder = std::env::args().nth(1).unwrap_or_else(|| "target/reports".to_owned());
    let folder = Path::new(&folder);
    let sheet = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.5\n";
    let one = format!("{sheet}[envelope]\nouter_diameter_max = 90\n[arms]\ncount = 1\n");
    designed(&folder.join("one-arm"), LINEAR, &one, Units::MillimetreNewton);
    let five = format!(
        "{sheet}[envelope]\nouter_diameter_max = 120\n[arms]\ncount = 5\n[seat]\npressing = \"plates\"\n[duty]\ninstalled = 0.5\n"
    );
    designed(&folder.join("five-arm"), LINEAR, &five, Units::InchPound);
    designed(&folder.join("unreachable"), SOFTENING, &one, Units::MillimetreNewton);

    let file = SpringFile::parse(TOO_HIGH, "spring.toml").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let evaluation = Evaluation::of(&spring, Asked::of(&file, None)).unwrap();
    let report = Report::of_spring(&file, &evaluation, Units::MillimetreNewton).unwrap();
    let into = folder.join("failed");
    fs::create_dir_all(&into).unwrap();
    for file in report.files().unwrap() {
        let place = into.join(file.name);
        fs::create_dir_all(place.parent().unwrap()).unwrap();
        fs::write(place, file.bytes).unwrap();
    }
    println!("{}: passed {}", into.display(), evaluation.passed());

    let target = curve::read(SOFTENING.as_bytes(), "curve.csv").unwrap();
    let question =
        Question { target, brief: brief("[envelope]\nouter_diameter_max = 20\nbore_diameter_min = 15\n") };
    let reason = answer(question.clone(), &|_| {}).map(|_| ()).unwrap_err().to_string();
    let into = folder.join("unanswered");
    fs::create_dir_all(&into).unwrap();
    fs::write(into.join("report.html"), without_spring(&question, &reason, Units::MillimetreNewton).unwrap())
        .unwrap();
    println!("{}: {reason}", into.display());
}
