//! Limits of a search: least arm and slot, widths, heights, easing at the roots.

use crate::layout::Disc;
use crate::spec::{Brief, Envelope, FormerChoice};

/// Widest arm tried, in units of the slots' outer radius.
const WIDEST: f64 = 0.6;
/// Least and longest easing at the roots tried, in arm widths of arc.
const EASINGS: (f64, f64) = (1.0, 25.0);
/// Clearance between the last deflection asked for and flat, in units of that deflection, where the brief names none: what
/// the tolerances of height and thickness ask for.
const USUAL_RESERVE: f64 = 0.05;
/// Largest free height over the last deflection, where the envelope leaves it open.
const TALLEST: f64 = 3.0;

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

/// Least and largest width of arms between these circles (mm).
pub fn width_range(arm_min: f64, disc: &Disc) -> (f64, f64) {
    (arm_min, WIDEST * disc.slot_outer_radius)
}

/// Clearance between the last deflection asked for and flat that a brief asks for, in units of that deflection.
pub fn reserve(brief: &Brief) -> f64 {
    brief.fit.reserve.unwrap_or(USUAL_RESERVE)
}

/// Least free height for a curve whose last deflection is `reach` (mm), `reserve` behind it.
pub fn least_free_height(reach: f64, reserve: f64) -> f64 {
    reach * (1.0 + reserve)
}

/// Least and largest free height for a curve whose last deflection is `reach` (mm).
pub fn free_height_range(reach: f64, reserve: f64, envelope: &Envelope) -> (f64, f64) {
    let most = envelope.free_height_max.unwrap_or(TALLEST * reach);
    (least_free_height(reach, reserve).min(most), most)
}

/// Least and longest easing to try; `None` where the brief gives it.
pub fn easing_range(former: &FormerChoice) -> Option<(f64, f64)> {
    former.ease.is_none().then_some(EASINGS)
}
