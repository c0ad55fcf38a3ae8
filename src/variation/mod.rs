//! How parts differ from their drawing: how far force follows thickness, modulus, kerf and free height.
//!
//! [`scatter()`] looks forward, from tolerances to a band of forces and to what should be tightened first.

mod deviation;
mod propagation;
mod random;
mod scatter;
mod tolerance;

pub use deviation::{Cause, Deviation, VariedSpring};
pub use propagation::{FirstOrder, propagate};
pub use random::RandomStream;
pub use scatter::{Asked, Band, CauseShare, Scatter, ScatterSettings, scatter};
pub use tolerance::{Spread, Tolerances};

use crate::layout::LayoutError;
use crate::model::ModelError;

/// Why a variation could not be followed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum VariationError {
    /// The spring, or the part that departs from it, has no shape.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The spring has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// A departure that leaves no spring.
    #[error("{cause} off by {found} leaves no spring: {reason}; check the tolerances and the sizes")]
    Impossible {
        /// which of them
        cause: &'static str,
        /// by how much, with its unit
        found: String,
        /// what happens
        reason: &'static str,
    },
    /// Too few parts.
    #[error("{found} parts say nothing about scatter; take {least} or more")]
    TooFewParts {
        /// parts asked for
        found: usize,
        /// parts needed
        least: usize,
    },
}
