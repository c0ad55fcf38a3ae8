//! The text of a STEP file: entities of ISO 10303-42 and the product they belong to.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::boundary::{Boundary, Curve, Surface};

/// Distance below which places count as the same (mm); the fit of a drawing's arcs is a thousand times coarser.
const ACCURACY: f64 = 1e-6;

/// The product, units and context that every file has; `{}` is its name. The solid comes from the next number on.
const PRODUCT: &str = "#1=APPLICATION_CONTEXT('core data for automotive mechanical design processes');
#2=APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#1);
#3=PRODUCT_CONTEXT('',#1,'mechanical');
#4=PRODUCT('{}','{}','',(#3));
#5=PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(#4));
#6=PRODUCT_DEFINITION_FORMATION('','',#4);
#7=PRODUCT_DEFINITION_CONTEXT('part definition',#1,'design');
#8=PRODUCT_DEFINITION('design','',#6,#7);
#9=PRODUCT_DEFINITION_SHAPE('','',#8);
#10=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.));
#11=(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.));
#12=(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT());
#13=UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-6),#10,'distance_accuracy_value','');
#14=(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#13))
GLOBAL_UNIT_ASSIGNED_CONTEXT((#10,#11,#12))REPRESENTATION_CONTEXT('',''));
";
const PRODUCT_ENTITIES: usize = 14;

/// The solid as a STEP file. `name` may have letters, digits, blanks and hyphens; anything else becomes a blank. The same
/// solid gives the same bytes: no date.
pub fn step(solid: &Boundary, name: &str) -> Vec<u8> {
    let name: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() || "-._".contains(c) { c } else { ' ' }).collect();
    let mut file =
        Writer { text: PRODUCT.replace("{}", &name), last: PRODUCT_ENTITIES, known: BTreeMap::new() };
    let corners: Vec<usize> = solid
        .points
        .iter()
        .map(|point| {
            let place = file.point(*point);
            file.entity(format!("VERTEX_POINT('',#{place})"))
        })
        .collect();
    let edges: Vec<usize> = solid
        .edges
        .iter()
        .map(|edge| {
            let curve = match edge.curve {
                Curve::Line => file.line(solid.points[edge.start], solid.points[edge.end]),
                Curve::Circle { centre, radius, counter_clockwise } => {
                    let axis = [0.0, 0.0, if counter_clockwise { 1.0 } else { -1.0 }];
                    let placement = file.placement(centre, axis);
                    file.entity(format!("CIRCLE('',#{placement},{})", real(radius)))
                }
            };
            let (start, end) = (corners[edge.start], corners[edge.end]);
            file.entity(format!("EDGE_CURVE('',#{start},#{end},#{curve},.T.)"))
        })
        .collect();
    let mut faces = Vec::with_capacity(solid.faces.len());
    for face in &solid.faces {
        let mut bounds = Vec::with_capacity(face.loops.len());
        for (k, around) in face.loops.iter().enumerate() {
            let oriented: Vec<usize> = around
                .iter()
                .map(|&(edge, forth)| {
                    let sense = if forth { ".T." } else { ".F." };
                    file.entity(format!("ORIENTED_EDGE('',*,*,#{},{sense})", edges[edge]))
                })
                .collect();
            let closed = file.entity(format!("EDGE_LOOP('',({}))", list(&oriented)));
            let kind = if k == 0 { "FACE_OUTER_BOUND" } else { "FACE_BOUND" };
            bounds.push(file.entity(format!("{kind}('',#{closed},.T.)")));
        }
        let (surface, sense) = match face.surface {
            Surface::Plane { point, normal } => {
                let placement = file.placement(point, normal);
                (file.entity(format!("PLANE('',#{placement})")), ".T.")
            }
            Surface::Cylinder { centre, radius, solid_inside } => {
                let placement = file.placement(centre, [0.0, 0.0, 1.0]);
                let sense = if solid_inside { ".T." } else { ".F." };
                (file.entity(format!("CYLINDRICAL_SURFACE('',#{placement},{})", real(radius))), sense)
            }
            Surface::Cone { centre, radius, slope, solid_inside } => {
                // the radius grows along the axis (ISO 10303-42, conical_surface)
                let placement = file.placement(centre, [0.0, 0.0, slope.signum()]);
                let sense = if solid_inside { ".T." } else { ".F." };
                let words =
                    format!("CONICAL_SURFACE('',#{placement},{},{})", real(radius), real(slope.abs().atan()));
                (file.entity(words), sense)
            }
        };
        faces.push(file.entity(format!("ADVANCED_FACE('',({}),#{surface},{sense})", list(&bounds))));
    }
    let shell = file.entity(format!("CLOSED_SHELL('',({}))", list(&faces)));
    let body = file.entity(format!("MANIFOLD_SOLID_BREP('{name}',#{shell})"));
    let origin = file.placement([0.0; 3], [0.0, 0.0, 1.0]);
    let shape = file.entity(format!("ADVANCED_BREP_SHAPE_REPRESENTATION('{name}',(#{origin},#{body}),#14)"));
    file.entity(format!("SHAPE_DEFINITION_REPRESENTATION(#9,#{shape})"));
    format!(
        "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('{name}, millimetres'),'2;1');\nFILE_NAME('{name}','',(''),(''),\
         'Flatspire','Flatspire','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));\nENDSEC;\nDATA;\n{}\
         ENDSEC;\nEND-ISO-10303-21;\n",
        file.text
    )
    .into_bytes()
}

/// Entities written so far.
struct Writer {
    text: String,
    last: usize,
    /// points, directions and placements that are written already
    known: BTreeMap<String, usize>,
}

impl Writer {
    fn entity(&mut self, words: String) -> usize {
        self.last += 1;
        // writing to a string cannot fail
        let _ = writeln!(self.text, "#{}={words};", self.last);
        self.last
    }

    /// As [`Writer::entity`], but what is written already is taken again.
    fn once(&mut self, words: String) -> usize {
        if let Some(known) = self.known.get(&words) {
            return *known;
        }
        let number = self.entity(words.clone());
        self.known.insert(words, number);
        number
    }

    fn point(&mut self, [x, y, z]: [f64; 3]) -> usize {
        self.once(format!("CARTESIAN_POINT('',({},{},{}))", real(x), real(y), real(z)))
    }

    fn direction(&mut self, [x, y, z]: [f64; 3]) -> usize {
        self.once(format!("DIRECTION('',({},{},{}))", real(x), real(y), real(z)))
    }

    /// A place with an axis; the other axes follow from it.
    fn placement(&mut self, point: [f64; 3], axis: [f64; 3]) -> usize {
        // across the axis: any direction away from it
        let [x, y, z] = axis;
        let flat = x.hypot(y);
        let across = if flat < 1e-3 {
            let size = x.hypot(z);
            [z / size, 0.0, -x / size]
        } else {
            [-y / flat, x / flat, 0.0]
        };
        let (place, axis, across) = (self.point(point), self.direction(axis), self.direction(across));
        self.once(format!("AXIS2_PLACEMENT_3D('',#{place},#{axis},#{across})"))
    }

    fn line(&mut self, from: [f64; 3], to: [f64; 3]) -> usize {
        let along = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
        let length = (along[0] * along[0] + along[1] * along[1] + along[2] * along[2]).sqrt().max(ACCURACY);
        let (place, direction) = (self.point(from), self.direction(along.map(|part| part / length)));
        let vector = self.once(format!("VECTOR('',#{direction},1.)"));
        self.entity(format!("LINE('',#{place},#{vector})"))
    }
}

fn list(numbers: &[usize]) -> String {
    numbers.iter().map(|number| format!("#{number}")).collect::<Vec<_>>().join(",")
}

/// A number as STEP writes it, with a point always, at nine decimals without idle zeros.
fn real(value: f64) -> String {
    let text = format!("{value:.9}");
    let text = text.trim_end_matches('0');
    if text == "-0." { "0.".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::step::{blank, faceted};
    use crate::export::stl::Solid;
    use crate::outline::{ArcChain, Contour, Outline, Role};

    fn washer() -> Outline {
        let circle = |role, radius| Contour { role, chain: ArcChain::circle([0.0; 2], radius) };
        Outline {
            contours: vec![circle(Role::Bore, 4.0), circle(Role::Outside, 10.0)],
            arms: 1,
            slot: 1.0,
            centre_line: ArcChain::circle([0.0; 2], 6.0),
            fit_error: 0.0,
        }
    }

    #[test]
    fn numbers_have_a_point_and_no_sign_of_zero() {
        assert_eq!([real(0.0), real(-1e-12), real(2.0), real(-0.25)], ["0.", "0.", "2.", "-0.25"]);
    }

    #[test]
    fn every_edge_is_used_once_each_way_and_every_number_is_defined() {
        let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [0.0, 3.0]];
        let at = |z: f64| corners.map(|[x, y]| [x, y, z]);
        let plate = Solid::between(&at(0.5), &at(-0.5), &[[0, 1, 2], [0, 2, 3]]);
        for (solid, faces) in [(blank(&washer(), 1.5).unwrap(), 6), (faceted(&plate), 12)] {
            assert_eq!(solid.faces.len(), faces);
            let mut used = vec![[0, 0]; solid.edges.len()];
            for (edge, forth) in solid.faces.iter().flat_map(|face| face.loops.iter().flatten()) {
                used[*edge][usize::from(*forth)] += 1;
            }
            assert!(used.iter().all(|count| *count == [1, 1]), "{used:?}");
            let text = String::from_utf8(step(&solid, "a part")).unwrap();
            let data = text.split("DATA;\n").nth(1).unwrap();
            let defined: Vec<&str> =
                data.lines().filter_map(|line| line.split_once('=').map(|(n, _)| n)).collect();
            for word in data.split(|c: char| !(c == '#' || c.is_ascii_digit())).filter(|w| w.starts_with('#'))
            {
                assert!(defined.contains(&word), "{word}");
            }
        }
    }
}
