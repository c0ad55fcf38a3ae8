//! Parts on a sheet as DXF and SVG: the edge of the sheet, every part with its tabs and engraving, the rolling direction.

use super::dxf_drawing::layers_as_dxf;
use super::svg_drawing::layers_as_svg;
use super::{DrawingNotes, ExportError};
use crate::outline::{
    ArcChain, Contour, ENGRAVING, Marks, Nest, Outline, PLACES, Point, SHEET_EDGE, SetNest, TABS, Vertex,
    part_diameter,
};

/// Most vertices that are written (some 10 MB of DXF); beyond, one part of each kind is drawn out and the others are
/// circles.
const VERTICES_MOST: usize = 60_000;
/// Length of the arrow along the rolling direction: share of the sheet, and of it the head.
const ARROW: f64 = 0.08;
const HEAD: f64 = 0.2;

/// Contours of parts, and marks by layer.
type Drawn = (Vec<Contour>, [(&'static str, Vec<ArcChain>); 4]);

/// A part that is nested: its drawing and its marks.
pub type NestedPart<'a> = (&'a Outline, &'a Marks);

/// Parts in their places on a sheet.
struct Placed<'a> {
    sheet: [f64; 2],
    margin: f64,
    parts: &'a [NestedPart<'a>],
    /// part, its centre
    places: Vec<(usize, Point)>,
}

/// The nest as a DXF file; notes stand below the sheet.
pub fn dxf_nest(
    nest: &Nest,
    outline: &Outline,
    marks: &Marks,
    notes: &DrawingNotes,
) -> Result<Vec<u8>, ExportError> {
    Placed::equal(nest, &[(outline, marks)]).dxf(notes)
}

/// The nest as an SVG document.
pub fn svg_nest(nest: &Nest, outline: &Outline, marks: &Marks) -> Vec<u8> {
    Placed::equal(nest, &[(outline, marks)]).svg()
}

/// Sets of different parts as a DXF file; notes stand below the sheet. `parts` in the order in which the nest counts them.
pub fn dxf_sets(
    nest: &SetNest,
    parts: &[NestedPart<'_>],
    notes: &DrawingNotes,
) -> Result<Vec<u8>, ExportError> {
    Placed::sets(nest, parts).dxf(notes)
}

/// Sets of different parts as an SVG document.
pub fn svg_sets(nest: &SetNest, parts: &[NestedPart<'_>]) -> Vec<u8> {
    Placed::sets(nest, parts).svg()
}

impl<'a> Placed<'a> {
    fn equal(nest: &Nest, parts: &'a [NestedPart<'a>]) -> Self {
        let places = nest.centres.iter().map(|centre| (0, *centre)).collect();
        Self { sheet: nest.sheet, margin: nest.margin, parts, places }
    }

    fn sets(nest: &SetNest, parts: &'a [NestedPart<'a>]) -> Self {
        Self { sheet: nest.sheet, margin: nest.margin, parts, places: nest.discs.clone() }
    }

    fn dxf(&self, notes: &DrawingNotes) -> Result<Vec<u8>, ExportError> {
        let (contours, layers) = self.drawn();
        layers_as_dxf(&contours, &layers, [[0.0; 2], self.sheet], notes)
    }

    fn svg(&self) -> Vec<u8> {
        let (contours, layers) = self.drawn();
        layers_as_svg(&contours, &layers, [[0.0; 2], self.sheet])
    }

    fn drawn(&self) -> Drawn {
        let vertices = |(outline, marks): &NestedPart<'_>| -> usize {
            let own = marks.layers();
            let chains = outline.contours.iter().map(|contour| &contour.chain);
            chains.chain(own.iter().flat_map(|(_, chains)| chains)).map(|chain| chain.vertices.len()).sum()
        };
        let each: Vec<usize> = self.parts.iter().map(vertices).collect();
        let all: usize = self.places.iter().map(|(part, _)| each[*part]).sum();
        let mut contours = Vec::new();
        let (mut tabs, mut engraving, mut circles) = (Vec::new(), Vec::new(), Vec::new());
        let mut drawn_out = vec![false; self.parts.len()];
        for &(part, centre) in &self.places {
            let (outline, marks) = self.parts[part];
            let [low, high] = outline.extents();
            if all > VERTICES_MOST && drawn_out[part] {
                circles.push(ArcChain::circle(centre, 0.5 * part_diameter(outline)));
                continue;
            }
            drawn_out[part] = true;
            let by = [centre[0] - 0.5 * (low[0] + high[0]), centre[1] - 0.5 * (low[1] + high[1])];
            contours.extend(
                outline.contours.iter().map(|one| Contour { role: one.role, chain: one.chain.shifted(by) }),
            );
            let own = marks.layers();
            tabs.extend(own[0].1.iter().map(|chain| chain.shifted(by)));
            engraving.extend(own[1].1.iter().map(|chain| chain.shifted(by)));
        }
        let [width, height] = self.sheet;
        let edge = polyline(&[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]], true);
        // the rolling direction runs along the sheet's first side; its arrow stands in the lower margin
        let (y, length) = (0.5 * self.margin.max(0.01 * height), ARROW * width);
        let (from, to) = ([y, y], [y + length, y]);
        let head = [to[0] - HEAD * length, (0.3 * HEAD * length).min(0.5 * y)];
        let arrow = [
            polyline(&[from, to], false),
            polyline(&[[head[0], y + head[1]], to, [head[0], y - head[1]]], false),
        ];
        let edge = std::iter::once(edge).chain(arrow).collect();
        (contours, [(TABS, tabs), (ENGRAVING, engraving), (SHEET_EDGE, edge), (PLACES, circles)])
    }
}

fn polyline(points: &[Point], closed: bool) -> ArcChain {
    ArcChain { vertices: points.iter().map(|&point| Vertex { point, bulge: 0.0 }).collect(), closed }
}
