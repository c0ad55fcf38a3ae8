//! The drawing, looked at from outside: what is in it, how exact it is, and whether it reads back.

// what the tests share may unwrap as they do
#![allow(clippy::unwrap_used)]

use std::f64::consts::{PI, TAU};

use flatspire::export::{DrawingNotes, dxf, svg};
use flatspire::layout::{ArmShape, SlotLine, Spring};
use flatspire::outline::{Arc, CutRules, Outline, Role, measure};
use flatspire::spec::{Process, ProcessKind, SlotEnds, SpringFile};

/// A spring with the given arms and widths at hub, middle and rim.
fn spring(arms: usize, slot: f64, widths: [f64; 3], outer: f64, inner: f64) -> Spring {
    let text = format!(
        "[sheet]\nthickness = 1.0\nyoungs_modulus = 206000\nshear_modulus = 79300\n[disc]\nouter_diameter = {}\n\
         arm_outer_diameter = {}\narm_inner_diameter = {}\nbore_diameter = 6\narms = {arms}\nslot = {slot}\n[arm]\n\
         radius = [{inner}, {}, {outer}]\nwidth = [{}, {}, {}]\n[former]\nfree_height = 6\n",
        2.0 * outer + 20.0,
        2.0 * outer,
        2.0 * inner,
        0.5 * (inner + outer),
        widths[0],
        widths[1],
        widths[2],
    );
    Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap()
}

fn springs() -> Vec<Spring> {
    vec![
        spring(1, 1.5, [3.0, 4.0, 5.0], 36.0, 12.0),
        spring(2, 1.4, [2.4, 4.0, 5.6], 40.0, 12.0),
        spring(3, 1.4, [3.0, 3.0, 3.0], 40.0, 14.0),
        spring(4, 1.3, [2.0, 6.0, 2.5], 60.0, 14.0),
        spring(6, 1.6, [4.0, 2.0, 1.5], 48.0, 13.0),
    ]
}

fn rules(ends: SlotEnds) -> CutRules {
    CutRules::of(&Process { ends: Some(ends), ..Process::default() }, 1.0)
}

fn slot_line(spring: &Spring) -> &SlotLine {
    match &spring.shape {
        ArmShape::Slots(line) => line,
        ArmShape::Stations(_) => panic!("the springs of these tests are given by slots"),
    }
}

#[test]
fn flanks_follow_the_slot_within_five_microns() {
    for spring in springs() {
        let outline = Outline::of(&spring, &rules(SlotEnds::Round)).unwrap();
        let line = slot_line(&spring);
        let slot = &outline.role(Role::Slot).next().unwrap().chain;
        let mut worst = 0.0_f64;
        for i in 0..=5000 {
            let angle = line.total_angle() * f64::from(i) / 5000.0;
            let (rho, slope) = (line.radius_at(angle), line.slope_at(angle));
            let (sin, cos) = angle.sin_cos();
            let norm = rho.hypot(slope);
            let normal = [(rho * cos + slope * sin) / norm, (rho * sin - slope * cos) / norm];
            for side in [-0.5, 0.5] {
                let reach = side * spring.slot;
                let flank = [rho * cos + reach * normal[0], rho * sin + reach * normal[1]];
                worst = worst.max(slot.distance(flank));
            }
        }
        assert!(worst <= 0.005, "{} arms: flank missed by {worst} mm", spring.arms);
        assert!(outline.fit_error <= 0.005 && (outline.fit_error - worst).abs() < 0.001);
    }
}

#[test]
fn contours_are_closed_smooth_and_made_of_drawable_arcs() {
    for spring in springs() {
        for ends in [SlotEnds::Round, SlotEnds::Keyhole] {
            let outline = Outline::of(&spring, &rules(ends)).unwrap();
            assert_eq!(outline.role(Role::Slot).count(), spring.arms);
            assert_eq!(outline.role(Role::Bore).count(), 1);
            assert_eq!(outline.contours.last().unwrap().role, Role::Outside);
            for contour in &outline.contours {
                assert!(contour.chain.closed && contour.chain.area() > 0.0);
                assert!(contour.chain.shortest() >= 0.05, "a piece of {} mm", contour.chain.shortest());
                let arcs: Vec<Arc> = contour.chain.arcs().collect();
                assert!(arcs.iter().all(|arc| arc.bulge.abs() <= 1.0));
                let corners = (0..arcs.len())
                    .filter(|&i| {
                        let (a, b) = (arcs[i].tangent_at(1.0), arcs[(i + 1) % arcs.len()].tangent_at(0.0));
                        (a[0] * b[1] - a[1] * b[0]).abs() > 1e-6
                    })
                    .count();
                // a keyhole meets the flank away from the arm at a corner, one at each end
                let allowed = if contour.role == Role::Slot && ends == SlotEnds::Keyhole { 2 } else { 0 };
                assert_eq!(corners, allowed, "{:?} of {} arms", contour.role, spring.arms);
            }
        }
    }
}

#[test]
fn a_round_slot_has_the_area_of_strip_and_half_discs() {
    for spring in springs() {
        let outline = Outline::of(&spring, &rules(SlotEnds::Round)).unwrap();
        let line = slot_line(&spring);
        let count = 20_000;
        let step = line.total_angle() / f64::from(count);
        let length: f64 = (0..count)
            .map(|i| step * (f64::from(i) + 0.5))
            .map(|angle| step * line.radius_at(angle).hypot(line.slope_at(angle)))
            .sum();
        let expected = spring.slot * length + 0.25 * PI * spring.slot * spring.slot;
        for contour in outline.role(Role::Slot) {
            let area = contour.chain.area();
            assert!((area / expected - 1.0).abs() < 1e-4, "area {area}, expected {expected}");
        }
    }
}

#[test]
fn slots_are_one_slot_turned() {
    let spring = spring(5, 1.4, [3.0, 4.0, 5.0], 50.0, 14.0);
    let outline = Outline::of(&spring, &rules(SlotEnds::Round)).unwrap();
    let slots: Vec<_> = outline.role(Role::Slot).collect();
    let start = |k: usize| {
        let p = slots[k].chain.vertices[0].point;
        p[1].atan2(p[0])
    };
    for k in 1..5 {
        let turn = (start(k) - start(0)) / (TAU / 5.0);
        assert!((turn - turn.round()).abs() < 1e-12, "turned by {turn} fifths");
        for (a, b) in slots[0].chain.vertices.iter().zip(&slots[k].chain.vertices) {
            assert!(a.bulge == b.bulge);
            assert!((a.point[0].hypot(a.point[1]) - b.point[0].hypot(b.point[1])).abs() < 1e-12);
        }
    }
}

#[test]
fn slots_and_arms_measure_back_within_five_microns() {
    let mut worst = 0.0_f64;
    for spring in springs() {
        for ends in [SlotEnds::Round, SlotEnds::Keyhole] {
            let outline = Outline::of(&spring, &rules(ends)).unwrap();
            let disc = measure(&outline.contours, 0.9).unwrap();
            let line = slot_line(&spring);
            assert_eq!(disc.slots.len(), spring.arms);
            assert!((disc.outer_radius - spring.disc.outer_radius).abs() < 1e-9);
            assert!((disc.bore_radius - 3.0).abs() < 1e-9);
            for slot in &disc.slots {
                assert!((slot.width - spring.slot).abs() < 1e-6, "slot {}", slot.width);
                assert!(slot.width_most - slot.width_least < 1e-6);
                let wound = slot.hub_end[0] - slot.rim_end[0];
                assert!(
                    ((wound - line.total_angle()) * line.inner_radius()).abs() < 0.02,
                    "{} arms, {ends:?}: winds {wound}, expected {}",
                    spring.arms,
                    line.total_angle()
                );
                for (angle, radius) in slot.angle.iter().zip(&slot.radius) {
                    let expected = line.radius_at(angle - slot.rim_end[0]);
                    // an end off by a hundredth of a millimetre shifts the line by a tenth of that
                    assert!(
                        (radius - expected).abs() < 0.006,
                        "{} arms, {ends:?}, at {angle}: radius {radius}, expected {expected}",
                        spring.arms
                    );
                }
            }
            // the arm between the exact edges of its slots
            let between = TAU / spring.arms as f64;
            for station in disc.arms.iter().flat_map(|arm| &arm.stations) {
                let high = line.edge_radius_at(station.angle, -1.0);
                let low = line.edge_radius_at(station.angle + between, 1.0);
                let (width, radius) = (high - low, 0.5 * (high + low));
                assert!(
                    (station.width - width).abs() < 0.01 && (station.radius - radius).abs() < 0.005,
                    "{} arms, {ends:?}, at {}: {} wide, expected {width}; radius {}, expected {radius}",
                    spring.arms,
                    station.angle,
                    station.width,
                    station.radius
                );
                worst = worst.max((station.width - width).abs());
            }
            assert!(disc.unevenness() < 1e-6, "arms differ by {}", disc.unevenness());
        }
    }
    assert!(worst <= 0.005, "an arm's width is off by {worst} mm");
}

#[test]
fn a_slot_as_wide_as_the_kerf_is_one_open_line() {
    let spring = spring(2, 0.9, [3.0, 4.0, 5.0], 40.0, 12.0);
    let outline = Outline::of(&spring, &rules(SlotEnds::Round)).unwrap();
    assert_eq!(outline.role(Role::CutOnLine).count(), 2);
    assert!(outline.role(Role::CutOnLine).all(|contour| !contour.chain.closed));
    let disc = measure(&outline.contours, 0.9).unwrap();
    assert!((disc.slot_width() - 0.9).abs() < 1e-6);
}

#[test]
fn the_same_spring_gives_the_same_bytes_and_no_clock() {
    let notes = DrawingNotes { lines: vec!["pedal rig return spring, sizes in mm, t 1.0 ±0.03".to_owned()] };
    let write = || {
        let outline = Outline::of(&springs()[1], &rules(SlotEnds::Round)).unwrap();
        (dxf(&outline, &notes).unwrap(), svg(&outline))
    };
    let (first, second) = (write(), write());
    assert!(first == second);
    let text = String::from_utf8(first.0).unwrap();
    assert!(text.is_ascii());
    for clock in ["$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE", "$TDINDWG", "$TDUSRTIMER"] {
        assert!(!text.contains(clock), "{clock} is in the header");
    }
    assert!(!text.contains("AcDb"), "subclass markers do not belong into R12");
}

#[test]
fn a_dxf_file_reads_back_with_every_vertex_on_its_layer() {
    let outline = Outline::of(&springs()[3], &rules(SlotEnds::Keyhole)).unwrap();
    let bytes = dxf(&outline, &DrawingNotes::none()).unwrap();
    let drawing = dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
    let mut slots = 0;
    let mut circles = Vec::new();
    for entity in drawing.entities() {
        match &entity.specific {
            dxf::entities::EntityType::Polyline(polyline) => {
                assert_eq!(entity.common.layer, "slots");
                assert!(polyline.is_closed());
                let contour = outline.role(Role::Slot).nth(slots).unwrap();
                assert_eq!(polyline.vertices().count(), contour.chain.vertices.len());
                for (read, drawn) in polyline.vertices().zip(&contour.chain.vertices) {
                    assert!((read.location.x - drawn.point[0]).abs() <= 0.6e-6);
                    assert!((read.location.y - drawn.point[1]).abs() <= 0.6e-6);
                    assert!((read.bulge - drawn.bulge).abs() <= 0.6e-9);
                }
                slots += 1;
            }
            dxf::entities::EntityType::Circle(circle) => {
                circles.push((entity.common.layer.clone(), circle.radius));
            }
            other => panic!("unexpected entity {other:?}"),
        }
    }
    assert_eq!(slots, 4);
    assert_eq!(circles, [("bore".to_owned(), 3.0), ("outside".to_owned(), 70.0)]);
    let header = &drawing.header;
    assert_eq!((header.minimum_drawing_extents.x, header.maximum_drawing_extents.y), (-70.0, 70.0));
    let text = String::from_utf8(bytes).unwrap();
    let parts: Vec<&str> = text.split("\r\n").collect();
    for (k, line) in parts.iter().enumerate() {
        if *line == "VERTEX" || *line == "SEQEND" {
            assert_eq!(parts[k + 2], "slots", "line {k}");
        }
    }
}

#[test]
fn svg_is_in_millimetres_with_one_path_for_each_contour() {
    let outline = Outline::of(&springs()[2], &rules(SlotEnds::Round)).unwrap();
    let text = String::from_utf8(svg(&outline)).unwrap();
    assert!(text.contains("width=\"102mm\"") && text.contains("viewBox=\"-51 -51 102 102\""), "{text}");
    assert_eq!(text.matches("<path").count(), 5);
    assert!(!text.contains("transform"));
    assert_eq!(text.matches("stroke-width=\"0.1\"").count(), 5);
}

#[test]
fn a_larger_waterjet_kerf_makes_a_larger_keyhole() {
    let process = |kerf| Process { kind: Some(ProcessKind::Waterjet), kerf, ..Process::default() };
    let usual = CutRules::of(&process(None), 1.0);
    assert!((usual.kerf - 0.9).abs() < 1e-12);
    assert!((usual.keyhole_diameter(1.4) - 2.1).abs() < 1e-12);
    assert!((CutRules::of(&process(Some(1.2)), 1.0).keyhole_diameter(1.4) - 2.4).abs() < 1e-12);
}
