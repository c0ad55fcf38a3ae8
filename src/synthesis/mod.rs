//! The inverse: from a wanted curve to a spring.
//!
//! Closed-form candidates over everything the brief leaves open, pruned by thousands; the best of them shaped by bounded
//! least squares over the segment model; the best of those chosen.

mod again;
mod candidate;
pub mod closed_form;
mod closed_use;
pub(crate) mod least_squares;
mod limits;
mod own_weight;
mod ranking;
mod residuals;
mod rung;
mod search;
mod shape_settings;
mod shaping;
mod target_points;
mod task;
mod together;
mod variables;

pub use again::shape_for_sheet;
pub use candidate::Candidate;
pub use closed_use::{ClosedRequirement, ClosedUse};
pub use limits::{CuttingLimits, easing_range, free_height_range, least_free_height, reserve, width_range};
pub use own_weight::NOTICEABLE as NOTICEABLE_OWN_WEIGHT;
pub use ranking::{Design, Merits, Preference};
pub use rung::{Arm, FormerShape, Rung};
pub use search::{Outcome, Progress, Search, SearchEffort, SearchError, seed, wanted};
pub use shape_settings::{ShapeError, ShapeFreedom, ShapeSettings};
pub use shaping::{Shaped, shape};
pub use target_points::TargetPoints;
pub use together::shape_in_assembly;
