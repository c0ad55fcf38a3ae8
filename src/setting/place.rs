//! Places at which a trial is measured.

use serde::Serialize;

use crate::layout::ArmPath;

/// Shares of the free height at which a trial is measured.
const SHARES: [f64; 3] = [1.0 / 3.0, 2.0 / 3.0, 1.0];

/// Place at which a trial is measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TrialPlace {
    /// radius of the arm centre (mm)
    pub radius_mm: f64,
    /// height of the former there (mm)
    pub former_mm: f64,
    /// height wanted of the spring there, pressed flat and released (mm)
    pub height_mm: f64,
}

impl TrialPlace {
    /// The three places on an arm whose former stands at `heights` (mm at its nodes).
    pub(super) fn of(arm: &ArmPath, heights: &[f64]) -> Vec<Self> {
        let end = arm.height.len() - 1;
        let places = SHARES.map(|share| {
            let i = arm.height.partition_point(|height| *height < share * arm.height[end]).min(end);
            Self { radius_mm: arm.radius[i], former_mm: heights[i], height_mm: arm.height[i] }
        });
        places.to_vec()
    }
}
