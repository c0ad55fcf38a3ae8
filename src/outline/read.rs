//! Reading a drawing back: the contours of any ASCII DXF file, also an old or a hand-edited one.
//!
//! Only what bounds a flat part is read: lines, arcs, circles and polylines of both kinds in the model's space. Group
//! codes are those of Autodesk's DXF Reference. The pairs are walked here rather than by a library, so that every
//! refusal names its line and no damaged file can stop the program.

use std::collections::BTreeMap;

use super::drawn::{Drawn, joined, with_roles};
use super::{Arc, ArcChain, Contour, MARK_LAYERS, Point, Role, Vertex};
use crate::numeric::exact_units::INCH;

/// Largest coordinate accepted (mm).
const LARGEST: f64 = 1e5;

/// Most pieces that are read.
const PIECES_MOST: usize = 200_000;

/// Contours read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadDrawing {
    /// closed contours counter-clockwise, and lines to cut on
    pub contours: Vec<Contour>,
    /// unit of the file, in mm; 1 where the file names none
    pub unit_mm: f64,
    /// kinds of entities that were ignored, with their numbers
    pub passed_over: BTreeMap<String, usize>,
}

/// Errors of reading a drawing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// Not text.
    #[error("{file} is a binary DXF file or no text; save it as ASCII DXF")]
    Binary {
        /// file as the user named it
        file: String,
    },
    /// A line that is not a group code.
    #[error("{file}, line {line}: found {found:?}, expected a group code; is this an ASCII DXF file?")]
    Code {
        /// file as the user named it
        file: String,
        /// line, from 1
        line: usize,
        /// value found
        found: String,
    },
    /// A value that is not a plausible number.
    #[error("{file}, line {line}: found {found:?}, expected {expected}; correct the drawing")]
    Value {
        /// file as the user named it
        file: String,
        /// line, from 1
        line: usize,
        /// value found
        found: String,
        /// accepted content
        expected: &'static str,
    },
    /// A curve that is not a chain of arcs.
    #[error(
        "{file}, line {line}: {found} on layer {layer:?} is no arc or line; convert it to arcs or polylines"
    )]
    Curve {
        /// file as the user named it
        file: String,
        /// line, from 1
        line: usize,
        /// kind of entity
        found: String,
        /// its layer
        layer: String,
    },
    /// Too large.
    #[error("{file} has more than {most} lines and arcs; remove what does not belong to the part")]
    TooLarge {
        /// file as the user named it
        file: String,
        /// most that are read
        most: usize,
    },
    /// Nothing to read.
    #[error(
        "{file} has no line, arc, circle or polyline among its entities; is the drawing inside a block? explode it"
    )]
    Empty {
        /// file as the user named it
        file: String,
    },
}

/// One group: code, value, line of the value.
#[derive(Debug, Clone, Copy)]
struct Group<'a> {
    code: i32,
    value: &'a str,
    line: usize,
}

/// Reads the contours of a DXF file; `file` is the name to use in messages.
pub fn from_dxf(bytes: &[u8], file: &str) -> Result<ReadDrawing, ReadError> {
    if bytes.starts_with(b"AutoCAD Binary DXF") || bytes.contains(&0) {
        return Err(ReadError::Binary { file: file.to_owned() });
    }
    // layer names may be in any code page; what matters is ASCII
    let text = String::from_utf8_lossy(bytes);
    let reader = Reader { file };
    let groups = reader.groups(text.trim_start_matches('\u{feff}'))?;
    let unit_mm = unit(&groups);
    let mut drawn = Vec::new();
    let mut passed_over = BTreeMap::new();
    let (mut counted, mut pieces) = (0, 0);
    for entity in entities(&groups) {
        reader.entity(entity, &mut drawn, &mut passed_over)?;
        pieces += drawn[counted..].iter().map(|one: &Drawn| one.chain.len()).sum::<usize>();
        counted = drawn.len();
        if pieces > PIECES_MOST {
            return Err(ReadError::TooLarge { file: file.to_owned(), most: PIECES_MOST });
        }
    }
    if drawn.is_empty() {
        return Err(ReadError::Empty { file: file.to_owned() });
    }
    for one in &mut drawn {
        for vertex in &mut one.chain.vertices {
            vertex.point = [vertex.point[0] * unit_mm, vertex.point[1] * unit_mm];
        }
    }
    Ok(ReadDrawing { contours: with_roles(joined(drawn)), unit_mm, passed_over })
}

/// The header's unit in mm ($INSUNITS: 1 inches, 2 feet, 4 mm, 5 cm, 6 m).
fn unit(groups: &[Group]) -> f64 {
    let at = groups.iter().position(|group| group.code == 9 && group.value == "$INSUNITS");
    match at.and_then(|at| groups.get(at + 1)).map(|group| group.value) {
        Some("1") => INCH,
        Some("2") => 12.0 * INCH,
        Some("5") => 10.0,
        Some("6") => 1000.0,
        _ => 1.0,
    }
}

/// The entities of the section ENTITIES; a polyline comes with its vertices.
fn entities<'a, 'b>(groups: &'b [Group<'a>]) -> Vec<&'b [Group<'a>]> {
    let opens = |k: usize| {
        groups[k].code == 0
            && groups[k].value == "SECTION"
            && groups.get(k + 1).is_some_and(|next| next.code == 2 && next.value == "ENTITIES")
    };
    let Some(first) = (0..groups.len()).find(|&k| opens(k)).map(|k| k + 2) else { return Vec::new() };
    let body = &groups[first..];
    let end = body.iter().position(|g| g.code == 0 && g.value == "ENDSEC").unwrap_or(body.len());
    let body = &body[..end];
    let mut starts: Vec<usize> = Vec::new();
    let mut in_polyline = false;
    for (k, group) in body.iter().enumerate().filter(|(_, group)| group.code == 0) {
        match group.value {
            "VERTEX" if in_polyline => {}
            "SEQEND" if in_polyline => in_polyline = false,
            kind => {
                in_polyline = kind == "POLYLINE";
                starts.push(k);
            }
        }
    }
    let ends = starts.iter().skip(1).copied().chain([body.len()]);
    starts.iter().zip(ends).map(|(&from, to)| &body[from..to]).collect()
}

struct Reader<'a> {
    file: &'a str,
}

impl Reader<'_> {
    fn groups<'t>(&self, text: &'t str) -> Result<Vec<Group<'t>>, ReadError> {
        let mut groups = Vec::new();
        let mut lines = text.lines().enumerate();
        while let Some((k, line)) = lines.next() {
            let Ok(code) = line.trim().parse() else {
                // blank lines after the end are common
                if line.trim().is_empty() && lines.clone().all(|(_, rest)| rest.trim().is_empty()) {
                    break;
                }
                let found: String = line.trim().chars().take(40).collect();
                return Err(ReadError::Code { file: self.file.to_owned(), line: k + 1, found });
            };
            let Some((k, value)) = lines.next() else { break };
            groups.push(Group { code, value: value.trim(), line: k + 1 });
        }
        Ok(groups)
    }

    fn number(&self, group: &Group, limit: f64, expected: &'static str) -> Result<f64, ReadError> {
        group.value.parse().ok().filter(|v: &f64| v.is_finite() && v.abs() <= limit).ok_or_else(|| {
            ReadError::Value {
                file: self.file.to_owned(),
                line: group.line,
                found: group.value.chars().take(40).collect(),
                expected,
            }
        })
    }

    /// The first value of a code, or a default.
    fn value(&self, entity: &[Group], code: i32, default: f64) -> Result<f64, ReadError> {
        entity.iter().skip(1).find(|group| group.code == code).map_or(Ok(default), |group| {
            self.number(group, LARGEST, "a number of at most a hundred thousand")
        })
    }

    fn point(&self, entity: &[Group], x: i32) -> Result<Point, ReadError> {
        Ok([self.value(entity, x, 0.0)?, self.value(entity, x + 10, 0.0)?])
    }

    /// Flags of a polyline; zero for anything that is not a number.
    fn flags(entity: &[Group]) -> i64 {
        entity
            .iter()
            .skip(1)
            .find(|group| group.code == 70)
            .map_or(0, |group| group.value.parse().unwrap_or(0))
    }

    fn entity(
        &self,
        entity: &[Group],
        drawn: &mut Vec<Drawn>,
        passed_over: &mut BTreeMap<String, usize>,
    ) -> Result<(), ReadError> {
        let Some(head) = entity.first() else { return Ok(()) };
        // a polyline's own groups end where its first vertex begins
        let own = entity.iter().skip(1).position(|group| group.code == 0).map_or(entity, |k| &entity[..=k]);
        let text = |code: i32| own.iter().find(|group| group.code == code).map_or("", |group| group.value);
        let layer = text(8).to_owned();
        let paper = text(67) == "1";
        let mark = MARK_LAYERS.iter().any(|name| name.eq_ignore_ascii_case(&layer));
        let role = Role::of_layer(&layer);
        if mark {
            *passed_over.entry(format!("{} on layer {layer}", head.value)).or_default() += 1;
            return Ok(());
        }
        let chain = if paper {
            None
        } else {
            match head.value {
                "LINE" => Some(open(vec![(self.point(own, 10)?, 0.0), (self.point(own, 11)?, 0.0)])),
                "CIRCLE" => {
                    let radius = self.value(own, 40, 0.0)?;
                    (radius > 0.0).then_some(ArcChain::circle(self.point(own, 10)?, radius))
                }
                "ARC" => self.arc(own)?,
                "LWPOLYLINE" => self.light_polyline(own)?,
                "POLYLINE" => self.polyline(own, entity)?,
                "SPLINE" | "ELLIPSE" if role.is_some() => {
                    return Err(ReadError::Curve {
                        file: self.file.to_owned(),
                        line: head.line,
                        found: head.value.to_owned(),
                        layer,
                    });
                }
                _ => None,
            }
        };
        match chain {
            Some(chain) => {
                // an entity seen from below is mirrored (extrusion direction −z)
                let below = head.value != "LINE" && text(230).parse().is_ok_and(|z: f64| z < 0.0);
                let chain = if below { chain.mirrored().turned(std::f64::consts::PI) } else { chain };
                if let Some(chain) = tidy(&chain) {
                    drawn.push(Drawn { layer, chain });
                }
            }
            None => *passed_over.entry(head.value.chars().take(40).collect()).or_default() += 1,
        }
        Ok(())
    }

    fn arc(&self, entity: &[Group]) -> Result<Option<ArcChain>, ReadError> {
        let centre = self.point(entity, 10)?;
        let radius = self.value(entity, 40, 0.0)?;
        let (from, to) =
            (self.value(entity, 50, 0.0)?.to_radians(), self.value(entity, 51, 0.0)?.to_radians());
        let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
        if radius <= 0.0 || sweep < 1e-9 {
            return Ok(None);
        }
        let at = |angle: f64| [centre[0] + radius * angle.cos(), centre[1] + radius * angle.sin()];
        let bulge = (0.125 * sweep).tan();
        Ok(Some(open(vec![(at(from), bulge), (at(from + 0.5 * sweep), bulge), (at(from + sweep), 0.0)])))
    }

    fn light_polyline(&self, entity: &[Group]) -> Result<Option<ArcChain>, ReadError> {
        let mut vertices: Vec<Vertex> = Vec::new();
        for group in entity.iter().skip(1) {
            match (group.code, vertices.last_mut()) {
                (10, _) => {
                    let x = self.number(group, LARGEST, "a coordinate")?;
                    vertices.push(Vertex { point: [x, 0.0], bulge: 0.0 });
                }
                (20, Some(vertex)) => vertex.point[1] = self.number(group, LARGEST, "a coordinate")?,
                (42, Some(vertex)) => vertex.bulge = self.number(group, LARGEST, "a bulge")?,
                _ => {}
            }
        }
        Ok((vertices.len() > 1).then_some(ArcChain { vertices, closed: Self::flags(entity) & 1 == 1 }))
    }

    fn polyline(&self, own: &[Group], entity: &[Group]) -> Result<Option<ArcChain>, ReadError> {
        let flags = Self::flags(own);
        // 8: in space, 16 and 64: meshes
        if flags & (8 | 16 | 64) != 0 {
            return Ok(None);
        }
        let mut vertices = Vec::new();
        let starts: Vec<usize> = (1..entity.len()).filter(|&k| entity[k].code == 0).collect();
        for (n, &from) in starts.iter().enumerate() {
            let part = &entity[from..starts.get(n + 1).copied().unwrap_or(entity.len())];
            // 16: a control point that is not on the curve
            if part[0].value == "VERTEX" && Self::flags(part) & 16 == 0 {
                vertices.push(Vertex { point: self.point(part, 10)?, bulge: self.value(part, 42, 0.0)? });
            }
        }
        Ok((vertices.len() > 1).then_some(ArcChain { vertices, closed: flags & 1 == 1 }))
    }
}

fn open(points: Vec<(Point, f64)>) -> ArcChain {
    let vertices = points.into_iter().map(|(point, bulge)| Vertex { point, bulge }).collect();
    ArcChain { vertices, closed: false }
}

/// Without pieces of no length, with arcs of at most a half circle; `None` where nothing is left.
fn tidy(chain: &ArcChain) -> Option<ArcChain> {
    let closed = chain.closed;
    let arcs: Vec<Arc> = chain
        .arcs()
        .filter(|arc| arc.chord() > 1e-9)
        .flat_map(|arc| {
            if arc.bulge.abs() > 1.0 { vec![arc.piece(0.0, 0.5), arc.piece(0.5, 1.0)] } else { vec![arc] }
        })
        .collect();
    let last = arcs.last()?.end;
    let mut vertices: Vec<Vertex> =
        arcs.iter().map(|arc| Vertex { point: arc.start, bulge: arc.bulge }).collect();
    if !closed {
        vertices.push(Vertex { point: last, bulge: 0.0 });
    }
    (vertices.len() > 1).then_some(ArcChain { vertices, closed })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(entities: &[&str]) -> Vec<u8> {
        let body = entities.join(" ").replace(' ', "\n");
        format!("0\nSECTION\n2\nENTITIES\n{body}\n0\nENDSEC\n0\nEOF\n").into_bytes()
    }

    #[test]
    fn loose_lines_and_arcs_become_one_contour() {
        let bytes = file(&[
            "0 LINE 8 part 10 0 20 0 11 10 21 0",
            "0 ARC 8 part 10 10 20 5 40 5 50 270 51 90",
            "0 LINE 8 part 10 0 20 10 11 10 21 10",
            "0 LINE 8 part 10 0 20 10 11 0 21 0.0005",
        ]);
        let read = from_dxf(&bytes, "part.dxf").unwrap();
        assert_eq!(read.contours.len(), 1);
        let contour = &read.contours[0];
        assert!(contour.chain.closed && contour.role == Role::Outside);
        let area = 100.0 + 12.5 * std::f64::consts::PI;
        assert!((contour.chain.area() - area).abs() < 0.01, "{}", contour.chain.area());
    }

    #[test]
    fn unnamed_layers_are_told_by_place() {
        let bytes = file(&[
            "0 CIRCLE 8 0 10 5 20 5 40 20",
            "0 CIRCLE 8 0 10 5 20 5 40 3",
            "0 LWPOLYLINE 8 0 90 4 70 1 10 12 20 5 42 1 10 12 20 7 10 18 20 7 42 1 10 18 20 5",
            "0 TEXT 8 0 10 0 20 0 40 2 1 words",
        ]);
        let read = from_dxf(&bytes, "part.dxf").unwrap();
        let roles: Vec<Role> = read.contours.iter().map(|contour| contour.role).collect();
        assert_eq!(roles, [Role::Outside, Role::Bore, Role::Slot]);
        assert_eq!(read.passed_over.get("TEXT"), Some(&1));
    }

    #[test]
    fn inches_are_read_as_such() {
        let text = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n\
                    10\n0\n20\n0\n40\n1\n0\nENDSEC\n0\nEOF\n";
        let read = from_dxf(text.as_bytes(), "part.dxf").unwrap();
        assert_eq!(read.contours[0].as_circle().unwrap().1, 25.4);
    }

    #[test]
    fn refusals_name_the_line() {
        let error = from_dxf(&file(&["0 CIRCLE 8 0 10 zero 20 0 40 1"]), "part.dxf").unwrap_err().to_string();
        assert!(error.contains("part.dxf, line 10") && error.contains("\"zero\""), "{error}");
        let error = from_dxf(b"hello\nworld\n", "part.dxf").unwrap_err().to_string();
        assert!(error.contains("line 1") && error.contains("group code"), "{error}");
        let error = from_dxf(&file(&["0 SPLINE 8 slots 70 8"]), "part.dxf").unwrap_err();
        assert!(matches!(error, ReadError::Curve { .. }), "{error}");
    }
}
