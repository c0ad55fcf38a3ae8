//! From a measured drawing to the spring cut from it: sheet, former and seat are not in a drawing and are given.

use super::MeasuredDisc;
use crate::layout::{ArmPath, ArmShape, Disc, FormerProfile, LayoutError, SheetProperties, Spring};
use crate::spec::{Roots, Seat};

/// Stations at which the former's heights are taken; the cubic through them follows the easing at the roots closely.
const STATIONS: usize = 480;

impl MeasuredDisc {
    /// The spring that this disc becomes when it is cut from `sheet`, set to `former` and seated as `seat` says.
    ///
    /// Arms that differ are averaged ([`MeasuredDisc::unevenness`] says by how much they do).
    pub fn spring(
        &self,
        sheet: SheetProperties,
        former: FormerProfile,
        seat: Seat,
    ) -> Result<Spring, LayoutError> {
        let count = self.slots.len() as f64;
        let mean =
            |radius: fn(&super::MeasuredSlot) -> f64| self.slots.iter().map(radius).sum::<f64>() / count;
        let arm = ArmPath::on_former(&self.stations(), &former, STATIONS)?;
        Ok(Spring {
            sheet,
            arms: self.arms.len(),
            slot: self.slot_width(),
            disc: Disc {
                outer_radius: self.outer_radius,
                bore_radius: self.bore_radius,
                slot_outer_radius: mean(|slot| slot.rim_end[1]),
                slot_inner_radius: mean(|slot| slot.hub_end[1]),
                rim_clamp_radius: None,
                hub_clamp_radius: None,
            },
            shape: ArmShape::Stations(arm.stations().collect()),
            roots: Roots::Disc,
            former,
            seat,
        })
    }
}
