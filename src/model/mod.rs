//! Mechanics: section, element, assembly, seating, path, stress recovery.

mod active_set;
mod arm_state;
#[doc(hidden)]
pub mod chain;
#[doc(hidden)]
pub mod condensation;
#[doc(hidden)]
pub mod element;
mod fronts;
#[cfg(test)]
mod hand_cases;
#[doc(hidden)]
pub mod in_plane;
#[doc(hidden)]
pub mod loose_rim;
mod newton_step;
pub(crate) mod plane_frame;
mod predictor;
pub mod root;
#[doc(hidden)]
pub mod seating;
#[doc(hidden)]
pub mod second_order;
pub mod section;
pub mod sensitivity;
mod stops;
pub mod stress;
mod stress_sensitivity;
mod tangent;
mod touch;

pub use arm_state::{ArmState, Snapshot};
pub use predictor::{Model, ModelError, ModelSettings, TOUCHING};
