//! Seating of the arm on the plates: the exact path of contacts over the deflection.
//!
//! At each deflection x the deviations minimise a strictly convex energy under `0 ≤ z` (base) and, between plates,
//! `z ≤ z_hub`. Its solution is piecewise linear in x. The path is followed from event to event (a node lands or
//! leaves): parametric principal pivoting for a linear complementarity problem (Cottle, Pang & Stone, The Linear
//! Complementarity Problem, section 4.5). Where several nodes are at their limits at once, the next direction is the
//! minimum of a strictly convex quadratic in the nodes' speeds that must not be negative: a primal active-set method
//! whose objective falls with every release finds it (Lawson & Hanson, Solving Least Squares Problems, chapter 23).
//!
//! In exact arithmetic this ends: every set of contacts belongs to one interval of deflections, so that none repeats,
//! nor does one of the active-set method, whose objective only falls. In floating point every loop has a bound, and a
//! path that reaches one is reported as not converged.
//!
//! Between events only the surroundings of contact ends are checked; every `FULL_LOOK`-th part of the arm's events, and
//! at every deflection asked for, all conditions are checked. After a violation the path returns to the last state that
//! passed and checks every node at every event.

use super::chain::Chain;
use super::condensation::{Affine, Condensation, Contact, Motion};
use super::element::Deviation;
use super::touch::rise;

/// Nodes on either side of a contact's end that are checked after every event. More of them take time, fewer cause
/// returns to the last full check.
const NEAR: usize = 12;

/// Full checks over one sweep of as many events as the arm has nodes.
const FULL_LOOKS: usize = 16;

/// Rounds of plain exchanges at one deflection before the active-set method takes over.
const PLAIN_ROUNDS: usize = 4;

/// Rounds of exchanges at one deflection after which the path ends without convergence. Only rounding can cause this.
const MOST_ROUNDS: usize = 40;

/// Deflection at which the slope of the force changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot {
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm (N)
    pub force: f64,
    /// rate of one arm from here on (N/mm)
    pub rate: f64,
}

/// Record of the contact iteration along the deflection path.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Path {
    /// the piecewise-linear curve of one arm
    pub knots: Vec<Knot>,
    /// exchanges made
    pub exchanges: usize,
}

impl Path {
    /// Force of one arm at a deflection (N); zero before the path begins.
    pub fn force_at(&self, deflection: f64) -> f64 {
        let after = self.knots.partition_point(|knot| knot.deflection <= deflection);
        let knot = after.checked_sub(1).and_then(|before| self.knots.get(before));
        knot.map_or(0.0, |knot| knot.force + knot.rate * (deflection - knot.deflection))
    }
}

/// Errors of following a path.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SeatingError {
    /// No convergence, through rounding.
    #[error(
        "the seating did not converge at a deflection of {deflection_mm} mm after {exchanges} exchanges; use fewer \
         segments or check the arm for extreme widths"
    )]
    Lost {
        /// where (mm)
        deflection_mm: f64,
        /// exchanges tried there
        exchanges: usize,
    },
    /// A stiffness matrix on the way had no inverse.
    #[error(
        "a stiffness matrix of the arm is singular at a deflection of {deflection_mm} mm; check widths, thickness and \
         moduli for a wrong unit"
    )]
    Singular {
        /// where (mm)
        deflection_mm: f64,
    },
}

/// Possible contacts of the nodes and the tolerances that decide them.
#[derive(Debug, Clone)]
pub struct Plates {
    /// free height of every node (mm)
    pub free_height: Vec<f64>,
    /// from the centre line of every node to where its section touches a plate (mm)
    pub line: Vec<[f64; 2]>,
    /// rise of the hub (mm)
    pub travel: f64,
    /// whether an upper plate moves with the hub
    pub upper: bool,
    /// gap below which a node counts as touching (mm)
    pub gap_tolerance: f64,
    /// force below which a touching node counts as leaving (N)
    pub force_tolerance: f64,
}

impl Plates {
    /// Plates for a chain.
    pub fn new(chain: &Chain, upper: bool) -> Self {
        let (elements, travel) = (&chain.elements, chain.travel());
        // a contact force is a difference of terms as large as the stiffest piece moved by the whole travel
        let stiffest = elements
            .iter()
            .filter(|element| !element.is_root())
            .map(|element| element.stiffness[2] / element.length.powi(2))
            .fold(0.0, f64::max);
        Self {
            free_height: chain.free_height.clone(),
            line: chain.line.clone(),
            travel,
            upper,
            gap_tolerance: 1e-12 * travel,
            force_tolerance: 64.0 * f64::EPSILON * stiffest * travel,
        }
    }

    /// Height of the touching line above the base (mm).
    pub fn height(&self, node: usize, deviation: &Deviation) -> f64 {
        self.free_height[node] + self.rise(node, deviation)
    }

    /// Rise of the touching line for a motion of its node (mm).
    pub fn rise(&self, node: usize, motion: &Deviation) -> f64 {
        rise(self.line[node], motion)
    }
}

/// A condition of one node that must stay at or above zero, and the contact that follows when it does not.
#[derive(Debug, Clone, Copy)]
struct Condition {
    node: usize,
    margin: Affine,
    tolerance: f64,
    /// fall per deflection below which the margin stands still
    standing: f64,
    next: Contact,
}

/// A node at its limit: gap and contact force both vanish.
#[derive(Debug, Clone, Copy)]
struct Limit {
    node: usize,
    /// contact when seated
    seated: Contact,
    /// rate at which its gap opens
    speed: f64,
    free: bool,
}

/// Follows the seating of one arm up to the last of the deflections asked for.
pub struct Seating<'a> {
    tree: &'a mut Condensation,
    plates: &'a Plates,
    path: Path,
    /// nodes after which the contact changes
    ends: Vec<usize>,
    start: f64,
    exhaustive_until: f64,
    /// the last full check
    checkpoint: Checkpoint,
    ahead: WayAhead,
}

/// A deflection at which every condition held.
#[derive(Debug)]
struct Checkpoint {
    deflection: f64,
    contacts: Vec<Contact>,
    /// number of knots up to here
    knots: usize,
}

/// State at a deflection that was asked for.
pub struct Stop<'a> {
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
        Self::from(tree, plates, 0.0)
    }

    /// Starts at the deflection `start` (mm), at which the tree's contacts are those of rest.
    pub fn from(tree: &'a mut Condensation, plates: &'a Plates, start: f64) -> Self {
        let contacts = tree.contacts().to_vec();
        Self {
            tree,
            plates,
            path: Path::default(),
            ends: Vec::new(),
            start,
            exhaustive_until: 0.0,
            checkpoint: Checkpoint { deflection: start, contacts, knots: 0 },
            ahead: WayAhead::default(),
        }
    }

    /// Follows the path through `stops` (mm, increasing) and shows the state at each.
    pub fn follow(mut self, stops: &[f64], mut show: impl FnMut(Stop)) -> Result<Path, SeatingError> {
        let mut x = self.start;
        let mut next_stop = 0;
        self.find_ends();
        let nodes = self.tree.elements();
        let look_every = (nodes / FULL_LOOKS).max(8);
        let mut since_look = usize::MAX;
        let mut rounds = 0;
        while next_stop < stops.len() {
            let (hub, force) = self.tree.hub(x);
            let full = since_look >= look_every || x <= self.exhaustive_until || self.ends.is_empty();
            self.look(x, &hub, full);
            if self.ahead.violated && x > self.exhaustive_until {
                // an event was missed since the last full check: return and check every node
                self.exhaustive_until = x;
                x = self.checkpoint.deflection;
                self.tree.set_contacts(&self.checkpoint.contacts);
                self.path.knots.truncate(self.checkpoint.knots);
                self.find_ends();
                since_look = usize::MAX;
                continue;
            }
            if !self.ahead.exchange.is_empty() {
                rounds += 1;
                if rounds > MOST_ROUNDS {
                    return Err(SeatingError::Lost { deflection_mm: x, exchanges: self.path.exchanges });
                }
                if rounds > PLAIN_ROUNDS {
                    self.resolve(x);
                    since_look = usize::MAX;
                } else {
                    for k in 0..self.ahead.exchange.len() {
                        self.exchange(self.ahead.exchange[k]);
                    }
                    since_look = since_look.saturating_add(self.ahead.exchange.len());
                }
                continue;
            }
            if full {
                self.checkpoint.deflection = x;
                self.checkpoint.contacts.copy_from_slice(self.tree.contacts());
                self.checkpoint.knots = self.path.knots.len();
                since_look = 0;
            }
            self.add_knot(x, force);
            let event = self.ahead.event.filter(|(at, _)| *at < stops[next_stop]);
            match event {
                Some((at, condition)) => {
                    // an event so near that the deflection does not change is one more exchange here
                    rounds = if at > x { 0 } else { rounds + 1 };
                    if rounds > MOST_ROUNDS + nodes {
                        return Err(SeatingError::Lost { deflection_mm: x, exchanges: self.path.exchanges });
                    }
                    x = at;
                    self.exchange(condition);
                    since_look = since_look.saturating_add(1);
                }
                None if full => {
                    x = stops[next_stop];
                    if self.tree.is_singular() {
                        return Err(SeatingError::Singular { deflection_mm: x });
                    }
                    let (_, force) = self.tree.hub(x);
                    show(Stop { deflection: x, force, tree: self.tree });
                    next_stop += 1;
                    rounds = 0;
                }
                // a stop ahead: check every node from here before going there
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
        self.mend_ends(condition.node);
    }

    /// Finds the contacts with which the nodes at their limits move on from deflection `x`.
    ///
    /// The speeds v of their gaps minimise the energy's second variation under v ≥ 0. Starting from all of them seated,
    /// the node whose contact force would fall fastest is released; nodes that would then sink are seated again on the
    /// way to the new minimum.
    fn resolve(&mut self, x: f64) {
        let mut limits: Vec<Limit> = Vec::new();
        let (hub, _) = self.tree.hub(x);
        self.tree.visit(x, &hub, &|_, _| true, &mut |node, motion, reaction| {
            for condition in self.conditions(node, x, motion, reaction).into_iter().flatten() {
                if condition.margin.value <= condition.tolerance {
                    let seated = match condition.next {
                        Contact::None => self.tree.contacts()[node],
                        contact => contact,
                    };
                    limits.push(Limit { node, seated, speed: 0.0, free: false });
                }
            }
        });
        limits.sort_by_key(|limit| limit.node);
        limits.dedup_by_key(|limit| limit.node);
        for limit in &limits {
            self.tree.set_contact(limit.node, limit.seated);
        }
        for _ in 0..3 * limits.len() + 10 {
            let slopes = self.limit_slopes(x, &limits);
            let falling = (0..limits.len())
                .filter(|&k| !limits[k].free && slopes[k] < -self.plates.force_tolerance / self.plates.travel)
                .min_by(|&a, &b| slopes[a].total_cmp(&slopes[b]));
            let Some(released) = falling else { break };
            limits[released].free = true;
            self.tree.set_contact(limits[released].node, Contact::None);
            self.path.exchanges += 1;
            loop {
                let wanted = self.limit_slopes(x, &limits);
                let share = (0..limits.len())
                    .filter(|&k| limits[k].free && wanted[k] < -STANDING_GAP)
                    .map(|k| limits[k].speed / (limits[k].speed - wanted[k]))
                    .fold(f64::INFINITY, f64::min);
                let blocked = share.is_finite();
                let share = share.min(1.0);
                for (limit, wanted) in limits.iter_mut().zip(&wanted).filter(|(limit, _)| limit.free) {
                    let speed = limit.speed + share * (wanted - limit.speed);
                    if blocked && *wanted < -STANDING_GAP && speed <= STANDING_GAP {
                        limit.free = false;
                        limit.speed = 0.0;
                        self.tree.set_contact(limit.node, limit.seated);
                        self.path.exchanges += 1;
                    } else {
                        limit.speed = speed.max(0.0);
                    }
                }
                if !blocked {
                    break;
                }
            }
        }
        self.find_ends();
    }

    /// For nodes at their limits: rate at which the gap of a free one opens, or the force of a seated one grows.
    fn limit_slopes(&mut self, x: f64, limits: &[Limit]) -> Vec<f64> {
        let (hub, _) = self.tree.hub(x);
        let mut slopes = vec![0.0; limits.len()];
        self.tree.visit(x, &hub, &|_, _| true, &mut |node, motion, reaction| {
            if let Ok(k) = limits.binary_search_by_key(&node, |limit| limit.node) {
                let upper = limits[k].seated == Contact::Upper;
                slopes[k] = match (limits[k].free, upper) {
                    (true, false) => self.plates.rise(node, &motion.slope),
                    (true, true) => -1.0 - self.plates.rise(node, &motion.slope),
                    (false, false) => reaction.slope,
                    (false, true) => -reaction.slope,
                };
            }
        });
        slopes
    }

    /// Mends the ends around a node whose contact has changed.
    fn mend_ends(&mut self, node: usize) {
        let contacts = self.tree.contacts();
        for place in node.max(1)..(node + 2).min(contacts.len()) {
            let is_end = contacts[place] != contacts[place - 1];
            match self.ends.binary_search(&place) {
                Ok(k) if !is_end => _ = self.ends.remove(k),
                Err(k) if is_end => self.ends.insert(k, place),
                _ => {}
            }
        }
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

    /// Checks the conditions from the current deflection onwards.
    fn look(&mut self, x: f64, hub: &Motion, full: bool) {
        let mut ahead = std::mem::take(&mut self.ahead);
        ahead.clear();
        let ends = &self.ends;
        let near = |low: usize, high: usize| {
            let place = ends.partition_point(|&end| end + NEAR < low);
            full || ends.get(place).is_some_and(|&end| end <= high + NEAR)
        };
        self.tree.visit(x, hub, &near, &mut |node, motion, reaction| {
            for condition in self.conditions(node, x, motion, reaction).into_iter().flatten() {
                ahead.weigh(condition, x);
            }
        });
        self.ahead = ahead;
    }

    fn conditions(&self, node: usize, x: f64, motion: &Motion, reaction: Affine) -> [Option<Condition>; 2] {
        let plates = self.plates;
        let held = |margin: Affine| Condition {
            node,
            margin,
            tolerance: plates.force_tolerance,
            // over the whole travel no more than the tolerance itself
            standing: plates.force_tolerance / plates.travel,
            next: Contact::None,
        };
        match self.tree.contacts()[node] {
            Contact::Base => [Some(held(reaction)), None],
            Contact::Upper => [Some(held(Affine { value: -reaction.value, slope: -reaction.slope })), None],
            Contact::None => {
                let height = Affine {
                    value: plates.height(node, &motion.value),
                    slope: plates.rise(node, &motion.slope),
                };
                let gap = |margin, next| Condition {
                    node,
                    margin,
                    tolerance: plates.gap_tolerance,
                    standing: STANDING_GAP,
                    next,
                };
                let above = Affine { value: plates.travel - x - height.value, slope: -1.0 - height.slope };
                [Some(gap(height, Contact::Base)), plates.upper.then(|| gap(above, Contact::Upper))]
            }
        }
    }
}

/// Contact conditions ahead of the present state.
#[derive(Debug, Default)]
struct WayAhead {
    /// a condition well below zero already
    violated: bool,
    /// at their limits and about to be violated
    exchange: Vec<Condition>,
    /// where the next condition reaches zero
    event: Option<(f64, Condition)>,
}

/// Fall of a gap per deflection below which it counts as standing still: over the whole travel less than 1e-9 mm.
pub(super) const STANDING_GAP: f64 = 1e-11;

impl WayAhead {
    fn clear(&mut self) {
        self.violated = false;
        self.exchange.clear();
        self.event = None;
    }

    fn weigh(&mut self, condition: Condition, x: f64) {
        let Affine { value, slope } = condition.margin;
        if value < -1e3 * condition.tolerance {
            self.violated = true;
        }
        if slope >= -condition.standing {
            return;
        }
        if value <= condition.tolerance {
            self.exchange.push(condition);
            return;
        }
        let at = x - value / slope;
        if self.event.is_none_or(|(other, held)| at < other || at == other && condition.node < held.node) {
            self.event = Some((at, condition));
        }
    }
}
