//! Sensitivity of the curve to every node of the arm: analytic, without another solve.
//!
//! The force is the slope of the least energy, `F = dV/dx`, and at the minimum a parameter changes V only where it stands
//! explicitly (envelope theorem). So
//!
//! ```text
//! dF/dp = d/dx (∂Π/∂p at fixed state) − Σ over seated nodes  d/dx (λ ∂(height of the touching edge at fixed state)/∂p)
//! ```
//!
//! which is bilinear in the state and its slope over the deflection, both of which the solver provides. Contacts that
//! are about to change make the curve kink; away from those events the result is exact.
//!
//! A slope does not predict the effect of a large step. Contacts land and leave node by node, and late in the travel
//! many do so within a little height: at 97–98.5 % of the travel the force of a designed spring for a free height 1 %
//! more or less, taken as a difference quotient, lies up to 70 % off the slope, 0.1 % up to 20 %, and a thousandth of
//! that agrees to six digits in all places. The effect of a tolerance on a curve near flat is found by predicting both
//! springs.

use super::arm_state::Snapshot;
use super::chain::{Chain, SectionLaw, Segment};
use super::condensation::Contact;
use super::element::Element;
use super::in_plane::{NodeState, PlanePiece, distance, neighbours};
use super::predictor::Model;
use super::section::{WidthThickness, bending_stiffness, curved_strip_factor, torsion_constant};
use super::touch::Reach;
use crate::layout::{ArmPath, SheetProperties};

/// Slopes of one number over the arm's nodes and the sheet's thickness.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NodeGradient {
    /// per radian of every node's angle
    pub angle: Vec<f64>,
    /// per mm of every node's radius
    pub radius: Vec<f64>,
    /// per mm of every node's radial width
    pub width: Vec<f64>,
    /// per mm of every node's free height
    pub height: Vec<f64>,
    /// per mm of sheet thickness
    pub thickness: f64,
    /// per MPa of Young's modulus
    pub youngs_modulus: f64,
    /// per MPa of shear modulus
    pub shear_modulus: f64,
}

/// Change of the arm's nodes and the thickness with one parameter.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Direction {
    /// the arm's nodes; rises are not used
    pub angle: Vec<f64>,
    /// mm per unit of the parameter
    pub radius: Vec<f64>,
    /// mm per unit of the parameter
    pub width: Vec<f64>,
    /// mm per unit of the parameter
    pub height: Vec<f64>,
    /// mm per unit of the parameter
    pub thickness: f64,
    /// MPa per unit of the parameter
    pub youngs_modulus: f64,
    /// MPa per unit of the parameter
    pub shear_modulus: f64,
}

impl Direction {
    /// The difference quotient of two arms with the same number of nodes, `step` apart in the parameter.
    pub fn between(low: &ArmPath, high: &ArmPath, step: f64) -> Self {
        let quotient =
            |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (b - a) / step).collect::<Vec<f64>>();
        Self {
            angle: quotient(&low.angle, &high.angle),
            radius: quotient(&low.radius, &high.radius),
            width: quotient(&low.width, &high.width),
            height: quotient(&low.height, &high.height),
            ..Self::default()
        }
    }
}

impl NodeGradient {
    /// Slope along a direction.
    pub fn along(&self, direction: &Direction) -> f64 {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        dot(&self.angle, &direction.angle)
            + dot(&self.radius, &direction.radius)
            + dot(&self.width, &direction.width)
            + dot(&self.height, &direction.height)
            + self.thickness * direction.thickness
            + self.youngs_modulus * direction.youngs_modulus
            + self.shear_modulus * direction.shear_modulus
    }
}

/// A quantity with its slope over the deflection; products follow the product rule.
#[derive(Debug, Clone, Copy, Default)]
struct Moving {
    value: f64,
    slope: f64,
}

impl Moving {
    fn times(self, other: Self) -> f64 {
        self.slope * other.value + self.value * other.slope
    }

    fn squared(self) -> f64 {
        self.value * self.slope
    }
}

/// Slopes of dΠ/dx over the numbers of one segment.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct SegmentGradient {
    pub torsion: f64,
    pub bending: f64,
    pub axial: f64,
    pub in_plane: f64,
    pub curvature: f64,
    pub length: f64,
    pub heading: f64,
    pub rise: f64,
    pub width: f64,
    pub radial_width: f64,
    pub radius: f64,
    pub thickness: f64,
    pub youngs_modulus: f64,
    pub shear_modulus: f64,
}

/// A segment's section: its stiffnesses, with slopes over width, thickness, radius and Poisson's ratio.
#[derive(Debug, Clone, Copy)]
pub(super) struct SectionSlopes {
    /// torsion constant of the straight bar (mm⁴)
    torsion: WidthThickness,
    /// curved-strip factor with its slopes over radial width, thickness and radius
    factor: (f64, [f64; 3]),
    /// bending stiffness (N·mm²)
    bending: WidthThickness,
    /// its slope over Poisson's ratio
    bending_by_poisson: f64,
}

impl SectionSlopes {
    /// Of a segment cut from `sheet`.
    pub fn of(segment: &Segment, sheet: &SheetProperties, law: SectionLaw) -> Self {
        /// Step in Poisson's ratio; the formula is smooth.
        const STEP: f64 = 1e-4;
        let (b, t, e) = (segment.width, sheet.thickness, sheet.youngs_modulus);
        let poisson = if law.plate_bending { sheet.poisson() } else { 0.0 };
        let at = |poisson: f64| bending_stiffness(e, poisson, b, t);
        let by_poisson = (at(poisson + STEP).value - at(poisson - STEP).value) / (2.0 * STEP);
        Self {
            torsion: torsion_constant(b, t),
            factor: curved_strip_factor(law.curved_strip, segment.radial_width, t, segment.radius),
            bending: at(poisson),
            bending_by_poisson: if law.plate_bending { by_poisson } else { 0.0 },
        }
    }
}

/// Gradient of one arm's force in a state.
pub(super) fn force_gradient(model: &Model, snapshot: &Snapshot) -> NodeGradient {
    gradient_with(model, snapshot, None)
}

/// The gradient for a state and its slope over any quantity, with the explicit derivatives of one segment.
pub(super) fn gradient_with(
    model: &Model,
    snapshot: &Snapshot,
    explicit: Option<(usize, SegmentGradient)>,
) -> NodeGradient {
    let chain = &model.chain;
    let count = chain.segments.len();
    let mut segments = vec![SegmentGradient::default(); count];
    if let Some((i, explicit)) = explicit {
        segments[i] = explicit;
    }
    for (i, gradient) in segments.iter_mut().enumerate() {
        let node = chain.first + i;
        let ends = ElementEnds::new(snapshot, node);
        piece_energy(&chain.elements[node], &ends, gradient);
        if let Some(piece) = snapshot.pieces.get(i) {
            plane_energy(piece, &ends, gradient);
        }
    }
    if chain.first > 0 {
        root_energy(model, snapshot, chain.first - 1, 0, &mut segments[0]);
    }
    if chain.first == 2 {
        lift_energy(model, snapshot, &mut segments[0]);
    }
    if chain.elements.len() > chain.first + count {
        root_energy(model, snapshot, chain.elements.len() - 1, count - 1, &mut segments[count - 1]);
    }
    spread_curvature(chain, snapshot.pieces, &mut segments);
    to_nodes(model, snapshot, &segments)
}

/// States of an element's ends with their slopes.
struct ElementEnds<'a> {
    a: &'a NodeState,
    b: &'a NodeState,
    a_slope: &'a NodeState,
    b_slope: &'a NodeState,
}

impl<'a> ElementEnds<'a> {
    fn new(snapshot: &Snapshot<'a>, element: usize) -> Self {
        Self {
            a: &snapshot.state[element],
            b: &snapshot.state[element + 1],
            a_slope: &snapshot.slope[element],
            b_slope: &snapshot.slope[element + 1],
        }
    }

    /// A linear form of both ends.
    fn form(&self, f: impl Fn(&NodeState, &NodeState) -> f64) -> Moving {
        Moving { value: f(self.a, self.b), slope: f(self.a_slope, self.b_slope) }
    }
}

fn twist_slope(element: &Element, d: &NodeState) -> (f64, f64) {
    element.twist_and_slope(&d.fixed_rows::<3>(0).into_owned())
}

/// Strains of an element out of the plane: Δτ, Δφ and the third, with their slopes.
fn strains(element: &Element, ends: &ElementEnds) -> [Moving; 3] {
    let small = |d: &NodeState| d.fixed_rows::<3>(0).into_owned();
    let value = element.strains(&small(ends.a), &small(ends.b));
    let slope = element.strains(&small(ends.a_slope), &small(ends.b_slope));
    std::array::from_fn(|k| Moving { value: value[k], slope: slope[k] })
}

/// Forces that go with an element's strains.
fn stresses(element: &Element, strain: &[Moving; 3]) -> [Moving; 3] {
    let value = element.stresses(strain.map(|strain| strain.value));
    let slope = element.stresses(strain.map(|strain| strain.slope));
    std::array::from_fn(|k| Moving { value: value[k], slope: slope[k] })
}

/// The freedom of a rim to lift: its stiffness stands for none, or for a rigid one, and follows the sheet alone.
fn lift_energy(model: &Model, snapshot: &Snapshot, gradient: &mut SegmentGradient) {
    let element = &model.chain.elements[0];
    let strain = strains(element, &ElementEnds::new(snapshot, 0));
    let [twist, bend, lift] = std::array::from_fn(|k| element.stiffness[k] * strain[k].squared());
    gradient.heading += (element.stiffness[1] - element.stiffness[0]) * strain[0].times(strain[1]);
    gradient.thickness += (3.0 * (twist + bend) + lift) / model.sheet.thickness;
    gradient.youngs_modulus += (twist + bend + lift) / model.sheet.youngs_modulus;
}

fn piece_energy(element: &Element, ends: &ElementEnds, gradient: &mut SegmentGradient) {
    let [twist, bend, third] = strains(element, ends);
    let [k_twist, k_bend, k_third] = element.stiffness;
    let l = element.length;
    let rise = ends.form(|a, b| b[0] - a[0]);
    let mean_twist = ends.form(|a, b| 0.5 * (twist_slope(element, a).0 + twist_slope(element, b).0));
    gradient.torsion += twist.squared() / l;
    gradient.bending += (bend.squared() + 12.0 * third.squared()) / l;
    gradient.length += -(k_twist * twist.squared() + k_bend * bend.squared() + k_third * third.squared()) / l
        + k_third * third.times(rise) / (l * l);
    // turning the chord: τ′ = −φ, φ′ = τ
    gradient.heading += (k_bend - k_twist) * twist.times(bend) + k_third * third.times(mean_twist);
}

fn plane_energy(piece: &PlanePiece, ends: &ElementEnds, gradient: &mut SegmentGradient) {
    let (c, s, l) = (piece.cosine, piece.sine, piece.length);
    let strain = piece.strain(ends.a, ends.b);
    let climb = (ends.b_slope[0] - ends.a_slope[0]) / l;
    let stretch = Moving { value: strain.stretch, slope: -strain.slope * climb };
    let along = ends.form(|a, b| c * (b[3] - a[3]) + s * (b[4] - a[4]));
    let across = ends.form(|a, b| c * (b[4] - a[4]) - s * (b[3] - a[3]));
    let turn = ends.form(|a, b| b[5] - a[5]);
    let mean = ends.form(|a, b| 0.5 * (a[5] + b[5]));
    let axial = Moving { value: strain.misfit[0], slope: along.slope - l * stretch.slope };
    let bend = Moving { value: strain.misfit[1], slope: turn.slope + l * piece.curvature * stretch.slope };
    let third = Moving { value: strain.misfit[2], slope: mean.slope - across.slope / l };
    let [k_axial, k_bend, k_third] = piece.stiffness();
    gradient.axial += axial.squared() / l;
    gradient.in_plane += (bend.squared() + 12.0 * third.squared()) / l;
    // explicit in ℓ: e falls as 2e/ℓ, so Δt − ℓe gains e and Δψ + ℓκe loses κe
    gradient.length += -(k_axial * axial.squared() + k_bend * bend.squared() + k_third * third.squared()) / l
        + (k_axial * axial.times(stretch) - k_bend * piece.curvature * bend.times(stretch))
        + k_third * third.times(across) / (l * l);
    gradient.curvature += k_bend * l * bend.times(stretch);
    gradient.heading += k_axial * axial.times(across) + k_third * third.times(along) / l;
    let by_stretch = Moving {
        value: strain.by_stretch,
        slope: l * (piece.curvature * k_bend * bend.slope - k_axial * axial.slope),
    };
    let fall = Moving { value: piece.free_slope - strain.slope, slope: -climb };
    gradient.rise += by_stretch.times(fall) / l;
}

/// A compliant root: its springs depend on the section of the arm's end segment.
fn root_energy(model: &Model, snapshot: &Snapshot, index: usize, end: usize, gradient: &mut SegmentGradient) {
    let element = &model.chain.elements[index];
    let ends = ElementEnds::new(snapshot, index);
    let strain = strains(element, &ends);
    let stress = stresses(element, &strain);
    gradient.heading += stress[1].times(strain[0]) - stress[0].times(strain[1]);
    let segment = &model.chain.segments[end];
    let root = model.root_slopes(segment, index + 1 == model.chain.first);
    // of ½ σᵀ C σ at fixed strains: −½ σᵀ dC σ
    let by_compliances =
        [-stress[0].squared(), -stress[1].squared(), -stress[2].squared(), -stress[0].times(stress[2])];
    for (k, by_compliance) in by_compliances.into_iter().enumerate() {
        gradient.torsion += by_compliance * root.by_torsion[k];
        gradient.bending += by_compliance * root.by_bending[k];
        gradient.radial_width += by_compliance * root.by_width[k];
        gradient.radius += by_compliance * root.by_radius[k];
        gradient.thickness += by_compliance * root.by_thickness[k];
        gradient.youngs_modulus += by_compliance * root.by_youngs_modulus[k];
    }
    if let Some(piece) = snapshot.pieces.get(end) {
        let (c, s) = (piece.cosine, piece.sine);
        let along = ends.form(|a, b| c * (b[3] - a[3]) + s * (b[4] - a[4]));
        let across = ends.form(|a, b| c * (b[4] - a[4]) - s * (b[3] - a[3]));
        let turn = ends.form(|a, b| b[5] - a[5]);
        let [k_along, k_across, k_turn] = piece.root_springs(segment.width);
        gradient.axial += k_along / piece.axial * along.squared();
        gradient.in_plane += (k_across * across.squared() + k_turn * turn.squared()) / piece.bending;
        gradient.width -=
            (k_along * along.squared() + 3.0 * k_across * across.squared() + k_turn * turn.squared())
                / segment.width;
        gradient.heading += (k_along - k_across) * along.times(across);
    }
}

/// Curvatures depend on the neighbours' headings and lengths.
fn spread_curvature(chain: &Chain, pieces: &[PlanePiece], segments: &mut [SegmentGradient]) {
    let count = segments.len();
    for (i, piece) in pieces.iter().enumerate() {
        let (before, after) = neighbours(i, count);
        let over = distance(chain, before, after);
        let by = segments[i].curvature / over;
        segments[after].heading += by;
        segments[before].heading -= by;
        for (k, segment) in segments.iter_mut().enumerate().take(after + 1).skip(before) {
            let share = if k == before || k == after { 0.5 } else { 1.0 };
            segment.length -= share * by * piece.curvature;
        }
    }
}

/// From segments to nodes: sections, chords, contacts, hub.
fn to_nodes(model: &Model, snapshot: &Snapshot, segments: &[SegmentGradient]) -> NodeGradient {
    let (chain, arm, sheet) = (&model.chain, &model.arm, &model.sheet);
    let nodes = segments.len() + 1;
    let mut gradient = NodeGradient {
        angle: vec![0.0; nodes],
        radius: vec![0.0; nodes],
        width: vec![0.0; nodes],
        height: vec![0.0; nodes],
        ..NodeGradient::default()
    };
    // ν = E/2G − 1
    let poisson_by = [0.5 / sheet.shear_modulus, -0.5 * sheet.youngs_modulus / sheet.shear_modulus.powi(2)];
    let mut position = vec![[0.0; 2]; nodes];
    for (i, part) in segments.iter().enumerate() {
        let segment: &Segment = &chain.segments[i];
        let element = &chain.elements[chain.first + i];
        let (t, b, l) = (sheet.thickness, segment.width, segment.length);
        let SectionSlopes { torsion: j, factor, bending: d, bending_by_poisson } = model.section_slopes()[i];
        let (factor, [by_radial, by_t, by_radius]) = factor;
        let (g, e) = (sheet.shear_modulus, sheet.youngs_modulus);
        let by_width = part.width
            + part.torsion * g * factor * j.by_width
            + part.bending * d.by_width
            + part.axial * e * t
            + part.in_plane * e * t * b * b / 4.0;
        let turn = arm.angle[i + 1] - arm.angle[i];
        let mean_width =
            part.radial_width + part.torsion * g * j.value * by_radial + by_width * b / segment.radial_width;
        let mean_radius =
            part.radius + part.torsion * g * j.value * by_radius + by_width * b / segment.radius;
        let length = part.length - by_width * b / l;
        gradient.thickness += part.thickness
            + part.torsion * g * (factor * j.by_thickness + j.value * by_t)
            + part.bending * d.by_thickness
            + part.axial * e * b
            + part.in_plane * e * b.powi(3) / 12.0;
        let by_poisson = part.bending * bending_by_poisson;
        gradient.youngs_modulus += part.youngs_modulus
            + part.bending * d.value / e
            + by_poisson * poisson_by[0]
            + part.axial * b * t
            + part.in_plane * t * b.powi(3) / 12.0;
        gradient.shear_modulus +=
            part.shear_modulus + part.torsion * factor * j.value + by_poisson * poisson_by[1];
        for end in [i, i + 1] {
            gradient.width[end] += 0.5 * mean_width;
            gradient.radius[end] += 0.5 * mean_radius;
        }
        gradient.angle[i + 1] += by_width * b / turn;
        gradient.angle[i] -= by_width * b / turn;
        gradient.height[i + 1] += part.rise;
        gradient.height[i] -= part.rise;
        let (c, s) = (element.cosine, element.sine);
        let chord = [length * c - part.heading * s / l, length * s + part.heading * c / l];
        for k in 0..2 {
            position[i + 1][k] += chord[k];
            position[i][k] -= chord[k];
        }
    }
    hold_contacts(model, snapshot, &mut gradient);
    hold_hub(model, snapshot, &mut position[nodes - 1]);
    for (i, [px, py]) in position.into_iter().enumerate() {
        let (sine, cosine) = arm.angle[i].sin_cos();
        gradient.radius[i] += px * cosine + py * sine;
        gradient.angle[i] += arm.radius[i] * (py * cosine - px * sine);
    }
    gradient
}

/// Seated heights are prescribed by the free heights: a higher free shape takes its contact force along, and so does an edge that
/// lies elsewhere on a section that has rolled.
fn hold_contacts(model: &Model, snapshot: &Snapshot, gradient: &mut NodeGradient) {
    let first = model.chain.first;
    let last = gradient.height.len() - 1;
    for i in 0..=last {
        let node = first + i;
        if node == 0 || node + 1 >= snapshot.state.len() {
            continue;
        }
        let contact = snapshot.contacts[node];
        if contact != Contact::None {
            gradient.height[i] -= snapshot.reaction_slope[node];
            let push = Moving { value: snapshot.reaction[node], slope: snapshot.reaction_slope[node] };
            let turn = |k: usize| Moving { value: snapshot.state[node][k], slope: snapshot.slope[node][k] };
            let (sine, cosine) = model.arm.angle[i].sin_cos();
            // the line is −½ share·w (cos, sin) from the centre, its rise ωx dy − ωy dx
            let (x, y) = (push.times(turn(1)), push.times(turn(2)));
            let reach = match (model.plates.upper, first) {
                (true, _) => Reach::default(),
                (false, 0) => Reach::whole(),
                (false, _) => Reach::of(&model.arm, i),
            };
            let (half, rolled) = (0.5 * model.arm.width[i], sine * x - cosine * y);
            gradient.width[i] += 0.5 * reach.share * rolled;
            gradient.angle[i] += half * reach.share * (cosine * x + sine * y);
            for (node, by) in [i, 0, last].into_iter().zip(reach.by_angle) {
                gradient.angle[node] += half * rolled * by;
            }
            gradient.radius[0] += half * rolled * reach.by_end[0];
            gradient.width[0] += half * rolled * reach.by_end[1];
        }
        if contact == Contact::Upper {
            gradient.height[last] += snapshot.reaction_slope[node];
        }
    }
}

/// The hub's node moves with the hub: in-plane by its turn, in height by its tilt.
fn hold_hub(model: &Model, snapshot: &Snapshot, position: &mut [f64; 2]) {
    let hub = snapshot.state.len() - 1;
    let moving = |k: usize| Moving { value: snapshot.state[hub][k], slope: snapshot.slope[hub][k] };
    let force = |k: usize| Moving { value: snapshot.hub_force[k], slope: snapshot.hub_force_slope[k] };
    if !snapshot.pieces.is_empty() {
        position[0] += force(4).times(moving(5));
        position[1] -= force(3).times(moving(5));
    }
    if model.tilts() {
        position[0] -= force(0).times(moving(2));
        position[1] += force(0).times(moving(1));
    }
}
