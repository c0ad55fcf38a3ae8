//! First order: how much force each cause is worth at every deflection, by analytic sensitivities.

use super::VariationError;
use super::deviation::VariedSpring;
use crate::model::{Model, ModelSettings};

/// The curve of a spring and its slopes over what may be off.
///
/// Slopes come from the fast linear path of `varied`; the whole model at full resolution gives the curve itself, and
/// `factor` carries what it adds over to every part: it changes slowly from part to part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FirstOrder {
    /// deflection of the spring (mm)
    pub deflection: Vec<f64>,
    /// force (N)
    pub force: Vec<f64>,
    /// force of the whole model over that of the fast path
    pub factor: Vec<f64>,
    /// force per mm of thickness, per percent of modulus, per mm of kerf, per mm of free height (N)
    pub slopes: Vec<[f64; 4]>,
}

impl FirstOrder {
    /// Variance of the force at point `i` from each cause (N²), for standard deviations in the order of the slopes.
    pub fn variances(&self, i: usize, deviations: &[f64; 4]) -> [f64; 4] {
        [0, 1, 2, 3].map(|k| (self.slopes[i][k] * deviations[k]).powi(2))
    }
}

/// The fast model: linear path, the arm's own resolution.
pub(super) fn fast(varied: &VariedSpring) -> ModelSettings {
    ModelSettings { segments: varied.arm.segments(), in_plane: false, ..ModelSettings::default() }
}

/// Curve and slopes at `deflections` (mm, increasing, within the travel).
pub fn propagate(varied: &VariedSpring, deflections: &[f64]) -> Result<FirstOrder, VariationError> {
    let model = Model::of_arm(&varied.spring, &varied.arm, &fast(varied));
    let (low, rows) = model.response_and_gradient(deflections, &varied.directions())?;
    let whole = Model::of(&varied.spring, &ModelSettings::default())?.response(deflections)?;
    let factor: Vec<f64> = low
        .force
        .iter()
        .zip(&whole.force)
        .map(|(low, whole)| if *low > 0.0 { whole / low } else { 1.0 })
        .collect();
    let slopes = rows
        .iter()
        .zip(&factor)
        .zip(&whole.force)
        .map(|((row, factor), force)| [factor * row[0], 0.01 * force, factor * row[1], factor * row[2]])
        .collect();
    Ok(FirstOrder { deflection: deflections.to_vec(), force: whole.force, factor, slopes })
}
