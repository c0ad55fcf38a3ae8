//! Stress in the rings of rim and hub, from the forces at the arm roots.
//!
//! **Free ring** (a rim that rests on its base): N equal arms act at equal distances. Written for a ring of mean radius R
//! with the angle θ counted from the middle between two roots, |θ| ≤ π/N, moment M about the radius and torque Q about
//! the tangent follow from equilibrium (`dQ/dθ = −M`) and from their jumps at the roots (Timoshenko, Strength of
//! Materials II, circular rings loaded out of their plane; Roark's Formulas, circular rings):
//!
//! ```text
//! couples C about the tangent     M = C cos θ/(2 sin(π/N))           Q = −C sin θ/(2 sin(π/N))
//! moments B about the radius      M = B sin θ/(2 sin(π/N))           Q =  B cos θ/(2 sin(π/N))
//! forces V on an even support     M = V R (cos θ/(2 sin(π/N)) − N/2π)    Q = V R (N θ/2π − sin θ/(2 sin(π/N)))
//! ```
//!
//! For many arms the first is the ring turned inside out by even couples, `M = N C/2π`. The hoop stress at the inner edge is
//! that of an annular plate, `σ = 12 M r_o/(t² (r_o² − r_i²))` (Timoshenko & Woinowsky-Krieger, Theory of Plates and
//! Shells); of a narrow ring it is `6 M/(t² r_i ln(r_o/r_i))` (Strength of Materials II), of a small bore twice that of the
//! full plate.
//!
//! **Level ring** (a hub that is clamped or guided in its bore, a rim that is held): a plate clamped along its far edge, bent by
//! the couples along the near one. The even part follows the annular plate (Timoshenko & Woinowsky-Krieger, Theory of
//! Plates and Shells, circular plates with a hole); opposite a root the couple has spread over the root's width and
//! 45° to either side, which counts where it is more. A hub of two or more arms without a clamp may be held either way:
//! the larger stress counts.

use std::f64::consts::PI;

use super::slot_end::{Root, RootLoads, rim_share};
use crate::layout::Spring;
use crate::model::section::k2;
use crate::model::{ArmState, Model};
use crate::spec::{Rim, Roots};

/// Hold of a ring.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RingHold {
    /// its far edge is held level
    Level,
    /// it rolls freely on an even support
    Free,
    /// not specified: the larger stress of both counts
    Unknown,
}

/// One ring with the roots of its arms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// which ring
    pub root: Root,
    /// inner edge (mm)
    pub inner_radius: f64,
    /// outer edge (mm)
    pub outer_radius: f64,
    /// radius of the arm's centre at the root (mm)
    pub root_radius: f64,
    /// width of the root along the radius (mm)
    pub root_width: f64,
    /// thickness of the sheet (mm)
    pub thickness: f64,
    /// Poisson's ratio
    pub poisson: f64,
    /// number of arms
    pub arms: usize,
    /// hold of the far edge
    pub hold: RingHold,
    /// share of the root's loads that reaches the ring, the rest rests on the base
    pub carried_share: f64,
}

/// Bending moment and torque of a free ring at one place (N·mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RingMoments {
    /// about the radius
    pub bending: f64,
    /// about the tangent
    pub torque: f64,
}

/// Moments of a free ring of `arms` arms at `angle` from the middle between two roots (rad), under a `couple` about the
/// tangent and a `moment` about the radius at every root (N·mm), and `force` N times the ring's radius (N·mm) on an even
/// support.
///
/// A single arm is no load in balance: its couple splits in halves, as between two arms.
pub fn ring_moments(arms: usize, angle: f64, couple: f64, moment: f64, force: f64) -> RingMoments {
    let count = arms.max(2) as f64;
    let half = 0.5 / (PI / count).sin();
    let (sin, cos) = angle.sin_cos();
    let share = count / (2.0 * PI);
    RingMoments {
        bending: half * (couple * cos + moment * sin) + force * (half * cos - share),
        torque: half * (moment * cos - couple * sin) + force * (share * angle - half * sin),
    }
}

/// Radial bending moment per length at the clamped edge of an annular plate over the even moment per length at its
/// other edge; radii of clamped and loaded edge.
///
/// `w′ = C1 r + C2/r` with w′ = 0 at the clamped edge: `2/((1 + ν) + (1 − ν)(r_c/r_l)²)`.
pub fn clamped_plate_factor(clamped: f64, loaded: f64, poisson: f64) -> f64 {
    2.0 / ((1.0 + poisson) + (1.0 - poisson) * (clamped / loaded).powi(2))
}

/// Least radius at which a hub is held, over its outer radius: what goes through a smaller bore presses on its faces.
/// Judgement.
const LEAST_HELD: f64 = 0.25;

/// Places between a root and the middle of its neighbour at which a free ring is looked at.
const PLACES: usize = 12;

impl Ring {
    /// The rings of rim and hub of a spring, as far as they carry anything: none where the arms end in ideal clamps.
    pub fn of(spring: &Spring, model: &Model) -> Option<[Self; 2]> {
        if spring.roots == Roots::Rigid {
            return None;
        }
        let (disc, thickness) = (&spring.disc, spring.sheet.thickness);
        let [first, last] = [model.chain.sections.first()?, model.chain.sections.last()?];
        let edges = [disc.slot_outer_radius + 0.5 * spring.slot, disc.slot_inner_radius - 0.5 * spring.slot];
        let ring = |root, [inner_radius, outer_radius]: [f64; 2], hold| Self {
            root,
            inner_radius,
            outer_radius,
            root_radius: if root == Root::Rim { first.radius } else { last.radius },
            root_width: if root == Root::Rim { first.radial_width } else { last.radial_width },
            thickness,
            poisson: spring.sheet.poisson(),
            arms: spring.arms,
            hold,
            carried_share: if root == Root::Rim { rim_share(spring, first.width) } else { 1.0 },
        };
        let held = spring.seat.rim == Rim::Held || disc.rim_clamp_radius.is_some();
        let rim = if held { RingHold::Level } else { RingHold::Free };
        // a single arm needs a guide, which keeps the hub level
        let hub = if disc.hub_clamp_radius.is_some() || spring.arms == 1 {
            RingHold::Level
        } else {
            RingHold::Unknown
        };
        let bore = disc.hub_clamp_radius.unwrap_or(disc.bore_radius);
        Some([ring(Root::Rim, [edges[0], disc.outer_radius], rim), ring(Root::Hub, [bore, edges[1]], hub)])
    }

    /// Largest von Mises stress of the ring for given loads at each of its roots (MPa).
    pub fn stress(&self, loads: &RootLoads) -> f64 {
        let width = self.outer_radius - self.inner_radius;
        if width <= 0.0 {
            return 0.0;
        }
        let share = self.carried_share;
        let (twist, bending, shear) = (share * loads.twist, share * loads.bending, share * loads.shear);
        let level = || self.level_stress(twist, bending, shear);
        let free = || if self.inner_radius > 0.0 { self.free_stress(twist, bending, shear) } else { level() };
        match self.hold {
            RingHold::Level => level(),
            RingHold::Free => free(),
            RingHold::Unknown => level().max(free()),
        }
    }

    fn free_stress(&self, twist: f64, bending: f64, shear: f64) -> f64 {
        let (inner, outer, t) = (self.inner_radius, self.outer_radius, self.thickness);
        let middle = 0.5 * (inner + outer);
        // the shear force acts at the root's radius, the support at the ring's; at the hub it has the other sign
        let couple = twist + shear * (middle - self.root_radius).abs();
        let force = if self.root == Root::Hub { -shear } else { shear };
        // hoop stress at the inner edge of an annular plate under even moments M/r_o along its outer edge
        let section = t * t * (outer * outer - inner * inner) / (2.0 * outer);
        let width = outer - inner;
        let torsion = k2(width, t) * width * t * t;
        let reach = PI / self.arms.max(2) as f64;
        (0..=2 * PLACES)
            .map(|k| {
                let angle = reach * (k as f64 / PLACES as f64 - 1.0);
                let moments = ring_moments(self.arms, angle, couple, bending, force * middle);
                let direct = 6.0 * moments.bending / section;
                let tau = moments.torque / torsion;
                (direct * direct + 3.0 * tau * tau).sqrt()
            })
            .fold(0.0, f64::max)
    }

    fn level_stress(&self, twist: f64, bending: f64, shear: f64) -> f64 {
        let hub = self.root == Root::Hub;
        let (clamped, loaded) = if hub {
            (self.inner_radius.max(LEAST_HELD * self.outer_radius), self.outer_radius)
        } else {
            (self.outer_radius, self.inner_radius)
        };
        // the load of an arm acts near the axis: its couple about the tangent falls towards the bore and rises outwards
        let at = |radius: f64| (twist + shear * (radius - self.root_radius).abs()).abs();
        let square = self.thickness * self.thickness;
        let even = |couple: f64| couple * self.arms as f64 / (2.0 * PI * loaded);
        let gathered = even(at(clamped)) * clamped_plate_factor(clamped, loaded, self.poisson);
        let spread = (self.root_width + 2.0 * (loaded - clamped).abs()) * clamped / loaded;
        // a moment about the radius goes over the same width, half as twisting moment of the plate, half as couple of its
        // shear forces (Kirchhoff); its lever shrinks with the radius
        let opposite = at(clamped).hypot(3f64.sqrt() * 0.5 * bending * clamped / loaded) / spread;
        6.0 * gathered.max(opposite) / square
    }
}

/// Stress in the rings of rim and hub in a state of a spring's model (MPa).
pub fn ring_stress(rings: &[Ring; 2], model: &Model, state: &ArmState) -> [f64; 2] {
    let loads = RootLoads::of_state(model, state);
    [rings[0].stress(&loads[0]), rings[1].stress(&loads[1])]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn ring(hold: RingHold, arms: usize) -> Ring {
        Ring {
            root: Root::Rim,
            inner_radius: 30.0,
            outer_radius: 36.0,
            root_radius: 28.0,
            root_width: 4.0,
            thickness: 1.0,
            poisson: 0.3,
            arms,
            hold,
            carried_share: 1.0,
        }
    }

    #[test]
    fn many_couples_turn_a_ring_inside_out() {
        // Timoshenko, Strength of Materials II: even couples m per length turn a ring by φ = 12 m R/(E t³ ln(ro/ri)), the
        // hoop stress at the inner edge is E φ t/(2 ri). 40 couples of 50 N·mm on the mean radius 33 mm:
        // m R = 40·50/2π = 318.31 N·mm, σ = 6·318.31/(1²·30·ln 1.2) = 349.17 MPa
        let loads = RootLoads { twist: 50.0, ..RootLoads::default() };
        // and as an annular plate 12·318.31·36/(36² − 30²) = 347.25 MPa
        let found = ring(RingHold::Free, 40).stress(&loads);
        assert_relative_eq!(found, 347.25, max_relative = 2e-3);
        assert_relative_eq!(found, 349.17, max_relative = 8e-3);
        // a pinhole doubles the stress of the full plate, 6·(N C/2π)/(r_o t²), and does no more
        let pinhole = Ring { inner_radius: 1e-3, ..ring(RingHold::Free, 40) };
        assert_relative_eq!(pinhole.stress(&loads), 2.0 * 6.0 * 318.31 / 36.0, max_relative = 2e-3);
    }

    #[test]
    fn moments_of_a_free_ring_are_in_balance() {
        let step = 1e-6;
        for (couple, moment, force) in [(3.0, 0.0, 0.0), (0.0, 2.0, 0.0), (0.0, 0.0, 5.0)] {
            let at = |angle: f64| ring_moments(4, angle, couple, moment, force);
            for angle in [-0.7, -0.2, 0.4] {
                // with the even support N V/2πR per length: dM/dθ = Q + shear·R, dQ/dθ = −M; the shear falls evenly
                // from V/2 at the root to nothing in the middle
                let shear = -force * 4.0 / (2.0 * PI) * angle;
                let slope = |pick: fn(RingMoments) -> f64| {
                    (pick(at(angle + step)) - pick(at(angle - step))) / (2.0 * step)
                };
                assert_abs_diff_eq!(slope(|m| m.bending), at(angle).torque + shear, epsilon = 1e-6);
                assert_abs_diff_eq!(slope(|m| m.torque), -at(angle).bending, epsilon = 1e-6);
            }
            // jumps at the roots
            let (before, after) = (at(PI / 4.0), at(-PI / 4.0));
            assert_abs_diff_eq!(before.bending - after.bending, moment, epsilon = 1e-12);
            assert_abs_diff_eq!(after.torque - before.torque, couple, epsilon = 1e-12);
        }
    }

    #[test]
    fn four_even_supports_have_the_handbook_moments() {
        // circular girder on four supports (Timoshenko; Roark): over W R with W the whole load, moment at the supports
        // −0.0342, in the middle +0.0176, largest torque 0.0053 at 19.2° from the support
        let at = |degrees: f64| ring_moments(4, degrees.to_radians(), 0.0, 0.0, 0.25);
        assert_abs_diff_eq!(at(45.0).bending, -0.0342, epsilon = 5e-5);
        assert_abs_diff_eq!(at(0.0).bending, 0.0176, epsilon = 5e-5);
        assert_abs_diff_eq!(at(45.0 - 19.2).torque.abs(), 0.0053, epsilon = 5e-5);
    }

    #[test]
    fn a_plate_clamped_at_its_bore_is_bent_as_in_plate_theory() {
        // a narrow plate passes the moment on unchanged; a wide one gathers it up to 2/(1 + ν)
        assert_relative_eq!(clamped_plate_factor(99.9, 100.0, 0.3), 1.0, max_relative = 2e-3);
        assert_relative_eq!(clamped_plate_factor(1e-3, 100.0, 0.3), 2.0 / 1.3, max_relative = 1e-6);
        // bore 10, outside 20 by hand: 2/(1.3 + 0.7/4) = 1.3559
        assert_relative_eq!(clamped_plate_factor(10.0, 20.0, 0.3), 1.3559, max_relative = 1e-4);
        // twelve couples of 40 N·mm at 20 mm: 480/(2π·20) = 3.8197 N·mm/mm, σ = 6·1.3559·3.8197/1² = 31.07 MPa, more
        // than opposite one root: 40/((4 + 2·10)·0.5) = 3.333
        let hub = Ring {
            root: Root::Hub,
            inner_radius: 10.0,
            outer_radius: 20.0,
            root_radius: 22.0,
            ..ring(RingHold::Level, 12)
        };
        let loads = RootLoads { twist: 40.0, ..RootLoads::default() };
        assert_relative_eq!(hub.stress(&loads), 31.07, max_relative = 1e-3);
        // a load through the axis, T = V r, has the couple V r_b at the bore: 10/22 of it
        let through_axis = RootLoads { shear: -40.0 / 22.0, ..loads };
        assert_relative_eq!(hub.stress(&through_axis), 31.07 * 10.0 / 22.0, max_relative = 1e-3);
    }
}
