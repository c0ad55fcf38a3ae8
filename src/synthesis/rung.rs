//! The ladder of arms: from the simplest shape to the freest, and what each buys.

use serde::Serialize;

use super::shaping::ShapeFreedom;
use crate::layout::{ArmShape, Spring};

/// Control radii of a monotone arm, and of a free one with few of them.
const FEW_CONTROLS: usize = 6;

/// A shape of arm, the simplest first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Arm {
    /// one width
    #[default]
    Constant,
    /// a width linear in the radius
    Linear,
    /// a width that only grows, or only falls, with the radius
    Monotone,
    /// widths at control radii
    Free,
}

/// Shape of the former that goes with an arm.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FormerShape {
    /// a straight cone, eased at the roots
    #[default]
    Cone,
    /// a shaped profile
    Profile,
}

/// A rung of the ladder.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Rung {
    /// the arm
    pub arm: Arm,
    /// the former
    pub former: FormerShape,
    /// root mean square force error (percent of the error base)
    pub rms_percent: f64,
    /// share of good parts as bought (percent)
    pub good_percent: f64,
    /// whether this is the arm of the spring
    pub taken: bool,
}

impl Arm {
    /// All, the simplest first.
    pub const ALL: [Self; 4] = [Self::Constant, Self::Linear, Self::Monotone, Self::Free];

    /// Freedom of the shape; a monotone arm keeps the direction that `spring` has.
    pub(super) fn freedom(self, spring: &Spring) -> ShapeFreedom {
        match self {
            Self::Constant => ShapeFreedom::Constant,
            Self::Linear => ShapeFreedom::LinearTaper,
            Self::Monotone => ShapeFreedom::Monotone { controls: FEW_CONTROLS, outwards: grows(spring) },
            Self::Free => ShapeFreedom::Free(FEW_CONTROLS),
        }
    }

    /// The arm in words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Constant => "constant width",
            Self::Linear => "linear taper",
            Self::Monotone => "monotone taper",
            Self::Free => "free width",
        }
    }
}

/// Whether the width is larger at the rim than at the hub.
fn grows(spring: &Spring) -> bool {
    match &spring.shape {
        ArmShape::Slots(line) => {
            let width = line.nominal_width();
            width.value(line.outer_radius()) >= width.value(line.inner_radius())
        }
        ArmShape::Stations(_) => true,
    }
}
