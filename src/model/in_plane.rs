//! A piece of the arm in its own plane: why a tall spring starts stiffer than its slopes alone say.
//!
//! As a piece of helical strip flattens, its horizontal projection lengthens by `e = ½(z0′² − z′²)` per unit length and
//! its curvature about the face normal rises by `κe` (κ the plan curvature; for a helix the face curvature is cos²α/R,
//! one cosine from the length, one from the tilt of the face). Neither fits the plan curve, so the hub turns about the
//! axis and the arm bends and stretches in its plane. The energy of a piece of length ℓ is
//!
//! ```text
//! ½ (EA/ℓ) (Δt − ℓe)² + ½ (EI_z/ℓ) (Δψ + ℓκe)² + ½ (12 EI_z/ℓ) (ψ̄ − Δn/ℓ)²,      I_z = t w³/12
//! ```
//!
//! with t, n the displacements along and across the piece and ψ the rotation: an ordinary plane-frame element (axial
//! plus Hermite bending) with misfits.

use nalgebra::{Matrix3, Matrix6, Vector6};

use super::chain::Chain;

/// Length of root section that yields in the plane as much as the root does, in root widths. The curve hardly feels it.
const ROOT_LENGTH: f64 = 0.65;

/// Unknowns of a node: deviations out of the plane `(z, ωx, ωy)` and motions in it `(ux, uy, ψ)`.
pub type NodeState = Vector6<f64>;

/// One piece in the plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanePiece {
    /// EA (N)
    pub axial: f64,
    /// E I_z (N·mm²)
    pub bending: f64,
    /// plan curvature, heading change per length (1/mm)
    pub curvature: f64,
    /// length (mm)
    pub length: f64,
    /// free slope z0′
    pub free_slope: f64,
    /// direction
    pub cosine: f64,
    /// direction
    pub sine: f64,
}

/// Strains of a plane piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaneStrain {
    /// slope z′ now
    pub slope: f64,
    /// lengthening e of the projection, per length
    pub stretch: f64,
    /// Δt − ℓe (mm), Δψ + ℓκe (rad), ψ̄ − Δn/ℓ (rad)
    pub misfit: [f64; 3],
    /// the energy's gradient over e (N·mm)
    pub by_stretch: f64,
}

impl PlanePiece {
    /// The pieces of a chain's arm.
    pub fn of_chain(chain: &Chain, youngs_modulus: f64, thickness: f64) -> Vec<Self> {
        let count = chain.segments.len();
        let elements = &chain.elements[chain.first..chain.first + count];
        (0..count)
            .map(|i| {
                let section = &chain.segments[i];
                let element = &elements[i];
                let (before, after) = neighbours(i, count);
                let (a, b) = (&elements[before], &elements[after]);
                let turn =
                    (a.cosine * b.sine - a.sine * b.cosine).atan2(a.cosine * b.cosine + a.sine * b.sine);
                let node = chain.first + i;
                Self {
                    axial: youngs_modulus * section.width * thickness,
                    bending: youngs_modulus * thickness * section.width.powi(3) / 12.0,
                    curvature: turn / distance(chain, before, after),
                    length: element.length,
                    free_slope: (chain.free_height[node + 1] - chain.free_height[node]) / element.length,
                    cosine: element.cosine,
                    sine: element.sine,
                }
            })
            .collect()
    }

    /// Springs in the plane of a root of normal `width` that this end piece grows from, along it, across it (N/mm) and
    /// against rotation (N·mm): those of a piece of its own section `ROOT_LENGTH` widths long.
    pub fn root_springs(&self, width: f64) -> [f64; 3] {
        let length = ROOT_LENGTH * width;
        [self.axial / length, 3.0 * self.bending / length.powi(3), self.bending / length]
    }

    /// The same over `(ux, uy, ψ)`.
    pub fn root_stiffness(&self, width: f64) -> Matrix3<f64> {
        let [along, across, turn] = self.root_springs(width);
        let (c, s) = (self.cosine, self.sine);
        let cross = (along - across) * c * s;
        Matrix3::new(
            along * c * c + across * s * s,
            cross,
            0.0,
            cross,
            along * s * s + across * c * c,
            0.0,
            0.0,
            0.0,
            turn,
        )
    }

    /// Stiffnesses of the three misfits.
    pub fn stiffness(&self) -> [f64; 3] {
        [self.axial / self.length, self.bending / self.length, 12.0 * self.bending / self.length]
    }

    /// Strains between the states of the ends.
    pub fn strain(&self, a: &NodeState, b: &NodeState) -> PlaneStrain {
        let slope = self.free_slope + (b[0] - a[0]) / self.length;
        let stretch = 0.5 * (self.free_slope - slope) * (self.free_slope + slope);
        let (dx, dy) = (b[3] - a[3], b[4] - a[4]);
        let misfit = [
            self.cosine * dx + self.sine * dy - self.length * stretch,
            b[5] - a[5] + self.length * self.curvature * stretch,
            0.5 * (a[5] + b[5]) - (self.cosine * dy - self.sine * dx) / self.length,
        ];
        let k = self.stiffness();
        let by_stretch = self.length * (self.curvature * k[1] * misfit[1] - k[0] * misfit[0]);
        PlaneStrain { slope, stretch, misfit, by_stretch }
    }

    /// Slopes of the three misfits over the states of both ends, at slope z′.
    pub fn rows(&self, slope: f64) -> [[NodeState; 2]; 3] {
        let (c, s, l) = (self.cosine, self.sine, self.length);
        // ∂e/∂z_b = −z′/ℓ
        let along = Vector6::new(slope, 0.0, 0.0, c, s, 0.0);
        let turn = Vector6::new(-self.curvature * slope, 0.0, 0.0, 0.0, 0.0, 1.0);
        let across = Vector6::new(0.0, 0.0, 0.0, -s / l, c / l, 0.0);
        let half = Vector6::new(0.0, 0.0, 0.0, 0.0, 0.0, 0.5);
        [[-along, along], [-turn, turn], [half + across, half - across]]
    }

    /// Adds this piece's forces on its ends (the energy's gradient).
    pub fn add_forces(&self, strain: &PlaneStrain, a: &mut NodeState, b: &mut NodeState) {
        for ((row, k), q) in self.rows(strain.slope).iter().zip(self.stiffness()).zip(strain.misfit) {
            *a += k * q * row[0];
            *b += k * q * row[1];
        }
    }

    /// Adds this piece's tangent stiffness blocks (a,a), (a,b), (b,b); without the geometric part they are positive
    /// semidefinite wherever the state is.
    pub fn add_stiffness(&self, strain: &PlaneStrain, geometric: bool, blocks: &mut [Matrix6<f64>; 3]) {
        for (row, k) in self.rows(strain.slope).iter().zip(self.stiffness()) {
            blocks[0] += k * row[0] * row[0].transpose();
            blocks[1] += k * row[0] * row[1].transpose();
            blocks[2] += k * row[1] * row[1].transpose();
        }
        if geometric {
            // ∂²e/∂z′² = −1
            let part = strain.by_stretch / (self.length * self.length);
            blocks[0][(0, 0)] -= part;
            blocks[1][(0, 0)] += part;
            blocks[2][(0, 0)] -= part;
        }
    }

    /// Stored energy (N·mm).
    pub fn energy(&self, strain: &PlaneStrain) -> f64 {
        strain.misfit.iter().zip(self.stiffness()).map(|(q, k)| 0.5 * k * q * q).sum()
    }
}

/// The pieces whose headings give the curvature of piece `i` of `count`.
pub fn neighbours(i: usize, count: usize) -> (usize, usize) {
    (i.saturating_sub(1), (i + 1).min(count - 1))
}

/// Distance between the middles of two pieces (mm).
pub fn distance(chain: &Chain, before: usize, after: usize) -> f64 {
    let inner: f64 = (before + 1..after).map(|k| chain.segments[k].length).sum();
    let ends = if after > before {
        0.5 * (chain.segments[before].length + chain.segments[after].length)
    } else {
        chain.segments[before].length
    };
    inner + ends
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forces_and_stiffness_are_slopes_of_the_energy() {
        let piece = PlanePiece {
            axial: 3e3,
            bending: 5e3,
            curvature: 0.05,
            length: 0.8,
            free_slope: 0.11,
            cosine: 0.6,
            sine: 0.8,
        };
        let a = NodeState::new(0.02, 0.1, -0.1, 0.003, -0.002, 0.004);
        let b = NodeState::new(-0.03, 0.05, 0.02, 0.001, 0.005, -0.002);
        let gradient = |a: &NodeState, b: &NodeState| {
            let (mut fa, mut fb) = (NodeState::zeros(), NodeState::zeros());
            piece.add_forces(&piece.strain(a, b), &mut fa, &mut fb);
            (fa, fb)
        };
        let mut blocks = [Matrix6::zeros(); 3];
        piece.add_stiffness(&piece.strain(&a, &b), true, &mut blocks);
        let step = 1e-6;
        for k in 0..6 {
            let mut push = NodeState::zeros();
            push[k] = step;
            let energy = |b: NodeState| piece.energy(&piece.strain(&a, &b));
            let by_difference = (energy(b + push) - energy(b - push)) / (2.0 * step);
            assert!((gradient(&a, &b).1[k] - by_difference).abs() < 1e-6, "force {k}");
            let (up, down) = (gradient(&a, &(b + push)), gradient(&a, &(b - push)));
            for row in 0..6 {
                let ab = (up.0[row] - down.0[row]) / (2.0 * step);
                let bb = (up.1[row] - down.1[row]) / (2.0 * step);
                assert!(
                    (blocks[1][(row, k)] - ab).abs() < 1e-3,
                    "ab {row} {k}: {} {ab}",
                    blocks[1][(row, k)]
                );
                assert!(
                    (blocks[2][(row, k)] - bb).abs() < 1e-3,
                    "bb {row} {k}: {} {bb}",
                    blocks[2][(row, k)]
                );
            }
        }
    }
}
