//! The drawing as SVG: millimetres, one path for each contour, no transforms.

use std::fmt::Write;

use svg::Document;
use svg::node::element::Path;

use crate::outline::{ArcChain, Contour, Marks, Outline, Role, SheetLayout};

/// White border round the disc (mm), so that no stroke is clipped.
const BORDER: f64 = 1.0;

/// Colours of marks by layer, none of them that of a cut.
const MARK_COLOURS: [&str; 4] = ["green", "blue", "gray", "gray"];

/// The outline as an SVG document. y points up in the outline and down on the page, so y changes its sign.
pub fn svg(outline: &Outline) -> Vec<u8> {
    svg_marked(outline, &Marks::default())
}

/// The outline with tabs and engraving, each in a colour of its own.
pub fn svg_marked(outline: &Outline, marks: &Marks) -> Vec<u8> {
    layers_as_svg(&outline.contours, &marks.layers(), marks.extents(outline.extents()))
}

/// Several discs on one sheet as an SVG document.
pub fn svg_sheet(sheet: &SheetLayout) -> Vec<u8> {
    contours_as_svg(&sheet.contours, sheet.extents())
}

/// Contours within a box as an SVG document.
pub(super) fn contours_as_svg(contours: &[Contour], extents: [[f64; 2]; 2]) -> Vec<u8> {
    layers_as_svg(contours, &[], extents)
}

/// Contours and marks by layer within a box as an SVG document.
pub(super) fn layers_as_svg(
    contours: &[Contour],
    marks: &[(&'static str, Vec<ArcChain>)],
    [low, high]: [[f64; 2]; 2],
) -> Vec<u8> {
    let (left, top) = (low[0] - BORDER, -high[1] - BORDER);
    let (width, height) = (high[0] - low[0] + 2.0 * BORDER, high[1] - low[1] + 2.0 * BORDER);
    let view = format!("{} {} {} {}", number(left), number(top), number(width), number(height));
    let mut document = Document::new()
        .set("width", format!("{}mm", number(width)))
        .set("height", format!("{}mm", number(height)))
        .set("viewBox", view);
    let mut numbers = [0usize; Role::ALL.len()];
    for contour in contours {
        let place = Role::ALL.iter().position(|role| *role == contour.role).unwrap_or_default();
        numbers[place] += 1;
        let path = Path::new()
            .set("id", format!("{}_{}", contour.role.layer(), numbers[place]))
            .set("fill", "none")
            .set("stroke", "black")
            .set("stroke-width", "0.1")
            .set("d", svg_path(contour));
        document = document.add(path);
    }
    for ((layer, chains), colour) in marks.iter().zip(MARK_COLOURS) {
        for (k, chain) in chains.iter().enumerate() {
            let path = Path::new()
                .set("id", format!("{layer}_{}", k + 1))
                .set("fill", "none")
                .set("stroke", colour)
                .set("stroke-width", "0.1")
                .set("d", chain_path(chain));
            document = document.add(path);
        }
    }
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    text.push_str(&document.to_string());
    text.push('\n');
    text.into_bytes()
}

/// One contour as the data of an SVG path (mm); y points down.
pub fn svg_path(contour: &Contour) -> String {
    chain_path(&contour.chain)
}

fn chain_path(chain: &ArcChain) -> String {
    let Some(first) = chain.vertices.first() else { return String::new() };
    let mut d = format!("M{} {}", number(first.point[0]), number(-first.point[1]));
    for arc in chain.arcs() {
        let (x, y) = (number(arc.end[0]), number(-arc.end[1]));
        if arc.bulge == 0.0 {
            // writing to a string cannot fail
            let _ = write!(d, " L{x} {y}");
        } else {
            // on the page, y down, a counter-clockwise arc is drawn with sweep 0; no arc is larger than a half circle
            let sweep = u8::from(arc.bulge < 0.0);
            let radius = number(arc.radius());
            let _ = write!(d, " A{radius} {radius} 0 0 {sweep} {x} {y}");
        }
    }
    if chain.closed {
        d.push_str(" Z");
    }
    d
}

/// A number at six decimals without idle zeros.
fn number(value: f64) -> String {
    let text = format!("{value:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
