//! Tests of the sheets: numbers, limits, and marks that stay on the page.

use std::path::Path;

use super::characteristic::{Characteristic, FREE_HEIGHT, SOLID_HEIGHT, characteristics};
use super::page::{Align, FONT, Mark, Page, Step, text_width};
use super::paper::{DIVISION, MARGIN, Places};
use super::ring_places::RING;
use super::{drawing_sheet, inspection_sheet, pdf, svg, title};
use crate::curve::TargetCurve;
use crate::evaluation::{Asked, Evaluation, Extent};
use crate::export::dxf_nest;
use crate::layout::Spring;
use crate::outline::{Role, from_dxf};
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

/// The springs of `tests/data/shop`, by name.
fn shop_springs() -> Vec<(String, Evaluation)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/shop");
    let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<_> = files.filter(|path| path.extension().is_some_and(|ext| ext == "toml")).collect();
    files.sort();
    assert!(files.len() >= 20, "{files:?}");
    let name = |path: &Path| path.file_stem().unwrap().to_string_lossy().into_owned();
    files.iter().map(|path| (name(path), evaluation(&std::fs::read_to_string(path).unwrap()))).collect()
}

/// Left, right, lower and upper edge of a text: from the baseline to the height of its capitals.
fn text_box(face: &ttf_parser::Face<'_>, mark: &Mark) -> Option<[f64; 4]> {
    let Mark::Text { text, at, em, align } = mark else { return None };
    let width = text_width(face, text, *em);
    let left = match align {
        Align::Left => at[0],
        Align::Centre => at[0] - 0.5 * width,
        Align::Right => at[0] - width,
    };
    (!text.is_empty()).then_some([left, left + width, at[1], at[1] + 0.73 * em])
}

/// Whether a straight piece passes through a box, by halving it.
fn crosses([left, right, low, high]: [f64; 4], a: [f64; 2], b: [f64; 2]) -> bool {
    (0..=400).map(f64::from).any(|k| {
        let share = k / 400.0;
        let [x, y] = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
        (left..=right).contains(&x) && (low..=high).contains(&y)
    })
}

#[test]
fn every_mark_stays_in_the_frame_and_no_text_on_another_or_on_a_line() {
    let face = ttf_parser::Face::parse(FONT, 0).unwrap();
    let springs = springs().into_iter().map(|evaluation| ("drawn here".to_owned(), evaluation));
    for (name, evaluation) in springs.chain(shop_springs()) {
        for (page, margins) in sheets(&evaluation).into_iter().zip([MARGIN, [5.0, 5.0]]) {
            let inside = |[x, y]: [f64; 2]| {
                (margins[0]..=page.width - margins[1]).contains(&x)
                    && (margins[1]..=page.height - margins[1]).contains(&y)
            };
            let boxes: Vec<(usize, [f64; 4])> = page
                .marks
                .iter()
                .enumerate()
                .filter_map(|(i, mark)| text_box(&face, mark).map(|found| (i, found)))
                .collect();
            for (k, (i, a)) in boxes.iter().enumerate() {
                let Mark::Text { text, em, .. } = &page.marks[*i] else { continue };
                assert!(inside([a[0], a[2]]) && inside([a[1], a[3]]), "{name}: {text:?} outside");
                // ISO 3098-1: capitals of 1.8 mm at least; labels of the title block are 2 mm letters
                assert!(*em >= 2.0 - 1e-9, "{name}: {text:?} has {em} mm");
                for (j, b) in &boxes[k + 1..] {
                    let apart = a[1] <= b[0] || b[1] <= a[0] || a[3] <= b[2] || b[3] <= a[2];
                    assert!(apart, "{name}: {text:?} over {:?}", page.marks[*j]);
                }
                // what lies under the white of a ring is not seen
                let seen_from = page.marks[..*i].iter().rposition(|mark| {
                    let Mark::Fill { path, grey: 1.0 } = mark else { return false };
                    let Some(Step::Move([x, y])) = path.first() else { return false };
                    (x - RING - 0.5 * (a[0] + a[1])).hypot(y - 0.5 * (a[2] + a[3])) < RING
                });
                for mark in &page.marks[seen_from.unwrap_or(0)..] {
                    let Mark::Stroke { path, .. } = mark else { continue };
                    for pair in path.windows(2) {
                        let (Step::Move(p) | Step::Line(p), Step::Line(q)) = (pair[0], pair[1]) else {
                            continue;
                        };
                        assert!(!crosses(*a, p, q), "{name}: a line through {text:?}");
                    }
                }
            }
            for mark in &page.marks {
                let (Mark::Stroke { path, .. } | Mark::Fill { path, .. }) = mark else { continue };
                for step in path {
                    if let Step::Move(p) | Step::Line(p) | Step::Curve(_, _, p) = *step {
                        assert!(inside(p), "{name}: {p:?} of {}", page.title);
                    }
                }
            }
        }
    }
}

#[test]
fn views_are_at_the_scale_that_is_written_and_it_is_a_standard_one() {
    // ISO 5455:1979, table 1
    let standard = ["50:1", "20:1", "10:1", "5:1", "2:1", "1:1", "1:2", "1:5", "1:10", "1:20", "1:50"];
    for (name, evaluation) in shop_springs() {
        let [page, _] = sheets(&evaluation);
        let written = |start: &str| {
            let texts = page.marks.iter().filter_map(|mark| match mark {
                Mark::Text { text, .. } => text.strip_prefix(start),
                _ => None,
            });
            let word = texts.map(|rest| rest.split(';').next().unwrap().to_owned()).next().unwrap();
            assert!(standard.contains(&word.as_str()), "{name}: {word}");
            let (page, part) = word.split_once(':').unwrap();
            page.parse::<f64>().unwrap() / part.parse::<f64>().unwrap()
        };
        let diameter = 2.0 * evaluation.spring.disc.outer_radius;
        // the dimension line of the outside diameter: as long as the disc is wide, level, below the plan
        let long = |wanted: f64| {
            page.marks.iter().any(|mark| match mark {
                Mark::Stroke { path, dashed: false, .. } => match path.as_slice() {
                    [Step::Move(a), Step::Line(b)] => a[1] == b[1] && (b[0] - a[0] - wanted).abs() < 1e-6,
                    _ => false,
                },
                _ => false,
            })
        };
        assert!(long(written("Blank, flat, ") * diameter), "{name}: no dimension of the outside to scale");
        assert_eq!(written("Section, free, "), written("Section, closed, "), "{name}");
        // the right end of the section's rim
        let edge = written("Section, free, ") * 0.5 * diameter;
        let free = Places::on(evaluation.asked.checks.shop.paper.unwrap_or_default()).free;
        let found = page.marks.iter().any(|mark| match mark {
            Mark::Fill { path, .. } => path.iter().any(
                |step| matches!(step, Step::Line(p) if (p[0] - free[0] - edge).abs() < 1e-6 && (p[1] - free[1]).abs() < 1e-6),
            ),
            _ => false,
        });
        assert!(found, "{name}: the rim of the section is not {edge} mm from the axis");
    }
}

#[test]
fn every_dimension_in_a_view_has_its_tolerance_or_limit() {
    for (name, evaluation) in shop_springs() {
        let [page, _] = sheets(&evaluation);
        let texts: Vec<&str> = page
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Text { text, at, .. } if at[0] < DIVISION => Some(text.as_str()),
                _ => None,
            })
            .collect();
        let outside = texts.iter().find(|text| text.starts_with("Ø ")).unwrap();
        assert!(outside.contains(" ± "), "{name}: {outside}");
        for characteristic in [FREE_HEIGHT, SOLID_HEIGHT] {
            let drawing = evaluation.drawing.as_ref().unwrap();
            let list = characteristics(&evaluation, drawing).unwrap();
            let asked = &list.iter().find(|one| one.name == characteristic).unwrap().asked;
            let (value, tolerance) = asked.split_once(' ').unwrap();
            assert!(texts.contains(&value) && texts.contains(&tolerance), "{name}: {asked} in {texts:?}");
        }
    }
}

#[test]
fn sheets_in_inches_say_the_same_as_those_in_millimetres() {
    let all = shop_springs();
    let (_, inches) = all.iter().find(|(name, _)| name.contains("inches-tabloid")).unwrap();
    let mut plain = inches.clone();
    plain.asked.checks.shop.units = None;
    let list =
        |evaluation: &Evaluation| characteristics(evaluation, evaluation.drawing.as_ref().unwrap()).unwrap();
    for (inch, mm) in list(inches).iter().zip(list(&plain)) {
        // exact by definition: 25.4 mm; 0.45359237 kg times 9.80665 m/s2
        let (factor, unit) = if mm.unit == "N" { (4.448_221_615_260_5, "lbf") } else { (25.4, "in") };
        assert_eq!(inch.unit, unit);
        for (a, b) in [(inch.low, mm.low), (inch.high, mm.high)] {
            let (Some(a), Some(b)) = (a, b) else { continue };
            assert!((factor * a - b).abs() < 0.01_f64.max(2e-3 * b), "{inch:?} {mm:?}");
        }
    }
    let [sheet, inspection] = sheets(inches);
    for (page, inches) in [(sheet, [17.0, 11.0]), (inspection, [8.5, 11.0])] {
        assert!(
            (page.width - 25.4 * inches[0]).abs() < 1e-9 && (page.height - 25.4 * inches[1]).abs() < 1e-9
        );
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

/// The spring of the tests below, with lines of `[shop]`.
fn with_shop(lines: &str) -> Evaluation {
    evaluation(&format!(
        "format = 1\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.2\n[disc]\nouter_diameter = 76\n\
         arm_outer_diameter = 60\narm_inner_diameter = 24\nbore_diameter = 8\narms = 2\nslot = 1.4\n[arm]\nradius = \
         [12, 30]\nwidth = [3, 4]\n[former]\nfree_height = 6\n[shop]\n{lines}\n"
    ))
}

/// Everything that the shop's keys may show in, by name.
fn shown(evaluation: &Evaluation) -> Vec<(&'static str, String)> {
    let drawing = evaluation.drawing.as_ref().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    let sheet = drawing_sheet(evaluation, drawing, &title(evaluation)).unwrap();
    let nest = drawing.placed().map(|nest| {
        let notes = drawing.notes.on_sheet(nest, drawing.cut.part_area_mm2);
        text(dxf_nest(nest, &drawing.outline, &drawing.marks, &notes).unwrap())
    });
    vec![
        ("dxf", text(drawing.dxf.clone())),
        ("nest", nest.unwrap_or_default()),
        ("price", drawing.cost.price(&evaluation.asked.checks.shop).unwrap_or_default()),
        ("sheet", text(svg(&sheet))),
        ("rings", format!("{:?}", evaluation.checks.former.rings)),
    ]
}

#[test]
fn every_key_of_the_shop_shows_where_it_belongs() {
    let base = "machine_rate = 90\nsheet_price = 12\nset_up = 40\nbatch = 20\ncurrency = \"EUR\"\nsheet = [500, 300]\n\
                margin = 12\nspacing = 4\nshims = [0.5, 1.0, 2.0]\npart_number = \"PF-1\"\ntabs = 2\ntab_width = 0.6\n\
                title = \"Pedal spring\"\ndrawing_number = \"D-7\"\nrevision = \"B\"\ncompany = \"Rig works\"\n\
                drawn_by = \"A. N.\"\ndate = \"day one\"\npaper = \"a3\"\nunits = \"mm-n\"\n";
    let changed = [
        ("machine_rate = 80", "price"),
        ("sheet_price = 9", "price"),
        ("set_up = 20", "price"),
        ("batch = 10", "price"),
        ("currency = \"CHF\"", "price"),
        ("sheet = [600, 300]", "nest"),
        ("margin = 15", "nest"),
        ("spacing = 6", "nest"),
        ("shims = [0.8, 3.0]", "rings"),
        ("part_number = \"PF-2\"", "dxf"),
        ("tabs = 1", "dxf"),
        ("tab_width = 0.8", "dxf"),
        ("title = \"Throttle spring\"", "sheet"),
        ("drawing_number = \"D-8\"", "sheet"),
        ("revision = \"C\"", "sheet"),
        ("company = \"Bench works\"", "sheet"),
        ("drawn_by = \"B. N.\"", "sheet"),
        ("date = \"day two\"", "sheet"),
        ("paper = \"tabloid\"", "sheet"),
        ("units = \"in-lbf\"", "sheet"),
    ];
    let key = |line: &str| line.split(" = ").next().unwrap().to_owned();
    // no key is left out
    let all: Vec<String> = base.lines().map(key).collect();
    let whole = toml::to_string(&with_shop(base).asked.checks.shop).unwrap();
    let mut known: Vec<String> = whole.lines().filter(|line| line.contains(" = ")).map(key).collect();
    let mut given = all.clone();
    known.sort();
    given.sort();
    assert_eq!(known, given);
    assert_eq!(changed.map(|(line, _)| key(line)).to_vec(), all);
    let before = shown(&with_shop(base));
    for (line, place) in changed {
        let lines: Vec<&str> =
            base.lines().map(|old| if key(old) == key(line) { line } else { old }).collect();
        let after = shown(&with_shop(&lines.join("\n")));
        let find = |list: &[(&str, String)]| {
            list.iter().find(|(name, _)| *name == place).map(|(_, text)| text.clone()).unwrap()
        };
        assert_ne!(find(&before), find(&after), "{line} changes nothing in {place}");
    }
}

#[test]
fn marks_lie_on_layers_of_their_own_and_the_part_reads_back_without_them() {
    let plain = with_shop("tabs = 0");
    let marked = with_shop("tabs = 2\npart_number = \"PF-017.2\"");
    let read = |evaluation: &Evaluation| {
        from_dxf(&evaluation.drawing.as_ref().unwrap().dxf, "outline_mm.dxf").unwrap()
    };
    let (without, with) = (read(&plain), read(&marked));
    assert_eq!(with.contours, without.contours);
    assert_eq!(with.passed_over.get("POLYLINE on layer tabs"), Some(&2));
    assert!(with.passed_over.get("POLYLINE on layer engraving").is_some_and(|count| *count >= 8));
    assert_eq!(with.unit_mm, 1.0);
    let text = String::from_utf8_lossy(&marked.drawing.as_ref().unwrap().dxf).into_owned();
    assert!(text.contains("$INSUNITS\r\n 70\r\n4\r\n"), "millimetres in the header");
    // the number stands in the metal of the rim
    let drawing = marked.drawing.as_ref().unwrap();
    let slots: Vec<_> = drawing.outline.role(Role::Slot).collect();
    for point in drawing.marks.engraving.iter().flat_map(|stroke| &stroke.vertices).map(|vertex| vertex.point)
    {
        let radius = point[0].hypot(point[1]);
        assert!(radius < 38.0 - 0.5, "{point:?} beyond the rim");
        let nearest = slots.iter().map(|slot| slot.chain.distance(point)).fold(f64::INFINITY, f64::min);
        assert!(nearest > 0.5 && radius > 25.0, "{point:?} is {nearest} mm from a slot");
    }
    // tabs begin on the outer edge and bridge the cut
    for tab in &drawing.marks.tabs {
        let radii: Vec<f64> = tab.outline.vertices.iter().map(|v| v.point[0].hypot(v.point[1])).collect();
        assert!((radii[0] - 38.0).abs() < 1e-9 && (radii[1] - 38.0).abs() < 1e-9);
        assert!(radii[2] - 38.0 > drawing.rules.kerf - 1e-9 && (radii[3] - radii[2]).abs() < 1e-9);
    }
}

#[test]
fn small_and_etched_parts_get_tabs_unasked() {
    let tabs = |evaluation: &Evaluation| evaluation.drawing.as_ref().unwrap().marks.tabs.len();
    let list = springs();
    assert_eq!(list.iter().map(tabs).collect::<Vec<_>>(), [2, 3, 0, 0]);
}

#[test]
fn notes_are_readable_at_any_size() {
    for evaluation in springs() {
        let text = String::from_utf8(evaluation.drawing.as_ref().unwrap().dxf.clone()).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        let heights: Vec<f64> = lines
            .iter()
            .enumerate()
            .filter(|(_, line)| **line == "TEXT")
            .filter_map(|(k, _)| {
                let place = lines[k..].iter().position(|line| *line == " 40")?;
                lines[k + place + 1].trim().parse().ok()
            })
            .collect();
        // ISO 3098-1: no smaller than 1.8 mm
        assert!(heights.len() > 8 && heights.iter().all(|height| *height >= 1.8), "{heights:?}");
    }
}

#[test]
fn a_sheet_that_takes_no_part_is_a_warning_and_not_the_end() {
    let evaluation = with_shop("sheet = [80, 80]");
    let drawing = evaluation.drawing.as_ref().unwrap();
    assert!(drawing.placed().is_none());
    assert!(drawing.warnings().iter().any(|warning| warning.contains("shop.sheet")));
}

/// A disc for a curve of force over travel, installed 1.5 mm pressed, with more of its file.
fn asked(more: &str, points: [[f64; 2]; 3]) -> Evaluation {
    let text = format!(
        "format = 1\n[sheet]\nmaterial = \"51CrV4+QT\"\nthickness = 1.0\n[disc]\nouter_diameter = 70\narm_outer_diameter = \
         60\narm_inner_diameter = 24\nbore_diameter = 8\narms = 2\nslot = 1.4\n[arm]\nradius = [12, 30]\nwidth = [4, \
         4]\n[former]\nfree_height = 6.3\n{more}"
    );
    let file = SpringFile::parse(&text, "test").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let [deflection, force] = [0, 1].map(|k| points.map(|point| point[k]).to_vec());
    let target = TargetCurve::points(&deflection, &force).curve("target").unwrap();
    Evaluation::of(&spring, Asked::of(&file, Some(&target)).to_extent(Extent::Draft)).unwrap()
}

fn said(evaluation: &Evaluation) -> String {
    let [page, _] = sheets(evaluation);
    let texts = page.marks.iter().filter_map(|mark| match mark {
        Mark::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    texts.collect::<Vec<_>>().join(" | ")
}

#[test]
fn forces_are_tested_where_the_curve_is_asked_for() {
    // to the last deflection asked for, which the reserve of 5 % leaves: 6.0 of 6.3 mm
    let plain = asked("", [[0.0, 0.0], [3.0, 30.0], [6.0, 80.0]]);
    let text = said(&plain);
    assert!(text.contains("80.0 ± 2.4 N") || text.contains("80.00 ± 2.40 N"), "{text}");
    assert!(text.contains("3.00 mm from free") && text.contains("6.00 mm from free"), "{text}");
    assert!(!text.contains("Installed"), "{text}");
    // with a preload the force at rest is the first: 1.5 mm from free, 6.3 + 1 - 1.5 mm high
    let installed = asked("[duty]\ninstalled = 1.5\ncycles = 2e5\n", [[0.0, 12.0], [2.0, 30.0], [4.0, 60.0]]);
    let text = said(&installed);
    assert!(text.contains("12.00 ± 0.36 N"), "{text}");
    assert!(text.contains("Force F1, hub at height 5.80 mm") && text.contains("1.50 mm from free"), "{text}");
    assert!(text.contains("hub at height 5.80 mm, with F1"), "{text}");
    assert!(text.contains("200,000 cycles, 1.50 mm to 5.50 mm from free"), "{text}");
}

#[test]
fn edges_are_left_as_the_process_leaves_them_unless_that_skin_cracks() {
    let points = [[0.0, 0.0], [3.0, 30.0], [6.0, 80.0]];
    let text = said(&asked("[process]\nkind = \"laser\"\n", points));
    assert!(text.contains("laser cut ground off") && !text.contains("as cut"), "{text}");
    let text = said(&asked("[process]\nkind = \"waterjet\"\n", points));
    assert!(text.contains("Edges: as cut; remove loose burr"), "{text}");
    // photo-etching leaves no burr (common knowledge of the trade): none to measure, none in the solid height
    let etched = asked("[process]\nkind = \"etch\"\n", points);
    assert_eq!(etched.checks.flat.burr_mm, 0.0);
    let text = said(&etched);
    assert!(text.contains("Edges: as cut; no burr") && !text.contains("Burr, both faces"), "{text}");
}
