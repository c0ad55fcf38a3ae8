//! Mechanics: section, centre line, element, chain, arm in its own plane, contact, equilibrium, stress, sensitivities.

mod active_set;
mod arm_state;
#[doc(hidden)]
pub mod centre_line;
#[doc(hidden)]
pub mod chain;
#[doc(hidden)]
pub mod contact;
#[doc(hidden)]
pub mod element;
#[doc(hidden)]
pub mod equilibrium;
mod fronts;
#[cfg(test)]
mod hand_cases;
#[doc(hidden)]
pub mod loose_rim;
mod newton_step;
#[doc(hidden)]
pub mod plane_frame;
mod predictor;
pub mod root;
pub mod section;
mod section_gradient;
pub mod sensitivity;
pub mod stress;
mod tangent;
#[doc(hidden)]
pub mod touch;
mod warping;

pub use arm_state::{ArmState, Snapshot};
pub use predictor::{Model, ModelError, ModelSettings, TOUCHING};
