//! Reference of a part: a band, a curve, or the nominal curve where no curve was asked for.

use super::propagation::FirstOrder;
use crate::curve::TargetCurve;
use crate::numeric::straight_between;

/// Reference that a part is compared with.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// target curve; without one parts are compared with the nominal curve
    pub target: Option<&'a TargetCurve>,
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// largest rms force error (percent), where no band was asked for
    pub tolerance_percent: f64,
}

/// Wanted forces at each deflection of the band.
pub(super) struct Wanted {
    /// force (N)
    pub force: Vec<f64>,
    /// base of an error (N)
    pub base: Vec<f64>,
    /// band to stay in (N)
    pub band: Option<(Vec<f64>, Vec<f64>)>,
}

impl Wanted {
    pub fn at(asked: &Asked, first: &FirstOrder) -> Self {
        let force: Vec<f64> = match asked.target {
            Some(target) => first.deflection.iter().map(|x| target.force_at(x - asked.installed)).collect(),
            None => first.force.clone(),
        };
        let largest =
            asked.target.map_or_else(|| force.iter().copied().fold(0.0, f64::max), TargetCurve::max_force);
        let band = asked.target.filter(|t| t.force_min.is_some() || t.force_max.is_some()).map(|target| {
            let edge = |edge: &Option<Vec<f64>>, otherwise: f64| -> Vec<f64> {
                first
                    .deflection
                    .iter()
                    .map(|x| {
                        edge.as_ref().map_or(otherwise, |edge| {
                            straight_between(&target.deflection, edge, x - asked.installed)
                        })
                    })
                    .collect()
            };
            (edge(&target.force_min, f64::NEG_INFINITY), edge(&target.force_max, f64::INFINITY))
        });
        Self { base: force.iter().map(|f| f.max(0.1 * largest)).collect(), force, band }
    }

    /// Root mean square force error (percent).
    pub fn rms_percent(&self, force: &[f64]) -> f64 {
        let sum: f64 = force
            .iter()
            .zip(&self.force)
            .zip(&self.base)
            .map(|((found, wanted), base)| ((found - wanted) / base).powi(2))
            .sum();
        100.0 * (sum / force.len().max(1) as f64).sqrt()
    }

    /// Whether a part is as wanted.
    pub fn accepts(&self, force: &[f64], tolerance_percent: f64) -> bool {
        match &self.band {
            Some((low, high)) => {
                // a part that lies flat has no finite force, and nothing bounds it from above
                force
                    .iter()
                    .zip(low)
                    .zip(high)
                    .all(|((force, low), high)| force.is_finite() && force >= low && force <= high)
            }
            None => self.rms_percent(force) <= tolerance_percent,
        }
    }
}

/// Criterion of a good part, in words.
pub(super) fn judged_by(asked: &Asked, band: bool) -> String {
    let against =
        if asked.target.is_some() { "the target" } else { "the nominal curve, no target being known" };
    if band {
        "every point inside the target's band".to_owned()
    } else {
        format!("rms force error within {} % of {against}", asked.tolerance_percent)
    }
}
