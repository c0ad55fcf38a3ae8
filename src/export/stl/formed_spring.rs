//! The spring at its free height, as one closed surface.

use super::plan::{Plan, PlanError};
use super::solid::Solid;
use crate::layout::{ArmPath, Spring};

/// The formed spring: one watertight surface, sections level, rim and hub joined to the arms, slot ends cut straight.
pub fn formed_spring(spring: &Spring, arm: &ArmPath) -> Result<Solid, PlanError> {
    let plan = Plan::of(spring, arm, &arm.height)?;
    let half = 0.5 * spring.sheet.thickness;
    let shifted = |by: f64| -> Vec<[f64; 3]> {
        // the rim stands on the plane z = 0
        plan.points.iter().map(|[x, y, z]| [*x, *y, z + half + by]).collect()
    };
    Ok(Solid::between(&shifted(half), &shifted(-half), &plan.part))
}
