//! Stress at the surface of the arm from the moments in its sections.

use nalgebra::Vector3;

use super::centre_line::Section;
use super::section::{face_shear_per_twist, inner_edge_factor};

/// Surface shear of 3-D finite elements over that of a straight bar at the same twist. The straight-bar series lies
/// 2–3 % low along the whole arm of the reference disc (b/t = 2.7); where it would be exact this is on the safe side.
pub const SURFACE_MARGIN: f64 = 1.025;

/// Surface stress of one section (MPa).
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

/// Moments in a section of the arm, and the forces that bring them about in its plane.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SectionLoads {
    /// twisting moment (N·mm)
    pub twist: f64,
    /// bending moment out of the plane (N·mm)
    pub bending: f64,
    /// shear force out of the plane (N)
    pub shear: f64,
    /// force along the arm, above zero in tension (N)
    pub axial: f64,
    /// bending moment in the plane (N·mm)
    pub in_plane: f64,
}

impl SectionLoads {
    /// Out of the plane, of force (N) and moments (N·mm) that a section carries from the hub's side to the rim's.
    pub fn carried(section: &Section, force: &Vector3<f64>) -> Self {
        let [twist, bending] = section.moment_rows(section.position).map(|row| row.dot(force));
        Self { twist, bending, shear: force[0], ..Self::default() }
    }
}

/// Factors from the loads of one section to its surface stresses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StressFactors {
    /// shear at the centre per twisting moment (MPa per N·mm)
    pub shear: f64,
    /// shear at the inner edge over that at the centre
    pub edge: f64,
    /// bending stress per moment out of the plane (MPa per N·mm)
    pub bending: f64,
    /// stress per force along the arm (MPa/N)
    pub axial: f64,
    /// stress at the edges per moment in the plane (MPa per N·mm)
    pub in_plane: f64,
}

impl StressFactors {
    /// Factors of a section in a sheet of `shear_modulus` (MPa) and `thickness` (mm).
    ///
    /// Shear `kt G t θ′` at the middle of the face (Timoshenko & Goodier); bending `6M/(b t²)` out of the plane and
    /// `6M/(t b²)` in it.
    pub fn of(section: &Section, shear_modulus: f64, thickness: f64) -> Self {
        let (b, t) = (section.width, thickness);
        Self {
            shear: SURFACE_MARGIN * shear_modulus * face_shear_per_twist(b, t) / section.torsion,
            edge: inner_edge_factor(section.radial_width, t, section.radius),
            bending: 6.0 / (b * t * t),
            axial: 1.0 / (b * t),
            in_plane: 6.0 / (t * b * b),
        }
    }

    /// Square of the von Mises stress at the edge under the loads of a section (MPa²).
    pub fn square_at_edge(&self, loads: &SectionLoads) -> f64 {
        let direct = (self.bending * loads.bending).abs()
            + (self.axial * loads.axial).abs()
            + (self.in_plane * loads.in_plane).abs();
        let shear = self.edge * self.shear * loads.twist;
        direct * direct + 3.0 * shear * shear
    }

    /// Stress under the loads of a section.
    ///
    /// Direct stresses add to the worse of the two faces and, at the edge, of the two edges.
    pub fn stress(&self, loads: &SectionLoads) -> SurfaceStress {
        let shear = (self.shear * loads.twist).abs();
        let edge_shear = self.edge * shear;
        let bending = (self.bending * loads.bending).abs();
        let (axial, in_plane_bending) =
            ((self.axial * loads.axial).abs(), (self.in_plane * loads.in_plane).abs());
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
