//! Restrained warping: torsional stiffness of sections near an ideal clamp.
//!
//! A thin strip warps as it twists, by its twist times the distances from both its middle lines. Where a clamp keeps a section
//! plane, the twist starts from zero and comes to that of Saint-Venant's torsion over the length `√(E C_w/GJ)` (Vlasov; Timoshenko,
//! Strength of Materials, part II): at the distance d the strip is stiffer by
//!
//! ```text
//! 1/(1 − exp(−d/a)),      a² = E C_w/(G J) = w² E/(48 G)      (C_w = w³t³/144, J = wt³/3)
//! ```
//!
//! so that a clamp shortens an arm by a, 0.23 widths. The roots of a disc give way; what is left of this there is part of their
//! fitted lengths.

use crate::layout::{ArmPath, SheetProperties};

/// Factor on the torsional stiffness of a section of an arm whose ends are kept from warping, with the slopes of its logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Restraint {
    /// 1 far from the ends
    pub factor: f64,
    /// over the section's angle and those of the arm's ends, outer and inner (1/rad)
    pub by_angle: [f64; 3],
    /// over the radius (1/mm)
    pub by_radius: f64,
    /// over the width along the radius (1/mm)
    pub by_width: f64,
    /// over Young's modulus (1/MPa)
    pub by_youngs_modulus: f64,
    /// over the shear modulus (1/MPa)
    pub by_shear_modulus: f64,
}

impl Default for Restraint {
    /// None.
    fn default() -> Self {
        Self {
            factor: 1.0,
            by_angle: [0.0; 3],
            by_radius: 0.0,
            by_width: 0.0,
            by_youngs_modulus: 0.0,
            by_shear_modulus: 0.0,
        }
    }
}

impl Restraint {
    /// Of a section at `angle` (rad) between the ends of an arm, where the centre line has the radius `r` and the arm is `w` wide
    /// along it (mm), cut from `sheet`.
    pub fn of([angle, r, w]: [f64; 3], arm: &ArmPath, sheet: &SheetProperties) -> Self {
        let (e, g) = (sheet.youngs_modulus, sheet.shear_modulus);
        let per_angle = r / (w * (e / (48.0 * g)).sqrt());
        let mut restraint = Self::default();
        for (k, end) in [(1, arm.angle[0]), (2, arm.angle[arm.segments()])] {
            let turned = angle - end;
            let away = turned.abs() * per_angle;
            restraint.factor /= -(-away).exp_m1();
            // d ln factor / d away = −1/(e^away − 1)
            let by_away = -1.0 / away.exp_m1();
            let by_angle = by_away * per_angle * turned.signum();
            restraint.by_angle[0] += by_angle;
            restraint.by_angle[k] -= by_angle;
            restraint.by_radius += by_away * away / r;
            restraint.by_width -= by_away * away / w;
            restraint.by_youngs_modulus -= 0.5 * by_away * away / e;
            restraint.by_shear_modulus += 0.5 * by_away * away / g;
        }
        restraint
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Station;
    use approx::assert_relative_eq;

    const SHEET: [f64; 2] = [206e3, 79e3];

    fn sheet([youngs_modulus, shear_modulus]: [f64; 2]) -> SheetProperties {
        SheetProperties {
            material: None,
            thickness: 0.5,
            youngs_modulus,
            shear_modulus,
            tensile_strength: None,
            yield_strength: None,
            density: None,
        }
    }

    fn arm(turn: f64) -> ArmPath {
        let stations: Vec<Station> = (0..=8)
            .map(|k| Station { angle: turn * f64::from(k) / 8.0, radius: 30.0, width: 5.0, height: 0.0 })
            .collect();
        ArmPath::through_stations(&stations, 100).unwrap()
    }

    fn restraint(angle: f64, turn: f64, radius: f64, width: f64, moduli: [f64; 2]) -> Restraint {
        Restraint::of([angle, radius, width], &arm(turn), &sheet(moduli))
    }

    #[test]
    fn both_clamps_shorten_a_strip_by_its_warping_length() {
        // Vlasov's closed form for a torque on a strip whose ends do not warp, L − 2a tanh(L/2a); middle rule over the length
        let (turn, places) = (2.0, 4000);
        let step = turn / f64::from(places);
        let length: f64 = (0..places)
            .map(|k| 30.0 * step / restraint((f64::from(k) + 0.5) * step, turn, 30.0, 5.0, SHEET).factor)
            .sum();
        let own = 5.0 * (SHEET[0] / (48.0 * SHEET[1])).sqrt();
        let expected = 60.0 - 2.0 * own * (60.0 / (2.0 * own)).tanh();
        assert_relative_eq!(length, expected, max_relative = 1e-5);
    }

    #[test]
    fn slopes_agree_with_differences() {
        let at = [0.1, 2.0, 30.0, 5.0, SHEET[0], SHEET[1]];
        let log = |p: [f64; 6]| restraint(p[0], p[1], p[2], p[3], [p[4], p[5]]).factor.ln();
        let found = restraint(at[0], at[1], at[2], at[3], SHEET);
        let [own, outer, inner] = found.by_angle;
        // all angles at once change nothing
        assert!((own + outer + inner).abs() < 1e-12 * own.abs());
        let expected =
            [own, inner, found.by_radius, found.by_width, found.by_youngs_modulus, found.by_shear_modulus];
        for (k, expected) in expected.into_iter().enumerate() {
            let step = 1e-5 * at[k];
            let moved = |by: f64| {
                let mut p = at;
                p[k] += by;
                log(p)
            };
            let quotient = (moved(step) - moved(-step)) / (2.0 * step);
            assert!(
                (quotient - expected).abs() < 1e-6 * expected.abs().max(1e-9),
                "{k}: {quotient} {expected}"
            );
        }
    }
}
