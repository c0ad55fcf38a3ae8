//! Expected deviations of the next part: those common to all parts of one sheet, cut and setting, and the scatter of
//! single parts.

use nalgebra::DMatrix;

use super::deviation::{DEVIATIONS, Deviation};
use super::evidence::PART_SHARES;
use super::fit::{COMMON, Fit, Unknowns};

/// Mean and covariance of the common deviations, and the scatter of single parts about them.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    /// mean of the common deviations
    pub deviation: Deviation,
    /// mean error of the model: a factor on the force less one, and one that runs from −1 to 1 over the travel
    pub model: [f64; 2],
    /// covariance of the six deviations and the two errors of the model, in their units
    pub(super) covariance: DMatrix<f64>,
    /// standard deviations of a single part about the common deviations
    pub(super) own: [f64; DEVIATIONS],
}

impl Default for Belief {
    fn default() -> Self {
        Self {
            deviation: Deviation::default(),
            model: [0.0; 2],
            covariance: DMatrix::zeros(COMMON, COMMON),
            own: [0.0; DEVIATIONS],
        }
    }
}

impl Belief {
    /// Narrows or widens the scatter of single parts by a factor.
    pub fn scale_own(&mut self, factor: f64) {
        for own in &mut self.own {
            *own *= factor;
        }
    }

    pub(super) fn of(fit: &Fit, p: &Unknowns, covariance: &DMatrix<f64>) -> Self {
        Self {
            deviation: fit.common(p),
            model: [DEVIATIONS, DEVIATIONS + 1].map(|k| fit.value(p, k)),
            covariance: DMatrix::from_fn(COMMON, COMMON, |a, b| {
                covariance[(a, b)] * fit.prior[a] * fit.prior[b]
            }),
            own: std::array::from_fn(|k| fit.tolerance[k] * PART_SHARES[k].sqrt()),
        }
    }
}
