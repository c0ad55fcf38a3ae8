//! Slopes of a number over the arm and its sheet: over the sections of the centre line, carried on to the nodes beside them.

use super::centre_line::{Section, SectionLaw};
use super::section::{WidthThickness, bending_stiffness, curved_strip_factor, torsion_constant};
use super::warping::Restraint;
use crate::layout::{ArmPath, SheetProperties};

/// Slopes of one number over the arm's nodes and the sheet's thickness.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NodeGradient {
    /// per radian of every node's angle
    pub angle: Vec<f64>,
    /// per mm of every node's radius
    pub radius: Vec<f64>,
    /// per mm of every node's radial width
    pub width: Vec<f64>,
    /// per mm of every node's free height
    pub height: Vec<f64>,
    /// per mm of sheet thickness
    pub thickness: f64,
    /// per MPa of Young's modulus
    pub youngs_modulus: f64,
    /// per MPa of shear modulus
    pub shear_modulus: f64,
}

/// Change of the arm's nodes and the thickness with one parameter.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Direction {
    /// the arm's nodes; rises are not used
    pub angle: Vec<f64>,
    /// mm per unit of the parameter
    pub radius: Vec<f64>,
    /// mm per unit of the parameter
    pub width: Vec<f64>,
    /// mm per unit of the parameter
    pub height: Vec<f64>,
    /// mm per unit of the parameter
    pub thickness: f64,
    /// MPa per unit of the parameter
    pub youngs_modulus: f64,
    /// MPa per unit of the parameter
    pub shear_modulus: f64,
}

impl Direction {
    /// The difference quotient of two arms with the same number of nodes, `step` apart in the parameter.
    pub fn between(low: &ArmPath, high: &ArmPath, step: f64) -> Self {
        let quotient =
            |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (b - a) / step).collect::<Vec<f64>>();
        Self {
            angle: quotient(&low.angle, &high.angle),
            radius: quotient(&low.radius, &high.radius),
            width: quotient(&low.width, &high.width),
            height: quotient(&low.height, &high.height),
            ..Self::default()
        }
    }
}

impl NodeGradient {
    /// Slope along a direction.
    pub fn along(&self, direction: &Direction) -> f64 {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        dot(&self.angle, &direction.angle)
            + dot(&self.radius, &direction.radius)
            + dot(&self.width, &direction.width)
            + dot(&self.height, &direction.height)
            + self.thickness * direction.thickness
            + self.youngs_modulus * direction.youngs_modulus
            + self.shear_modulus * direction.shear_modulus
    }
}

/// Slopes of one number over those of a section and of the arc length for which it stands.
#[derive(Debug, Clone, Copy, Default)]
pub struct SectionGradient {
    /// over the place (per mm)
    pub position: [f64; 2],
    /// over the direction (per rad)
    pub direction: f64,
    /// over the arc length (per mm)
    pub length: f64,
    /// over the curvature in plan (mm)
    pub curvature: f64,
    /// over the radius where it stands by itself (per mm)
    pub radius: f64,
    /// over the width along the radius where it stands by itself (per mm)
    pub radial_width: f64,
    /// over the width normal to the arm where it stands by itself (per mm)
    pub width: f64,
    /// over the torsional stiffness (per N·mm²)
    pub torsion: f64,
    /// over the bending stiffness out of the plane (per N·mm²)
    pub bending: f64,
    /// over the stiffness along the arm (per N)
    pub axial: f64,
    /// over the bending in-plane stiffness (per N·mm²)
    pub in_plane: f64,
    /// over thickness where it stands by itself (per mm)
    pub thickness: f64,
    /// over Young's modulus where it stands by itself (per MPa)
    pub youngs_modulus: f64,
}

/// Stiffnesses of a section with their slopes over width, thickness, radius and Poisson's ratio.
#[derive(Debug, Clone, Copy)]
pub struct SectionSlopes {
    /// torsion constant of the straight bar (mm⁴)
    torsion: WidthThickness,
    /// curved-strip factor with its slopes over radial width, thickness and radius
    factor: (f64, [f64; 3]),
    /// bending stiffness (N·mm²)
    bending: WidthThickness,
    /// its slope over Poisson's ratio
    bending_by_poisson: f64,
    /// stiffening against twist by ends that do not warp
    restraint: Restraint,
}

impl SectionSlopes {
    /// Of a section cut from `sheet`, without restraint.
    pub fn of(section: &Section, sheet: &SheetProperties, law: SectionLaw) -> Self {
        /// Step in Poisson's ratio; the formula is smooth.
        const STEP: f64 = 1e-4;
        let (b, t, e) = (section.width, sheet.thickness, sheet.youngs_modulus);
        let poisson = law.poisson(sheet);
        let at = |poisson: f64| bending_stiffness(e, poisson, b, t);
        let by_poisson = (at(poisson + STEP).value - at(poisson - STEP).value) / (2.0 * STEP);
        Self {
            torsion: torsion_constant(b, t),
            factor: curved_strip_factor(law.curved_strip, section.radial_width, t, section.radius),
            bending: at(poisson),
            bending_by_poisson: if law.plate_bending { by_poisson } else { 0.0 },
            restraint: Restraint::default(),
        }
    }

    /// The same where ends that do not warp stiffen the section.
    pub fn restrained(self, restraint: Restraint) -> Self {
        Self { restraint, ..self }
    }
}

/// A section between two nodes of the arm.
#[derive(Debug, Clone, Copy)]
pub struct Between {
    /// the node towards the rim
    pub node: usize,
    /// share of the way to the next node, 0 to 1
    pub share: f64,
    /// arc length for which the section stands (mm)
    pub length: f64,
}

/// Adds the slopes over a section to those over the nodes beside it and over the sheet.
pub fn spread(
    own: &SectionGradient,
    section: &Section,
    slopes: &SectionSlopes,
    place: Between,
    arm: &ArmPath,
    sheet: &SheetProperties,
    gradient: &mut NodeGradient,
) {
    let (t, e, g) = (sheet.thickness, sheet.youngs_modulus, sheet.shear_modulus);
    let SectionSlopes { torsion: j, factor: (factor, by_factor), bending: d, bending_by_poisson, restraint } =
        slopes;
    // over the stiffness without restraint, and over the logarithm of that with it
    let (by_torsion, by_log) = (own.torsion * restraint.factor, own.torsion * section.torsion);
    let (b, r, p, speed) = (section.width, section.radius, section.pitch, section.speed);
    // the sheet; ν = E/2G − 1
    let by_poisson = own.bending * bending_by_poisson;
    gradient.thickness += own.thickness
        + by_torsion * g * (factor * j.by_thickness + j.value * by_factor[1])
        + own.bending * d.by_thickness
        + own.axial * e * b
        + own.in_plane * e * b.powi(3) / 12.0;
    gradient.youngs_modulus += own.youngs_modulus
        + own.bending * d.value / e
        + by_poisson * 0.5 / g
        + by_log * restraint.by_youngs_modulus
        + own.axial * b * t
        + own.in_plane * t * b.powi(3) / 12.0;
    gradient.shear_modulus +=
        by_torsion * factor * j.value - by_poisson * 0.5 * e / (g * g) + by_log * restraint.by_shear_modulus;
    // the section: width = radial width · r/speed
    let by_width = own.width
        + by_torsion * g * factor * j.by_width
        + own.bending * d.by_width
        + own.axial * e * t
        + own.in_plane * e * t * b * b / 4.0;
    let radial_width = own.radial_width
        + by_torsion * g * j.value * by_factor[0]
        + by_log * restraint.by_width
        + by_width * r / speed;
    let [x, y] = own.position;
    let (cosine, sine) = (section.position[0] / r, section.position[1] / r);
    let (square, cube) = (speed * speed, speed.powi(3));
    let by_curvature = own.curvature / cube;
    let bent = 3.0 * section.curvature * speed;
    let by_length = own.length * place.length / square;
    let radius = own.radius
        + by_torsion * g * j.value * by_factor[2]
        + by_log * restraint.by_radius
        + x * cosine
        + y * sine
        + own.direction * p / square
        + by_length * r
        + by_width * section.radial_width * p * p / cube
        + by_curvature * (2.0 - bent) * r;
    let pitch = -own.direction * r / square + by_length * p - by_width * section.radial_width * r * p / cube
        + by_curvature * (4.0 - bent) * p;
    let [by_angle, by_outer, by_inner] = restraint.by_angle.map(|slope| by_log * slope);
    let angle = own.direction + r * (y * cosine - x * sine) + by_angle;
    gradient.angle[0] += by_outer;
    gradient.angle[arm.segments()] += by_inner;
    let (a, b) = (place.node, place.node + 1);
    let turn = arm.angle[b] - arm.angle[a];
    for (node, share, end) in [(a, 1.0 - place.share, -1.0), (b, place.share, 1.0)] {
        gradient.width[node] += share * radial_width;
        gradient.radius[node] += share * radius + end * pitch / turn;
        gradient.angle[node] += share * angle + end * (own.length * place.length - pitch * p) / turn;
    }
}
