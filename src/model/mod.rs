//! Mechanics: section, element, assembly, seating, path, stress recovery.

mod active_set;
mod arm_state;
pub mod chain;
pub mod condensation;
pub mod element;
mod fronts;
pub mod in_plane;
pub mod loose_rim;
mod newton_step;
pub mod plane_frame;
mod predictor;
pub mod root;
pub mod seating;
pub mod second_order;
pub mod section;
pub mod sensitivity;
mod stops;
pub mod stress;
mod stress_sensitivity;
mod tangent;

pub use arm_state::{ArmState, Snapshot};
pub use predictor::{Model, ModelError, ModelSettings, TOUCHING};
