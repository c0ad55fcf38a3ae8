//! One piece of the arm, or one root: a beam of given flexibility between two nodes.
//!
//! Unknowns at a node are the deviations from the free shape `(z, ωx, ωy)`: height and the two in-plane components of
//! the section's rotation vector. The strains of an element are the motion of its end b beyond the one that end a carries
//! along as a rigid body,
//!
//! ```text
//! e = b − T a,      T = [1  Δy  −Δx;  0 1 0;  0 0 1]
//! ```
//!
//! so that rigid motion costs nothing to the last bit. What end b gives way with end a clamped is the flexibility
//!
//! ```text
//! F = ∫ T(s) [t tᵀ/GJ + n nᵀ/EI] T(s)ᵀ ds
//! ```
//!
//! over the centre line between the nodes (unit-load method of structural analysis; Timoshenko & Young, Theory of
//! Structures), t along the arm and n across it: exact for an arc of any shape and section, as far as the quadrature is.
//! A root has no length.

use nalgebra::{Matrix3, Vector3};

use super::centre_line::Piece;
use crate::numeric::invert_symmetric;

/// Deviation of a node from its free place: z (mm), ωx, ωy (rad).
pub type Deviation = Vector3<f64>;

/// Stiffness against height of a rim that may lift, in units of `E t`: it carries less than a ten-thousandth of the load.
const SOFT: f64 = 4e-7;
/// Its stiffness against rotation, in units of `E t³`: ten thousand times that of a root.
const RIGID: f64 = 1e3;

/// One element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// from end a to end b (mm); zero for a root
    pub chord: [f64; 2],
    /// flexibility of end b with end a clamped, over force (N) and moments (N·mm): mm/N, 1/N, 1/(N·mm)
    pub flexibility: Matrix3<f64>,
    /// its inverse, the stiffness over the strains; NaN for a singular flexibility
    pub stiffness: Matrix3<f64>,
}

impl Element {
    /// An element of given flexibility.
    fn new(chord: [f64; 2], flexibility: Matrix3<f64>) -> Self {
        let stiffness = invert_symmetric(&flexibility).unwrap_or_else(|| Matrix3::repeat(f64::NAN));
        Self { chord, flexibility, stiffness }
    }

    /// A piece of arm.
    pub fn piece(piece: &Piece) -> Self {
        let mut flexibility = Matrix3::zeros();
        for (section, length) in piece.sections.iter().zip(piece.lengths) {
            let [twist, bend] = section.moment_rows(piece.end);
            flexibility += (length / section.torsion * twist) * twist.transpose()
                + (length / section.bending * bend) * bend.transpose();
        }
        Self::new(piece.chord(), flexibility)
    }

    /// A compliant root of an arm that leaves in `direction`: compliances against twist, slope (rad per N·mm), height
    /// (mm/N), and between twist and height (rad/N).
    pub fn root(direction: [f64; 2], [twist, slope, height]: [f64; 3], mixed: f64) -> Self {
        let [c, s] = direction;
        let local = Matrix3::new(height, 0.0, mixed, 0.0, slope, 0.0, mixed, 0.0, twist);
        // (z, φ, τ) → (z, ωx, ωy)
        let turn = Matrix3::new(1.0, 0.0, 0.0, 0.0, s, c, 0.0, -c, s);
        Self::new([0.0; 2], turn * local * turn.transpose())
    }

    /// The freedom of a rim to lift as a whole: next to nothing against height, next to rigid against rotation.
    pub fn lift(youngs_modulus: f64, thickness: f64) -> Self {
        let turning = 1.0 / (RIGID * youngs_modulus * thickness.powi(3));
        let rising = 1.0 / (SOFT * youngs_modulus * thickness);
        Self::new([0.0; 2], Matrix3::from_diagonal(&Vector3::new(rising, turning, turning)))
    }

    /// Whether this is a root.
    pub fn is_root(&self) -> bool {
        self.chord == [0.0; 2]
    }

    /// Distance between the ends (mm).
    pub fn length(&self) -> f64 {
        self.chord[0].hypot(self.chord[1])
    }

    /// Rise (mm) and rotations (rad) of end b beyond those of the rigid motion of end a.
    pub fn strains(&self, a: &Deviation, b: &Deviation) -> Vector3<f64> {
        let [dx, dy] = self.chord;
        Vector3::new(b[0] - a[0] - (a[1] * dy - a[2] * dx), b[1] - a[1], b[2] - a[2])
    }

    /// Stiffness blocks (a,a), (a,b), (b,b) over rise and rotations: N/mm, N, N·mm.
    pub fn blocks(&self) -> [Matrix3<f64>; 3] {
        let transport = self.transport();
        let carried = -(transport.transpose() * self.stiffness);
        [-(carried * transport), carried, self.stiffness]
    }

    /// Rigid transport of a motion of end a to end b, over rise (mm) and rotations (rad).
    pub fn transport(&self) -> Matrix3<f64> {
        transport(self.chord[0], self.chord[1])
    }

    /// Force (N) and moments (N·mm) on end b for a given deviation of both ends.
    pub fn force_at_b(&self, a: &Deviation, b: &Deviation) -> Vector3<f64> {
        self.stiffness * self.strains(a, b)
    }

    /// Forces on the two ends for a given deviation (N, N·mm): the gradient of the stored energy.
    pub fn forces(&self, a: &Deviation, b: &Deviation) -> [Vector3<f64>; 2] {
        let at_b = self.force_at_b(a, b);
        let [dx, dy] = self.chord;
        [-Vector3::new(at_b[0], at_b[1] + dy * at_b[0], at_b[2] - dx * at_b[0]), at_b]
    }

    /// Stored energy (N·mm).
    pub fn energy(&self, a: &Deviation, b: &Deviation) -> f64 {
        0.5 * self.strains(a, b).dot(&self.force_at_b(a, b))
    }
}

/// Rigid transport over (dx, dy): `z_b = z_a + ωx dy − ωy dx`, rotations equal.
pub fn transport(dx: f64, dy: f64) -> Matrix3<f64> {
    Matrix3::new(1.0, dy, -dx, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::centre_line::Section;
    use approx::assert_relative_eq;

    /// A piece along an arc of `radius` from `from` to `to` (rad), of even section.
    fn arc(radius: f64, from: f64, to: f64) -> Element {
        let section = |angle: f64| Section::even(angle, radius, 4e4, 7e4);
        Element::piece(&Piece::between([from, to], [radius; 2], section))
    }

    #[test]
    fn flexibility_and_stiffness_are_inverse() {
        for element in [arc(20.0, 0.3, 0.5), Element::root([0.6, 0.8], [3e-5, 5e-5, 1e-3], 1e-4)] {
            let unit = element.stiffness * element.flexibility;
            assert_relative_eq!(unit, Matrix3::identity(), epsilon = 1e-10);
        }
    }

    #[test]
    fn rigid_motion_is_free() {
        let element = arc(20.0, 0.3, 0.5);
        let a = Deviation::new(0.3, 0.02, -0.01);
        let b = element.transport() * a;
        let [at_a, at_b] = element.forces(&a, &b);
        assert!(at_a.norm() < 1e-9 && at_b.norm() < 1e-9, "{at_a} {at_b}");
        let [aa, ab, bb] = element.blocks();
        assert!((aa * a + ab * b).norm() < 1e-8);
        assert!((ab.transpose() * a + bb * b).norm() < 1e-8);
    }

    #[test]
    fn forces_are_the_slopes_of_the_energy() {
        for element in [arc(20.0, 0.3, 0.5), Element::root([0.6, 0.8], [3e-5, 5e-5, 1e-3], 1e-4)] {
            let (a, b) = (Deviation::new(0.3, 0.02, -0.01), Deviation::new(0.1, -0.03, 0.04));
            let [at_a, at_b] = element.forces(&a, &b);
            for k in 0..3 {
                let step = Deviation::ith(k, 1e-6);
                let by_a = (element.energy(&(a + step), &b) - element.energy(&(a - step), &b)) / 2e-6;
                let by_b = (element.energy(&a, &(b + step)) - element.energy(&a, &(b - step))) / 2e-6;
                assert_relative_eq!(by_a, at_a[k], max_relative = 1e-5, epsilon = 1e-4);
                assert_relative_eq!(by_b, at_b[k], max_relative = 1e-5, epsilon = 1e-4);
            }
        }
    }

    /// δ = (PR³/EI)(φ/2 − sin 2φ/4) + (PR³/GJ)(3φ/2 − 2 sin φ + sin 2φ/4), a clamped arc with free tip (Roark's Formulas).
    #[test]
    fn one_piece_is_as_flexible_as_the_arc_it_lies_on() {
        for degrees in [2.0_f64, 10.0, 20.0, 30.0] {
            let turn = degrees.to_radians();
            let found = arc(20.0, 0.7, 0.7 + turn).flexibility[(0, 0)];
            let cube = 8000.0;
            let expected = cube / 7e4 * (0.5 * turn - 0.25 * (2.0 * turn).sin())
                + cube / 4e4 * (1.5 * turn - 2.0 * turn.sin() + 0.25 * (2.0 * turn).sin());
            assert_relative_eq!(found, expected, max_relative = 2e-3 * (degrees / 30.0).powi(2));
        }
    }

    /// Deflection L³/3EI and slope L²/2EI of a straight cantilever, the limit of an arc of large radius.
    #[test]
    fn a_straight_piece_is_a_cantilever() {
        let (length, radius) = (3.0, 3e5);
        let element = arc(radius, 0.0, length / radius);
        assert_relative_eq!(element.flexibility[(0, 0)], 27.0 / (3.0 * 7e4), max_relative = 1e-4);
        assert_relative_eq!(element.flexibility[(0, 1)].abs(), 9.0 / (2.0 * 7e4), max_relative = 1e-4);
    }
}
