//! Mechanics: section, element, assembly, seating, path, stress recovery.

mod active_set;
pub mod chain;
pub mod condensation;
pub mod element;
mod fronts;
pub mod in_plane;
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
mod tangent;

pub use predictor::{ArmState, Model, ModelError, ModelSettings, Snapshot};
