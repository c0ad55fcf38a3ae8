//! The predictor against 3-D finite elements: isolated arms and complete discs (see `tests/data/README.md`).

use std::path::PathBuf;

use flatspire::layout::{read_stations, Spring};
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::SpringFile;

/// The folder of one reference case.
pub fn case(kind: &str, name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(kind).join(name)
}

/// The spring of one reference case.
pub fn spring(kind: &str, name: &str) -> Spring {
    let folder = case(kind, name);
    let text = std::fs::read_to_string(folder.join("spring.toml")).unwrap();
    let file = SpringFile::parse(&text, "spring.toml").unwrap();
    let stations = std::fs::read_to_string(folder.join("stations.csv")).unwrap();
    Spring::from_file(&file, Some(read_stations(&stations, "stations.csv").unwrap())).unwrap()
}

/// The finite-element curve of one reference case: deflection (mm), force (N).
pub fn curve(kind: &str, name: &str, file: &str) -> (Vec<f64>, Vec<f64>) {
    let text = std::fs::read_to_string(case(kind, name).join(file)).unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let (x, f) = line.split_once(',').unwrap();
            (x.parse::<f64>().unwrap(), f.parse::<f64>().unwrap())
        })
        .unzip()
}

/// Force errors (percent of the reference force) between two shares of the travel.
pub fn errors(spring: &Spring, settings: &ModelSettings, reference: &(Vec<f64>, Vec<f64>), range: (f64, f64)) -> Vec<f64> {
    let model = Model::of(spring, settings).unwrap();
    let travel = model.travel();
    let points: Vec<(f64, f64)> = reference
        .0
        .iter()
        .zip(&reference.1)
        .map(|(x, f)| (*x, *f))
        .filter(|(x, _)| *x >= range.0 * travel && *x <= range.1 * travel)
        .collect();
    let deflections: Vec<f64> = points.iter().map(|point| point.0).collect();
    let (response, _) = model.response(&deflections).unwrap();
    points.iter().zip(&response.force).map(|(point, force)| 100.0 * (force / point.1 - 1.0)).collect()
}

/// Root mean square.
pub fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64).sqrt()
}

/// Largest magnitude.
pub fn worst(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |worst, v| worst.max(v.abs()))
}

const ARMS: [&str; 6] = [
    "double_domed",
    "double_linear_taper",
    "quad_short_arms",
    "single_constant",
    "single_even_closing",
    "triple_constant",
];

#[test]
fn arms_follow_finite_elements() {
    for name in ARMS {
        let errors = errors(&spring("arms", name), &ModelSettings::default(), &curve("arms", name, "curve.csv"), (0.03, 0.9));
        println!("{name:22} rms {:.2} % worst {:.2} %  first {:+.2} %", rms(&errors), worst(&errors), errors[0]);
        assert!(rms(&errors) <= 2.5, "{name}: {errors:.2?}");
    }
}
