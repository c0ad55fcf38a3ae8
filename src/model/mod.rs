//! Mechanics: section, element, assembly, seating, path, stress recovery.

pub mod chain;
pub mod condensation;
pub mod element;
pub mod in_plane;
pub mod plane_frame;
mod predictor;
pub mod root;
pub mod seating;
pub mod second_order;
pub mod section;
pub mod sensitivity;
pub mod stress;

pub use predictor::{ArmState, Model, ModelError, ModelSettings, Snapshot};
