//! Elastic-plastic torsion and bending of a strip over a former, and what is left of it after letting go.
//!
//! Twist and curvature both strain a layer in proportion to its depth, so a section loads proportionally (von Mises,
//! deformation theory). The surface measure `m` is the elastic surface stress over Rp0.2. An elastic, perfectly
//! plastic section carries `q = 1.5 − 0.5/m²` times its moment at first yield (Nadai, Theory of Flow and Fracture of
//! Solids; the same for bending of a rectangle). A section held on the former at heat loses the share R of its stress;
//! springing back takes the rest: `m_left = m_former − (1 − R) q(m_former)`.

/// Steps of the bisection; each halves the interval.
const HALVINGS: usize = 90;

/// Elastic surface stress (von Mises) over the proof strength, from shear of torsion and normal stress of bending
/// (all MPa).
pub fn surface_measure(shear: f64, bending: f64, proof: f64) -> f64 {
    (bending * bending + 3.0 * shear * shear).sqrt() / proof
}

/// How a section is formed: share of stress that relaxes on the former, and linear hardening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forming {
    /// share R of the stress on the former that relaxes there, 0 cold to 1
    pub relaxed: f64,
    /// tangent modulus over Young's modulus beyond yield; 0 is perfectly plastic
    pub hardening: f64,
}

impl Forming {
    /// Moment over the moment at first yield for a surface measure `m`.
    pub fn moment_ratio(&self, m: f64) -> f64 {
        if m <= 1.0 { m } else { (1.0 - self.hardening) * (1.5 - 0.5 / (m * m)) + self.hardening * m }
    }

    /// Derivative of the moment ratio.
    fn moment_slope(&self, m: f64) -> f64 {
        if m <= 1.0 { 1.0 } else { (1.0 - self.hardening) / (m * m * m) + self.hardening }
    }

    /// Surface measure left after letting go of a former at `m`.
    pub fn left(&self, m: f64) -> f64 {
        m - (1.0 - self.relaxed) * self.moment_ratio(m)
    }

    /// Measure left per measure on the former.
    pub fn left_slope(&self, m: f64) -> f64 {
        1.0 - (1.0 - self.relaxed) * self.moment_slope(m)
    }

    /// Surface measure on the former that leaves `left`; 0 for nothing.
    pub fn on_former(&self, left: f64) -> f64 {
        if left.is_nan() || left <= 0.0 {
            return 0.0;
        }
        let (mut low, mut high) = (left, (left + 1.5) / (1.0 - self.hardening).max(0.01));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.left(middle) < left { low = middle } else { high = middle }
        }
        high
    }

    /// Relative change of what is left per relative change of the proof strength.
    pub fn strength_gain(&self, m: f64) -> f64 {
        -(1.0 - self.relaxed) * (self.moment_ratio(m) - self.moment_slope(m) * m) / self.left(m)
    }

    /// Relative change of what is left per change of R.
    pub fn relaxation_gain(&self, m: f64) -> f64 {
        self.moment_ratio(m) / self.left(m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Moment ratio under combined twist and bending by fibres with von Mises return mapping, in many strain steps:
    /// plane stress with normal stress σ and shear τ, no transverse contraction held, incremental flow.
    fn fibres(bending_share: f64, m: f64, hardening: f64) -> f64 {
        // G = E/3 makes σ² + 3τ² isotropic in (σ, √3 τ) with one modulus for both: unit yield, unit modulus
        let (direction, fibres, steps) =
            ((bending_share, (1.0 - bending_share * bending_share).sqrt()), 400, 800);
        let mut moment = 0.0;
        for k in 0..fibres {
            let depth = (f64::from(k) + 0.5) / f64::from(fibres);
            let (mut s, mut t, mut yielded) = (0.0_f64, 0.0_f64, 1.0_f64);
            let step = m * depth / f64::from(steps);
            for _ in 0..steps {
                s += step * direction.0;
                t += step * direction.1;
                let size = s.hypot(t);
                if size > yielded {
                    // tangent modulus k: the yield stress follows k times the total strain beyond yield
                    let target = yielded + hardening * (size - yielded);
                    s *= target / size;
                    t *= target / size;
                    yielded = target;
                }
            }
            moment += (s * direction.0 + t * direction.1) * depth / f64::from(fibres);
        }
        3.0 * moment
    }

    #[test]
    fn the_moment_agrees_with_fibres_under_twist_and_bending() {
        for hardening in [0.0, 0.05] {
            let forming = Forming { relaxed: 0.0, hardening };
            for share in [0.0, 0.5, 1.0] {
                for m in [0.6, 1.2, 2.0, 3.5] {
                    assert_relative_eq!(
                        forming.moment_ratio(m),
                        fibres(share, m, hardening),
                        max_relative = 0.01
                    );
                }
            }
        }
    }

    #[test]
    fn former_heights_are_those_of_the_layer_calculation() {
        // former over wanted, calculated separately by layers of a perfectly plastic strip: rows m, columns R
        for (wanted, relaxed, factor) in [
            (0.2, 0.0, 7.34),
            (0.2, 0.3, 3.33),
            (0.4, 0.1, 3.92),
            (0.6, 0.0, 3.29),
            (0.6, 0.5, 1.94),
            (0.8, 0.4, 1.97),
            (0.95, 0.8, 1.24),
            (0.95, 1.0, 1.0),
        ] {
            let forming = Forming { relaxed, hardening: 0.0 };
            assert_abs_diff_eq!(forming.on_former(wanted) / wanted, factor, epsilon = 0.006);
        }
    }

    #[test]
    fn gains_are_the_derivatives_of_what_is_left() {
        let (height, proof) = (2.0, 1.0);
        for relaxed in [0.0, 0.3, 0.8] {
            let forming = Forming { relaxed, hardening: 0.0 };
            let left = |proof: f64, forming: Forming| proof * forming.left(height / proof);
            let base = left(proof, forming);
            let by_strength = (left(1.0001, forming) - left(0.9999, forming)) / 0.0002 / base;
            assert_abs_diff_eq!(forming.strength_gain(height), by_strength, epsilon = 1e-5);
            let more = Forming { relaxed: relaxed + 1e-4, hardening: 0.0 };
            let by_heat = (left(proof, more) - base) / 1e-4 / base;
            assert_abs_diff_eq!(forming.relaxation_gain(height), by_heat, epsilon = 1e-5);
        }
    }

    #[test]
    fn nothing_wanted_needs_no_former() {
        let cold = Forming { relaxed: 0.0, hardening: 0.0 };
        assert_eq!((cold.on_former(0.0), cold.on_former(f64::NAN)), (0.0, 0.0));
        assert_eq!(surface_measure(0.0, 700.0, 1400.0), 0.5);
        assert_abs_diff_eq!(surface_measure(700.0, 0.0, 700.0 * 3f64.sqrt()), 1.0, epsilon = 1e-12);
    }
}
