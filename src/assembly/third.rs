//! Splitting a wanted curve into those of an opposed pair and of a third disc in series with it.
//!
//! An opposed pair can lose no more rate in all than it starts with ([`super::split`]). A third disc in series adds its
//! compliance at equal force, `c(F) = c_pair(F) + c_c(F)`, where `c_c` is above zero and never rises: with a soft third disc
//! the pair starts stiffer than the whole, and has more rate to lose. While the wanted compliance falls to new least
//! values the third disc can take all of it but a constant; where it is above its least value so far the pair takes the
//! rest:
//!
//! ```text
//! c_c(F) = max(0, min over F' ≤ F of c(F') − δ)       c_pair = c − c_c ≥ δ
//! ```
//!
//! From there both are adjusted in turn to the least mean square of the force error of the whole: the pair's rates at the
//! deflections that the third disc leaves, then the third disc's compliances at the forces of the pair (non-negative least
//! squares both). Starting values of δ lead to different splits.

use nalgebra::{DMatrix, DVector};

use super::force_curve::ForceCurve;
use super::split::{MemberTarget, nearest_opposed};
use crate::numeric::{evenly_spread, non_negative_least_squares, straight_between};
use crate::spec::Stacking;

/// Compliances left to the pair at the start, over the least wanted one.
const LEFT_TO_PAIR: [f64; 8] = [0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1.0, 1.5];
/// Most points of the wanted curve that are used.
const POINTS: usize = 60;
/// Most rounds of adjusting pair and third disc in turn.
const ROUNDS: usize = 5;
/// Share of the error that a round has to take off for another one.
const WORTH_ANOTHER: f64 = 0.02;
/// Forces at which the compliance of the third disc may change.
const KNOTS: usize = 30;
/// Compliance of the third disc over that of the whole below which it counts as closed from there on.
const NEARLY_CLOSED: f64 = 0.02;
/// Range of the pair's curve beyond its last point, straight on, over the range.
const BEYOND: f64 = 0.2;
/// Share of the travel that third disc and pair have at least.
const LEAST_TRAVEL: f64 = 0.02;

/// A split into a third disc and a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct ThirdSplit {
    /// curve of the third disc, from free
    pub third: MemberTarget,
    /// deflection (mm) of the pair's hub, from 0, increasing
    pub deflection: Vec<f64>,
    /// force (N) of the pair there
    pub force: Vec<f64>,
    /// error of the two in series against the wanted curve (percent of the error base, rms)
    pub rms_percent: f64,
}

/// The wanted curve from (0, 0) on, thinned.
struct Wanted {
    x: Vec<f64>,
    f: Vec<f64>,
    base: Vec<f64>,
}

impl Wanted {
    fn of(x: &[f64], f: &[f64], base: &[f64]) -> Option<Self> {
        let (mut own, last) = (Self { x: vec![0.0], f: vec![0.0], base: vec![*base.first()?] }, x.len() - 1);
        for i in evenly_spread(x.len(), POINTS) {
            let before = own.x.len() - 1;
            if x[i] > own.x[before] && f[i] > own.f[before] {
                own.x.push(x[i]);
                own.f.push(f[i]);
                own.base.push(base[i]);
            }
        }
        // points that rise nowhere are no curve of springs
        (own.x.len() > 3 && own.x[own.x.len() - 1] > 0.5 * x[last]).then_some(own)
    }

    fn len(&self) -> usize {
        self.x.len()
    }

    /// Compliance (mm/N) of each piece.
    fn compliance(&self) -> Vec<f64> {
        (1..self.len()).map(|i| (self.x[i] - self.x[i - 1]) / (self.f[i] - self.f[i - 1])).collect()
    }

    /// Rate (N/mm) of the list `f` over `x` at each of its points, the mean of its neighbours.
    fn rates(&self, x: &[f64]) -> Vec<f64> {
        let last = self.len() - 1;
        let between = |from: usize, to: usize| (self.f[to] - self.f[from]) / (x[to] - x[from]);
        (0..=last).map(|i| between(i.saturating_sub(1), (i + 1).min(last))).collect()
    }
}

/// Splits of a wanted curve, `x` (mm) from 0 on and `f` (N), into a third disc and an opposed pair, the nearest first;
/// `base` (N) is that of the error at each point. Empty where the curve does not rise.
pub fn splits(x: &[f64], f: &[f64], base: &[f64]) -> Vec<ThirdSplit> {
    let Some(wanted) = Wanted::of(x, f, base) else { return Vec::new() };
    let mut least = f64::INFINITY;
    let so_far: Vec<f64> = wanted
        .compliance()
        .into_iter()
        .map(|compliance| {
            least = least.min(compliance);
            least
        })
        .collect();
    let mut found: Vec<ThirdSplit> = Vec::new();
    for left in LEFT_TO_PAIR {
        let mut third = vec![0.0];
        for (i, compliance) in so_far.iter().enumerate() {
            let own = (compliance - left * least).max(0.0);
            third.push(third[i] + own * (wanted.f[i + 1] - wanted.f[i]));
        }
        found.extend(adjusted(&wanted, third, (x, f, base)));
    }
    found.sort_by(|a, b| a.rms_percent.total_cmp(&b.rms_percent));
    found
}

/// The best split of the rounds that begin with deflections of the third disc (mm) at the wanted forces.
fn adjusted(wanted: &Wanted, mut third: Vec<f64>, asked: (&[f64], &[f64], &[f64])) -> Option<ThirdSplit> {
    let mut best: Option<ThirdSplit> = None;
    let whole = wanted.rates(&wanted.x);
    let last = wanted.len() - 1;
    for _ in 0..ROUNDS {
        let hub: Vec<f64> = wanted.x.iter().zip(&third).map(|(x, y)| x - y).collect();
        let travel = wanted.x[last];
        let rises = hub.windows(2).all(|pair| pair[1] - pair[0] > 1e-6 * travel / wanted.len() as f64);
        if !rises || hub[last] < LEAST_TRAVEL * travel || third[last] < LEAST_TRAVEL * travel {
            break;
        }
        // an error of the pair's force matters to the whole by the share of its compliance
        let of_pair = wanted.rates(&hub);
        let base: Vec<f64> =
            (0..=last).map(|i| wanted.base[i] * (of_pair[i] / whole[i]).clamp(1.0, 1e3)).collect();
        let (deflection, force) = nearest_opposed(&hub, &wanted.f, &base);
        let Some(split) = ThirdSplit::of(wanted, &third, deflection, force, asked) else { break };
        let rms = split.rms_percent;
        let before = best.as_ref().map_or(f64::INFINITY, |best| best.rms_percent);
        let (u, g) = (split.deflection.clone(), split.force.clone());
        if rms < before {
            best = Some(split);
        }
        if rms > (1.0 - WORTH_ANOTHER) * before {
            break;
        }
        third = compliances(wanted, &whole, (&u, &g));
    }
    best
}

/// Deflections of the third disc (mm) at the wanted forces, for a pair with its hub at `u` (mm) under `g` (N).
fn compliances(wanted: &Wanted, whole: &[f64], (u, g): (&[f64], &[f64])) -> Vec<f64> {
    let count = wanted.len();
    let kept = evenly_spread(count - 1, KNOTS);
    let ends: Vec<f64> = kept.iter().map(|i| wanted.f[i + 1]).collect();
    let weight = |i: usize| whole[i] / wanted.base[i];
    let matrix = DMatrix::from_fn(count, ends.len(), |i, j| weight(i) * wanted.f[i].min(ends[j]));
    let right =
        DVector::from_fn(count, |i, _| weight(i) * (wanted.x[i] - straight_between(g, u, wanted.f[i])));
    let z = non_negative_least_squares(&matrix, &right);
    wanted.f.iter().map(|f| ends.iter().zip(z.iter()).map(|(end, z)| z * f.min(*end)).sum()).collect()
}

impl ThirdSplit {
    fn of(
        wanted: &Wanted,
        third: &[f64],
        deflection: Vec<f64>,
        force: Vec<f64>,
        (x, f, base): (&[f64], &[f64], &[f64]),
    ) -> Option<Self> {
        let compliance = wanted.compliance();
        let open = (1..wanted.len())
            .take_while(|&i| {
                let own = (third[i] - third[i - 1]) / (wanted.f[i] - wanted.f[i - 1]);
                own > NEARLY_CLOSED * compliance[i - 1]
            })
            .count();
        let third = MemberTarget {
            installed: 0.0,
            deflection: third[..=open].to_vec(),
            force: wanted.f[..=open].to_vec(),
            closes: open + 1 < wanted.len(),
        };
        let mut split = Self { third, deflection, force, rms_percent: f64::INFINITY };
        let whole = split.whole()?;
        let error = |i: usize| ((whole.force(x[i].min(whole.closed())) - f[i]) / base[i]).powi(2);
        let sum: f64 = (0..x.len()).map(error).sum();
        split.rms_percent = 100.0 * (sum / x.len() as f64).sqrt();
        Some(split)
    }

    /// The two in series; the pair and a third disc that does not close go straight on beyond their last points.
    fn whole(&self) -> Option<ForceCurve> {
        let pair = straight_on(&self.deflection, &self.force)?;
        let third = if self.third.closes {
            self.third.curve()?
        } else {
            straight_on(&self.third.deflection, &self.third.force)?
        };
        ForceCurve::of_stack(&[pair, third], Stacking::Series)
    }
}

/// A curve through points that goes straight on beyond the last one.
fn straight_on(x: &[f64], f: &[f64]) -> Option<ForceCurve> {
    let last = x.len().checked_sub(1).filter(|last| *last > 0)?;
    let more = BEYOND * x[last];
    let rate = (f[last] - f[last - 1]) / (x[last] - x[last - 1]);
    let (mut x, mut f) = (x.to_vec(), f.to_vec());
    x.push(x[last] + more);
    f.push(f[last] + rate * more);
    ForceCurve::through(&x, &f)
}

#[cfg(test)]
#[path = "third_tests.rs"]
mod tests;
