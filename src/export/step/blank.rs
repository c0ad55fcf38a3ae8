//! The flat blank: the drawing's contours, one sheet thick.

use super::boundary::{Boundary, Curve, Edge, Face, Surface};
use crate::outline::{Arc, ArcChain, Outline, Role, Vertex};

/// The blank of an outline in sheet `thickness` mm thick, its lower face on z = 0. None for an outline without an outside.
///
/// Every line of the drawing becomes a plane, every arc a cylinder; edges are upright and as wide as at mid-thickness.
pub fn blank(outline: &Outline, thickness: f64) -> Option<Boundary> {
    let outside = outline.role(Role::Outside).next()?.chain.clone();
    let mut contours = vec![outside];
    for contour in &outline.contours {
        match contour.role {
            // counter-clockwise on the drawing; round a hole the metal lies on the other side
            Role::Bore | Role::Slot => contours.push(contour.chain.reversed()),
            Role::CutOnLine => contours.push(one_pass(&contour.chain, outline.slot)?.reversed()),
            Role::Outside | Role::Path | Role::Entry => {}
        }
    }
    let mut solid = Boundary::default();
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    for chain in &contours {
        let [below, above] = walls(&mut solid, chain, thickness);
        lower.push(below);
        upper.push(above);
    }
    let level = |z: f64, up: f64| Surface::Plane { point: [0.0, 0.0, z], normal: [0.0, 0.0, up] };
    solid.faces.push(Face { surface: level(0.0, -1.0), loops: lower });
    solid.faces.push(Face { surface: level(thickness, 1.0), loops: upper });
    Some(solid)
}

/// Upright faces along a contour with the metal to its left; its lower and upper edges as loops of the level faces.
fn walls(solid: &mut Boundary, chain: &ArcChain, thickness: f64) -> [Vec<(usize, bool)>; 2] {
    let arcs: Vec<Arc> = chain.arcs().collect();
    let count = arcs.len();
    let (first_point, first_edge) = (solid.points.len(), solid.edges.len());
    for arc in &arcs {
        let [x, y] = arc.start;
        solid.points.extend([[x, y, 0.0], [x, y, thickness]]);
    }
    let corner = |i: usize, side: usize| first_point + 2 * (i % count) + side;
    // of every arc: lower edge, upper edge, the upright one at its start
    let edge = |i: usize, which: usize| first_edge + 3 * (i % count) + which;
    for (i, arc) in arcs.iter().enumerate() {
        let curve = |z: f64| match arc.centre() {
            Some([x, y]) => {
                Curve::Circle { centre: [x, y, z], radius: arc.radius(), counter_clockwise: arc.bulge > 0.0 }
            }
            None => Curve::Line,
        };
        for (side, z) in [(0, 0.0), (1, thickness)] {
            solid.edges.push(Edge { start: corner(i, side), end: corner(i + 1, side), curve: curve(z) });
        }
        solid.edges.push(Edge { start: corner(i, 0), end: corner(i, 1), curve: Curve::Line });
    }
    for (i, arc) in arcs.iter().enumerate() {
        let surface = if let Some([x, y]) = arc.centre() {
            Surface::Cylinder { centre: [x, y, 0.0], radius: arc.radius(), solid_inside: arc.bulge > 0.0 }
        } else {
            let [x, y] = arc.tangent_at(0.5);
            Surface::Plane { point: [arc.start[0], arc.start[1], 0.0], normal: [y, -x, 0.0] }
        };
        let around =
            vec![(edge(i, 0), true), (edge(i + 1, 2), true), (edge(i, 1), false), (edge(i, 2), false)];
        solid.faces.push(Face { surface, loops: vec![around] });
    }
    [
        (0..count).rev().map(|i| (edge(i, 0), false)).collect(),
        (0..count).map(|i| (edge(i, 1), true)).collect(),
    ]
}

/// The slot that one pass along its centre line leaves, counter-clockwise; none where it is bent too tightly.
fn one_pass(line: &ArcChain, slot: f64) -> Option<ArcChain> {
    let half = 0.5 * slot;
    let mut vertices: Vec<Vertex> = line.parallel(-half)?.vertices;
    let back = line.parallel(half)?.reversed().vertices;
    // half circles round both ends
    vertices.last_mut()?.bulge = 1.0;
    vertices.extend(back);
    vertices.last_mut()?.bulge = 1.0;
    Some(ArcChain { vertices, closed: true })
}
