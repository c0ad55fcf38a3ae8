//! Roots: compliance of the ends of an arm, where it merges into rim or hub.
//!
//! The arm merges into the ring along a wedge that is bounded by one slot only. For the arm this is a spring against
//! twist, one against slope and one against height, each as compliant as a short piece of the arm's own root section.
//! The lengths of those pieces, in root widths, are the only fitted numbers of the model: one fit to all 3-D
//! finite-element rates and contact curves of complete discs at once (`cargo run --release --example root_fit`).

use super::chain::Segment;
use super::element::Element;
use super::loose_rim::{RimSupport, RollingRim};

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
            twist: 1.14,
            slope: 1.09,
            height: 0.97,
            curved: 0.94,
            ring: 0.36,
            roll: 1.24,
            loose: 1.0,
            support: RimSupport::Round,
        }
    }
}

/// Root compliances: twist and slope (rad per N·mm), height (mm per N).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RootCompliance {
    /// rad per N·mm
    pub twist: f64,
    /// rad per N·mm
    pub slope: f64,
    /// mm per N
    pub height: f64,
}

impl RootCompliance {
    /// The wedge by which an arm grows out of its ring; a ring held at the slots' ends is `clamped`.
    pub fn wedge(law: RootLaw, root: &Segment, clamped: bool) -> Self {
        let (width, [twist, slope]) = (root.radial_width, law.lengths(root, clamped));
        Self {
            twist: twist * width / root.torsion,
            slope: slope * width / root.bending,
            height: (law.height * width).powi(3) / (3.0 * root.bending),
        }
    }

    /// Adds the compliance of a resting rim.
    pub fn roll(&mut self, rim: &RollingRim, root: &Segment) {
        self.twist += rim.compliance(root.radial_width, root.radius);
    }

    /// The root as an element of an arm that leaves in `direction`, a unit vector in the plane.
    pub fn element(&self, direction: [f64; 2]) -> Element {
        Element::root(direction, 1.0 / self.twist, 1.0 / self.slope, 1.0 / self.height)
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
    fn lengths(&self, root: &Segment, clamped: bool) -> [f64; 2] {
        let ring = if clamped { 0.0 } else { self.ring };
        let less = self.curved * root.radial_width / root.radius - ring;
        [(self.twist - less).max(LEAST_LENGTH), (self.slope - less).max(LEAST_LENGTH)]
    }
}

/// Slopes of a root's compliances (twist, slope, height) over the numbers of its section.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct RootSlopes {
    /// over the torsional stiffness
    pub by_torsion: [f64; 3],
    /// over the bending stiffness
    pub by_bending: [f64; 3],
    /// over the radial width
    pub by_width: [f64; 3],
    /// over the radius
    pub by_radius: [f64; 3],
    /// over the thickness where it stands by itself
    pub by_thickness: [f64; 3],
    /// over Young's modulus where it stands by itself
    pub by_youngs_modulus: [f64; 3],
}

impl RootSlopes {
    /// Slopes of the wedge and, where the rim rolls, of its share.
    pub fn of(law: RootLaw, root: &Segment, clamped: bool, rim: Option<&RollingRim>) -> Self {
        let wedge = RootCompliance::wedge(law, root, clamped);
        let (w, r) = (root.radial_width, root.radius);
        let lengths = law.lengths(root, clamped);
        let bound = lengths.map(|length| length <= LEAST_LENGTH);
        let stiffness = [root.torsion, root.bending];
        let mut slopes = Self {
            by_torsion: [-wedge.twist / root.torsion, 0.0, 0.0],
            by_bending: [0.0, -wedge.slope / root.bending, -wedge.height / root.bending],
            by_width: [0.0, 0.0, 3.0 * wedge.height / w],
            ..Self::default()
        };
        for k in 0..2 {
            let curved = if bound[k] { 0.0 } else { law.curved };
            slopes.by_width[k] = (lengths[k] - curved * w / r) / stiffness[k];
            slopes.by_radius[k] = curved * w * w / (r * r) / stiffness[k];
        }
        if let Some(rim) = rim {
            let rim = rim.slopes(w, r);
            slopes.by_width[0] += rim.by_width;
            slopes.by_radius[0] += rim.by_radius;
            slopes.by_thickness[0] += rim.by_thickness;
            slopes.by_youngs_modulus[0] += rim.by_youngs_modulus;
        }
        slopes
    }
}
