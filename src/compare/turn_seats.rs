//! Deflections at which the turns of an arm seat.

use std::f64::consts::TAU;

use crate::layout::Spring;
use crate::model::contact::Contact;
use crate::model::{ArmState, Model, ModelError, ModelSettings};
use crate::spec::Pressing;

/// Deflections looked at.
const STOPS: usize = 60;
/// Share of the travel up to which is looked.
const LAST_SHARE: f64 = 0.98;
/// A last turn shorter than this share of one is counted with the turn before it.
const LEAST_TURN: f64 = 0.25;
/// Share of its free height above the plate below which a turn counts as seated. Pressed by the hub, turns touch in few
/// places and are slightly above the plate in between.
const LYING: f64 = 0.1;

/// One turn of an arm, counted from the rim.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct TurnSeat {
    /// turns from the rim where it begins and ends
    pub turns: [f64; 2],
    /// deflection at which it first touches a plate (mm); none where that is not before 98 % of the travel
    pub touches_at_mm: Option<f64>,
    /// deflection at which it is seated but for a tenth of its free height (mm); none as above
    pub lies_at_mm: Option<f64>,
}

/// The turns of one arm.
pub(super) fn turn_seats(spring: &Spring) -> Result<Vec<TurnSeat>, ModelError> {
    let settings = ModelSettings::default();
    let arm = spring.arm(settings.segments)?;
    let model = Model::of_arm(spring, &arm, &settings);
    let total = arm.angle[arm.angle.len() - 1] / TAU;
    let mut ends: Vec<f64> = (1..100).map(f64::from).take_while(|turn| *turn < total).collect();
    if ends.last().is_some_and(|last| total - last < LEAST_TURN) {
        ends.pop();
    }
    ends.push(total);
    let stops: Vec<f64> =
        (1..=STOPS).map(|k| LAST_SHARE * model.travel() * k as f64 / STOPS as f64).collect();
    let states = model.states(&stops)?;
    let covered = spring.seat.pressing == Pressing::Plates;
    Ok(ends
        .iter()
        .enumerate()
        .map(|(k, &end)| {
            let begin = if k == 0 { 0.0 } else { ends[k - 1] };
            // the outer root lies on the base from the start, the inner one goes with the hub
            let nodes: Vec<usize> = (1..arm.angle.len() - 1)
                .filter(|&node| arm.angle[node] / TAU >= begin && arm.angle[node] / TAU <= end)
                .collect();
            let first = |met: &dyn Fn(&ArmState) -> bool| {
                states.iter().find(|state| met(state)).map(|state| state.deflection)
            };
            // gaps to the base, or to the nearer plate
            let above = |height: &[f64]| -> f64 {
                let hub = height.last().copied().unwrap_or(0.0);
                let gap = |z: f64| if covered { z.min(hub - z) } else { z };
                nodes.iter().map(|&node| gap(height[node])).sum()
            };
            let free = above(&arm.height);
            TurnSeat {
                turns: [begin, end],
                touches_at_mm: first(&|state| nodes.iter().any(|&node| state.contact[node] != Contact::None)),
                lies_at_mm: first(&|state| above(&state.touching_height) <= LYING * free),
            }
        })
        .collect())
}
