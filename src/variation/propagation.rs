//! First order: effect of each cause on the force at every deflection, by analytic sensitivities.

use super::VariationError;
use super::cause::{CAUSES, Cause};
use super::deviation::{DEVIATIONS, Deviation, VariedSpring};
use crate::model::{Model, ModelSettings};
use crate::response::{Response, fine_over_coarse};

/// The curve of a spring and its slopes over the causes of scatter.
///
/// Slopes come from the fast model of `varied`, in small slopes; the whole model at full resolution gives the curve itself, and
/// `factor` carries the difference over to every part: it changes slowly from part to part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FirstOrder {
    /// deflection of the spring (mm)
    pub deflection: Vec<f64>,
    /// force (N)
    pub force: Vec<f64>,
    /// force of the whole model over that of the fast one
    pub factor: Vec<f64>,
    /// force per unit of each cause (N per mm, or per percent of modulus), in the order of [`Cause::ALL`]
    pub slopes: Vec<[f64; CAUSES]>,
}

impl FirstOrder {
    /// Variance of the force at point `i` from each cause (N²), for standard deviations in the order of the slopes.
    pub fn variances(&self, i: usize, deviations: &[f64; CAUSES]) -> [f64; CAUSES] {
        std::array::from_fn(|k| (self.slopes[i][k] * deviations[k]).powi(2))
    }
}

/// Curve and slopes at `deflections` (mm, increasing, within the travel).
pub fn propagate(varied: &VariedSpring, deflections: &[f64]) -> Result<FirstOrder, VariationError> {
    let (low, rows) = slopes(varied, &Deviation::default(), deflections)?;
    let whole = Model::of(&varied.spring, &ModelSettings::default())?.response(deflections)?;
    let factor = fine_over_coarse(&whole.force, &low.force);
    let slopes = rows
        .iter()
        .zip(&factor)
        .map(|(row, factor)| {
            Cause::ALL.map(|cause| {
                let (effect, per_unit) = cause.effect();
                factor * per_unit * row[effect]
            })
        })
        .collect();
    Ok(FirstOrder { deflection: deflections.to_vec(), force: whole.force, factor, slopes })
}

/// The fast curve of a part at `deflections` and its force's slopes over the numbers of its deviation. That over the
/// root compliance is left at zero: it has no analytic slope.
pub(super) fn slopes(
    varied: &VariedSpring,
    deviation: &Deviation,
    deflections: &[f64],
) -> Result<(Response, Vec<[f64; DEVIATIONS]>), VariationError> {
    let model = varied.model(deviation, &varied.fast())?;
    let (response, rows) = model.response_and_gradient(deflections, &varied.directions())?;
    let by_percent = 0.01 / deviation.modulus_factor();
    let slopes = rows
        .iter()
        .zip(&response.force)
        .map(|(row, force)| [row[0], by_percent * force, row[1], row[2], row[3], 0.0])
        .collect();
    Ok((response, slopes))
}
