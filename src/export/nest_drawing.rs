//! Parts on a sheet as DXF and SVG: the edge of the sheet, every part with its tabs and engraving, the rolling direction.

use super::dxf_drawing::layers_as_dxf;
use super::svg_drawing::layers_as_svg;
use super::{DrawingNotes, ExportError};
use crate::outline::{
    ArcChain, Contour, ENGRAVING, Marks, Nest, Outline, PLACES, Point, SHEET_EDGE, TABS, Vertex,
};

/// Most vertices that are written (some 10 MB of DXF); beyond, one part is drawn out and the others are circles.
const VERTICES_MOST: usize = 60_000;
/// Length of the arrow along the rolling direction: share of the sheet, and of it the head.
const ARROW: f64 = 0.08;
const HEAD: f64 = 0.2;

/// Contours of parts, and marks by layer.
type Drawn = (Vec<Contour>, [(&'static str, Vec<ArcChain>); 4]);

/// The nest as a DXF file; notes stand below the sheet.
pub fn dxf_nest(
    nest: &Nest,
    outline: &Outline,
    marks: &Marks,
    notes: &DrawingNotes,
) -> Result<Vec<u8>, ExportError> {
    let (contours, layers) = drawn(nest, outline, marks);
    layers_as_dxf(&contours, &layers, [[0.0; 2], nest.sheet], notes)
}

/// The nest as an SVG document.
pub fn svg_nest(nest: &Nest, outline: &Outline, marks: &Marks) -> Vec<u8> {
    let (contours, layers) = drawn(nest, outline, marks);
    layers_as_svg(&contours, &layers, [[0.0; 2], nest.sheet])
}

fn drawn(nest: &Nest, outline: &Outline, marks: &Marks) -> Drawn {
    let [low, high] = outline.extents();
    let middle = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])];
    let own = marks.layers();
    let chains = outline.contours.iter().map(|contour| &contour.chain);
    let each: usize =
        chains.chain(own.iter().flat_map(|(_, chains)| chains)).map(|chain| chain.vertices.len()).sum();
    let out = if each * nest.centres.len() > VERTICES_MOST { 1 } else { nest.centres.len() };
    let mut contours = Vec::new();
    let (mut tabs, mut engraving, mut places) = (Vec::new(), Vec::new(), Vec::new());
    for (k, centre) in nest.centres.iter().enumerate() {
        let by = [centre[0] - middle[0], centre[1] - middle[1]];
        if k >= out {
            places.push(ArcChain::circle(*centre, 0.5 * (high[0] - low[0]).max(high[1] - low[1])));
            continue;
        }
        contours.extend(
            outline.contours.iter().map(|one| Contour { role: one.role, chain: one.chain.shifted(by) }),
        );
        tabs.extend(own[0].1.iter().map(|chain| chain.shifted(by)));
        engraving.extend(own[1].1.iter().map(|chain| chain.shifted(by)));
    }
    let [width, height] = nest.sheet;
    let edge = polyline(&[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]], true);
    // the rolling direction runs along the sheet's first side; its arrow stands in the lower margin
    let (y, length) = (0.5 * nest.margin.max(0.01 * height), ARROW * width);
    let (from, to) = ([y, y], [y + length, y]);
    let head = [to[0] - HEAD * length, (0.3 * HEAD * length).min(0.5 * y)];
    let arrow = [
        polyline(&[from, to], false),
        polyline(&[[head[0], y + head[1]], to, [head[0], y - head[1]]], false),
    ];
    let edge = std::iter::once(edge).chain(arrow).collect();
    (contours, [(TABS, tabs), (ENGRAVING, engraving), (SHEET_EDGE, edge), (PLACES, places)])
}

fn polyline(points: &[Point], closed: bool) -> ArcChain {
    ArcChain { vertices: points.iter().map(|&point| Vertex { point, bulge: 0.0 }).collect(), closed }
}
