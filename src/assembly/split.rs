//! Splitting a wanted curve into those of two members.
//!
//! A disc that seats has a rate that never falls. In series compliances add, so that the compliance `c(F) = dx/dF` of the
//! whole, which never rises, is split into two that never rise. In an opposed pair rates add:
//!
//! ```text
//! dF/dx = k_a(y_a + x) + k_b(y_b − x) = P(x) + Q(x)      P never falls, Q never rises, both above zero
//! ```
//!
//! With the rises `R(x)` and the falls `D(x)` of the wanted rate counted from its start, `P = p + R` and
//! `Q = q + D(end) − D`, where `p + q = k(start) − D(end)`. **The rate may fall by less in all than what it starts with**,
//! because neither disc has a rate below zero: a rate that rises first and falls by more than it started with is not the
//! sum of two such, and the nearest one that is takes its place ([`nearest_opposed`]).

use nalgebra::{DMatrix, DVector};

use super::force_curve::ForceCurve;
use crate::numeric::{evenly_spread, non_negative_least_squares, straight_between};

/// Rate that is left to both discs together at least, over the mean rate wanted, and of the nearest curve: softer discs
/// become large and thin.
const LEAST_RATE: f64 = 0.01;
/// See [`LEAST_RATE`].
const LEAST_OF_NEAREST: f64 = 0.02;
/// Knots of the nearest curve.
const KNOTS: usize = 40;
/// Ratio of neighbouring compliances from which on they are a corner of the curve.
const CORNER: f64 = 1.4;
/// Least share of the compliance that the soft member still has where its target ends: beyond, it counts as closed.
const NEARLY_CLOSED: f64 = 1e-6;

/// Curve wanted of one member.
#[derive(Debug, Clone, PartialEq)]
pub struct MemberTarget {
    /// deflection (mm) of the member where its list begins
    pub installed: f64,
    /// deflection from there (mm), from 0, increasing
    pub deflection: Vec<f64>,
    /// force (N)
    pub force: Vec<f64>,
    /// whether it closes at its last point
    pub closes: bool,
}

impl MemberTarget {
    /// As a curve from the free height: straight up to its first point.
    pub fn curve(&self) -> Option<ForceCurve> {
        let x: Vec<f64> = self.deflection.iter().map(|x| x + self.installed).collect();
        ForceCurve::through(&x, &self.force)
    }

    /// Deflection from the free height at the last point (mm).
    pub fn reach(&self) -> f64 {
        self.installed + self.deflection.last().copied().unwrap_or(0.0)
    }

    /// Largest force (N).
    pub fn largest_force(&self) -> f64 {
        self.force.iter().copied().fold(0.0, f64::max)
    }

    /// The target of one of `count` equals.
    #[must_use]
    pub fn share(&self, count: usize, stacking: crate::spec::Stacking) -> Self {
        let times = count as f64;
        let mut share = self.clone();
        match stacking {
            crate::spec::Stacking::Series => {
                share.installed /= times;
                share.deflection.iter_mut().for_each(|x| *x /= times);
            }
            crate::spec::Stacking::Parallel => share.force.iter_mut().for_each(|f| *f /= times),
        }
        share
    }
}

/// Targets of two members in series: the soft one, which closes, and the stiff one. `x` (mm) and `f` (N) are the wanted
/// curve from the free height without its origin, the rate never falling. The stiff one has compliance `level` (mm/N) at
/// most; `None` where `level` leaves one of them nothing.
pub fn in_series(x: &[f64], f: &[f64], level: f64) -> Option<[MemberTarget; 2]> {
    let (mut soft, mut stiff) = ((vec![], vec![]), (vec![], vec![]));
    let (mut at, mut force) = ([0.0, 0.0], 0.0);
    let mut before = (0.0, 0.0);
    for (&x, &f) in x.iter().zip(f) {
        let (dx, df) = (x - before.0, f - before.1);
        if df <= 0.0 || dx <= 0.0 {
            continue;
        }
        let compliance = dx / df;
        let over = (compliance - level).max(0.0);
        if over > NEARLY_CLOSED * compliance {
            at[0] += over * df;
            soft.0.push(at[0]);
            soft.1.push(f);
        }
        at[1] += compliance.min(level) * df;
        stiff.0.push(at[1]);
        stiff.1.push(f);
        force = f;
        before = (x, f);
    }
    let closes = soft.1.last().is_some_and(|last| *last < force);
    if soft.0.is_empty() || stiff.0.is_empty() || !closes || level <= 0.0 {
        return None;
    }
    let target = |(deflection, force): (Vec<f64>, Vec<f64>), closes| {
        // a straight start is known from its end
        let mut all = (vec![0.0], vec![0.0]);
        all.0.extend(deflection);
        all.1.extend(force);
        MemberTarget { installed: 0.0, deflection: all.0, force: all.1, closes }
    };
    Some([target(soft, true), target(stiff, false)])
}

/// Levels of compliance (mm/N) at which to split a curve in series, the most promising first: below its sharpest corner,
/// else midway between its softest and its stiffest part.
pub fn series_levels(x: &[f64], f: &[f64]) -> Vec<f64> {
    let mut compliances: Vec<f64> = Vec::new();
    let mut before = (0.0, 0.0);
    for (&x, &f) in x.iter().zip(f) {
        if f > before.1 && x > before.0 {
            compliances.push((x - before.0) / (f - before.1));
            before = (x, f);
        }
    }
    let (Some(first), Some(last)) = (compliances.first().copied(), compliances.last().copied()) else {
        return Vec::new();
    };
    let corner = compliances
        .windows(2)
        .filter(|pair| pair[0] > CORNER * pair[1])
        .max_by(|a, b| (a[0] / a[1]).total_cmp(&(b[0] / b[1])));
    let mut levels: Vec<f64> = corner.map(|pair| pair[1]).into_iter().collect();
    for exponent in [0.5, 0.65, 0.35] {
        let level = first * (last / first).powf(exponent);
        if levels.iter().all(|other| (other / level).ln().abs() > 0.05) && level < 0.95 * first {
            levels.push(level);
        }
    }
    levels
}

/// Why a curve is no sum of two members of an opposed pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpposedLimit {
    /// rate wanted at the start (N/mm)
    pub start: f64,
    /// fall of the rate wanted in all (N/mm)
    pub falls: f64,
}

/// Targets of the members of an opposed pair. `x` (mm, increasing, may begin below zero) and `f` (N) are the wanted curve;
/// `share` (0 to 1) of the rate that neither rise nor fall needs goes to member a; b keeps in touch for `touch` (mm)
/// beyond the last point, a for as much before the first one.
pub fn opposed(x: &[f64], f: &[f64], share: f64, touch: f64) -> Result<[MemberTarget; 2], OpposedLimit> {
    let rate: Vec<f64> = (1..x.len()).map(|i| (f[i] - f[i - 1]) / (x[i] - x[i - 1])).collect();
    let (mut rises, mut falls) = (vec![0.0], vec![0.0]);
    for pair in rate.windows(2) {
        let last = rises.len() - 1;
        rises.push(rises[last] + (pair[1] - pair[0]).max(0.0));
        falls.push(falls[last] + (pair[0] - pair[1]).max(0.0));
    }
    let (start, all) = (rate[0], falls[falls.len() - 1]);
    let spare = start - all;
    let mean = (f[f.len() - 1] - f[0]) / (x[x.len() - 1] - x[0]);
    if spare < LEAST_RATE * mean {
        return Err(OpposedLimit { start, falls: all });
    }
    let p: Vec<f64> = rises.iter().map(|rise| share * spare + rise).collect();
    let q: Vec<f64> = falls.iter().map(|fall| (1.0 - share) * spare + all - fall).collect();
    let (count, last) = (x.len(), p.len() - 1);
    let step = |i: usize| x[i + 1] - x[i];
    let taken: f64 = (0..=last).map(|i| q[i] * step(i)).sum();
    // b touches beyond the last point, a before the first one
    let end = (q[last] * touch).max(p[0] * touch - f[0] - taken);
    let begin = f[0] + end + taken;
    let (mut of_a, mut of_b) = (vec![begin], vec![end + taken]);
    for i in 0..=last {
        of_a.push(of_a[i] + p[i] * step(i));
        of_b.push(of_b[i] - q[i] * step(i));
    }
    let a = MemberTarget {
        installed: begin / p[0],
        deflection: x.iter().map(|at| at - x[0]).collect(),
        force: of_a,
        closes: false,
    };
    let b = MemberTarget {
        installed: end / q[last],
        deflection: (0..count).rev().map(|i| x[count - 1] - x[i]).collect(),
        force: of_b.into_iter().rev().collect(),
        closes: false,
    };
    Ok([a, b])
}

/// The curve nearest to a wanted one that an opposed pair can have, in the mean square of the force error over `base` (N),
/// at most forty of the wanted points; the wanted curve itself where it is one.
pub fn nearest_opposed(x: &[f64], f: &[f64], base: &[f64]) -> (Vec<f64>, Vec<f64>) {
    if opposed(x, f, 0.5, 0.0).is_ok() && f.is_sorted() {
        return (x.to_vec(), f.to_vec());
    }
    let kept = evenly_spread(x.len(), KNOTS);
    let knots: Vec<f64> = kept.iter().map(|&i| x[i]).collect();
    let count = x.len();
    let (from, inner) = (x[0], &knots[1..knots.len() - 1]);
    let mean = ((f[count - 1] - f[0]) / (x[count - 1] - x[0])).max(0.0);
    let least = LEAST_OF_NEAREST * mean;
    // rate from the start on, hinges that rise from a knot on, slopes that end at a knot
    let columns = 1 + 2 * inner.len();
    let value = |j: usize, at: f64| match j.checked_sub(1) {
        None => at - from,
        Some(k) if k < inner.len() => (at - inner[k]).max(0.0),
        Some(k) => at.min(inner[k - inner.len()]) - from,
    };
    let matrix = DMatrix::from_fn(count, columns, |i, j| value(j, x[i]) / base[i]);
    let right = DVector::from_fn(count, |i, _| (f[i] - f[0] - least * (x[i] - from)) / base[i]);
    let z = non_negative_least_squares(&matrix, &right);
    let force = knots
        .iter()
        .map(|&at| f[0] + least * (at - from) + (0..columns).map(|j| z[j] * value(j, at)).sum::<f64>())
        .collect();
    (knots, force)
}

/// Largest difference between a wanted curve and another one, straight between its points, in units of `base`.
pub fn largest_difference(x: &[f64], f: &[f64], base: &[f64], other: (&[f64], &[f64])) -> f64 {
    (0..x.len())
        .map(|i| (straight_between(other.0, other.1, x[i]) - f[i]).abs() / base[i])
        .fold(0.0, f64::max)
}

#[cfg(test)]
#[path = "split_tests.rs"]
mod tests;
