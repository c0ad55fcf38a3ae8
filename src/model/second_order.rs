//! One deflection with the in-plane energy: Newton's method on the arm, the two in-plane forces and the contacts.
//!
//! The in-plane frame acts through its misfit s at the axis alone (see `PlaneFrame`): its stiffness is of rank two,
//! besides a geometric part that only couples the heights of neighbours (see `Tangent`). The residual is formed from
//! strains, so that repeating the step also refines away the digits that a stiffness matrix of short pieces loses.
//!
//! A deflection is first guessed from the last one and its slopes, contacts from how their fronts moved, and a few
//! steps (`jump_to`) converge. Where they do not, the path is followed event by event (`follow_to`), in halves if need
//! be. Each step is exact for its quadratic model; convergence is not guaranteed, because the energy is not convex. A
//! deflection without convergence is marked as not converged: a tall slender arm may have no equilibrium near the last
//! one.

use nalgebra::{Matrix3, Vector2, Vector3};

use super::active_set::ActiveSet;
use super::chain::Chain;
use super::condensation::{Affine, Condensation, Contact};
use super::element::Deviation;
use super::fronts::{FARTHEST, Fronts};
use super::in_plane::NodeState;
use super::plane_frame::PlaneFrame;
use super::seating::{Plates, Seating};
use super::tangent::Tangent;

/// Change of height, in units of the travel, after which no further step is taken: steps square their error, or
/// shrink it a thousandfold where digits are lost.
const SETTLED: f64 = 1e-8;
/// Change after which no further step is taken either if the forces already balance to the last digits.
const SETTLED_IN_BALANCE: f64 = 1e-5;
/// Correction of the slopes expected of the next round, from how the last two shrank, below which none is made (mm of height per
/// mm of deflection).
const SLOPES_AHEAD: f64 = 1e-13;
/// Corrections of the slopes at most; two are usual.
const MOST_ROUNDS: usize = 4;
/// Steps after which a deflection is approached in halves instead.
const MOST_STEPS: usize = 40;
/// Jumps after which the path is followed instead; two or three are usual.
const MOST_JUMPS: usize = 10;
/// Most halvings of a deflection.
const MOST_HALVINGS: usize = 6;
/// Steps over one sweep after which nothing is halved any more: a spring that needs more does not converge.
const PATIENCE: usize = 1500;
/// Longest step between states, in units of the travel.
const LONGEST_WAY: f64 = 0.07;

/// A state that converged, to come back to.
#[derive(Debug, Default)]
struct Saved {
    deflection: f64,
    state: Vec<Deviation>,
    slope: Vec<Deviation>,
    contacts: Vec<Contact>,
}

/// Solver for one arm; keeps its buffers and the last state between deflections.
#[derive(Debug)]
pub struct SecondOrder<'a> {
    pub(super) chain: &'a Chain,
    pub(super) plates: &'a Plates,
    /// the arm in its plane
    pub frame: PlaneFrame,
    hub_modes: Matrix3<f64>,
    tilt: Option<[f64; 2]>,
    pub(super) contacts: Vec<Contact>,
    pub(super) state: Vec<Deviation>,
    slope: Vec<Deviation>,
    /// slopes at the state before, and its distance (mm); 0 where they are not valid
    slope_before: Vec<Deviation>,
    run_before: f64,
    pub(super) deflection: f64,
    pub(super) residual: Vec<Deviation>,
    /// slope z′ of every piece
    pub(super) climb: Vec<f64>,
    /// derivative of the in-plane energy over the stretch of every piece (N·mm)
    pub(super) by_stretch: Vec<f64>,
    /// misfit at the axis over the height of every node
    pub(super) misfit_by_height: Vec<Vector2<f64>>,
    /// force at the axis (N)
    pub(super) hold: Vector2<f64>,
    pub(super) tangent: Tangent,
    /// right-hand side of the tangent, then its solution
    pub(super) column: Vec<Deviation>,
    /// part of the residual that a step has still to remove
    pub(super) shift: Vec<Deviation>,
    pub(super) change: Vec<Deviation>,
    pub(super) work: Vec<Deviation>,
    fronts: Fronts,
    /// room for states to come back to
    spare: Vec<Saved>,
    /// lent to a step while it is made
    pub(super) active: Option<ActiveSet>,
    steps: usize,
    /// whether the last factorisation had the geometric part
    pub(super) exact: bool,
    // what is shown
    states: Vec<NodeState>,
    slopes: Vec<NodeState>,
    reaction: Vec<f64>,
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
    /// contacts of the nodes
    pub contacts: &'a [Contact],
    /// force of the plates on every node (N)
    pub reaction: &'a [f64],
    /// its slope per mm of deflection (N/mm)
    pub reaction_slope: &'a [f64],
    /// forces on the hub's node
    pub hub_force: NodeState,
    /// their slopes per mm of deflection
    pub hub_force_slope: NodeState,
    /// whether the state is a stable equilibrium: forces balance, nothing penetrates or pulls
    pub converged: bool,
}

impl<'a> SecondOrder<'a> {
    /// For an arm of a sheet; `tilt` is the hub node's position where the hub may tilt. None where the arm's compliance in its
    /// plane has no inverse.
    pub fn new(
        chain: &'a Chain,
        plates: &'a Plates,
        youngs_modulus: f64,
        thickness: f64,
        tilt: Option<[f64; 2]>,
    ) -> Option<Self> {
        let nodes = chain.elements.len() + 1;
        let frame = PlaneFrame::new(chain, youngs_modulus, thickness)?;
        let pieces = frame.pieces.len();
        let flexibility = frame.flexibility;
        let hub_modes = hub_modes(tilt);
        Some(Self {
            chain,
            plates,
            frame,
            hub_modes,
            tilt,
            contacts: vec![Contact::None; nodes],
            state: vec![Deviation::zeros(); nodes],
            slope: vec![Deviation::zeros(); nodes],
            slope_before: vec![Deviation::zeros(); nodes],
            run_before: 0.0,
            deflection: 0.0,
            residual: vec![Deviation::zeros(); nodes],
            climb: vec![0.0; pieces],
            by_stretch: vec![0.0; pieces],
            misfit_by_height: vec![Vector2::zeros(); nodes],
            hold: Vector2::zeros(),
            tangent: Tangent::new(chain, hub_modes, flexibility),
            column: vec![Deviation::zeros(); nodes],
            shift: vec![Deviation::zeros(); nodes],
            change: vec![Deviation::zeros(); nodes],
            work: vec![Deviation::zeros(); nodes],
            fronts: Fronts::default(),
            spare: Vec::new(),
            active: Some(ActiveSet::new(nodes)),
            steps: 0,
            exact: false,
            states: vec![NodeState::zeros(); nodes],
            slopes: vec![NodeState::zeros(); nodes],
            reaction: vec![0.0; nodes],
            reaction_slope: vec![0.0; nodes],
            hub_force: NodeState::zeros(),
            hub_force_slope: NodeState::zeros(),
        })
    }

    /// The state at deflection `x`, not less than the last one.
    pub fn reach(&mut self, x: f64) -> Settled<'_> {
        let longest = LONGEST_WAY * self.plates.travel;
        if self.deflection == 0.0 {
            // a level former touches at once: the small-slope path gives the first contacts
            let soon = if x > 0.0 { x.min(longest) } else { longest } / 64.0;
            let mut tree = Condensation::new(self.chain, self.tilt);
            let contacts = &mut self.contacts;
            // without convergence the free state is the start
            Seating::new(&mut tree, self.plates)
                .follow(&[soon], |stop| contacts.copy_from_slice(stop.tree.contacts()))
                .unwrap_or_default();
            for node in 1..self.state.len() - 1 {
                if self.gap(node).is_none_or(|gap| gap > 0.0) {
                    self.contacts[node] = Contact::None;
                }
            }
            self.linearise();
            self.set_tangent(1.0);
            if self.factorise(self.state.len() - 1) {
                self.follow();
            }
            self.fronts.keep(0.0, &self.contacts);
        }
        let count = ((x - self.deflection) / longest).ceil().max(1.0);
        let (from, way) = (self.deflection, (x - self.deflection) / count);
        let mut k = 1.0;
        while k < count {
            self.advance(from + way * k, MOST_HALVINGS);
            k += 1.0;
        }
        let converged = self.advance(x, MOST_HALVINGS);
        self.show(converged)
    }

    /// Goes to `x`, in halves where it does not converge at once.
    fn advance(&mut self, x: f64, halvings: usize) -> bool {
        let mut saved = self.spare.pop().unwrap_or_default();
        saved.deflection = self.deflection;
        saved.state.clone_from(&self.state);
        saved.slope.clone_from(&self.slope);
        saved.contacts.clone_from(&self.contacts);
        let converged = self.advance_from(&mut saved, x, halvings);
        self.spare.push(saved);
        converged
    }

    /// The same from the present state, which is kept in `saved`.
    fn advance_from(&mut self, saved: &mut Saved, x: f64, halvings: usize) -> bool {
        let mut converged = self.jump(x, &saved.contacts);
        if !converged {
            self.restore(saved);
            converged = self.settle(x);
        }
        if converged {
            self.fronts.keep(x, &self.contacts);
            // a contact that has changed is a kink in the slopes
            self.run_before = if saved.contacts == self.contacts { x - saved.deflection } else { 0.0 };
            std::mem::swap(&mut self.slope_before, &mut saved.slope);
            return true;
        }
        if halvings > 0 && self.steps < PATIENCE {
            self.restore(saved);
            self.advance(0.5 * (saved.deflection + x), halvings - 1);
            return self.advance(x, halvings - 1);
        }
        if !self.state.iter().chain(&self.slope).all(|node| node.iter().all(|v| v.is_finite())) {
            self.restore(saved);
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

    /// Newton's steps from the last state to the one at `x`, event by event.
    fn settle(&mut self, x: f64) -> bool {
        for _ in 0..MOST_STEPS {
            self.steps += 1;
            let change = self.follow_to(x);
            self.deflection = x;
            self.prescribe();
            self.linearise();
            let Some(change) = change.filter(|change| *change < 1e3 * self.plates.travel) else {
                return false;
            };
            if change <= SETTLED * self.plates.travel && !self.pulls() {
                // an unstable equilibrium is rejected
                return self.exact && self.follow();
            }
        }
        false
    }

    /// Newton's steps from a guess of the state and the contacts at `x`, where `last` are the present contacts.
    fn jump(&mut self, x: f64, last: &[Contact]) -> bool {
        let run = x - self.deflection;
        let near = run < FARTHEST * self.run_before;
        let bend = if near { 0.5 * run * run / self.run_before } else { 0.0 };
        for ((state, slope), before) in self.state.iter_mut().zip(&self.slope).zip(&self.slope_before) {
            *state += run * slope + bend * (slope - before);
        }
        self.deflection = x;
        self.fronts.guess(x, last, &mut self.contacts);
        self.linearise();
        for _ in 0..MOST_JUMPS {
            self.steps += 1;
            let Some(change) = self.jump_to(x) else { return false };
            self.prescribe();
            self.linearise();
            let close = change <= SETTLED * self.plates.travel
                || change <= SETTLED_IN_BALANCE * self.plates.travel && self.balances();
            if close && !self.pulls() {
                return self.follow();
            }
            if change.is_nan() || change > self.plates.travel {
                return false;
            }
        }
        false
    }

    /// Puts touching nodes and hub at their heights.
    fn prescribe(&mut self) {
        let (plates, x) = (self.plates, self.deflection);
        let last = self.state.len() - 1;
        for node in 1..last {
            let height = match self.contacts[node] {
                Contact::None => continue,
                Contact::Base => 0.0,
                Contact::Upper => plates.travel - x,
            };
            let state = &mut self.state[node];
            state[0] = 0.0;
            state[0] = height - plates.height(node, state);
        }
        // the hub stands at −x plus the rise of its node by tilt
        let hub = &mut self.state[last];
        hub[0] = 0.0;
        hub[0] = self.hub_modes.row(0).transpose().dot(hub) - x;
    }

    /// Tangent times `slope` at every node, into `work`; returns the slope of the force at the axis.
    fn tangent_forces(&mut self) -> Vector2<f64> {
        self.work.fill(Deviation::zeros());
        let mut misfit = Vector2::zeros();
        let still = Deviation::zeros();
        for (i, element) in self.chain.elements.iter().enumerate() {
            let (a, b) = (&self.slope[i], &self.slope[i + 1]);
            // at first nothing moves but the hub
            if *a == still && *b == still {
                continue;
            }
            let [a, b] = element.forces(a, b);
            self.work[i] += a;
            self.work[i + 1] += b;
        }
        for (k, piece) in self.frame.pieces.iter().enumerate() {
            let node = self.chain.first + k;
            let rise = self.slope[node + 1][0] - self.slope[node][0];
            if rise != 0.0 {
                let force = -self.by_stretch[k] * rise / (piece.length * piece.length);
                self.work[node][0] -= force;
                self.work[node + 1][0] += force;
            }
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

    /// Slope of the state over the deflection at the present contacts, by the last factorisation; further rounds recover the
    /// digits that the first one lost to short pieces.
    fn follow(&mut self) -> bool {
        let last = self.state.len() - 1;
        for node in 0..=last {
            // hub and upper plate go down by one
            let moves = node == last || self.contacts[node] == Contact::Upper;
            self.slope[node] = if moves { -Vector3::x() } else { Vector3::zeros() };
        }
        let mut before = 1.0;
        for round in 1..=MOST_ROUNDS {
            self.tangent_forces();
            for node in 1..=last {
                self.column[node] = -self.tangent.restrict(node, &self.contacts, self.work[node]);
            }
            self.tangent.solve(&self.contacts, &mut self.column);
            let mut largest: f64 = 0.0;
            for node in 1..=last {
                self.slope[node] += self.column[node];
                largest = largest.max(self.column[node][0].abs());
            }
            if round > 1 && largest * largest <= SLOPES_AHEAD * before {
                break;
            }
            before = largest;
        }
        self.slope.iter().all(|node| node.iter().all(|v| v.is_finite()))
    }

    /// Works out what is shown of a state.
    fn show(&mut self, converged: bool) -> Settled<'_> {
        let last = self.state.len() - 1;
        let first = self.chain.first;
        let hold_slope = self.tangent_forces();
        for node in 0..=last {
            self.states[node].fixed_rows_mut::<3>(0).copy_from(&self.state[node]);
            self.slopes[node].fixed_rows_mut::<3>(0).copy_from(&self.slope[node]);
            let touches = node > 0 && node < last && self.contacts[node] != Contact::None;
            self.reaction[node] = if touches { self.residual[node][0] } else { 0.0 };
            self.reaction_slope[node] = if node < last { self.work[node][0] } else { 0.0 };
        }
        let (pieces, elements) = (&self.frame.pieces, &self.chain.elements);
        let (state, slope) = (&self.state, &self.slope);
        let stretch = |k: usize| pieces[k].climb(state[first + k + 1][0] - state[first + k][0]).1;
        self.frame.recover(elements, self.hold, stretch, None, &mut self.states);
        let stretch_slope =
            |k: usize| -self.climb[k] * (slope[first + k + 1][0] - slope[first + k][0]) / pieces[k].length;
        self.frame.recover(elements, hold_slope, stretch_slope, None, &mut self.slopes);
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
            reaction: &self.reaction,
            reaction_slope: &self.reaction_slope,
            hub_force: self.hub_force,
            hub_force_slope: self.hub_force_slope,
            converged,
        }
    }
}

/// Degrees of freedom of the hub's node, as columns of its motion: tilt about x and y through the axis, where it is free to tilt.
pub fn hub_modes(tilt: Option<[f64; 2]>) -> Matrix3<f64> {
    tilt.map_or_else(Matrix3::zeros, |[x, y]| Matrix3::new(0.0, y, -x, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0))
}
