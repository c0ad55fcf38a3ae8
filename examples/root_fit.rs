//! Where the root lengths of the model would go in a fit to all references of discs and designed springs at once.
//!
//! `cargo run --release --example root_fit` prints the fitted lengths and what is left of the errors. The references are
//! 3-D finite-element rates and contact curves, see `tests/data/README.md`.

// a workbench, not a library: it prints, and stops at the first surprise
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

use flatspire::layout::Spring;
use flatspire::model::loose_rim::RimSupport;
use flatspire::model::root::RootLaw;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Pressing, Rim};

#[path = "../tests/references/finite_elements.rs"]
mod finite_elements;

use finite_elements::{
    DISC_CURVES, FlatDisc, NEARLY_FLAT_OUTSIDE, WHOLE_CHAIN_CURVES, curve, flat_discs, spring,
};

struct Case {
    name: String,
    spring: Spring,
    support: RimSupport,
    /// linear rate (N/mm), or a curve
    rate: Option<f64>,
    curve: Vec<(f64, f64)>,
}

fn rates() -> Vec<Case> {
    let mut cases = Vec::new();
    for (k, FlatDisc { mut spring, bonded, resting }) in flat_discs().into_iter().enumerate() {
        let name = k + 1;
        if let Some(rate) = resting {
            let mut spring = spring.clone();
            spring.seat.rim = Rim::Resting;
            cases.push(Case {
                name: format!("flat disc {name} resting"),
                spring,
                // the solids' rims are attached to a ring support under their outer edge
                support: RimSupport::Round,
                rate: Some(rate),
                curve: vec![],
            });
        }
        spring.seat.rim = Rim::Held;
        spring.disc.hub_clamp_radius = Some(spring.disc.slot_inner_radius - 0.5 * spring.slot);
        spring.disc.rim_clamp_radius = Some(spring.disc.slot_outer_radius + 0.5 * spring.slot);
        cases.push(Case {
            name: format!("flat disc {name} bonded"),
            spring,
            support: RimSupport::Loose,
            rate: Some(bonded),
            curve: vec![],
        });
    }
    cases
}

/// Curves but those between plates, where contact is on the centre line.
fn curves() -> Vec<Case> {
    let discs = DISC_CURVES.into_iter().map(|case| ("discs", case));
    let designed =
        WHOLE_CHAIN_CURVES.into_iter().chain(NEARLY_FLAT_OUTSIDE).map(|case| ("whole_chain", case));
    discs
        .chain(designed)
        .map(|(kind, (name, file, words, held))| {
            let mut spring = spring(kind, name);
            held(&mut spring);
            let travel = Model::of(&spring, &ModelSettings::default()).unwrap().travel();
            let (x, force) = curve(kind, name, file);
            let curve =
                x.into_iter().zip(force).filter(|(x, _)| *x > 0.03 * travel && *x < 0.9 * travel).collect();
            Case { name: format!("{name}, {words}"), spring, support: RimSupport::Loose, rate: None, curve }
        })
        .filter(|case| case.spring.seat.pressing != Pressing::Plates)
        .collect()
}

/// Force errors (percent).
fn errors(case: &Case, law: RootLaw) -> Vec<f64> {
    let roots = RootLaw { support: case.support, ..law };
    let settings = ModelSettings { roots, ..ModelSettings::default() };
    let model = Model::of(&case.spring, &settings).unwrap();
    if let Some(rate) = case.rate {
        return vec![100.0 * (model.linear_rate() / rate - 1.0)];
    }
    let deflections: Vec<f64> = case.curve.iter().map(|point| point.0).collect();
    let forces = model.forces(&deflections).unwrap();
    forces.iter().zip(&case.curve).map(|(f, point)| 100.0 * (f / point.1 - 1.0)).collect()
}

fn mean_square(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64
}

fn law(p: &[f64]) -> RootLaw {
    RootLaw {
        twist: p[0],
        slope: p[1],
        height: p[2],
        curved: p[3],
        ring: p[4],
        roll: p[5],
        ..RootLaw::default()
    }
}

fn main() {
    let cases: Vec<Case> = rates().into_iter().chain(curves()).collect();
    let cost = |p: &[f64]| -> f64 {
        if p[..3].iter().any(|v| *v < 0.3) || p[4] < -0.1 || p[5] < 0.3 {
            return 1e6;
        }
        // a curve counts as much as two rates, large errors for less
        cases
            .iter()
            .map(|case| {
                let square = mean_square(&errors(case, law(p)));
                square / (1.0 + square / 16.0) * if case.rate.is_some() { 1.0 } else { 2.0 }
            })
            .sum()
    };
    // cyclic search by parabolas along each parameter: few parameters, a smooth cost
    let RootLaw { twist, slope, height, curved, ring, roll, .. } = RootLaw::default();
    let mut p = vec![twist, slope, height, curved, ring, roll];
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
