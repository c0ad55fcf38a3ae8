//! A closed surface of triangles as plane faces.

use std::collections::BTreeMap;

use super::boundary::{Boundary, Curve, Edge, Face, Surface};
use crate::export::stl::Solid;

/// The solid within a closed surface of triangles; every triangle becomes a plane face.
pub fn faceted(solid: &Solid) -> Boundary {
    let mut boundary = Boundary { points: solid.points.clone(), ..Boundary::default() };
    let mut known: BTreeMap<[usize; 2], usize> = BTreeMap::new();
    for triangle in &solid.triangles {
        let [a, b, c] = triangle.map(|corner| solid.points[corner]);
        let (u, v) = (less(b, a), less(c, a));
        let cross = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
        let size = (cross[0] * cross[0] + cross[1] * cross[1] + cross[2] * cross[2]).sqrt();
        let around = [[0, 1], [1, 2], [2, 0]].map(|[from, to]| {
            let (start, end) = (triangle[from], triangle[to]);
            let forth = start < end;
            let key = if forth { [start, end] } else { [end, start] };
            let next = boundary.edges.len();
            let edge = *known.entry(key).or_insert(next);
            if edge == next {
                boundary.edges.push(Edge { start: key[0], end: key[1], curve: Curve::Line });
            }
            (edge, forth)
        });
        let surface = Surface::Plane { point: a, normal: cross.map(|part| part / size) };
        boundary.faces.push(Face { surface, loops: vec![around.to_vec()] });
    }
    boundary
}

fn less(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
