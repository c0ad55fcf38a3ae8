//! Sections through the axis of the spring: heights of every turn at some deflections.

use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::plan_view::scale_bar;
use super::scene::{Anchor, Ink, Point, Scene, Shape};
use crate::numeric::Units;

const EDGE: f64 = 12.0;
const TEXT_EM: f64 = 13.0;
const STEEL: Ink = Ink::solid(178, 186, 196);
const SEATED: Ink = Ink::solid(96, 152, 206);
const LINE: Ink = Ink::solid(40, 43, 50);
const PLATE: Ink = Ink::solid(226, 224, 218);
const QUIET: Ink = Ink::solid(95, 95, 100);
/// Thickness of a plate in the picture (points).
const PLATE_DEPTH: f64 = 5.0;

/// One cut piece of sheet. mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutPiece {
    /// from the axis to its middle, below zero on the left
    pub centre: f64,
    /// width in the section
    pub width: f64,
    /// height of its middle above the flat place
    pub height: f64,
    /// rise across the piece per mm to the right
    pub slope: f64,
    /// whether it touches a plate
    pub seated: bool,
}

/// The section at one deflection.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// in words
    pub title: String,
    /// what is cut
    pub pieces: Vec<CutPiece>,
    /// height of the pressing plate's underside above the base (mm); `None` in a section without a pressing plate
    pub plate: Option<f64>,
}

/// Sections one below the other.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionView {
    /// from the top down
    pub sections: Vec<Section>,
    /// radius of the disc (mm)
    pub radius: f64,
    /// thickness of the sheet (mm)
    pub thickness: f64,
    /// largest height above the flat place (mm)
    pub height: f64,
}

impl SectionView {
    /// Draws them on a page `width` points wide.
    pub fn picture(&self, width: f64, units: Units) -> Result<Picture, PlotError> {
        let scale = (width - 2.0 * EDGE) / (2.0 * self.radius);
        let axis = 0.5 * width;
        let mut shapes = Vec::new();
        let mut top = EDGE;
        for section in &self.sections {
            let highest = section.pieces.iter().fold(0.0, |highest: f64, piece| highest.max(piece.height));
            let tall = scale * (highest.min(self.height) + self.thickness);
            let over = if section.plate.is_some() { PLATE_DEPTH + 4.0 } else { 4.0 };
            shapes.push(Shape::Text {
                text: font::fitted(&section.title, TEXT_EM, width - 2.0 * EDGE)?,
                place: Point { x: EDGE, y: top + TEXT_EM },
                em: TEXT_EM,
                anchor: Anchor::Start,
                ink: LINE,
            });
            let base = top + 1.5 * TEXT_EM + over + tall;
            shapes.extend(self.section(section, axis, base, scale, width));
            top = base + PLATE_DEPTH + 0.9 * TEXT_EM;
        }
        let baseline = top + TEXT_EM;
        shapes.extend(scale_bar(scale, width, baseline, units));
        let scene = Scene {
            width,
            height: baseline + EDGE,
            title: "Sections through the axis, heights to the same scale as widths".to_owned(),
            shapes,
        };
        Ok(Picture(scene))
    }

    fn section(&self, section: &Section, axis: f64, base: f64, scale: f64, width: f64) -> Vec<Shape> {
        let (mut shapes, half) = (Vec::new(), 0.5 * self.thickness);
        let plate = |low: f64| Shape::Area {
            outline: vec![
                Point { x: EDGE, y: low - PLATE_DEPTH },
                Point { x: width - EDGE, y: low - PLATE_DEPTH },
                Point { x: width - EDGE, y: low },
                Point { x: EDGE, y: low },
            ],
            ink: PLATE,
        };
        let level = |y: f64, ink: Ink| Shape::Stroke {
            path: vec![Point { x: EDGE, y }, Point { x: width - EDGE, y }],
            width: 0.8,
            ink,
        };
        shapes.push(plate(base + PLATE_DEPTH));
        shapes.push(level(base, LINE));
        if let Some(height) = section.plate {
            let y = base - scale * height;
            shapes.push(plate(y));
            shapes.push(level(y, LINE));
        }
        let highest = section.pieces.iter().fold(0.0, |highest: f64, piece| highest.max(piece.height));
        let middle = Point { x: axis, y: base - scale * (highest + self.thickness) - 3.0 };
        shapes.push(Shape::Stroke {
            path: vec![middle, Point { x: axis, y: base + PLATE_DEPTH }],
            width: 0.7,
            ink: QUIET,
        });
        for piece in &section.pieces {
            let corner = |across: f64, up: f64| Point {
                x: axis + scale * (piece.centre + across - up * piece.slope),
                y: base - scale * (piece.height + half + piece.slope * across + up),
            };
            let reach = 0.5 * piece.width;
            let outline =
                vec![corner(-reach, -half), corner(reach, -half), corner(reach, half), corner(-reach, half)];
            let mut edge = outline.clone();
            edge.extend(outline.first().copied());
            let ink = if piece.seated { SEATED } else { STEEL };
            shapes.push(Shape::Area { outline, ink });
            shapes.push(Shape::Stroke { path: edge, width: 0.8, ink: LINE });
        }
        shapes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_is_drawn_as_large_as_it_is() {
        let piece = CutPiece { centre: 10.0, width: 4.0, height: 3.0, slope: 0.0, seated: false };
        let section = Section { title: "free".to_owned(), pieces: vec![piece], plate: None };
        let view = SectionView { sections: vec![section], radius: 20.0, thickness: 1.0, height: 3.0 };
        let picture = view.picture(424.0, Units::default()).unwrap();
        let outline = picture.0.shapes.iter().find_map(|shape| match shape {
            Shape::Area { outline, ink } if *ink == STEEL => Some(outline.clone()),
            _ => None,
        });
        let outline = outline.unwrap();
        // ten points to the millimetre
        assert!((outline[1].x - outline[0].x - 40.0).abs() < 1e-9, "{outline:?}");
        assert!((outline[1].y - outline[2].y - 10.0).abs() < 1e-9, "{outline:?}");
        assert!((outline[0].x - (212.0 + 80.0)).abs() < 1e-9, "{outline:?}");
    }
}
