//! A turned part: the solid that a profile in a plane through the axis leaves when it goes once round.

use super::boundary::{Boundary, Curve, Edge, Face, Surface};

/// Length below which a piece of the profile is left out (mm).
const LEAST: f64 = 1e-6;

/// The solid of revolution of a closed profile of straight lines, corners `[radius, height]` in mm, counter-clockwise.
/// Exact: cylinders, cones and planes, each in two halves. None where a cone would run to the axis, or of less than three
/// corners.
pub fn turned(profile: &[[f64; 2]]) -> Option<Boundary> {
    let mut corners: Vec<[f64; 2]> = Vec::with_capacity(profile.len());
    for corner in profile {
        let near = |other: &[f64; 2]| (other[0] - corner[0]).hypot(other[1] - corner[1]) < LEAST;
        if !corners.last().is_some_and(near) && !corners.first().is_some_and(near) {
            corners.push(*corner);
        }
    }
    if corners.len() < 3 {
        return None;
    }
    let mut solid = Boundary::default();
    // of every corner off the axis: two points, the half circles from the first to the second and back
    let mut circles: Vec<Option<[usize; 2]>> = Vec::with_capacity(corners.len());
    for &[radius, height] in &corners {
        if radius < LEAST {
            circles.push(None);
            continue;
        }
        let point = solid.points.len();
        solid.points.extend([[radius, 0.0, height], [-radius, 0.0, height]]);
        let curve = Curve::Circle { centre: [0.0, 0.0, height], radius, counter_clockwise: true };
        let edge = solid.edges.len();
        solid.edges.push(Edge { start: point, end: point + 1, curve });
        solid.edges.push(Edge { start: point + 1, end: point, curve });
        circles.push(Some([edge, edge + 1]));
    }
    for (k, &from) in corners.iter().enumerate() {
        let next = (k + 1) % corners.len();
        let to = corners[next];
        match (circles[k], circles[next]) {
            (None, None) => {}
            (Some(lower), Some(upper)) => wall(&mut solid, [from, to], lower, upper),
            (Some(circle), None) => lid(&mut solid, [from, to], circle.map(|edge| (edge, true)))?,
            (None, Some([first, second])) => {
                lid(&mut solid, [from, to], [(second, false), (first, false)])?;
            }
        }
    }
    Some(solid)
}

/// Two half faces between the circles of neighbouring corners.
fn wall(solid: &mut Boundary, [from, to]: [[f64; 2]; 2], lower: [usize; 2], upper: [usize; 2]) {
    let across = solid.edges.len();
    for half in 0..2 {
        let (start, end) = (solid.edges[lower[half]].start, solid.edges[upper[half]].start);
        solid.edges.push(Edge { start, end, curve: Curve::Line });
    }
    let [wide, rise] = [to[0] - from[0], to[1] - from[1]];
    let surface = if rise.abs() < LEAST {
        Surface::Plane { point: [0.0, 0.0, from[1]], normal: [0.0, 0.0, -wide.signum()] }
    } else if wide.abs() < LEAST {
        Surface::Cylinder { centre: [0.0; 3], radius: from[0], solid_inside: rise > 0.0 }
    } else {
        Surface::Cone {
            centre: [0.0, 0.0, from[1]],
            radius: from[0],
            slope: wide / rise,
            solid_inside: rise > 0.0,
        }
    };
    // round the axis, then along the profile: counter-clockwise seen from outside
    for half in 0..2 {
        let around = vec![
            (lower[half], true),
            (across + 1 - half, true),
            (upper[half], false),
            (across + half, false),
        ];
        solid.faces.push(Face { surface, loops: vec![around] });
    }
}

/// A level face without a hole; none where it is not level.
fn lid(solid: &mut Boundary, [from, to]: [[f64; 2]; 2], around: [(usize, bool); 2]) -> Option<()> {
    if (to[1] - from[1]).abs() >= LEAST {
        return None;
    }
    let normal = [0.0, 0.0, (from[0] - to[0]).signum()];
    let surface = Surface::Plane { point: [0.0, 0.0, from[1]], normal };
    solid.faces.push(Face { surface, loops: vec![around.to_vec()] });
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_are_those_of_the_profile_and_edges_are_shared() {
        let bored = [[20.0, -5.0], [20.0, 0.0], [15.0, 0.0], [8.0, 3.0], [4.0, 3.0], [4.0, -5.0]];
        let whole = [[20.0, -5.0], [20.0, 0.0], [15.0, 0.0], [8.0, 3.0], [0.0, 3.0], [0.0, -5.0]];
        for (profile, faces) in [(bored, 12), (whole, 8)] {
            let solid = turned(&profile).unwrap();
            assert_eq!(solid.faces.len(), faces);
            let mut used = vec![[0, 0]; solid.edges.len()];
            for (edge, forth) in solid.faces.iter().flat_map(|face| face.loops.iter().flatten()) {
                used[*edge][usize::from(*forth)] += 1;
            }
            assert!(used.iter().all(|count| *count == [1, 1]), "{used:?}");
        }
    }

    #[test]
    fn loops_are_closed() {
        let solid = turned(&[[20.0, -5.0], [20.0, 0.0], [8.0, 3.0], [4.0, 3.0], [4.0, -5.0]]).unwrap();
        for around in solid.faces.iter().flat_map(|face| &face.loops) {
            let ends: Vec<[usize; 2]> = around
                .iter()
                .map(|&(edge, forth)| {
                    let Edge { start, end, .. } = solid.edges[edge];
                    if forth { [start, end] } else { [end, start] }
                })
                .collect();
            for (k, [_, end]) in ends.iter().enumerate() {
                assert_eq!(*end, ends[(k + 1) % ends.len()][0]);
            }
        }
    }

    #[test]
    fn no_cone_to_the_axis() {
        assert!(turned(&[[20.0, -5.0], [20.0, 0.0], [0.0, 3.0], [0.0, -5.0]]).is_none());
        assert!(turned(&[[1.0, 0.0], [1.0, 0.0], [1.0, 1.0]]).is_none());
    }
}
