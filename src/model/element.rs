//! One straight piece of the arm, or one root: three strains and their stiffnesses.
//!
//! Unknowns at a node are the deviations from the free shape `(z, ωx, ωy)`: height and the two in-plane components of
//! the section's rotation vector. Along the unit direction (c, s) a node has slope `φ = ωx s − ωy c` and twist
//! `τ = ωx c + ωy s`. A piece of length L stores
//!
//! ```text
//! ½ (GJ/L) Δτ² + ½ (EI/L) Δφ² + ½ (12 EI/L) (φ̄ − Δz/L)²,      φ̄ = (φ₁ + φ₂)/2
//! ```
//!
//! which is Saint-Venant torsion and Hermite bending written in modes, so that rigid motion costs nothing to the last
//! bit. A root has no length; its third strain is Δz, which a rim that rests couples to its twist: `k Δτ Δz` besides.

use nalgebra::{Matrix3, Vector3};

/// Deviation of a node from its free place: z (mm), ωx, ωy (rad).
pub type Deviation = Vector3<f64>;

/// Stiffness against height of a rim that may lift, in units of `E t`: it carries less than a ten-thousandth of the load.
const SOFT: f64 = 4e-7;
/// Its stiffness against rotation, in units of `E t³`: ten thousand times that of a root.
const RIGID: f64 = 1e3;

/// One element.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// stiffness against twist difference (N·mm), slope difference (N·mm), and the third strain (N·mm; a root: N/mm)
    pub stiffness: [f64; 3],
    /// of a root: stiffness between twist and rise (N)
    pub coupling: f64,
    /// direction of the chord, or of the arm at a root
    pub cosine: f64,
    /// direction of the chord, or of the arm at a root
    pub sine: f64,
    /// chord length (mm); 0 is a root
    pub length: f64,
}

impl Element {
    /// A piece of arm between two points (mm), with torsional stiffness GJ and bending stiffness EI (N·mm²).
    pub fn piece(from: [f64; 2], to: [f64; 2], torsion: f64, bending: f64) -> Self {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = dx.hypot(dy);
        Self {
            stiffness: [torsion / length, bending / length, 12.0 * bending / length],
            coupling: 0.0,
            cosine: dx / length,
            sine: dy / length,
            length,
        }
    }

    /// A compliant root of an arm that leaves in `direction`: springs against twist, slope (N·mm) and height (N/mm), and
    /// between twist and height (N).
    pub fn root(direction: [f64; 2], [twist, slope, height]: [f64; 3], coupling: f64) -> Self {
        let [cosine, sine] = direction;
        Self { stiffness: [twist, slope, height], coupling, cosine, sine, length: 0.0 }
    }

    /// The freedom of a rim to lift as a whole: next to nothing against height, next to rigid against rotation.
    pub fn lift(direction: [f64; 2], youngs_modulus: f64, thickness: f64) -> Self {
        let turning = RIGID * youngs_modulus * thickness.powi(3);
        Self::root(direction, [turning, turning, SOFT * youngs_modulus * thickness], 0.0)
    }

    /// Whether this is a root.
    pub fn is_root(&self) -> bool {
        self.length == 0.0
    }

    /// Twist and slope along this element (rad) of the motion `d` of one end: rise (mm), rotations about x and y (rad).
    pub fn twist_and_slope(&self, d: &Deviation) -> (f64, f64) {
        (d[1] * self.cosine + d[2] * self.sine, d[1] * self.sine - d[2] * self.cosine)
    }

    /// The three strains between the ends: twist (rad), bend (rad), and the rise that neither explains (of a piece over its
    /// length, rad; of a root, mm).
    pub fn strains(&self, a: &Deviation, b: &Deviation) -> [f64; 3] {
        let (twist_a, slope_a) = self.twist_and_slope(a);
        let (twist_b, slope_b) = self.twist_and_slope(b);
        let rise = b[0] - a[0];
        let third = if self.is_root() { rise } else { 0.5 * (slope_a + slope_b) - rise / self.length };
        [twist_b - twist_a, slope_b - slope_a, third]
    }

    /// Rows of the strains over the unknowns of the two ends.
    fn strain_rows(&self) -> [[Vector3<f64>; 2]; 3] {
        let twist = Vector3::new(0.0, self.cosine, self.sine);
        let slope = Vector3::new(0.0, self.sine, -self.cosine);
        let height = Vector3::new(1.0, 0.0, 0.0);
        let third = if self.is_root() {
            [-height, height]
        } else {
            [0.5 * slope + height / self.length, 0.5 * slope - height / self.length]
        };
        [[-twist, twist], [-slope, slope], third]
    }

    /// Stiffness blocks (a,a), (a,b), (b,b) over rise and rotations: N/mm, N, N·mm.
    pub fn blocks(&self) -> [Matrix3<f64>; 3] {
        let rows = self.strain_rows();
        let block = |a: usize, b: usize| {
            let mut block = Matrix3::zeros();
            for (row, k) in rows.iter().zip(self.stiffness) {
                block += k * row[a] * row[b].transpose();
            }
            if self.coupling != 0.0 {
                let mixed = rows[0][a] * rows[2][b].transpose() + rows[2][a] * rows[0][b].transpose();
                block += self.coupling * mixed;
            }
            block
        };
        [block(0, 0), block(0, 1), block(1, 1)]
    }

    /// Flexibility of end b with end a clamped, over force (N) and moments (N·mm): mm/N, 1/N, 1/(N·mm).
    pub fn flexibility(&self) -> Matrix3<f64> {
        let [twist, slope, _] = self.stiffness;
        let local = if self.is_root() {
            let [twist, mixed, third] = self.root_compliance();
            Matrix3::new(third, 0.0, mixed, 0.0, 1.0 / slope, 0.0, mixed, 0.0, twist)
        } else {
            let (l, bending) = (self.length, slope * self.length);
            Matrix3::new(
                l.powi(3) / (3.0 * bending),
                l * l / (2.0 * bending),
                0.0,
                l * l / (2.0 * bending),
                l / bending,
                0.0,
                0.0,
                0.0,
                1.0 / twist,
            )
        };
        // (z, φ, τ) → (z, ωx, ωy)
        let turn = Matrix3::new(1.0, 0.0, 0.0, 0.0, self.sine, self.cosine, 0.0, -self.cosine, self.sine);
        turn * local * turn.transpose()
    }

    /// Compliances of a root: twist (rad per N·mm), twist for a force (rad/N), rise (mm/N).
    fn root_compliance(&self) -> [f64; 3] {
        let [twist, _, height] = self.stiffness;
        if self.coupling == 0.0 {
            return [1.0 / twist, 0.0, 1.0 / height];
        }
        let determinant = twist * height - self.coupling * self.coupling;
        [height / determinant, -self.coupling / determinant, twist / determinant]
    }

    /// Forces that go with the strains: against twist, slope (N·mm), and the third (a root: N).
    pub fn stresses(&self, [twist, slope, third]: [f64; 3]) -> [f64; 3] {
        let [k_twist, k_slope, k_third] = self.stiffness;
        [k_twist * twist + self.coupling * third, k_slope * slope, k_third * third + self.coupling * twist]
    }

    /// Rigid transport of a motion of end a to end b, over rise (mm) and rotations (rad).
    pub fn transport(&self) -> Matrix3<f64> {
        transport(self.length * self.cosine, self.length * self.sine)
    }

    /// Forces on the two ends for a given deviation (N, N·mm): the gradient of the stored energy.
    pub fn forces(&self, a: &Deviation, b: &Deviation) -> [Vector3<f64>; 2] {
        let [twist, bend, third] = self.stresses(self.strains(a, b));
        // a piece's third strain turns with the mean slope; a root's is the rise itself
        let (lift, lever) = if self.is_root() { (third, 0.0) } else { (-third / self.length, 0.5 * third) };
        let end = |lift: f64, twist: f64, bend: f64| {
            Vector3::new(lift, twist * self.cosine + bend * self.sine, twist * self.sine - bend * self.cosine)
        };
        [end(-lift, -twist, lever - bend), end(lift, twist, lever + bend)]
    }

    /// Stored energy (N·mm).
    pub fn energy(&self, a: &Deviation, b: &Deviation) -> f64 {
        let strains = self.strains(a, b);
        strains.iter().zip(self.stresses(strains)).map(|(strain, stress)| 0.5 * strain * stress).sum()
    }
}

/// Rigid transport over (dx, dy): `z_b = z_a + ωx dy − ωy dx`, rotations equal.
pub fn transport(dx: f64, dy: f64) -> Matrix3<f64> {
    Matrix3::new(1.0, dy, -dx, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn flexibility_and_stiffness_are_inverse() {
        for element in [
            Element::piece([1.0, 2.0], [3.0, 1.5], 4e4, 7e4),
            Element::root([0.6, 0.8], [3e4, 5e4, 1e3], 2e3),
        ] {
            let unit = element.blocks()[2] * element.flexibility();
            assert_relative_eq!(unit, Matrix3::identity(), epsilon = 1e-10);
        }
    }

    #[test]
    fn rigid_motion_is_free() {
        let element = Element::piece([1.0, 2.0], [3.0, 1.5], 4e4, 7e4);
        let a = Vector3::new(0.3, 0.02, -0.01);
        let b = element.transport() * a;
        assert!(element.energy(&a, &b) < 1e-24);
    }
}
