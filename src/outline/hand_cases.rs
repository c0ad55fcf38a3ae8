//! Numbers computed by hand, each with its computation or its source beside it.

use std::f64::consts::{PI, TAU};

use super::*;
use crate::layout::Spring;
use crate::spec::{Process, SpringFile};

/// One circle of radius 3 about (5, 2), its groups given, in a file with a header's unit.
fn drawing(unit: &str, entity: &str) -> Vec<u8> {
    let header = format!("0 SECTION 2 HEADER 9 $INSUNITS 70 {unit} 0 ENDSEC");
    format!("{header} 0 SECTION 2 ENTITIES {entity} 0 ENDSEC 0 EOF").replace(' ', "\n").into_bytes()
}

fn read_chain(unit: &str, entity: &str) -> ArcChain {
    from_dxf(&drawing(unit, entity), "part.dxf").unwrap().contours[0].chain.clone()
}

fn assert_near(found: Point, expected: Point) {
    assert!(
        (found[0] - expected[0]).hypot(found[1] - expected[1]) < 1e-9,
        "{found:?}, {expected:?} expected"
    );
}

#[test]
fn units_of_a_drawing_are_those_of_its_header() {
    // $INSUNITS (DXF reference, Autodesk): 0 none, 1 inches, 2 feet, 4 mm, 5 cm, 6 m; 1 in = 25.4 mm exactly
    for (unit, mm) in [("0", 1.0), ("1", 25.4), ("2", 304.8), ("4", 1.0), ("5", 10.0), ("6", 1000.0)] {
        let read = from_dxf(&drawing(unit, "0 CIRCLE 8 0 10 5 20 2 40 3"), "part.dxf").unwrap();
        assert!((read.unit_mm - mm).abs() < 1e-12, "{unit}: {}", read.unit_mm);
        let [low, high] = read.contours[0].chain.extents();
        assert_near(low, [2.0 * mm, -mm]);
        assert_near(high, [8.0 * mm, 5.0 * mm]);
    }
}

#[test]
fn what_is_drawn_from_below_is_mirrored_left_to_right() {
    // arbitrary axis algorithm (DXF reference, Autodesk): extrusion (0, 0, −1) has the x axis (−1, 0, 0) and the y axis
    // (0, 1, 0); a LINE is given in world coordinates and stays
    let below = "210 0 220 0 230 -1";
    let [low, high] = read_chain("4", &format!("0 CIRCLE 8 0 10 5 20 2 40 3 {below}")).extents();
    assert_near(low, [-8.0, -1.0]);
    assert_near(high, [-2.0, 5.0]);
    // a quarter arc from (8, 2) to (5, 5) becomes one from (−8, 2) to (−5, 5), bulging up and outwards
    let arc = read_chain("4", &format!("0 ARC 8 0 10 5 20 2 40 3 50 0 51 90 {below}"));
    let ends = [arc.vertices[0].point, arc.vertices[arc.vertices.len() - 1].point];
    assert_near(ends[0], [-8.0, 2.0]);
    assert_near(ends[1], [-5.0, 5.0]);
    assert!((arc.length() - 1.5 * PI).abs() < 1e-9);
    let [low, high] = arc.extents();
    assert_near(low, [-8.0, 2.0]);
    assert_near(high, [-5.0, 5.0]);
    let [low, high] = read_chain("4", &format!("0 LINE 8 0 10 5 20 2 11 8 21 3 {below}")).extents();
    assert_near(low, [5.0, 2.0]);
    assert_near(high, [8.0, 3.0]);
}

/// Three arms of even width, 39 mm outside.
fn disc() -> Outline {
    let text = "[sheet]\nthickness = 1\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\narms = 3\nslot = 1.4\n\
        outer_diameter = 78\nbore_diameter = 10\narm_outer_diameter = 66\narm_inner_diameter = 24\n[arm]\nradius = [12, 33]\n\
        width = [4, 4]\n[former]\nfree_height = 5\n";
    let spring = Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap();
    Outline::of(&spring, &rules()).unwrap()
}

/// A cut of 0.9 mm, 1.6 mm of web, 1500 mm/min, 2 s to pierce and 3 s to the next.
fn rules() -> CutRules {
    CutRules {
        kerf: 0.9,
        arm_min: 1.6,
        speed: Some(1500.0),
        pierce_hole: 1.2,
        pierce_seconds: 2.0,
        move_seconds: 3.0,
        ..CutRules::of(&Process::default(), 1.0)
    }
}

/// Length of a slot's centre line: ∫√(ρ² + a²) dρ/a from 12 to 33, a = 3·5.4/2π = 2.5783 mm a radian.
fn slot_length() -> f64 {
    let a = 3.0 * 5.4 / TAU;
    let up_to = |r: f64| 0.5 * (r * r.hypot(a) / a + a * (r / a).asinh());
    up_to(33.0) - up_to(12.0)
}

#[test]
fn a_disc_costs_what_it_costs_by_hand() {
    let found = CutSummary::of(&disc(), &rules());
    // bore 10π, outside 78π, three slots of two flanks and two half circles of 1.4
    let length = 88.0 * PI + 3.0 * (2.0 * slot_length() + 1.4 * PI);
    assert!((found.cut_length_mm / length - 1.0).abs() < 2e-4, "{} of {length}", found.cut_length_mm);
    // bore, three slots, outside
    assert_eq!(found.pierces, 5);
    // 1.15 L/v in seconds, and five times 2 + 3; half to double
    let seconds = 60.0 * 1.15 * length / 1500.0 + 25.0;
    let [low, high] = found.machine_seconds.unwrap();
    assert!((low / (0.5 * seconds) - 1.0).abs() < 2e-4 && (high / (2.0 * seconds) - 1.0).abs() < 2e-4);
    // π(39² − 5²) less three slots
    let area = PI * (39.0 * 39.0 - 25.0) - 3.0 * (1.4 * slot_length() + 0.25 * PI * 1.4 * 1.4);
    assert!((found.part_area_mm2 / area - 1.0).abs() < 1e-4, "{} of {area}", found.part_area_mm2);
    // the disc, a web of 1.6, and a cut of 0.9 on either side
    assert!((found.square_mm - (78.0 + 1.6 + 1.8)).abs() < 1e-9, "{}", found.square_mm);
    assert!((found.sheet_use - found.part_area_mm2 / 81.4 / 81.4).abs() < 1e-12);
}

#[test]
fn the_outside_is_cut_from_midway_between_two_roots() {
    let outline = disc();
    let path = ToolPath::of(&outline, &rules()).unwrap();
    let pass = path.passes.last().unwrap();
    assert_eq!(pass.role, Role::Outside);
    // slots start at 0°, 120° and 240°: 60° lies midway. Half a kerf outside, pierced two holes of 1.2 further out
    let at = |radius: f64| [radius * (PI / 3.0).cos(), radius * (PI / 3.0).sin()];
    assert_near(pass.path.vertices[0].point, at(39.45));
    assert_near(pass.pierce, at(39.45 + 2.4));
    let entry = pass.entry.as_ref().unwrap();
    assert_near(entry.vertices[0].point, pass.pierce);
    assert_near(entry.vertices[1].point, pass.path.vertices[0].point);
    // half a kerf into what falls away: the bore's path is smaller, a slot's is the parallel 0.45 inside its contour, whose
    // area is less by 0.45 times the mean of both lengths
    assert_eq!(path.passes[0].role, Role::Bore);
    assert!((path.passes[0].path.length() - TAU * 4.55).abs() < 1e-9);
    assert_near(path.passes[0].pierce, [0.0, 0.0]);
    let (slot, drawn) = (&path.passes[1].path, &outline.contours[1].chain);
    assert!(
        (drawn.area().abs() - slot.area().abs() - 0.45 * 0.5 * (drawn.length() + slot.length())).abs() < 1e-6
    );
}

#[test]
fn discs_on_a_sheet_stand_a_spacing_apart() {
    let grid = SheetLayout::grid(&disc(), 3, 2, 4.0).unwrap();
    assert_eq!(grid.discs(), 6);
    let [low, high] = grid.extents();
    assert_near(low, [-39.0, -39.0]);
    assert_near(high, [39.0 + 2.0 * 82.0, 39.0 + 82.0]);
    // 4 at the edges and between: 82 n + 4 of 500 × 250 mm, in a square 6 × 3; staggered rows are 82 √3/2 = 71.01 apart
    // and take 5.5 on average, of which three fit: fewer
    assert_eq!(Nest::discs(78.0, 4.0, 4.0, [500.0, 250.0]).unwrap().centres.len(), 18);
    assert!(Nest::discs(78.0, 4.0, 4.0, [85.9, 86.0]).is_err());
}
