//! Pieces between the discs of an assembly.

use crate::spec::{AssemblyKind, AssemblyMember, Stacking};

/// Thickness of a plate between two rims (mm). Common practice.
pub const PLATE_MM: f64 = 2.0;

/// Thickness of the shoulder under a third disc, on the rod of an opposed pair (mm). Common practice.
pub const SHOULDER_MM: f64 = 4.0;

/// Thickness of the outer plates over that of the thickest disc, and the least (mm). Judgement: stiff beside the discs.
const OUTER_PLATE: (f64, f64) = (4.0, 6.0);

/// Thickness of an outer plate (mm), the thickest disc being `thickest` (mm).
pub fn outer_plate_mm(thickest: f64) -> f64 {
    (OUTER_PLATE.0 * thickest).max(OUTER_PLATE.1)
}

/// Pieces between the discs of one member, and between it and the next one.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Spacers {
    /// hub pieces, each between two hubs
    pub hub_pieces: usize,
    /// thickness of each (mm)
    pub hub_piece_mm: f64,
    /// plates of [`PLATE_MM`], each between two rims
    pub plates: usize,
}

impl Spacers {
    /// Numbers of pieces of member `k` of `members`, each hub piece `hub_piece_mm` thick.
    pub fn of(
        kind: AssemblyKind,
        k: usize,
        members: usize,
        member: &AssemblyMember,
        hub_piece_mm: f64,
    ) -> Self {
        let (count, stacked) = (member.count, member.stacked.unwrap_or_default());
        let (mut hub_pieces, mut plates) = match stacked {
            // hub on hub, rim on rim, and so on
            Stacking::Series => (count / 2, (count - 1) / 2),
            Stacking::Parallel => (0, 0),
        };
        if k == 0 && members > 1 && kind != AssemblyKind::Parallel {
            // a stack of an even number ends with a rim
            if stacked == Stacking::Series && count.is_multiple_of(2) { plates += 1 } else { hub_pieces += 1 }
        }
        Self { hub_pieces, hub_piece_mm: if hub_pieces > 0 { hub_piece_mm } else { 0.0 }, plates }
    }

    /// As [`Spacers::of`], from the thickness of all pieces together that the member's file has.
    pub fn read(kind: AssemblyKind, k: usize, members: usize, member: &AssemblyMember) -> Self {
        let numbers = Self::of(kind, k, members, member, 0.0);
        let left = member.spacer - PLATE_MM * numbers.plates as f64;
        let each = if numbers.hub_pieces > 0 { left.max(0.0) / numbers.hub_pieces as f64 } else { 0.0 };
        Self { hub_piece_mm: each, ..numbers }
    }

    /// Thickness of all pieces together (mm).
    pub fn total(&self) -> f64 {
        self.hub_pieces as f64 * self.hub_piece_mm + self.plates as f64 * PLATE_MM
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_discs_in_series_have_two_hub_pieces_and_a_plate() {
        let member = AssemblyMember {
            folder: "disc".to_owned(),
            side: None,
            count: 4,
            stacked: Some(Stacking::Series),
            installed: 0.0,
            spacer: 8.0,
        };
        let spacers = Spacers::read(AssemblyKind::Series, 0, 1, &member);
        assert_eq!(spacers, Spacers { hub_pieces: 2, hub_piece_mm: 3.0, plates: 1 });
        assert!((spacers.total() - 8.0).abs() < 1e-12);
        // the last disc of an odd number stands on a plate, its hub free for the load
        let three = Spacers::of(AssemblyKind::Series, 0, 1, &AssemblyMember { count: 3, ..member }, 3.0);
        assert_eq!((three.hub_pieces, three.plates), (1, 1));
    }
}
