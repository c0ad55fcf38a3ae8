//! Elastic-plastic torsion and bending of a strip over a former, and the shape left after release.
//!
//! Twist and curvature both strain a layer in proportion to its depth, so a section loads proportionally (von Mises,
//! deformation theory). The surface measure `m` is the elastic surface stress over Rp0.2, and
//! `q(m) = 3 ∫ s(m x) x dx`, x from 0 to 1, the moment over the moment at first yield, where s(e) is the stress over
//! Rp0.2 at a strain e, in strains at first yield. Perfectly plastic: `q = 1.5 − 0.5/m²` (Nadai, Theory of Flow and
//! Fracture of Solids; the same for bending of a rectangle). A section held on the former at heat loses the share R of
//! its stress; springing back takes the rest: `m_left = m_former − (1 − R) q(m_former)`.

use crate::model::section::k2;

/// Most steps of Newton's method; it converges in about ten.
const STEPS: usize = 60;

/// Relative step at which Newton's method has converged.
const CONVERGED: f64 = 1e-13;

/// Plastic strain at the proof strength.
const PROOF_STRAIN: f64 = 0.002;

/// Elastic surface stress (von Mises) over the proof strength, from shear of torsion and normal stress of bending
/// (all MPa).
pub fn surface_measure(shear: f64, bending: f64, proof: f64) -> f64 {
    (bending * bending + 3.0 * shear * shear).sqrt() / proof
}

/// Stress over strain while the sheet is formed: stress over Rp0.2, strain over that at which an elastic sheet reaches
/// Rp0.2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flow {
    /// straight beyond yield: tangent modulus over Young's modulus; 0 is perfectly plastic
    Linear {
        /// tangent modulus over Young's modulus
        tangent: f64,
    },
    /// Ramberg and Osgood: strain `e = s + offset sⁿ`
    RambergOsgood {
        /// plastic strain at Rp0.2 over the elastic one
        offset: f64,
        /// exponent n
        exponent: f64,
    },
}

impl Flow {
    /// Ramberg–Osgood curve through Rp0.2 and Rp0.01 = `ratio` Rp0.2 (MPa), for a strip mostly in torsion: its
    /// equivalent elastic strain is Rp0.2/3G.
    pub fn through(ratio: f64, proof: f64, shear_modulus: f64) -> Self {
        Self::RambergOsgood {
            offset: 3.0 * PROOF_STRAIN * shear_modulus / proof,
            exponent: 20f64.ln() / (1.0 / ratio).ln(),
        }
    }

    /// Stress at a strain.
    fn stress(self, strain: f64) -> f64 {
        match self {
            Self::Linear { .. } if strain <= 1.0 => strain,
            Self::Linear { tangent } => 1.0 + tangent * (strain - 1.0),
            Self::RambergOsgood { offset, exponent } => {
                if strain <= 0.0 {
                    return 0.0;
                }
                // the strain is convex in the stress: Newton's method converges from above
                let mut s = strain.min((strain / offset).powf(1.0 / exponent));
                for _ in 0..STEPS {
                    let plastic = offset * s.powf(exponent);
                    let step = (s + plastic - strain) / (1.0 + exponent * plastic / s);
                    s -= step;
                    if step.abs() < CONVERGED * s {
                        break;
                    }
                }
                s
            }
        }
    }

    /// `3/m³ ∫ s e de` from 0 to m, times m: the moment ratio at a surface strain `m` whose stress is `s`.
    fn moment(self, m: f64, s: f64) -> f64 {
        match self {
            Self::Linear { .. } if m <= 1.0 => m,
            Self::Linear { tangent } => (1.0 - tangent) * (1.5 - 0.5 / (m * m)) + tangent * m,
            Self::RambergOsgood { offset, exponent } => {
                if m <= 0.0 {
                    return 0.0;
                }
                let plastic = offset * s.powf(exponent);
                let integral = s
                    * (s * s / 3.0
                        + (exponent + 1.0) / (exponent + 2.0) * plastic * s
                        + exponent / (2.0 * exponent + 1.0) * plastic * plastic);
                3.0 * integral / (m * m)
            }
        }
    }
}

/// Fully plastic moment of a wide thin strip over its moment at first yield.
pub const WIDE: f64 = 1.5;

/// Fit of the moment between first yield and fully plastic to the membrane with a roof (see the test): factor and
/// exponent.
const NARROW: (f64, f64) = (1.3, 4.5);

/// Fully plastic torque of a rectangle over its torque at first yield: sand heap, Nadai; 1.5 for a wide thin strip.
pub fn plastic_limit(width: f64, thickness: f64) -> f64 {
    let (long, short) = (width.max(thickness), width.min(thickness));
    let plastic = 0.5 * long * short * short * (1.0 - short / (3.0 * long));
    plastic / (k2(long, short) * long * short * short)
}

/// Forming of a section: share of stress that relaxes on the former, the sheet's flow and the section's shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forming {
    /// share R of the stress on the former that relaxes there, 0 cold to 1
    pub relaxed: f64,
    /// stress over strain
    pub flow: Flow,
    /// fully plastic moment over the moment at first yield, [`plastic_limit`]; [`WIDE`] for bending and wide strips
    pub limit: f64,
    /// twist at inner edge, middle and outer edge over its mean, [`twist_across`]; [`STRAIGHT`] for a straight strip
    pub across: [f64; 3],
}

/// Twist across the width of a straight strip over its mean.
pub const STRAIGHT: [f64; 3] = [1.0; 3];

/// Weights of Simpson's rule across the width.
const ACROSS: [f64; 3] = [1.0 / 6.0, 4.0 / 6.0, 1.0 / 6.0];

/// Twist of level sections at inner edge, middle and outer edge of an arm at `radius` over its mean, and the mean over that
/// in the middle: it goes with 1/r².
pub fn twist_across(width: f64, radius: f64) -> ([f64; 3], f64) {
    let half = (0.5 * width / radius).min(0.9);
    let local = [1.0 / (1.0 - half).powi(2), 1.0, 1.0 / (1.0 + half).powi(2)];
    let mean: f64 = local.iter().zip(ACROSS).map(|(twist, weight)| twist * weight).sum();
    (local.map(|twist| twist / mean), mean)
}

impl Forming {
    /// Moment over the moment at first yield for a surface measure `m`, the mean across the width.
    pub fn moment_ratio(&self, m: f64) -> f64 {
        self.moment(m).0
    }

    /// Moment ratio and its derivative.
    fn moment(&self, m: f64) -> (f64, f64) {
        if self.across == STRAIGHT {
            return self.local_moment(m);
        }
        self.across.iter().zip(ACROSS).fold((0.0, 0.0), |(ratio, slope), (twist, weight)| {
            let (local, local_slope) = self.local_moment(twist * m);
            (ratio + weight * local, slope + weight * twist * local_slope)
        })
    }

    /// Moment ratio and its derivative, `(3 s − 2 q)/m` for a wide strip, at one place of the width.
    fn local_moment(&self, m: f64) -> (f64, f64) {
        if m <= 0.0 {
            return (0.0, 1.0);
        }
        let stress = self.flow.stress(m);
        let ratio = self.flow.moment(m, stress);
        let (more, slope) = self.narrow(m);
        (ratio + more, (3.0 * stress - 2.0 * ratio) / m + slope)
    }

    /// Excess of a narrow section's moment ratio over a wide one's, perfectly plastic, and its derivative: the short sides
    /// yield late, so that the torque goes on rising.
    fn narrow(&self, m: f64) -> (f64, f64) {
        let beyond = self.limit - 1.0;
        if m <= 1.0 || self.limit <= WIDE {
            return (0.0, 0.0);
        }
        let (factor, exponent) = NARROW;
        let late = factor * (1.0 - 0.5 / beyond) * m.powf(-exponent);
        let (rise, wide) = (1.0 - 1.0 / (m * m), 1.0 / (m * m * m));
        let ratio = beyond * rise * (1.0 - late);
        let slope = beyond * (2.0 * wide * (1.0 - late) + rise * exponent * late / m);
        (ratio - (WIDE - 1.0) * rise, slope - wide)
    }

    /// Surface measure left after release from a former at `m`.
    pub fn left(&self, m: f64) -> f64 {
        m - (1.0 - self.relaxed) * self.moment_ratio(m)
    }

    /// Measure left per measure on the former.
    pub fn left_slope(&self, m: f64) -> f64 {
        1.0 - (1.0 - self.relaxed) * self.moment(m).1
    }

    /// Surface measure on the former that leaves `left`; 0 for nothing.
    pub fn on_former(&self, left: f64) -> f64 {
        if left.is_nan() || left <= 0.0 {
            return 0.0;
        }
        let mut m = left + 2.0;
        while self.left(m) < left {
            m *= 2.0;
        }
        // Newton's method between bounds: it converges from above
        let (mut low, mut high) = (left, m);
        for _ in 0..STEPS {
            let (ratio, slope) = self.moment(m);
            let held = 1.0 - self.relaxed;
            let off = m - held * ratio - left;
            if off > 0.0 {
                high = m;
            } else {
                low = m;
            }
            let next = m - off / (1.0 - held * slope);
            let next = if next >= low && next <= high { next } else { 0.5 * (low + high) };
            let step = next - m;
            m = next;
            if step.abs() < CONVERGED * m {
                break;
            }
        }
        m
    }

    /// Work of forming to `m` over twice that of first yield: ∫ q dm, by Simpson's rule.
    pub fn work(&self, m: f64) -> f64 {
        let pieces = 20;
        let step = m / f64::from(pieces);
        let sum: f64 = (0..=pieces)
            .map(|k| {
                let weight = match k {
                    0 | 20 => 1.0,
                    odd if odd % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                weight * self.moment_ratio(f64::from(k) * step)
            })
            .sum();
        sum * step / 3.0
    }

    /// Work that comes back when it is released, over twice that of first yield.
    pub fn work_back(&self, m: f64) -> f64 {
        let held = (1.0 - self.relaxed) * self.moment_ratio(m);
        0.5 * held * held
    }

    /// Relative change of what is left per relative change of the proof strength.
    pub fn strength_gain(&self, m: f64) -> f64 {
        let (ratio, slope) = self.moment(m);
        -(1.0 - self.relaxed) * (ratio - slope * m) / self.left(m)
    }

    /// Relative change of what is left per change of R.
    pub fn relaxation_gain(&self, m: f64) -> f64 {
        self.moment_ratio(m) / self.left(m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::section::face_shear_per_twist;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    const PERFECT: Flow = Flow::Linear { tangent: 0.0 };

    /// A section formed and released, layer by layer: the other method. A strip in torsion and bending at once, every
    /// layer with incremental von Mises flow (radial return) and its own history; heat takes the share R of every
    /// layer's stress; release is a search for the strain at which the moment of the layers vanishes.
    ///
    /// Unit modulus and yield: shear is carried as √3 τ, its strain as γ/√3 with G = E/3.
    struct Layers {
        /// direction of straining: normal and shear part
        direction: (f64, f64),
        /// hardening: uniaxial stress over plastic strain beyond yield
        yield_stress: fn(f64) -> f64,
        /// depth, stresses, plastic strain
        states: Vec<(f64, f64, f64, f64)>,
    }

    impl Layers {
        fn new(bending_share: f64, yield_stress: fn(f64) -> f64) -> Self {
            let count = 300;
            let layers = (0..count).map(|k| ((f64::from(k) + 0.5) / f64::from(count), 0.0, 0.0, 0.0));
            Self {
                direction: (bending_share, (1.0 - bending_share * bending_share).sqrt()),
                yield_stress,
                states: layers.collect(),
            }
        }

        /// Strains the surface by `measure` more, in small steps.
        fn strain(&mut self, measure: f64) {
            let steps = 1200;
            for (depth, s, t, plastic) in &mut self.states {
                let step = measure * *depth / f64::from(steps);
                for _ in 0..steps {
                    *s += step * self.direction.0;
                    *t += step * self.direction.1;
                    let size = s.hypot(*t);
                    // plastic flow along the stress: size falls by dp, the yield stress rises to the new size
                    let (mut low, mut high) = (0.0, size);
                    if size > (self.yield_stress)(*plastic) {
                        for _ in 0..40 {
                            let more = 0.5 * (low + high);
                            if size - more > (self.yield_stress)(*plastic + more) {
                                low = more;
                            } else {
                                high = more;
                            }
                        }
                        *s *= (size - high) / size;
                        *t *= (size - high) / size;
                        *plastic += high;
                    }
                }
            }
        }

        fn moment(&self) -> f64 {
            let width = 1.0 / self.states.len() as f64;
            let along = |s: f64, t: f64| s * self.direction.0 + t * self.direction.1;
            3.0 * self.states.iter().map(|(depth, s, t, _)| along(*s, *t) * depth * width).sum::<f64>()
        }

        fn relax(&mut self, share: f64) {
            for (_, s, t, _) in &mut self.states {
                *s *= 1.0 - share;
                *t *= 1.0 - share;
            }
        }

        /// Measure left of a former at `m` after the share `relaxed` is gone: layers unload elastically in steps until
        /// no moment is left. Reverse yielding is left to the layers that reach it (isotropic).
        fn left(mut self, m: f64, relaxed: f64) -> f64 {
            self.strain(m);
            self.relax(relaxed);
            let mut at = m;
            for _ in 0..50 {
                let moment = self.moment();
                if moment.abs() < 1e-9 {
                    break;
                }
                self.strain(-moment);
                at -= moment;
            }
            at
        }
    }

    #[test]
    fn spring_back_agrees_with_layers_within_one_percent() {
        type Law = (Flow, fn(f64) -> f64);
        let laws: [Law; 3] = [
            (PERFECT, |_| 1.0),
            // tangent modulus k = 0.05: stress over plastic strain k/(1 − k)
            (Flow::Linear { tangent: 0.05 }, |plastic| 1.0 + 0.05 / 0.95 * plastic),
            // Ramberg–Osgood, n = 7, plastic strain 0.35 at the proof strength
            (Flow::RambergOsgood { offset: 0.35, exponent: 7.0 }, |plastic| (plastic / 0.35).powf(1.0 / 7.0)),
        ];
        for (flow, law) in laws {
            for (share, m, relaxed) in [(0.0, 1.4, 0.0), (0.3, 2.0, 0.0), (0.7, 3.0, 0.35), (1.0, 2.5, 0.8)] {
                let forming = Forming { relaxed, flow, limit: WIDE, across: STRAIGHT };
                let layers = Layers::new(share, law).left(m, relaxed);
                // of the former's measure: what is left of a small one is a difference of two large ones
                assert_relative_eq!(forming.left(m), layers, max_relative = 0.01);
                assert_relative_eq!(forming.on_former(layers), m, max_relative = 0.01);
            }
        }
    }

    /// Torque over the torque at first yield of a rectangle `ratio` times as wide as thick, twisted to a surface measure
    /// `m`: Prandtl's membrane under Nadai's roof, relaxed on a grid over a quarter of the section. Another method: no
    /// formula of this file is in it but the surface shear.
    fn membrane_under_a_roof(ratio: usize, m: f64) -> f64 {
        let (deep, wide) = (16, 16 * ratio);
        let step = 0.5 / deep as f64;
        let width = ratio as f64;
        let twist = m / face_shear_per_twist(width, 1.0);
        let mut height = vec![vec![0.0_f64; wide + 1]; deep + 1];
        for _ in 0..1200 {
            for i in 0..deep {
                for j in 0..wide {
                    let below =
                        height[if i > 0 { i - 1 } else { 1 }][j] + height[i][if j > 0 { j - 1 } else { 1 }];
                    let mean =
                        0.25 * (below + height[i + 1][j] + height[i][j + 1] + 2.0 * twist * step * step);
                    let roof = step * (deep - i).min(wide - j) as f64;
                    height[i][j] = (height[i][j] + 1.85 * (mean - height[i][j])).clamp(0.0, roof);
                }
            }
        }
        let half = |k: usize| if k == 0 { 0.5 } else { 1.0 };
        let volume: f64 = (0..deep)
            .flat_map(|i| (0..wide).map(move |j| (i, j)))
            .map(|(i, j)| half(i) * half(j) * height[i][j])
            .sum();
        8.0 * volume * step * step / (k2(width, 1.0) * width)
    }

    #[test]
    fn narrow_sections_agree_with_a_membrane_under_a_roof_within_one_percent() {
        for ratio in [2, 3, 4, 8] {
            let forming = Forming {
                relaxed: 0.0,
                flow: PERFECT,
                limit: plastic_limit(ratio as f64, 1.0),
                across: STRAIGHT,
            };
            for m in [0.8, 1.2, 1.5, 2.0, 3.0, 5.0] {
                let membrane = membrane_under_a_roof(ratio, m);
                assert_relative_eq!(forming.moment_ratio(m), membrane, max_relative = 0.012);
            }
        }
    }

    #[test]
    fn former_heights_are_those_of_the_layer_calculation() {
        // former over wanted, calculated separately by layers of a perfectly plastic strip: rows m, columns R
        for (wanted, relaxed, factor) in [
            (0.2, 0.0, 7.34),
            (0.2, 0.1, 6.36),
            (0.2, 0.3, 3.33),
            (0.4, 0.0, 4.33),
            (0.4, 0.1, 3.92),
            (0.4, 0.3, 3.03),
            (0.6, 0.0, 3.29),
            (0.6, 0.5, 1.94),
            (0.8, 0.0, 2.75),
            (0.8, 0.4, 1.97),
            (0.95, 0.0, 2.48),
            (0.95, 0.8, 1.24),
            (0.95, 1.0, 1.0),
        ] {
            let forming = Forming { relaxed, flow: PERFECT, limit: WIDE, across: STRAIGHT };
            assert_abs_diff_eq!(forming.on_former(wanted) / wanted, factor, epsilon = 0.006);
        }
    }

    #[test]
    fn hardening_changes_the_former_little() {
        // calculated separately: Ramberg–Osgood with n = 14 changes the factors by at most 6 %, n = 6 by at most 14 %
        for (exponent, most) in [(14.0, 0.06), (6.0, 0.14)] {
            for (wanted, relaxed) in [(0.4, 0.0), (0.6, 0.0), (0.6, 0.3), (0.95, 0.1)] {
                let factor =
                    |flow| Forming { relaxed, flow, limit: WIDE, across: STRAIGHT }.on_former(wanted);
                let hard = factor(Flow::RambergOsgood { offset: 0.35, exponent });
                assert_relative_eq!(hard, factor(PERFECT), max_relative = most);
            }
        }
    }

    #[test]
    fn the_stress_curve_runs_through_both_proof_strengths() {
        // Rp0.01 = 0.62 Rp0.2 = 0.62 · 1200, G = 70 000: plastic strains 0.0002/… in strains 1200/3G
        let flow = Flow::through(0.62, 1200.0, 70_000.0);
        let unit = 1200.0 / (3.0 * 70_000.0);
        assert_abs_diff_eq!(flow.stress(1.0 + 0.002 / unit), 1.0, epsilon = 1e-9);
        assert_abs_diff_eq!(flow.stress(0.62 + 0.0001 / unit), 0.62, epsilon = 1e-9);
    }

    #[test]
    fn gains_are_the_derivatives_of_what_is_left() {
        let height = 2.0;
        for relaxed in [0.0, 0.3, 0.8] {
            let forming = Forming { relaxed, flow: PERFECT, limit: WIDE, across: STRAIGHT };
            let left = |proof: f64, forming: Forming| proof * forming.left(height / proof);
            let base = left(1.0, forming);
            let by_strength = (left(1.0001, forming) - left(0.9999, forming)) / 0.0002 / base;
            assert_abs_diff_eq!(forming.strength_gain(height), by_strength, epsilon = 1e-5);
            let more = Forming { relaxed: relaxed + 1e-4, flow: PERFECT, limit: WIDE, across: STRAIGHT };
            let by_heat = (left(1.0, more) - base) / 1e-4 / base;
            assert_abs_diff_eq!(forming.relaxation_gain(height), by_heat, epsilon = 1e-5);
        }
        // by hand at 0.6 left: (1 − R)(1.5 − 1.5/m²)/0.6 with m = 0.6 · 3.29, 0.6 · 2.49, and 0.6 · 1.60, which is elastic
        for (relaxed, gain) in [(0.0, 1.859), (0.3, 0.966), (0.8, 0.0)] {
            let forming = Forming { relaxed, flow: PERFECT, limit: WIDE, across: STRAIGHT };
            assert_abs_diff_eq!(-forming.strength_gain(forming.on_former(0.6)), gain, epsilon = 0.01);
        }
    }

    #[test]
    fn work_is_that_of_the_moment_by_hand() {
        let cold = Forming { relaxed: 0.0, flow: PERFECT, limit: WIDE, across: STRAIGHT };
        // m = 2: 1/2 + 1.5 − 1/4 = 1.75; back 1.375²/2
        assert_relative_eq!(cold.work(2.0), 1.75, max_relative = 1e-3);
        assert_relative_eq!(cold.work_back(2.0), 0.5 * 1.375 * 1.375, max_relative = 1e-12);
    }

    #[test]
    fn nothing_wanted_needs_no_former() {
        let cold = Forming { relaxed: 0.0, flow: PERFECT, limit: WIDE, across: STRAIGHT };
        assert_eq!((cold.on_former(0.0), cold.on_former(f64::NAN)), (0.0, 0.0));
        assert_eq!(surface_measure(0.0, 700.0, 1400.0), 0.5);
        assert_abs_diff_eq!(surface_measure(700.0, 0.0, 700.0 * 3f64.sqrt()), 1.0, epsilon = 1e-12);
    }
}
