//! Causes of scatter in a batch of parts and their effect on one part.

use serde::Serialize;

use super::deviation::Deviation;

/// Cause of scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Cause {
    /// the sheet's thickness
    Thickness,
    /// both moduli, by one factor
    Modulus,
    /// the kerf, and with it the width of every arm
    Kerf,
    /// the height the spring was set to
    FreeHeight,
    /// the kerf's growth while nozzle or wire wear
    KerfDrift,
    /// how far the cut edges lean
    EdgeSlope,
    /// the former's shape between rim and hub
    Cone,
}

/// Causes of scatter.
pub const CAUSES: usize = 7;

impl Cause {
    /// All of them, in the order of every list over causes.
    pub const ALL: [Self; CAUSES] = [
        Self::Thickness,
        Self::Modulus,
        Self::Kerf,
        Self::FreeHeight,
        Self::KerfDrift,
        Self::EdgeSlope,
        Self::Cone,
    ];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Thickness => "thickness",
            Self::Modulus => "modulus",
            Self::Kerf => "kerf (arm width)",
            Self::FreeHeight => "free height",
            Self::KerfDrift => "kerf drift",
            Self::EdgeSlope => "edge slope",
            Self::Cone => "cone",
        }
    }

    /// Unit of its amount.
    pub fn unit(self) -> &'static str {
        if self == Self::Modulus { "%" } else { "mm" }
    }

    /// Remedy that narrows it.
    pub(super) fn remedy(self) -> &'static str {
        match self {
            Self::Thickness => {
                "order a closer thickness class, or measure the sheet and shape the spring for it"
            }
            Self::Modulus => "take sheet of one melt and correct the design from a measured first part",
            Self::Kerf => "hold the kerf closer, or take fewer, wider arms",
            Self::FreeHeight => "set the height closer, or set each part to its force",
            Self::KerfDrift => "change nozzle or wire sooner, or renew the offset within the batch",
            Self::EdgeSlope => "hold the widths at mid-thickness, or cut slower",
            Self::Cone => "turn the former closer, and let the spring rest on all of it",
        }
    }

    /// Index into [`Deviation::values`] of what it changes, and by how much per unit.
    ///
    /// Widths are held at the face where the cut enters: an edge that leans more leaves the arm wider by as much at
    /// mid-thickness, half from either edge. That the section is then a trapezoid changes its stiffness by less than
    /// 0.4 % (derived from the torsion of thin trapezoids) and is left out.
    pub(super) fn effect(self) -> (usize, f64) {
        match self {
            Self::Thickness => (0, 1.0),
            Self::Modulus => (1, 1.0),
            Self::Kerf | Self::KerfDrift => (2, 1.0),
            Self::EdgeSlope => (2, -1.0),
            Self::FreeHeight => (3, 1.0),
            Self::Cone => (4, 1.0),
        }
    }

    /// The part on which every cause is off by its amount.
    pub fn part(amounts: [f64; CAUSES]) -> Deviation {
        let mut values = Deviation::default().values();
        for (cause, amount) in Self::ALL.into_iter().zip(amounts) {
            let (effect, factor) = cause.effect();
            values[effect] += factor * amount;
        }
        Deviation::from_values(values)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn causes_add_up_where_they_change_the_same() {
        let part = Cause::part([0.01, 2.0, 0.05, -0.1, 0.02, 0.03, 0.04]);
        assert!((part.kerf_mm - 0.04).abs() < 1e-12, "{}", part.kerf_mm);
        let values = [part.thickness_mm, part.modulus_percent, part.free_height_mm, part.cone_mm];
        assert_eq!(values, [0.01, 2.0, -0.1, 0.04]);
        assert_eq!(part.end_compliance_percent, 0.0);
    }
}
