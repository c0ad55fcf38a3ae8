//! Equilibrium of one arm at a deflection: Newton's method on the arm, the two in-plane forces and the contacts.
//!
//! The in-plane frame acts through its misfit s at the axis alone (see `PlaneFrame`): its stiffness is of rank two,
//! besides a geometric part that only couples the heights of neighbours (see `Tangent`). Without it, in small slopes, the
//! energy is quadratic: one step goes all the way, and a second by the same factors gives the last digits. The residual is
//! formed from strains, so that repeating the step also refines away the digits that a stiffness matrix of short pieces
//! loses.
//!
//! A deflection is first guessed from the last one and its slopes, contacts from how their fronts moved, and a few
//! steps (`jump_to`) converge. Where they do not, the path is followed event by event (`follow_to`), in halves if need
//! be. Each step is exact for its quadratic model; with the plane convergence is not guaranteed, because the energy is not
//! convex. A deflection without convergence is marked as not converged: a tall slender arm may have no equilibrium near
//! the last one.

use nalgebra::{Matrix2, Vector2, Vector3};

use super::active_set::ActiveSet;
use super::arm_state::{Affine, Snapshot};
use super::chain::Chain;
use super::contact::{Contact, Plates, row};
use super::element::Deviation;
use super::fronts::{FARTHEST, Fronts};
use super::plane_frame::PlaneFrame;
use super::tangent::Tangent;

/// Change of height, in units of the travel, after which no further step is taken: steps square their error, or
/// shrink it a thousandfold where digits are lost.
const SETTLED: f64 = 1e-8;
/// Change after which no further step is taken either if the forces already balance to the last digits.
const SETTLED_IN_BALANCE: f64 = 1e-5;
/// Force left over by slopes, as a share of the arm's rate, below which they are not corrected.
const BALANCED: f64 = 1e-7;
/// The same of a state in small slopes, as a share of the force, below which its step is not repeated.
const RESTS: f64 = 1e-10;
/// Solutions for the slopes at most; one or two are usual.
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
/// Deflection at which the contacts of the first touch are looked for, in units of the longest step.
const FIRST_WAY: f64 = 1.0 / 64.0;

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
pub struct Equilibrium<'a> {
    pub(super) chain: &'a Chain,
    pub(super) plates: &'a Plates,
    /// the arm in its plane; none in small slopes
    pub(super) plane: Option<PlaneFrame>,
    /// stiffness of the plane at the axis (N/mm); zero in small slopes
    pub(super) axis_stiffness: Matrix2<f64>,
    /// place of the hub's node (mm) where the hub may tilt
    tilt: Option<[f64; 2]>,
    pub(super) contacts: Vec<Contact>,
    pub(super) state: Vec<Deviation>,
    slope: Vec<Deviation>,
    /// slopes at the state before, and its distance (mm); 0 where they are not valid
    slope_before: Vec<Deviation>,
    run_before: f64,
    pub(super) deflection: f64,
    pub(super) residual: Vec<Deviation>,
    /// derivative of the in-plane energy over the stretch of every piece (N·mm); zero in small slopes
    pub(super) by_stretch: Vec<f64>,
    /// misfit at the axis over the height of every node; zero in small slopes
    pub(super) misfit_by_height: Vec<Vector2<f64>>,
    /// force at the axis (N)
    pub(super) redundant: Vector2<f64>,
    /// its slope (N/mm)
    redundant_slope: Vector2<f64>,
    /// whether slopes and the forces that go with them are those of the present state
    pub(super) followed: bool,
    pub(super) tangent: Tangent<'a>,
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
    /// contacts of the last factorisation
    factorised: Vec<Contact>,
    /// whether the tangent has changed since then
    pub(super) tangent_changed: bool,
    // what is shown
    reaction: Vec<f64>,
    reaction_slope: Vec<f64>,
}

impl<'a> Equilibrium<'a> {
    /// For the free arm between plates; `tilt` is the hub node's position where the hub may tilt.
    pub fn new(
        chain: &'a Chain,
        plates: &'a Plates,
        plane: Option<PlaneFrame>,
        tilt: Option<[f64; 2]>,
    ) -> Self {
        let nodes = chain.elements.len() + 1;
        let pieces = chain.pieces.len();
        let flexibility = plane.as_ref().map(|plane| plane.flexibility);
        let axis_stiffness = plane.as_ref().map_or_else(Matrix2::zeros, |plane| plane.stiffness);
        let mut equilibrium = Self {
            chain,
            plates,
            plane,
            axis_stiffness,
            tilt,
            contacts: vec![Contact::None; nodes],
            state: vec![Deviation::zeros(); nodes],
            slope: vec![Deviation::zeros(); nodes],
            slope_before: vec![Deviation::zeros(); nodes],
            run_before: 0.0,
            deflection: 0.0,
            residual: vec![Deviation::zeros(); nodes],
            by_stretch: vec![0.0; pieces],
            misfit_by_height: vec![Vector2::zeros(); nodes],
            redundant: Vector2::zeros(),
            redundant_slope: Vector2::zeros(),
            followed: false,
            tangent: Tangent::new(chain, tilt, flexibility),
            column: vec![Deviation::zeros(); nodes],
            shift: vec![Deviation::zeros(); nodes],
            change: vec![Deviation::zeros(); nodes],
            work: vec![Deviation::zeros(); nodes],
            fronts: Fronts::default(),
            spare: Vec::new(),
            active: Some(ActiveSet::new(nodes)),
            steps: 0,
            exact: false,
            factorised: vec![Contact::None; nodes],
            tangent_changed: true,
            reaction: vec![0.0; nodes],
            reaction_slope: vec![0.0; nodes],
        };
        equilibrium.start();
        equilibrium
    }

    /// Contacts and slopes of the free arm as it begins to be pressed: a level former touches at once.
    fn start(&mut self) {
        let last = self.state.len() - 1;
        self.linearise();
        self.set_tangent(1.0);
        if !self.factorise() || !self.follow() {
            return;
        }
        let soon = FIRST_WAY * LONGEST_WAY * self.plates.travel;
        let none = self.contacts.clone();
        if self.jump(soon) {
            let plates = self.plates;
            for node in 1..last {
                if plates.height(node, &Deviation::zeros()) > plates.gap_tolerance {
                    self.contacts[node] = Contact::None;
                }
            }
        } else {
            self.contacts = none;
        }
        self.state.fill(Deviation::zeros());
        self.deflection = 0.0;
        self.linearise();
        self.set_tangent(1.0);
        if self.factorise() {
            self.follow();
        }
        self.steps = 0;
        self.fronts = Fronts::default();
        self.fronts.keep(0.0, &self.contacts);
    }

    /// The state at deflection `x`, not less than the last one.
    pub fn reach(&mut self, x: f64) -> Snapshot<'_> {
        let converged = self.go_to(x);
        if converged && !self.followed {
            self.follow();
        }
        self.show(converged)
    }

    /// Force of the arm at deflection `x` (N), not less than the last one: in small slopes it costs less than the state with its
    /// slopes.
    pub fn force_at(&mut self, x: f64) -> f64 {
        self.go_to(x);
        self.force()
    }

    /// The same in small slopes, where the contacts of the nodes are probably those `expected`: the way there is left out.
    pub fn force_near(&mut self, x: f64, expected: &[Contact]) -> f64 {
        if self.plane.is_none() && expected.len() == self.contacts.len() {
            let mut saved = self.save();
            self.contacts.copy_from_slice(expected);
            let converged = self.jump(x);
            if converged {
                self.passed(&mut saved, x);
            } else {
                self.restore(&saved);
            }
            self.spare.push(saved);
            if converged {
                return self.force();
            }
        }
        self.force_at(x)
    }

    /// Force by which hub and upper plate press the arm (N).
    fn force(&self) -> f64 {
        let nodes = self.residual.iter().zip(&self.contacts);
        let upper = nodes.filter(|(_, contact)| **contact == Contact::Upper);
        let held: f64 = upper.map(|(residual, _)| residual[0]).sum();
        -self.residual[self.residual.len() - 1][0] - held
    }

    /// Goes to deflection `x` in steps that are not too long; returns whether it converged.
    fn go_to(&mut self, x: f64) -> bool {
        let longest = LONGEST_WAY * self.plates.travel;
        let count = ((x - self.deflection) / longest).ceil().max(1.0);
        let (from, way) = (self.deflection, (x - self.deflection) / count);
        let mut k = 1.0;
        while k < count {
            self.advance(from + way * k, MOST_HALVINGS);
            k += 1.0;
        }
        x == self.deflection && self.steps == 0 || self.advance(x, MOST_HALVINGS)
    }

    /// The free arm and its slopes where no node touches but `held`; none where the stiffness matrix is singular.
    pub fn untouched(&mut self, held: Option<usize>) -> Option<Snapshot<'_>> {
        self.contacts.fill(Contact::None);
        if let Some(node) = held {
            self.contacts[node] = Contact::Base;
        }
        (self.factorise() && self.follow()).then(|| self.show(true))
    }

    /// Factorises the tangent at the present contacts, as far as it or they have changed.
    pub(super) fn factorise(&mut self) -> bool {
        let last = self.state.len() - 1;
        let from = if self.tangent_changed {
            last
        } else {
            let changed = |node: &usize| self.contacts[*node] != self.factorised[*node];
            match (1..last).rev().find(changed) {
                Some(node) => node,
                None => return true,
            }
        };
        self.factorised.copy_from_slice(&self.contacts);
        let regular = self.tangent.factorise(&self.contacts, &self.misfit_by_height, from);
        self.tangent_changed = !regular;
        regular
    }

    /// Goes to `x`, in halves where it does not converge at once.
    fn advance(&mut self, x: f64, halvings: usize) -> bool {
        let mut saved = self.save();
        let converged = self.advance_from(&mut saved, x, halvings);
        self.spare.push(saved);
        converged
    }

    /// The present state, to come back to.
    fn save(&mut self) -> Saved {
        let mut saved = self.spare.pop().unwrap_or_default();
        saved.deflection = self.deflection;
        saved.state.clone_from(&self.state);
        saved.slope.clone_from(&self.slope);
        saved.contacts.clone_from(&self.contacts);
        saved
    }

    /// Keeps what the next guess needs of the way from a state to the one at `x`.
    fn passed(&mut self, saved: &mut Saved, x: f64) {
        self.fronts.keep(x, &self.contacts);
        // a contact that has changed is a kink in the slopes
        self.run_before = if saved.contacts == self.contacts { x - saved.deflection } else { 0.0 };
        std::mem::swap(&mut self.slope_before, &mut saved.slope);
    }

    /// The same from the present state, which is kept in `saved`.
    fn advance_from(&mut self, saved: &mut Saved, x: f64, halvings: usize) -> bool {
        self.fronts.guess(x, &saved.contacts, &mut self.contacts);
        let mut converged = self.jump(x);
        if !converged {
            self.restore(saved);
            converged = self.settle(x);
        }
        if converged {
            self.passed(saved, x);
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

    /// Newton's steps from a guess of the state at `x`, with the present contacts as a guess of those there.
    fn jump(&mut self, x: f64) -> bool {
        if self.plane.is_some() {
            self.extrapolate(x);
        }
        for _ in 0..MOST_JUMPS {
            self.steps += 1;
            let Some(change) = self.jump_to(x) else { return false };
            self.prescribe();
            self.linearise();
            let close = change <= SETTLED * self.plates.travel
                || change <= SETTLED_IN_BALANCE * self.plates.travel && self.balances()
                || self.plane.is_none() && self.unbalanced(&self.residual) <= RESTS * self.force().abs();
            if close && !self.pulls() {
                // in small slopes the next guess does not need the slopes
                return self.plane.is_none() || self.follow();
            }
            if change.is_nan() || change > self.plates.travel {
                return false;
            }
        }
        false
    }

    /// Moves the state on to `x` along its slopes.
    fn extrapolate(&mut self, x: f64) {
        let run = x - self.deflection;
        let near = run < FARTHEST * self.run_before;
        let bend = if near { 0.5 * run * run / self.run_before } else { 0.0 };
        for ((state, slope), before) in self.state.iter_mut().zip(&self.slope).zip(&self.slope_before) {
            *state += run * slope + bend * (slope - before);
        }
        self.deflection = x;
        self.linearise();
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
        let tilted = self.tilt.map_or(0.0, |[px, py]| hub[1] * py - hub[2] * px);
        hub[0] = tilted - x;
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
        let Some(plane) = &self.plane else { return misfit };
        for (k, climb) in plane.piece_slopes.iter().enumerate() {
            let node = self.chain.first + k;
            let rise = self.slope[node + 1][0] - self.slope[node][0];
            if rise != 0.0 {
                let force = -self.by_stretch[k] * rise / (climb.length * climb.length);
                self.work[node][0] -= force;
                self.work[node + 1][0] += force;
            }
        }
        for node in 0..self.state.len() {
            misfit += self.slope[node][0] * self.misfit_by_height[node];
        }
        let redundant = -(self.axis_stiffness * misfit);
        for node in 0..self.state.len() {
            self.work[node][0] -= self.misfit_by_height[node].dot(&redundant);
        }
        redundant
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
        self.redundant_slope = self.tangent_forces();
        let mut before = f64::INFINITY;
        for _ in 0..MOST_ROUNDS {
            for (column, work) in self.column.iter_mut().zip(&self.work) {
                *column = -work;
            }
            self.tangent.solve(&mut self.column);
            for (slope, column) in self.slope.iter_mut().zip(&self.column).skip(1) {
                *slope += column;
            }
            self.redundant_slope = self.tangent_forces();
            let unbalanced = self.unbalanced(&self.work) / self.work[last][0].abs();
            if unbalanced <= BALANCED || unbalanced > 0.1 * before {
                break;
            }
            before = unbalanced;
        }
        self.followed = self.slope.iter().all(|node| node.iter().all(|v| v.is_finite()));
        self.followed
    }

    /// Largest force on what is free to move (N); a moment counts as the force that makes it over a piece.
    pub(super) fn unbalanced(&self, forces: &[Deviation]) -> f64 {
        let lever = self.chain.length() / self.chain.pieces.len() as f64;
        let mut largest: f64 = 0.0;
        for (node, force) in forces.iter().enumerate().take(forces.len() - 1).skip(1) {
            let mut force = *force;
            if self.contacts[node] != Contact::None {
                force -= force[0] * row(self.plates.line[node]);
            }
            largest = largest.max(force[0].abs()).max(force[1].abs().max(force[2].abs()) / lever);
        }
        largest
    }

    /// Works out what is shown of a state.
    fn show(&mut self, converged: bool) -> Snapshot<'_> {
        let last = self.state.len() - 1;
        if !self.followed {
            self.redundant_slope = self.tangent_forces();
        }
        let mut force = Affine { value: self.force(), slope: -self.work[last][0] };
        for node in 0..=last {
            let touches = node > 0 && node < last && self.contacts[node] != Contact::None;
            self.reaction[node] = if touches { self.residual[node][0] } else { 0.0 };
            self.reaction_slope[node] = if touches { self.work[node][0] } else { 0.0 };
            if self.contacts[node] == Contact::Upper {
                force.slope -= self.reaction_slope[node];
            }
        }
        Snapshot {
            deflection: self.deflection,
            force,
            state: &self.state,
            slope: &self.slope,
            contacts: &self.contacts,
            plane: self.plane.as_ref(),
            redundant: self.redundant,
            redundant_slope: self.redundant_slope,
            reaction: &self.reaction,
            reaction_slope: &self.reaction_slope,
            hub_force: Affine { value: self.residual[last][0], slope: self.work[last][0] },
            converged,
        }
    }
}
