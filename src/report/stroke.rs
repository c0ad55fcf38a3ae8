//! The spring over its whole travel, as pictures and readings need it.

use std::f64::consts::TAU;

use crate::checks::FLATNESS_MM;
use crate::layout::{ArmPath, Spring};
use crate::model::contact::Contact;
use crate::model::{ArmState, Model, ModelError, ModelSettings};
use crate::response::CLOSED_SHARE;
use crate::response::Response;
use crate::spec::Pressing;

/// Steps of the curves over the travel.
const STEPS: usize = 132;
/// Steps from one shape of the arm that is kept to the next.
const SHAPE_EVERY: usize = 4;
/// Pieces of the arm in the page's data.
const PIECES: usize = 60;
/// Arms that wind less than this are described by quarters of a turn (rad).
const BY_QUARTERS: f64 = 1.5 * TAU;

/// One shape of the arm at the nodes kept.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shape {
    pub deflection: f64,
    pub force: f64,
    /// height above the flat place (mm)
    pub height: Vec<f64>,
    /// rise across the arm per mm of radius outwards
    pub slope: Vec<f64>,
    /// whether it lies on a plate
    pub seated: Vec<bool>,
    /// von Mises stress at the surface (MPa)
    pub stress: Vec<f64>,
    /// turn of the hub (rad)
    pub hub_turn: f64,
    /// tilt of the hub (rad)
    pub hub_tilt: f64,
}

/// The spring over its travel.
#[derive(Debug, Clone)]
pub(super) struct Stroke {
    pub arm: ArmPath,
    /// the model's nodes that are kept, outer root to inner root
    pub nodes: Vec<usize>,
    /// arc length at the nodes kept (mm)
    pub arc: Vec<f64>,
    /// travel to flat (mm)
    pub travel: f64,
    /// the curve from free to closed
    pub response: Response,
    /// the rate over two steps (N/mm): between single nodes that seat the tangent jumps
    pub rate: Vec<f64>,
    /// shapes from free to closed
    pub shapes: Vec<Shape>,
    /// share of the arm's length that lies on a plate
    pub rested: Vec<f64>,
    /// deflections at which half of each turn (or quarter of a turn) lies on a plate, increasing (mm)
    pub seats: Vec<f64>,
    /// whether `seats` are of quarters of a turn
    pub by_quarters: bool,
}

impl Stroke {
    /// Presses a spring.
    pub fn of(spring: &Spring) -> Result<Self, ModelError> {
        let settings = ModelSettings::default();
        let arm = spring.arm(settings.segments)?;
        let model = Model::of_arm(spring, &arm, &settings);
        let travel = model.travel();
        let stops: Vec<f64> = (0..=STEPS).map(|k| CLOSED_SHARE * travel * k as f64 / STEPS as f64).collect();
        let response = model.response(&stops)?;
        let states = model.states(&stops)?;
        let last = arm.segments();
        let nodes: Vec<usize> = (0..=PIECES).map(|k| k * last / PIECES).collect();
        let mut along = vec![0.0];
        for i in 0..last {
            along.push(along[i] + arm.chord(i));
        }
        let force = &response.force;
        let rate = (0..force.len())
            .map(|i| {
                let (a, b) = (i.saturating_sub(1), (i + 1).min(force.len() - 1));
                (force[b] - force[a]) / (stops[b] - stops[a])
            })
            .collect();
        let by_quarters = arm.angle[last] < BY_QUARTERS;
        let upper = spring.seat.pressing == Pressing::Plates;
        let lying: Vec<Vec<bool>> = states.iter().map(|state| seated_nodes(state, upper)).collect();
        let seats = seats(&arm, &states, &lying, if by_quarters { 0.25 * TAU } else { TAU });
        let rested = lying
            .iter()
            .map(|lying| {
                let pieces = (0..last).filter(|&i| lying[i] && lying[i + 1]);
                pieces.map(|i| arm.chord(i)).sum::<f64>() / along[last]
            })
            .collect();
        let shapes = states
            .iter()
            .zip(&lying)
            .step_by(SHAPE_EVERY)
            .map(|(state, lying)| Shape::of(&arm, &nodes, state, lying))
            .collect();
        let arc = nodes.iter().map(|&i| along[i]).collect();
        Ok(Self { arm, nodes, arc, travel, response, rate, shapes, rested, seats, by_quarters })
    }

    /// The shape nearest to a share of the travel.
    pub fn shape_at(&self, share: f64) -> &Shape {
        let wanted = share * self.travel;
        let distance = |shape: &Shape| (shape.deflection - wanted).abs();
        self.shapes
            .iter()
            .skip(1)
            .fold(&self.shapes[0], |best, shape| if distance(shape) < distance(best) { shape } else { best })
    }
}

impl Shape {
    /// The arm at a deflection (mm), at the nodes that a stroke keeps.
    pub fn at(spring: &Spring, stroke: &Stroke, deflection: f64) -> Result<Option<Self>, ModelError> {
        let model = Model::of_arm(spring, &stroke.arm, &ModelSettings::default());
        let upper = spring.seat.pressing == Pressing::Plates;
        let states = model.states(&[deflection])?;
        Ok(states
            .first()
            .map(|state| Self::of(&stroke.arm, &stroke.nodes, state, &seated_nodes(state, upper))))
    }

    fn of(arm: &ArmPath, nodes: &[usize], state: &ArmState, lying: &[bool]) -> Self {
        Self {
            deflection: state.deflection,
            force: state.force,
            height: nodes.iter().map(|&i| state.height[i]).collect(),
            slope: nodes
                .iter()
                .map(|&i| {
                    // ω × e_r, its part along the axis
                    let [x, y] = state.rotation[i];
                    x * arm.angle[i].sin() - y * arm.angle[i].cos()
                })
                .collect(),
            seated: nodes.iter().map(|&i| lying[i]).collect(),
            stress: nodes.iter().map(|&i| state.stress[i].edge).collect(),
            hub_turn: state.hub_turn,
            hub_tilt: state.hub_tilt,
        }
    }
}

/// Which nodes lie on a plate: touching it, or nearer to it than a set spring is flat.
fn seated_nodes(state: &ArmState, upper: bool) -> Vec<bool> {
    let top = state.height.last().copied().unwrap_or(0.0);
    state
        .touching_height
        .iter()
        .zip(&state.contact)
        .map(|(height, contact)| {
            *contact != Contact::None || *height < FLATNESS_MM || (upper && top - height < FLATNESS_MM)
        })
        .collect()
}

/// Deflections at which half of each piece of the arm, `turn` (rad) long, lies on a plate.
fn seats(arm: &ArmPath, states: &[ArmState], lying: &[Vec<bool>], turn: f64) -> Vec<f64> {
    let mut seats = Vec::new();
    let mut from = 0.0;
    let end = arm.angle[arm.angle.len() - 1];
    while from < end {
        let nodes: Vec<usize> =
            (1..arm.angle.len()).filter(|&i| arm.angle[i] > from && arm.angle[i] <= from + turn).collect();
        from += turn;
        // a remainder of the arm shorter than a third of a turn does not count
        if nodes.is_empty() || (end < from && end - (from - turn) < turn / 3.0) {
            continue;
        }
        let rests = |lying: &Vec<bool>| 2 * nodes.iter().filter(|&&i| lying[i]).count() >= nodes.len();
        seats.extend(lying.iter().position(rests).map(|first| states[first].deflection));
    }
    seats.sort_by(f64::total_cmp);
    seats
}
