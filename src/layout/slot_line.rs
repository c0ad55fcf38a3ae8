//! The centre line of one slot, wound from the rim to the hub.
//!
//! N equal slots lie 360°/N apart, so the radial pitch between neighbours at radius ρ is the arm's nominal width and
//! one slot: `dρ/dφ = −N (w(ρ) + g)/(2π)`. The width over the radius therefore fixes how far the slot winds.

use std::f64::consts::TAU;

use super::LayoutError;
use crate::numeric::MonotoneCubic;
use crate::numeric::quadrature::gauss2;

/// Pieces into which the radius is cut; between knots the line is Hermite cubic in the angle, which at this number
/// follows the exact spiral within some twenty nanometres for discs up to half a metre.
const PIECES: usize = 200;

/// Knots to either side of a guess among which a piece is looked for first.
const NEAR: usize = 4;

/// Change of the foot of a normal below which it counts as found (rad); the radius there is off by less than the pitch times it.
const FOUND: f64 = 1e-10;

/// Tangent of an angle up to which the angle is taken from its series, exact to the last digits there.
const SMALL: f64 = 0.02;

/// Foot of the normal from a place on a slot's edge to its centre line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Foot {
    /// how far it lies ahead of the place (rad); none before the first place
    ahead: Option<f64>,
    /// how much farther than at the place before (rad)
    drift: f64,
    /// change of the foot that takes a miss away, over the miss
    gain: f64,
    /// piece of the line on which it lies
    piece: usize,
}

impl Default for Foot {
    /// Nothing known.
    fn default() -> Self {
        Self { ahead: None, drift: 0.0, gain: 1.0, piece: 0 }
    }
}

/// The centre line of one slot. It starts at angle 0 on the rim side and winds towards positive angles.
#[derive(Debug, Clone, PartialEq)]
pub struct SlotLine {
    arms: usize,
    slot: f64,
    width: MonotoneCubic,
    /// knots from the rim inwards
    radius: Vec<f64>,
    angle: Vec<f64>,
    /// dρ/dφ there
    slope: Vec<f64>,
}

impl SlotLine {
    /// Winds the line from `outer` to `inner` radius (mm) for `arms` arms of nominal radial `width` over the slot
    /// radius (mm) and slots `slot` wide (mm).
    pub fn wind(
        arms: usize,
        slot: f64,
        outer: f64,
        inner: f64,
        width: MonotoneCubic,
    ) -> Result<Self, LayoutError> {
        if !(outer > inner && inner > 0.0 && slot > 0.0 && arms > 0) {
            return Err(LayoutError::Profile {
                what: "the slot",
                found: format!("from radius {outer} to {inner}, {slot} wide, {arms} arms"),
            });
        }
        let pitch = |rho: f64| width.value(rho) + slot;
        let mut radius = Vec::with_capacity(PIECES + 1);
        let mut angle = Vec::with_capacity(PIECES + 1);
        radius.push(outer);
        angle.push(0.0);
        let mut total = 0.0;
        for k in 1..=PIECES {
            let (from, to) = (radius[k - 1], outer + (inner - outer) * k as f64 / PIECES as f64);
            total += gauss2(to, from, |rho| TAU / (arms as f64 * pitch(rho)));
            radius.push(to);
            angle.push(total);
        }
        let slope = radius.iter().map(|rho| -(arms as f64) * pitch(*rho) / TAU).collect();
        Ok(Self { arms, slot, width, radius, angle, slope })
    }

    /// Number of slots, which is the number of arms.
    pub fn arms(&self) -> usize {
        self.arms
    }

    /// Slot width, normal to its centre line (mm).
    pub fn slot(&self) -> f64 {
        self.slot
    }

    /// Nominal arm width over the slot radius: radial pitch less slot (mm).
    pub fn nominal_width(&self) -> &MonotoneCubic {
        &self.width
    }

    /// How far the slot winds (rad).
    pub fn total_angle(&self) -> f64 {
        self.angle[PIECES]
    }

    /// Radius at which the line starts, on the rim side (mm).
    pub fn outer_radius(&self) -> f64 {
        self.radius[0]
    }

    /// Radius at which the line ends, on the hub side (mm).
    pub fn inner_radius(&self) -> f64 {
        self.radius[PIECES]
    }

    /// Radius at an angle between 0 and [`total_angle`](Self::total_angle) (mm); clamped to the ends outside.
    pub fn radius_at(&self, angle: f64) -> f64 {
        self.knotted(angle.clamp(0.0, self.total_angle()), &mut 0).0
    }

    /// Piece between two knots on which an angle lies; it is looked for near `guess` first.
    fn piece(&self, angle: f64, guess: usize) -> usize {
        let (low, high) = (guess.saturating_sub(NEAR), (guess + NEAR).min(PIECES));
        let near = self.angle[low] <= angle && angle < self.angle[high];
        let (low, high) = if near { (low, high) } else { (0, PIECES) };
        let after = self.angle[low..=high].partition_point(|&knot| knot <= angle);
        (low + after).clamp(1, PIECES) - 1
    }

    /// Radius and its slope over the angle, both of the line between its knots, at an angle within its ends.
    fn knotted(&self, angle: f64, guess: &mut usize) -> (f64, f64) {
        let i = self.piece(angle, *guess);
        *guess = i;
        let h = self.angle[i + 1] - self.angle[i];
        let s = (angle - self.angle[i]) / h;
        let (d0, d1) = (h * self.slope[i], h * self.slope[i + 1]);
        let rise = self.radius[i + 1] - self.radius[i];
        let (c2, c3) = (3.0 * rise - 2.0 * d0 - d1, d0 + d1 - 2.0 * rise);
        (self.radius[i] + s * (d0 + s * (c2 + s * c3)), (d0 + s * (2.0 * c2 + 3.0 * s * c3)) / h)
    }

    /// dρ/dφ at an angle (mm/rad), negative: the line winds inwards.
    pub fn slope_at(&self, angle: f64) -> f64 {
        self.slope_for(self.radius_at(angle))
    }

    /// d²ρ/dφ² at an angle (mm/rad²).
    pub fn second_slope_at(&self, angle: f64) -> f64 {
        // dρ/dφ = f(ρ), so d²ρ/dφ² = f′(ρ) f(ρ)
        let rho = self.radius_at(angle);
        let width_slope = self.width.value_and_slope(rho).1;
        -(self.arms as f64) * width_slope / TAU * self.slope_for(rho)
    }

    /// Position at an angle, for the slot that starts on the positive x axis (mm).
    pub fn point_at(&self, angle: f64) -> [f64; 2] {
        let rho = self.radius_at(angle);
        [rho * angle.cos(), rho * angle.sin()]
    }

    /// Radius of a slot edge at an azimuth (mm): the parallel curve at half the slot width, `side` +1 outside and
    /// −1 inside the centre line. Exact; beyond the line's ends the parallel of its end tangent is followed.
    pub fn edge_radius_at(&self, azimuth: f64, side: f64) -> f64 {
        self.edge_radius_near(azimuth, side, &mut Foot::default())
    }

    /// As [`edge_radius_at`](Self::edge_radius_at), with a guess of the foot of the normal: that of the last place serves the next, best
    /// of places evenly apart.
    pub(super) fn edge_radius_near(&self, azimuth: f64, side: f64, near: &mut Foot) -> f64 {
        let Foot { ahead, drift, gain, piece } = near;
        let mut offset = |angle: f64| {
            let (rho, slope) = self.extended(angle, piece);
            let scale = side * 0.5 * self.slot / (rho * rho + slope * slope).sqrt();
            // outward normal (ρ, −ρ′)/√(ρ² + ρ′²) in the (radial, tangential) frame at `angle`
            (rho + scale * rho, -scale * slope)
        };
        // the foot of the normal lies a few hundredths of a radian away: a secant from the last place's slope
        let miss = |foot: f64, edge: (f64, f64)| azimuth - direction(edge) - foot;
        let mut foot = azimuth + ahead.unwrap_or(0.0) + *drift;
        let mut edge = offset(foot);
        let mut off = miss(foot, edge);
        for _ in 0..20 {
            if off.abs() < FOUND {
                break;
            }
            let step = *gain * off;
            foot += step;
            edge = offset(foot);
            let next = miss(foot, edge);
            let fall = off - next;
            *gain = if fall == 0.0 { 1.0 } else { step / fall };
            off = next;
        }
        let found = foot - azimuth;
        *drift = ahead.map_or(0.0, |before| found - before);
        *ahead = Some(found);
        (edge.0 * edge.0 + edge.1 * edge.1).sqrt()
    }

    /// Radius and slope at an angle, continued along the end tangents.
    fn extended(&self, angle: f64, guess: &mut usize) -> (f64, f64) {
        let total = self.total_angle();
        if angle < 0.0 {
            (self.radius[0] + angle * self.slope[0], self.slope_for(self.radius[0] + angle * self.slope[0]))
        } else if angle > total {
            let rho = self.radius[PIECES] + (angle - total) * self.slope[PIECES];
            (rho, self.slope_for(rho))
        } else {
            self.knotted(angle, guess)
        }
    }

    fn slope_for(&self, rho: f64) -> f64 {
        -(self.arms as f64) * (self.width.value(rho) + self.slot) / TAU
    }
}

/// Angle of a place (radial, tangential) seen from the axis (rad).
fn direction((radial, tangential): (f64, f64)) -> f64 {
    let tangent = tangential / radial;
    if tangent.abs() < SMALL && radial > 0.0 {
        let square = tangent * tangent;
        return tangent * (1.0 - square * (1.0 / 3.0 - square * (0.2 - square / 7.0)));
    }
    tangential.atan2(radial)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn constant_width_winds_an_archimedean_spiral() {
        let width = MonotoneCubic::through(&[5.0, 50.0], &[3.2, 3.2]).unwrap();
        let line = SlotLine::wind(4, 0.8, 25.0, 9.0, width).unwrap();
        // pitch 4 mm for each quarter turn: 16 mm take one turn exactly
        assert_relative_eq!(line.total_angle(), TAU, max_relative = 1e-13);
        assert_relative_eq!(line.radius_at(1.0), 25.0 - 16.0 / TAU, max_relative = 1e-13);
    }

    #[test]
    fn the_series_of_a_small_angle_is_exact_to_the_last_digits() {
        for tangential in [-0.5, -0.2, 1e-3, 0.1, 0.199, 0.201, 0.49, 30.0] {
            for radial in [10.0, 24.0, -10.0] {
                assert_relative_eq!(
                    direction((radial, tangential)),
                    f64::atan2(tangential, radial),
                    max_relative = 1e-15
                );
            }
        }
    }

    #[test]
    fn the_parallel_edge_agrees_with_its_construction() {
        let width = MonotoneCubic::through(&[14.0, 40.0], &[3.0, 8.0]).unwrap();
        let line = SlotLine::wind(2, 1.2, 40.0, 14.0, width).unwrap();
        for side in [-1.0, 1.0] {
            for angle in [0.5, 3.0, 8.0, 12.0] {
                // a point of the true parallel curve, looked up at its own azimuth
                let (rho, slope) = (line.radius_at(angle), line.slope_at(angle));
                let norm = rho.hypot(slope);
                let (radial, along) = (rho + side * 0.6 * rho / norm, -side * 0.6 * slope / norm);
                let azimuth = angle + along.atan2(radial);
                let found = line.edge_radius_at(azimuth, side);
                assert!((found - radial.hypot(along)).abs() < 1e-9, "{found} {}", radial.hypot(along));
            }
        }
    }
}
