//! Ends of the slots: shapes and the diameter of their round.

use serde::{Deserialize, Serialize};

/// Share of the kerf within which a slot counts as wide as the kerf: it is cut in one pass along its centre line.
pub(crate) const ONE_PASS: f64 = 0.01;

/// Shape of a slot's end.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum SlotEnds {
    /// a half circle as wide as the slot
    #[default]
    Round,
    /// a larger hole that reaches into rim and hub, not into the arm
    Keyhole,
    /// a larger hole centred on the end of the slot's centre line
    Bulb,
}

/// Diameter of the hole at the end of a keyhole or bulb slot (mm): as `asked`, else max(2 kerf, 1.5 slot, t), common
/// practice, no source; no smaller than the slot and the inside radius of the process allow.
pub(crate) fn hole_diameter(
    asked: Option<f64>,
    slot: f64,
    thickness: f64,
    [kerf, inside_radius_min]: [f64; 2],
) -> f64 {
    let wanted = asked.unwrap_or_else(|| (2.0 * kerf).max(1.5 * slot).max(thickness));
    wanted.max(2.0 * inside_radius_min).max(slot)
}
