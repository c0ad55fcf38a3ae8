//! One arm as a chain of elements between the fixed rim and the hub.

use super::element::Element;
use super::root::RootCompliance;
use super::section::{CurvedStrip, bending_stiffness, curved_strip_factor, torsion_constant};
use super::touch::Reach;
use crate::layout::{ArmPath, SheetProperties};

/// Stiffness of sections.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SectionLaw {
    /// effect of the strip's curvature on its torsional stiffness
    pub curved_strip: CurvedStrip,
    /// whether flat arms bend with the plate modulus E/(1−ν²). Their edges are free, so that they do not; with contact on the
    /// centre line alone it made up for some of what contact at the edges does
    pub plate_bending: bool,
}

/// One segment's section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// width along the radius (mm)
    pub radial_width: f64,
    /// width normal to the arm (mm)
    pub width: f64,
    /// radius of the arm centre (mm)
    pub radius: f64,
    /// chord length (mm)
    pub length: f64,
    /// torsional stiffness G·J with the curved-strip factor (N·mm²)
    pub torsion: f64,
    /// bending stiffness out of the plane (N·mm²)
    pub bending: f64,
}

/// The chain: node 0 is fixed, the last node is the hub's.
#[derive(Debug, Clone)]
pub struct Chain {
    /// elements from the rim to the hub
    pub elements: Vec<Element>,
    /// free height of every node (mm)
    pub free_height: Vec<f64>,
    /// position of every node (mm)
    pub position: Vec<[f64; 2]>,
    /// from the centre line of every node to where its section touches a plate (mm); zero at the fixed node, at the rim and at the hub
    pub line: Vec<[f64; 2]>,
    /// sections of the arm's segments, outer root to inner root
    pub segments: Vec<Segment>,
    /// index of the element that is the arm's first segment: 1 after a compliant root, 2 where the rim may lift as well, else 0
    pub first: usize,
}

impl Chain {
    /// The chain of `arm` cut from `sheet`, with the roots given (`None` is an ideal clamp); `lifts` says whether the rim may lift
    /// off the base where it rests, half-way between two arms.
    pub fn new(
        arm: &ArmPath,
        sheet: &SheetProperties,
        law: SectionLaw,
        outer: impl FnOnce(&Segment) -> Option<RootCompliance>,
        inner: impl FnOnce(&Segment) -> Option<RootCompliance>,
        lifts: bool,
    ) -> Self {
        let segments: Vec<Segment> = (0..arm.segments()).map(|i| segment(arm, i, sheet, law)).collect();
        let mut position: Vec<[f64; 2]> =
            arm.angle.iter().zip(&arm.radius).map(|(angle, r)| [r * angle.cos(), r * angle.sin()]).collect();
        let mut free_height = arm.height.clone();
        let mut elements: Vec<Element> = segments
            .iter()
            .zip(position.windows(2))
            .map(|(s, ends)| Element::piece(ends[0], ends[1], s.torsion, s.bending))
            .collect();
        let (outer, inner) = (outer(&segments[0]), inner(&segments[segments.len() - 1]));
        let reach = |i: usize| if outer.is_some() { Reach::of(arm, i) } else { Reach::whole() };
        let mut line: Vec<[f64; 2]> = (0..arm.angle.len()).map(|i| reach(i).line(arm, i)).collect();
        let mut first = 0;
        let last = elements.len() - 1;
        let directions =
            [[elements[0].cosine, elements[0].sine], [elements[last].cosine, elements[last].sine]];
        if let Some(root) = inner {
            elements.push(root.element(directions[1]));
            position.push(position[last + 1]);
            free_height.push(free_height[last + 1]);
            line.push([0.0; 2]);
        }
        if let Some(root) = outer {
            elements.insert(0, root.element(directions[0]));
            position.insert(0, position[0]);
            free_height.insert(0, free_height[0]);
            line.insert(0, [0.0; 2]);
            first = 1;
            if lifts {
                elements.insert(0, Element::lift(directions[0], sheet.youngs_modulus, sheet.thickness));
                position.insert(0, position[0]);
                free_height.insert(0, free_height[0]);
                line.insert(0, [0.0; 2]);
                first = 2;
            }
        }
        // the ends do not move by themselves
        line[0] = [0.0; 2];
        if let Some(hub) = line.last_mut() {
            *hub = [0.0; 2];
        }
        Self { elements, free_height, position, line, segments, first }
    }

    /// Rise of the hub (mm).
    pub fn travel(&self) -> f64 {
        self.free_height.last().copied().unwrap_or(0.0)
    }

    /// Length of the arm (mm).
    pub fn length(&self) -> f64 {
        self.segments.iter().map(|segment| segment.length).sum()
    }
}

fn segment(arm: &ArmPath, i: usize, sheet: &SheetProperties, law: SectionLaw) -> Segment {
    let radial_width = 0.5 * (arm.width[i] + arm.width[i + 1]);
    let radius = 0.5 * (arm.radius[i] + arm.radius[i + 1]);
    let length = arm.chord(i);
    // radial width times the cosine of the spiral angle
    let width = radial_width * radius * (arm.angle[i + 1] - arm.angle[i]) / length;
    let t = sheet.thickness;
    let factor = curved_strip_factor(law.curved_strip, radial_width, t, radius).0;
    let poisson = if law.plate_bending { sheet.poisson() } else { 0.0 };
    Segment {
        radial_width,
        width,
        radius,
        length,
        torsion: sheet.shear_modulus * torsion_constant(width, t).value * factor,
        bending: bending_stiffness(sheet.youngs_modulus, poisson, width, t).value,
    }
}
