//! What cutting allows: least arm and slot.

use crate::spec::Brief;

/// Limits a design has to keep, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CuttingLimits {
    /// slot width to use
    pub slot: f64,
    /// least arm width, normal to the arm
    pub arm_min: f64,
}

impl CuttingLimits {
    /// The process's limits where the brief says nothing else.
    #[must_use]
    pub fn with_brief(self, brief: &Brief) -> Self {
        Self { arm_min: brief.arms.width_min.unwrap_or(self.arm_min), ..self }
    }
}
