//! A drawing read back is the drawing written, and no bytes stop the reader.

// what the tests share may unwrap as they do
#![allow(clippy::unwrap_used)]

use std::sync::OnceLock;

use flatspire::export::{DrawingNotes, dxf};
use flatspire::layout::Spring;
use flatspire::outline::{Contour, CutRules, Outline, ReadError, Role, from_dxf, measure};
use flatspire::spec::{Process, SlotEnds, SpringFile};
use proptest::prelude::*;

fn outline(arms: usize, slot: f64, ends: SlotEnds) -> Outline {
    let text = format!(
        "[sheet]\nthickness = 1\nyoungs_modulus = 206000\nshear_modulus = 79300\n[disc]\nouter_diameter = 100\n\
         arm_outer_diameter = 80\narm_inner_diameter = 28\nbore_diameter = 8\narms = {arms}\nslot = {slot}\n[arm]\n\
         radius = [14, 25, 40]\nwidth = [2.6, 3.4, 5.0]\n[former]\nfree_height = 9\n"
    );
    let spring = Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap();
    Outline::of(&spring, &CutRules::of(&Process { ends: Some(ends), ..Process::default() }, 1.0)).unwrap()
}

fn notes() -> DrawingNotes {
    DrawingNotes { lines: vec!["return spring, sizes in mm".to_owned()] }
}

#[test]
fn written_and_read_contours_agree_to_the_written_digit() {
    for (arms, slot, ends) in [
        (1, 1.5, SlotEnds::Round),
        (2, 0.9, SlotEnds::Round),
        (3, 1.4, SlotEnds::Keyhole),
        (6, 1.3, SlotEnds::Round),
    ] {
        let outline = outline(arms, slot, ends);
        let read = from_dxf(&dxf(&outline, &notes()).unwrap(), "disc_mm.dxf").unwrap();
        assert_eq!(read.passed_over.get("TEXT"), Some(&1));
        assert_eq!(read.contours.len(), outline.contours.len());
        for role in [Role::Bore, Role::Slot, Role::CutOnLine, Role::Outside] {
            let drawn: Vec<&Contour> = outline.role(role).collect();
            let found: Vec<&Contour> = read.contours.iter().filter(|contour| contour.role == role).collect();
            assert_eq!(drawn.len(), found.len(), "{role:?}");
            for (drawn, found) in drawn.iter().zip(found) {
                assert_eq!(drawn.chain.vertices.len(), found.chain.vertices.len());
                for (a, b) in drawn.chain.vertices.iter().zip(&found.chain.vertices) {
                    let away = (a.point[0] - b.point[0]).hypot(a.point[1] - b.point[1]);
                    assert!(away < 1e-6 && (a.bulge - b.bulge).abs() < 1e-9);
                }
            }
        }
        let (before, after) =
            (measure(&outline.contours, 0.9).unwrap(), measure(&read.contours, 0.9).unwrap());
        for (a, b) in before.stations().iter().zip(&after.stations()) {
            assert!((a.width - b.width).abs() < 5e-6 && (a.radius - b.radius).abs() < 5e-6, "{a:?} {b:?}");
        }
    }
}

/// The outline as another program might write it: loose lines and arcs on one layer, in no order, moved and mirrored.
fn exploded(outline: &Outline, chords: Option<f64>, by: [f64; 2], mirror: bool) -> Vec<u8> {
    let mut lines = Vec::new();
    for contour in &outline.contours {
        let chain = if mirror { contour.chain.mirrored() } else { contour.chain.clone() };
        for arc in chain.shifted(by).arcs() {
            let count = chords.map_or(1, |length| {
                (1..1000).find(|&k| f64::from(k) * length >= arc.length()).unwrap_or(1000)
            });
            for k in 0..count {
                let piece = arc.piece(f64::from(k) / f64::from(count), f64::from(k + 1) / f64::from(count));
                let ([x0, y0], [x1, y1]) = (piece.start, piece.end);
                lines.push(match piece.centre().filter(|_| chords.is_none()) {
                    Some(centre) => {
                        let angle = |p: [f64; 2]| (p[1] - centre[1]).atan2(p[0] - centre[0]).to_degrees();
                        let (mut from, mut to) = (angle(piece.start), angle(piece.end));
                        if piece.bulge < 0.0 {
                            std::mem::swap(&mut from, &mut to);
                        }
                        format!(
                            "0\nARC\n8\npart\n10\n{:.7}\n20\n{:.7}\n40\n{:.7}\n50\n{from:.9}\n51\n{to:.9}\n",
                            centre[0],
                            centre[1],
                            piece.radius()
                        )
                    }
                    None => format!("0\nLINE\n8\npart\n10\n{x0:.6}\n20\n{y0:.6}\n11\n{x1:.6}\n21\n{y1:.6}\n"),
                });
            }
        }
    }
    // a fixed shuffle
    let count = lines.len();
    let step = (count / 3..count)
        .find(|step| (2..count).all(|d| !(count.is_multiple_of(d) && step.is_multiple_of(d))));
    let body: String = (0..count).map(|k| lines[k * step.unwrap_or(1) % count].as_str()).collect();
    format!("0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n").into_bytes()
}

#[test]
fn loose_arcs_moved_and_mirrored_measure_the_same() {
    for ends in [SlotEnds::Round, SlotEnds::Keyhole] {
        let outline = outline(3, 1.4, ends);
        let straight = measure(&outline.contours, 0.9).unwrap();
        for mirror in [false, true] {
            let bytes = exploded(&outline, None, [12.5, -7.25], mirror);
            let read = from_dxf(&bytes, "old.dxf").unwrap();
            let disc = measure(&read.contours, 0.9).unwrap();
            assert_eq!(disc.mirrored, mirror);
            assert!((disc.centre[0] - 12.5).abs() < 1e-4 && (disc.centre[1] + 7.25).abs() < 1e-4);
            assert!((disc.slot_width() - 1.4).abs() < 1e-4 && (disc.bore_radius - 4.0).abs() < 1e-4);
            for (a, b) in straight.stations().iter().zip(&disc.stations()) {
                assert!((a.angle - b.angle).abs() < 1e-3, "{a:?} {b:?}");
                assert!(
                    (a.width - b.width).abs() < 2e-3 && (a.radius - b.radius).abs() < 5e-3,
                    "{a:?} {b:?}"
                );
            }
        }
    }
}

#[test]
fn a_drawing_of_short_chords_measures_within_its_own_coarseness() {
    let outline = outline(2, 1.4, SlotEnds::Round);
    let straight = measure(&outline.contours, 0.9).unwrap();
    let read = from_dxf(&exploded(&outline, Some(0.4), [0.0; 2], false), "chords.dxf").unwrap();
    let disc = measure(&read.contours, 0.9).unwrap();
    assert!((disc.slot_width() - 1.4).abs() < 0.005, "{}", disc.slot_width());
    let (first, last) = (straight.stations()[240], disc.stations()[240]);
    assert!((first.angle - last.angle).abs() * first.radius < 0.4, "{} {}", first.angle, last.angle);
    for (a, b) in straight.stations().iter().zip(&disc.stations()) {
        assert!((a.width - b.width).abs() < 0.02 && (a.radius - b.radius).abs() < 0.1, "{a:?} {b:?}");
    }
}

#[test]
fn invalid_springs_are_refused_with_the_reason() {
    let entities = |body: &str| format!("0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n").into_bytes();
    let washer = entities("0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n20\n0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n5\n");
    let read = from_dxf(&washer, "washer.dxf").unwrap();
    assert!(measure(&read.contours, 0.9).unwrap_err().to_string().contains("no slots"));
    let holes = entities("0\nCIRCLE\n8\n0\n10\n0\n20\n0\n40\n20\n0\nCIRCLE\n8\n0\n10\n12\n20\n0\n40\n2\n");
    let read = from_dxf(&holes, "holes.dxf").unwrap();
    assert!(measure(&read.contours, 0.9).is_err());
    assert!(matches!(from_dxf(&entities(""), "empty.dxf"), Err(ReadError::Empty { .. })));
    assert!(matches!(from_dxf(b"AutoCAD Binary DXF\r\n\x1a\0", "binary.dxf"), Err(ReadError::Binary { .. })));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_stop_the_reader(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        let _ = from_dxf(&bytes, "any.dxf").map(|read| measure(&read.contours, 0.9));
    }

    #[test]
    fn no_groups_stop_reading_or_measuring(
        groups in proptest::collection::vec((0usize..14, "[-0-9.e]{0,9}|LINE|ARC|CIRCLE|POLYLINE|LWPOLYLINE|VERTEX|SEQEND|slots|outside"), 0..120)
    ) {
        const CODES: [i32; 14] = [0, 8, 10, 20, 11, 21, 40, 42, 50, 51, 70, 230, 0, 10];
        let body = groups
            .iter()
            .map(|(code, value)| format!("{}\n{value}\n", CODES[*code]))
            .collect::<Vec<_>>()
            .concat();
        let text = format!("0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n");
        let _ = from_dxf(text.as_bytes(), "any.dxf").map(|read| measure(&read.contours, 0.9));
    }

    #[test]
    fn no_circles_lines_and_slots_stop_measuring(
        shapes in proptest::collection::vec((0u8..4, -30f64..30.0, -30f64..30.0, 0.01f64..25.0, -3f64..3.0), 1..12)
    ) {
        let entities: Vec<String> = shapes
            .into_iter()
            .map(|(kind, x, y, size, bulge)| {
                let layer = if kind == 0 { "outside" } else { "slots" };
                match kind {
                    0 | 1 => format!("0\nCIRCLE\n8\n{layer}\n10\n{x}\n20\n{y}\n40\n{size}\n"),
                    2 => format!(
                        "0\nLWPOLYLINE\n8\n{layer}\n70\n1\n10\n{x}\n20\n{y}\n42\n{bulge}\n10\n{size}\n20\n{y}\n\
                         10\n{x}\n20\n{size}\n"
                    ),
                    _ => format!("0\nLINE\n8\ncut_on_line\n10\n{x}\n20\n{y}\n11\n{size}\n21\n{bulge}\n"),
                }
            })
            .collect();
        let body = entities.concat();
        let text = format!("0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n");
        let read = from_dxf(text.as_bytes(), "any.dxf").unwrap();
        if let Ok(disc) = measure(&read.contours, 0.9) {
            for station in disc.stations() {
                prop_assert!(station.width > 0.0 && station.radius > 0.0 && station.angle >= 0.0);
            }
        }
    }

    #[test]
    fn a_damaged_drawing_is_read_or_refused(at in 0usize..60_000, byte in any::<u8>()) {
        static SOUND: OnceLock<Vec<u8>> = OnceLock::new();
        let mut bytes =
            SOUND.get_or_init(|| dxf(&outline(1, 1.5, SlotEnds::Round), &notes()).unwrap()).clone();
        let at = at % bytes.len();
        bytes[at] = byte;
        let _ = from_dxf(&bytes, "damaged.dxf").map(|read| measure(&read.contours, 0.9));
    }
}
