//! Cost of a curve: against general-purpose and dense solvers, over the number of segments, with gradients, with the
//! plane. All ratios are taken within one run.

// a bench prints, and stops at the first surprise
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::needless_range_loop)]

use std::time::Instant;

use flatspire::layout::Spring;
use flatspire::model::chain::Chain;
use flatspire::model::contact::Contact;
use flatspire::model::sensitivity::Direction;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Pressing, SpringFile};
use nalgebra::{DMatrix, DVector};

#[path = "../all/quadratic_programme.rs"]
mod quadratic_programme;
use quadratic_programme::QuadraticProgramme;

const SPRING: &str = r#"
[sheet]
thickness = 1.0
youngs_modulus = 206000
shear_modulus = 79230
[disc]
outer_diameter = 105
arm_outer_diameter = 80
arm_inner_diameter = 28
arms = 2
slot = 1.2
[arm]
radius = [14, 22, 31, 40]
width = [3.0, 4.4, 6.1, 8.0]
[former]
free_height = 12.0
[seat]
pressing = "plates"
"#;

fn model(spring: &Spring, segments: usize, in_plane: bool) -> Model {
    Model::of(spring, &ModelSettings { segments, in_plane, ..ModelSettings::default() }).unwrap()
}

fn stops(model: &Model, count: u32) -> Vec<f64> {
    (1..=count).map(|k| 0.97 * f64::from(k) / f64::from(count) * model.travel()).collect()
}

/// Least time of a few runs (s), and what the last one gave.
fn least<T>(runs: usize, mut run: impl FnMut() -> T) -> (f64, T) {
    let mut once = || {
        let start = Instant::now();
        let result = run();
        (start.elapsed().as_secs_f64(), result)
    };
    let mut best = once();
    for _ in 1..runs {
        let (time, result) = once();
        best = (best.0.min(time), result);
    }
    best
}

/// Forces of one arm by an active set that starts from the last one and solves with a dense factorisation.
fn dense(chain: &Chain, upper: bool, stops: &[f64]) -> Vec<f64> {
    let (elements, free_height) = (&chain.elements, &chain.free_height);
    let count = elements.len();
    let travel = free_height[count];
    let size = 3 * (count + 1);
    let mut whole = DMatrix::<f64>::zeros(size, size);
    for (i, element) in elements.iter().enumerate() {
        let [aa, ab, bb] = element.blocks();
        for (row, column, block) in
            [(i, i, aa), (i, i + 1, ab), (i + 1, i, ab.transpose()), (i + 1, i + 1, bb)]
        {
            let mut part = whole.fixed_view_mut::<3, 3>(3 * row, 3 * column);
            part += block;
        }
    }
    let mut contacts = vec![Contact::None; count + 1];
    let mut forces = Vec::new();
    for &x in stops {
        let place = |node: usize, contact: Contact| match contact {
            Contact::None => None,
            Contact::Base => Some(-free_height[node]),
            Contact::Upper => Some(travel - x - free_height[node]),
        };
        for _ in 0..50 {
            // unknowns of a touching node: rise of its edge, rotations
            let mut about = whole.clone();
            for node in (1..count).filter(|node| contacts[*node] != Contact::None) {
                let [dx, dy] = chain.line[node];
                for (k, lever) in [(1, -dy), (2, dx)].into_iter().filter(|(_, lever)| *lever != 0.0) {
                    let column = about.column(3 * node).into_owned();
                    about.column_mut(3 * node + k).axpy(lever, &column, 1.0);
                    let row = about.row(3 * node).into_owned();
                    let mut other = about.row_mut(3 * node + k);
                    other += lever * row;
                }
            }
            let mut state = DVector::<f64>::zeros(size);
            state[3 * count] = -x;
            let mut free = Vec::new();
            for node in 1..count {
                match place(node, contacts[node]) {
                    Some(z) => state[3 * node] = z,
                    None => free.push(3 * node),
                }
                free.extend([3 * node + 1, 3 * node + 2]);
            }
            let right = -(&about * &state).select_rows(&free);
            let tangent = about.select_rows(&free).select_columns(&free);
            let Some(factor) = tangent.cholesky() else { break };
            let solution = factor.solve(&right);
            for (k, &unknown) in free.iter().enumerate() {
                state[unknown] = solution[k];
            }
            let reaction = &about * &state;
            let mut changed = false;
            let mut force = -reaction[3 * count];
            for node in 1..count {
                let [dx, dy] = chain.line[node];
                let z =
                    free_height[node] + state[3 * node] + state[3 * node + 1] * dy - state[3 * node + 2] * dx;
                let wanted = match contacts[node] {
                    Contact::None if z < -1e-9 => Contact::Base,
                    Contact::None if upper && z > travel - x + 1e-9 => Contact::Upper,
                    Contact::Base if reaction[3 * node] < -1e-7 => Contact::None,
                    Contact::Upper if reaction[3 * node] > 1e-7 => Contact::None,
                    contact => contact,
                };
                if contacts[node] == Contact::Upper {
                    force -= reaction[3 * node];
                }
                changed |= wanted != contacts[node];
                contacts[node] = wanted;
            }
            if !changed {
                forces.push(force);
                break;
            }
        }
        if forces.last().is_none() {
            break;
        }
    }
    forces
}

fn largest_difference(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max)
}

fn main() {
    let spring = Spring::from_file(&SpringFile::parse(SPRING, "spring.toml").unwrap(), None).unwrap();
    let arms = spring.arms as f64;

    let linear = model(&spring, 240, false);
    let at = stops(&linear, 64);
    let (own, curve) = least(20, || linear.response(&at).unwrap());
    let one_arm: Vec<f64> = curve.force.iter().map(|force| force / arms).collect();
    println!("small slopes, 64 deflections, 240 segments          {:9.3} ms", 1e3 * own);
    let upper = spring.seat.pressing == Pressing::Plates;
    let (general, forces) = least(1, || {
        let programme = QuadraticProgramme::new(&linear.chain, upper, None);
        at.iter().map(|&x| programme.force(x, 1e-8).unwrap_or(f64::NAN)).collect::<Vec<f64>>()
    });
    println!(
        "  quadratic programme at each of them               {:9.3} ms  {:7.1} times (forces within {:.0e})",
        1e3 * general,
        general / own,
        largest_difference(&forces, &one_arm)
    );
    let (full, forces) = least(1, || dense(&linear.chain, upper, &at));
    println!(
        "  dense active set at each of them                  {:9.3} ms  {:7.1} times ({} of 64 converged)",
        1e3 * full,
        full / own,
        forces.len()
    );

    println!("growth with the number of segments, 40 deflections");
    for in_plane in [false, true] {
        let mut before: Option<f64> = None;
        for segments in [120, 240, 480, 960, 1920] {
            let model = model(&spring, segments, in_plane);
            let at = stops(&model, 40);
            let (time, _) = least(if segments < 900 { 10 } else { 3 }, || model.response(&at).unwrap());
            println!(
                "  {} {segments:5} segments {:9.3} ms{}",
                if in_plane { "with the plane" } else { "small slopes  " },
                1e3 * time,
                before.map_or(String::new(), |b| format!("  {:5.2} times the last", time / b))
            );
            before = Some(time);
        }
    }

    println!("at 100 segments and 40 deflections");
    let mut small_slopes = 0.0;
    for in_plane in [false, true] {
        let model = model(&spring, 100, in_plane);
        let at = stops(&model, 40);
        let (own, curve) = least(20, || model.response(&at).unwrap());
        let arm = spring.arm(100).unwrap();
        let directions: Vec<Direction> = (0..12)
            .map(|k| {
                let mut moved = arm.clone();
                for (i, width) in moved.width.iter_mut().enumerate() {
                    *width += 1e-6 * (f64::from(k) * i as f64 / 100.0).cos();
                }
                Direction::between(&arm, &moved, 1e-6)
            })
            .collect();
        let (with, _) = least(20, || model.response_and_gradient(&at, &directions).unwrap());
        let (build, _) = least(20, || self::model(&spring, 100, in_plane));
        println!(
            "  {} {:9.3} ms; with the gradient over 12 parameters {:9.3} ms, {:.2} times; building the model {:.3} ms; {} not_converged",
            if in_plane { "with the plane" } else { "small slopes  " },
            1e3 * own,
            1e3 * with,
            with / own,
            1e3 * build,
            curve.not_converged
        );
        if in_plane {
            println!("  the plane costs {:.2} times the small slopes", own / small_slopes);
        }
        small_slopes = own;
    }
}
