//! Stress at the surface of the arm from its strains.

use super::chain::Segment;
use super::section::{face_shear_per_twist, inner_edge_factor};

/// Surface shear of 3-D finite elements over that of a straight bar at the same twist. The straight-bar series lies
/// 2–3 % low along the whole arm of the reference disc (b/t = 2.7); where it would be exact this is on the safe side.
pub const SURFACE_MARGIN: f64 = 1.025;

/// Surface stress of one segment (MPa).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SurfaceStress {
    /// shear at the strip's centre line
    pub shear: f64,
    /// shear at the strip's inner edge
    pub edge_shear: f64,
    /// bending stress out of the plane
    pub bending: f64,
    /// in-plane axial stress of the arm
    pub axial: f64,
    /// in-plane bending stress, at the edges
    pub in_plane_bending: f64,
    /// von Mises at the strip's centre line
    pub centre: f64,
    /// von Mises at the strip's inner edge
    pub edge: f64,
}

/// Shear at the strip's centre line once it lies flat (MPa), whatever the load: `kt G t p/r²` with the `rise` p of the
/// former in mm per radian, at `radius` (mm) with `width` and `thickness` (mm).
pub fn flat_shear(shear_modulus: f64, width: f64, thickness: f64, rise: f64, radius: f64) -> f64 {
    shear_modulus * face_shear_per_twist(width, thickness) * rise / (radius * radius)
}

/// Von Mises stress of [`flat_shear`] at the strip's inner edge (MPa).
pub fn flat_edge_stress(shear_modulus: f64, width: f64, thickness: f64, rise: f64, radius: f64) -> f64 {
    let shear = flat_shear(shear_modulus, width, thickness, rise, radius);
    3f64.sqrt() * shear * inner_edge_factor(width, thickness, radius)
}

/// Factors from the strains of one segment to its surface stresses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StressFactors {
    /// shear at the centre per twist per length (MPa·mm)
    pub shear: f64,
    /// shear at the inner edge over that at the centre
    pub edge: f64,
    /// bending stress per curvature (MPa·mm)
    pub bending: f64,
}

impl StressFactors {
    /// Factors of a segment in a sheet of `shear_modulus` (MPa) and `thickness` (mm).
    ///
    /// Shear `kt G t θ′` at the middle of the face (Timoshenko & Goodier); bending `6M/(b t²)`.
    pub fn of(segment: &Segment, shear_modulus: f64, thickness: f64) -> Self {
        Self {
            shear: SURFACE_MARGIN * shear_modulus * face_shear_per_twist(segment.width, thickness),
            edge: inner_edge_factor(segment.radial_width, thickness, segment.radius),
            bending: 6.0 * segment.bending / (segment.width * thickness * thickness),
        }
    }

    /// Stress for the twist and slope differences over a segment (rad), axial stress and in-plane bending stress at
    /// the edge (MPa).
    ///
    /// Direct stresses add to the worse of the two faces and, at the edge, of the two edges.
    pub fn stress(&self, segment: &Segment, twist: f64, slope: f64, plane: [f64; 2]) -> SurfaceStress {
        let shear = (self.shear * twist / segment.length).abs();
        let edge_shear = self.edge * shear;
        let bending = (self.bending * slope / segment.length).abs();
        let [axial, in_plane_bending] = plane.map(f64::abs);
        let von_mises = |direct: f64, shear: f64| (direct * direct + 3.0 * shear * shear).sqrt();
        SurfaceStress {
            shear,
            edge_shear,
            bending,
            axial,
            in_plane_bending,
            centre: von_mises(bending + axial, shear),
            edge: von_mises(bending + axial + in_plane_bending, edge_shear),
        }
    }
}
