//! Gaps between neighbouring turns, flat and over the travel.
//!
//! At the same azimuth the next turn inwards is the neighbouring arm (its own next turn where there is one arm alone)
//! wound 360°/N further.

use std::f64::consts::TAU;

use super::closing::{Closing, SHARES};
use crate::layout::{ArmPath, ArmShape, Spring};
use crate::model::ModelError;

/// A gap between neighbouring turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// width normal to the slot (mm); below zero the turns lie over each other
    pub width: f64,
    /// radius of the slot there (mm)
    pub radius: f64,
    /// deflection at which it is so narrow (mm)
    pub deflection: f64,
}

/// One pair of places that face each other over a slot.
#[derive(Debug, Clone, Copy)]
struct Facing {
    outer: f64,
    inner: f64,
    gap: f64,
    radius: f64,
    /// cosine and sine of the angle between the slot and the circle
    direction: [f64; 2],
}

fn facing(arm: &ArmPath, arms: usize) -> Vec<Facing> {
    let between = TAU / arms as f64;
    let last = arm.angle[arm.angle.len() - 1];
    let mut pairs = Vec::new();
    for i in 0..arm.angle.len() {
        let (outer, inner) = (arm.angle[i], arm.angle[i] + between);
        if inner > last {
            break;
        }
        let edge = arm.radius[i] - 0.5 * arm.width[i];
        let other = arm.value_at(&arm.radius, inner) + 0.5 * arm.value_at(&arm.width, inner);
        let radius = 0.5 * (edge + other);
        let k = i.clamp(1, arm.angle.len() - 2);
        let slope = (arm.radius[k + 1] - arm.radius[k - 1]) / (arm.angle[k + 1] - arm.angle[k - 1]);
        let norm = radius.hypot(slope);
        let direction = [radius / norm, -slope / norm];
        pairs.push(Facing { outer, inner, gap: (edge - other) * direction[0], radius, direction });
    }
    pairs
}

/// Least gap between neighbouring turns of the flat spring, at a deflection of `travel` (mm); none without facing turns.
pub fn least_gap_flat(arm: &ArmPath, arms: usize, travel: f64) -> Option<Gap> {
    facing(arm, arms)
        .into_iter()
        .map(|pair| Gap { width: pair.gap, radius: pair.radius, deflection: travel })
        .min_by(|a, b| a.width.total_cmp(&b.width))
}

/// Lengthening of an arm in its own plane from free to flat (mm): half the square of its slope, along its length.
pub(super) fn lengthening(arm: &ArmPath) -> f64 {
    (0..arm.segments())
        .map(|i| {
            let rise = arm.height[i + 1] - arm.height[i];
            0.5 * rise * rise / arm.chord(i)
        })
        .sum()
}

/// The narrowest place anywhere on the way from free to closed.
///
/// The blank is cut flat, so the turns stand at their slots when the spring lies flat; what the arms shift in their own
/// plane while the spring opens is taken from there. Turns that stand at different heights pass each other: this
/// number is on the safe side.
pub fn least_gap_on_the_way(closing: &Closing) -> Result<Option<Gap>, ModelError> {
    let pairs = facing(&closing.arm, closing.arms);
    let deflections = SHARES.map(|share| share * closing.travel);
    // displacements of the nodes along the radius and across it
    let shifts: Vec<(f64, [Vec<f64>; 2])> = closing
        .model
        .states(&deflections)?
        .iter()
        .map(|state| {
            let turned = |k: usize| {
                let nodes = closing.arm.angle.iter().zip(&state.shift);
                let part = |(angle, [x, y]): (&f64, &[f64; 2])| {
                    let (sine, cosine) = angle.sin_cos();
                    if k == 0 { x * cosine + y * sine } else { y * cosine - x * sine }
                };
                nodes.map(part).collect()
            };
            (state.deflection, [turned(0), turned(1)])
        })
        .collect();
    let Some((_, flat)) = shifts.last().cloned() else { return Ok(None) };
    let opening = |pair: &Facing, polar: &[Vec<f64>; 2]| -> f64 {
        (0..2)
            .map(|k| {
                let shift = |angle: f64| {
                    closing.arm.value_at(&polar[k], angle) - closing.arm.value_at(&flat[k], angle)
                };
                pair.direction[k] * (shift(pair.outer) - shift(pair.inner))
            })
            .sum()
    };
    Ok(shifts
        .iter()
        .flat_map(|(deflection, polar)| {
            pairs.iter().map(move |pair| Gap {
                width: pair.gap + opening(pair, polar),
                radius: pair.radius,
                deflection: *deflection,
            })
        })
        .min_by(|a, b| a.width.total_cmp(&b.width)))
}

/// Length of one slot's centre line (mm): exact where the slots are given, else the arm's length with the angle that
/// the slot winds further.
pub fn slot_length(spring: &Spring, arm: &ArmPath) -> f64 {
    match &spring.shape {
        ArmShape::Slots(line) => {
            const PIECES: usize = 2000;
            let step = line.total_angle() / PIECES as f64;
            (0..PIECES)
                .map(|i| {
                    let angle = step * (i as f64 + 0.5);
                    line.radius_at(angle).hypot(line.slope_at(angle)) * step
                })
                .sum()
        }
        ArmShape::Stations(_) => {
            let ends = spring.disc.slot_outer_radius + spring.disc.slot_inner_radius;
            arm.length() + 0.5 * ends * TAU / spring.arms as f64
        }
    }
}
