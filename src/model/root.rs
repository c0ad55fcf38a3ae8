//! Roots: how far an arm that grows out of rim or hub yields where it ends.
//!
//! The arm merges into the ring along a wedge that is bounded by one slot only. Seen from the arm this is a spring
//! against twist, one against slope and one against height, each as compliant as a short piece of the arm's own root
//! section. The lengths of those pieces, in root widths, are the only fitted numbers of the model: one fit to all 3-D
//! finite-element rates and contact curves of complete discs at once (`cargo run --release --example root_fit`).

use std::f64::consts::PI;

use super::element::Element;

/// How long a piece of root section yields as much as a root does, in root widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RootLaw {
    /// against twist
    pub twist: f64,
    /// against slope
    pub slope: f64,
    /// against height
    pub height: f64,
    /// how much shorter twist and slope are per w/r
    pub curved: f64,
    /// how much longer twist and slope are where the ring is not held at the slots' ends
    pub ring: f64,
    /// factor on the compliance of a rolling rim
    pub roll: f64,
}

impl Default for RootLaw {
    fn default() -> Self {
        Self { twist: 1.14, slope: 1.09, height: 0.97, curved: 0.94, ring: 0.36, roll: 1.24 }
    }
}

/// What a root yields, as compliances: twist and slope (rad per N·mm), height (mm per N).
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
    /// The wedge by which an arm of root `width` at `radius` grows out of its ring; `torsion` and `bending` are the root
    /// section's stiffnesses (N·mm²).
    pub fn wedge(law: RootLaw, width: f64, radius: f64, torsion: f64, bending: f64, clamped: bool) -> Self {
        let less = law.curved * width / radius - if clamped { 0.0 } else { law.ring };
        // far outside the fitted range, w/r near one, a root still yields a little
        let length = |own: f64| (own - less).max(0.2) * width;
        Self {
            twist: length(law.twist) / torsion,
            slope: length(law.slope) / bending,
            height: (law.height * width).powi(3) / (3.0 * bending),
        }
    }

    /// A rim that only rests on the base may roll about its own circle. Ring rolling per arm (Timoshenko, Strength of
    /// Materials II, twisting of a circular ring by couples along its centre line):
    /// `k = 2π E t³ ln(R_out/R_in)/(12 N)`, R_in half a slot and half an arm outside and inside the slot's end.
    pub fn roll(
        &mut self,
        law: RootLaw,
        youngs_modulus: f64,
        thickness: f64,
        outer_radius: f64,
        inner_radius: f64,
        arms: usize,
    ) {
        let ratio = (outer_radius / inner_radius).max(1.0 + 1e-6);
        self.twist +=
            law.roll * 12.0 * arms as f64 / (2.0 * PI * youngs_modulus * thickness.powi(3) * ratio.ln());
    }

    /// The root as an element of an arm that leaves in `direction`.
    pub fn element(&self, direction: [f64; 2]) -> Element {
        Element::root(direction, 1.0 / self.twist, 1.0 / self.slope, 1.0 / self.height)
    }
}
