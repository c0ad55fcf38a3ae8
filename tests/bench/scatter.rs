//! Cost of a scatter run and of explaining a measurement, on all cores.

// a bench prints, and stops at the first surprise
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::time::Instant;

use flatspire::layout::Spring;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Process, SpringFile, Tolerance};
use flatspire::variation::{
    Asked, IdentifySettings, Readings, ScatterSettings, Tolerances, identify, scatter,
};

/// From one turn to more than three.
const SPRINGS: [(&str, &str); 3] = [
    ("3 arms, 1 turn", "arms = 3\nslot = 1.4\n[arm]\nradius = [12, 35]\nwidth = [3, 7]\n"),
    (
        "2 arms, 1.6 turns",
        "arms = 2\nslot = 1.4\n[arm]\nradius = [12, 20, 28, 35]\nwidth = [2.8, 4.2, 5.2, 6]\n",
    ),
    ("1 arm, 3 turns", "arms = 1\nslot = 1.4\n[arm]\nradius = [12, 35]\nwidth = [4, 7]\n"),
];

fn spring(arms: &str) -> Spring {
    let text = format!(
        "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.2\n[disc]\nouter_diameter = 84\n\
         arm_outer_diameter = 70\narm_inner_diameter = 24\nbore_diameter = 8\n{arms}[former]\nfree_height = 9\n"
    );
    Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap()
}

fn main() {
    for (name, arms) in SPRINGS {
        let spring = spring(arms);
        let tolerances = Tolerances::of(&spring, &Tolerance::default(), &Process::default());
        let asked = Asked { target: None, installed: 0.0, tolerance_percent: 3.0 };
        let start = Instant::now();
        let found =
            scatter(&spring, &tolerances, &asked, &ScatterSettings { runs: 10_000, seed: 1 }).unwrap();
        let time = start.elapsed().as_secs_f64();
        println!("{name}: 10,000 parts {time:.2} s, band ±{:.2} %", found.band_percent);

        let deflection: Vec<f64> = (0..80).map(|k| 8.0 * f64::from(k) / 79.0).collect();
        let force =
            Model::of(&spring, &ModelSettings::default()).unwrap().response(&deflection).unwrap().force;
        let readings = Readings { deflection, force, hysteresis: None, friction_left: false };
        let start = Instant::now();
        let found = identify(&spring, &tolerances, &readings, None, IdentifySettings::default()).unwrap();
        let time = start.elapsed().as_secs_f64();
        println!("{name}: a measurement of 80 readings explained in {time:.2} s ({})", found.explained);
    }
}
