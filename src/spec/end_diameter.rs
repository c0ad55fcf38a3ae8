//! Diameter of the round that ends a slot.

use super::sections::Process;
use super::slot_end::{ONE_PASS, SlotEnds, hole_diameter};

impl Process {
    /// Diameter of the round that ends a slot of width `slot` in a sheet of `thickness` (mm): the slot's own width, or
    /// that of the hole. A slot as wide as the kerf is cut in one pass and ends in the round of the tool.
    pub fn end_diameter(&self, slot: f64, thickness: f64) -> f64 {
        if self.ends.unwrap_or_default() == SlotEnds::Round {
            return slot;
        }
        let table = self.kind().known();
        let kerf = self.kerf.or(table.map(|known| known.kerf.value(thickness, 0.0))).unwrap_or_default();
        if kerf > 0.0 && (slot - kerf).abs() <= ONE_PASS * kerf {
            return slot;
        }
        let radius = self
            .inside_radius_min
            .or(table.map(|known| known.inside_radius_min.value(thickness, kerf)))
            .unwrap_or_default();
        hole_diameter(self.end_diameter, slot, thickness, [kerf, radius])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::{ProcessKind, SlotEnds};

    #[test]
    fn a_hole_is_no_smaller_than_slot_and_tool_allow() {
        let round = Process { kind: Some(ProcessKind::Laser), ..Process::default() };
        assert_eq!(round.end_diameter(0.8, 1.0), 0.8);
        let hole = Process { ends: Some(SlotEnds::Bulb), ..round };
        assert!((hole.end_diameter(0.8, 1.0) - 1.2).abs() < 1e-12);
        assert_eq!(hole.end_diameter(0.2, 1.0), 1.0);
        let own = Process { end_diameter: Some(2.5), ..hole };
        assert_eq!(own.end_diameter(0.8, 1.0), 2.5);
        let one_pass = Process { kerf: Some(0.8), ..own.clone() };
        assert_eq!(one_pass.end_diameter(0.8, 1.0), 0.8);
        let tool = Process { inside_radius_min: Some(2.0), ..own };
        assert_eq!(tool.end_diameter(0.8, 1.0), 4.0);
    }
}
