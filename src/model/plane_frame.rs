//! In-plane frame of the whole arm: statically determinate but for the two forces by which the axis holds the hub.
//!
//! Cut free from the axis, the arm takes any misfit without force: it is a chain fixed at the rim. The hub turns freely
//! about the axis, so all that holds it is a force P at the axis, and that force alone strains the arm. With e the
//! stretches of the pieces, the misfit at the axis is `s = Σ bᵢ eᵢ`, the compliance of the chain at the axis the 2×2
//! matrix `F = Σ B k⁻¹ Bᵀ`, and (force method of structural analysis; Timoshenko & Young, Theory of Structures)
//!
//! ```text
//! P = −F⁻¹ s,      U = ½ sᵀ F⁻¹ s
//! ```
//!
//! exactly what an assembly of plane-frame elements would store, at the cost of a few sums.

use nalgebra::{Matrix2, Matrix2x3, Matrix3, Matrix3x2, Vector2, Vector3};

use super::chain::Chain;
use super::element::Element;
use super::in_plane::{NodeState, PlanePiece};

/// The arm in-plane. Node and element numbers are those of the chain.
#[derive(Debug, Clone)]
pub struct PlaneFrame {
    /// pieces of the arm; element `first + i` carries piece i
    pub pieces: Vec<PlanePiece>,
    /// b of every piece: how its stretch moves the hub's end past the axis (mm per unit stretch)
    pub reach: Vec<Vector2<f64>>,
    /// F (mm/N)
    pub flexibility: Matrix2<f64>,
    /// F⁻¹ (N/mm)
    pub stiffness: Matrix2<f64>,
    first: usize,
    /// B and 1/k of every element, roots included
    links: Vec<Link>,
}

/// Motion of the hub's end at the axis by the strains of one element, and their compliance.
#[derive(Debug, Clone, Copy)]
struct Link {
    at_axis: Matrix2x3<f64>,
    compliance: Vector3<f64>,
}

impl PlaneFrame {
    /// The frame of a chain; roots have the in-plane compliance of [`PlanePiece::root_springs`]. None where the compliance at
    /// the axis has no inverse.
    pub fn new(chain: &Chain, youngs_modulus: f64, thickness: f64) -> Option<Self> {
        let pieces = PlanePiece::of_chain(chain, youngs_modulus, thickness);
        let count = pieces.len();
        let mut links = Vec::with_capacity(chain.elements.len());
        for (i, element) in chain.elements.iter().enumerate() {
            let (c, s) = (element.cosine, element.sine);
            let [ax, ay] = chain.position[i];
            let [bx, by] = chain.position[i + 1];
            let (x, y) = (0.5 * (ax + bx), 0.5 * (ay + by));
            let (third, compliance) = if i + 1 < chain.first {
                // a rim that lifts does not move in the plane
                (1.0, Vector3::zeros())
            } else if element.is_root() {
                // strains: along, turn, across
                let end = if i < chain.first { 0 } else { count - 1 };
                let [along, across, turn] = pieces[end].root_springs(chain.segments[end].width);
                (1.0, Vector3::new(1.0 / along, 1.0 / turn, 1.0 / across))
            } else {
                let k = pieces[i - chain.first].stiffness();
                (-element.length, Vector3::from(k.map(f64::recip)))
            };
            let at_axis = Matrix2x3::new(c, y, -third * s, s, -x, third * c);
            links.push(Link { at_axis, compliance });
        }
        let flexibility: Matrix2<f64> = links
            .iter()
            .map(|link| link.at_axis * Matrix3::from_diagonal(&link.compliance) * link.at_axis.transpose())
            .sum();
        let reach = pieces
            .iter()
            .zip(&links[chain.first..])
            .map(|(piece, link)| link.at_axis * piece.misfit_per_stretch())
            .collect();
        let stiffness = flexibility.try_inverse()?;
        let regular = stiffness.iter().all(|k| k.is_finite()) && stiffness.trace() > 0.0;
        regular.then_some(Self { pieces, reach, flexibility, stiffness, first: chain.first, links })
    }

    /// Puts the in-plane motions (ux, uy, ψ) that go with `stretch` of every piece and the force `hold` at the axis
    /// into the nodes' states. Linear in both, so that it serves slopes as well. `given` is a strain of one piece
    /// beside that: which piece, and how much along, turning, across.
    pub fn recover(
        &self,
        elements: &[Element],
        hold: Vector2<f64>,
        stretch: impl Fn(usize) -> f64,
        given: Option<(usize, Vector3<f64>)>,
        states: &mut [NodeState],
    ) {
        let mut motion = Vector3::zeros();
        states[0].fixed_rows_mut::<3>(3).copy_from(&motion);
        for (i, (element, link)) in elements.iter().zip(&self.links).enumerate() {
            let mut strain = link.compliance.component_mul(&(link.at_axis.transpose() * hold));
            let piece = i.checked_sub(self.first).and_then(|k| self.pieces.get(k).map(|piece| (k, piece)));
            let (along, across) = match piece {
                Some((k, piece)) => {
                    strain += stretch(k) * piece.misfit_per_stretch();
                    strain += given.filter(|given| given.0 == k).map_or_else(Vector3::zeros, |given| given.1);
                    (strain[0], piece.length * (motion[2] + 0.5 * strain[1] - strain[2]))
                }
                None => (strain[0], strain[2]),
            };
            let (c, s) = (element.cosine, element.sine);
            motion += Vector3::new(c * along - s * across, s * along + c * across, strain[1]);
            states[i + 1].fixed_rows_mut::<3>(3).copy_from(&motion);
        }
    }

    /// Strains of piece `i` for a unit of force at the axis: rows along, turning, across (1/N).
    pub fn strain_by_hold(&self, i: usize) -> Matrix3x2<f64> {
        let link = &self.links[self.first + i];
        Matrix3::from_diagonal(&link.compliance) * link.at_axis.transpose()
    }

    /// Force on the hub's node (fx, fy, moment) that goes with the force `hold` at the axis.
    pub fn hub_force(hold: Vector2<f64>, position: [f64; 2]) -> Vector3<f64> {
        Vector3::new(hold[0], hold[1], hold[0] * position[1] - hold[1] * position[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{ArmPath, SheetProperties, Station};
    use crate::model::chain::SectionLaw;
    use crate::model::root::RootCompliance;
    use approx::assert_relative_eq;

    fn chain(yielding: bool) -> Chain {
        let stations: Vec<Station> = (0..=20)
            .map(|k| {
                let s = f64::from(k) / 20.0;
                Station { angle: 7.0 * s, radius: 30.0 - 18.0 * s, width: 5.0 - 2.0 * s, height: 6.0 * s }
            })
            .collect();
        let sheet = SheetProperties {
            material: None,
            thickness: 1.0,
            youngs_modulus: 2e5,
            shear_modulus: 8e4,
            tensile_strength: None,
            yield_strength: None,
            density: None,
        };
        let root = yielding.then_some(RootCompliance { twist: 1e-5, slope: 1e-5, height: 1e-4, mixed: 0.0 });
        let arm = ArmPath::through_stations(&stations, 40).unwrap();
        Chain::new(&arm, &sheet, SectionLaw::default(), |_| root, |_| root, false)
    }

    /// Energy of the elements in the plane at states whose heights fix the stretches.
    fn energy(chain: &Chain, frame: &PlaneFrame, states: &[NodeState]) -> f64 {
        let mut sum = 0.0;
        for (i, element) in chain.elements.iter().enumerate() {
            let (a, b) = (&states[i], &states[i + 1]);
            if element.is_root() {
                let end = if i == 0 { 0 } else { frame.pieces.len() - 1 };
                let [along, across, turn] = frame.pieces[end].root_springs(chain.segments[end].width);
                let (dx, dy) = (b[3] - a[3], b[4] - a[4]);
                let (c, s) = (element.cosine, element.sine);
                sum += 0.5 * along * (c * dx + s * dy).powi(2);
                sum += 0.5 * across * (c * dy - s * dx).powi(2) + 0.5 * turn * (b[5] - a[5]).powi(2);
            } else {
                let piece = &frame.pieces[i - chain.first];
                sum += piece.energy(&piece.strain(a, b));
            }
        }
        sum
    }

    #[test]
    fn two_forces_store_what_the_elements_store() {
        for yielding in [false, true] {
            let chain = chain(yielding);
            let frame = PlaneFrame::new(&chain, 2e5, 1.0).unwrap();
            let mut states = vec![NodeState::zeros(); chain.position.len()];
            for (k, state) in states.iter_mut().enumerate() {
                state[0] = -0.6 * chain.free_height[k] - 0.1 * (0.4 * k as f64).sin();
            }
            let stretch: Vec<f64> = frame
                .pieces
                .iter()
                .enumerate()
                .map(|(i, piece)| {
                    piece.strain(&states[chain.first + i], &states[chain.first + i + 1]).stretch
                })
                .collect();
            let misfit: Vector2<f64> = frame.reach.iter().zip(&stretch).map(|(b, e)| b * *e).sum();
            let hold = -(frame.stiffness * misfit);
            frame.recover(&chain.elements, hold, |k| stretch[k], None, &mut states);
            let stored = energy(&chain, &frame, &states);
            assert_relative_eq!(0.5 * misfit.dot(&(frame.stiffness * misfit)), stored, max_relative = 1e-10);
            // the hub turns about the axis without other motion
            let [x, y] = chain.position[chain.position.len() - 1];
            let hub = states[states.len() - 1];
            assert!(hub[5].abs() > 1e-4, "{hub}");
            assert_relative_eq!(hub[3], -y * hub[5], epsilon = 1e-10);
            assert_relative_eq!(hub[4], x * hub[5], epsilon = 1e-10);
            // no motion in the plane that the axis allows costs less
            for node in 1..states.len() {
                for k in 3..6 {
                    let mut pushed = states.clone();
                    if node + 1 == states.len() {
                        pushed[node] += NodeState::new(0.0, 0.0, 0.0, -y, x, 1.0) * 1e-5;
                    } else {
                        pushed[node][k] += 1e-5;
                    }
                    assert!(energy(&chain, &frame, &pushed) > stored);
                }
            }
        }
    }
}
