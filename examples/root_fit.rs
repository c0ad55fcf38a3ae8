//! How the root lengths of the model were found: one fit to all complete-disc references at once.
//!
//! `cargo run --release --example root_fit` prints the fitted lengths and what is left of the errors. The references are
//! 3-D finite-element rates and contact curves, see `tests/data/README.md`.

// a workbench, not a library: it prints, and stops at the first surprise
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

use std::path::PathBuf;

use flatspire::layout::{Spring, read_stations};
use flatspire::model::root::RootLaw;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Pressing, Rim, SpringFile};

struct Case {
    name: String,
    spring: Spring,
    /// linear rate (N/mm), or a curve
    rate: Option<f64>,
    curve: Vec<(f64, f64)>,
}

fn data() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/discs")
}

fn rates() -> Vec<Case> {
    let text = std::fs::read_to_string(data().join("flat_disc_rates.csv")).unwrap();
    let mut cases = Vec::new();
    for line in text.lines().skip(1) {
        let cells: Vec<Option<f64>> = line.split(',').map(|cell| cell.parse().ok()).collect();
        let value = |k: usize| cells[k].unwrap();
        let (outer, inner) = (value(2), value(3));
        let toml = format!(
            "[sheet]\nthickness = {}\nyoungs_modulus = {}\nshear_modulus = {}\n[disc]\narms = {}\nslot = {}\n\
             arm_outer_diameter = {}\narm_inner_diameter = {}\n[arm]\nradius = [{inner}, {outer}]\nwidth = [{}, {}]\n\
             [former]\nfree_height = 1.0\n",
            value(5),
            value(8),
            value(8) / 2.0 / (1.0 + value(9)),
            value(1),
            value(4),
            2.0 * outer,
            2.0 * inner,
            value(7),
            value(6)
        );
        let mut spring = Spring::from_file(&SpringFile::parse(&toml, "disc").unwrap(), None).unwrap();
        spring.disc.hub_clamp_radius = Some(inner - 0.5 * value(4));
        if let Some(rate) = cells[11] {
            spring.seat.rim = Rim::Resting;
            let mut resting = spring.clone();
            resting.disc.hub_clamp_radius = None;
            cases.push(Case {
                name: format!("{} resting", cells[0].unwrap()),
                spring: resting,
                rate: Some(rate),
                curve: vec![],
            });
        }
        spring.seat.rim = Rim::Held;
        spring.disc.rim_clamp_radius = Some(outer + 0.5 * value(4));
        cases.push(Case {
            name: format!("{} bonded", cells[0].unwrap()),
            spring,
            rate: cells[10],
            curve: vec![],
        });
    }
    cases
}

fn curves() -> Vec<Case> {
    let mut cases = Vec::new();
    for (name, file) in [
        ("triple_constant", "curve.csv"),
        ("double_tapered", "curve.csv"),
        ("quad_constant", "curve.csv"),
        ("double_overtapered", "curve.csv"),
        ("double_overtapered", "curve_plates.csv"),
        ("triple_constant", "curve_resting_rim.csv"),
        ("quad_constant", "curve_resting_rim.csv"),
        ("triple_constant", "curve_flexible_rings.csv"),
    ] {
        let folder = data().join(name);
        let read = |file: &str| std::fs::read_to_string(folder.join(file)).unwrap();
        let spring_file = SpringFile::parse(&read("spring.toml"), name).unwrap();
        let stations = read_stations(&read("stations.csv"), name).unwrap();
        let mut spring = Spring::from_file(&spring_file, Some(stations)).unwrap();
        if file.contains("plates") {
            spring.seat.pressing = Pressing::Plates;
        }
        if file.contains("resting") {
            spring.seat.rim = Rim::Resting;
        }
        if file.contains("flexible") {
            spring.disc.rim_clamp_radius = None;
            spring.disc.hub_clamp_radius = None;
        }
        let travel = spring_file.former.free_height;
        let curve = read(file)
            .lines()
            .skip(1)
            .filter_map(|line| line.split_once(','))
            .map(|(x, f)| (x.parse().unwrap(), f.parse().unwrap()))
            .filter(|(x, _): &(f64, f64)| *x > 0.03 * travel && *x < 0.93 * travel)
            .collect();
        cases.push(Case { name: format!("{name} {file}"), spring, rate: None, curve });
    }
    cases
}

/// Force errors (percent).
fn errors(case: &Case, law: RootLaw) -> Vec<f64> {
    let settings = ModelSettings { roots: law, ..ModelSettings::default() };
    let model = Model::of(&case.spring, &settings).unwrap();
    if let Some(rate) = case.rate {
        return vec![100.0 * (model.linear_rate() / rate - 1.0)];
    }
    let deflections: Vec<f64> = case.curve.iter().map(|point| point.0).collect();
    let response = model.response(&deflections).unwrap();
    response.force.iter().zip(&case.curve).map(|(f, point)| 100.0 * (f / point.1 - 1.0)).collect()
}

fn mean_square(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64
}

fn law(p: &[f64]) -> RootLaw {
    RootLaw { twist: p[0], slope: p[1], height: p[2], curved: p[3], ring: p[4], roll: p[5] }
}

fn main() {
    let cases: Vec<Case> = rates().into_iter().chain(curves()).collect();
    let cost = |p: &[f64]| -> f64 {
        if p[..3].iter().any(|v| *v < 0.3) || p[4] < -0.1 || p[5] < 0.3 {
            return 1e6;
        }
        // a curve counts as much as two rates
        cases
            .iter()
            .map(|case| mean_square(&errors(case, law(p))) * if case.rate.is_some() { 1.0 } else { 2.0 })
            .sum()
    };
    // cyclic search by parabolas along each parameter: few parameters, a smooth cost
    let mut p = vec![1.06, 0.9, 0.9, 0.9, 0.1, 1.3];
    let mut step = [0.1, 0.2, 0.2, 0.2, 0.1, 0.2];
    let mut best = cost(&p);
    for sweep in 0..8 {
        for k in 0..p.len() {
            let at = |move_by: f64| {
                let mut q = p.clone();
                q[k] += move_by;
                cost(&q)
            };
            let (down, up) = (at(-step[k]), at(step[k]));
            let bend = up + down - 2.0 * best;
            let target = if bend > 0.0 {
                (0.5 * step[k] * (down - up) / bend).clamp(-2.0 * step[k], 2.0 * step[k])
            } else if up < down {
                step[k]
            } else {
                -step[k]
            };
            let trial = at(target);
            let (gain, found) = [(target, trial), (step[k], up), (-step[k], down)]
                .into_iter()
                .fold((0.0, best), |a, b| if b.1 < a.1 { b } else { a });
            p[k] += gain;
            best = found;
            step[k] *= if gain.abs() < 0.3 * step[k] { 0.5 } else { 1.0 };
        }
        eprintln!("sweep {sweep}: cost {best:.3} at {p:.3?}");
    }
    for case in &cases {
        let left = errors(case, law(&p));
        let worst = left.iter().fold(0.0f64, |w, v| if v.abs() > w.abs() { *v } else { w });
        println!("{:45} rms {:.2} % worst {worst:+.2} %", case.name, mean_square(&left).sqrt());
    }
}
