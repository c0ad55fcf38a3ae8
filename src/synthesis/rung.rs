//! The ladder of arms: from the simplest shape to the freest, with error and good parts of each.

use serde::Serialize;

use super::shape_settings::ShapeFreedom;
use crate::layout::{ArmShape, Spring};

/// Control radii of a monotone arm, and of a free one with few of them.
const FEW_CONTROLS: usize = 6;

/// Difference up to which widths count as the same, relative: the digits of a file.
const SAME_WIDTH: f64 = 2e-3;
/// Pieces between the radii at which the shape of an arm is looked at.
const WIDTH_SAMPLES: usize = 40;

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
    /// share of good parts with thickness and modulus of the sheet known (percent)
    pub good_percent_sheet_measured: f64,
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

    /// As [`Arm::freedom`], a free arm with as many control radii as `spring` has.
    pub(super) fn freedom_of(self, spring: &Spring) -> ShapeFreedom {
        match (self, &spring.shape) {
            (Self::Free, ArmShape::Slots(line)) => {
                ShapeFreedom::Free(line.nominal_width().arguments().len().max(FEW_CONTROLS))
            }
            _ => self.freedom(spring),
        }
    }

    /// The simplest shape that the arm of a spring has, to `SAME_WIDTH`.
    pub fn of(spring: &Spring) -> Self {
        let ArmShape::Slots(line) = &spring.shape else { return Self::Free };
        let (from, to) = (line.inner_radius(), line.outer_radius());
        let widths: Vec<f64> = (0..=WIDTH_SAMPLES)
            .map(|k| line.nominal_width().value(from + (to - from) * k as f64 / WIDTH_SAMPLES as f64))
            .collect();
        let (first, last) = (widths[0], widths[WIDTH_SAMPLES]);
        let same = |a: f64, b: f64| (a - b).abs() <= SAME_WIDTH * b.abs();
        let straight = |k: usize| first + (last - first) * k as f64 / WIDTH_SAMPLES as f64;
        if widths.iter().all(|width| same(*width, first)) {
            Self::Constant
        } else if widths.iter().enumerate().all(|(k, width)| same(*width, straight(k))) {
            Self::Linear
        } else if widths.windows(2).all(|pair| (pair[1] - pair[0]) * (last - first) >= 0.0) {
            Self::Monotone
        } else {
            Self::Free
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::SpringFile;

    fn arm(width: &str) -> Arm {
        let text = format!(
            "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\narms = 2\nslot = 1.4\narm_outer_diameter = 60\n\
             arm_inner_diameter = 20\n[arm]\nradius = [10, 20, 30]\nwidth = {width}\n[former]\nfree_height = 4\n"
        );
        Arm::of(&Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap())
    }

    #[test]
    fn an_arm_is_on_the_lowest_rung_that_has_its_widths() {
        assert_eq!(arm("[3, 3, 3]"), Arm::Constant);
        assert_eq!(arm("[3, 4, 5]"), Arm::Linear);
        assert_eq!(arm("[3, 4.5, 5]"), Arm::Monotone);
        assert_eq!(arm("[5, 4.5, 3]"), Arm::Monotone);
        assert_eq!(arm("[3, 5, 4]"), Arm::Free);
    }
}
