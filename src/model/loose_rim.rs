//! A rim that rests on the base without being held: it rolls inwards, twists and bends between the arm roots, and may
//! lift.
//!
//! The load of one arm has its resultant on the axis of the disc. On the centre line of the rim (radius R) it is
//! therefore a force 1 downwards and a couple R that rolls the rim inwards, at every arm root. The base carries it where
//! the inner edge of the rim touches: at the root, half-way between two roots, or both. Which share goes where follows
//! from least complementary energy, which is also the condition that neither place penetrates the base. Contact along
//! the whole edge, found as a quadratic programme, gives less than 0.5 % less compliance.
//!
//! The rim is a circular beam with vertical deflection w and roll β (outside up). A mode `cos mθ` has the strains
//! (Timoshenko, Strength of Materials II, circular ring loaded normal to its plane)
//!
//! ```text
//! curvature (β − m² w/R)/R,      twist m (β − w/R)/R
//! ```
//!
//! and m takes the multiples of the number of arms; m = 1 is a rigid tilt. The uniform roll, m = 0, is that of a ring
//! of rectangular section. Half the width of the arm counts as rim, as the arm runs along it.

use std::f64::consts::PI;

use super::section::torsion_constant;

/// Harmonics of the number of arms that are summed; beyond, the load is spread over the width of the arm.
const HARMONICS: usize = 32;

/// Young's modulus over shear modulus of the rim, for Poisson's ratio 0.3.
const YOUNG_OVER_SHEAR: f64 = 2.6;

/// Step of the difference quotients, relative.
const STEP: f64 = 1e-5;

/// Support of the rim by the base.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum RimSupport {
    /// by contact only: the rim bends and may lift between the roots. Nearer to the solids in force before the first
    /// seating; afterwards the twist at the rim's root comes out too low for the stress there, because the compliance is
    /// that of a load on the axis and the seated arm holds the root down
    Loose,
    /// by a ring under its outer edge, attached all round: the rim rolls, but does not lift
    #[default]
    Round,
}

/// A rim that is not held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollingRim {
    /// Young's modulus (MPa)
    pub youngs_modulus: f64,
    /// thickness (mm)
    pub thickness: f64,
    /// outside of the rim (mm)
    pub outer_radius: f64,
    /// inside of the rim for an arm of no width: slot radius and half a slot (mm)
    pub inner_radius: f64,
    /// number of arms that share the rim
    pub arms: usize,
    /// support by the base
    pub support: RimSupport,
    /// factor on the compliance
    pub factor: f64,
}

/// Slopes of the compliance of a rolling rim over the numbers of the root's section and of the sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct RimSlopes {
    /// over the radial width
    pub by_width: f64,
    /// over the radius
    pub by_radius: f64,
    /// over the thickness
    pub by_thickness: f64,
    /// over Young's modulus
    pub by_youngs_modulus: f64,
}

impl RollingRim {
    /// Twist of the root for a unit torque (rad per N·mm), with `root_width` and `root_radius` of the arm there (mm).
    pub fn compliance(&self, root_width: f64, root_radius: f64) -> f64 {
        let inner = self.inside(root_width);
        let compliance = match self.support {
            RimSupport::Loose => self.axial_compliance(inner) / (root_radius * root_radius),
            RimSupport::Round => self.uniform(inner),
        };
        self.factor * compliance
    }

    /// Slopes of [`Self::compliance`].
    pub fn slopes(&self, root_width: f64, root_radius: f64) -> RimSlopes {
        let own = self.compliance(root_width, root_radius);
        let thicker = |share: f64| {
            let rim = Self { thickness: self.thickness * (1.0 + share), ..*self };
            rim.compliance(root_width, root_radius)
        };
        let wider = |share: f64| self.compliance(root_width * (1.0 + share), root_radius);
        RimSlopes {
            by_width: (wider(STEP) - wider(-STEP)) / (2.0 * STEP * root_width),
            by_radius: match self.support {
                RimSupport::Loose => -2.0 * own / root_radius,
                RimSupport::Round => 0.0,
            },
            by_thickness: (thicker(STEP) - thicker(-STEP)) / (2.0 * STEP * self.thickness),
            by_youngs_modulus: -own / self.youngs_modulus,
        }
    }

    /// Inside of the rim (mm) where half an arm of `root_width` counts as rim.
    fn inside(&self, root_width: f64) -> f64 {
        (self.inner_radius - 0.5 * root_width).clamp(0.05 * self.outer_radius, 0.9999 * self.outer_radius)
    }

    /// Compliance of one arm's share of a ring that rolls alike all round (rad per N·mm). Twisting of a circular ring by
    /// couples along its centre line (Timoshenko, Strength of Materials II): `k = 2π E t³ ln(R_out/R_in)/(12 N)`.
    fn uniform(&self, inner: f64) -> f64 {
        12.0 * self.arms as f64
            / (2.0 * PI * self.youngs_modulus * self.thickness.powi(3) * (self.outer_radius / inner).ln())
    }

    /// Travel of the load of one arm along the axis that the rim gives, per force (mm/N).
    fn axial_compliance(&self, inner: f64) -> f64 {
        let (e, t, count) = (self.youngs_modulus, self.thickness, self.arms as f64);
        let (width, radius) = (self.outer_radius - inner, 0.5 * (self.outer_radius + inner));
        let bending = e * width * t.powi(3) / 12.0;
        let torsion = e / YOUNG_OVER_SHEAR * torsion_constant(width, t).value;
        // load cases: carried at the root, half-way between roots (one arm: a quarter turn to either side)
        let half_way = |harmonic: usize| match (self.arms, harmonic % 4) {
            (1, 0) => 1.0,
            (1, 2) => -1.0,
            (1, _) => 0.0,
            _ if harmonic.is_multiple_of(2) => 1.0,
            _ => -1.0,
        };
        let roll = self.uniform(inner) * inner * inner;
        let (mut root, mut mixed, mut middle) = (roll, roll, roll);
        for harmonic in 1..=HARMONICS {
            let m = (harmonic * self.arms) as f64;
            if m == 1.0 {
                continue;
            }
            let m2 = m * m;
            // stiffness over (β, w), common factor 1/R²
            let k11 = bending + torsion * m2;
            let k12 = -(bending + torsion) * m2 / radius;
            let k22 = (bending * m2 + torsion) * m2 / (radius * radius);
            let determinant = bending * torsion * m2 * (m2 - 1.0).powi(2) / (radius * radius);
            let scale = count / (PI * radius) * radius * radius / determinant;
            let energy = |a: [f64; 2], b: [f64; 2]| {
                scale * (k22 * a[0] * b[0] - k12 * (a[0] * b[1] + a[1] * b[0]) + k11 * a[1] * b[1])
            };
            let share = half_way(harmonic);
            let at_root = [inner, 0.0];
            let at_middle = [radius - (radius - inner) * share, share - 1.0];
            root += energy(at_root, at_root);
            mixed += energy(at_root, at_middle);
            middle += energy(at_middle, at_middle);
        }
        let curvature = root - 2.0 * mixed + middle;
        let share = if curvature > 0.0 { ((root - mixed) / curvature).clamp(0.0, 1.0) } else { 0.0 };
        let rest = 1.0 - share;
        rest * rest * root + 2.0 * share * rest * mixed + share * share * middle
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn rim(arms: usize) -> RollingRim {
        RollingRim {
            youngs_modulus: 185e3,
            thickness: 1.5,
            outer_radius: 35.745,
            inner_radius: 32.055,
            arms,
            support: RimSupport::Loose,
            factor: 1.0,
        }
    }

    /// Contact at 50 places along both edges of half a sector, solved as non-negative least squares with
    /// `scipy.optimize.nnls`, the same beam theory with 32 harmonics.
    #[test]
    fn two_places_carry_what_an_edge_carries() {
        let cases = [
            (185e3, 1.5, 2, 35.745, 32.055, 2.469, 0.06687),
            (185e3, 2.0, 2, 45.0, 38.895, 4.89, 0.02807),
            (206e3, 1.5, 3, 46.6, 40.6, 4.0, 0.0856),
            (206e3, 0.8, 4, 30.2, 25.4, 3.2, 0.2008),
            (206e3, 0.7, 6, 34.0, 30.4, 2.4, 0.9709),
            (206e3, 0.6, 2, 54.5, 45.5, 6.0, 1.042),
        ];
        for (youngs_modulus, thickness, arms, outer_radius, inner_radius, width, expected) in cases {
            let rim = RollingRim {
                youngs_modulus,
                thickness,
                outer_radius,
                inner_radius,
                arms,
                support: RimSupport::Loose,
                factor: 1.0,
            };
            assert_relative_eq!(rim.axial_compliance(rim.inside(width)), expected, max_relative = 6e-3);
        }
    }

    /// Many arms load the rim evenly: what is left is the closed form of the uniform roll.
    #[test]
    fn many_arms_roll_the_rim_evenly() {
        let rim = rim(60);
        let inner = rim.inside(0.5);
        assert_relative_eq!(
            rim.axial_compliance(inner),
            rim.uniform(inner) * inner * inner,
            max_relative = 0.01
        );
        // fewer arms load it less evenly
        let excess = |arms: usize| {
            let rim = RollingRim { arms, ..rim };
            rim.axial_compliance(inner) / (rim.uniform(inner) * inner * inner)
        };
        assert!(excess(2) > excess(3) && excess(3) > excess(6) && excess(2) > 1.5);
    }

    #[test]
    fn a_single_arm_tilts_its_rim_without_energy() {
        let one = rim(1).compliance(2.5, 30.0);
        assert!(one.is_finite() && one > rim(1).uniform(rim(1).inside(2.5)));
    }

    #[test]
    fn slopes_agree_with_scaling() {
        let rim = rim(3);
        let (w, r) = (2.5, 30.0);
        let slopes = rim.slopes(w, r);
        // all lengths larger by a share: rad per N·mm falls with the third power
        let grown = |share: f64| {
            let scale = 1.0 + share;
            let grown = RollingRim {
                thickness: rim.thickness * scale,
                outer_radius: rim.outer_radius * scale,
                inner_radius: rim.inner_radius * scale,
                ..rim
            };
            grown.compliance(w * scale, r * scale)
        };
        let h = 1e-4;
        let by_scale = (grown(h) - grown(-h)) / (2.0 * h);
        assert_relative_eq!(by_scale, -3.0 * rim.compliance(w, r), max_relative = 1e-6);
        // nearly as the third power of the thickness; a wider arm leaves more rim
        let by_thickness = slopes.by_thickness * rim.thickness / rim.compliance(w, r);
        assert!((-3.0..-2.7).contains(&by_thickness), "{by_thickness}");
        assert!(slopes.by_width < 0.0 && slopes.by_radius < 0.0 && slopes.by_youngs_modulus < 0.0);
    }
}
