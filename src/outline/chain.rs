//! A chain of arcs: what a drawing calls a polyline with bulges.

use super::arc::{left, turned};
use super::{Arc, Point};

/// One corner of a chain; the bulge belongs to the arc that leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// position (mm)
    pub point: Point,
    /// bulge of the arc to the next vertex
    pub bulge: f64,
}

/// Arcs joined end to end. In an open chain the last vertex's bulge means nothing and is 0.
#[derive(Debug, Clone, PartialEq)]
pub struct ArcChain {
    /// the corners, the first one not repeated
    pub vertices: Vec<Vertex>,
    /// whether the last vertex is joined to the first
    pub closed: bool,
}

/// Sagitta below which an arc is drawn as a line (mm): far below what any machine resolves, and a bulge that small
/// makes readers put the centre kilometres away.
const LEAST_SAGITTA: f64 = 0.0005;

impl ArcChain {
    /// A full circle, counter-clockwise, as two half circles.
    pub fn circle(centre: Point, radius: f64) -> Self {
        let vertex = |x: f64| Vertex { point: [x, centre[1]], bulge: 1.0 };
        Self { vertices: vec![vertex(centre[0] + radius), vertex(centre[0] - radius)], closed: true }
    }

    /// Number of arcs.
    pub fn len(&self) -> usize {
        if self.closed { self.vertices.len() } else { self.vertices.len().saturating_sub(1) }
    }

    /// Whether there is no arc.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// One arc, counted from the first vertex.
    pub fn arc(&self, i: usize) -> Arc {
        let next = (i + 1) % self.vertices.len();
        Arc { start: self.vertices[i].point, end: self.vertices[next].point, bulge: self.vertices[i].bulge }
    }

    /// The arcs in order.
    pub fn arcs(&self) -> impl Iterator<Item = Arc> + '_ {
        (0..self.len()).map(|i| self.arc(i))
    }

    /// Length along the chain (mm).
    pub fn length(&self) -> f64 {
        self.arcs().map(|arc| arc.length()).sum()
    }

    /// Enclosed area, positive counter-clockwise (mm²).
    pub fn area(&self) -> f64 {
        self.arcs().map(|arc| arc.swept_area()).sum()
    }

    /// Smallest upright box around it: least and largest corner (mm); of an empty chain an inverted, infinite box.
    pub fn extents(&self) -> [Point; 2] {
        self.arcs().map(|arc| arc.extents()).fold(
            [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]],
            |[low, high], [l, h]| {
                [[low[0].min(l[0]), low[1].min(l[1])], [high[0].max(h[0]), high[1].max(h[1])]]
            },
        )
    }

    /// Length of the shortest arc (mm).
    pub fn shortest(&self) -> f64 {
        self.arcs().map(|arc| arc.length()).fold(f64::INFINITY, f64::min)
    }

    /// Distance from a point to the chain (mm).
    pub fn distance(&self, point: Point) -> f64 {
        self.arcs().map(|arc| arc.nearest(point).1).fold(f64::INFINITY, f64::min)
    }

    /// The parallel at `distance` to the left (mm): same centres, same bulges, and therefore exact.
    ///
    /// The arcs have to join tangentially. `None` where an arc curved to that side is smaller than the distance.
    pub fn parallel(&self, distance: f64) -> Option<Self> {
        let arcs: Vec<Arc> = self.arcs().collect();
        if arcs.iter().any(|arc| 1.0 - distance * arc.curvature() <= 0.0) {
            return None;
        }
        let count = arcs.len();
        let vertices = self.vertices.iter().enumerate().map(|(i, vertex)| {
            let leaving = (i < count).then(|| arcs[i].tangent_at(0.0));
            let before = if i > 0 { Some(i - 1) } else { self.closed.then(|| count - 1) };
            let arriving = before.map(|k| arcs[k].tangent_at(1.0));
            // both are the same but for rounding
            let tangent = match (arriving, leaving) {
                (Some(a), Some(b)) => {
                    let sum = [a[0] + b[0], a[1] + b[1]];
                    let size = sum[0].hypot(sum[1]);
                    [sum[0] / size, sum[1] / size]
                }
                (Some(one), None) | (None, Some(one)) => one,
                (None, None) => [0.0, 0.0],
            };
            let normal = left(tangent);
            Vertex {
                point: [vertex.point[0] + distance * normal[0], vertex.point[1] + distance * normal[1]],
                bulge: vertex.bulge,
            }
        });
        Some(Self { vertices: vertices.collect(), closed: self.closed })
    }

    /// The same chain walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let count = self.vertices.len();
        let vertices = (0..count)
            .map(|k| {
                let i = count - 1 - k;
                // the arc that now leaves vertex i is the one that used to arrive there
                let bulge = match (i, self.closed) {
                    (0, true) => -self.vertices[count - 1].bulge,
                    (0, false) => 0.0,
                    _ => -self.vertices[i - 1].bulge,
                };
                Vertex { point: self.vertices[i].point, bulge }
            })
            .collect();
        Self { vertices, closed: self.closed }
    }

    /// Turned about the origin (rad).
    #[must_use]
    pub fn turned(&self, angle: f64) -> Self {
        let vertices = self.vertices.iter().map(|v| Vertex { point: turned(v.point, angle), ..*v }).collect();
        Self { vertices, closed: self.closed }
    }

    /// Shifted by a vector (mm).
    #[must_use]
    pub fn shifted(&self, by: Point) -> Self {
        let vertices = self
            .vertices
            .iter()
            .map(|v| Vertex { point: [v.point[0] + by[0], v.point[1] + by[1]], ..*v })
            .collect();
        Self { vertices, closed: self.closed }
    }

    /// Mirrored at the x axis.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let vertices = self
            .vertices
            .iter()
            .map(|v| Vertex { point: [v.point[0], -v.point[1]], bulge: -v.bulge })
            .collect();
        Self { vertices, closed: self.closed }
    }

    /// Nearly straight arcs made straight.
    pub(super) fn straightened(mut self) -> Self {
        for i in 0..self.len() {
            if self.arc(i).sagitta() < LEAST_SAGITTA {
                self.vertices[i].bulge = 0.0;
            }
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    #[test]
    fn a_circle_has_its_length_area_and_parallel() {
        let circle = ArcChain::circle([3.0, -2.0], 5.0);
        assert_relative_eq!(circle.length(), 10.0 * PI, max_relative = 1e-14);
        assert_relative_eq!(circle.area(), 25.0 * PI, max_relative = 1e-14);
        let inner = circle.parallel(1.5).unwrap();
        assert_relative_eq!(inner.area(), 3.5 * 3.5 * PI, max_relative = 1e-13);
        assert!(circle.parallel(5.0).is_none());
        assert_relative_eq!(circle.reversed().area(), -25.0 * PI, max_relative = 1e-14);
        assert_eq!(circle.extents(), [[-2.0, -7.0], [8.0, 3.0]]);
    }

    #[test]
    fn the_way_back_is_the_same_set_of_arcs() {
        let vertex = |x, y, bulge| Vertex { point: [x, y], bulge };
        let chain = ArcChain {
            vertices: vec![vertex(0.0, 0.0, 0.2), vertex(4.0, 0.0, 0.0), vertex(4.0, 3.0, -0.4)],
            closed: true,
        };
        let mut forward: Vec<Arc> = chain.arcs().collect();
        let mut back: Vec<Arc> = chain.reversed().arcs().map(|arc| arc.reversed()).collect();
        let key = |arc: &Arc| arc.start[0] * 7.0 + arc.start[1];
        forward.sort_by(|a, b| key(a).total_cmp(&key(b)));
        back.sort_by(|a, b| key(a).total_cmp(&key(b)));
        assert_eq!(forward, back);
        assert_eq!(chain.reversed().reversed().length(), chain.length());
    }
}
