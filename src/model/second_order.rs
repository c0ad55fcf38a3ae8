//! One deflection with the in-plane energy: Newton's method on the arm, the plane's two forces and the contacts.
//!
//! The plane acts through its misfit s at the axis alone (see [`PlaneFrame`]): its stiffness is of rank two, beside a
//! geometric part that only joins the heights of neighbours. A step is one factorisation with 3×3 blocks and the two
//! columns that rank takes (Woodbury's formula; Golub & Van Loan, Matrix Computations, section 2.1). The residual is
//! formed from strains, so that repeating the step also refines away the digits that a stiffness matrix of short
//! pieces loses.
//!
//! A step goes from one state of rest to the next, and with it the deflection and what is left of the residual go to
//! their ends along a straight line. On that line the contacts are followed from event to event, as on the small-slope
//! path: a parametric active-set method for a strictly convex quadratic programme (Best, An Algorithm for the Solution of
//! the Parametric Quadratic Programming Problem, 1996; Ferreau, Bock & Diehl, Int. J. Robust Nonlinear Control 18, 2008).
//! Each step is exact for the quadratic model it works with; that the steps settle is not promised, for the energy is
//! not convex. Where they do not, the deflection is approached in halves; what does not settle even so is said to be
//! unsettled: a tall slender arm may have no state of rest near the last one.

use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

use super::chain::Chain;
use super::condensation::{Affine, Condensation, Contact};
use super::element::Deviation;
use super::in_plane::NodeState;
use super::plane_frame::PlaneFrame;
use super::seating::{Plates, Seating};
use crate::numeric::block_tridiagonal::invert_symmetric;

/// Change of height, in units of the travel, after which no further step is taken: steps square their error, or
/// shrink it a thousandfold where digits are lost.
const SETTLED: f64 = 1e-8;
/// Steps after which a deflection is approached in halves instead.
const MOST_STEPS: usize = 40;
/// Shares of the softening part of the plane's stiffness to try until the energy is convex. Less than all of it makes
/// steps shorter and never wrong: they go downhill to the next state of rest, as a spring does that snaps.
const SOFTENING: [f64; 4] = [1.0, 0.9, 0.6, 0.0];
/// How often a deflection is halved.
const MOST_HALVINGS: usize = 6;
/// Steps over one sweep after which nothing is halved any more: a spring that needs them has no state to find.
const PATIENCE: usize = 1500;
/// Longest way between states, in units of the travel.
const LONGEST_WAY: f64 = 0.07;
/// Change of a gap over a step, in units of the travel, that counts as none.
const STANDING_GAP: f64 = 1e-13;
/// Events closer together than this part of a step are one: the node with the lowest number goes first, which cannot
/// cycle (Murty's rule; Cottle, Pang & Stone, The Linear Complementarity Problem, section 4.2).
const SAME_EVENT: f64 = 1e-12;

/// A state that settled, to come back to.
#[derive(Debug, Clone)]
struct Saved {
    deflection: f64,
    state: Vec<Deviation>,
    slope: Vec<Deviation>,
    contacts: Vec<Contact>,
}

/// Solver for one arm; keeps its room and the last state between deflections.
#[derive(Debug)]
pub struct SecondOrder<'a> {
    chain: &'a Chain,
    plates: &'a Plates,
    /// the arm in its plane
    pub frame: PlaneFrame,
    linear: Vec<[Matrix3<f64>; 3]>,
    /// what the hub's node can do: columns 1 and 2 tilt about x and y; columns that are zero are not used
    hub_modes: Matrix3<f64>,
    tilt: Option<[f64; 2]>,
    contacts: Vec<Contact>,
    state: Vec<Deviation>,
    slope: Vec<Deviation>,
    deflection: f64,
    residual: Vec<Deviation>,
    /// slope z′ of every piece
    climb: Vec<f64>,
    /// the plane's energy over the stretch of every piece (N·mm)
    by_stretch: Vec<f64>,
    /// misfit at the axis over the height of every node
    misfit_by_height: Vec<Vector2<f64>>,
    /// force at the axis (N)
    hold: Vector2<f64>,
    /// F of the frame (mm/N)
    flexibility: Matrix2<f64>,
    /// tangent of the chain: blocks on the diagonal, and beside it to the next node
    diagonal: Vec<Matrix3<f64>>,
    beside: Vec<Matrix3<f64>>,
    /// its factors
    pivot: Vec<Matrix3<f64>>,
    coupling: Vec<Matrix3<f64>>,
    negative: Vec<usize>,
    /// right-hand side and the plane's two columns, then their solutions
    columns: Vec<Matrix3<f64>>,
    /// what a step has still to take away from the residual
    shift: Vec<Deviation>,
    change: Vec<Deviation>,
    work: Vec<Deviation>,
    steps: usize,
    /// whether the last factorisation had the geometric part
    exact: bool,
    // what is shown
    states: Vec<NodeState>,
    slopes: Vec<NodeState>,
    reaction_slope: Vec<f64>,
    hub_force: NodeState,
    hub_force_slope: NodeState,
}

/// One arm at one deflection, as the solver left it.
#[derive(Debug)]
pub struct Settled<'a> {
    /// force of one arm with its slope (N, N/mm)
    pub force: Affine,
    /// states of all nodes
    pub states: &'a [NodeState],
    /// their slopes per mm of deflection
    pub slopes: &'a [NodeState],
    /// what the nodes touch
    pub contacts: &'a [Contact],
    /// force of the plates on every node, slope per mm of deflection (N/mm)
    pub reaction_slope: &'a [f64],
    /// forces on the hub's node
    pub hub_force: NodeState,
    /// their slopes per mm of deflection
    pub hub_force_slope: NodeState,
    /// whether the state is one of stable rest: forces balance, nothing penetrates or pulls
    pub settled: bool,
}

impl<'a> SecondOrder<'a> {
    /// For an arm of a sheet; `tilt` is the hub node's position where the hub may tilt.
    pub fn new(
        chain: &'a Chain,
        plates: &'a Plates,
        youngs_modulus: f64,
        thickness: f64,
        tilt: Option<[f64; 2]>,
    ) -> Self {
        let nodes = chain.elements.len() + 1;
        let frame = PlaneFrame::new(chain, youngs_modulus, thickness);
        let pieces = frame.pieces.len();
        let flexibility = frame.stiffness.try_inverse().unwrap_or_default();
        let hub_modes =
            tilt.map_or_else(Matrix3::zeros, |[x, y]| Matrix3::new(0.0, y, -x, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0));
        Self {
            chain,
            plates,
            frame,
            linear: chain.elements.iter().map(super::element::Element::blocks).collect(),
            hub_modes,
            tilt,
            contacts: vec![Contact::None; nodes],
            state: vec![Deviation::zeros(); nodes],
            slope: vec![Deviation::zeros(); nodes],
            deflection: 0.0,
            residual: vec![Deviation::zeros(); nodes],
            climb: vec![0.0; pieces],
            by_stretch: vec![0.0; pieces],
            misfit_by_height: vec![Vector2::zeros(); nodes],
            hold: Vector2::zeros(),
            flexibility,
            diagonal: vec![Matrix3::zeros(); nodes],
            beside: vec![Matrix3::zeros(); nodes],
            pivot: vec![Matrix3::zeros(); nodes],
            coupling: vec![Matrix3::zeros(); nodes],
            negative: vec![0; nodes],
            columns: vec![Matrix3::zeros(); nodes],
            shift: vec![Deviation::zeros(); nodes],
            change: vec![Deviation::zeros(); nodes],
            work: vec![Deviation::zeros(); nodes],
            steps: 0,
            exact: false,
            states: vec![NodeState::zeros(); nodes],
            slopes: vec![NodeState::zeros(); nodes],
            reaction_slope: vec![0.0; nodes],
            hub_force: NodeState::zeros(),
            hub_force_slope: NodeState::zeros(),
        }
    }

    /// The state at deflection `x`, not less than the last one.
    pub fn reach(&mut self, x: f64) -> Settled<'_> {
        let longest = LONGEST_WAY * self.plates.travel;
        if self.deflection == 0.0 {
            // level ground touches at once: what it does first is the small-slope path's business
            let soon = if x > 0.0 { x.min(longest) } else { longest } / 64.0;
            let mut tree = Condensation::new(
                &self.chain.elements,
                &self.plates.free_height,
                self.plates.travel,
                self.tilt,
            );
            let contacts = &mut self.contacts;
            // without an answer the free state is as good a start as any
            Seating::new(&mut tree, self.plates)
                .follow(&[soon], |stop| contacts.copy_from_slice(stop.tree.contacts()))
                .unwrap_or_default();
            for node in 1..self.state.len() - 1 {
                if self.gap(node).is_none_or(|gap| gap > 0.0) {
                    self.contacts[node] = Contact::None;
                }
            }
            self.linearise();
            self.tangent(1.0);
            self.factorise(self.state.len() - 1);
            self.solve();
            self.follow();
        }
        let count = ((x - self.deflection) / longest).ceil().max(1.0);
        let (from, way) = (self.deflection, (x - self.deflection) / count);
        let mut k = 1.0;
        while k < count {
            self.advance(from + way * k, MOST_HALVINGS);
            k += 1.0;
        }
        let settled = self.advance(x, MOST_HALVINGS);
        self.show(settled)
    }

    /// Goes to `x`, in halves where it does not settle at once.
    fn advance(&mut self, x: f64, halvings: usize) -> bool {
        let saved = Saved {
            deflection: self.deflection,
            state: self.state.clone(),
            slope: self.slope.clone(),
            contacts: self.contacts.clone(),
        };
        if self.settle(x) {
            return true;
        }
        if halvings > 0 && self.steps < PATIENCE {
            self.restore(&saved);
            self.advance(0.5 * (saved.deflection + x), halvings - 1);
            return self.advance(x, halvings - 1);
        }
        if !self.state.iter().chain(&self.slope).all(|node| node.iter().all(|v| v.is_finite())) {
            self.restore(&saved);
            self.deflection = x;
            self.prescribe();
            self.linearise();
        }
        false
    }

    fn restore(&mut self, saved: &Saved) {
        self.deflection = saved.deflection;
        self.state.copy_from_slice(&saved.state);
        self.slope.copy_from_slice(&saved.slope);
        self.contacts.copy_from_slice(&saved.contacts);
        self.linearise();
    }

    /// Newton's steps from the last state to the one at `x`.
    fn settle(&mut self, x: f64) -> bool {
        for _ in 0..MOST_STEPS {
            self.steps += 1;
            let change = self.step_to(x);
            self.deflection = x;
            self.prescribe();
            self.linearise();
            let Some(change) = change.filter(|change| *change < 1e3 * self.plates.travel) else {
                return false;
            };
            if change <= SETTLED * self.plates.travel && !self.pulls() {
                // a state of rest that is no minimum is none that a spring keeps
                return self.exact && self.follow();
            }
        }
        false
    }

    /// One step: takes the deflection to `x` and the residual to nothing along a straight line, and follows the
    /// contacts on it. Returns the largest change of height (mm).
    fn step_to(&mut self, x: f64) -> Option<f64> {
        let last = self.state.len() - 1;
        let mut rest = x - self.deflection;
        for node in 1..=last {
            self.shift[node] = self.residual[node];
            // a force that pulls already has to vanish with the rest of the residual
            match self.contacts[node] {
                Contact::None => {}
                Contact::Base => self.shift[node][0] = self.residual[node][0].min(0.0),
                Contact::Upper => self.shift[node][0] = self.residual[node][0].max(0.0),
            }
        }
        let mut softening = SOFTENING.iter();
        let mut changed = None;
        self.turn(rest, &mut changed, &mut softening)?;
        let mut largest: f64 = 0.0;
        for _ in 0..4 * last + 40 {
            let event = self.next_event(rest);
            let share = event.map_or(1.0, |(share, _, _)| share);
            for node in 1..=last {
                let change = share * self.change[node];
                largest = largest.max(change[0].abs());
                self.state[node] += change;
                if self.contacts[node] != Contact::None {
                    self.residual[node][0] += share * self.work[node][0];
                }
                self.shift[node] *= 1.0 - share;
            }
            rest *= 1.0 - share;
            self.deflection = x - rest;
            let Some((_, node, contact)) = event else { return Some(largest) };
            // in the problem on the way a node lands and leaves without a force
            self.residual[node][0] = self.shift[node][0];
            self.contacts[node] = contact;
            changed = Some(node);
            self.turn(rest, &mut changed, &mut softening)?;
        }
        None
    }

    /// Finds the way on after node `changed` has been exchanged (`None`: after a new tangent is wanted). Where the
    /// energy is not convex in what is free, its softening part is taken back until it is.
    fn turn(
        &mut self,
        rest: f64,
        changed: &mut Option<usize>,
        softening: &mut std::slice::Iter<f64>,
    ) -> Option<()> {
        loop {
            let from = if let Some(node) = *changed {
                node
            } else {
                self.tangent(*softening.next()?);
                self.state.len() - 1
            };
            if self.factorise(from) && self.direct(rest) {
                return Some(());
            }
            *changed = None;
        }
    }

    /// The change over what is left of a step, into `change`, with what it does to the forces of touching nodes in
    /// `work`. Returns whether the tangent is positive definite.
    fn direct(&mut self, rest: f64) -> bool {
        let last = self.state.len() - 1;
        // hub and upper plate go down
        let mut misfit = -rest * self.misfit_by_height[last];
        let mut pressed = false;
        for node in 1..last {
            let upper = self.contacts[node] == Contact::Upper;
            self.change[node] = Vector3::new(if upper { -rest } else { 0.0 }, 0.0, 0.0);
            if upper {
                misfit -= rest * self.misfit_by_height[node];
                pressed = true;
            }
        }
        self.change[last] = Vector3::new(-rest, 0.0, 0.0);
        let hold = self.frame.stiffness * misfit;
        for node in 1..=last {
            let mut right = self.shift[node];
            if rest != 0.0 {
                right[0] += self.misfit_by_height[node].dot(&hold);
                if pressed || node + 1 >= last {
                    right += self.chain_product(node);
                }
            }
            let restricted = -self.restrict(node, right);
            self.columns[node].set_column(0, &restricted);
        }
        let sound = self.solve();
        for node in 1..=last {
            self.change[node] += self.columns[node].column(0);
        }
        let mut misfit = Vector2::zeros();
        for node in 1..=last {
            misfit += self.change[node][0] * self.misfit_by_height[node];
        }
        let hold = self.frame.stiffness * misfit;
        for node in 1..last {
            if self.contacts[node] != Contact::None {
                self.work[node][0] = self.misfit_by_height[node].dot(&hold) + self.chain_force(node);
            }
        }
        sound
    }

    /// Row of the chain's tangent times `change` at a node.
    fn chain_product(&self, node: usize) -> Deviation {
        let mut product = self.diagonal[node] * self.change[node];
        if node > 1 {
            product += self.beside[node - 1].transpose() * self.change[node - 1];
        }
        if node + 1 < self.state.len() {
            product += self.beside[node] * self.change[node + 1];
        }
        product
    }

    /// The height's row alone, at an interior node.
    fn chain_force(&self, node: usize) -> f64 {
        let mut force = self.diagonal[node].column(0).dot(&self.change[node]);
        if node > 1 {
            force += self.beside[node - 1].column(0).dot(&self.change[node - 1]);
        }
        force + self.beside[node].row(0).transpose().dot(&self.change[node + 1])
    }

    /// The first node that lands or leaves on the rest of a step: at what share of it, and what it touches then.
    fn next_event(&self, rest: f64) -> Option<(f64, usize, Contact)> {
        let plates = self.plates;
        let standing = STANDING_GAP * plates.travel;
        let mut first: Option<(f64, usize, Contact)> = None;
        let mut weigh = |margin: f64, change: f64, least: f64, node: usize, contact: Contact| {
            if change < -least && margin + change < 0.0 {
                let share = margin.max(0.0) / -change;
                if first.is_none_or(|(earliest, _, _)| share < earliest - SAME_EVENT) {
                    first = Some((share, node, contact));
                }
            }
        };
        for node in 1..self.state.len() - 1 {
            let change = self.change[node][0];
            match self.contacts[node] {
                Contact::None => {
                    let z = plates.free_height[node] + self.state[node][0];
                    weigh(z, change, standing, node, Contact::Base);
                    if plates.upper {
                        let above = plates.travel - self.deflection - z;
                        weigh(above, -rest - change, standing, node, Contact::Upper);
                    }
                }
                contact => {
                    let sign = if contact == Contact::Base { 1.0 } else { -1.0 };
                    let push = sign * (self.residual[node][0] - self.shift[node][0]);
                    let change = sign * (self.work[node][0] + self.shift[node][0]);
                    weigh(push, change, plates.force_tolerance, node, Contact::None);
                }
            }
        }
        first
    }

    /// Gap between a touching node and its plate (mm).
    fn gap(&self, node: usize) -> Option<f64> {
        let z = self.plates.free_height[node] + self.state[node][0];
        match self.contacts[node] {
            Contact::None => None,
            Contact::Base => Some(z),
            Contact::Upper => Some(self.plates.travel - self.deflection - z),
        }
    }

    /// Whether a plate pulls anywhere.
    fn pulls(&self) -> bool {
        (1..self.state.len() - 1).any(|node| {
            let push = match self.contacts[node] {
                Contact::None => 0.0,
                Contact::Base => self.residual[node][0],
                Contact::Upper => -self.residual[node][0],
            };
            push < -10.0 * self.plates.force_tolerance
        })
    }

    /// Puts touching nodes and hub at their heights.
    fn prescribe(&mut self) {
        let (plates, x) = (self.plates, self.deflection);
        let last = self.state.len() - 1;
        for node in 1..last {
            match self.contacts[node] {
                Contact::None => {}
                Contact::Base => self.state[node][0] = -plates.free_height[node],
                Contact::Upper => self.state[node][0] = plates.travel - x - plates.free_height[node],
            }
        }
        // the hub stands at −x plus what its tilt makes of its node's height
        let hub = &mut self.state[last];
        hub[0] = 0.0;
        hub[0] = self.hub_modes.row(0).transpose().dot(hub) - x;
    }

    /// Residual and what the tangent needs, at the present state.
    fn linearise(&mut self) {
        self.residual.fill(Deviation::zeros());
        self.misfit_by_height.fill(Vector2::zeros());
        for (i, element) in self.chain.elements.iter().enumerate() {
            let [a, b] = element.forces(&self.state[i], &self.state[i + 1]);
            self.residual[i] += a;
            self.residual[i + 1] += b;
        }
        let first = self.chain.first;
        let mut misfit = Vector2::zeros();
        for (k, (piece, reach)) in self.frame.pieces.iter().zip(&self.frame.reach).enumerate() {
            let node = first + k;
            let (climb, stretch) = piece.climb(self.state[node + 1][0] - self.state[node][0]);
            self.climb[k] = climb;
            misfit += stretch * reach;
            // ∂e/∂z_b = −z′/ℓ
            let by_height = reach * (climb / piece.length);
            self.misfit_by_height[node] += by_height;
            self.misfit_by_height[node + 1] -= by_height;
        }
        self.hold = -(self.frame.stiffness * misfit);
        for (k, reach) in self.frame.reach.iter().enumerate() {
            self.by_stretch[k] = -reach.dot(&self.hold);
        }
        for node in 1..self.state.len() {
            self.residual[node][0] -= self.misfit_by_height[node].dot(&self.hold);
        }
    }

    /// A node's vector without its held unknowns; the hub's in its modes.
    fn restrict(&self, node: usize, mut vector: Deviation) -> Deviation {
        if node + 1 == self.state.len() {
            return self.hub_modes.transpose() * vector;
        }
        if self.contacts[node] != Contact::None {
            vector[0] = 0.0;
        }
        vector
    }

    /// The chain's tangent at the present state, with that share of the softening part of the geometric stiffness.
    /// Without it the whole is positive definite wherever the state is.
    fn tangent(&mut self, softening: f64) {
        self.exact = softening == 1.0;
        let last = self.state.len() - 1;
        self.diagonal.fill(Matrix3::zeros());
        for (i, [aa, ab, bb]) in self.linear.iter().enumerate() {
            self.diagonal[i] += aa;
            self.diagonal[i + 1] += bb;
            self.beside[i] = *ab;
        }
        for (k, piece) in self.frame.pieces.iter().enumerate() {
            let node = self.chain.first + k;
            // ∂²e/∂z′² = −1
            let part = -self.by_stretch[k] / piece.length.powi(2);
            let part = if part < 0.0 { softening * part } else { part };
            self.diagonal[node][(0, 0)] += part;
            self.diagonal[node + 1][(0, 0)] += part;
            self.beside[node][(0, 0)] -= part;
        }
        self.beside[last] = Matrix3::zeros();
    }

    /// Factorises the chain's tangent at the present contacts from the hub outwards; where nothing has changed beyond
    /// node `from`, only the rest. The seated length grows from the rim, so that this is usually the short end.
    fn factorise(&mut self, from: usize) -> bool {
        let last = self.state.len() - 1;
        let touching = |node: usize| self.contacts[node] != Contact::None;
        for node in (1..=from).rev() {
            let mut block = self.diagonal[node];
            if node == last {
                block = self.hub_modes.transpose() * block * self.hub_modes;
                for mode in 0..3 {
                    if self.hub_modes[(mode, mode)] == 0.0 {
                        block[(mode, mode)] = 1.0;
                    }
                }
            } else {
                let mut beside = self.beside[node];
                if touching(node) {
                    hold_height(&mut block);
                    beside.row_mut(0).fill(0.0);
                }
                if node + 1 == last {
                    beside *= self.hub_modes;
                } else if touching(node + 1) {
                    beside.column_mut(0).fill(0.0);
                }
                self.coupling[node] = self.pivot[node + 1] * beside.transpose();
                block -= beside * self.coupling[node];
            }
            let Some((inverse, negative)) = invert(&block) else { return false };
            self.pivot[node] = inverse;
            self.negative[node] = negative;
        }
        true
    }

    /// Solves with the right-hand side in the first of `columns`, the plane included. Returns whether the whole tangent
    /// is positive definite.
    fn solve(&mut self) -> bool {
        let last = self.state.len() - 1;
        for node in 1..=last {
            let along = self.restrict(node, Vector3::x());
            let row = self.misfit_by_height[node];
            self.columns[node].set_column(1, &(row[0] * along));
            self.columns[node].set_column(2, &(row[1] * along));
        }
        for node in (1..last).rev() {
            let carried = self.coupling[node].transpose() * self.columns[node + 1];
            self.columns[node] -= carried;
        }
        self.columns[1] = self.pivot[1] * self.columns[1];
        for node in 2..=last {
            self.columns[node] =
                self.pivot[node] * self.columns[node] - self.coupling[node - 1] * self.columns[node - 1];
        }
        let mut capacitance = self.flexibility;
        let mut misfit = Vector2::zeros();
        for node in 1..=last {
            let along = self.restrict(node, Vector3::x());
            let heights = along.transpose() * self.columns[node];
            let row = self.misfit_by_height[node];
            misfit += row * heights[0];
            capacitance += row * heights.fixed_columns::<2>(1);
        }
        let Some(inverse) = capacitance.try_inverse() else { return false };
        let share = inverse * misfit;
        for node in 1..=last {
            let solved = self.columns[node].column(0) - self.columns[node].fixed_columns::<2>(1) * share;
            self.columns[node].set_column(0, &solved);
        }
        let tilted = self.hub_modes * self.columns[last].column(0);
        self.columns[last].set_column(0, &tilted);
        // Sylvester's law on the bordered matrix: the tangent is positive definite if the capacitance has as many
        // negative eigenvalues as the chain alone
        let negative = match (capacitance.determinant() > 0.0, capacitance.trace() > 0.0) {
            (true, true) => 0,
            (true, false) => 2,
            (false, _) => 1,
        };
        negative == self.negative[1..].iter().sum::<usize>()
    }

    /// Tangent times `slope` at every node, into `work`; returns the slope of the force at the axis.
    fn tangent_forces(&mut self) -> Vector2<f64> {
        self.work.fill(Deviation::zeros());
        let mut misfit = Vector2::zeros();
        for (i, element) in self.chain.elements.iter().enumerate() {
            let [a, b] = element.forces(&self.slope[i], &self.slope[i + 1]);
            self.work[i] += a;
            self.work[i + 1] += b;
        }
        for (k, piece) in self.frame.pieces.iter().enumerate() {
            let node = self.chain.first + k;
            let rise = (self.slope[node + 1][0] - self.slope[node][0]) / piece.length;
            let force = -self.by_stretch[k] * rise / piece.length;
            self.work[node][0] -= force;
            self.work[node + 1][0] += force;
        }
        for node in 0..self.state.len() {
            misfit += self.slope[node][0] * self.misfit_by_height[node];
        }
        let hold = -(self.frame.stiffness * misfit);
        for node in 0..self.state.len() {
            self.work[node][0] -= self.misfit_by_height[node].dot(&hold);
        }
        hold
    }

    /// How the state follows the deflection at the present contacts, by the last factorisation; the second round
    /// wins back the digits that the first one lost.
    fn follow(&mut self) -> bool {
        let last = self.state.len() - 1;
        for node in 0..=last {
            // hub and upper plate go down by one
            let moves = node == last || self.contacts[node] == Contact::Upper;
            self.slope[node] = if moves { -Vector3::x() } else { Vector3::zeros() };
        }
        for _ in 0..2 {
            self.tangent_forces();
            for node in 1..=last {
                let right = -self.restrict(node, self.work[node]);
                self.columns[node].set_column(0, &right);
            }
            self.solve();
            for node in 1..=last {
                self.slope[node] += self.columns[node].column(0);
            }
        }
        self.slope.iter().all(|node| node.iter().all(|v| v.is_finite()))
    }

    /// Works out what is shown of a state.
    fn show(&mut self, settled: bool) -> Settled<'_> {
        let last = self.state.len() - 1;
        let first = self.chain.first;
        let hold_slope = self.tangent_forces();
        for node in 0..=last {
            self.states[node].fixed_rows_mut::<3>(0).copy_from(&self.state[node]);
            self.slopes[node].fixed_rows_mut::<3>(0).copy_from(&self.slope[node]);
            self.reaction_slope[node] = if node < last { self.work[node][0] } else { 0.0 };
        }
        let (pieces, elements) = (&self.frame.pieces, &self.chain.elements);
        let (state, slope) = (&self.state, &self.slope);
        let stretch = |k: usize| pieces[k].climb(state[first + k + 1][0] - state[first + k][0]).1;
        self.frame.recover(elements, self.hold, stretch, &mut self.states);
        let stretch_slope =
            |k: usize| -self.climb[k] * (slope[first + k + 1][0] - slope[first + k][0]) / pieces[k].length;
        self.frame.recover(elements, hold_slope, stretch_slope, &mut self.slopes);
        let position = self.chain.position[last];
        let whole = |out: &Deviation, hold: Vector2<f64>| {
            let mut force = NodeState::zeros();
            force.fixed_rows_mut::<3>(0).copy_from(out);
            force.fixed_rows_mut::<3>(3).copy_from(&PlaneFrame::hub_force(hold, position));
            force
        };
        self.hub_force = whole(&self.residual[last], self.hold);
        self.hub_force_slope = whole(&self.work[last], hold_slope);
        let mut force = Affine { value: -self.hub_force[0], slope: -self.hub_force_slope[0] };
        for node in (1..last).filter(|&node| self.contacts[node] == Contact::Upper) {
            force.value -= self.residual[node][0];
            force.slope -= self.reaction_slope[node];
        }
        Settled {
            force,
            states: &self.states,
            slopes: &self.slopes,
            contacts: &self.contacts,
            reaction_slope: &self.reaction_slope,
            hub_force: self.hub_force,
            hub_force_slope: self.hub_force_slope,
            settled,
        }
    }
}

/// Takes a node's height out of its own block.
fn hold_height(block: &mut Matrix3<f64>) {
    block.row_mut(0).fill(0.0);
    block.column_mut(0).fill(0.0);
    block[(0, 0)] = 1.0;
}

/// Inverse of a symmetric 3×3 matrix by cofactors and how many of its eigenvalues are negative.
fn invert(m: &Matrix3<f64>) -> Option<(Matrix3<f64>, usize)> {
    let inverse = invert_symmetric(m)?;
    // signs of the pivots of LDLᵀ, by leading minors (Sylvester's law of inertia)
    let second = m[(0, 0)] * m[(1, 1)] - m[(0, 1)] * m[(0, 1)];
    let signs = [m[(0, 0)] > 0.0, second / m[(0, 0)] > 0.0, inverse[(2, 2)] > 0.0];
    Some((inverse, signs.iter().filter(|positive| !**positive).count()))
}
