//! In-plane stiffness of the arm, which makes a tall spring start stiffer than its slopes alone.
//!
//! As a piece of helical strip flattens, its horizontal projection lengthens by `e = ½(z0′² − z′²)` per unit length and
//! its curvature about the face normal rises by `κe` (κ the plan curvature; for a helix the face curvature is cos²α/R,
//! one cosine from the length, one from the tilt of the face). Neither fits the plan curve, so the hub turns about the
//! axis and the arm bends and stretches in its plane.
//!
//! The arm in its plane is statically determinate but for the force P by which the axis holds the hub. Cut free from the
//! axis, the arm takes any misfit without force: it is a curved beam fixed at the rim. With e the stretches of the pieces,
//! the misfit at the axis is `s = Σ bᵢ eᵢ`, the compliance at the axis the 2×2 matrix `F = ∫ (t tᵀ/EA + m mᵀ/EI) ds` with t
//! along the arm and m = (y, −x), and (force method of structural analysis; Timoshenko & Young, Theory of Structures)
//!
//! ```text
//! P = −F⁻¹ s,      U = ½ sᵀ F⁻¹ s,      b = ∫ (t − κ m) ds
//! ```

use nalgebra::{Matrix2, Vector2, Vector3};

use super::centre_line::Section;
use super::chain::Chain;
use super::element::Deviation;
use super::stress::SectionLoads;

/// Length of root section with the in-plane compliance of a root, in root widths. Its effect on the curve is small.
pub const ROOT_LENGTH: f64 = 0.65;

/// The arm in its plane.
#[derive(Debug, Clone)]
pub struct PlaneFrame {
    /// slopes and stretches of the pieces
    pub piece_slopes: Vec<PieceSlope>,
    /// b of every piece: how its stretch moves the hub's end past the axis (mm per unit stretch)
    pub influence: Vec<Vector2<f64>>,
    /// F (mm/N)
    pub flexibility: Matrix2<f64>,
    /// F⁻¹ (N/mm)
    pub stiffness: Matrix2<f64>,
}

/// Slope of a piece from node to node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PieceSlope {
    /// arc length (mm)
    pub length: f64,
    /// free slope z0′
    pub free_slope: f64,
}

impl PieceSlope {
    /// Slope z′ and stretch e where the ends deviate by `rise` from their free difference of height (mm).
    pub fn of(&self, rise: f64) -> (f64, f64) {
        let fall = -rise / self.length;
        // ½(z0′² − z′²) as a product, so that a small deviation keeps its digits
        (self.free_slope - fall, 0.5 * fall * (2.0 * self.free_slope - fall))
    }
}

/// Motion of the hub's end at the axis per strain of a section: along the arm, turning, and across it.
pub fn at_axis(section: &Section) -> [Vector2<f64>; 3] {
    let ([x, y], c, s) = (section.position, section.cosine, section.sine);
    [Vector2::new(c, s), Vector2::new(y, -x), Vector2::new(-s, c)]
}

/// In-plane compliances of a root along the arm, across it (mm/N) and against rotation (1/(N·mm)): those of a piece of its own
/// section.
pub fn root_compliance(root: &Section) -> [f64; 3] {
    let length = ROOT_LENGTH * root.width;
    [length / root.axial, length.powi(3) / (3.0 * root.in_plane), length / root.in_plane]
}

impl PlaneFrame {
    /// The frame of a chain. None where the compliance at the axis has no inverse.
    pub fn new(chain: &Chain) -> Option<Self> {
        let mut flexibility = Matrix2::zeros();
        let mut influence = Vec::with_capacity(chain.pieces.len());
        for piece in &chain.pieces {
            let mut own = Vector2::zeros();
            for (section, length) in piece.sections.iter().zip(piece.lengths) {
                let [along, turning, _] = at_axis(section);
                flexibility += (length / section.axial * along) * along.transpose()
                    + (length / section.in_plane * turning) * turning.transpose();
                own += length * (along - section.curvature * turning);
            }
            influence.push(own);
        }
        for root in roots(chain) {
            let [along, turning, across] = at_axis(root);
            let [by_along, by_across, by_turn] = root_compliance(root);
            flexibility += (by_along * along) * along.transpose()
                + (by_across * across) * across.transpose()
                + (by_turn * turning) * turning.transpose();
        }
        let piece_slopes = chain
            .pieces
            .iter()
            .zip(chain.free_height[chain.first..].windows(2))
            .map(|(piece, height)| PieceSlope {
                length: piece.length,
                free_slope: (height[1] - height[0]) / piece.length,
            })
            .collect();
        let stiffness = flexibility.try_inverse()?;
        let regular = stiffness.iter().all(|k| k.is_finite()) && stiffness.trace() > 0.0;
        regular.then_some(Self { piece_slopes, influence, flexibility, stiffness })
    }

    /// Displacements of the arm's nodes (mm) and turn of the hub (rad) in a state of the chain's nodes in which the axis holds the
    /// hub with the force `redundant` (N).
    pub fn motions(
        &self,
        chain: &Chain,
        state: &[Deviation],
        redundant: Vector2<f64>,
    ) -> (Vec<[f64; 2]>, f64) {
        // ux, uy, ψ
        let mut motion = Vector3::zeros();
        let mut shifts = Vec::with_capacity(chain.sections.len());
        let strained = |motion: &mut Vector3<f64>, section: &Section, along: f64, turn: f64, across: f64| {
            let (c, s) = (section.cosine, section.sine);
            *motion += Vector3::new(c * along - s * across, s * along + c * across, turn);
        };
        let at_root = |motion: &mut Vector3<f64>, root: &Section| {
            let [along, turning, across] = at_axis(root);
            let [by_along, by_across, by_turn] = root_compliance(root);
            strained(
                motion,
                root,
                by_along * redundant.dot(&along),
                by_turn * redundant.dot(&turning),
                by_across * redundant.dot(&across),
            );
        };
        if chain.first > 0 {
            at_root(&mut motion, &chain.sections[0]);
        }
        shifts.push([motion[0], motion[1]]);
        for (k, (piece, climb)) in chain.pieces.iter().zip(&self.piece_slopes).enumerate() {
            let node = chain.first + k;
            let stretch = climb.of(state[node + 1][0] - state[node][0]).1;
            let mut from = piece.start;
            for (section, length) in piece.sections.iter().zip(piece.lengths) {
                carry(&mut motion, from, section.position);
                let [along, turning, _] = at_axis(section);
                let strain = stretch + redundant.dot(&along) / section.axial;
                let turn = redundant.dot(&turning) / section.in_plane - section.curvature * stretch;
                strained(&mut motion, section, length * strain, length * turn, 0.0);
                from = section.position;
            }
            carry(&mut motion, from, piece.end);
            shifts.push([motion[0], motion[1]]);
        }
        if chain.elements.len() > chain.first + chain.pieces.len() {
            at_root(&mut motion, &chain.sections[chain.pieces.len()]);
        }
        (shifts, motion[2])
    }

    /// Energy stored in the plane where the axis holds the hub with the force `redundant` (N·mm).
    pub fn energy(&self, redundant: Vector2<f64>) -> f64 {
        0.5 * redundant.dot(&(self.flexibility * redundant))
    }
}

/// Sections at the compliant roots of a chain.
fn roots(chain: &Chain) -> impl Iterator<Item = &Section> {
    let last = chain.pieces.len();
    let outer = (chain.first > 0).then(|| &chain.sections[0]);
    let inner = (chain.elements.len() > chain.first + last).then(|| &chain.sections[last]);
    outer.into_iter().chain(inner)
}

/// Rigid motion (ux, uy, ψ) from one place to another.
fn carry(motion: &mut Vector3<f64>, from: [f64; 2], to: [f64; 2]) {
    motion[0] -= motion[2] * (to[1] - from[1]);
    motion[1] += motion[2] * (to[0] - from[0]);
}

/// Loads of a section with the force along the arm and the moment in the plane that a force `redundant` (N) at the axis brings about.
pub fn with_plane(loads: SectionLoads, section: &Section, redundant: Vector2<f64>) -> SectionLoads {
    let [along, turning, _] = at_axis(section);
    SectionLoads { axial: redundant.dot(&along), in_plane: redundant.dot(&turning), ..loads }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{ArmPath, SheetProperties, Station};
    use crate::model::centre_line::SectionLaw;
    use crate::model::chain::Ends;
    use crate::model::root::RootCompliance;
    use crate::model::touch::Touch;
    use approx::assert_relative_eq;

    fn sheet() -> SheetProperties {
        SheetProperties {
            material: None,
            thickness: 1.0,
            youngs_modulus: 2e5,
            shear_modulus: 8e4,
            tensile_strength: None,
            yield_strength: None,
            density: None,
        }
    }

    fn chain(yielding: bool, pieces: usize) -> Chain {
        let stations: Vec<Station> = (0..=20)
            .map(|k| {
                let s = f64::from(k) / 20.0;
                Station { angle: 7.0 * s, radius: 30.0 - 18.0 * s, width: 5.0 - 2.0 * s, height: 6.0 * s }
            })
            .collect();
        let root = yielding.then_some(RootCompliance { twist: 1e-5, slope: 1e-5, height: 1e-4, mixed: 0.0 });
        let arm = ArmPath::through_stations(&stations, pieces).unwrap();
        let ends = Ends { outer: root, inner: root, lifts: false };
        Chain::new(&arm, &sheet(), SectionLaw::default(), Touch::Clamps, |_, _| ends)
    }

    fn state(chain: &Chain) -> Vec<Deviation> {
        chain
            .free_height
            .iter()
            .enumerate()
            .map(|(k, height)| Deviation::new(-0.6 * height - 0.1 * (0.4 * k as f64).sin(), 0.0, 0.0))
            .collect()
    }

    fn hold(chain: &Chain, frame: &PlaneFrame, state: &[Deviation]) -> Vector2<f64> {
        let stretch = |k: usize| {
            let node = chain.first + k;
            frame.piece_slopes[k].of(state[node + 1][0] - state[node][0]).1
        };
        let misfit: Vector2<f64> = frame.influence.iter().enumerate().map(|(k, b)| stretch(k) * *b).sum();
        -(frame.stiffness * misfit)
    }

    #[test]
    fn the_hub_turns_about_the_axis_without_other_motion() {
        for yielding in [false, true] {
            let chain = chain(yielding, 40);
            let frame = PlaneFrame::new(&chain).unwrap();
            let state = state(&chain);
            let (shifts, turn) = frame.motions(&chain, &state, hold(&chain, &frame, &state));
            let [x, y] = chain.position[chain.position.len() - 1];
            assert!(turn.abs() > 1e-4, "{turn}");
            if !yielding {
                let [ux, uy] = shifts[shifts.len() - 1];
                assert_relative_eq!(ux, -y * turn, epsilon = 1e-9);
                assert_relative_eq!(uy, x * turn, epsilon = 1e-9);
            }
        }
    }

    /// A ring sector of even section fixed at one end and pulled at the centre of its circle: with N = P cos and M = PR sin about
    /// every section, F = ∫ (cos²/EA + R² sin²/EI) R dθ, half a turn π R/2 (1/EA + R²/EI) both ways (unit-load method).
    #[test]
    fn a_half_ring_gives_way_at_its_centre_as_by_hand() {
        let stations = [0.0, 1.0].map(|s| Station {
            angle: std::f64::consts::PI * s,
            radius: 20.0,
            width: 4.0,
            height: s,
        });
        let arm = ArmPath::through_stations(&stations, 12).unwrap();
        let clamped = |_: &Section, _: &Section| Ends::default();
        let chain = Chain::new(&arm, &sheet(), SectionLaw::default(), Touch::Clamps, clamped);
        let frame = PlaneFrame::new(&chain).unwrap();
        let (area, inertia) = (4.0 * 2e5, 2e5 * 64.0 / 12.0);
        let expected = 0.5 * std::f64::consts::PI * 20.0 * (1.0 / area + 400.0 / inertia);
        assert_relative_eq!(frame.flexibility[(0, 0)], expected, max_relative = 1e-4);
        assert_relative_eq!(frame.flexibility[(1, 1)], expected, max_relative = 1e-4);
    }

    /// The energy of the force at the axis is the work that a small change of the shape does against it.
    #[test]
    fn the_force_at_the_axis_is_the_slope_of_the_energy() {
        let chain = chain(true, 40);
        let frame = PlaneFrame::new(&chain).unwrap();
        let stored = |state: &[Deviation]| frame.energy(hold(&chain, &frame, state));
        let base = state(&chain);
        for node in [5, 20, 33] {
            let moved = |by: f64| {
                let mut state = base.clone();
                state[node][0] += by;
                stored(&state)
            };
            let quotient = (moved(1e-5) - moved(-1e-5)) / 2e-5;
            let pull = hold(&chain, &frame, &base);
            let climb = |k: usize| {
                frame.piece_slopes[k].of(base[chain.first + k + 1][0] - base[chain.first + k][0]).0
            };
            let (before, after) = (node - chain.first - 1, node - chain.first);
            // ∂e/∂z_b = −z′/ℓ, ∂U/∂e = −b·P
            let slope = frame.influence[before].dot(&pull) * climb(before)
                / frame.piece_slopes[before].length
                - frame.influence[after].dot(&pull) * climb(after) / frame.piece_slopes[after].length;
            assert_relative_eq!(quotient, slope, max_relative = 1e-5);
        }
    }
}
