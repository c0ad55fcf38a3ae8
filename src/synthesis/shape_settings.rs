//! Freedom and settings of one shaping, and its errors.

use super::closed_use::ClosedRequirement;
use crate::layout::LayoutError;
use crate::model::{ModelError, ModelSettings};

/// Freedom of the shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShapeFreedom {
    /// one width for the whole arm
    Constant,
    /// a width linear in the radius: the shop's rule of thumb
    LinearTaper,
    /// widths at this many control radii, one way only
    Monotone {
        /// control radii
        controls: usize,
        /// whether the width grows outwards
        outwards: bool,
    },
    /// widths at this many control radii
    Free(usize),
}

/// Settings of one shaping.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeSettings {
    /// what may be shaped
    pub freedom: ShapeFreedom,
    /// least and largest width (mm)
    pub width: (f64, f64),
    /// least and largest free height (mm); equal fixes it
    pub free_height: (f64, f64),
    /// least and largest easing at the roots (arm widths of arc); `None` leaves it as it is
    pub ease: Option<(f64, f64)>,
    /// whether the former's profile is shaped too
    pub profile: bool,
    /// von Mises stress not to exceed when flat (MPa)
    pub allowable: Option<f64>,
    /// largest width over the narrowest that costs nothing; infinite leaves it open
    pub width_ratio: f64,
    /// requirements on the closed spring, if any
    pub closed: Option<ClosedRequirement>,
    /// how much more than usual a bend of the width over the radius costs; 1 is usual
    pub smoothness: f64,
    /// most iterations
    pub iterations: u64,
    /// the model used
    pub model: ModelSettings,
}

/// Why nothing could be shaped.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ShapeError {
    /// Invalid geometry of the start.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No curve of the start.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// The solver gave up.
    #[error("the least-squares search failed: {message}")]
    Search {
        /// its message
        message: String,
    },
}
