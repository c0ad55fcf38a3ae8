//! The curve to fit: few points, each with the base of its error.

use crate::curve::{Reach, TargetCurve};
use crate::numeric::straight_between;

/// Points the fit works on; more add time and no information.
const MOST_POINTS: usize = 36;

/// Scatter above which a target's own points are not fitted but the nearest convex curve (percent). Below, the target
/// itself is: in-plane stiffness makes real curves depart from the law of seating a little, and the segment model
/// includes it.
const SMOOTH_PERCENT: f64 = 0.4;

/// The curve to fit, counted from the spring's free height.
#[derive(Debug, Clone, PartialEq)]
pub struct TargetPoints {
    /// deflection of the spring (mm), increasing, above zero
    pub deflection: Vec<f64>,
    /// force (N)
    pub force: Vec<f64>,
    /// base of a force error (N)
    pub base: Vec<f64>,
    /// band of forces (N), where one was asked for
    pub band: Option<Vec<(f64, f64)>>,
    /// the convex curve from (0, 0), for the closed form
    pub from_free: (Vec<f64>, Vec<f64>),
}

impl TargetPoints {
    /// A target that such a spring can follow, or the nearest curve that it can, thinned.
    pub fn of(target: &TargetCurve, reach: &Reach) -> Self {
        let nearest = &reach.nearest;
        let followed = reach.scatter_percent <= SMOOTH_PERCENT;
        let (mut x_rising, mut f) = (vec![0.0], vec![0.0]);
        let largest = target.max_force();
        let bounds = target.force_min.is_some() || target.force_max.is_some();
        let (mut deflection, mut force, mut base, mut band) =
            (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for i in spread(&nearest.deflection) {
            let x = nearest.deflection[i] + reach.installed;
            if x <= 0.0 {
                continue;
            }
            let wanted = if followed {
                straight_between(&target.deflection, &target.force, nearest.deflection[i])
            } else {
                nearest.force[i]
            };
            deflection.push(x);
            force.push(wanted);
            base.push(wanted.max(0.1 * largest));
            // the closed form needs a force that rises
            if nearest.force[i] > f[f.len() - 1] {
                x_rising.push(x);
                f.push(nearest.force[i]);
            }
            let edge = |edge: &Option<Vec<f64>>, otherwise: f64| {
                edge.as_ref().and_then(|list| list.get(i).copied()).unwrap_or(otherwise)
            };
            band.push((edge(&nearest.force_min, f64::NEG_INFINITY), edge(&nearest.force_max, f64::INFINITY)));
        }
        Self { deflection, force, base, band: bounds.then_some(band), from_free: (x_rising, f) }
    }

    /// Largest deflection asked for (mm).
    pub fn reach(&self) -> f64 {
        self.deflection.last().copied().unwrap_or(0.0)
    }

    /// Largest force asked for (N).
    pub fn largest_force(&self) -> f64 {
        self.force.iter().copied().fold(0.0, f64::max)
    }
}

/// Indices of at most [`MOST_POINTS`] points, spread over the deflection, both ends kept.
fn spread(deflection: &[f64]) -> Vec<usize> {
    let count = deflection.len();
    if count <= MOST_POINTS {
        return (0..count).collect();
    }
    let (from, to) = (deflection[0], deflection[count - 1]);
    let mut kept: Vec<usize> = (0..MOST_POINTS)
        .map(|k| {
            let wanted = from + (to - from) * k as f64 / (MOST_POINTS - 1) as f64;
            let after = deflection.partition_point(|x| *x < wanted).min(count - 1);
            let before = after.saturating_sub(1);
            if wanted - deflection[before] < deflection[after] - wanted { before } else { after }
        })
        .collect();
    kept.dedup();
    kept
}
