//! The centre line of an arm between its nodes: sections on it, and the pieces over which they are integrated.
//!
//! Between two nodes radius and radial width are linear in the angle, an Archimedean spiral. Two Gauss–Legendre places a
//! piece integrate what varies along it exactly up to the third power of the length.

use nalgebra::Vector3;

use super::section::{CurvedStrip, bending_stiffness, curved_strip_factor, torsion_constant};
use super::warping::Restraint;
use crate::layout::{ArmPath, SheetProperties};
pub use crate::numeric::quadrature::TWO_POINT;

/// Stiffness of sections.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SectionLaw {
    /// effect of the strip's curvature on its torsional stiffness
    pub curved_strip: CurvedStrip,
    /// whether flat arms bend with the plate modulus E/(1−ν²). Their edges are free, so that they do not; with contact on the
    /// centre line alone it made up for some of what contact at the edges does
    pub plate_bending: bool,
    /// whether sections at ideal clamps warp as those in the middle do, instead of being kept plane
    pub free_ends: bool,
}

impl SectionLaw {
    /// Poisson's ratio by which sections bend.
    pub fn poisson(&self, sheet: &SheetProperties) -> f64 {
        if self.plate_bending { sheet.poisson() } else { 0.0 }
    }
}

/// One section of the arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// place on the centre line (mm)
    pub position: [f64; 2],
    /// direction of the arm
    pub cosine: f64,
    /// direction of the arm
    pub sine: f64,
    /// winding angle (rad)
    pub angle: f64,
    /// radius of the arm centre (mm)
    pub radius: f64,
    /// change of the radius with the angle (mm/rad)
    pub pitch: f64,
    /// arc length per angle (mm/rad)
    pub speed: f64,
    /// curvature of the centre line in plan, change of direction per length (1/mm)
    pub curvature: f64,
    /// width along the radius (mm)
    pub radial_width: f64,
    /// width normal to the arm (mm)
    pub width: f64,
    /// torsional stiffness G·J with the curved-strip factor (N·mm²)
    pub torsion: f64,
    /// bending stiffness out of the plane (N·mm²)
    pub bending: f64,
    /// stiffness along the arm E·A (N)
    pub axial: f64,
    /// bending in-plane stiffness E·I (N·mm²)
    pub in_plane: f64,
}

impl Section {
    /// At a winding angle (rad) where the centre line has `radius` (mm) and `pitch` (mm/rad), of an arm `radial_width` wide
    /// (mm) cut from `sheet`.
    pub fn at(
        angle: f64,
        radius: f64,
        pitch: f64,
        radial_width: f64,
        sheet: &SheetProperties,
        law: SectionLaw,
    ) -> Self {
        let section = Self::on_spiral(angle, radius, pitch);
        let (t, e) = (sheet.thickness, sheet.youngs_modulus);
        let width = radial_width * radius / section.speed;
        let factor = curved_strip_factor(law.curved_strip, radial_width, t, radius).0;
        Self {
            radial_width,
            width,
            torsion: sheet.shear_modulus * torsion_constant(width, t).value * factor,
            bending: bending_stiffness(e, law.poisson(sheet), width, t).value,
            axial: e * width * t,
            in_plane: e * t * width.powi(3) / 12.0,
            ..section
        }
    }

    /// A section of given stiffnesses (N·mm²) on a circle, of no width.
    pub fn even(angle: f64, radius: f64, torsion: f64, bending: f64) -> Self {
        Self { torsion, bending, ..Self::on_spiral(angle, radius, 0.0) }
    }

    /// The geometry alone, on a spiral whose `pitch` does not change.
    fn on_spiral(angle: f64, radius: f64, pitch: f64) -> Self {
        let (sine, cosine) = angle.sin_cos();
        let speed = radius.hypot(pitch);
        Self {
            position: [radius * cosine, radius * sine],
            cosine: (pitch * cosine - radius * sine) / speed,
            sine: (pitch * sine + radius * cosine) / speed,
            angle,
            radius,
            pitch,
            speed,
            curvature: (radius * radius + 2.0 * pitch * pitch) / speed.powi(3),
            radial_width: 0.0,
            width: 0.0,
            torsion: 0.0,
            bending: 0.0,
            axial: 0.0,
            in_plane: 0.0,
        }
    }

    /// Stiffening against twist by the ends of its arm; 1 where these warp freely.
    pub fn restraint(&self, arm: &ArmPath, sheet: &SheetProperties, law: SectionLaw) -> Restraint {
        if law.free_ends {
            return Restraint::default();
        }
        Restraint::of([self.angle, self.radius, self.radial_width], arm, sheet)
    }

    /// Twisting and bending moment in this section of force (N) and moments (N·mm) at the place `at` (mm), as rows over these.
    pub fn moment_rows(&self, at: [f64; 2]) -> [Vector3<f64>; 2] {
        let (c, s) = (self.cosine, self.sine);
        let (dx, dy) = (at[0] - self.position[0], at[1] - self.position[1]);
        [Vector3::new(c * dy - s * dx, c, s), Vector3::new(s * dy + c * dx, s, -c)]
    }
}

/// The centre line between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// places of the ends (mm)
    pub start: [f64; 2],
    /// of the other end
    pub end: [f64; 2],
    /// sections at the Gauss–Legendre places
    pub sections: [Section; 2],
    /// arc lengths for which they stand (mm)
    pub lengths: [f64; 2],
    /// arc length (mm)
    pub length: f64,
}

impl Piece {
    /// Between two angles (rad) with the radii there (mm); `section` gives the section at an angle, to which the spiral
    /// between the ends is fitted.
    pub fn between(angle: [f64; 2], radius: [f64; 2], section: impl Fn(f64) -> Section) -> Self {
        let turn = angle[1] - angle[0];
        let sections = TWO_POINT.map(|place| section(angle[0] + place * turn));
        let lengths = sections.map(|section| 0.5 * turn * section.speed);
        let place = |k: usize| {
            let (sine, cosine) = angle[k].sin_cos();
            [radius[k] * cosine, radius[k] * sine]
        };
        Self { start: place(0), end: place(1), sections, lengths, length: lengths[0] + lengths[1] }
    }

    /// Piece `i` of an arm cut from `sheet`.
    pub fn of(arm: &ArmPath, i: usize, sheet: &SheetProperties, law: SectionLaw) -> Self {
        let ends = |list: &[f64]| [list[i], list[i + 1]];
        let (angle, radius, width) = (ends(&arm.angle), ends(&arm.radius), ends(&arm.width));
        let pitch = (radius[1] - radius[0]) / (angle[1] - angle[0]);
        Self::between(angle, radius, |theta| {
            let share = (theta - angle[0]) / (angle[1] - angle[0]);
            let between = |[a, b]: [f64; 2]| a + share * (b - a);
            let mut section = Section::at(theta, between(radius), pitch, between(width), sheet, law);
            section.torsion *= section.restraint(arm, sheet, law).factor;
            section
        })
    }

    /// From end to end (mm).
    pub fn chord(&self) -> [f64; 2] {
        [self.end[0] - self.start[0], self.end[1] - self.start[1]]
    }
}

/// Sections at the nodes of an arm; the pitch of one is the mean of those beside it.
pub fn node_sections(arm: &ArmPath, sheet: &SheetProperties, law: SectionLaw) -> Vec<Section> {
    let last = arm.segments();
    let pitch = |i: usize| (arm.radius[i + 1] - arm.radius[i]) / (arm.angle[i + 1] - arm.angle[i]);
    (0..=last)
        .map(|i| {
            let pitch = 0.5 * (pitch(i.saturating_sub(1)) + pitch(i.min(last - 1)));
            Section::at(arm.angle[i], arm.radius[i], pitch, arm.width[i], sheet, law)
        })
        .collect()
}
