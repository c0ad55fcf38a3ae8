//! Non-negative least squares.
//!
//! ```text
//! min over z ≥ 0  |A z − b|²
//! ```
//!
//! The active-set method of Lawson & Hanson, "Solving Least Squares Problems" (1974), chapter 23, on the normal equations of
//! columns scaled to unit length, with a ridge that keeps columns apart that are nearly one.

use nalgebra::{DMatrix, DVector};

/// Ridge on the normal equations of unit columns.
const RIDGE: f64 = 1e-10;
/// Slope of the sum below which a variable at zero stays there, over the length of `b`.
const FLAT: f64 = 1e-9;

/// The `z` for rows `matrix` and right side `right`.
pub fn non_negative_least_squares(matrix: &DMatrix<f64>, right: &DVector<f64>) -> DVector<f64> {
    let count = matrix.ncols();
    let length: Vec<f64> = (0..count).map(|j| matrix.column(j).norm().max(f64::MIN_POSITIVE)).collect();
    let mut scaled = matrix.clone();
    for (j, length) in length.iter().enumerate() {
        scaled.column_mut(j).unscale_mut(*length);
    }
    let (normal, moment) = (scaled.tr_mul(&scaled), scaled.tr_mul(right));
    let flat = FLAT * right.norm();
    let mut z = DVector::zeros(count);
    let mut free: Vec<usize> = Vec::new();
    // each step lowers the sum, so that no set of free variables repeats in exact arithmetic; the limit guards against
    // rounding
    for _ in 0..3 * count + 10 {
        let slope = &moment - &normal * &z;
        let entering = (0..count)
            .filter(|j| !free.contains(j) && slope[*j] > flat)
            .max_by(|&a, &b| slope[a].total_cmp(&slope[b]));
        let Some(entering) = entering else { break };
        free.push(entering);
        while !free.is_empty() {
            let Some(best) = solve(&normal, &moment, &free) else {
                free.retain(|&j| j != entering);
                break;
            };
            let blocking = free
                .iter()
                .zip(best.iter())
                .filter(|(_, best)| **best <= 0.0)
                .map(|(&j, best)| (j, z[j] / (z[j] - best)))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let share = blocking.map_or(1.0, |(_, share)| if share.is_finite() { share } else { 0.0 });
            for (&j, best) in free.iter().zip(best.iter()) {
                z[j] += share * (best - z[j]);
            }
            let Some((leaving, _)) = blocking else { break };
            z[leaving] = 0.0;
            free.retain(|&j| j != leaving);
        }
    }
    for (value, length) in z.iter_mut().zip(length) {
        *value = value.max(0.0) / length;
    }
    z
}

fn solve(normal: &DMatrix<f64>, moment: &DVector<f64>, free: &[usize]) -> Option<DVector<f64>> {
    let size = free.len();
    let part =
        DMatrix::from_fn(size, size, |i, j| normal[(free[i], free[j])] + if i == j { RIDGE } else { 0.0 });
    let right = DVector::from_fn(size, |i, _| moment[free[i]]);
    Some(part.cholesky()?.solve(&right))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_conditions_of_a_minimum_hold() {
        // Karush-Kuhn-Tucker: no variable at zero would lower the sum, no other one changes it
        let matrix = DMatrix::from_fn(12, 9, |i, j| ((3 * i + 5 * j) % 7) as f64 - 0.3 * (i * j % 5) as f64);
        let right = DVector::from_fn(12, |i, _| (i as f64 - 4.0).sin() * 5.0);
        let z = non_negative_least_squares(&matrix, &right);
        let slope = matrix.tr_mul(&(&right - &matrix * &z));
        assert!(z.iter().any(|z| *z > 0.0) && z.iter().any(|z| *z == 0.0), "{z}");
        for (z, slope) in z.iter().zip(slope.iter()) {
            assert!(*z >= 0.0);
            assert!(if *z > 0.0 { slope.abs() < 1e-5 } else { *slope < 1e-5 }, "{z} {slope}");
        }
    }
}
