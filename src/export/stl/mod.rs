//! Solids to print or look at, as binary STL.

mod formed_spring;
mod plan;
mod solid;

pub use formed_spring::formed_spring;
pub use plan::{Plan, PlanError};
pub use solid::{Solid, SolidError};
