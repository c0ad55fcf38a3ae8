//! Deviations of parts from their drawing, and their effect on the force: thickness, modulus, kerf, free height and
//! others.
//!
//! [`scatter()`] looks forward, from tolerances to a band of forces and the tolerance to tighten first. [`identify()`]
//! looks back, from a measured curve to the deviations that explain it. [`scatter_assembly`] and [`trim()`] do both for
//! discs put together.

mod assembled;
mod belief;
mod cause;
mod contact;
mod deviated;
mod deviation;
mod estimates;
mod evidence;
mod finding;
mod fit;
mod good_parts;
#[cfg(test)]
mod hand_cases;
mod identification;
mod next_part;
mod pictures;
mod propagation;
mod random;
mod readings;
mod scatter;
mod series;
mod suspicion;
mod tolerance;
mod trim;
mod wanted;

pub use assembled::{VariedMember, scatter_assembly};
pub use belief::Belief;
pub use cause::{CAUSES, Cause};
pub use deviated::deviated;
pub use deviation::{DEVIATIONS, Deviation, VariedSpring};
pub use estimates::{Estimate, EstimatedQuantity, Evidence};
pub use evidence::{FARTHEST_THICKNESS, MeasuredPart, PART_SHARES};
pub use finding::{Alike, Identified, IdentifiedCurve, PartFound};
pub use good_parts::{GoodShare, good_share};
pub use identification::{IdentifySettings, identify, identify_parts};
pub use next_part::{Expectation, NextPart};
pub use pictures::scatter_files;
pub use propagation::{FirstOrder, propagate};
pub use random::RandomStream;
pub use readings::{Hysteresis, Readings};
pub use scatter::{Band, CauseShare, Scatter, ScatterSettings, band_percent, scatter};
pub use tolerance::{Law, Spread, Tolerances};
pub use trim::{Shim, TrimCurve, TrimEstimate, Trimmed, trim, trim_plot};
pub use wanted::Asked;

use crate::layout::LayoutError;
use crate::model::ModelError;

/// Errors of a variation.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum VariationError {
    /// Invalid geometry of the spring or of a deviating part.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No curve of the spring.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// A deviation without a valid spring.
    #[error(
        "a deviation of the {cause} by {found} gives no valid spring: {reason}; check the tolerances and the sizes"
    )]
    Impossible {
        /// which of them
        cause: &'static str,
        /// by how much, with its unit
        found: String,
        /// reason
        reason: &'static str,
    },
    /// Too few parts.
    #[error("{found} parts are too few for a scatter; take {least} or more")]
    TooFewParts {
        /// parts asked for
        found: usize,
        /// parts needed
        least: usize,
    },
}
