//! The predictor against 3-D finite elements: isolated arms and complete discs (see `tests/data/README.md`).

use std::path::PathBuf;

use flatspire::layout::{Spring, read_stations};
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Pressing, Rim, SpringFile};

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
pub fn errors(
    spring: &Spring,
    settings: &ModelSettings,
    reference: &(Vec<f64>, Vec<f64>),
    range: (f64, f64),
) -> Vec<f64> {
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
    let response = model.response(&deflections).unwrap();
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
        let errors = errors(
            &spring("arms", name),
            &ModelSettings::default(),
            &curve("arms", name, "curve.csv"),
            (0.03, 0.9),
        );
        println!(
            "{name:22} rms {:.2} % worst {:.2} %  first {:+.2} %",
            rms(&errors),
            worst(&errors),
            errors[0]
        );
        assert!(rms(&errors) <= 1.0 && worst(&errors) <= 3.0, "{name}: {errors:.2?}");
    }
}

#[test]
fn discs_follow_finite_elements_through_contact() {
    // (case, curve, how it was held and pressed)
    let cases: [(&str, &str, fn(&mut Spring)); 8] = [
        ("triple_constant", "curve.csv", |_| ()),
        ("double_tapered", "curve.csv", |_| ()),
        ("quad_constant", "curve.csv", |_| ()),
        ("double_overtapered", "curve.csv", |_| ()),
        ("double_overtapered", "curve_plates.csv", |spring| spring.seat.pressing = Pressing::Plates),
        ("triple_constant", "curve_resting_rim.csv", |spring| spring.seat.rim = Rim::Resting),
        ("quad_constant", "curve_resting_rim.csv", |spring| spring.seat.rim = Rim::Resting),
        ("triple_constant", "curve_flexible_rings.csv", |spring| {
            spring.disc.rim_clamp_radius = None;
            spring.disc.hub_clamp_radius = None;
        }),
    ];
    for (name, file, held) in cases {
        let mut spring = spring("discs", name);
        held(&mut spring);
        let errors = errors(&spring, &ModelSettings::default(), &curve("discs", name, file), (0.03, 0.9));
        println!("{name:20} {file:26} rms {:.2} % worst {:.2} %", rms(&errors), worst(&errors));
        assert!(rms(&errors) <= 3.0, "{name} {file}: {errors:.2?}");
    }
}

/// One row of the table of linear rates: the disc, its rate with rings bonded and with the rim resting (N/mm).
struct FlatDisc {
    spring: Spring,
    bonded: f64,
    resting: Option<f64>,
}

fn flat_discs() -> Vec<FlatDisc> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/discs/flat_disc_rates.csv");
    let text = std::fs::read_to_string(path).unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<Option<f64>> = line.split(',').map(|cell| cell.parse().ok()).collect();
            let value = |k: usize| cells[k].unwrap();
            let (outer, inner) = (value(2), value(3));
            let toml = format!(
                "[sheet]\nthickness = {}\nyoungs_modulus = {}\nshear_modulus = {}\n[disc]\narms = {}\nslot = {}\n\
                 arm_outer_diameter = {}\narm_inner_diameter = {}\n[arm]\nradius = [{}, {}]\nwidth = [{}, {}]\n\
                 [former]\nfree_height = 1.0\n",
                value(5),
                value(8),
                value(8) / 2.0 / (1.0 + value(9)),
                value(1),
                value(4),
                2.0 * outer,
                2.0 * inner,
                inner,
                outer,
                value(7),
                value(6)
            );
            let file = SpringFile::parse(&toml, "disc").unwrap();
            FlatDisc { spring: Spring::from_file(&file, None).unwrap(), bonded: value(10), resting: cells[11] }
        })
        .collect()
}

#[test]
fn flat_discs_have_the_rates_of_finite_elements() {
    for (row, disc) in flat_discs().into_iter().enumerate() {
        let mut spring = disc.spring;
        spring.disc.rim_clamp_radius = Some(spring.disc.slot_outer_radius + 0.5 * spring.slot);
        spring.disc.hub_clamp_radius = Some(spring.disc.slot_inner_radius - 0.5 * spring.slot);
        spring.seat.rim = Rim::Held;
        let settings = ModelSettings::default();
        let bonded = 100.0 * (Model::of(&spring, &settings).unwrap().linear_rate() / disc.bonded - 1.0);
        println!("disc {} bonded {bonded:+.2} %", row + 1);
        assert!(bonded.abs() <= 3.0, "disc {}: {bonded:+.2} %", row + 1);
        if let Some(rate) = disc.resting {
            spring.seat.rim = Rim::Resting;
            spring.disc.hub_clamp_radius = None;
            let resting = 100.0 * (Model::of(&spring, &settings).unwrap().linear_rate() / rate - 1.0);
            println!("disc {} resting {resting:+.2} %", row + 1);
            assert!(resting.abs() <= 3.0, "disc {}: {resting:+.2} %", row + 1);
        }
    }
}

#[test]
fn stress_follows_finite_elements() {
    // triple_constant with flexible rings: fraction of arm angle from the outer root, von Mises at the strip centre and
    // at the inner edge at half travel, the same at 97 % (MPa)
    const TABLE: [(f64, [f64; 2], [f64; 2]); 6] = [
        (0.10, [127.5, 131.3], [156.9, 162.3]),
        (0.20, [121.7, 125.7], [165.7, 172.1]),
        (0.35, [138.7, 144.2], [238.0, 246.4]),
        (0.50, [145.7, 152.0], [285.8, 299.3]),
        (0.65, [119.8, 126.2], [341.1, 359.7]),
        (0.80, [74.5, 79.1], [364.3, 387.9]),
    ];
    let mut spring = spring("discs", "triple_constant");
    spring.disc.rim_clamp_radius = None;
    spring.disc.hub_clamp_radius = None;
    let settings = ModelSettings::default();
    let arm = spring.arm(settings.segments).unwrap();
    let model = Model::of_arm(&spring, &arm, &settings);
    let travel = model.travel();
    let states = model.states(&[0.5 * travel, 0.97 * travel]).unwrap();
    let total = arm.angle[arm.angle.len() - 1];
    for (fraction, half, flat) in TABLE {
        let i = arm.angle.partition_point(|angle| *angle < fraction * total) - 1;
        for (state, expected) in states.iter().zip([half, flat]) {
            let stress = state.stress[i];
            let off = |found: f64, wanted: f64| 100.0 * (found / wanted - 1.0);
            let (centre, edge) = (off(stress.centre, expected[0]), off(stress.edge, expected[1]));
            println!("{fraction:.2} at {:.1} mm: centre {centre:+.1} % edge {edge:+.1} %", state.deflection);
            assert!(centre.abs() <= 5.0 && edge.abs() <= 7.0, "{fraction}: {centre:+.1} % {edge:+.1} %");
        }
    }
}
