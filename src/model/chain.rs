//! One arm as a chain of elements between the fixed rim and the hub.

use super::centre_line::{Piece, Section, SectionLaw, node_sections};
use super::element::Element;
use super::root::RootCompliance;
use super::touch::Touch;
use crate::layout::{ArmPath, SheetProperties};

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
    /// the arm's centre line between its nodes, outer root to inner root
    pub pieces: Vec<Piece>,
    /// sections at the arm's nodes
    pub sections: Vec<Section>,
    /// index of the element that is the arm's first piece: 1 after a compliant root, 2 where the rim may lift as well, else 0
    pub first: usize,
}

/// Ends of an arm: compliant roots (`None` is an ideal clamp), and whether the rim may lift off the base.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Ends {
    /// root at the rim
    pub outer: Option<RootCompliance>,
    /// root at the hub
    pub inner: Option<RootCompliance>,
    /// whether the rim may lift where it rests, half-way between two arms
    pub lifts: bool,
}

impl Chain {
    /// The chain of `arm` cut from `sheet`; `ends` gets the sections at the arm's ends, outer and inner, and gives its roots.
    pub fn new(
        arm: &ArmPath,
        sheet: &SheetProperties,
        law: SectionLaw,
        touch: Touch,
        ends: impl FnOnce(&Section, &Section) -> Ends,
    ) -> Self {
        let pieces: Vec<Piece> = (0..arm.segments()).map(|i| Piece::of(arm, i, sheet, law)).collect();
        let sections = node_sections(arm, sheet, law);
        let mut elements: Vec<Element> = pieces.iter().map(Element::piece).collect();
        let mut position: Vec<[f64; 2]> = sections.iter().map(|section| section.position).collect();
        let mut free_height = arm.height.clone();
        let mut line: Vec<[f64; 2]> =
            (0..sections.len()).map(|i| touch.reach(arm, sheet.thickness, i).line(arm, i)).collect();
        let last = sections.len() - 1;
        let Ends { outer, inner, lifts } = ends(&sections[0], &sections[last]);
        let direction = |i: usize| [sections[i].cosine, sections[i].sine];
        if let Some(root) = inner {
            elements.push(root.element(direction(last)));
            position.push(position[last]);
            free_height.push(free_height[last]);
            line.push([0.0; 2]);
        }
        let mut first = 0;
        let mut before = |element: Element| {
            elements.insert(0, element);
            position.insert(0, position[0]);
            free_height.insert(0, free_height[0]);
            line.insert(0, [0.0; 2]);
            first += 1;
        };
        if let Some(root) = outer {
            before(root.element(direction(0)));
            if lifts {
                before(Element::lift(sheet.youngs_modulus, sheet.thickness));
            }
        }
        // the ends do not move by themselves
        line[0] = [0.0; 2];
        if let Some(hub) = line.last_mut() {
            *hub = [0.0; 2];
        }
        Self { elements, free_height, position, line, pieces, sections, first }
    }

    /// Rise of the hub (mm).
    pub fn travel(&self) -> f64 {
        self.free_height.last().copied().unwrap_or(0.0)
    }

    /// Length of the arm (mm).
    pub fn length(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.length).sum()
    }

    /// Arc length from the outer root to every node of the arm (mm).
    pub fn arcs(&self) -> Vec<f64> {
        let mut arc = 0.0;
        let mut arcs = vec![0.0];
        arcs.extend(self.pieces.iter().map(|piece| {
            arc += piece.length;
            arc
        }));
        arcs
    }
}
