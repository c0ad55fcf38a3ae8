//! The slot that bounds an arm given by stations alone.
//!
//! The arm's outer edge is the slot's inner flank, its inner edge the outer flank of the slot that started 360°/N
//! earlier; half a slot beside either runs the centre line. Where both edges are known the two have to agree.

use std::f64::consts::TAU;

use super::slot::polar;
use super::{CurvePoint, PlaneCurve};
use crate::layout::Station;
use crate::numeric::MonotoneCubic;

/// Samples of each edge.
const SAMPLES: usize = 400;

/// How far the centre lines from the two edges may differ (mm): stations are written to a micron, slots cut to a
/// twentieth of a millimetre.
const AGREE: f64 = 0.05;

/// Share of 360°/N over which the slot may be bridged where the arm's two edges do not overlap.
const BRIDGE: f64 = 0.25;

/// A slot's centre line through given radii over the angle: a cubic spline with continuous curvature.
#[derive(Debug, Clone)]
pub(super) struct StationSlot {
    angle: Vec<f64>,
    radius: Vec<f64>,
    /// second derivatives at the knots
    second: Vec<f64>,
    /// how far the slot winds (rad)
    total: f64,
}

/// Why no slot leaves an arm.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StationSlotError {
    /// Too few stations, or angles that do not rise.
    #[error("{count} stations are no arm")]
    NoArm {
        /// number of stations
        count: usize,
    },
    /// The arm is so short that its slot has to be guessed.
    #[error(
        "they wind {arm_degrees:.1}°, and slots {slot_degrees:.1}° apart have to be known for at least three quarters \
         of that"
    )]
    TooShort {
        /// how far the arm winds (°)
        arm_degrees: f64,
        /// 360°/N
        slot_degrees: f64,
    },
    /// The two edges ask for different slots.
    #[error(
        "slots {slot_mm} mm wide beside the arm's two edges are {apart_mm:.3} mm apart; is the slot width right?"
    )]
    Apart {
        /// slot width (mm)
        slot_mm: f64,
        /// largest distance of the two centre lines (mm)
        apart_mm: f64,
    },
    /// An edge winds back.
    #[error("{edge} turn back")]
    TurnsBack {
        /// which edge
        edge: &'static str,
    },
}

impl StationSlot {
    /// The slot of `arms` equal arms with slots `slot` mm wide.
    pub fn of(stations: &[Station], arms: usize, slot: f64) -> Result<Self, StationSlotError> {
        let angle: Vec<f64> = stations.iter().map(|s| s.angle - stations[0].angle).collect();
        let edge = |side: f64| {
            let radius: Vec<f64> = stations.iter().map(|s| s.radius + 0.5 * side * s.width).collect();
            MonotoneCubic::through(&angle, &radius).ok_or(StationSlotError::NoArm { count: stations.len() })
        };
        let (outer, inner) = (edge(1.0)?, edge(-1.0)?);
        let between = TAU / arms as f64;
        let span = angle[angle.len() - 1];
        if span < (1.0 - BRIDGE) * between {
            return Err(StationSlotError::TooShort {
                arm_degrees: span.to_degrees(),
                slot_degrees: between.to_degrees(),
            });
        }
        // each edge moved by half a slot away from the arm
        let line = |edge: &MonotoneCubic, turn: f64, side: f64| -> Vec<[f64; 2]> {
            (0..=SAMPLES)
                .map(|k| span * k as f64 / SAMPLES as f64)
                .map(|theta| {
                    let (rho, slope) = edge.value_and_slope(theta);
                    let scale = side * 0.5 * slot / rho.hypot(slope);
                    let (radial, along) = (rho + scale * rho, -scale * slope);
                    [theta + turn + along.atan2(radial), radial.hypot(along)]
                })
                .collect()
        };
        let from_outer = line(&outer, 0.0, 1.0);
        let from_inner = line(&inner, between, -1.0);
        let column = |points: &[[f64; 2]], k: usize| points.iter().map(|p| p[k]).collect::<Vec<f64>>();
        let checked = MonotoneCubic::through(&column(&from_inner, 0), &column(&from_inner, 1))
            .ok_or(StationSlotError::TurnsBack { edge: "points of its inner edge" })?;
        let last = from_outer[SAMPLES][0];
        let first = from_inner[0][0];
        let apart = from_outer
            .iter()
            .filter(|p| p[0] >= first)
            .map(|p| (p[1] - checked.value(p[0])).abs())
            .fold(0.0, f64::max);
        if apart > AGREE {
            return Err(StationSlotError::Apart { slot_mm: slot, apart_mm: apart });
        }
        let rest = from_inner.iter().filter(|p| p[0] > last + 0.2 * span / SAMPLES as f64);
        let points: Vec<[f64; 2]> = from_outer.iter().chain(rest).copied().collect();
        Self::through(&points, between + span).ok_or(StationSlotError::TurnsBack { edge: "their edges" })
    }

    /// Natural spline (second derivative zero at both ends) through points with rising angles; the usual tridiagonal
    /// system, de Boor, A Practical Guide to Splines, chapter IV.
    fn through(points: &[[f64; 2]], total: f64) -> Option<Self> {
        let count = points.len();
        let rising = points.windows(2).all(|p| p[1][0] > p[0][0]);
        if count < 3 || !rising || points.iter().flatten().any(|v| !v.is_finite()) {
            return None;
        }
        let h = |i: usize| points[i + 1][0] - points[i][0];
        let secant = |i: usize| (points[i + 1][1] - points[i][1]) / h(i);
        let mut second = vec![0.0; count];
        let mut carry = vec![0.0; count];
        for i in 1..count - 1 {
            let pivot = 2.0 * (h(i - 1) + h(i)) - h(i - 1) * carry[i - 1];
            carry[i] = h(i) / pivot;
            second[i] = (6.0 * (secant(i) - secant(i - 1)) - h(i - 1) * second[i - 1]) / pivot;
        }
        for i in (1..count - 1).rev() {
            second[i] -= carry[i] * second[i + 1];
        }
        let column = |k: usize| points.iter().map(|p| p[k]).collect();
        Some(Self { angle: column(0), radius: column(1), second, total })
    }

    /// Radius and its first two derivatives.
    fn radius_at(&self, angle: f64) -> (f64, f64, f64) {
        let i = self.angle.partition_point(|&knot| knot <= angle).clamp(1, self.angle.len() - 1) - 1;
        let h = self.angle[i + 1] - self.angle[i];
        let (a, b) = ((self.angle[i + 1] - angle) / h, (angle - self.angle[i]) / h);
        let (m0, m1) = (self.second[i], self.second[i + 1]);
        let (r0, r1) = (self.radius[i], self.radius[i + 1]);
        let radius = a * r0 + b * r1 + h * h / 6.0 * ((a * a * a - a) * m0 + (b * b * b - b) * m1);
        let slope = (r1 - r0) / h + h / 6.0 * ((3.0 * b * b - 1.0) * m1 - (3.0 * a * a - 1.0) * m0);
        (radius, slope, a * m0 + b * m1)
    }
}

impl PlaneCurve for StationSlot {
    /// From the slot's end at the rim, angle 0, to its end at the hub; the outermost thousandths of a radian, beside
    /// which the arm has no edge, continue the spline's end pieces.
    fn range(&self) -> [f64; 2] {
        [0.0, self.total]
    }

    fn at(&self, angle: f64) -> CurvePoint {
        let (rho, slope, second) = self.radius_at(angle);
        polar(angle, rho, slope, second)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{ArmPath, FormerProfile, SlotLine};

    fn line(arms: usize, slot: f64) -> SlotLine {
        let width = MonotoneCubic::through(&[12.0, 40.0], &[2.5, 5.5]).unwrap();
        SlotLine::wind(arms, slot, 40.0, 12.0, width).unwrap()
    }

    #[test]
    fn the_slot_behind_stations_is_the_slot_they_came_from() {
        for arms in [1, 2, 3] {
            let line = line(arms, 1.4);
            let arm = ArmPath::between_slots(&line, &FormerProfile::cone(5.0, 0.0), 300).unwrap();
            let stations: Vec<Station> = arm.stations().collect();
            let found = StationSlot::of(&stations, arms, 1.4).unwrap();
            for k in 1..200 {
                let angle = line.total_angle() * f64::from(k) / 200.0;
                let (radius, slope, _) = found.radius_at(angle);
                assert!((radius - line.radius_at(angle)).abs() < 0.002, "{arms} arms at {angle}");
                assert!((slope - line.slope_at(angle)).abs() < 0.05, "{arms} arms at {angle}: {slope}");
            }
        }
    }

    #[test]
    fn stations_of_another_slot_width_are_refused_with_the_reason() {
        let line = line(2, 1.4);
        let arm = ArmPath::between_slots(&line, &FormerProfile::cone(5.0, 0.0), 300).unwrap();
        let stations: Vec<Station> = arm.stations().collect();
        let reason = StationSlot::of(&stations, 2, 1.0).unwrap_err().to_string();
        assert!(reason.contains("slot width"), "{reason}");
    }
}
