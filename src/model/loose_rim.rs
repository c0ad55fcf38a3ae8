//! A rim that rests on the base without being held: it rolls inwards, twists and bends between the arm roots, and may
//! lift.
//!
//! The base carries it where its inner edge touches: half-way between two roots, at the root, or both. The inner edge of the
//! arm is the rim's at the root, and contact there is that of the arm; half-way between, the rim's own node may lift
//! ([`super::element::Element::lift`]). What is calculated here is how the root moves against that place: the rim is a
//! circular beam with vertical deflection w and roll β (outside up), loaded at every root by the arm's force and couple and
//! held at its inner edge half-way between. A mode `cos mθ` has the strains (Timoshenko, Strength of Materials II, circular
//! ring loaded normal to its plane)
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
    /// by contact only: the rim bends between the roots and may lift there and half-way between them
    #[default]
    Loose,
    /// by a ring under its outer edge, attached all round: the rim rolls, but does not lift
    Round,
}

/// A rim that is not held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestingRim {
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

/// Compliances of a rim at a root: twist (rad per N·mm), height (mm/N), twist for a force (rad/N).
pub type RimCompliance = [f64; 3];

/// Slopes of the compliances over the numbers of the root's section and of the sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct RimSlopes {
    /// over the radial width
    pub by_width: RimCompliance,
    /// over the radius
    pub by_radius: RimCompliance,
    /// over the thickness
    pub by_thickness: RimCompliance,
    /// over Young's modulus
    pub by_youngs_modulus: RimCompliance,
}

/// A couple on the rim (rolling its outside up) and a force (upwards), at one root, and half-way between two roots.
#[derive(Debug, Clone, Copy)]
struct Load {
    root: [f64; 2],
    half_way: [f64; 2],
}

impl RestingRim {
    /// Compliances of the root for torque and force of the arm, with `root_width` and `root_radius` of the arm there (mm).
    pub fn compliance(&self, root_width: f64, root_radius: f64) -> RimCompliance {
        let inner = self.inside(root_width);
        let compliance = match self.support {
            RimSupport::Loose => self.between(inner, root_radius),
            RimSupport::Round => [self.uniform(inner), 0.0, 0.0],
        };
        compliance.map(|compliance| self.factor * compliance)
    }

    /// Slopes of [`Self::compliance`].
    pub fn slopes(&self, root_width: f64, root_radius: f64) -> RimSlopes {
        let own = self.compliance(root_width, root_radius);
        let quotient = |at: f64, compliance: &dyn Fn(f64) -> RimCompliance| {
            let (low, high) = (compliance(1.0 - STEP), compliance(1.0 + STEP));
            std::array::from_fn(|k| (high[k] - low[k]) / (2.0 * STEP * at))
        };
        RimSlopes {
            by_width: quotient(root_width, &|share| self.compliance(root_width * share, root_radius)),
            by_radius: quotient(root_radius, &|share| self.compliance(root_width, root_radius * share)),
            by_thickness: quotient(self.thickness, &|share| {
                Self { thickness: self.thickness * share, ..*self }.compliance(root_width, root_radius)
            }),
            by_youngs_modulus: own.map(|own| -own / self.youngs_modulus),
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

    /// Motion of the root against the inner edge of the rim half-way between two roots.
    fn between(&self, inner: f64, root_radius: f64) -> RimCompliance {
        let radius = 0.5 * (self.outer_radius + inner);
        let torque = Load { root: [-1.0, 0.0], half_way: [0.0; 2] };
        let force = Load { root: [root_radius - radius, 1.0], half_way: [radius - inner, -1.0] };
        let energy = self.energies(inner, [torque, force]);
        [energy[0][0], energy[1][1], energy[0][1]]
    }

    /// Work of each of two loads on the motion of each: the matrix of compliances.
    fn energies(&self, inner: f64, loads: [Load; 2]) -> [[f64; 2]; 2] {
        let (e, t, count) = (self.youngs_modulus, self.thickness, self.arms as f64);
        let (width, radius) = (self.outer_radius - inner, 0.5 * (self.outer_radius + inner));
        let bending = e * width * t.powi(3) / 12.0;
        let torsion = e / YOUNG_OVER_SHEAR * torsion_constant(width, t).value;
        // one arm: a quarter turn to either side
        let half_way = |harmonic: usize| match (self.arms, harmonic % 4) {
            (1, 0) => 1.0,
            (1, 2) => -1.0,
            (1, _) => 0.0,
            _ if harmonic.is_multiple_of(2) => 1.0,
            _ => -1.0,
        };
        let roll = loads.map(|load| load.root[0] + load.half_way[0]);
        let uniform = self.uniform(inner);
        let mut work = [[0.0; 2]; 2];
        for (i, row) in work.iter_mut().enumerate() {
            for (j, cell) in row.iter_mut().enumerate() {
                *cell = uniform * roll[i] * roll[j];
            }
        }
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
            let share = half_way(harmonic);
            let parts = loads.map(|load| [0, 1].map(|k| load.root[k] + share * load.half_way[k]));
            for (a, row) in parts.iter().zip(work.iter_mut()) {
                for (b, cell) in parts.iter().zip(row.iter_mut()) {
                    *cell +=
                        scale * (k22 * a[0] * b[0] - k12 * (a[0] * b[1] + a[1] * b[0]) + k11 * a[1] * b[1]);
                }
            }
        }
        work
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn rim(arms: usize) -> RestingRim {
        RestingRim {
            youngs_modulus: 185e3,
            thickness: 1.5,
            outer_radius: 35.745,
            inner_radius: 32.055,
            arms,
            support: RimSupport::Loose,
            factor: 1.0,
        }
    }

    /// Travel of the load of one arm on the axis for a unit of it, where the base may carry the rim at the root as well: least
    /// complementary energy over the share that goes half-way.
    fn axial(rim: &RestingRim, inner: f64) -> f64 {
        let radius = 0.5 * (rim.outer_radius + inner);
        // force 1 down on the axis: a couple R at the root; what the base carries there goes straight through
        let at_root = Load { root: [inner, 0.0], half_way: [0.0; 2] };
        let moved = Load { root: [radius - inner, -1.0], half_way: [inner - radius, 1.0] };
        let [[root, mixed], [_, moving]] = rim.energies(inner, [at_root, moved]);
        let share = (-mixed / moving).clamp(0.0, 1.0);
        root + 2.0 * share * mixed + share * share * moving
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
            let rim = RestingRim {
                youngs_modulus,
                thickness,
                outer_radius,
                inner_radius,
                arms,
                support: RimSupport::Loose,
                factor: 1.0,
            };
            assert_relative_eq!(axial(&rim, rim.inside(width)), expected, max_relative = 6e-3);
        }
    }

    /// Many arms load the rim evenly: what is left is the closed form of the uniform roll.
    #[test]
    fn many_arms_roll_the_rim_evenly() {
        let rim = rim(60);
        let inner = rim.inside(0.5);
        assert_relative_eq!(axial(&rim, inner), rim.uniform(inner) * inner * inner, max_relative = 0.01);
        // fewer arms load it less evenly
        let excess = |arms: usize| {
            let rim = RestingRim { arms, ..rim };
            axial(&rim, inner) / (rim.uniform(inner) * inner * inner)
        };
        assert!(excess(2) > excess(3) && excess(3) > excess(6) && excess(2) > 1.5);
    }

    #[test]
    fn compliances_store_energy_whatever_the_load_and_a_rim_held_all_round_only_rolls() {
        for arms in [1, 2, 3, 6] {
            let [twist, height, mixed] = rim(arms).compliance(2.5, 30.0);
            assert!(twist > 0.0 && height > 0.0 && twist * height > mixed * mixed, "{arms} arms");
        }
        let round = RestingRim { support: RimSupport::Round, ..rim(3) }.compliance(2.5, 30.0);
        assert_eq!(round[1..], [0.0, 0.0]);
        // a torque about the tangent lifts the root off the edge that is held further in
        assert!(rim(3).compliance(2.5, 33.0)[2] < 0.0);
    }

    #[test]
    fn slopes_agree_with_scaling() {
        let rim = rim(3);
        let (w, r) = (2.5, 30.0);
        let slopes = rim.slopes(w, r);
        // all lengths larger by a share: rad per N·mm falls with the third power
        let grown = |share: f64| {
            let scale = 1.0 + share;
            let grown = RestingRim {
                thickness: rim.thickness * scale,
                outer_radius: rim.outer_radius * scale,
                inner_radius: rim.inner_radius * scale,
                ..rim
            };
            grown.compliance(w * scale, r * scale)
        };
        let h = 1e-4;
        let own = rim.compliance(w, r);
        for (k, power) in [(0, -3.0), (1, -1.0), (2, -2.0)] {
            let by_scale = (grown(h)[k] - grown(-h)[k]) / (2.0 * h);
            assert_relative_eq!(by_scale, power * own[k], max_relative = 1e-6);
        }
        // nearly as the third power of the thickness; a wider arm leaves more rim
        let by_thickness = slopes.by_thickness[0] * rim.thickness / own[0];
        assert!((-3.0..-2.7).contains(&by_thickness), "{by_thickness}");
        assert!(slopes.by_width[0] < 0.0 && slopes.by_youngs_modulus[0] < 0.0);
    }
}
