//! The share of good parts to first order: forces of parts by the slopes of the force, without a model of each.

use super::VariationError;
use super::cause::CAUSES;
use super::deviation::VariedSpring;
use super::propagation::propagate;
use super::random::RandomStream;
use super::scatter::{SEGMENTS, places};
use super::tolerance::Tolerances;
use super::wanted::{Asked, Wanted};
use crate::layout::Spring;

/// Parts drawn: the share of the best spring is known to two points.
const PARTS: u64 = 600;
/// Seed of the draws: every spring meets the same parts.
const SEED: u64 = 11;

/// Shares of parts as wanted (0 to 1).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct GoodShare {
    /// with everything at its tolerance
    pub as_bought: f64,
    /// with thickness and modulus of the sheet known
    pub sheet_measured: f64,
}

impl GoodShare {
    /// Mean of both, by which springs are ordered: some makers measure the sheet before they cut, some do not.
    pub fn mean(self) -> f64 {
        0.5 * (self.as_bought + self.sheet_measured)
    }
}

/// The shares of good parts of a spring, to first order.
pub fn good_share(
    spring: &Spring,
    tolerances: &Tolerances,
    asked: &Asked,
) -> Result<GoodShare, VariationError> {
    let varied = VariedSpring::new(spring, SEGMENTS)?;
    let first = propagate(&varied, &places(&varied, asked))?;
    let wanted = Wanted::at(asked, &first);
    let count = |tolerances: &Tolerances| {
        let good = (0..PARTS).filter(|&part| {
            let mut stream = RandomStream::new(SEED, part);
            let off: [f64; CAUSES] = tolerances.0.each_ref().map(|spread| spread.draw(&mut stream));
            let force: Vec<f64> = first
                .force
                .iter()
                .zip(&first.slopes)
                .map(|(force, slopes)| force + slopes.iter().zip(&off).map(|(s, z)| s * z).sum::<f64>())
                .collect();
            wanted.accepts(&force, asked.tolerance_percent)
        });
        good.count() as f64 / PARTS as f64
    };
    Ok(GoodShare { as_bought: count(tolerances), sheet_measured: count(&tolerances.sheet_measured()) })
}
