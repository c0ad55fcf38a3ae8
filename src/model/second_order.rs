//! One deflection with the in-plane energy: Newton's method on arm, plane frame and contacts together.
//!
//! Six unknowns a node, block-tridiagonal with 6×6 blocks: a few banded factorisations a deflection, against one
//! exchange at a time for the linear path that starts it. The residual is formed from strains, so that repeating the
//! step also refines away the digits that a stiffness matrix of short pieces loses.

use nalgebra::{Matrix6, Vector6};

use super::chain::Chain;
use super::condensation::{Affine, Contact};
use super::in_plane::{NodeState, PlanePiece};
use super::seating::Plates;
use crate::numeric::BlockTridiagonal;

/// Change of height, in units of the travel, at which Newton's steps end.
const SETTLED: f64 = 1e-11;
/// Newton steps after which the state is taken as it stands and said to be unsettled.
const MOST_STEPS: usize = 30;
/// Longest step between states, in units of the travel.
const LONGEST_STEP: f64 = 0.07;
/// Rounds of exchanging all violated contacts at once before they are exchanged one by one.
const ROUNDS_AT_ONCE: usize = 10;

/// One arm at one deflection.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Corrected {
    /// force of one arm with its slope (N, N/mm)
    pub force: Affine,
    /// turn of the hub about the axis (rad)
    pub hub_turn: f64,
    /// whether Newton's steps and the contacts settled
    pub settled: bool,
}

/// Solver for one arm; keeps its room and the last state between deflections.
#[derive(Debug)]
pub struct SecondOrder<'a> {
    chain: &'a Chain,
    plates: &'a Plates,
    /// pieces of the arm; element `chain.first + i` carries piece i
    pub pieces: Vec<PlanePiece>,
    linear: Vec<[Matrix6<f64>; 3]>,
    tangent: Vec<[Matrix6<f64>; 3]>,
    /// what the hub's node can do: columns turn, tilt about x, tilt about y; unused columns are zero
    hub_modes: Matrix6<f64>,
    banded: BlockTridiagonal<6>,
    contacts: Vec<Contact>,
    /// states of all nodes
    pub state: Vec<NodeState>,
    /// their slopes per mm of deflection
    pub slope: Vec<NodeState>,
    residual: Vec<NodeState>,
    /// force of the plates on every node, slope per mm of deflection (N/mm)
    pub reaction_slope: Vec<f64>,
    /// forces on the hub's node
    pub hub_force: NodeState,
    /// their slopes per mm of deflection
    pub hub_force_slope: NodeState,
    right: Vec<NodeState>,
    deflection: f64,
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
        let pieces = PlanePiece::of_chain(chain, youngs_modulus, thickness);
        let linear = chain
            .elements
            .iter()
            .enumerate()
            .map(|(i, element)| {
                let small = element.blocks();
                let end = if i < chain.first { pieces.first() } else { pieces.last() };
                let plane = end.filter(|_| element.is_root()).map(|piece| {
                    let width =
                        chain.segments[if i < chain.first { 0 } else { chain.segments.len() - 1 }].width;
                    piece.root_stiffness(width)
                });
                std::array::from_fn(|k| {
                    let mut block = Matrix6::zeros();
                    block.fixed_view_mut::<3, 3>(0, 0).copy_from(&small[k]);
                    if let Some(plane) = plane {
                        let sign = if k == 1 { -1.0 } else { 1.0 };
                        block.fixed_view_mut::<3, 3>(3, 3).copy_from(&(sign * plane));
                    }
                    block
                })
            })
            .collect();
        let [x, y] = chain.position[nodes - 1];
        let mut hub_modes = Matrix6::zeros();
        hub_modes.set_column(3, &Vector6::new(0.0, 0.0, 0.0, -y, x, 1.0));
        if let Some([x, y]) = tilt {
            hub_modes.set_column(1, &Vector6::new(y, 1.0, 0.0, 0.0, 0.0, 0.0));
            hub_modes.set_column(2, &Vector6::new(-x, 0.0, 1.0, 0.0, 0.0, 0.0));
        }
        Self {
            chain,
            plates,
            pieces,
            linear,
            tangent: vec![[Matrix6::zeros(); 3]; nodes - 1],
            hub_modes,
            banded: BlockTridiagonal::with_capacity(nodes),
            contacts: vec![Contact::None; nodes],
            state: vec![NodeState::zeros(); nodes],
            slope: vec![NodeState::zeros(); nodes],
            residual: vec![NodeState::zeros(); nodes],
            reaction_slope: vec![0.0; nodes],
            hub_force: NodeState::zeros(),
            hub_force_slope: NodeState::zeros(),
            right: vec![NodeState::zeros(); nodes - 1],
            deflection: 0.0,
        }
    }

    /// Contacts as they stand after the last deflection.
    pub fn contacts(&self) -> &[Contact] {
        &self.contacts
    }

    /// The state at deflection `x` (not less than the last one), with `contacts` to start from.
    pub fn correct(&mut self, x: f64, contacts: &[Contact]) -> Corrected {
        // the free state needs no solving; from there follow the tangent in steps that Newton can mend
        let steps = ((x - self.deflection) / (LONGEST_STEP * self.plates.travel)).ceil().max(1.0);
        let step = (x - self.deflection) / steps;
        for k in 1..steps as usize {
            let between = self.deflection + step * k as f64;
            self.settle(between);
        }
        self.contacts.copy_from_slice(contacts);
        self.settle(x)
    }

    /// The state at `x`, starting from the last one along its tangent and from the present contacts.
    fn settle(&mut self, x: f64) -> Corrected {
        if self.deflection == 0.0 {
            self.linearise(true);
            self.tangent_slope();
        }
        let ahead = x - self.deflection;
        for (state, slope) in self.state.iter_mut().zip(&self.slope) {
            *state += ahead * slope;
        }
        self.deflection = x;
        let mut rounds = 0;
        let mut settled;
        loop {
            settled = self.newton(x);
            let violated = self.violations(x);
            if violated.is_empty() {
                break;
            }
            if rounds > ROUNDS_AT_ONCE + 2 * self.state.len() {
                settled = false;
                break;
            }
            let those = if rounds < ROUNDS_AT_ONCE { &violated[..] } else { &violated[..1] };
            for &(node, contact) in those {
                self.contacts[node] = contact;
            }
            rounds += 1;
        }
        settled &= self.tangent_slope();
        let last = self.state.len() - 1;
        for node in 0..last {
            self.reaction_slope[node] = self.tangent_product(node)[0];
        }
        self.hub_force = self.residual[last];
        self.hub_force_slope = self.tangent_product(last);
        let (mut force, mut rate) = (-self.hub_force[0], -self.hub_force_slope[0]);
        for node in (1..last).filter(|&node| self.contacts[node] == Contact::Upper) {
            force -= self.residual[node][0];
            rate -= self.reaction_slope[node];
        }
        // the hub's turn is the rotation about the normal that its node shares
        Corrected { force: Affine { value: force, slope: rate }, hub_turn: self.state[last][5], settled }
    }

    /// Newton's steps at fixed contacts.
    fn newton(&mut self, x: f64) -> bool {
        self.prescribe(x);
        let scale = SETTLED * self.plates.travel;
        let mut last_change = f64::INFINITY;
        for step in 0..MOST_STEPS {
            self.linearise(true);
            if !self.factorise() {
                self.linearise(false);
                if !self.factorise() {
                    return false;
                }
            }
            for k in 0..self.right.len() {
                self.right[k] = -self.restrict(k + 1, self.residual[k + 1]);
            }
            let change = self.step();
            if change <= scale || step > 2 && change >= 0.5 * last_change && change < 1e3 * scale {
                self.linearise(true);
                return true;
            }
            last_change = change;
        }
        self.linearise(true);
        false
    }

    /// Puts touching nodes and hub at their heights.
    fn prescribe(&mut self, x: f64) {
        let plates = self.plates;
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
        let tilt: f64 = (1..3).map(|mode| self.hub_modes[(0, mode)] * hub[mode]).sum();
        hub[0] = tilt - x;
    }

    /// Residual and tangent at the present state.
    fn linearise(&mut self, geometric: bool) {
        self.residual.fill(NodeState::zeros());
        for (i, element) in self.chain.elements.iter().enumerate() {
            let (a, b) = (self.state[i], self.state[i + 1]);
            let (mut left, mut right) = (NodeState::zeros(), NodeState::zeros());
            if element.is_root() {
                right = self.linear[i][2] * (b - a);
                left = -right;
            } else {
                let [fa, fb] =
                    element.forces(&a.fixed_rows::<3>(0).into_owned(), &b.fixed_rows::<3>(0).into_owned());
                left.fixed_rows_mut::<3>(0).copy_from(&fa);
                right.fixed_rows_mut::<3>(0).copy_from(&fb);
            }
            let mut blocks = self.linear[i];
            if let Some(piece) = i.checked_sub(self.chain.first).and_then(|k| self.pieces.get(k)) {
                let strain = piece.strain(&a, &b);
                piece.add_forces(&strain, &mut left, &mut right);
                piece.add_stiffness(&strain, geometric, &mut blocks);
            }
            self.residual[i] += left;
            self.residual[i + 1] += right;
            self.tangent[i] = blocks;
        }
    }

    /// Whether an unknown of an interior node is held: the height of a seated one.
    fn held(&self, node: usize, unknown: usize) -> bool {
        unknown == 0 && self.contacts[node] != Contact::None
    }

    /// A node's vector without its held unknowns; the hub's in its modes.
    fn restrict(&self, node: usize, mut vector: NodeState) -> NodeState {
        if node + 1 == self.state.len() {
            return self.hub_modes.transpose() * vector;
        }
        for unknown in 0..6 {
            if self.held(node, unknown) {
                vector[unknown] = 0.0;
            }
        }
        vector
    }

    fn factorise(&mut self) -> bool {
        let (tangent, modes) = (&self.tangent, &self.hub_modes);
        let last = tangent.len();
        let mask = |node: usize| -> Vector6<f64> {
            Vector6::from_fn(|unknown, _| if self.held(node, unknown) { 0.0 } else { 1.0 })
        };
        let masks: Vec<Vector6<f64>> = (0..last).map(mask).collect();
        let mut banded = std::mem::take(&mut self.banded);
        let sound = banded.factorise(
            last,
            |k| {
                let node = k + 1;
                if node == last {
                    let mut block = modes.transpose() * tangent[k][2] * modes;
                    for mode in 0..6 {
                        if modes.column(mode).iter().all(|v| *v == 0.0) {
                            block[(mode, mode)] = 1.0;
                        }
                    }
                    return block;
                }
                let mut block = (tangent[k][2] + tangent[k + 1][0])
                    .component_mul(&(masks[node] * masks[node].transpose()));
                for unknown in 0..6 {
                    if masks[node][unknown] == 0.0 {
                        block[(unknown, unknown)] = 1.0;
                    }
                }
                block
            },
            |k| {
                let node = k + 1;
                let block = tangent[k + 1][1];
                if node + 1 == last {
                    let mut end = block * modes;
                    for unknown in 0..6 {
                        if masks[node][unknown] == 0.0 {
                            end.row_mut(unknown).fill(0.0);
                        }
                    }
                    end
                } else {
                    block.component_mul(&(masks[node] * masks[node + 1].transpose()))
                }
            },
        );
        self.banded = banded;
        sound
    }

    /// Solves for a step with the right-hand side in `right` and takes it; returns the largest change of height.
    fn step(&mut self) -> f64 {
        self.banded.solve(&mut self.right);
        let last = self.right.len();
        let end = self.right[last - 1];
        self.right[last - 1] = self.hub_modes * end;
        let mut change: f64 = 0.0;
        for k in 0..last {
            change = change.max(self.right[k][0].abs());
            self.state[k + 1] += self.right[k];
        }
        change
    }

    /// How the state follows the deflection at the present contacts.
    fn tangent_slope(&mut self) -> bool {
        if !self.factorise() {
            return false;
        }
        let last = self.state.len() - 1;
        // hub and upper plate go down by one
        let down = |node: usize, contacts: &[Contact]| {
            let moves = node == last || contacts[node] == Contact::Upper;
            if moves { -Vector6::x() } else { NodeState::zeros() }
        };
        for (node, slope) in self.slope.iter_mut().enumerate() {
            *slope = if node == 0 { NodeState::zeros() } else { down(node, &self.contacts) };
        }
        for node in 1..=last {
            let full = self.tangent_product(node);
            self.right[node - 1] = -self.restrict(node, full);
        }
        self.banded.solve(&mut self.right);
        let end = self.right[last - 1];
        self.right[last - 1] = self.hub_modes * end;
        for node in 1..=last {
            self.slope[node] += self.right[node - 1];
        }
        true
    }

    /// Row of tangent times slope at a node.
    fn tangent_product(&self, node: usize) -> NodeState {
        let mut product = NodeState::zeros();
        if node > 0 {
            let [_, ab, bb] = &self.tangent[node - 1];
            product += ab.transpose() * self.slope[node - 1] + bb * self.slope[node];
        }
        if node < self.tangent.len() {
            let [aa, ab, _] = &self.tangent[node];
            product += aa * self.slope[node] + ab * self.slope[node + 1];
        }
        product
    }

    /// Nodes whose contact is wrong, with what it should be.
    fn violations(&self, x: f64) -> Vec<(usize, Contact)> {
        let plates = self.plates;
        let gap = 1e-10 * plates.travel;
        let mut violated = Vec::new();
        for node in 1..self.state.len() - 1 {
            match self.contacts[node] {
                Contact::None => {
                    let z = plates.free_height[node] + self.state[node][0];
                    if z < -gap {
                        violated.push((node, Contact::Base));
                    } else if plates.upper && z > plates.travel - x + gap {
                        violated.push((node, Contact::Upper));
                    }
                }
                contact => {
                    let force = self.residual[node][0];
                    let push = if contact == Contact::Base { force } else { -force };
                    if push < -10.0 * plates.force_tolerance {
                        violated.push((node, Contact::None));
                    }
                }
            }
        }
        violated
    }
}
