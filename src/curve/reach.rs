//! Whether a seating spring can follow a target, and the nearest curve it can follow.
//!
//! Pressed between plates, the arms of a flat-cut spring seat one piece after another. A seated piece no longer
//! deflects: each closes at its own load, and the height closing per unit load is μ(F) = −F x″(F) ≥ 0 (differentiate
//! x(F) = ∫ min(f r³/GJ, p) dθ twice; the law of the conical spring that bottoms, see Wahl, "Mechanical Springs"
//! (1944)). So the force is zero at zero travel and never falls, and the rate never falls: F(x) is convex. Every such
//! curve can be followed as far as this law goes; whether it also fits the envelope, the sheet and the stress is
//! checked elsewhere.
//!
//! With `installed` travel x₀ the spring is already deflected by x₀ where the target counts zero: the same holds
//! from −x₀ on, and the target may begin with a force.

use serde::Serialize;

use super::convex;
use super::findings::{self, ReachFinding};
use super::noise;
use super::rounding;
use super::target::TargetCurve;
use crate::numeric::{evenly_spread, straight_between};

/// Root mean square departure from the nearest convex curve, noise set aside, up to which a target counts as
/// reachable (percent of the error base).
///
/// A third of the error a fit is allowed when nothing is said (3 %), and as much force as 0.33 % of sheet thickness
/// makes. It cannot be much tighter, because real springs depart from the law a little: a tall spring starts up to
/// 4 % stiffer than its torsion alone makes it (the arms resist lengthening in their own plane), and that fades as
/// it flattens. Curves of linearly tapered arms, computed as solids with contact, lie 0.65 % from their nearest
/// convex curve.
pub const RMS_TOLERANCE_PERCENT: f64 = 1.0;

/// Largest departure, noise set aside, up to which a target counts as reachable (percent of the error base): as
/// much as a fit is allowed on the whole when nothing is said. The stiffer start makes ±2 % of it.
pub const MAX_TOLERANCE_PERCENT: f64 = 3.0;

/// Points of the nearest curve, and kinks allowed in the regression. Between two of 400 points a curve departs
/// from its chord by less than a hundredth of a percent of its whole bend.
const MOST_POINTS: usize = 400;

/// Standard deviations of a mean that count as noise in a single place: exceeded once in 15 000 times.
const NOISE_IN_ONE_PLACE: f64 = 4.0;

/// Whether a target can be followed, and the nearest curve that can.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reach {
    /// whether the target departs from a convex curve by no more than noise and the stated tolerances
    pub reachable: bool,
    /// the nearest curve a seating spring can follow, at the target's own deflections (evenly thinned where there
    /// are more than 400): never falling, its rate never falling, its kinks rounded; a target that needs no change
    /// is returned as it is. It takes the target's band and tolerance along, so that it can be fitted in its place.
    pub nearest: TargetCurve,
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// root mean square force error of `nearest` over all points of the target (percent of the error base: the
    /// larger of the target force and one tenth of its maximum)
    pub rms_percent: f64,
    /// largest force error of `nearest` over all points of the target (percent of the error base)
    pub max_percent: f64,
    /// deflection of the largest force error (mm)
    pub max_at: f64,
    /// scatter of the target's points (percent of the error base): noise that was set aside
    pub scatter_percent: f64,
    /// where, by how much and why the target cannot be followed; also remarks on a target that can
    pub findings: Vec<ReachFinding>,
}

impl Reach {
    /// The nearest curve counted from the free height: deflection (mm), beginning with no force at zero, and force (N).
    pub fn from_free_height(&self) -> (Vec<f64>, Vec<f64>) {
        let mut deflection: Vec<f64> = self.nearest.deflection.iter().map(|x| x + self.installed).collect();
        let mut force = self.nearest.force.clone();
        if deflection.first().is_some_and(|&first| first > 0.0) {
            deflection.insert(0, 0.0);
            force.insert(0, 0.0);
        }
        (deflection, force)
    }
}

impl Reach {
    /// Whether such a spring can follow the target: by the law of seating, or because one was found that does, its
    /// errors (percent of the error base) within what that law is allowed.
    pub fn can_be_followed(&self, rms_percent: f64, max_percent: f64) -> bool {
        self.reachable || (rms_percent <= RMS_TOLERANCE_PERCENT && max_percent <= MAX_TOLERANCE_PERCENT)
    }
}

/// Finds the convex curve through zero force at −`installed` (mm; negative counts as zero) that is closest to the
/// target in the mean square of the relative force error, and says whether the target is within tolerance of it.
pub fn nearest_reachable(target: &TargetCurve, installed: f64) -> Reach {
    let installed = if installed.is_finite() { installed.max(0.0) } else { 0.0 };
    let origin = -installed;
    let knots: Vec<usize> = evenly_spread(target.len(), MOST_POINTS);
    let knot_deflection: Vec<f64> = knots.iter().map(|&i| target.deflection[i]).collect();

    let base = target.error_bases();

    let force = if is_convex(target, origin) {
        knots.iter().map(|&i| target.force[i]).collect()
    } else {
        // the sum is then that of squared relative errors; scaled so that no weight overflows
        let largest = target.max_force();
        let weight: Vec<f64> = base.iter().map(|base| (largest / base).powi(2)).collect();
        let fit = convex::fit(origin, &target.deflection, &target.force, &weight, MOST_POINTS);
        let mut force = fit.values(&knot_deflection);
        rounding::round(origin, &fit.kinks, &fit.rises, &knot_deflection, &mut force);
        force
    };
    let at_points: Vec<f64> =
        target.deflection.iter().map(|&x| straight_between(&knot_deflection, &force, x)).collect();
    let (rms_percent, max_percent) = target.errors_percent(&at_points);
    let error = |i: usize| (at_points[i] - target.force[i]).abs() / base[i];
    let worst = (0..target.len()).max_by(|&a, &b| error(a).total_cmp(&error(b))).unwrap_or(0);

    let scatter = noise::scatter_percent(target);
    let forgiven = noise::forgiven_percent(scatter, target.len());
    let means = noise::averaged(target, forgiven, 0.5 * RMS_TOLERANCE_PERCENT);
    let (systematic_rms, systematic_max) = systematic_percent(&target.force, &at_points, &base, means.group);
    let of_means = forgiven / (means.group as f64).sqrt();
    let reachable = systematic_rms <= RMS_TOLERANCE_PERCENT.hypot(of_means)
        && systematic_max <= MAX_TOLERANCE_PERCENT + NOISE_IN_ONE_PLACE * of_means;

    let nearest = TargetCurve {
        deflection: knot_deflection,
        force,
        force_min: thinned(target.force_min.as_deref(), &knots),
        force_max: thinned(target.force_max.as_deref(), &knots),
        tolerance_percent: target.tolerance_percent,
        notes: Vec::new(),
    };
    let place_percent = MAX_TOLERANCE_PERCENT + NOISE_IN_ONE_PLACE * of_means;
    let findings = findings::collect(target, &means, &nearest, installed, reachable, place_percent);
    Reach {
        reachable,
        nearest,
        installed,
        rms_percent,
        max_percent,
        max_at: target.deflection.get(worst).copied().unwrap_or(0.0),
        scatter_percent: scatter,
        findings,
    }
}

fn thinned(list: Option<&[f64]>, keep: &[usize]) -> Option<Vec<f64>> {
    list.map(|list| keep.iter().filter_map(|&i| list.get(i).copied()).collect())
}

/// Whether the target needs no change at all, up to rounding.
fn is_convex(target: &TargetCurve, origin: f64) -> bool {
    const ROUNDING: f64 = 1e-9;
    let slack = ROUNDING * target.max_force();
    let (mut before, mut at) = ((origin, 0.0), None::<(f64, f64)>);
    for (&x, &f) in target.deflection.iter().zip(&target.force) {
        if x <= origin {
            if f > slack {
                return false;
            }
            before = (x, f);
            continue;
        }
        if let Some(middle) = at {
            let chord = before.1 + (f - before.1) * ((middle.0 - before.0) / (x - before.0));
            if middle.1 > chord + slack {
                return false;
            }
            before = middle;
        }
        if f < before.1 - slack {
            return false;
        }
        at = Some((x, f));
    }
    true
}

/// Departure of the averaged target from the nearest curve: root mean square and largest, in percent of the base.
fn systematic_percent(wanted: &[f64], found: &[f64], base: &[f64], group: usize) -> (f64, f64) {
    let mut sum = 0.0;
    let mut largest = 0.0_f64;
    let mut count = 0.0_f64;
    for ((wanted, found), base) in wanted.chunks(group).zip(found.chunks(group)).zip(base.chunks(group)) {
        let departures =
            wanted.iter().zip(found).zip(base).map(|((wanted, found), base)| 100.0 * (found - wanted) / base);
        let mean = departures.sum::<f64>() / wanted.len() as f64;
        sum += mean * mean;
        count += 1.0;
        largest = largest.max(mean.abs());
    }
    ((sum / count.max(1.0)).sqrt(), largest)
}

#[cfg(test)]
#[path = "reach_tests.rs"]
mod tests;
