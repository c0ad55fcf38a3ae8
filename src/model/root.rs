//! Roots: how far an arm that grows out of rim or hub yields where it ends.
//!
//! The arm merges into the ring along a wedge that is bounded by one slot only. Seen from the arm this is a spring
//! against twist, one against slope and one against height, each as compliant as a short piece of the arm's own root
//! section. The lengths of those pieces, in root widths, were fitted to 3-D finite-element rates and contact curves of
//! complete discs (`tests/data/discs`), all at once; they are the only fitted numbers of the model.

use std::f64::consts::PI;

use super::element::Element;

/// Length of root section that twists as much as the root does, in root widths.
const TWIST_LENGTH: f64 = 0.65;
/// Length of root section that bends as much as the root does, in root widths.
const SLOPE_LENGTH: f64 = 0.65;
/// Length of root section whose tip sinks as much as the root does, in root widths.
const HEIGHT_LENGTH: f64 = 0.65;

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
    /// The wedge by which an arm of root `width` grows out of its ring; `torsion` and `bending` are the root section's
    /// stiffnesses (N·mm²).
    pub fn wedge(width: f64, torsion: f64, bending: f64) -> Self {
        Self {
            twist: TWIST_LENGTH * width / torsion,
            slope: SLOPE_LENGTH * width / bending,
            height: (HEIGHT_LENGTH * width).powi(3) / (3.0 * bending),
        }
    }

    /// A rim that only rests on the base may roll about its own circle. Ring rolling per arm (Timoshenko, Strength of
    /// Materials II, twisting of a circular ring by couples along its centre line):
    /// `k = 2π E t³ ln(R_out/R_in)/(12 N)`, R_in half a slot and half an arm outside and inside the slot's end.
    pub fn roll(
        &mut self,
        youngs_modulus: f64,
        thickness: f64,
        outer_radius: f64,
        inner_radius: f64,
        arms: usize,
    ) {
        let ratio = (outer_radius / inner_radius).max(1.0 + 1e-6);
        self.twist +=
            12.0 * arms as f64 / (2.0 * PI * youngs_modulus * thickness.powi(3) * ratio.ln());
    }

    /// The root as an element of an arm that leaves in `direction`.
    pub fn element(&self, direction: [f64; 2]) -> Element {
        Element::root(direction, 1.0 / self.twist, 1.0 / self.slope, 1.0 / self.height)
    }
}
