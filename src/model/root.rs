//! Roots: compliance of the ends of an arm, where it merges into rim or hub.
//!
//! The arm merges into the ring along a wedge that is bounded by one slot only. For the arm this is a spring against
//! twist, one against slope and one against height, each as compliant as a short piece of the arm's own root section.
//! The lengths of those pieces, in root widths, are fitted to 3-D finite elements at once: rates of flat discs, contact curves of
//! complete discs and of designed springs, each curve counting as two rates, with the whole model and with the length over
//! which contact begins at the rim (`touch`). The fit is flat: lengths a tenth apart, changed together, are as good within
//! 2 % of what is left. `cargo run --release --example root_fit` makes it again from the lengths that stand here.

use super::centre_line::Section;
use super::element::Element;
use super::loose_rim::{RestingRim, RimSupport};

/// Least length of a root, in root widths.
const LEAST_LENGTH: f64 = 0.2;

/// Length of a piece of root section that has the compliance of a root, in root widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RootLaw {
    /// against twist
    pub twist: f64,
    /// against slope
    pub slope: f64,
    /// against height
    pub height: f64,
    /// decrease of the lengths against twist and slope per w/r
    pub curved: f64,
    /// increase of the lengths against twist and slope where the ring is not held at the slots' ends
    pub ring: f64,
    /// factor on the compliance of a rim that is supported all round
    pub roll: f64,
    /// factor on the compliance of a loose rim, which is calculated, not fitted: 1
    pub loose: f64,
    /// support of a resting rim by the base
    pub support: RimSupport,
}

impl Default for RootLaw {
    fn default() -> Self {
        Self {
            twist: 0.94,
            slope: 1.0,
            height: 0.62,
            curved: 0.61,
            ring: 0.35,
            roll: 1.19,
            loose: 1.0,
            support: RimSupport::Loose,
        }
    }
}

/// Root compliances: twist and slope (rad per N·mm), height (mm per N), twist for a force (rad per N).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct RootCompliance {
    /// rad per N·mm
    pub twist: f64,
    /// rad per N·mm
    pub slope: f64,
    /// mm per N
    pub height: f64,
    /// rad per N, and mm per N·mm
    pub mixed: f64,
}

impl RootCompliance {
    /// The wedge by which an arm grows out of its ring; a ring held at the slots' ends is `clamped`.
    pub fn wedge(law: RootLaw, root: &Section, clamped: bool) -> Self {
        let (width, [twist, slope]) = (root.radial_width, law.lengths(root, clamped));
        Self {
            twist: twist * width / root.torsion,
            slope: slope * width / root.bending,
            height: (law.height * width).powi(3) / (3.0 * root.bending),
            mixed: 0.0,
        }
    }

    /// Adds the compliance of a resting rim.
    pub fn rest(&mut self, rim: &RestingRim, root: &Section) {
        let [twist, height, mixed] = rim.compliance(root.radial_width, root.radius);
        self.twist += twist;
        self.height += height;
        self.mixed += mixed;
    }

    /// The root as an element of an arm that leaves in `direction`, a unit vector in the plane.
    pub fn element(&self, direction: [f64; 2]) -> Element {
        Element::root(direction, [self.twist, self.slope, self.height], self.mixed)
    }
}

impl RootLaw {
    /// Factor on the compliance of a rim under the support of this law.
    pub fn rim_factor(&self) -> f64 {
        match self.support {
            RimSupport::Loose => self.loose,
            RimSupport::Round => self.roll,
        }
    }

    /// Lengths against twist and slope, in root widths. Far outside the fitted range, w/r near one, a root still has
    /// some compliance.
    fn lengths(&self, root: &Section, clamped: bool) -> [f64; 2] {
        let ring = if clamped { 0.0 } else { self.ring };
        let less = self.curved * root.radial_width / root.radius - ring;
        [(self.twist - less).max(LEAST_LENGTH), (self.slope - less).max(LEAST_LENGTH)]
    }
}

/// Slopes of a root's compliances (twist, slope, height, twist for a force) over the numbers of its section.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct RootSlopes {
    /// over the torsional stiffness
    pub by_torsion: [f64; 4],
    /// over the bending stiffness
    pub by_bending: [f64; 4],
    /// over the radial width
    pub by_width: [f64; 4],
    /// over the radius
    pub by_radius: [f64; 4],
    /// over the thickness where it stands by itself
    pub by_thickness: [f64; 4],
    /// over Young's modulus where it stands by itself
    pub by_youngs_modulus: [f64; 4],
}

impl RootSlopes {
    /// Slopes of the wedge and, where the rim rolls, of its share.
    pub fn of(law: RootLaw, root: &Section, clamped: bool, rim: Option<&RestingRim>) -> Self {
        let wedge = RootCompliance::wedge(law, root, clamped);
        let (w, r) = (root.radial_width, root.radius);
        let lengths = law.lengths(root, clamped);
        let bound = lengths.map(|length| length <= LEAST_LENGTH);
        let stiffness = [root.torsion, root.bending];
        let mut slopes = Self {
            by_torsion: [-wedge.twist / root.torsion, 0.0, 0.0, 0.0],
            by_bending: [0.0, -wedge.slope / root.bending, -wedge.height / root.bending, 0.0],
            by_width: [0.0, 0.0, 3.0 * wedge.height / w, 0.0],
            ..Self::default()
        };
        for k in 0..2 {
            let curved = if bound[k] { 0.0 } else { law.curved };
            slopes.by_width[k] = (lengths[k] - curved * w / r) / stiffness[k];
            slopes.by_radius[k] = curved * w * w / (r * r) / stiffness[k];
        }
        if let Some(rim) = rim {
            let rim = rim.slopes(w, r);
            for (place, k) in [(0, 0), (2, 1), (3, 2)] {
                slopes.by_width[place] += rim.by_width[k];
                slopes.by_radius[place] += rim.by_radius[k];
                slopes.by_thickness[place] += rim.by_thickness[k];
                slopes.by_youngs_modulus[place] += rim.by_youngs_modulus[k];
            }
        }
        slopes
    }
}
