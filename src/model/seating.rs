//! How the arm comes to rest on the plates: the exact path of contacts over the deflection.
//!
//! At each deflection x the deviations minimise a strictly convex energy under `0 ≤ z` (base) and, between plates,
//! `z ≤ z_hub`. Its solution is piecewise linear in x. The path is followed from event to event (a node lands or
//! leaves), one exchange at a time: parametric principal pivoting for a linear complementarity problem (Cottle, Pang &
//! Stone, The Linear Complementarity Problem, section 4.5). Where several nodes are at their limits at once, the least
//! index that would violate is exchanged first (Murty's rule, Opsearch 11, 1974), which provably ends because the
//! condensed matrix is positive definite.
//!
//! Between events only the surroundings of contact ends are looked at; every `FULL_LOOK`-th part of the arm's events,
//! and at every deflection asked for, all conditions are checked. A violation found there sends the path back to the
//! last state that passed, to go on looking at every node at every event.

use super::condensation::{Affine, Condensation, Contact, Motion};

/// Nodes on either side of a contact's end that are looked at after every event. More costs time, fewer costs
/// returns to the last full look.
const NEAR: usize = 12;

/// Full looks over one sweep of as many events as the arm has nodes.
const FULL_LOOKS: usize = 16;

/// Exchanges at one deflection after which the path gives up, in units of the number of nodes. Murty's rule ends in
/// far fewer; only lost digits can reach this.
const MOST_EXCHANGES: usize = 8;

/// Where the force's slope changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot {
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm (N)
    pub force: f64,
    /// rate of one arm from here on (N/mm)
    pub rate: f64,
}

/// What the path found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Path {
    /// the piecewise-linear curve of one arm
    pub knots: Vec<Knot>,
    /// exchanges made
    pub exchanges: usize,
    /// times the path went back to look at every node
    pub returns: usize,
}

/// Why a path could not be followed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SeatingError {
    /// The numbers ran out of digits.
    #[error(
        "the seating did not settle at a deflection of {deflection_mm} mm after {exchanges} exchanges; use fewer \
         segments or check the arm for extreme widths"
    )]
    Lost {
        /// where (mm)
        deflection_mm: f64,
        /// exchanges tried there
        exchanges: usize,
    },
}

/// What may touch what, and how exactly it is judged.
#[derive(Debug, Clone)]
pub struct Plates {
    /// free height of every node (mm)
    pub free_height: Vec<f64>,
    /// rise of the hub (mm)
    pub travel: f64,
    /// whether an upper plate moves with the hub
    pub upper: bool,
    /// gap below which a node counts as touching (mm)
    pub gap_tolerance: f64,
    /// force below which a touching node counts as leaving (N)
    pub force_tolerance: f64,
}

/// A condition of one node that must stay at or above zero, and the contact that follows when it does not.
#[derive(Debug, Clone, Copy)]
struct Condition {
    node: usize,
    margin: Affine,
    tolerance: f64,
    next: Contact,
}

/// Follows the seating of one arm up to the last of the deflections asked for.
pub struct Seating<'a> {
    tree: &'a mut Condensation,
    plates: &'a Plates,
    path: Path,
    /// nodes after which the contact changes
    ends: Vec<usize>,
    exhaustive_until: f64,
    /// deflection, contacts and number of knots at the last full look
    checkpoint: (f64, Vec<Contact>, usize),
}

/// State at a deflection that was asked for.
pub struct Stop<'a> {
    /// which of the deflections asked for
    pub index: usize,
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm with its slope (N, N/mm)
    pub force: Affine,
    /// the condensed arm, contacts set
    pub tree: &'a mut Condensation,
}

impl<'a> Seating<'a> {
    /// Starts with no contact at zero deflection.
    pub fn new(tree: &'a mut Condensation, plates: &'a Plates) -> Self {
        let contacts = tree.contacts().to_vec();
        Self {
            tree,
            plates,
            path: Path::default(),
            ends: Vec::new(),
            exhaustive_until: 0.0,
            checkpoint: (0.0, contacts, 0),
        }
    }

    /// Follows the path through `stops` (mm, increasing) and shows the state at each.
    pub fn follow(mut self, stops: &[f64], mut show: impl FnMut(Stop)) -> Result<Path, SeatingError> {
        let mut x = 0.0;
        let mut next_stop = 0;
        let nodes = self.tree.elements();
        let look_every = (nodes / FULL_LOOKS).max(8);
        let mut since_look = usize::MAX;
        let mut exchanges_here = 0;
        while next_stop < stops.len() {
            let (hub, force) = self.tree.hub(x);
            let full = since_look >= look_every || x <= self.exhaustive_until || self.ends.is_empty();
            let outlook = self.look(x, &hub, full);
            if outlook.violated && x > self.exhaustive_until {
                // something happened unseen since the last full look: go back and watch every node
                self.exhaustive_until = x;
                let (back, contacts, knots) = self.checkpoint.clone();
                x = back;
                self.tree.set_contacts(&contacts);
                self.path.knots.truncate(knots);
                self.path.returns += 1;
                self.find_ends();
                since_look = usize::MAX;
                continue;
            }
            if let Some(condition) = outlook.exchange {
                exchanges_here += 1;
                if exchanges_here > MOST_EXCHANGES * (nodes + 8) {
                    return Err(SeatingError::Lost { deflection_mm: x, exchanges: exchanges_here });
                }
                self.exchange(condition);
                since_look = since_look.saturating_add(1);
                continue;
            }
            if full {
                self.checkpoint = (x, self.tree.contacts().to_vec(), self.path.knots.len());
                since_look = 0;
            }
            self.add_knot(x, force);
            let event = outlook.event.filter(|(at, _)| *at < stops[next_stop]);
            match event {
                Some((at, condition)) => {
                    if at > x {
                        exchanges_here = 0;
                    }
                    x = at;
                    self.exchange(condition);
                    since_look = since_look.saturating_add(1);
                }
                None if full => {
                    x = stops[next_stop];
                    let (_, force) = self.tree.hub(x);
                    show(Stop { index: next_stop, deflection: x, force, tree: self.tree });
                    next_stop += 1;
                    exchanges_here = 0;
                }
                // a stop ahead: look at every node from here before going there
                None => since_look = usize::MAX,
            }
        }
        if let Some(&last) = stops.last() {
            let (_, force) = self.tree.hub(last);
            self.add_knot(last, force);
        }
        Ok(self.path)
    }

    fn add_knot(&mut self, x: f64, force: Affine) {
        let knot = Knot { deflection: x, force: force.value, rate: force.slope };
        match self.path.knots.last_mut() {
            Some(last) if last.deflection == x => *last = knot,
            _ => self.path.knots.push(knot),
        }
    }

    fn exchange(&mut self, condition: Condition) {
        self.tree.set_contact(condition.node, condition.next);
        self.path.exchanges += 1;
        self.find_ends();
    }

    fn find_ends(&mut self) {
        let contacts = self.tree.contacts();
        self.ends.clear();
        for node in 1..contacts.len() {
            if contacts[node] != contacts[node - 1] {
                self.ends.push(node);
            }
        }
    }

    /// Looks at the conditions from the current deflection onwards.
    fn look(&self, x: f64, hub: &Motion, full: bool) -> Outlook {
        let ends = &self.ends;
        let near = |low: usize, high: usize| {
            let place = ends.partition_point(|&end| end + NEAR < low);
            full || ends.get(place).is_some_and(|&end| end <= high + NEAR)
        };
        let mut outlook = Outlook::default();
        self.tree.visit(x, hub, &near, &mut |node, motion, reaction| {
            for condition in self.conditions(node, x, motion, reaction).into_iter().flatten() {
                outlook.weigh(condition, x);
            }
        });
        outlook
    }

    fn conditions(&self, node: usize, x: f64, motion: &Motion, reaction: Affine) -> [Option<Condition>; 2] {
        let plates = self.plates;
        let held = |margin: Affine| Condition {
            node,
            margin,
            tolerance: plates.force_tolerance,
            next: Contact::None,
        };
        match self.tree.contacts()[node] {
            Contact::Base => [Some(held(reaction)), None],
            Contact::Upper => {
                [Some(held(Affine { value: -reaction.value, slope: -reaction.slope })), None]
            }
            Contact::None => {
                let height =
                    Affine { value: plates.free_height[node] + motion.value[0], slope: motion.slope[0] };
                let gap = |margin, next| Condition { node, margin, tolerance: plates.gap_tolerance, next };
                let above = Affine { value: plates.travel - x - height.value, slope: -1.0 - height.slope };
                [
                    Some(gap(height, Contact::Base)),
                    plates.upper.then(|| gap(above, Contact::Upper)),
                ]
            }
        }
    }
}

/// What the conditions say about the way ahead.
#[derive(Debug, Default)]
struct Outlook {
    /// a condition well below zero already
    violated: bool,
    /// at its limit and about to be violated: the least node
    exchange: Option<Condition>,
    /// where the next condition reaches zero
    event: Option<(f64, Condition)>,
}

/// Slope, relative to one per mm of deflection, below which a margin counts as standing still.
const STANDING: f64 = 1e-13;

impl Outlook {
    fn weigh(&mut self, condition: Condition, x: f64) {
        let Affine { value, slope } = condition.margin;
        let scale = if condition.next == Contact::None { condition.tolerance * 1e9 } else { 1.0 };
        if value < -1e3 * condition.tolerance {
            self.violated = true;
        }
        if slope >= -STANDING * scale {
            return;
        }
        if value <= condition.tolerance {
            if self.exchange.is_none_or(|other| condition.node < other.node) {
                self.exchange = Some(condition);
            }
            return;
        }
        let at = x - value / slope;
        if self.event.is_none_or(|(other, held)| at < other || at == other && condition.node < held.node) {
            self.event = Some((at, condition));
        }
    }
}
