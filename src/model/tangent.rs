//! The tangent stiffness of an arm with in-plane stiffness: block-tridiagonal, bordered by the two forces at the axis.
//!
//! The chain and the geometric part join neighbours only; the plane adds `M F⁻¹ Mᵀ` with M the misfit at the axis over
//! the nodes' heights (two columns) and F the plane's compliance there. One sweep from the hub outwards factorises the
//! chain and reduces M on the way; Woodbury's formula (Golub & Van Loan, Matrix Computations, section 2.1) then takes
//! nothing but the reduced columns. Because the seated length grows from the rim, a change of contacts mostly concerns the
//! last nodes only, and the sweep starts there.
//!
//! A node that is held, by a plate or by a hub that only tilts, turns about the line at which it is held: two unknowns. Its
//! inverse is kept over all three motions, of rank two, so that no right-hand side needs to be restricted.

use nalgebra::{Matrix2, Matrix3, Matrix3x2, Vector2, Vector3};

use super::chain::Chain;
use super::contact::Contact;
use super::element::{Deviation, Element};
use crate::numeric::invert_symmetric;

/// Freedom of a node.
#[derive(Debug, Clone, Copy)]
enum Freedom {
    /// height and both rotations
    All,
    /// rotations about a line at this distance from the node (mm), which stays at its height
    About([f64; 2]),
    /// none
    Nothing,
}

/// Condensed stiffness that one node passes on towards the rim.
#[derive(Debug, Clone, Copy, Default)]
struct Pivot {
    /// inverse of the node's own block over its freedom
    inverse: Matrix3<f64>,
    /// coupling to the next node towards the hub times the inverse there
    carried: Matrix3<f64>,
    /// the border reduced to this node
    border: Matrix3x2<f64>,
    /// inverse times the border
    solved_border: Matrix3x2<f64>,
    /// the border's own block, summed from the hub to here
    capacitance: Matrix2<f64>,
    /// negative eigenvalues from the hub to here
    negative: usize,
}

/// The tangent stiffness and its factors.
#[derive(Debug)]
pub struct Tangent<'a> {
    hub: Freedom,
    /// from the centre line of every node to where its section touches a plate (mm)
    line: &'a [[f64; 2]],
    /// compliance of the plane at the axis (mm/N); none in small slopes
    flexibility: Option<Matrix2<f64>>,
    /// the chain's diagonal blocks, and off-diagonal ones to the next node
    diagonal: Vec<Matrix3<f64>>,
    off_diagonal: Vec<Matrix3<f64>>,
    /// geometric stiffness of every element between the heights of its ends (N/mm)
    geometric: Vec<f64>,
    pivots: Vec<Pivot>,
    capacitance: Matrix2<f64>,
}

impl<'a> Tangent<'a> {
    /// For a chain whose hub's node may tilt about the axis from the place `tilt` (mm), with the plane's compliance at the axis
    /// (mm/N).
    pub fn new(chain: &'a Chain, tilt: Option<[f64; 2]>, flexibility: Option<Matrix2<f64>>) -> Self {
        let nodes = chain.elements.len() + 1;
        let mut diagonal = vec![Matrix3::zeros(); nodes];
        let mut off_diagonal = vec![Matrix3::zeros(); nodes];
        for (i, [aa, ab, bb]) in chain.elements.iter().map(Element::blocks).enumerate() {
            diagonal[i] += aa;
            off_diagonal[i] = ab;
            diagonal[i + 1] = bb;
        }
        Self {
            hub: tilt.map_or(Freedom::Nothing, |[x, y]| Freedom::About([-x, -y])),
            line: &chain.line,
            flexibility,
            diagonal,
            off_diagonal,
            geometric: vec![0.0; nodes],
            pivots: vec![Pivot::default(); nodes],
            capacitance: Matrix2::zeros(),
        }
    }

    /// Sets the geometric stiffness of the elements from `first` on (N/mm).
    pub fn set_geometric(&mut self, first: usize, stiffness: impl Iterator<Item = f64>) {
        for (own, stiffness) in self.geometric[first..].iter_mut().zip(stiffness) {
            *own = stiffness;
        }
    }

    fn freedom(&self, node: usize, contacts: &[Contact]) -> Freedom {
        if node + 1 == self.diagonal.len() {
            self.hub
        } else if contacts[node] == Contact::None {
            Freedom::All
        } else {
            Freedom::About(self.line[node])
        }
    }

    /// Diagonal block of a node with the geometric part.
    fn own(&self, node: usize) -> Matrix3<f64> {
        let mut block = self.diagonal[node];
        block[(0, 0)] += self.geometric[node - 1] + self.geometric[node];
        block
    }

    /// Block that couples a node to the next one towards the hub, with the geometric part.
    fn coupling(&self, node: usize) -> Matrix3<f64> {
        let mut block = self.off_diagonal[node];
        block[(0, 0)] -= self.geometric[node];
        block
    }

    /// Factorises at `contacts`, with `border` the misfit at the axis over every node's height; where nothing has changed
    /// beyond node `from`, only the rest. Returns whether it can be solved.
    pub fn factorise(&mut self, contacts: &[Contact], border: &[Vector2<f64>], from: usize) -> bool {
        let last = self.diagonal.len() - 1;
        for node in (1..=from).rev() {
            let mut block = self.own(node);
            let mut pivot = Pivot::default();
            if node < last {
                let off_diagonal = self.coupling(node);
                let outer = &self.pivots[node + 1];
                pivot.carried = off_diagonal * outer.inverse;
                block -= pivot.carried * off_diagonal.transpose();
                pivot.negative = outer.negative;
            }
            let Some((inverse, negative)) = invert(&block, self.freedom(node, contacts)) else {
                return false;
            };
            pivot.inverse = inverse;
            pivot.negative += negative;
            if let Some(flexibility) = self.flexibility {
                let mut reduced = Matrix3x2::zeros();
                reduced.set_row(0, &border[node].transpose());
                pivot.capacitance = flexibility;
                if node < last {
                    let outer = &self.pivots[node + 1];
                    reduced -= pivot.carried * outer.border;
                    pivot.capacitance = outer.capacitance;
                }
                pivot.border = reduced;
                pivot.solved_border = inverse * reduced;
                pivot.capacitance += reduced.transpose() * pivot.solved_border;
            }
            self.pivots[node] = pivot;
        }
        if self.flexibility.is_some() {
            match self.pivots[1].capacitance.try_inverse() {
                Some(inverse) => self.capacitance = inverse,
                None => return false,
            }
        }
        true
    }

    /// Whether the whole tangent is positive definite: by Sylvester's law on the bordered matrix it is if the
    /// capacitance has as many negative eigenvalues as the chain alone.
    pub fn is_positive_definite(&self) -> bool {
        let Pivot { capacitance, negative, .. } = &self.pivots[1];
        if self.flexibility.is_none() {
            return *negative == 0;
        }
        let of_border = match (capacitance.determinant() > 0.0, capacitance.trace() > 0.0) {
            (true, true) => 0,
            (true, false) => 2,
            (false, _) => 1,
        };
        of_border == *negative
    }

    /// Solves in place for `column`, forces and moments on the nodes; node 0 is left out. The motions of the nodes come back,
    /// with held lines at rest.
    pub fn solve(&self, column: &mut [Deviation]) {
        let last = self.diagonal.len() - 1;
        for node in (1..last).rev() {
            let carried = self.pivots[node].carried * column[node + 1];
            column[node] -= carried;
        }
        let mut share = Vector2::zeros();
        if self.flexibility.is_some() {
            for (pivot, force) in self.pivots.iter().zip(column.iter()).skip(1) {
                share += pivot.solved_border.transpose() * force;
            }
            share = self.capacitance * share;
        }
        let mut before = Vector3::zeros();
        for ((node, force), pivots) in column.iter_mut().enumerate().skip(1).zip(self.pivots.windows(2)) {
            let [rim, pivot] = [&pivots[0], &pivots[1]];
            let mut solved = pivot.inverse * *force - pivot.solved_border * share;
            if node > 1 {
                solved -= rim.carried.transpose() * before;
            }
            *force = solved;
            before = solved;
        }
    }

    /// The chain's row at `node` times `change`.
    pub fn row(&self, node: usize, change: &[Deviation]) -> Deviation {
        let mut product = self.own(node) * change[node];
        if node > 1 {
            product += self.coupling(node - 1).transpose() * change[node - 1];
        }
        if node + 1 < change.len() {
            product += self.coupling(node) * change[node + 1];
        }
        product
    }

    /// The height's part of that row alone, at an interior node.
    pub fn height_row(&self, node: usize, change: &[Deviation]) -> f64 {
        let mut force = self.own(node).column(0).dot(&change[node]);
        if node > 1 {
            force += self.coupling(node - 1).column(0).dot(&change[node - 1]);
        }
        force + self.coupling(node).row(0).transpose().dot(&change[node + 1])
    }
}

/// Inverse of a symmetric 3×3 matrix over a node's freedom and how many of its eigenvalues there are negative; none where it is
/// singular.
fn invert(m: &Matrix3<f64>, freedom: Freedom) -> Option<(Matrix3<f64>, usize)> {
    match freedom {
        Freedom::All => {
            let inverse = invert_symmetric(m)?;
            // signs of the pivots of LDLᵀ, by leading minors (Sylvester's law of inertia)
            let second = m[(0, 0)] * m[(1, 1)] - m[(0, 1)] * m[(0, 1)];
            let signs = [m[(0, 0)] > 0.0, second / m[(0, 0)] > 0.0, inverse[(2, 2)] > 0.0];
            Some((inverse, signs.iter().filter(|positive| !**positive).count()))
        }
        Freedom::About([dx, dy]) => {
            // motions (−dy, 1, 0) and (dx, 0, 1)
            let first = m.column(1) - dy * m.column(0);
            let second = m.column(2) + dx * m.column(0);
            let (a, d) = (first[1] - dy * first[0], second[2] + dx * second[0]);
            let b = first[2] + dx * first[0];
            let determinant = a * d - b * b;
            if determinant == 0.0 || !determinant.is_finite() {
                return None;
            }
            let (i, j, k) = (d / determinant, -b / determinant, a / determinant);
            let (p, q) = (dx * j - dy * i, dx * k - dy * j);
            let inverse = Matrix3::new(dx * q - dy * p, p, q, p, i, j, q, j, k);
            let signs = [a > 0.0, determinant / a > 0.0];
            Some((inverse, signs.iter().filter(|positive| !**positive).count()))
        }
        Freedom::Nothing => Some((Matrix3::zeros(), 0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_about_a_line_is_that_of_the_two_rotations_about_it() {
        let m = Matrix3::new(4.0, -1.0, 0.5, -1.0, 3.0, 0.2, 0.5, 0.2, 2.0);
        let (dx, dy) = (0.7, -0.4);
        let (inverse, negative) = invert(&m, Freedom::About([dx, dy])).unwrap();
        let modes = Matrix3x2::new(-dy, dx, 1.0, 0.0, 0.0, 1.0);
        let expected = modes * (modes.transpose() * m * modes).try_inverse().unwrap() * modes.transpose();
        assert!((inverse - expected).abs().max() < 1e-14, "{inverse} {expected}");
        assert_eq!(negative, 0);
        // the line stays where it is
        let moved = inverse * Vector3::new(1.0, 2.0, 3.0);
        assert!((moved[0] + moved[1] * dy - moved[2] * dx).abs() < 1e-14);
        let (_, negative) = invert(&-m, Freedom::About([dx, dy])).unwrap();
        assert_eq!(negative, 2);
        assert_eq!(invert(&-m, Freedom::All).unwrap().1, 3);
        assert!(invert(&Matrix3::zeros(), Freedom::About([dx, dy])).is_none());
    }
}
