//! One slot: its centre line as a curve, and the contour round it.

use super::arc::{cross, dot, left, minus, plus};
use super::{Arc, ArcChain, CurvePoint, PlaneCurve, Point, Vertex};
use crate::layout::SlotLine;

/// The centre line of a slot, over its winding angle.
#[derive(Debug, Clone, Copy)]
pub struct SlotCentre<'a>(pub &'a SlotLine);

impl PlaneCurve for SlotCentre<'_> {
    fn range(&self) -> [f64; 2] {
        [0.0, self.0.total_angle()]
    }

    fn at(&self, angle: f64) -> CurvePoint {
        let (rho, slope) = (self.0.radius_at(angle), self.0.slope_at(angle));
        polar(angle, rho, slope, self.0.second_slope_at(angle))
    }
}

/// A place on a curve given in polar form: radius and its first two derivatives over the angle.
pub(super) fn polar(angle: f64, rho: f64, slope: f64, second: f64) -> CurvePoint {
    let (sin, cos) = angle.sin_cos();
    let speed = rho.hypot(slope);
    CurvePoint {
        position: [rho * cos, rho * sin],
        tangent: [(slope * cos - rho * sin) / speed, (slope * sin + rho * cos) / speed],
        speed,
        // (ρ² + 2ρ′² − ρρ″)/(ρ² + ρ′²)^{3/2} (plane curve in polar coordinates; any text on differential geometry)
        curvature: (rho * rho + 2.0 * slope * slope - rho * second) / speed.powi(3),
    }
}

/// How a slot's contour is closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum EndClosing {
    /// half circles
    Round,
    /// holes of this diameter (mm) that touch the flank on the arm's side
    Keyhole(f64),
    /// holes of this diameter (mm) centred on the ends of the centre line
    Bulb(f64),
}

/// The counter-clockwise contour of a slot `width` mm wide about its centre line, which runs from the rim to the hub
/// with the hub on its left. `None` where the centre line is bent tighter than half the width, or the slot is
/// shorter than its keyholes.
pub(super) fn contour(centre: &ArcChain, width: f64, closing: EndClosing, least: f64) -> Option<ArcChain> {
    let outer = centre.parallel(-0.5 * width)?;
    let inner = centre.parallel(0.5 * width)?;
    let mut vertices = Vec::with_capacity(2 * outer.vertices.len() + 4);
    match closing {
        EndClosing::Round => {
            let half_circle = |chain: &ArcChain, vertices: &mut Vec<Vertex>| {
                vertices.extend_from_slice(&chain.vertices);
                if let Some(last) = vertices.last_mut() {
                    last.bulge = 1.0;
                }
            };
            half_circle(&outer, &mut vertices);
            half_circle(&inner.reversed(), &mut vertices);
        }
        EndClosing::Keyhole(diameter) => {
            // each hole touches the flank on the arm's side where the slot ends and reaches away from the arm: at the
            // rim the arm lies to the left, at the hub to the right
            let back = inner.reversed();
            let rim = Hole::touching(back.vertices.last()?.point, &back.arc(back.len() - 1), diameter);
            let hub = Hole::touching(outer.vertices.last()?.point, &outer.arc(outer.len() - 1), diameter);
            let outer = rim.cut_start(&outer, least)?;
            let back = hub.cut_start(&back, least)?;
            hub.append_after(&outer, back.vertices[0].point, &mut vertices);
            rim.append_after(&back, outer.vertices[0].point, &mut vertices);
        }
        EndClosing::Bulb(diameter) => {
            let radius = 0.5 * diameter;
            let rim = Hole { centre: centre.vertices.first()?.point, radius };
            let hub = Hole { centre: centre.vertices.last()?.point, radius };
            let between = |flank: &ArcChain, from: &Hole, to: &Hole| {
                Some(to.cut_start(&from.cut_start(flank, least)?.reversed(), least)?.reversed())
            };
            let outer = between(&outer, &rim, &hub)?;
            let back = between(&inner.reversed(), &hub, &rim)?;
            hub.append_after(&outer, back.vertices[0].point, &mut vertices);
            rim.append_after(&back, outer.vertices[0].point, &mut vertices);
        }
    }
    Some(ArcChain { vertices, closed: true })
}

/// The hole at the end of a keyhole slot.
struct Hole {
    centre: Point,
    radius: f64,
}

impl Hole {
    /// Touches the end of a flank that is walked with the slot on its left.
    fn touching(end: Point, flank: &Arc, diameter: f64) -> Self {
        let radius = 0.5 * diameter;
        Self { centre: plus(end, radius, left(flank.tangent_at(1.0))), radius }
    }

    /// A flank that starts inside the hole, from where it comes out.
    fn cut_start(&self, flank: &ArcChain, least: f64) -> Option<ArcChain> {
        let circle = ArcChain::circle(self.centre, self.radius);
        let (i, share) = flank.arcs().enumerate().find_map(|(i, arc)| {
            circle
                .arcs()
                .flat_map(|half| arc.crossings(&half))
                .map(|(share, _)| share.clamp(0.0, 1.0))
                .max_by(f64::total_cmp)
                .map(|share| (i, share))
        })?;
        let arc = flank.arc(i);
        let start = arc.point_at(share);
        let rest = arc.piece(share, 1.0);
        let mut vertices = vec![Vertex { point: start, bulge: rest.bulge }];
        let mut next = i + 1;
        if rest.length() < least && next < flank.len() {
            // too short to be drawn: one arc to the end of the next one, with that one's tangent
            let following = flank.arc(next);
            let chord = minus(following.end, start);
            let tangent = following.tangent_at(1.0);
            let (turn, along) = (cross(chord, tangent), dot(chord, tangent));
            vertices[0].bulge = turn / (turn.hypot(along) + along);
            next += 1;
        }
        vertices.extend_from_slice(flank.vertices.get(next..)?);
        (vertices.len() >= 2).then_some(ArcChain { vertices, closed: false })
    }

    /// A flank, then the way round the hole to `target`, in two arcs; the target itself is left to what follows.
    fn append_after(&self, flank: &ArcChain, target: Point, vertices: &mut Vec<Vertex>) {
        vertices.extend_from_slice(&flank.vertices);
        let Some(last) = vertices.last_mut() else { return };
        let (from, to) = (minus(last.point, self.centre), minus(target, self.centre));
        let sweep = cross(from, to).atan2(dot(from, to)).rem_euclid(std::f64::consts::TAU);
        let bulge = (sweep / 8.0).tan();
        last.bulge = bulge;
        let middle = super::arc::turned(from, 0.5 * sweep);
        vertices.push(Vertex { point: plus(self.centre, 1.0, middle), bulge });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    fn arc_line() -> ArcChain {
        // an eighth turn about the origin, then another
        let at = |angle: f64| [20.0 * angle.cos(), 20.0 * angle.sin()];
        let bulge = (PI / 16.0).tan();
        let vertex = |angle, bulge| Vertex { point: at(angle), bulge };
        ArcChain {
            vertices: vec![vertex(0.0, bulge), vertex(PI / 4.0, bulge), vertex(PI / 2.0, 0.0)],
            closed: false,
        }
    }

    #[test]
    fn a_round_slot_has_the_area_of_its_strip_and_two_half_discs() {
        let slot = contour(&arc_line(), 1.2, EndClosing::Round, 0.05).unwrap();
        assert_relative_eq!(slot.area(), 10.0 * PI * 1.2 + PI * 0.36, max_relative = 1e-12);
        assert_eq!(slot.len(), 6);
    }

    #[test]
    fn a_bulb_adds_both_holes_to_the_slot() {
        let (slot, diameter) = (1.0, 2.4);
        let bulb = contour(&arc_line(), slot, EndClosing::Bulb(diameter), 0.05).unwrap();
        let plain = contour(&arc_line(), slot, EndClosing::Round, 0.05).unwrap();
        // a hole over a round strip: the hole less the strip's piece inside it, less the strip's half disc; the piece
        // reaches from the middle of the hole to the chord of width s, and on to the arc (plane geometry)
        let radius: f64 = 0.5 * diameter;
        let half_angle = (0.5 * slot / radius).asin();
        let strip = 0.5 * slot * radius * half_angle.cos() + radius * radius * half_angle;
        let gain = PI * radius * radius - strip - PI * slot * slot / 8.0;
        assert_relative_eq!(bulb.area(), plain.area() + 2.0 * gain, max_relative = 2e-3);
        let end = [20.0, 0.0];
        for arc in bulb.arcs() {
            let point = arc.point_at(0.5);
            let away = (point[0] - end[0]).hypot(point[1] - end[1]);
            assert!(away > radius - 1e-9, "{point:?} lies inside the hole");
        }
        assert!(bulb.arcs().all(|arc| arc.bulge.abs() <= 1.0));
    }

    #[test]
    fn a_keyhole_leaves_the_flank_on_the_arms_side_whole() {
        let slot = contour(&arc_line(), 1.0, EndClosing::Keyhole(2.4), 0.05).unwrap();
        // rim end at (20, 0): the arm lies towards the centre, so nothing reaches inside radius 19.5
        // hub end at (0, 20): the arm lies outside, so nothing reaches outside radius 20.5
        for arc in slot.arcs() {
            for k in 0..=20 {
                let point = arc.point_at(f64::from(k) / 20.0);
                let radius = point[0].hypot(point[1]);
                let near_rim = point[1] < 5.0;
                if near_rim {
                    assert!(radius >= 19.5 - 1e-9, "reaches in to {radius}");
                } else {
                    assert!(radius <= 20.5 + 1e-9, "reaches out to {radius}");
                }
            }
        }
        let [low, _] = slot.extents();
        assert!(low[1] < -1.1, "no hole at the rim: {low:?}");
        assert!(slot.arcs().all(|arc| arc.bulge.abs() <= 1.0));
    }
}
