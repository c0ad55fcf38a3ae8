//! The arm condensed to its two ends, kept as a binary tree so that one node's change costs a logarithm.
//!
//! Every interior node is eliminated by exactly one tree node, which joins the interval on its left to the one on its
//! right. An interval without contact is a serial chain: its flexibilities add, `F = F_right + G F_left Gᵀ` with the
//! rigid transport G, and no digit is lost to rigid motion at any mesh size. An interval with contact has its seated
//! nodes' heights prescribed, affine in the deflection x, and is condensed as a stiffness.
//!
//! This is static condensation (Guyan, AIAA J. 3, 1965; exact here, without inertia) in nested-dissection order
//! (George, SIAM J. Numer. Anal. 10, 1973).

use nalgebra::{Matrix3, Matrix3x2, Vector3};

use super::chain::Chain;
use super::element::{Deviation, transport};
pub use super::touch::Contact;
use crate::numeric::invert_symmetric;

/// A quantity with its slope over the deflection.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Affine {
    /// value at the current deflection
    pub value: f64,
    /// slope per mm of deflection
    pub slope: f64,
}

/// A node's deviation with its slope over the deflection.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Motion {
    /// deviation at the current deflection
    pub value: Deviation,
    /// its slope per mm of deflection
    pub slope: Deviation,
}

/// Stiffness of an interval seen at its ends a and b, with the forces that prescribed heights inside it cause:
/// constant, and per deflection x. `xx` and `x1` are the deflection's own row.
#[derive(Debug, Clone, Copy, Default)]
struct CondensedEnds {
    aa: Matrix3<f64>,
    ab: Matrix3<f64>,
    bb: Matrix3<f64>,
    a_x: Vector3<f64>,
    a_1: Vector3<f64>,
    b_x: Vector3<f64>,
    b_1: Vector3<f64>,
    xx: f64,
    x1: f64,
}

#[derive(Debug, Clone, Copy, Default)]
struct Interval {
    /// an interval without contact is a chain
    chain: bool,
    flexibility: Matrix3<f64>,
    /// from end a to end b
    offset: [f64; 2],
    ends: CondensedEnds,
    /// for a chain: whether `ends` has been worked out
    ends_known: bool,
}

/// How the eliminated node follows the ends, and the row that gives its contact force.
#[derive(Debug, Clone, Copy, Default)]
struct Elimination {
    from_a: Matrix3<f64>,
    from_b: Matrix3<f64>,
    g_x: Vector3<f64>,
    g_1: Vector3<f64>,
    row_a: Vector3<f64>,
    row_m: Vector3<f64>,
    row_b: Vector3<f64>,
    row_x: f64,
    row_1: f64,
}

/// Links of a tree node to its children and parent; `low..high` are its elements.
#[derive(Debug, Clone, Copy, Default)]
struct Links {
    left: usize,
    right: usize,
    parent: usize,
    low: usize,
    high: usize,
}

/// Where there is no child or no parent.
const NO_LINK: usize = usize::MAX;

/// The tree over the elements of one arm. Node 0 is fixed, the last node is the hub's.
#[derive(Debug, Clone)]
pub struct Condensation {
    elements: usize,
    /// leaves first, then one interval for every interior node
    intervals: Vec<Interval>,
    eliminations: Vec<Elimination>,
    links: Vec<Links>,
    /// interior nodes, parents before children
    order: Vec<usize>,
    contact: Vec<Contact>,
    /// tree nodes that a change of contacts has to join again
    stale: Vec<bool>,
    free_height: Vec<f64>,
    /// from the centre line of every node to where its section touches a plate (mm)
    line: Vec<[f64; 2]>,
    travel: f64,
    /// position of the hub's node, where the hub may tilt
    tilt: Option<[f64; 2]>,
    root: usize,
    /// whether a matrix had no inverse since the last time that all of the tree was joined
    singular: bool,
}

impl Condensation {
    /// Builds the tree with no contact anywhere; `tilt` is the hub node's position where the hub may tilt freely about the
    /// axis.
    pub fn new(chain: &Chain, tilt: Option<[f64; 2]>) -> Self {
        let elements = &chain.elements;
        let count = elements.len();
        let mut tree = Self {
            elements: count,
            intervals: vec![Interval::default(); 2 * count],
            eliminations: vec![Elimination::default(); count],
            links: vec![Links { parent: NO_LINK, ..Links::default() }; 2 * count],
            order: Vec::with_capacity(count),
            contact: vec![Contact::None; count + 1],
            stale: vec![false; 2 * count],
            free_height: chain.free_height.clone(),
            line: chain.line.clone(),
            travel: chain.travel(),
            tilt,
            root: 0,
            singular: false,
        };
        for (leaf, element) in elements.iter().enumerate() {
            tree.intervals[leaf] = Interval {
                chain: true,
                flexibility: element.flexibility(),
                offset: [element.length * element.cosine, element.length * element.sine],
                ..Interval::default()
            };
        }
        tree.root = tree.split(0, count, NO_LINK);
        tree.rebuild();
        tree
    }

    /// Lays out the subtree over elements `low..high`; returns its interval's index.
    fn split(&mut self, low: usize, high: usize, parent: usize) -> usize {
        if high - low == 1 {
            self.links[low] = Links { left: NO_LINK, right: NO_LINK, parent, low, high };
            return low;
        }
        let node = low.midpoint(high);
        let index = self.elements + node;
        self.order.push(node);
        let left = self.split(low, node, index);
        let right = self.split(node, high, index);
        self.links[index] = Links { left, right, parent, low, high };
        index
    }

    /// Contacts of all nodes, in order.
    pub fn contacts(&self) -> &[Contact] {
        &self.contact
    }

    /// Whether a matrix had no inverse, so that motions and forces mean nothing.
    pub fn is_singular(&self) -> bool {
        self.singular
    }

    /// Number of elements.
    pub fn elements(&self) -> usize {
        self.elements
    }

    /// Sets all contacts at once.
    pub fn set_contacts(&mut self, contacts: &[Contact]) {
        self.contact.copy_from_slice(contacts);
        self.rebuild();
    }

    /// Changes one node's contact and everything above it in the tree.
    pub fn set_contact(&mut self, node: usize, contact: Contact) {
        self.contact[node] = contact;
        let mut index = self.elements + node;
        while index != NO_LINK {
            self.join(index - self.elements);
            index = self.links[index].parent;
        }
    }

    /// Changes the contacts of several nodes and what stands above them in the tree, each join once.
    pub fn change_contacts(&mut self, changes: &[(usize, Contact)]) {
        for &(node, contact) in changes {
            self.contact[node] = contact;
            let mut index = self.elements + node;
            while index != NO_LINK && !self.stale[index] {
                self.stale[index] = true;
                index = self.links[index].parent;
            }
        }
        for place in (0..self.order.len()).rev() {
            let node = self.order[place];
            if std::mem::take(&mut self.stale[self.elements + node]) {
                self.join(node);
            }
        }
    }

    fn rebuild(&mut self) {
        self.singular = false;
        for place in (0..self.order.len()).rev() {
            self.join(self.order[place]);
        }
    }

    /// Height that a contact prescribes, as deviation: (constant, per deflection).
    fn prescribed(&self, node: usize) -> Option<(f64, f64)> {
        match self.contact[node] {
            Contact::None => None,
            Contact::Base => Some((-self.free_height[node], 0.0)),
            Contact::Upper => Some((self.travel - self.free_height[node], -1.0)),
        }
    }

    /// Inverse of a symmetric matrix; one without an inverse is noted, and the tree is of no use then.
    fn inverse(&mut self, matrix: &Matrix3<f64>) -> Matrix3<f64> {
        invert_symmetric(matrix).unwrap_or_else(|| {
            self.singular = true;
            Matrix3::zeros()
        })
    }

    fn ends_of(&mut self, index: usize) -> CondensedEnds {
        if self.intervals[index].chain && !self.intervals[index].ends_known {
            let stiffness = self.inverse(&{ self.intervals[index].flexibility });
            let interval = &mut self.intervals[index];
            let g = transport(interval.offset[0], interval.offset[1]);
            let bg = stiffness * g;
            interval.ends = CondensedEnds {
                aa: g.transpose() * bg,
                ab: -bg.transpose(),
                bb: stiffness,
                ..CondensedEnds::default()
            };
            interval.ends_known = true;
        }
        self.intervals[index].ends
    }

    /// Eliminates one interior node.
    fn join(&mut self, node: usize) {
        let index = self.elements + node;
        let Links { left, right, .. } = self.links[index];
        let prescribed = self.prescribed(node);
        if prescribed.is_none() && self.intervals[left].chain && self.intervals[right].chain {
            let (l, r) = (self.intervals[left], self.intervals[right]);
            let (g_left, g_right) =
                (transport(l.offset[0], l.offset[1]), transport(r.offset[0], r.offset[1]));
            let carried = l.flexibility * g_right.transpose();
            let flexibility = r.flexibility + g_right * carried;
            let stiffness = self.inverse(&flexibility);
            let from_b = carried * stiffness;
            let offset = [l.offset[0] + r.offset[0], l.offset[1] + r.offset[1]];
            let from_a = g_left - from_b * transport(offset[0], offset[1]);
            self.eliminations[node] = Elimination { from_a, from_b, ..Elimination::default() };
            self.intervals[index] = Interval { chain: true, flexibility, offset, ..Interval::default() };
            return;
        }
        let (mut l, mut r) = (self.ends_of(left), self.ends_of(right));
        let mut middle = l.bb + r.aa;
        let (mut q_x, mut q_1) = (l.b_x + r.a_x, l.b_1 + r.a_1);
        let row = Elimination {
            row_a: l.ab.column(0).into_owned(),
            row_m: middle.column(0).into_owned(),
            row_b: r.ab.row(0).transpose(),
            row_x: q_x[0],
            row_1: q_1[0],
            ..Elimination::default()
        };
        // a seated node moves by the rise of its touching line and its rotations; a force there is the first of the three
        let about = self.contact[node].about(self.line[node]);
        if prescribed.is_some() {
            middle = about.transpose() * middle * about;
            l.ab *= about;
            r.ab = about.transpose() * r.ab;
            (q_x, q_1) = (about.transpose() * q_x, about.transpose() * q_1);
        }
        let along = middle.column(0).into_owned();
        let (inverse, v_1, v_x) = match prescribed {
            None => (self.inverse(&middle), 0.0, 0.0),
            Some((v_1, v_x)) => {
                let (a, b, d) = (middle[(1, 1)], middle[(1, 2)], middle[(2, 2)]);
                let s = 1.0 / (a * d - b * b);
                (Matrix3::new(0.0, 0.0, 0.0, 0.0, d * s, -b * s, 0.0, -b * s, a * s), v_1, v_x)
            }
        };
        let (free_x, free_1) = (q_x[0], q_1[0]);
        q_x += v_x * along;
        q_1 += v_1 * along;
        let height = Vector3::new(1.0, 0.0, 0.0);
        let (from_a, from_b) = (-(inverse * l.ab.transpose()), -(inverse * r.ab));
        let (g_x, g_1) = (v_x * height - inverse * q_x, v_1 * height - inverse * q_1);
        let ends = CondensedEnds {
            aa: l.aa + l.ab * from_a,
            ab: l.ab * from_b,
            bb: r.bb + r.ab.transpose() * from_b,
            a_x: l.a_x + l.ab * g_x,
            a_1: l.a_1 + l.ab * g_1,
            b_x: r.b_x + r.ab.transpose() * g_x,
            b_1: r.b_1 + r.ab.transpose() * g_1,
            xx: l.xx + r.xx + q_x.dot(&g_x) + v_x * free_x,
            x1: l.x1 + r.x1 + q_x.dot(&g_1) + v_x * free_1,
        };
        self.eliminations[node] = if prescribed.is_none() {
            Elimination { from_a, from_b, g_x, g_1, ..row }
        } else {
            let (from_a, from_b, g_x, g_1) = (about * from_a, about * from_b, about * g_x, about * g_1);
            Elimination { from_a, from_b, g_x, g_1, ..row }
        };
        let offset = [
            self.intervals[left].offset[0] + self.intervals[right].offset[0],
            self.intervals[left].offset[1] + self.intervals[right].offset[1],
        ];
        self.intervals[index] =
            Interval { chain: false, offset, ends, ends_known: true, flexibility: Matrix3::zeros() };
    }

    /// Motion of the hub's node and the arm's force with its slope (N, N/mm), at deflection `x`.
    pub fn hub(&mut self, x: f64) -> (Motion, Affine) {
        let ends = self.ends_of(self.root);
        let down = Vector3::new(-1.0, 0.0, 0.0);
        let mut motion = Motion { value: x * down, slope: down };
        if let Some([px, py]) = self.tilt {
            // the hub's tilt α moves its node by (αx y − αy x, αx, αy) and carries no moment about the axis
            let tilt = Matrix3x2::new(py, -px, 1.0, 0.0, 0.0, 1.0);
            let stiffness = tilt.transpose() * ends.bb * tilt;
            self.singular |= stiffness.determinant() == 0.0;
            if let Some(inverse) = stiffness.try_inverse() {
                let slope = -(inverse * (tilt.transpose() * (ends.bb * down + ends.b_x)));
                let constant = -(inverse * (tilt.transpose() * ends.b_1));
                motion.value += tilt * (x * slope + constant);
                motion.slope += tilt * slope;
            }
        }
        let at_hub = ends.bb * motion.value + x * ends.b_x + ends.b_1;
        let at_hub_slope = ends.bb * motion.slope + ends.b_x;
        let force = Affine {
            value: ends.b_x.dot(&motion.value) + ends.xx * x + ends.x1 - at_hub[0],
            slope: ends.b_x.dot(&motion.slope) + ends.xx - at_hub_slope[0],
        };
        (motion, force)
    }

    /// Motions of all nodes at deflection `x`; returns the arm's force.
    pub fn recover(&mut self, x: f64, motions: &mut [Motion]) -> Affine {
        let (hub, force) = self.hub(x);
        motions[0] = Motion::default();
        motions[self.elements] = hub;
        for &node in &self.order {
            let Links { low, high, .. } = self.links[self.elements + node];
            motions[node] = self.follow(node, x, &motions[low], &motions[high]);
        }
        force
    }

    /// Forces that hold touching nodes in place, positive upwards (N), from the recovered motions; zero elsewhere.
    pub fn reactions(&self, x: f64, motions: &[Motion], reactions: &mut [Affine]) {
        reactions.fill(Affine::default());
        for &node in &self.order {
            if self.contact[node] != Contact::None {
                let Links { low, high, .. } = self.links[self.elements + node];
                reactions[node] = self.reaction(node, x, &motions[low], &motions[node], &motions[high]);
            }
        }
    }

    fn follow(&self, node: usize, x: f64, a: &Motion, b: &Motion) -> Motion {
        let e = &self.eliminations[node];
        Motion {
            value: e.from_a * a.value + e.from_b * b.value + x * e.g_x + e.g_1,
            slope: e.from_a * a.slope + e.from_b * b.slope + e.g_x,
        }
    }

    /// Force that holds a touching node in place, positive upwards (N), from the motions around it.
    fn reaction(&self, node: usize, x: f64, a: &Motion, m: &Motion, b: &Motion) -> Affine {
        let e = &self.eliminations[node];
        Affine {
            value: e.row_a.dot(&a.value)
                + e.row_m.dot(&m.value)
                + e.row_b.dot(&b.value)
                + e.row_x * x
                + e.row_1,
            slope: e.row_a.dot(&a.slope) + e.row_m.dot(&m.slope) + e.row_b.dot(&b.slope) + e.row_x,
        }
    }

    /// Visits interior nodes from the hub's motion downwards: for each, its motion and the force that holds it.
    /// Intervals for which `wanted(low, high)` is false are skipped.
    pub fn visit(
        &self,
        x: f64,
        hub: &Motion,
        wanted: &impl Fn(usize, usize) -> bool,
        see: &mut impl FnMut(usize, &Motion, Affine),
    ) {
        if self.root >= self.elements {
            self.visit_interval(self.root, x, &Motion::default(), hub, wanted, see);
        }
    }

    fn visit_interval(
        &self,
        index: usize,
        x: f64,
        a: &Motion,
        b: &Motion,
        wanted: &impl Fn(usize, usize) -> bool,
        see: &mut impl FnMut(usize, &Motion, Affine),
    ) {
        let Links { left, right, low, high, .. } = self.links[index];
        if !wanted(low, high) {
            return;
        }
        let node = index - self.elements;
        let motion = self.follow(node, x, a, b);
        let reaction = if self.contact[node] == Contact::None {
            Affine::default()
        } else {
            self.reaction(node, x, a, &motion, b)
        };
        see(node, &motion, reaction);
        if left >= self.elements {
            self.visit_interval(left, x, a, &motion, wanted, see);
        }
        if right >= self.elements {
            self.visit_interval(right, x, &motion, b, wanted, see);
        }
    }
}
