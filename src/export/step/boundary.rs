//! A solid by its boundary: corners, edges, faces.

/// A solid by its boundary. mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Boundary {
    /// corners
    pub(super) points: Vec<[f64; 3]>,
    /// edges
    pub(super) edges: Vec<Edge>,
    /// faces
    pub(super) faces: Vec<Face>,
}

/// An edge between two corners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    /// corner where it begins
    pub start: usize,
    /// corner where it ends
    pub end: usize,
    /// its curve
    pub curve: Curve,
}

/// Curve of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Curve {
    /// straight
    Line,
    /// part of a level circle
    Circle {
        /// its centre (mm)
        centre: [f64; 3],
        /// its radius (mm)
        radius: f64,
        /// whether the edge runs counter-clockwise seen from above
        counter_clockwise: bool,
    },
}

/// Surface of a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Surface {
    /// through a point, with a normal of length one
    Plane {
        /// the point (mm)
        point: [f64; 3],
        /// the normal, out of the solid
        normal: [f64; 3],
    },
    /// round an upright axis
    Cylinder {
        /// a point of the axis (mm)
        centre: [f64; 3],
        /// the radius (mm)
        radius: f64,
        /// whether the solid lies inside the radius
        solid_inside: bool,
    },
    /// a cone round an upright axis
    Cone {
        /// a point of the axis (mm)
        centre: [f64; 3],
        /// the radius at its height (mm)
        radius: f64,
        /// change of the radius with height, not zero
        slope: f64,
        /// whether the solid lies inside the radius
        solid_inside: bool,
    },
}

/// A face.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Face {
    /// its surface
    pub surface: Surface,
    /// loops of edges with their directions, counter-clockwise seen from outside; the outer one first
    pub loops: Vec<Vec<(usize, bool)>>,
}
