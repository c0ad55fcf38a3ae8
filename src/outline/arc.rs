//! One line or circular arc, given as a drawing gives it: two ends and a bulge.
//!
//! The bulge is the tangent of a quarter of the arc's angle, positive to the left of the chord's way (counter-clockwise);
//! 0 is a straight line, ±1 a half circle. (Autodesk, DXF Reference, VERTEX, group code 42.)

use super::Point;

/// A line or arc from `start` to `end` (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// where it starts
    pub start: Point,
    /// where it ends
    pub end: Point,
    /// tangent of a quarter of its angle, signed
    pub bulge: f64,
}

/// Share of the length by which a crossing may lie beyond an end: two arcs share their joint, and rounding must not lose
/// a crossing between them.
const SLACK: f64 = 1e-9;

fn inside(share: f64) -> bool {
    (-SLACK..=1.0 + SLACK).contains(&share)
}

pub(super) fn plus(a: Point, scale: f64, b: Point) -> Point {
    [a[0] + scale * b[0], a[1] + scale * b[1]]
}

pub(super) fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}

pub(super) fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub(super) fn cross(a: Point, b: Point) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(super) fn distance(a: Point, b: Point) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A vector turned by a quarter to the left.
pub(super) fn left(a: Point) -> Point {
    [-a[1], a[0]]
}

/// A vector turned by an angle (rad), counter-clockwise.
pub(super) fn turned(a: Point, angle: f64) -> Point {
    let (sin, cos) = angle.sin_cos();
    [cos * a[0] - sin * a[1], sin * a[0] + cos * a[1]]
}

impl Arc {
    /// Length of the chord (mm).
    pub fn chord(&self) -> f64 {
        distance(self.start, self.end)
    }

    /// Angle it turns through (rad), positive to the left.
    pub fn sweep(&self) -> f64 {
        4.0 * self.bulge.atan()
    }

    /// Curvature (1/mm), positive to the left.
    pub fn curvature(&self) -> f64 {
        if self.bulge == 0.0 {
            return 0.0;
        }
        4.0 * self.bulge / (self.chord() * (1.0 + self.bulge * self.bulge))
    }

    /// Radius (mm); infinite for a line.
    pub fn radius(&self) -> f64 {
        1.0 / self.curvature().abs()
    }

    /// Centre of the circle (mm), unless it is a line.
    pub fn centre(&self) -> Option<Point> {
        (self.bulge != 0.0).then(|| {
            let middle = [0.5 * (self.start[0] + self.end[0]), 0.5 * (self.start[1] + self.end[1])];
            let way = (1.0 - self.bulge * self.bulge) / (4.0 * self.bulge);
            plus(middle, way, left(minus(self.end, self.start)))
        })
    }

    /// Length along the arc (mm).
    pub fn length(&self) -> f64 {
        let half = 0.5 * self.sweep();
        if half.abs() < 1e-4 {
            self.chord() * (1.0 + half * half / 6.0)
        } else {
            self.chord() * half / half.sin()
        }
    }

    /// Unit tangent at a share of the length, 0 at the start and 1 at the end.
    pub fn tangent_at(&self, share: f64) -> Point {
        let chord = self.chord();
        let along = minus(self.end, self.start);
        let unit = [along[0] / chord, along[1] / chord];
        turned(unit, self.sweep() * (share - 0.5))
    }

    /// Point at a share of the length.
    pub fn point_at(&self, share: f64) -> Point {
        let part = 0.5 * share * self.sweep();
        let reach =
            if self.bulge == 0.0 { share * self.chord() } else { 2.0 * part.sin() / self.curvature() };
        plus(self.start, reach, turned(self.tangent_at(0.0), part))
    }

    /// The piece between two shares of the length.
    #[must_use]
    pub fn piece(&self, from: f64, to: f64) -> Self {
        let end = |share: f64| match share {
            0.0 => self.start,
            1.0 => self.end,
            _ => self.point_at(share),
        };
        Self { start: end(from), end: end(to), bulge: (0.25 * (to - from) * self.sweep()).tan() }
    }

    /// The same way back.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self { start: self.end, end: self.start, bulge: -self.bulge }
    }

    /// Height of the arc over its chord (mm).
    pub fn sagitta(&self) -> f64 {
        0.5 * self.bulge.abs() * self.chord()
    }

    /// Share of the length at which a point of the full circle or line lies; outside 0…1 it is beyond the arc.
    pub fn share_of(&self, point: Point) -> f64 {
        match self.centre() {
            None => {
                let along = minus(self.end, self.start);
                dot(minus(point, self.start), along) / dot(along, along)
            }
            Some(centre) => {
                let (from, to) = (minus(self.start, centre), minus(point, centre));
                let sweep = self.sweep();
                // the turn counted from the middle of the arc, so that both sides beyond its ends are told apart
                let from_middle = turned(from, 0.5 * sweep);
                let turn = cross(from_middle, to).atan2(dot(from_middle, to));
                0.5 + turn / sweep
            }
        }
    }

    /// Nearest place to a point: share of the length and distance (mm).
    pub fn nearest(&self, point: Point) -> (f64, f64) {
        let share = self.share_of(point);
        if (0.0..=1.0).contains(&share) {
            let away = match self.centre() {
                Some(centre) => (distance(point, centre) - self.radius()).abs(),
                None => distance(point, self.point_at(share)),
            };
            return (share, away);
        }
        let (first, last) = (distance(point, self.start), distance(point, self.end));
        if first <= last { (0.0, first) } else { (1.0, last) }
    }

    /// Smallest upright box around it: least and largest corner (mm).
    pub fn extents(&self) -> [Point; 2] {
        let mut low = [self.start[0].min(self.end[0]), self.start[1].min(self.end[1])];
        let mut high = [self.start[0].max(self.end[0]), self.start[1].max(self.end[1])];
        if let Some(centre) = self.centre() {
            let radius = self.radius();
            for way in [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]] {
                let extreme = plus(centre, radius, way);
                if (0.0..=1.0).contains(&self.share_of(extreme)) {
                    for k in 0..2 {
                        low[k] = low[k].min(extreme[k]);
                        high[k] = high[k].max(extreme[k]);
                    }
                }
            }
        }
        [low, high]
    }

    /// Area between the arc and the origin, positive counter-clockwise (mm²): summed over a closed chain it is the
    /// enclosed area.
    pub fn swept_area(&self) -> f64 {
        let triangle = 0.5 * cross(self.start, self.end);
        let sweep = self.sweep();
        let chord = self.chord();
        // circular segment ½ r² (θ − sin θ), by its series where the difference would cancel
        let segment = if sweep.abs() < 1e-2 {
            chord * chord * sweep / 12.0 * (1.0 + sweep * sweep / 30.0)
        } else {
            0.5 * self.radius().powi(2) * (sweep - sweep.sin())
        };
        triangle + segment
    }

    /// Where a line through `origin` along the unit vector `way` meets the arc: distances along the line (mm) and
    /// shares of the arc.
    pub fn crossings_of_line(&self, origin: Point, way: Point) -> Vec<(f64, f64)> {
        let Some(centre) = self.centre() else {
            let along = minus(self.end, self.start);
            let across = cross(way, along);
            if across == 0.0 {
                return Vec::new();
            }
            let from = minus(self.start, origin);
            let share = cross(from, way) / across;
            let reach = cross(from, along) / across;
            return if inside(share) { vec![(reach, share)] } else { Vec::new() };
        };
        let to_centre = minus(centre, origin);
        let (foot, off) = (dot(to_centre, way), cross(way, to_centre));
        let square = self.radius().powi(2) - off * off;
        if square < 0.0 {
            return Vec::new();
        }
        [foot - square.sqrt(), foot + square.sqrt()]
            .into_iter()
            .map(|reach| (reach, self.share_of(plus(origin, reach, way))))
            .filter(|&(_, share)| inside(share))
            .collect()
    }

    /// Where two arcs meet: shares of this one and of the other. Arcs on the same circle or line meet nowhere here.
    pub fn crossings(&self, other: &Self) -> Vec<(f64, f64)> {
        match (self.centre(), other.centre()) {
            (_, None) => {
                let along = minus(other.end, other.start);
                let length = other.chord();
                self.crossings_of_line(other.start, [along[0] / length, along[1] / length])
                    .into_iter()
                    .map(|(reach, share)| (share, reach / length))
                    .filter(|&(_, share)| inside(share))
                    .collect()
            }
            (None, Some(_)) => other.crossings(self).into_iter().map(|(a, b)| (b, a)).collect(),
            (Some(a), Some(b)) => {
                let (ra, rb, apart) = (self.radius(), other.radius(), distance(a, b));
                if apart <= 1e-12 * (ra + rb) {
                    return Vec::new();
                }
                let along = (apart * apart + ra * ra - rb * rb) / (2.0 * apart);
                let square = ra * ra - along * along;
                if square < 0.0 {
                    return Vec::new();
                }
                let way = [(b[0] - a[0]) / apart, (b[1] - a[1]) / apart];
                let foot = plus(a, along, way);
                [square.sqrt(), -square.sqrt()]
                    .into_iter()
                    .map(|up| plus(foot, up, left(way)))
                    .map(|point| (self.share_of(point), other.share_of(point)))
                    .filter(|&(one, two)| inside(one) && inside(two))
                    .collect()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};
    use std::f64::consts::{FRAC_PI_2, PI};

    fn quarter() -> Arc {
        Arc { start: [2.0, 0.0], end: [0.0, 2.0], bulge: (PI / 8.0).tan() }
    }

    #[test]
    fn a_quarter_circle_is_measured_as_one() {
        let arc = quarter();
        let centre = arc.centre().unwrap();
        assert_abs_diff_eq!(centre[0], 0.0, epsilon = 1e-14);
        assert_abs_diff_eq!(centre[1], 0.0, epsilon = 1e-14);
        assert_relative_eq!(arc.radius(), 2.0, max_relative = 1e-14);
        assert_relative_eq!(arc.length(), PI, max_relative = 1e-14);
        assert_relative_eq!(arc.sweep(), FRAC_PI_2, max_relative = 1e-14);
        assert_relative_eq!(arc.swept_area(), PI, max_relative = 1e-14);
        let middle = arc.point_at(0.5);
        assert_relative_eq!(middle[0], 2f64.sqrt(), max_relative = 1e-14);
        assert_abs_diff_eq!(arc.tangent_at(0.0)[0], 0.0, epsilon = 1e-14);
        for (found, expected) in arc.extents().concat().iter().zip([0.0, 0.0, 2.0, 2.0]) {
            assert_abs_diff_eq!(*found, expected, epsilon = 1e-14);
        }
        assert_relative_eq!(Arc { bulge: -arc.bulge, ..arc }.swept_area(), 4.0 - PI, max_relative = 1e-14);
    }

    #[test]
    fn the_nearest_place_beyond_an_end_is_that_end() {
        let arc = quarter();
        assert_eq!(arc.nearest([3.0, -1.0]).0, 0.0);
        assert_eq!(arc.nearest([-1.0, 3.0]).0, 1.0);
        let (share, away) = arc.nearest([3.0, 3.0]);
        assert_relative_eq!(share, 0.5, max_relative = 1e-14);
        assert_relative_eq!(away, 18f64.sqrt() - 2.0, max_relative = 1e-14);
    }

    #[test]
    fn crossings_lie_on_both() {
        let arc = quarter();
        let line = Arc { start: [0.0, 0.0], end: [3.0, 3.0], bulge: 0.0 };
        let other = Arc { start: [0.0, 1.0], end: [3.0, 1.0], bulge: 0.3 };
        for partner in [line, other] {
            let found = arc.crossings(&partner);
            assert_eq!(found.len(), 1, "{found:?}");
            let (one, two) = found[0];
            assert!(distance(arc.point_at(one), partner.point_at(two)) < 1e-12);
        }
        assert!(arc.crossings(&Arc { start: [0.0, 0.0], end: [1.0, 1.0], bulge: 0.0 }).is_empty());
    }

    #[test]
    fn a_piece_keeps_the_circle() {
        let arc = quarter();
        let piece = arc.piece(0.25, 0.75);
        assert_relative_eq!(piece.radius(), 2.0, max_relative = 1e-13);
        assert_relative_eq!(piece.length(), FRAC_PI_2, max_relative = 1e-13);
    }
}
