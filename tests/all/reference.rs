//! The predictor against 3-D finite elements: isolated arms and complete discs (see `tests/data/README.md`).

use std::path::PathBuf;

use flatspire::layout::{Spring, read_stations};
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Pressing, Rim, SpringFile};

use crate::validity::{OutsideCheck, hold};

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

/// Where the curves come from.
pub const FINITE_ELEMENTS: &str = "20-node solids, large displacement, contact (CalculiX)";

/// Root mean square and largest error of one curve between 3 and 90 % of the travel.
fn curve_checks(what: &str, errors: &[f64], allowed: [f64; 2]) -> [OutsideCheck; 2] {
    [("rms", rms(errors), allowed[0]), ("worst point", worst(errors), allowed[1])].map(
        |(kind, measured, allowed)| OutsideCheck {
            what: format!("force, {what}: {kind}"),
            source: FINITE_ELEMENTS,
            allowed,
            measured,
        },
    )
}

/// Isolated arms between ideal clamps.
pub fn arms() -> Vec<OutsideCheck> {
    ARMS.iter()
        .flat_map(|name| {
            let reference = curve("arms", name, "curve.csv");
            let errors = errors(&spring("arms", name), &ModelSettings::default(), &reference, (0.03, 0.9));
            curve_checks(name, &errors, [1.0, 3.0])
        })
        .collect()
}

#[test]
fn arms_follow_finite_elements() {
    hold(&arms());
}

/// Complete discs, through contact.
pub fn discs() -> Vec<OutsideCheck> {
    // (case, curve, in words, how it was held and pressed)
    let cases: [(&str, &str, &str, fn(&mut Spring)); 8] = [
        ("triple_constant", "curve.csv", "rings held", |_| ()),
        ("double_tapered", "curve.csv", "rings held", |_| ()),
        ("quad_constant", "curve.csv", "rings held", |_| ()),
        ("double_overtapered", "curve.csv", "rings held", |_| ()),
        ("double_overtapered", "curve_plates.csv", "between plates", |spring| {
            spring.seat.pressing = Pressing::Plates;
        }),
        ("triple_constant", "curve_resting_rim.csv", "rim resting", |spring| spring.seat.rim = Rim::Resting),
        ("quad_constant", "curve_resting_rim.csv", "rim resting", |spring| spring.seat.rim = Rim::Resting),
        ("triple_constant", "curve_flexible_rings.csv", "flexible rings", |spring| {
            spring.disc.rim_clamp_radius = None;
            spring.disc.hub_clamp_radius = None;
        }),
    ];
    cases
        .into_iter()
        .flat_map(|(name, file, words, held)| {
            let mut spring = spring("discs", name);
            held(&mut spring);
            let reference = curve("discs", name, file);
            let errors = errors(&spring, &ModelSettings::default(), &reference, (0.03, 0.9));
            curve_checks(&format!("{name}, {words}"), &errors, [3.0, 6.0])
        })
        .collect()
}

#[test]
fn discs_follow_finite_elements_through_contact() {
    hold(&discs());
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

/// Linear rates of flat discs.
pub fn rates() -> Vec<OutsideCheck> {
    let (mut bonded, mut resting) = (Vec::new(), Vec::new());
    for disc in flat_discs() {
        let mut spring = disc.spring;
        spring.disc.rim_clamp_radius = Some(spring.disc.slot_outer_radius + 0.5 * spring.slot);
        spring.disc.hub_clamp_radius = Some(spring.disc.slot_inner_radius - 0.5 * spring.slot);
        spring.seat.rim = Rim::Held;
        let settings = ModelSettings::default();
        bonded.push((Model::of(&spring, &settings).unwrap().linear_rate(), disc.bonded));
        if let Some(rate) = disc.resting {
            spring.seat.rim = Rim::Resting;
            spring.disc.hub_clamp_radius = None;
            resting.push((Model::of(&spring, &settings).unwrap().linear_rate(), rate));
        }
    }
    let solids = "20-node solids, small displacement (CalculiX)";
    vec![
        OutsideCheck::of_pairs(
            format!("linear rate of {} flat discs, rings held", bonded.len()),
            solids,
            3.0,
            bonded,
        ),
        OutsideCheck::of_pairs(
            format!("linear rate of {} of them, rim resting", resting.len()),
            solids,
            3.0,
            resting,
        ),
    ]
}

#[test]
fn flat_discs_have_the_rates_of_finite_elements() {
    hold(&rates());
}

/// Surface stress along the arm of a complete disc.
pub fn stress() -> Vec<OutsideCheck> {
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
    let (mut centre, mut edge) = (Vec::new(), Vec::new());
    for (fraction, half, flat) in TABLE {
        let i = arm.angle.partition_point(|angle| *angle < fraction * total) - 1;
        for (state, expected) in states.iter().zip([half, flat]) {
            centre.push((state.stress[i].centre, expected[0]));
            edge.push((state.stress[i].edge, expected[1]));
        }
    }
    [("at the middle of the arm's width", centre, 5.0), ("at its inner edge", edge, 7.0)]
        .map(|(place, pairs, allowed)| {
            let what = format!("surface stress {place}, triple_constant, half and 97 % of travel");
            OutsideCheck::of_pairs(what, FINITE_ELEMENTS, allowed, pairs)
        })
        .into()
}

#[test]
fn stress_follows_finite_elements() {
    hold(&stress());
}
