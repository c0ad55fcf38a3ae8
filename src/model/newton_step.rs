//! One Newton step of an arm with in-plane stiffness: the equilibrium predicted by the tangent, contacts included.
//!
//! The step's quadratic programme is strictly convex wherever the tangent is positive definite, and has one solution
//! then. It is looked for in two ways. [`Equilibrium::jump_to`] goes there at once: contacts are guessed and corrected
//! by the active set. [`Equilibrium::follow_to`] goes there along a straight line, on which deflection and residual go
//! to their ends and contacts are followed from event to event: a parametric active-set method (Best, An Algorithm for
//! the Solution of the Parametric Quadratic Programming Problem, 1996; Ferreau, Bock & Diehl, Int. J. Robust Nonlinear
//! Control 18, 2008). It costs one solution an event, but can leave a state where the tangent is not positive definite.

use nalgebra::{Vector2, Vector3};

use super::contact::{Contact, row};
use super::element::Deviation;
use super::equilibrium::Equilibrium;

/// Shares of the softening part of the in-plane stiffness to try until the energy is convex. Less than all of it makes
/// steps shorter. Each step begins in a descent direction, but there is no proof that the energy ends lower, nor that
/// it leads to the equilibrium after a snap-through: that depends on the motion in time.
const SOFTENING: [f64; 4] = [1.0, 0.9, 0.6, 0.0];
/// Change of a gap over a step, in units of the travel, that counts as none.
const STANDING_GAP: f64 = 1e-13;
/// Residual tolerance of a force, in units of the least force that separates contact from no contact.
const LAST_DIGITS: f64 = 64.0;
/// Events closer together than this part of a step are one: the node with the lowest number goes first, which cannot
/// cycle (Murty's rule; Cottle, Pang & Stone, The Linear Complementarity Problem, section 4.2).
const SAME_EVENT: f64 = 1e-12;

impl Equilibrium<'_> {
    /// One step to the deflection `x`, from contacts that are a guess. Returns the largest change of height (mm), or
    /// nothing where the tangent or the contacts do not allow it; state and contacts are then invalid.
    pub(super) fn jump_to(&mut self, x: f64) -> Option<f64> {
        let last = self.state.len() - 1;
        let (plates, rest) = (self.plates, x - self.deflection);
        self.set_tangent(1.0);
        let mut active = self.active.take()?;
        active.contacts.copy_from_slice(&self.contacts);
        let found = active.settle(plates, plates.travel - x, |active| {
            self.contacts.copy_from_slice(&active.contacts);
            if !self.factorise() {
                return false;
            }
            for node in 1..last {
                let contact = self.contacts[node];
                let z = plates.height(node, &self.state[node]);
                let to_plate = match contact {
                    Contact::None => 0.0,
                    Contact::Base => -z,
                    Contact::Upper => plates.travel - x - z,
                };
                self.change[node] = Vector3::new(to_plate, 0.0, 0.0);
            }
            self.change[last] = Vector3::new(-rest, 0.0, 0.0);
            self.shift.copy_from_slice(&self.residual);
            self.respond();
            for node in 1..last {
                active.height[node] = plates.height(node, &(self.state[node] + self.change[node]));
                let force = self.residual[node][0] + self.work[node][0];
                active.push[node] = match self.contacts[node] {
                    Contact::None => 0.0,
                    Contact::Base => force,
                    Contact::Upper => -force,
                };
            }
            true
        });
        self.active = Some(active);
        if !found || !self.tangent.is_positive_definite() {
            return None;
        }
        let mut largest: f64 = 0.0;
        for (state, change) in self.state.iter_mut().zip(&self.change).skip(1) {
            *state += change;
            largest = largest.max(change[0].abs());
        }
        self.deflection = x;
        Some(largest)
    }

    /// One step: takes the deflection to `x` and the residual to nothing along a straight line, and follows the
    /// contacts on it from event to event. Returns the largest change of height (mm).
    pub(super) fn follow_to(&mut self, x: f64) -> Option<f64> {
        let last = self.state.len() - 1;
        let mut rest = x - self.deflection;
        for node in 1..=last {
            self.shift[node] = self.residual[node];
            // a force that pulls already has to vanish with the rest of the residual
            let held = self.residual[node][0];
            let kept = match self.contacts[node] {
                Contact::None => continue,
                Contact::Base => held.max(0.0),
                Contact::Upper => held.min(0.0),
            };
            self.shift[node] -= kept * row(self.plates.line[node]);
        }
        let mut softening = SOFTENING.iter();
        self.turn(rest, false, &mut softening)?;
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
            self.turn(rest, true, &mut softening)?;
        }
        None
    }

    /// Finds the next direction at the present contacts, with the `same` tangent or a new one. Where the energy is not convex
    /// in what is free, its softening part is taken back until it is.
    fn turn(&mut self, rest: f64, mut same: bool, softening: &mut std::slice::Iter<f64>) -> Option<()> {
        loop {
            if !same {
                self.set_tangent(*softening.next()?);
            }
            if self.factorise() && self.tangent.is_positive_definite() {
                self.ahead(rest);
                return Some(());
            }
            same = false;
        }
    }

    /// The change over what is left of a step, into `change`, with what it does to the forces of touching nodes in
    /// `work`.
    fn ahead(&mut self, rest: f64) {
        let last = self.state.len() - 1;
        // hub and upper plate go down
        for node in 1..last {
            let upper = self.contacts[node] == Contact::Upper;
            self.change[node] = Vector3::new(if upper { -rest } else { 0.0 }, 0.0, 0.0);
        }
        self.change[last] = Vector3::new(-rest, 0.0, 0.0);
        self.respond();
    }

    /// Adds to the prescribed motions in `change` the response of the rest of the arm to them and to `shift`, and puts
    /// the change of the forces of touching nodes into `work`.
    fn respond(&mut self) {
        let last = self.state.len() - 1;
        let mut misfit = Vector2::zeros();
        for (change, border) in self.change.iter().zip(&self.misfit_by_height).skip(1) {
            misfit += change[0] * border;
        }
        let redundant = self.axis_stiffness * misfit;
        for node in 1..=last {
            let mut right = self.shift[node];
            right[0] += self.misfit_by_height[node].dot(&redundant);
            if self.change[node - 1..=(node + 1).min(last)].iter().any(|near| near[0] != 0.0) {
                right += self.tangent.row(node, &self.change);
            }
            self.column[node] = -right;
        }
        self.tangent.solve(&mut self.column);
        let mut misfit = Vector2::zeros();
        for node in 1..=last {
            self.change[node] += self.column[node];
            misfit += self.change[node][0] * self.misfit_by_height[node];
        }
        let redundant = self.axis_stiffness * misfit;
        for node in 1..last {
            if self.contacts[node] != Contact::None {
                self.work[node][0] =
                    self.misfit_by_height[node].dot(&redundant) + self.tangent.height_row(node, &self.change);
            }
        }
    }

    /// The chain's tangent at the present state, with that share of the softening part of the geometric stiffness.
    /// Without it the whole is positive definite in every state.
    pub(super) fn set_tangent(&mut self, softening: f64) {
        self.exact = softening == 1.0;
        let Some(plane) = &self.plane else { return };
        self.tangent_changed = true;
        let forces = self.by_stretch.iter().zip(&plane.piece_slopes).map(|(by_stretch, climb)| {
            // ∂²e/∂z′² = −1
            let force = -by_stretch / (climb.length * climb.length);
            if force < 0.0 { softening * force } else { force }
        });
        self.tangent.set_geometric(self.chain.first, forces);
    }

    /// The first node that lands or leaves on the rest of a step: the share of the step, and the new contact.
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
            match self.contacts[node] {
                Contact::None => {
                    let z = plates.height(node, &self.state[node]);
                    let change = plates.rise(node, &self.change[node]);
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

    /// Whether a plate pulls anywhere.
    pub(super) fn pulls(&self) -> bool {
        (1..self.state.len() - 1).any(|node| {
            let push = match self.contacts[node] {
                Contact::None => 0.0,
                Contact::Base => self.residual[node][0],
                Contact::Upper => -self.residual[node][0],
            };
            push < -10.0 * self.plates.force_tolerance
        })
    }

    /// Whether all forces and moments on free nodes vanish to the last digits.
    pub(super) fn balances(&self) -> bool {
        self.unbalanced(&self.residual) <= LAST_DIGITS * self.plates.force_tolerance
    }

    /// Residual and the terms of the tangent, at the present state.
    pub(super) fn linearise(&mut self) {
        self.followed = false;
        self.residual.fill(Deviation::zeros());
        for (i, element) in self.chain.elements.iter().enumerate() {
            let [a, b] = element.forces(&self.state[i], &self.state[i + 1]);
            self.residual[i] += a;
            self.residual[i + 1] += b;
        }
        let Some(plane) = &self.plane else { return };
        self.misfit_by_height.fill(Vector2::zeros());
        let first = self.chain.first;
        let mut misfit = Vector2::zeros();
        for (k, (piece, influence)) in plane.piece_slopes.iter().zip(&plane.influence).enumerate() {
            let node = first + k;
            let (climb, stretch) = piece.of(self.state[node + 1][0] - self.state[node][0]);
            misfit += stretch * influence;
            // ∂e/∂z_b = −z′/ℓ
            let by_height = influence * (climb / piece.length);
            self.misfit_by_height[node] += by_height;
            self.misfit_by_height[node + 1] -= by_height;
        }
        self.redundant = -(self.axis_stiffness * misfit);
        for (by_stretch, influence) in self.by_stretch.iter_mut().zip(&plane.influence) {
            *by_stretch = -influence.dot(&self.redundant);
        }
        for node in 1..self.state.len() {
            self.residual[node][0] -= self.misfit_by_height[node].dot(&self.redundant);
        }
    }
}
