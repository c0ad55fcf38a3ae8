//! Zero of the deflection of a measurement: a tester counts from its own zero, or from a preload.

use super::VariationError;
use super::deviation::{Deviation, VariedSpring};
use super::readings::{LEAST_READINGS, Readings};
use crate::numeric::straight_between;

/// Pieces of the drawn curve.
const PIECES: usize = 120;
/// Share of the travel up to which readings are compared.
const LAST_SHARE: f64 = 0.95;
/// Steps of the search over the travel, coarse and fine.
const STEPS: [f64; 2] = [0.01, 0.001];
/// Expected difference from the drawn shape, and standard deviations of a force offset, over the largest force, and of the
/// factor on the drawn force. Judgement: wide, because the fit that follows decides.
const SHAPE: f64 = 0.01;
const OFFSET: f64 = 0.02;
const FACTOR: f64 = 0.15;
/// Factor by which another zero has to fit better than the one given.
const BETTER: f64 = 4.0;

/// Zero of the deflection of a measurement (mm), where it lies farther from the given one than `least` and fits the drawn shape
/// clearly better; none elsewhere.
pub(super) fn other_zero(
    curve: &Readings,
    varied: &VariedSpring,
    least: f64,
) -> Result<Option<f64>, VariationError> {
    let travel = varied.arm.free_height();
    let grid: Vec<f64> = (0..=PIECES).map(|k| LAST_SHARE * travel * k as f64 / PIECES as f64).collect();
    let drawn = varied.model(&Deviation::default(), &varied.fast())?.response(&grid)?.force;
    let (x, f) = (&curve.deflection, &curve.force);
    let (Some(&first), Some(&last)) = (x.first(), x.last()) else { return Ok(None) };
    let cost = |zero: f64| cost(x, f, zero, &grid, &drawn);
    let [coarse, fine] = STEPS.map(|step| step * travel);
    let best_of = |from: f64, to: f64, step: f64| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        // not below zero, cut off at a bound
        let count = ((to - from) / step).max(0.0).ceil() as usize;
        let places = (0..=count.min(100_000)).map(|k| from + step * k as f64);
        places.min_by(|a, b| cost(*a).total_cmp(&cost(*b))).unwrap_or(0.0)
    };
    let near = best_of((last - LAST_SHARE * travel).min(first), last - 0.1 * travel, coarse);
    let zero = best_of(near - coarse, near + coarse, fine);
    let found = cost(zero);
    Ok((zero.abs() > least && found.is_finite() && cost(0.0) > BETTER * found + 1.0).then_some(zero))
}

/// Mean square difference from the drawn curve moved to `zero`, its factor and a force offset free within their expectation;
/// infinite where too few readings are left.
fn cost(x: &[f64], f: &[f64], zero: f64, grid: &[f64], drawn: &[f64]) -> f64 {
    let end = grid[grid.len() - 1];
    let largest = f.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let pairs: Vec<(f64, f64)> = x
        .iter()
        .zip(f)
        .filter(|(x, _)| **x - zero <= end)
        .map(|(x, f)| {
            let at = x - zero;
            (if at > 0.0 { straight_between(grid, drawn, at) / largest } else { 0.0 }, f / largest)
        })
        .collect();
    if pairs.len() < LEAST_READINGS.max(x.len() / 2) {
        return f64::INFINITY;
    }
    // least squares for f = c F + o, with c about 1 and o about 0
    let weight = pairs.len() as f64 / (SHAPE * SHAPE);
    let mean = |value: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(value).sum::<f64>() / pairs.len() as f64;
    let (aa, a) = (mean(&|p| p.0 * p.0), mean(&|p| p.0));
    let (ab, b) = (mean(&|p| p.0 * p.1), mean(&|p| p.1));
    let (for_factor, for_offset) = (1.0 / (FACTOR * FACTOR * weight), 1.0 / (OFFSET * OFFSET * weight));
    let (m11, m22) = (aa + for_factor, 1.0 + for_offset);
    let (r1, r2) = (ab + for_factor, b);
    let determinant = m11 * m22 - a * a;
    let (factor, offset) = ((r1 * m22 - a * r2) / determinant, (m11 * r2 - a * r1) / determinant);
    let left = mean(&|p| (factor * p.0 + offset - p.1).powi(2));
    left / (SHAPE * SHAPE) + ((factor - 1.0) / FACTOR).powi(2) + (offset / OFFSET).powi(2)
}
