//! Error to expect of the next part: the curve of the most likely part, and parts drawn from what is known of them.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::VariationError;
use super::belief::Belief;
use super::deviation::{DEVIATIONS, Deviation, VariedSpring};
use super::fit::{COMMON, OWN, by_ends};
use super::propagation::slopes;
use super::random::RandomStream;
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::numeric::{evenly_spread, straight_between};
use crate::response::CLOSED_SHARE;

/// Segments of the fast model.
const SEGMENTS: usize = 40;
/// Segments of the whole one.
const WHOLE_SEGMENTS: usize = 100;
/// Deflections at which force and slopes are computed.
const GRID: usize = 60;
/// Deflections at which the whole model is evaluated: its difference from the fast one changes slowly.
const WHOLE_GRID: usize = 12;
/// Most points of the target at which parts are compared.
const MOST_POINTS: usize = 40;
/// Parts drawn: the 95 % bound is known to a tenth.
const PARTS: u64 = 400;
/// Seed of the draws: every remedy meets the same parts.
const SEED: u64 = 31;

/// Error to expect of the next part (percent of the error base, rms).
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct NextPart {
    /// of the most likely part
    pub likely_percent: f64,
    /// half of all parts stay below
    pub rms_percent: f64,
    /// nineteen of twenty parts stay below
    pub within_percent: f64,
}

/// The next part of a drawing against a target.
#[derive(Debug, Clone)]
pub struct Expectation {
    /// deflections of the spring (mm), from zero as far as the target or the part goes
    grid: Vec<f64>,
    /// force of the most likely part there (N)
    force: Vec<f64>,
    /// its slopes over the deviations and the model's errors
    columns: [Vec<f64>; COMMON],
    /// square root of the covariance of parts
    root: DMatrix<f64>,
    /// points of the target, as the target counts them (mm), force asked for (N) and base of an error (N)
    points: Vec<[f64; 3]>,
    /// deflection where the target counts zero (mm)
    installed: f64,
}

impl Expectation {
    /// Of parts of `drawn` that depart by `mean` in the middle and scatter as `belief` says; `installed` is the deflection
    /// where the target counts zero, `reserve` the most that a shim may add to it (mm).
    pub fn of(
        drawn: &Spring,
        mean: &Deviation,
        belief: &Belief,
        target: &TargetCurve,
        [installed, reserve]: [f64; 2],
    ) -> Result<Self, VariationError> {
        let varied = VariedSpring::new(drawn, SEGMENTS)?;
        let fine = VariedSpring::new(drawn, WHOLE_SEGMENTS)?;
        let travel = varied.arm.free_height() + mean.free_height_mm;
        let end =
            (target.max_deflection() + installed + reserve).min(CLOSED_SHARE * travel).max(0.01 * travel);
        let places =
            |count: usize| -> Vec<f64> { (0..=count).map(|k| end * k as f64 / count as f64).collect() };
        let (grid, coarse) = (places(GRID), places(WHOLE_GRID));
        let (low, rows) = slopes(&varied, mean, &grid)?;
        let whole = fine.model(mean, &fine.whole())?.response(&coarse)?.force;
        let mut factor: Vec<f64> = coarse
            .iter()
            .zip(&whole)
            .map(|(x, whole)| {
                let low = straight_between(&grid, &low.force, *x);
                if low > 0.0 { whole / low } else { 1.0 }
            })
            .collect();
        factor[0] = factor[1];
        let mut columns: [Vec<f64>; COMMON] =
            std::array::from_fn(|k| rows.iter().map(|row| row.get(k).copied().unwrap_or(0.0)).collect());
        columns[DEVIATIONS - 1] = by_ends(&varied, mean, &grid)?;
        let mut force = Vec::new();
        for (i, x) in grid.iter().enumerate() {
            let factor = straight_between(&coarse, &factor, *x);
            let elastic = factor * low.force[i];
            let tilt = 2.0 * x / end - 1.0;
            force.push(elastic * (1.0 + belief.model[0] + tilt * belief.model[1]));
            for column in columns.iter_mut().take(DEVIATIONS) {
                column[i] *= factor;
            }
            columns[DEVIATIONS][i] = elastic;
            columns[DEVIATIONS + 1][i] = tilt * elastic;
        }
        let bases = target.error_bases();
        let points = evenly_spread(target.len(), MOST_POINTS)
            .into_iter()
            .map(|i| [target.deflection[i], target.force[i], bases[i]])
            .collect();
        Ok(Self { grid, force, columns, root: root_of(belief), points, installed })
    }

    /// With the target's zero moved by a shim (mm): more presses the spring in further.
    pub fn with_shim(&self, shim: f64) -> NextPart {
        let off = self.off(shim);
        let slopes = DMatrix::from_fn(self.points.len(), COMMON, |i, k| {
            let [x, _, base] = self.points[i];
            straight_between(&self.grid, &self.columns[k], self.place(x, shim)) / base
        }) * &self.root;
        let mut errors: Vec<f64> = (0..PARTS)
            .map(|part| {
                let mut stream = RandomStream::new(SEED, part);
                let draw = DVector::from_fn(COMMON, |_, _| stream.normal());
                rms_percent((&off + &slopes * draw).as_slice())
            })
            .collect();
        errors.sort_by(f64::total_cmp);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a share of the length
        let at = |share: f64| errors[((share * errors.len() as f64) as usize).min(errors.len() - 1)];
        NextPart {
            likely_percent: rms_percent(off.as_slice()),
            rms_percent: at(0.5),
            within_percent: at(0.95),
        }
    }

    /// Root mean square error of the most likely part with a shim (percent).
    pub fn likely_percent(&self, shim: f64) -> f64 {
        rms_percent(self.off(shim).as_slice())
    }

    /// Difference from the most likely part of another expectation for the same target, rms (percent).
    pub fn apart_percent(&self, other: &Self) -> f64 {
        rms_percent((self.off(0.0) - other.off(0.0)).as_slice())
    }

    fn place(&self, x: f64, shim: f64) -> f64 {
        (x + self.installed + shim).clamp(0.0, self.grid[self.grid.len() - 1])
    }

    /// Errors of the most likely part over their bases.
    fn off(&self, shim: f64) -> DVector<f64> {
        let off = |[x, wanted, base]: &[f64; 3]| {
            (straight_between(&self.grid, &self.force, self.place(*x, shim)) - wanted) / base
        };
        DVector::from_iterator(self.points.len(), self.points.iter().map(off))
    }
}

fn rms_percent(shares: &[f64]) -> f64 {
    100.0 * (shares.iter().map(|e| e * e).sum::<f64>() / shares.len().max(1) as f64).sqrt()
}

/// A matrix whose product with its transpose is the covariance of parts: common deviations and those of a single part.
fn root_of(belief: &Belief) -> DMatrix<f64> {
    let mut covariance = belief.covariance.clone();
    for k in OWN {
        covariance[(k, k)] += belief.own[k].powi(2);
    }
    // units differ by orders of magnitude: the root is taken of the correlations
    let scale: Vec<f64> = (0..COMMON).map(|k| covariance[(k, k)].max(0.0).sqrt()).collect();
    let correlation = DMatrix::from_fn(COMMON, COMMON, |a, b| {
        let size = scale[a] * scale[b];
        let one = if size > 0.0 { covariance[(a, b)] / size } else { 0.0 };
        if a == b { 1.0 + 1e-9 } else { one }
    });
    let root = correlation.cholesky().map_or_else(|| DMatrix::identity(COMMON, COMMON), |found| found.l());
    DMatrix::from_fn(COMMON, COMMON, |a, b| scale[a] * root[(a, b)])
}
