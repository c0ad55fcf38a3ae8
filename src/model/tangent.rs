//! The tangent stiffness of an arm with in-plane stiffness: block-tridiagonal, bordered by the two forces at the axis.
//!
//! The chain and the geometric part join neighbours only; the plane adds `M F⁻¹ Mᵀ` with M the misfit at the axis over
//! the nodes' heights (two columns) and F the plane's compliance there. One sweep from the hub outwards factorises the
//! chain into 3×3 blocks and reduces M on the way; Woodbury's formula (Golub & Van Loan, Matrix Computations, section
//! 2.1) then takes nothing but the reduced columns. Because the seated length grows from the rim, a change of contacts
//! mostly concerns the last blocks only, and the sweep starts there.

use nalgebra::{Matrix2, Matrix3, Matrix3x2, Vector2, Vector3};

use super::chain::Chain;
use super::contact::Contact;
use super::element::{Deviation, Element};
use crate::numeric::invert_symmetric;

/// Condensed stiffness that one node's block passes on towards the rim.
#[derive(Debug, Clone, Copy, Default)]
struct Pivot {
    inverse: Matrix3<f64>,
    /// inverse of this block times its coupling to the next node towards the rim
    coupling: Matrix3<f64>,
    /// this block's inverse times the border reduced to this node
    solved_border: Matrix3x2<f64>,
    /// the border's own block, summed from the hub to here
    capacitance: Matrix2<f64>,
    /// negative eigenvalues from the hub to here
    negative: usize,
}

/// The tangent stiffness and its factors.
#[derive(Debug)]
pub struct Tangent {
    linear: Vec<[Matrix3<f64>; 3]>,
    first: usize,
    /// degrees of freedom of the hub's node: columns 1 and 2 tilt about x and y; columns that are zero are not used
    hub_modes: Matrix3<f64>,
    /// from the centre line of every node to where its section touches a plate (mm)
    line: Vec<[f64; 2]>,
    flexibility: Matrix2<f64>,
    /// diagonal blocks, and off-diagonal ones to the next node
    diagonal: Vec<Matrix3<f64>>,
    beside: Vec<Matrix3<f64>>,
    pivots: Vec<Pivot>,
    capacitance: Matrix2<f64>,
}

impl Tangent {
    /// For a chain whose hub's node moves in `hub_modes`, with the plane's compliance at the axis (mm/N).
    pub fn new(chain: &Chain, hub_modes: Matrix3<f64>, flexibility: Matrix2<f64>) -> Self {
        let nodes = chain.elements.len() + 1;
        Self {
            linear: chain.elements.iter().map(Element::blocks).collect(),
            first: chain.first,
            hub_modes,
            line: chain.line.clone(),
            flexibility,
            diagonal: vec![Matrix3::zeros(); nodes],
            beside: vec![Matrix3::zeros(); nodes],
            pivots: vec![Pivot::default(); nodes],
            capacitance: Matrix2::zeros(),
        }
    }

    /// Puts the chain's blocks together with the geometric part `force` of every piece (N/mm).
    pub fn assemble(&mut self, force: impl Iterator<Item = f64>) {
        let last = self.diagonal.len() - 1;
        let mut carried = Matrix3::zeros();
        for (i, [aa, ab, bb]) in self.linear.iter().enumerate() {
            self.diagonal[i] = carried + aa;
            self.beside[i] = *ab;
            carried = *bb;
        }
        self.diagonal[last] = carried;
        for (node, force) in (self.first..).zip(force) {
            self.diagonal[node][(0, 0)] += force;
            self.diagonal[node + 1][(0, 0)] += force;
            self.beside[node][(0, 0)] -= force;
        }
    }

    /// A node's forces without those on its held unknowns; the hub's in its modes, those of a seated node about its touching line.
    pub fn restrict(&self, node: usize, contacts: &[Contact], vector: Deviation) -> Deviation {
        if node + 1 == self.diagonal.len() {
            return self.hub_modes.transpose() * vector;
        }
        if contacts[node] == Contact::None {
            return vector;
        }
        let [dx, dy] = self.line[node];
        Vector3::new(0.0, vector[1] - dy * vector[0], vector[2] + dx * vector[0])
    }

    /// Motion of a node over its free unknowns, the touching line of a seated one at rest.
    fn modes(&self, node: usize, contacts: &[Contact]) -> Option<Matrix3<f64>> {
        if node + 1 == self.diagonal.len() {
            return Some(self.hub_modes);
        }
        let mut modes = (contacts[node] != Contact::None).then(|| contacts[node].about(self.line[node]))?;
        modes.column_mut(0).fill(0.0);
        Some(modes)
    }

    /// Factorises at `contacts`, with `border` the misfit at the axis over every node's height; where nothing has changed
    /// beyond node `from`, only the rest. Returns whether it can be solved.
    pub fn factorise(&mut self, contacts: &[Contact], border: &[Vector2<f64>], from: usize) -> bool {
        let last = self.diagonal.len() - 1;
        for node in (1..=from).rev() {
            let mut block = self.diagonal[node];
            let along = self.restrict(node, contacts, Vector3::x());
            let mut reduced = along * border[node].transpose();
            let (mut capacitance, mut negative) = (self.flexibility, 0);
            let modes = self.modes(node, contacts);
            if let Some(modes) = &modes {
                block = modes.transpose() * block * modes;
                for mode in 0..3 {
                    if modes[(mode, mode)] == 0.0 {
                        block[(mode, mode)] = 1.0;
                    }
                }
            }
            if node < last {
                let mut beside = self.beside[node];
                if let Some(modes) = &modes {
                    beside = modes.transpose() * beside;
                }
                if let Some(next) = self.modes(node + 1, contacts) {
                    beside *= next;
                }
                let outer = &mut self.pivots[node + 1];
                outer.coupling = outer.inverse * beside.transpose();
                block -= beside * outer.coupling;
                reduced -= beside * outer.solved_border;
                (capacitance, negative) = (outer.capacitance, outer.negative);
            }
            let Some((inverse, own)) = invert(&block) else { return false };
            let pivot = &mut self.pivots[node];
            pivot.inverse = inverse;
            pivot.solved_border = inverse * reduced;
            pivot.capacitance = capacitance + reduced.transpose() * pivot.solved_border;
            pivot.negative = negative + own;
        }
        match self.pivots[1].capacitance.try_inverse() {
            Some(inverse) => self.capacitance = inverse,
            None => return false,
        }
        true
    }

    /// Whether the whole tangent is positive definite: by Sylvester's law on the bordered matrix it is if the
    /// capacitance has as many negative eigenvalues as the chain alone.
    pub fn is_positive_definite(&self) -> bool {
        let Pivot { capacitance, negative, .. } = &self.pivots[1];
        let of_border = match (capacitance.determinant() > 0.0, capacitance.trace() > 0.0) {
            (true, true) => 0,
            (true, false) => 2,
            (false, _) => 1,
        };
        of_border == *negative
    }

    /// Solves in place for `column`, restricted to what is free; node 0 is left out. The motions of the nodes come back, with
    /// touching lines at rest.
    pub fn solve(&self, contacts: &[Contact], column: &mut [Deviation]) {
        let last = self.diagonal.len() - 1;
        let mut misfit = self.pivots[last].solved_border.transpose() * column[last];
        for node in (1..last).rev() {
            let carried = self.pivots[node + 1].coupling.transpose() * column[node + 1];
            column[node] -= carried;
            misfit += self.pivots[node].solved_border.transpose() * column[node];
        }
        let share = self.capacitance * misfit;
        for node in 1..=last {
            let pivot = &self.pivots[node];
            let mut solved = pivot.inverse * column[node] - pivot.solved_border * share;
            if node > 1 {
                solved -= pivot.coupling * column[node - 1];
            }
            column[node] = solved;
        }
        for (node, motion) in column.iter_mut().enumerate().skip(1) {
            if let Some(modes) = self.modes(node, contacts) {
                *motion = modes * *motion;
            }
        }
    }

    /// The chain's row at `node` times `change`.
    pub fn row(&self, node: usize, change: &[Deviation]) -> Deviation {
        let mut product = self.diagonal[node] * change[node];
        if node > 1 {
            product += self.beside[node - 1].transpose() * change[node - 1];
        }
        if node + 1 < change.len() {
            product += self.beside[node] * change[node + 1];
        }
        product
    }

    /// The height's part of that row alone, at an interior node.
    pub fn height_row(&self, node: usize, change: &[Deviation]) -> f64 {
        let mut force = self.diagonal[node].column(0).dot(&change[node]);
        if node > 1 {
            force += self.beside[node - 1].column(0).dot(&change[node - 1]);
        }
        force + self.beside[node].row(0).transpose().dot(&change[node + 1])
    }
}

/// Inverse of a symmetric 3×3 matrix by cofactors and how many of its eigenvalues are negative.
fn invert(m: &Matrix3<f64>) -> Option<(Matrix3<f64>, usize)> {
    let inverse = invert_symmetric(m)?;
    // signs of the pivots of LDLᵀ, by leading minors (Sylvester's law of inertia)
    let second = m[(0, 0)] * m[(1, 1)] - m[(0, 1)] * m[(0, 1)];
    let signs = [m[(0, 0)] > 0.0, second / m[(0, 0)] > 0.0, inverse[(2, 2)] > 0.0];
    Some((inverse, signs.iter().filter(|positive| !**positive).count()))
}
