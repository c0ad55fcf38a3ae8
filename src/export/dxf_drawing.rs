//! The drawing as DXF, ASCII R12: circles and closed polylines with bulges, which every shop reads.
//!
//! The `dxf` crate writes the entities. Into R12 it also writes subclass markers (group 100), which strict readers
//! reject, puts vertices on layer 0, and stamps the clock into the header: one pass over its pairs corrects that, so
//! that the same outline gives the same bytes. R12 has no unit variable of its own: those of later releases are
//! written, which an old reader reports as unknown and ignores; the notes and the file's name say millimetres too.

use std::fmt::Write;

use dxf::entities::{Circle, Entity, EntityType, Polyline, Text, Vertex};
use dxf::enums::AcadVersion;
use dxf::tables::Layer;
use dxf::{Color, Drawing, Point};

use super::{DrawingNotes, ExportError};
use crate::outline::{ArcChain, Contour, Marks, Outline, Role, SheetLayout, ToolPath, contours_extents};

/// Layer of the notes.
pub(super) const NOTES: &str = "notes";

/// Heights of notes (mm), of the series of ISO 3098: readable where the drawing is printed at true size.
const NOTE_HEIGHTS: [f64; 3] = [1.8, 2.5, 3.5];
/// Largest width of a drawing (mm) that has notes of the first and of the second height.
const NOTE_WIDTHS: [f64; 2] = [40.0, 150.0];

/// Width of a letter in its height: no wider in the plain fonts of drawing programs.
const LETTER: f64 = 1.0;
/// Least number of letters in a line before it is broken.
const LINE_LETTERS: f64 = 36.0;

/// Header pairs that say millimetres: metric, and the insertion unit.
const UNITS: &str = "  9\r\n$MEASUREMENT\r\n 70\r\n1\r\n  9\r\n$INSUNITS\r\n 70\r\n4\r\n";

/// Header variables that are written; all others of the crate's are defaults or the clock.
const HEADER: [&str; 5] = ["$ACADVER", "$INSBASE", "$EXTMIN", "$EXTMAX", "$CLAYER"];

/// The outline as a DXF file, with notes below it.
pub fn dxf(outline: &Outline, notes: &DrawingNotes) -> Result<Vec<u8>, ExportError> {
    dxf_marked(outline, &Marks::default(), notes)
}

/// The outline with tabs and engraving, each on a layer of its own.
pub fn dxf_marked(outline: &Outline, marks: &Marks, notes: &DrawingNotes) -> Result<Vec<u8>, ExportError> {
    let extents = marks.extents(outline.extents());
    layers_as_dxf(&outline.contours, &marks.layers(), extents, notes)
}

/// Several discs on one sheet as a DXF file.
pub fn dxf_sheet(sheet: &SheetLayout, notes: &DrawingNotes) -> Result<Vec<u8>, ExportError> {
    contours_as_dxf(&sheet.contours, sheet.extents(), notes)
}

/// A kerf-compensated path as a DXF file. It is not the part's size: its layers say so, and its first note too.
pub fn dxf_tool_path(path: &ToolPath, notes: &DrawingNotes) -> Result<Vec<u8>, ExportError> {
    let contours = path.contours();
    let mut lines = vec![
        "KERF-COMPENSATED PATH".to_owned(),
        "NOT THE SIZE OF THE PART".to_owned(),
        format!("kerf {:.3} mm, half of it to each side of the path; do not compensate again", path.kerf),
    ];
    lines.extend(notes.lines.iter().cloned());
    contours_as_dxf(&contours, contours_extents(&contours), &DrawingNotes { lines })
}

/// Contours within a box as a DXF file, with notes below the box.
pub(super) fn contours_as_dxf(
    contours: &[Contour],
    extents: [[f64; 2]; 2],
    notes: &DrawingNotes,
) -> Result<Vec<u8>, ExportError> {
    layers_as_dxf(contours, &[], extents, notes)
}

/// Contours and marks by layer within a box as a DXF file, with notes below the box.
pub(super) fn layers_as_dxf(
    contours: &[Contour],
    marks: &[(&'static str, Vec<ArcChain>)],
    [mut low, mut high]: [[f64; 2]; 2],
    notes: &DrawingNotes,
) -> Result<Vec<u8>, ExportError> {
    let mut drawing = Drawing::new();
    drawing.clear();
    drawing.header.version = AcadVersion::R12;
    drawing.header.handles_enabled = false;
    add_layer(&mut drawing, "0", 7);
    for (role, colour) in Role::ALL.into_iter().zip([1, 7, 5, 3, 6, 2]) {
        if contours.iter().any(|contour| contour.role == role) {
            add_layer(&mut drawing, role.layer(), colour);
        }
    }
    for (i, contour) in contours.iter().enumerate() {
        let vertices = &contour.chain.vertices;
        if let Some(bad) = vertices.iter().find(|v| !(v.point[0] + v.point[1] + v.bulge).is_finite()) {
            return Err(ExportError::NotFinite { contour: i + 1, place: bad.point });
        }
        // a path is a polyline even where it is round: a circle would lose the place where the cut starts
        let circle = contour.as_circle().filter(|_| contour.role != Role::Path);
        let shape = match circle {
            Some((centre, radius)) => EntityType::Circle(Circle::new(point(centre), rounded(radius))),
            None => EntityType::Polyline(polyline(&mut drawing, contour)),
        };
        add_entity(&mut drawing, shape, contour.role.layer());
    }
    for ((layer, chains), colour) in marks.iter().zip([4, 30, 9, 8]) {
        if !chains.is_empty() {
            add_layer(&mut drawing, layer, colour);
        }
        for (i, chain) in chains.iter().enumerate() {
            if let Some(bad) =
                chain.vertices.iter().find(|v| !(v.point[0] + v.point[1] + v.bulge).is_finite())
            {
                return Err(ExportError::NotFinite { contour: i + 1, place: bad.point });
            }
            let mark = Contour { role: Role::Outside, chain: chain.clone() };
            let shape = match mark.as_circle() {
                Some((centre, radius)) => EntityType::Circle(Circle::new(point(centre), rounded(radius))),
                None => EntityType::Polyline(polyline(&mut drawing, &mark)),
            };
            add_entity(&mut drawing, shape, layer);
        }
    }
    let width = high[0] - low[0];
    let height = NOTE_HEIGHTS[NOTE_WIDTHS.iter().filter(|limit| width > **limit).count()];
    let letters = (width / (LETTER * height)).max(LINE_LETTERS);
    let lines = broken(&notes.ascii(), letters);
    if !lines.is_empty() {
        add_layer(&mut drawing, NOTES, 8);
        let longest = lines.iter().map(String::len).max().unwrap_or_default() as f64;
        high[0] = high[0].max(low[0] + LETTER * height * longest);
        let mut baseline = low[1] - height;
        for line in lines {
            baseline -= 1.6 * height;
            let text = Text {
                location: point([low[0], baseline]),
                text_height: height,
                value: line,
                ..Text::default()
            };
            add_entity(&mut drawing, EntityType::Text(text), NOTES);
        }
        // letters such as g hang below their line
        low[1] = baseline - 0.4 * height;
    }
    drawing.header.minimum_drawing_extents = point(low);
    drawing.header.maximum_drawing_extents = point(high);
    let mut raw = Vec::new();
    drawing.save(&mut raw)?;
    corrected_pairs(&String::from_utf8_lossy(&raw))
}

/// Lines broken at blanks so that they have no more than so many letters; what follows is indented.
fn broken(lines: &[String], letters: f64) -> Vec<String> {
    let mut list = Vec::new();
    for line in lines {
        let mut part = String::new();
        for word in line.split(' ') {
            let longer = part.len() + 1 + word.len();
            if !part.trim().is_empty() && longer as f64 > letters {
                list.push(std::mem::replace(&mut part, format!("  {word}")));
            } else {
                if !part.is_empty() {
                    part.push(' ');
                }
                part.push_str(word);
            }
        }
        list.push(part);
    }
    list
}

/// Coordinates are written to a nanometre: far below any machine, and the same on every one.
fn rounded(value: f64) -> f64 {
    let written = (value * 1e6).round() / 1e6;
    if written == 0.0 { 0.0 } else { written }
}

fn point(at: [f64; 2]) -> Point {
    Point::new(rounded(at[0]), rounded(at[1]), 0.0)
}

fn add_layer(drawing: &mut Drawing, name: &str, colour: u8) {
    drawing.add_layer(Layer { name: name.to_owned(), color: Color::from_index(colour), ..Layer::default() });
}

fn add_entity(drawing: &mut Drawing, shape: EntityType, layer: &str) {
    let mut entity = Entity::new(shape);
    layer.clone_into(&mut entity.common.layer);
    drawing.add_entity(entity);
}

fn polyline(drawing: &mut Drawing, contour: &Contour) -> Polyline {
    let mut polyline = Polyline::default();
    polyline.set_is_closed(contour.chain.closed);
    for vertex in &contour.chain.vertices {
        let bulge = (vertex.bulge * 1e9).round() / 1e9;
        let vertex = Vertex { location: point(vertex.point), bulge, ..Vertex::default() };
        polyline.add_vertex(drawing, vertex);
    }
    polyline
}

/// The crate's text without items unknown to R12, with vertices on their polyline's layer.
fn corrected_pairs(raw: &str) -> Result<Vec<u8>, ExportError> {
    let lines: Vec<&str> = raw.lines().collect();
    let mut pairs = Vec::with_capacity(lines.len() / 2);
    for (k, pair) in lines.chunks_exact(2).enumerate() {
        let code: i32 = pair[0]
            .trim()
            .parse()
            .map_err(|_| ExportError::Pairs { line: 2 * k + 1, found: pair[0].to_owned() })?;
        pairs.push((code, pair[1]));
    }
    let mut text = String::with_capacity(raw.len());
    let (mut section, mut keep) = ("", true);
    let (mut entity, mut layer) = ("", "");
    for (k, &(code, value)) in pairs.iter().enumerate() {
        match code {
            0 if section == "HEADER" && value == "ENDSEC" => {
                text.push_str(UNITS);
                (entity, keep) = (value, true);
            }
            0 => {
                entity = value;
                // R12 has no record for the line type "by layer"
                keep = !(entity == "LTYPE" && pairs.get(k + 1) == Some(&(2, "BYLAYER")));
            }
            2 if k > 0 && pairs[k - 1] == (0, "SECTION") => section = value,
            9 if section == "HEADER" => keep = HEADER.contains(&value),
            8 if entity == "POLYLINE" => layer = value,
            _ => {}
        }
        let part_of_polyline = matches!(entity, "VERTEX" | "SEQEND");
        // 100: subclass markers; of a vertex 50: a curve-fit tangent, which nothing here has, and 8: the wrong layer
        let unknown = code == 100 || (part_of_polyline && (code == 50 || code == 8));
        if keep && !unknown {
            // writing to a string cannot fail
            let _ = write!(text, "{code:>3}\r\n{value}\r\n");
            if code == 0 && part_of_polyline {
                let _ = write!(text, "  8\r\n{layer}\r\n");
            }
        }
    }
    Ok(text.into_bytes())
}
