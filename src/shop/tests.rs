//! Tests of the sheets: numbers, limits, and marks that stay on the page.

use super::characteristic::{Characteristic, SOLID_HEIGHT, characteristics};
use super::page::{Align, FONT, Mark, Page, Step, text_width};
use super::{drawing_sheet, inspection_sheet, pdf, svg, title};
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
                drawn_by = \"A. N.\"\ndate = \"day one\"\n";
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
