//! The former of a cold way against elastic-plastic finite elements: one arm formed and let go with CalculiX
//! (`tests/data/setting/forming`).

use std::f64::consts::PI;

use flatspire::model::section::face_shear_per_twist;
use flatspire::model::stress::flat_shear;
use flatspire::setting::{Flow, Forming, plastic_limit, surface_measure, twist_across};

/// Angle (°), height on the former and height left (mm) along the arm.
const LEFT: &str = include_str!("../data/setting/forming/left.csv");

/// Arm of the finite elements: radius, width, thickness (mm), moduli and proof strength (MPa), whole angle and fade of the
/// rise at either end (rad), surface measure in the middle.
const RADIUS: f64 = 30.0;
const WIDTH: f64 = 6.0;
const THICKNESS: f64 = 1.5;
const YOUNG: f64 = 185_000.0;
const POISSON: f64 = 0.321_43;
const PROOF: f64 = 300.0;
const ANGLE: f64 = 4.0 * PI;
const FADE: f64 = 150.0 * PI / 180.0;
const MEASURE: f64 = 2.0;

#[test]
fn height_left_agrees_with_plastic_finite_elements_within_five_percent() {
    let rows: Vec<Vec<f64>> = LEFT
        .lines()
        .skip_while(|line| !line.starts_with("angle"))
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let end = rows.last().unwrap();
    let shear_modulus = 0.5 * YOUNG / (1.0 + POISSON);
    let steepest = MEASURE * PROOF * RADIUS * RADIUS
        / (3f64.sqrt() * shear_modulus * face_shear_per_twist(WIDTH, THICKNESS));
    let (across, mean) = twist_across(WIDTH, RADIUS);
    let flow = Flow::Linear { tangent: 0.0 };
    let cold = Forming { relaxed: 0.0, flow, limit: plastic_limit(WIDTH, THICKNESS), across };
    let (pieces, mut former, mut left) = (4000, 0.0, 0.0);
    let step = ANGLE / f64::from(pieces);
    for k in 0..pieces {
        let angle = (f64::from(k) + 0.5) * step;
        let share = (angle / FADE).min((ANGLE - angle) / FADE).min(1.0);
        let rise = share * steepest;
        let change = if share < 1.0 { steepest / FADE } else { 0.0 };
        let shear = flat_shear(shear_modulus, WIDTH, THICKNESS, rise, RADIUS);
        let bending = 0.5 * YOUNG * THICKNESS * change / (RADIUS * RADIUS);
        let measure = surface_measure(shear * mean, bending, PROOF);
        former += rise * step;
        left += rise * step * cold.left(measure) / measure;
    }
    println!("former {former:.3} mm, left {left:.3} mm; finite elements {:.3} and {:.3} mm", end[1], end[2]);
    assert!((former / end[1] - 1.0).abs() < 1e-3, "{former} {}", end[1]);
    assert!((left / end[2] - 1.0).abs() < 0.05, "{left} {}", end[2]);
}
