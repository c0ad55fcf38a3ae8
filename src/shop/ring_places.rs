//! Angles of the numbered rings round the plan.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Radius of the ring round a characteristic's number (mm).
pub(super) const RING: f64 = 3.2;
/// Steps in which another angle is tried (rad).
const STEP: f64 = PI / 360.0;
/// Clearance between a ring and another line (mm).
const CLEAR: f64 = 1.2;

/// Angles (rad) at which rings stand on a circle of radius `distance` (mm on the page): each as near to the one wanted as the
/// rings before it, the centre lines, and the extension lines of the dimension below a disc of radius `disc` leave free.
pub(super) fn ring_angles(wanted: &[f64], distance: f64, disc: f64) -> Vec<f64> {
    let mut taken: Vec<f64> = Vec::with_capacity(wanted.len());
    for &angle in wanted {
        let steps = std::iter::successors(Some(0.0), |k| Some(k + 1.0)).take(360);
        let candidates = steps.flat_map(|k| [angle + k * STEP, angle - k * STEP]);
        let free = candidates.into_iter().find(|one| is_free(*one, &taken, distance, disc));
        taken.push(free.unwrap_or(angle));
    }
    taken
}

fn is_free(angle: f64, taken: &[f64], distance: f64, disc: f64) -> bool {
    let apart = |other: f64| {
        let turn = (angle - other).rem_euclid(TAU);
        distance * turn.min(TAU - turn)
    };
    let (x, y) = (distance * angle.cos(), distance * angle.sin());
    taken.iter().all(|other| apart(*other) >= 2.6 * RING)
        && [0.0, FRAC_PI_2, PI, -FRAC_PI_2].iter().all(|axis| apart(*axis) >= RING + CLEAR)
        && (y > RING || (x.abs() - disc).abs() >= RING + CLEAR)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_keep_clear_of_each_other_and_of_the_lines() {
        let wanted = [-1.5, -0.02, 0.0, 0.01, 1.5, 3.1];
        let angles = ring_angles(&wanted, 60.0, 49.0);
        for (k, a) in angles.iter().enumerate() {
            let [x, y] = [60.0 * a.cos(), 60.0 * a.sin()];
            for b in &angles[..k] {
                let apart = (x - 60.0 * b.cos()).hypot(y - 60.0 * b.sin());
                assert!(apart > 2.5 * RING, "{a} {b}: {apart}");
            }
            assert!(x.abs() > RING && y.abs() > RING, "on a centre line: {x} {y}");
            assert!(y > 0.0 || (x.abs() - 49.0).abs() > RING, "on an extension line: {x} {y}");
            assert!((a - wanted[k]).abs() < 0.6, "{a} far from {}", wanted[k]);
        }
    }
}
