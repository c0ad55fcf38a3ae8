//! The former as a solid to print: a spiral staircase with a level step under every arm.

use super::stl::{Plan, PlanError, Solid};
use crate::layout::{ArmPath, Spring};

/// The former for an arm that stands at `heights` (mm at the arm's nodes) on it, on a base `base` thick (mm).
///
/// One watertight surface. The steps carry the undersides of rim, arms and hub; from step to step the surface rises
/// within the width of the slot. The hole is the spring's bore.
pub fn former_solid(spring: &Spring, arm: &ArmPath, heights: &[f64], base: f64) -> Result<Solid, PlanError> {
    let plan = Plan::of(spring, arm, heights)?;
    let upper: Vec<[f64; 3]> = plan.points.iter().map(|[x, y, z]| [*x, *y, z + base]).collect();
    let lower: Vec<[f64; 3]> = plan.points.iter().map(|[x, y, _]| [*x, *y, 0.0]).collect();
    let top: Vec<[usize; 3]> = plan.part.iter().chain(&plan.slots).copied().collect();
    Ok(Solid::between(&upper, &lower, &top))
}
