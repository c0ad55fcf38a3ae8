//! Tests of the sheets: numbers, limits, and marks that stay on the page.

use super::characteristic::{Characteristic, SOLID_HEIGHT, characteristics};
use super::page::{Align, FONT, Mark, Page, Step, text_width};
use super::{drawing_sheet, inspection_sheet, pdf, svg};
use crate::evaluation::{Asked, Evaluation, Extent};
use crate::layout::Spring;
use crate::outline::Role;
use crate::spec::SpringFile;

fn evaluation(text: &str) -> Evaluation {
    let file = SpringFile::parse(text, "test").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    Evaluation::of(&spring, Asked::of(&file, None).to_extent(Extent::Draft)).unwrap()
}

/// Springs from 5 to 200 mm, one arm and three, round and bulb ends.
fn springs() -> Vec<Evaluation> {
    [(5.0, 0.1, 2, 0.11, "etch"), (20.0, 0.3, 3, 0.35, "etch"), (70.0, 1.2, 2, 1.4, "waterjet"), (200.0, 3.0, 1, 2.8, "waterjet")]
        .into_iter()
        .map(|(outside, thickness, arms, slot, process)| {
            let r = |share: f64| share * outside;
            evaluation(&format!(
                "format = 1\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = {thickness}\n[disc]\nouter_diameter = \
                 {outside}\narm_outer_diameter = {}\narm_inner_diameter = {}\nbore_diameter = {}\narms = {arms}\nslot = \
                 {slot}\n[arm]\nradius = [{}, {}]\nwidth = [{}, {}]\n[former]\nfree_height = {}\n[process]\nkind = \
                 \"{process}\"\n",
                r(0.86),
                r(0.36),
                r(0.12),
                r(0.18),
                r(0.43),
                r(0.05),
                r(0.05),
                r(0.08)
            ))
        })
        .collect()
}

fn sheets(evaluation: &Evaluation) -> [Page; 2] {
    let drawing = evaluation.drawing.as_ref().unwrap();
    [
        drawing_sheet(evaluation, drawing, "Spring of a test").unwrap(),
        inspection_sheet(evaluation, drawing, "Spring of a test").unwrap(),
    ]
}

#[test]
fn every_mark_stays_on_the_page_and_no_text_on_another() {
    let face = ttf_parser::Face::parse(FONT, 0).unwrap();
    for evaluation in springs() {
        for page in sheets(&evaluation) {
            let inside = |[x, y]: [f64; 2]| {
                (5.0..=page.width - 5.0).contains(&x) && (5.0..=page.height - 5.0).contains(&y)
            };
            let mut boxes: Vec<([f64; 4], &str)> = Vec::new();
            for mark in &page.marks {
                match mark {
                    Mark::Stroke { path, .. } | Mark::Fill { path, .. } => {
                        for step in path {
                            let (Step::Move(p) | Step::Line(p) | Step::Curve(_, _, p)) = *step else {
                                continue;
                            };
                            assert!(inside(p), "{p:?} of {}", page.title);
                        }
                    }
                    Mark::Text { text, at, em, align } => {
                        let width = text_width(&face, text, *em);
                        let left = match align {
                            Align::Left => at[0],
                            Align::Centre => at[0] - 0.5 * width,
                            Align::Right => at[0] - width,
                        };
                        assert!(inside([left, at[1]]) && inside([left + width, at[1] + em]), "{text:?}");
                        assert!(*em > 1.7 || text.is_empty(), "{text:?} has {em} mm");
                        boxes.push(([left, left + width, at[1], at[1] + 0.72 * em], text));
                    }
                }
            }
            for (i, (a, text)) in boxes.iter().enumerate() {
                for (b, other) in &boxes[i + 1..] {
                    let apart = a[1] <= b[0] || b[1] <= a[0] || a[3] <= b[2] || b[3] <= a[2];
                    assert!(apart || text.is_empty() || other.is_empty(), "{text:?} over {other:?}");
                }
            }
        }
    }
}

#[test]
fn the_places_of_arm_widths_lie_in_metal() {
    for evaluation in springs() {
        let drawing = evaluation.drawing.as_ref().unwrap();
        let arms = |one: &Characteristic| one.name.starts_with("Arm");
        for one in characteristics(&evaluation, drawing).unwrap().iter().filter(|one| arms(one)) {
            let place = one.place.unwrap();
            // half a width, less its tolerance, to the nearest cut on either side
            let half = 0.5 * one.low.unwrap();
            for slot in drawing.outline.role(Role::Slot) {
                let distance = slot.chain.distance(place);
                assert!(distance > 0.7 * half, "{} at {place:?}: {distance} of {half}", one.name);
            }
        }
    }
}

#[test]
fn the_limits_are_those_of_the_numbers_as_written() {
    for evaluation in springs() {
        let drawing = evaluation.drawing.as_ref().unwrap();
        for one in characteristics(&evaluation, drawing).unwrap() {
            let Some((value, rest)) = one.asked.split_once(" ± ") else {
                assert!(one.low.is_none() && one.asked.ends_with("max."), "{one:?}");
                continue;
            };
            let tolerance: f64 = rest.trim_end_matches(" N").parse().unwrap();
            let value: f64 = value.parse().unwrap();
            assert!(tolerance > 0.0, "{one:?}");
            assert!((one.low.unwrap() - (value - tolerance)).abs() < 1e-9, "{one:?}");
            assert!((one.high.unwrap() - (value + tolerance)).abs() < 1e-9, "{one:?}");
        }
        let list = characteristics(&evaluation, drawing).unwrap();
        let solid = list.iter().find(|one| one.name == SOLID_HEIGHT).unwrap();
        assert!(solid.high.unwrap() >= evaluation.checks.flat.solid_height_mm);
    }
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    let evaluation = &springs()[2];
    let [a, _] = sheets(evaluation);
    let [b, _] = sheets(evaluation);
    assert_eq!(pdf(&a).unwrap(), pdf(&b).unwrap());
    assert_eq!(svg(&a), svg(&b));
    assert!(pdf(&a).unwrap().starts_with(b"%PDF-1."));
}
