//! Analytic sensitivities against central differences.

use flatspire::layout::{ArmPath, Spring};
use flatspire::model::sensitivity::Direction;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::SpringFile;

const TEXT: &str = r#"
[sheet]
thickness = 1.0
youngs_modulus = 206000
shear_modulus = 79230
[disc]
outer_diameter = 105
arm_outer_diameter = 80
arm_inner_diameter = 28
arms = ARMS
slot = 1.2
[arm]
radius = [14, 22, 31, 40]
width = [3.0, 4.4, 6.1, 8.0]
[former]
free_height = 12.0
[seat]
pressing = "PRESSING"
hub = "HUB"
rim = "RIM"
"#;

fn spring(arms: usize, pressing: &str, hub: &str, rim: &str) -> Spring {
    let text = TEXT
        .replace("ARMS", &arms.to_string())
        .replace("PRESSING", pressing)
        .replace("HUB", hub)
        .replace("RIM", rim);
    Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap()
}

/// A smooth change of the arm along one of its columns.
fn bump(arm: &ArmPath, column: usize, share: f64) -> Vec<f64> {
    let nodes = arm.angle.len();
    (0..nodes)
        .map(|i| {
            let s = i as f64 / (nodes - 1) as f64;
            let shape = (-(s - share).powi(2) / 0.02).exp();
            match column {
                0 => 0.1 * shape,
                3 => 0.2 * shape * (s * (1.0 - s) * 4.0),
                _ => shape,
            }
        })
        .collect()
}

fn moved(arm: &ArmPath, column: usize, bump: &[f64], by: f64) -> ArmPath {
    let mut arm = arm.clone();
    let target = match column {
        0 => &mut arm.angle,
        1 => &mut arm.radius,
        2 => &mut arm.width,
        _ => &mut arm.height,
    };
    for (value, bump) in target.iter_mut().zip(bump) {
        *value += by * bump;
    }
    arm
}

fn check(spring: &Spring, in_plane: bool) {
    let settings = ModelSettings { segments: 160, in_plane, ..ModelSettings::default() };
    let arm = spring.arm(settings.segments).unwrap();
    let travel = arm.free_height();
    let deflections: Vec<f64> = [0.1, 0.33, 0.52, 0.71, 0.86].map(|share| share * travel).to_vec();
    let mut directions = Vec::new();
    let mut bumps = Vec::new();
    for column in 0..4 {
        for share in [0.0, 0.3, 0.8, 1.0] {
            let bump = bump(&arm, column, share);
            let step = 1e-6;
            directions.push(Direction::between(
                &moved(&arm, column, &bump, -step),
                &moved(&arm, column, &bump, step),
                2.0 * step,
            ));
            bumps.push((column, bump));
        }
    }
    directions.push(Direction { thickness: 1.0, ..Direction::default() });
    directions.push(Direction { youngs_modulus: 1.0, ..Direction::default() });
    directions.push(Direction { shear_modulus: 1.0, ..Direction::default() });
    let model = Model::of_arm(spring, &arm, &settings);
    let (response, force_rows) = model.response_and_gradient(&deflections, &directions).unwrap();
    // the same from states that were kept
    let pressed = model.pressed(&deflections).unwrap();
    assert_eq!(pressed.forces(), response.force);
    assert_eq!(model.gradient(&pressed, &directions), force_rows);
    let responses = |spring: &Spring, arm: &ArmPath| {
        Model::of_arm(spring, arm, &settings).response(&deflections).unwrap()
    };
    let sheets: [fn(&mut Spring) -> &mut f64; 3] = [
        |spring| &mut spring.sheet.thickness,
        |spring| &mut spring.sheet.youngs_modulus,
        |spring| &mut spring.sheet.shear_modulus,
    ];
    let mut off = Vec::new();
    for k in 0..directions.len() {
        let (low, high, run) = if let Some((column, bump)) = bumps.get(k) {
            let step = 1e-5;
            let at = |by: f64| responses(spring, &moved(&arm, *column, bump, by));
            (at(-step), at(step), 2.0 * step)
        } else {
            let of = sheets[k - bumps.len()];
            let at = |factor: f64| {
                let mut other = spring.clone();
                *of(&mut other) *= factor;
                responses(&other, &arm)
            };
            (at(1.0 - 1e-5), at(1.0 + 1e-5), 2e-5 * *of(&mut spring.clone()))
        };
        for i in 0..deflections.len() {
            // a unit of a modulus does little, one of a length much: judge by what a step does
            let difference = high.force[i] - low.force[i];
            let expected = force_rows[i][k] * run;
            let least = 0.02 * response.force[i] * 2e-5;
            // events between the two differences make single entries part; the bulk has to agree
            let error = (expected - difference).abs() / difference.abs().max(least);
            off.push(error);
            if error > 1e-3 {
                println!(
                    "parameter {k} at deflection {i}: {:e}, by differences {:e}",
                    expected / run,
                    difference / run
                );
            }
        }
    }
    off.sort_by(f64::total_cmp);
    let (middle, high) = (off[off.len() / 2], off[off.len() * 95 / 100]);
    println!("{} arms, plane {in_plane}: median {middle:.1e}, 95 % below {high:.1e}", spring.arms);
    assert!(middle < 2e-4 && high < 1e-2, "median {middle:.1e}, 95 % {high:.1e}");
}

#[test]
fn gradients_agree_with_central_differences() {
    for in_plane in [false, true] {
        check(&spring(2, "hub", "guided", "held"), in_plane);
        check(&spring(3, "plates", "guided", "resting"), in_plane);
        check(&spring(1, "hub", "tilting", "resting"), in_plane);
    }
}
