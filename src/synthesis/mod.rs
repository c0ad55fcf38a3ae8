//! The inverse: from a wanted curve to a spring.
//!
//! Closed-form candidates over everything the brief leaves open, pruned by thousands; the best of them shaped by bounded
//! least squares over the segment model; the best of those chosen.

mod candidate;
pub mod closed_form;
pub mod least_squares;
mod limits;
mod ranking;
mod residuals;
mod search;
mod shaping;
mod target_points;
mod variables;

pub use candidate::Candidate;
pub use limits::{CuttingLimits, easing_range, free_height_range, least_free_height, width_range};
pub use ranking::{Design, Merits};
pub use search::{Outcome, Progress, SearchError, design, seed, wanted};
pub use shaping::{ShapeError, ShapeFreedom, ShapeSettings, Shaped, shape};
pub use target_points::TargetPoints;
