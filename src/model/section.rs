//! Sections: torsion constant, surface shear, curved-strip factors, bending stiffness.
//!
//! Symbols: `b` arm width normal to the arm, `t` sheet thickness, `r` arm centre radius, `w` width along the radius.

use std::f64::consts::PI;

/// Σ 1/n⁵ over odd n: (1 − 2⁻⁵) ζ(5).
const ODD_FIFTH_POWERS: f64 = 0.968_75 * 1.036_927_755_143_37;

/// Size of a series term below which the sum no longer changes.
const NOTHING: f64 = 1e-18;

/// A value with its slopes over width and thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WidthThickness {
    /// the value
    pub value: f64,
    /// its slope over the width
    pub by_width: f64,
    /// its slope over the thickness
    pub by_thickness: f64,
}

/// Coefficient k1 of `J = k1 b a³` and its slope over x = b/a ≥ 1.
///
/// Timoshenko & Goodier, Theory of Elasticity, torsion of rectangular bars; the hyperbolic tangents are written as
/// 1 − 2/(e^{nπx}+1), which leaves four terms at machine precision.
fn k1(x: f64) -> (f64, f64) {
    let factor = 192.0 / PI.powi(5);
    let (mut sum, mut slope) = (ODD_FIFTH_POWERS, 0.0);
    let first = (-PI * x).exp();
    let mut decay = first;
    for n in [1.0, 3.0, 5.0, 7.0, 9.0, 11.0] {
        if decay < NOTHING {
            break;
        }
        sum -= 2.0 * decay / (1.0 + decay) / f64::powi(n, 5);
        // d/dx tanh(nπx/2) = (nπ/2) sech² = 2nπ e^{-nπx}/(1+e^{-nπx})²
        slope += 2.0 * PI * decay / (1.0 + decay).powi(2) / f64::powi(n, 4);
        decay *= first * first;
    }
    ((1.0 - factor * sum / x) / 3.0, factor * (sum / (x * x) - slope / x) / 3.0)
}

/// Torsion constant J of a rectangle `width` by `thickness` (mm⁴) with its slopes (mm³).
pub fn torsion_constant(width: f64, thickness: f64) -> WidthThickness {
    let along = |b: f64, a: f64| {
        let (k, slope) = k1(b / a);
        (a.powi(3) * b * k, a.powi(3) * k + a * a * b * slope, 3.0 * a * a * b * k - a * b * b * slope)
    };
    if width >= thickness {
        let (value, by_width, by_thickness) = along(width, thickness);
        WidthThickness { value, by_width, by_thickness }
    } else {
        let (value, by_thickness, by_width) = along(thickness, width);
        WidthThickness { value, by_width, by_thickness }
    }
}

/// Surface shear at the middle of the wide face of a straight strip for unit twist per length and unit G (mm).
///
/// `kt·t` with `kt = 1 − (8/π²) Σ 1/(n² cosh(nπb/2t))` over odd n (Timoshenko & Goodier); for an upright strip, b < t,
/// the same series gives the shear at the middle of the sheet face.
pub fn face_shear_per_twist(width: f64, thickness: f64) -> f64 {
    let x = width / thickness;
    let sum: f64 = (0..16)
        .map(|k| {
            let n = f64::from(2 * k + 1);
            1.0 / (n * n * (0.5 * n * PI * x).min(700.0).cosh())
        })
        .sum();
    thickness * (1.0 - 8.0 / (PI * PI) * sum)
}

/// Coefficient k2 of `τmax = T/(k2 b t²)` for b ≥ t (Timoshenko & Goodier).
pub fn k2(width: f64, thickness: f64) -> f64 {
    let j = torsion_constant(width, thickness).value;
    j / (width * thickness.powi(2) * face_shear_per_twist(width, thickness))
}

/// Effect of the curvature of the strip on its torsional stiffness.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum CurvedStrip {
    /// not at all: a straight bar
    Off,
    /// as in a ring sector of the same section
    #[default]
    Ring,
}

/// t/b beyond which the share of the gain in [`curved_strip_factor`] stays as it is.
const MOST_UPRIGHT: f64 = 2.0;

/// Factor on GJ for a strip of radial `width` at `radius`, `thickness` thick, with its slopes over width, thickness
/// and radius.
///
/// A level thin strip twisted about the disc axis is a helicoid `z = pθ` with twist `p/ρ²` at radius ρ; integrated over the
/// width this is `(1 − C⁻²)⁻²`, `C = 2r/w`. Ring sectors of finite thickness (Göhner's problem, Timoshenko & Goodier)
/// reach only a share of that gain: with s = t/b, `1 − 1.448 s + 0.7215 s² − 0.133 s³` reproduces finite-difference solutions
/// of the sector for 3 ≤ C ≤ 10, 0.5 ≤ b/t ≤ 14 within 0.25 % of the stiffness. An upright section, b ≪ t, loses a little.
pub fn curved_strip_factor(kind: CurvedStrip, width: f64, thickness: f64, radius: f64) -> (f64, [f64; 3]) {
    if kind == CurvedStrip::Off {
        return (1.0, [0.0; 3]);
    }
    // 1/C, kept off the pole: no valid arm is wider than its radius allows
    let c = (0.5 * width / radius).min(0.95);
    let base = 1.0 - c * c;
    let gain = base.powi(-2) - 1.0;
    let gain_by_c = 4.0 * c * base.powi(-3);
    let (c_by_width, c_by_radius) = (0.5 / radius, -0.5 * width / (radius * radius));
    let s = (thickness / width).min(MOST_UPRIGHT);
    let share = 1.0 + s * (-1.448 + s * (0.7215 - 0.133 * s));
    let share_by_s = if s < MOST_UPRIGHT { -1.448 + s * (1.443 - 0.399 * s) } else { 0.0 };
    let by_width = gain_by_c * c_by_width * share - gain * share_by_s * s / width;
    let by_thickness = gain * share_by_s / width;
    (1.0 + gain * share, [by_width, by_thickness, gain_by_c * c_by_radius * share])
}

/// Surface shear at the inner edge over that at the strip centre, for the same twist: ring sector in torsion.
///
/// Göhner's problem (Timoshenko & Goodier) solved by finite differences: table over C = 2r/b and b/t, between a
/// square section, on which the curvature has little effect, and the thin limit `(1 − 1/C)⁻²`.
pub fn inner_edge_factor(width: f64, thickness: f64, radius: f64) -> f64 {
    /// t/b of the columns
    const SLENDER: [f64; 5] = [1.0, 1.0 / 3.0, 1.0 / 6.0, 0.1, 0.0];
    const CURVATURE: [f64; 5] = [3.0, 4.0, 5.0, 6.0, 10.0];
    /// (factor − 1)·C, which changes slowly; the first column is an estimate, 0.3 of the second
    const GAIN: [[f64; 5]; 5] = [
        [0.396, 1.320, 1.847, 2.371, 3.750],
        [0.241, 0.804, 1.557, 2.011, 3.111],
        [0.207, 0.691, 1.401, 1.824, 2.812],
        [0.182, 0.607, 1.304, 1.711, 2.640],
        [0.127, 0.423, 1.094, 1.492, 2.346],
    ];
    let slender = (thickness / width).clamp(0.0, 1.0);
    let c = (2.0 * radius / width).max(1.5);
    let column = SLENDER.iter().skip(1).take_while(|&&s| s > slender).count().min(3);
    let share = (SLENDER[column] - slender) / (SLENDER[column] - SLENDER[column + 1]);
    let at = |row: usize| GAIN[row][column] + share * (GAIN[row][column + 1] - GAIN[row][column]);
    // linear in 1/C between the rows and beyond them
    let row = CURVATURE.iter().skip(1).take_while(|&&knot| knot < c).count().min(3);
    let (from, to) = (1.0 / CURVATURE[row], 1.0 / CURVATURE[row + 1]);
    let along = (from - 1.0 / c) / (from - to);
    1.0 + (at(row) + along * (at(row + 1) - at(row))).max(0.0) / c
}

/// Bending stiffness modulus×I of a flat arm out of its plane (N·mm²) with its slopes.
///
/// `I = b t³/12`; the modulus goes from E for a square section to E/(1−ν²) for b ≥ 3t, where the anticlastic curvature
/// is suppressed as in a plate (Timoshenko & Goodier; cylindrical bending of plates).
pub fn bending_stiffness(youngs_modulus: f64, poisson: f64, width: f64, thickness: f64) -> WidthThickness {
    let aspect = ((width / thickness - 1.0) / 2.0).clamp(0.0, 1.0);
    let flat = aspect * aspect * (3.0 - 2.0 * aspect);
    let flat_slope = if (0.0..1.0).contains(&aspect) { 6.0 * aspect * (1.0 - aspect) / 2.0 } else { 0.0 };
    let stiffening = 1.0 / (1.0 - poisson * poisson * flat);
    let stiffening_slope = stiffening * stiffening * poisson * poisson * flat_slope; // over b/t
    let inertia = width * thickness.powi(3) / 12.0;
    WidthThickness {
        value: youngs_modulus * inertia * stiffening,
        by_width: youngs_modulus * (inertia / width * stiffening + inertia * stiffening_slope / thickness),
        by_thickness: youngs_modulus
            * (3.0 * inertia / thickness * stiffening
                - inertia * stiffening_slope * width / thickness.powi(2)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    #[test]
    fn slopes_agree_with_differences() {
        let step = 1e-5;
        for (b, t, r) in [(4.0, 1.2, 20.0), (0.8, 1.2, 9.0), (2.0, 1.1, 7.0), (3.0, 1.4, 6.0)] {
            let j = torsion_constant(b, t);
            let by_b =
                (torsion_constant(b + step, t).value - torsion_constant(b - step, t).value) / (2.0 * step);
            let by_t =
                (torsion_constant(b, t + step).value - torsion_constant(b, t - step).value) / (2.0 * step);
            assert_relative_eq!(j.by_width, by_b, max_relative = 1e-7);
            assert_relative_eq!(j.by_thickness, by_t, max_relative = 1e-7);
            let d = bending_stiffness(2e5, 0.3, b, t);
            let at = |b, t| bending_stiffness(2e5, 0.3, b, t).value;
            assert_relative_eq!(
                d.by_width,
                (at(b + step, t) - at(b - step, t)) / (2.0 * step),
                max_relative = 1e-7
            );
            assert_relative_eq!(
                d.by_thickness,
                (at(b, t + step) - at(b, t - step)) / (2.0 * step),
                max_relative = 1e-7
            );
            let (_, slope) = curved_strip_factor(CurvedStrip::Ring, b, t, r);
            let at = |b, t, r| curved_strip_factor(CurvedStrip::Ring, b, t, r).0;
            assert_abs_diff_eq!(
                slope[0],
                (at(b + step, t, r) - at(b - step, t, r)) / (2.0 * step),
                epsilon = 1e-8
            );
            assert_abs_diff_eq!(
                slope[1],
                (at(b, t + step, r) - at(b, t - step, r)) / (2.0 * step),
                epsilon = 1e-8
            );
            assert_abs_diff_eq!(
                slope[2],
                (at(b, t, r + step) - at(b, t, r - step)) / (2.0 * step),
                epsilon = 1e-8
            );
        }
    }
}
