//! Convex regression through the origin: the convex, never falling curve closest to given points.
//!
//! ```text
//! min over f  Σ w_i (f(x_i) − y_i)²      f convex, f(x_0) = 0, f′ ≥ 0
//! ```
//!
//! Such an f that is straight between knots k_0 = x_0 < k_1 < … is a sum of hinges,
//! f(x) = Σ_j b_j max(x − k_j, 0), and the conditions become b_j ≥ 0: non-negative least squares. It is solved by
//! the active-set method of Lawson & Hanson, "Solving Least Squares Problems" (1974), chapter 23, which ends after
//! finitely many steps, because each set of kinks is visited once at most: the sum falls from one to the next.
//! The unconstrained problem for a set of kinks is a linear spline, tridiagonal in the heights of the kinks, so
//! that a step costs only as much as there are knots, and is far better conditioned than the hinges themselves.
//!
//! The knots are the points themselves, which loses nothing: between two points a straight line is as good as any
//! convex curve. Where there are more points than `most_knots`, only that many of them may be kinks; all points
//! still count in the sum.

use crate::numeric::evenly_spread;

/// How small a gain in the sum counts as none, over the sum for f = 0: rounding in double precision.
const ROUNDING: f64 = 1e-14;
/// Likewise for the slope of the sum with the height of a hinge, over that of the first one.
const FLAT: f64 = 1e-11;
/// Least distance of two knots over the whole range: closer ones would spoil the linear systems.
const CLOSEST: f64 = 1e-9;

/// The closest curve: kinks, and the rise of the slope at each.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ConvexFit {
    /// where the slope changes, increasing; the first may be the origin
    pub kinks: Vec<f64>,
    /// by how much it rises there, positive
    pub rises: Vec<f64>,
}

impl ConvexFit {
    /// Values at increasing arguments.
    pub fn values(&self, x: &[f64]) -> Vec<f64> {
        let (mut next, mut slope, mut value) = (0, 0.0, 0.0);
        let mut from = self.kinks.first().copied().unwrap_or(0.0);
        x.iter()
            .map(|&x| {
                while next < self.kinks.len() && self.kinks[next] <= x {
                    value += slope * (self.kinks[next] - from);
                    from = self.kinks[next];
                    slope += self.rises[next];
                    next += 1;
                }
                value + slope * (x - from).max(0.0)
            })
            .collect()
    }
}

/// Fits points at increasing `x` ≥ `origin` with the weights given; at least one point has to lie beyond the origin.
pub(super) fn fit(origin: f64, x: &[f64], y: &[f64], weight: &[f64], most_knots: usize) -> ConvexFit {
    let range = x.last().map_or(0.0, |last| last - origin);
    let height = y.iter().copied().fold(0.0, f64::max);
    if !(range > 0.0 && height > 0.0) {
        return ConvexFit { kinks: Vec::new(), rises: Vec::new() };
    }
    // scaled to the unit square
    let u: Vec<f64> = x.iter().map(|x| (x - origin) / range).collect();
    let v: Vec<f64> = y.iter().map(|y| y / height).collect();
    let problem = Problem::new(&u, &v, weight, most_knots);
    let (kinks, rises) = problem.solve();
    ConvexFit {
        kinks: kinks.iter().map(|&j| origin + range * problem.knots[j]).collect(),
        rises: rises.iter().map(|b| b * height / range).collect(),
    }
}

/// Sums over the points of one interval between knots: w, wt, wt², wv, wvt, wv², t from its left knot.
#[derive(Debug, Clone, Copy, Default)]
struct Moments {
    w: f64,
    wt: f64,
    wtt: f64,
    wv: f64,
    wvt: f64,
    wvv: f64,
}

struct Problem {
    /// the first is 0, the origin, the last is 1; a hinge may stand at each but the last
    knots: Vec<f64>,
    moments: Vec<Moments>,
    /// length of each hinge in the norm of the sum
    length: Vec<f64>,
    /// the sum for f = 0
    total: f64,
}

impl Problem {
    fn new(u: &[f64], v: &[f64], weight: &[f64], most_knots: usize) -> Self {
        let mut knots = vec![0.0];
        for index in evenly_spread(u.len(), most_knots) {
            // a point at the origin, or as good as at the knot before, is no knot of its own
            if knots.last().is_some_and(|last| u[index] - last > CLOSEST) {
                knots.push(u[index]);
            }
        }
        match knots.as_mut_slice() {
            [_, .., last] => *last = 1.0,
            _ => knots.push(1.0),
        }
        let mut moments = vec![Moments::default(); knots.len() - 1];
        let mut total = 0.0;
        let mut j = 0;
        for ((&u, &v), &w) in u.iter().zip(v).zip(weight) {
            total += w * v * v;
            if u <= 0.0 {
                continue; // f is zero there whatever the kinks are
            }
            while j + 1 < moments.len() && u > knots[j + 1] {
                j += 1;
            }
            let t = u - knots[j];
            let sums = &mut moments[j];
            sums.w += w;
            sums.wt += w * t;
            sums.wtt += w * t * t;
            sums.wv += w * v;
            sums.wvt += w * v * t;
            sums.wvv += w * v * v;
        }
        let mut length = vec![0.0; moments.len()];
        let (mut s0, mut s1, mut s2) = (0.0, 0.0, 0.0); // Σ w, Σ w (u − k_j), Σ w (u − k_j)² over u > k_j
        for j in (0..moments.len()).rev() {
            let step = knots[j + 1] - knots[j];
            s2 += 2.0 * step * s1 + step * step * s0 + moments[j].wtt;
            s1 += step * s0 + moments[j].wt;
            s0 += moments[j].w;
            length[j] = s2.sqrt();
        }
        Self { knots, moments, length, total }
    }

    /// Kinks (indices of knots) and rises.
    fn solve(&self) -> (Vec<usize>, Vec<f64>) {
        let count = self.moments.len();
        let flat = FLAT * self.total.sqrt();
        let (mut kinks, mut rises): (Vec<usize>, Vec<f64>) = (Vec::new(), Vec::new());
        let mut sum = self.sum(&kinks, &rises);
        // hinges that gained nothing through rounding, until something else does
        let mut barred = vec![false; count];
        loop {
            let slope = self.falls(&kinks, &rises);
            let steepest = (0..count)
                .filter(|j| !barred[*j] && kinks.binary_search(j).is_err())
                .max_by(|&a, &b| slope[a].total_cmp(&slope[b]));
            let Some(entering) = steepest.filter(|&j| slope[j] > flat) else { break };
            let (before_kinks, before_rises) = (kinks.clone(), rises.clone());
            let place = kinks.partition_point(|&j| j < entering);
            kinks.insert(place, entering);
            rises.insert(place, 0.0);
            self.descend(&mut kinks, &mut rises);
            let reached = self.sum(&kinks, &rises);
            if reached < sum - ROUNDING * self.total {
                sum = reached;
                barred.fill(false);
            } else {
                (kinks, rises) = (before_kinks, before_rises);
                barred[entering] = true;
            }
        }
        (kinks, rises)
    }

    /// Goes to the best rises for these kinks, dropping each kink whose rise would turn negative on the way.
    fn descend(&self, kinks: &mut Vec<usize>, rises: &mut Vec<f64>) {
        while !kinks.is_empty() {
            let best = self.best_rises(kinks);
            let mut share = 1.0_f64;
            let mut leaving = None;
            for (place, (&now, &then)) in rises.iter().zip(&best).enumerate() {
                if then <= 0.0 {
                    let limit = if now > 0.0 { now / (now - then) } else { 0.0 };
                    if limit < share || leaving.is_none() {
                        (share, leaving) = (limit.min(share), Some(place));
                    }
                }
            }
            let Some(leaving) = leaving else {
                *rises = best;
                return;
            };
            for (now, then) in rises.iter_mut().zip(&best) {
                *now = (*now + share * (then - *now)).max(0.0);
            }
            kinks.remove(leaving);
            rises.remove(leaving);
        }
    }

    /// Rises of the spline with these kinks that minimises the sum, whatever their sign.
    fn best_rises(&self, kinks: &[usize]) -> Vec<f64> {
        // unknown: the heights at all kinks but the first, where the spline leaves zero, and at the end
        let count = kinks.len();
        let mut diagonal = vec![0.0; count];
        let mut beside = vec![0.0; count];
        let mut right = vec![0.0; count];
        for piece in 0..count {
            let first = kinks[piece];
            let end = kinks.get(piece + 1).copied().unwrap_or(self.moments.len());
            let (a, b) = (self.knots[first], self.knots[end]);
            for j in first..end {
                // t from knot j; share of the right end s = (d + t)/(b − a), of the left one (e − t)/(b − a)
                let (m, d, e) = (&self.moments[j], self.knots[j] - a, b - self.knots[j]);
                diagonal[piece] += (d * d * m.w + 2.0 * d * m.wt + m.wtt) / (b - a).powi(2);
                right[piece] += (d * m.wv + m.wvt) / (b - a);
                if piece > 0 {
                    diagonal[piece - 1] += (e * e * m.w - 2.0 * e * m.wt + m.wtt) / (b - a).powi(2);
                    beside[piece] += (d * e * m.w + (e - d) * m.wt - m.wtt) / (b - a).powi(2);
                    right[piece - 1] += (e * m.wv - m.wvt) / (b - a);
                }
            }
        }
        let heights = solve_tridiagonal(diagonal, &beside, right);
        let mut rises = Vec::with_capacity(count);
        let (mut height, mut slope) = (0.0, 0.0);
        for piece in 0..count {
            let end = kinks.get(piece + 1).copied().unwrap_or(self.moments.len());
            let steeper = (heights[piece] - height) / (self.knots[end] - self.knots[kinks[piece]]);
            rises.push(steeper - slope);
            (height, slope) = (heights[piece], steeper);
        }
        rises
    }

    /// Height at the left knot and slope of f in every interval.
    fn lines(&self, kinks: &[usize], rises: &[f64]) -> Vec<(f64, f64)> {
        let (mut height, mut slope, mut next) = (0.0, 0.0, 0);
        (0..self.moments.len())
            .map(|j| {
                if kinks.get(next) == Some(&j) {
                    slope += rises[next];
                    next += 1;
                }
                let line = (height, slope);
                height += slope * (self.knots[j + 1] - self.knots[j]);
                line
            })
            .collect()
    }

    fn sum(&self, kinks: &[usize], rises: &[f64]) -> f64 {
        let lines = self.lines(kinks, rises);
        self.moments
            .iter()
            .zip(lines)
            .map(|(m, (f, g))| {
                m.wvv + f * f * m.w + g * g * m.wtt + 2.0 * (f * g * m.wt - f * m.wv - g * m.wvt)
            })
            .sum()
    }

    /// How fast the sum falls (half of it) as a hinge grows, for each hinge at unit length.
    fn falls(&self, kinks: &[usize], rises: &[f64]) -> Vec<f64> {
        let lines = self.lines(kinks, rises);
        let mut slope = vec![0.0; lines.len()];
        let (mut r0, mut r1) = (0.0, 0.0); // Σ w r, Σ w r (u − k_j) over u > k_j, r = v − f
        for j in (0..lines.len()).rev() {
            let (m, (f, g)) = (&self.moments[j], lines[j]);
            r1 += r0 * (self.knots[j + 1] - self.knots[j]) + m.wvt - f * m.wt - g * m.wtt;
            r0 += m.wv - f * m.w - g * m.wt;
            slope[j] = if self.length[j] > 0.0 { r1 / self.length[j] } else { 0.0 };
        }
        slope
    }
}

/// Solves a symmetric positive definite tridiagonal system by LDLᵀ; `beside[i]` couples i − 1 and i.
fn solve_tridiagonal(mut diagonal: Vec<f64>, beside: &[f64], mut right: Vec<f64>) -> Vec<f64> {
    for i in 1..diagonal.len() {
        let factor = beside[i] / diagonal[i - 1];
        diagonal[i] -= factor * beside[i];
        right[i] -= factor * right[i - 1];
    }
    for i in (0..diagonal.len()).rev() {
        let coupled = right.get(i + 1).map_or(0.0, |next| beside[i + 1] * next);
        right[i] = (right[i] - coupled) / diagonal[i];
    }
    right
}

#[cfg(test)]
#[path = "convex_tests.rs"]
mod tests;
