//! Slot ends: stress concentration at their round.
//!
//! The round of a slot end is taken as a circular hole in a plate under twisting and bending moments. Reissner, "The
//! effect of transverse shear deformation on the bending of elastic plates", J. Appl. Mech. 12 (1945) A-69; also in
//! Peterson's Stress Concentration Factors. It is an estimate: a slot end has material on one side only, and rim and
//! hub stiffen it.

/// Modified Bessel function K of order `n` at `x` > 0.
///
/// `∫ exp(−x cosh t) cosh(n t) dt` over t from 0 (Abramowitz & Stegun 9.6.24) by the trapezoidal rule, which converges
/// faster than any power of the step for this integrand.
fn bessel_k(n: f64, x: f64) -> f64 {
    const STEP: f64 = 0.05;
    let integrand = |t: f64| (-x * t.cosh() + n * t).exp() * 0.5 * (1.0 + (-2.0 * n * t).exp());
    let mut sum = 0.5 * integrand(0.0);
    for k in 1..400 {
        let t = STEP * f64::from(k);
        sum += integrand(t);
        if x * t.cosh() > n * t + 60.0 {
            break;
        }
    }
    STEP * sum
}

/// Stress concentration at a hole in a plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleFactors {
    /// largest tangential stress over the surface shear of pure twist
    pub twist: f64,
    /// largest tangential stress over the surface stress of bending one way
    pub bending: f64,
}

impl HoleFactors {
    /// For a hole of `radius` (mm) in a plate of `thickness` (mm) and Poisson's ratio `poisson`.
    ///
    /// With μ = √10·radius/thickness: `twist = 4(1+ν)K2/D`, `bending = 3/2 + ½ (3(1+ν)K2 − 2K0)/D`,
    /// `D = (1+ν)K2 + 2K0`, all K at μ.
    pub fn of(radius: f64, thickness: f64, poisson: f64) -> Self {
        let mu = (10f64.sqrt() * radius / thickness).clamp(1e-3, 300.0);
        // both scaled by the same power of e, which the quotients lose
        let (k0, k2) = (bessel_k(0.0, mu), bessel_k(2.0, mu));
        let ratio = k0 / k2;
        let bottom = 1.0 + poisson + 2.0 * ratio;
        Self {
            twist: 4.0 * (1.0 + poisson) / bottom,
            bending: 1.5 + 0.5 * (3.0 * (1.0 + poisson) - 2.0 * ratio) / bottom,
        }
    }
}

impl HoleFactors {
    /// Largest tangential stress at the hole for surface stresses of bending `direct` and of twist `shear` (MPa).
    ///
    /// Both make principal stresses σ1 ≥ σ2. Bending alike in both directions gives 2 whatever the thickness, so that
    /// σ2 counts with what the bending factor leaves of 2; pure twist then has its own factor again.
    pub fn largest_stress(&self, direct: f64, shear: f64) -> f64 {
        let (middle, reach) = (0.5 * direct, (0.5 * direct).hypot(shear));
        self.bending * (middle + reach) + (2.0 - self.bending) * (middle - reach)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn bessel_functions_have_their_tabulated_values() {
        // Abramowitz & Stegun, tables 9.8 and 9.9
        assert_relative_eq!(bessel_k(0.0, 1.0), 0.421_024_438_240_708, max_relative = 1e-10);
        assert_relative_eq!(bessel_k(1.0, 1.0), 0.601_907_230_197_235, max_relative = 1e-10);
        assert_relative_eq!(bessel_k(2.0, 1.0), 1.624_838_898_635_178, max_relative = 1e-10);
        assert_relative_eq!(bessel_k(0.0, 0.1), 2.427_069_024_702_017, max_relative = 1e-10);
    }

    #[test]
    fn twist_is_two_principal_stresses_of_opposite_sign() {
        for x in [0.2, 1.0, 4.0] {
            let factors = HoleFactors::of(0.5 * x, 1.0, 0.3);
            assert_relative_eq!(factors.largest_stress(0.0, 1.0), factors.twist, max_relative = 1e-12);
            assert_relative_eq!(factors.largest_stress(1.0, 0.0), factors.bending, max_relative = 1e-12);
        }
    }
}
