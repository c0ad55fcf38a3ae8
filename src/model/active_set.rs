//! Contacts of the nodes in equilibrium at one deflection, from a guess.
//!
//! A strictly convex quadratic programme: the caller solves it with given nodes held at their plates, the active set says
//! which nodes those are. First all that penetrates or pulls is exchanged at once (a primal-dual active set;
//! Hintermüller, Ito & Kunisch, SIAM J. Optim. 13, 2002), which converges in a few rounds or cycles. What has not
//! converged then is left to the dual method of Goldfarb & Idnani (Math. Programming 27, 1983): no node ever pulls, the
//! deepest one is raised to its plate, and nodes whose force vanishes meanwhile are released. Its objective rises with
//! every node raised, so that no set repeats and it ends; the bound on its steps guards against rounding.

use super::contact::{Contact, Plates};

/// Rounds in which everything is exchanged at once. Most states need none or two; cycling shows within these.
const ROUNDS: usize = 8;

/// The nodes' contacts with the heights and forces that belong to them.
#[derive(Debug, Clone)]
pub struct ActiveSet {
    /// contact of every node
    pub contacts: Vec<Contact>,
    /// height of every node's touching line above the base (mm)
    pub height: Vec<f64>,
    /// force with which its plate pushes a touching node (N); zero elsewhere
    pub push: Vec<f64>,
    /// forces on the way to those
    held: Vec<f64>,
    changes: Vec<(usize, Contact)>,
}

impl ActiveSet {
    /// No contact at any of `nodes`.
    pub fn new(nodes: usize) -> Self {
        Self {
            contacts: vec![Contact::None; nodes],
            height: vec![0.0; nodes],
            push: vec![0.0; nodes],
            held: vec![0.0; nodes],
            changes: Vec::with_capacity(nodes),
        }
    }

    /// Finds the contacts in equilibrium between `plates` under a hub at height `ceiling` (mm). `solve` fills in
    /// heights and forces; it returns false where it cannot. Returns whether every condition holds.
    pub fn settle(
        &mut self,
        plates: &Plates,
        ceiling: f64,
        mut solve: impl FnMut(&mut Self) -> bool,
    ) -> bool {
        self.changes.clear();
        for _ in 0..=ROUNDS {
            if !self.apply(&mut solve) {
                return false;
            }
            self.list_exchanges(plates, ceiling);
            if self.changes.is_empty() {
                return true;
            }
        }
        self.raise(plates, ceiling, &mut solve)
    }

    /// Carries out the changes listed.
    fn apply(&mut self, solve: &mut impl FnMut(&mut Self) -> bool) -> bool {
        for &(node, contact) in &self.changes {
            self.contacts[node] = contact;
        }
        self.changes.clear();
        solve(self)
    }

    /// Goldfarb & Idnani's dual method from the present contacts.
    fn raise(&mut self, plates: &Plates, ceiling: f64, solve: &mut impl FnMut(&mut Self) -> bool) -> bool {
        let nodes = self.contacts.len();
        self.changes.clear();
        // a set in which nothing pulls to begin with
        loop {
            let pulling = (1..nodes - 1)
                .filter(|&node| self.push[node] < -plates.force_tolerance)
                .map(|node| (node, Contact::None));
            self.changes.extend(pulling);
            if self.changes.is_empty() {
                break;
            }
            if !self.apply(solve) {
                return false;
            }
        }
        for _ in 0..3 * nodes {
            let deepest = (1..nodes - 1)
                .filter_map(|node| {
                    self.below(node, plates, ceiling).map(|(gap, contact)| (gap, node, contact))
                })
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let Some((_, raised, contact)) = deepest else { return true };
            self.held.copy_from_slice(&self.push);
            self.changes.push((raised, contact));
            for _ in 0..nodes {
                if !self.apply(solve) {
                    return false;
                }
                // the first force to vanish on the way
                let vanishing = (1..nodes - 1)
                    .filter(|&node| node != raised && self.push[node] < -plates.force_tolerance)
                    .map(|node| {
                        let held = self.held[node].max(0.0);
                        (held / (held - self.push[node]), node)
                    })
                    .min_by(|a, b| a.0.total_cmp(&b.0));
                let Some((share, let_go)) = vanishing else { break };
                for (held, push) in self.held.iter_mut().zip(&self.push) {
                    *held += share * (push - *held);
                }
                self.held[let_go] = 0.0;
                self.changes.push((let_go, Contact::None));
            }
        }
        false
    }

    /// Depth of a free node below its plate, and that plate.
    fn below(&self, node: usize, plates: &Plates, ceiling: f64) -> Option<(f64, Contact)> {
        if self.contacts[node] != Contact::None {
            return None;
        }
        let z = self.height[node];
        if z < -plates.gap_tolerance {
            Some((z, Contact::Base))
        } else if plates.upper && ceiling - z < -plates.gap_tolerance {
            Some((ceiling - z, Contact::Upper))
        } else {
            None
        }
    }

    /// Lists what to exchange: every node that pulls, and of every stretch below a plate the deepest node. All of such
    /// a stretch would be too many, because the arm bends as it is held up.
    fn list_exchanges(&mut self, plates: &Plates, ceiling: f64) {
        let mut deepest: Option<(f64, usize, Contact)> = None;
        for node in 1..self.contacts.len() - 1 {
            if self.push[node] < -plates.force_tolerance {
                self.changes.push((node, Contact::None));
            }
            let below = self.below(node, plates, ceiling).map(|(gap, contact)| (gap, node, contact));
            deepest = match (deepest, below) {
                (Some(deepest), Some(below)) if deepest.2 == below.2 => {
                    Some(if below.0 < deepest.0 { below } else { deepest })
                }
                (deepest, below) => {
                    self.changes.extend(deepest.map(|(_, node, contact)| (node, contact)));
                    below
                }
            };
        }
        self.changes.extend(deepest.map(|(_, node, contact)| (node, contact)));
    }
}
