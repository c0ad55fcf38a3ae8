//! In-plane stiffness of a piece of the arm, which makes a tall spring start stiffer than its slopes alone.
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

use nalgebra::{Vector3, Vector6};

use super::chain::Chain;

/// Length of root section with the in-plane compliance of a root, in root widths. Its effect on the curve is small.
const ROOT_LENGTH: f64 = 0.65;

/// Unknowns of a node: deviations out of the plane `(z, ωx, ωy)` and motions in it `(ux, uy, ψ)`.
pub type NodeState = Vector6<f64>;

/// One piece, in-plane.
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

    /// In-plane springs of a root of normal `width` that this end piece grows from, along it, across it (N/mm) and
    /// against rotation (N·mm): those of a piece of its own section `ROOT_LENGTH` widths long.
    pub fn root_springs(&self, width: f64) -> [f64; 3] {
        let length = ROOT_LENGTH * width;
        [self.axial / length, 3.0 * self.bending / length.powi(3), self.bending / length]
    }

    /// Stiffnesses of the three misfits: along (N/mm), turning (N·mm), across (N·mm).
    pub fn stiffness(&self) -> [f64; 3] {
        [self.axial / self.length, self.bending / self.length, 12.0 * self.bending / self.length]
    }

    /// Relative motion of the ends by stretch alone: along the piece, turning, across (per unit of e).
    pub fn misfit_per_stretch(&self) -> Vector3<f64> {
        Vector3::new(self.length, -self.length * self.curvature, 0.0)
    }

    /// Slope z′ and stretch e where the ends deviate by `rise` from their free difference of height (mm).
    pub fn climb(&self, rise: f64) -> (f64, f64) {
        let fall = -rise / self.length;
        // ½(z0′² − z′²) as a product, so that a small deviation keeps its digits
        (self.free_slope - fall, 0.5 * fall * (2.0 * self.free_slope - fall))
    }

    /// Misfits along the piece (mm) and turning (rad) between the states of the ends.
    pub fn misfit(&self, a: &NodeState, b: &NodeState) -> [f64; 2] {
        let stretch = self.climb(b[0] - a[0]).1;
        let (dx, dy) = (b[3] - a[3], b[4] - a[4]);
        [
            self.cosine * dx + self.sine * dy - self.length * stretch,
            b[5] - a[5] + self.length * self.curvature * stretch,
        ]
    }

    /// Strains between the states of the ends.
    pub fn strain(&self, a: &NodeState, b: &NodeState) -> PlaneStrain {
        let (slope, stretch) = self.climb(b[0] - a[0]);
        let (dx, dy) = (b[3] - a[3], b[4] - a[4]);
        let [along, turning] = self.misfit(a, b);
        let across = 0.5 * (a[5] + b[5]) - (self.cosine * dy - self.sine * dx) / self.length;
        let misfit = [along, turning, across];
        let k = self.stiffness();
        let by_stretch = self.length * (self.curvature * k[1] * misfit[1] - k[0] * misfit[0]);
        PlaneStrain { slope, stretch, misfit, by_stretch }
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
