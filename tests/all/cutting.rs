//! Cutting data besides the drawing: findings, notes, a compensated path, a sheet full of discs, the time.

// what the tests share may unwrap as they do
#![allow(clippy::unwrap_used)]

use flatspire::export::{DrawingNotes, dxf, dxf_sheet, dxf_tool_path, svg_sheet};
use flatspire::layout::{ArmShape, Spring, Station};
use flatspire::outline::{
    CutRules, CutSummary, DrawingRule, Grade, Marks, Outline, OutlineError, Role, SheetLayout, ToolPath,
    ToolPathError, least_slot, least_web, measure,
};
use flatspire::spec::{Process, ProcessKind, Shop, SlotEnds, SpringFile};

const SPRING: &str = "[sheet]\nthickness = 1.2\nmaterial = \"1.4310+C1300\"\n[disc]\nouter_diameter = 76\n\
                      arm_outer_diameter = 60\narm_inner_diameter = 22\nbore_diameter = 8\narms = 2\nslot = 1.5\n\
                      [arm]\nradius = [11, 20, 30]\nwidth = [2.4, 4.0, 5.2]\n[former]\nfree_height = 9\n";

fn spring(text: &str) -> Spring {
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

fn waterjet(ends: SlotEnds) -> CutRules {
    CutRules::of(&Process { ends: Some(ends), ..Process::default() }, 1.2)
}

#[test]
fn a_sound_disc_has_no_findings() {
    for ends in [SlotEnds::Round, SlotEnds::Keyhole] {
        let outline = Outline::of(&spring(SPRING), &waterjet(ends)).unwrap();
        let findings = outline.findings(&waterjet(ends));
        assert!(findings.is_empty(), "{findings:?}");
    }
}

#[test]
fn the_least_web_is_the_least_arm_and_the_least_slot_the_slot() {
    let outline = Outline::of(&spring(SPRING), &waterjet(SlotEnds::Round)).unwrap();
    let web = least_web(&outline.contours, 0.9).unwrap();
    let disc = measure(&outline.contours, 0.9).unwrap();
    let arm = disc.arms.iter().map(|arm| arm.width_least).fold(f64::INFINITY, f64::min);
    assert!((web.width - arm).abs() < 0.02, "web {} against arm {arm}", web.width);
    assert!((least_slot(&outline.contours, 0.9).unwrap().width - 1.5).abs() < 1e-6);
}

#[test]
fn limits_of_the_process_are_found_with_value_and_place() {
    let thin = spring(&SPRING.replace("[2.4, 4.0, 5.2]", "[0.9, 3.0, 5.2]"));
    let rules = waterjet(SlotEnds::Round);
    let outline = Outline::of(&thin, &rules).unwrap();
    let findings = outline.findings(&rules);
    let web = findings.iter().find(|found| found.rule == DrawingRule::LeastWeb).unwrap();
    assert!(web.grade == Grade::Limit && web.value < 1.21 && web.limit == 1.25, "{web:?}");
    let radius = web.place[0].hypot(web.place[1]);
    assert!((10.0..14.0).contains(&radius), "the thinnest place lies near the hub, found at radius {radius}");
    // the same arm is no trouble for a wire
    let wire = CutRules::of(&Process { kind: Some(ProcessKind::WireEdm), ..Process::default() }, 1.2);
    assert!(outline.findings(&wire).iter().all(|found| found.rule != DrawingRule::LeastWeb));
    let wide = spring(&SPRING.replace("slot = 1.5", "slot = 2.4"));
    let outline = Outline::of(&wide, &rules).unwrap();
    assert!(outline.findings(&rules).iter().any(|found| found.rule == DrawingRule::LooseSliver));
    let thick = CutRules::of(&Process { kind: Some(ProcessKind::Laser), ..Process::default() }, 8.0);
    assert!(outline.findings(&thick).iter().any(|found| found.rule == DrawingRule::SheetThickness));
}

#[test]
fn a_disc_whose_cuts_meet_is_not_drawn() {
    // keyholes that reach out of the rim
    let narrow = spring(&SPRING.replace("outer_diameter = 76", "outer_diameter = 62.2"));
    let error = Outline::of(&narrow, &waterjet(SlotEnds::Keyhole)).unwrap_err();
    let OutlineError::Faults { first, .. } = error else { panic!("{error}") };
    assert_eq!(first.rule, DrawingRule::Crossing);
    assert!(first.place[0].hypot(first.place[1]) > 30.0, "{first}");
}

#[test]
fn every_default_of_a_process_gives_way_to_what_is_given() {
    let process = Process {
        kerf: Some(0.5),
        slot_min: Some(0.7),
        arm_min: Some(0.8),
        inside_radius_min: Some(0.3),
        pierce_hole: Some(1.0),
        edge_slope: Some(-0.02),
        tolerance: Some(0.04),
        speed: Some(700.0),
        pierce_seconds: Some(2.0),
        move_seconds: Some(1.0),
        ..Process::default()
    };
    let rules = CutRules::of(&process, 1.2);
    let found = [
        rules.kerf,
        rules.slot_min,
        rules.closed_slot_min,
        rules.arm_min,
        rules.inside_radius_min,
        rules.pierce_hole,
        rules.edge_slope,
        rules.tolerance,
        rules.speed.unwrap(),
        rules.pierce_seconds,
        rules.move_seconds,
    ];
    assert_eq!(found, [0.5, 0.7, 0.7, 0.8, 0.3, 1.0, -0.02, 0.04, 700.0, 2.0, 1.0]);
    // an edge that leans the other way makes the arm wider at the entry face
    let faces = rules.face_widths(3.0);
    assert!((faces.entry - 3.02).abs() < 1e-12 && (faces.exit - 2.98).abs() < 1e-12);
}

#[test]
fn the_compensated_path_runs_half_a_kerf_into_what_falls_away() {
    for ends in [SlotEnds::Round, SlotEnds::Keyhole] {
        let rules = waterjet(ends);
        let outline = Outline::of(&spring(SPRING), &rules).unwrap();
        let path = ToolPath::of(&outline, &rules).unwrap();
        let roles: Vec<Role> = path.passes.iter().map(|pass| pass.role).collect();
        assert_eq!(roles, [Role::Bore, Role::Slot, Role::Slot, Role::Outside]);
        for (pass, contour) in path.passes.iter().zip(&outline.contours) {
            let mut least = f64::INFINITY;
            for arc in pass.path.arcs() {
                for k in 0..=10 {
                    let point = arc.point_at(f64::from(k) / 10.0);
                    least = least.min(contour.chain.distance(point));
                    assert!((contour.chain.distance(point) - 0.45).abs() < 1e-6, "{:?}", pass.role);
                }
            }
            assert!((least - 0.45).abs() < 1e-6);
            let (drawn, cut) = (contour.chain.area(), pass.path.area());
            assert!(if pass.role == Role::Outside { cut > drawn } else { cut < drawn });
            // the pierce lies in what falls away, clear of the part by the cut's half
            assert!(contour.chain.distance(pass.pierce) >= 0.45 - 1e-9, "{:?}", pass.role);
        }
        let text = String::from_utf8(dxf_tool_path(&path, &DrawingNotes::none()).unwrap()).unwrap();
        assert!(text.contains("KERF_COMPENSATED_PATH") && !text.contains("\r\nslots\r\n"));
        assert!(text.contains("NOT THE SIZE OF THE PART"));
    }
}

#[test]
fn a_process_without_kerf_is_not_compensated() {
    let etch = CutRules::of(&Process { kind: Some(ProcessKind::Etch), ..Process::default() }, 0.3);
    let outline = Outline::of(&spring(SPRING), &etch).unwrap();
    assert_eq!(ToolPath::of(&outline, &etch), Err(ToolPathError::NoKerf));
    let wide = CutRules { kerf: 1.6, ..waterjet(SlotEnds::Round) };
    let outline = Outline::of(&spring(SPRING), &waterjet(SlotEnds::Round)).unwrap();
    assert!(matches!(ToolPath::of(&outline, &wide), Err(ToolPathError::TooWide { contour: 2, .. })));
}

#[test]
fn a_grid_repeats_the_disc_at_its_pitch() {
    let outline = Outline::of(&spring(SPRING), &waterjet(SlotEnds::Round)).unwrap();
    let sheet = SheetLayout::grid(&outline, 3, 2, 4.0).unwrap();
    assert_eq!((sheet.discs(), sheet.contours.len()), (6, 24));
    assert_eq!(sheet.pitch, [80.0, 80.0]);
    assert_eq!(sheet.extents(), [[-38.0, -38.0], [198.0, 118.0]]);
    assert!(
        SheetLayout::grid(&outline, 0, 2, 4.0).is_err() && SheetLayout::grid(&outline, 1, 2, 0.0).is_err()
    );
    let text = String::from_utf8(dxf_sheet(&sheet, &DrawingNotes::none()).unwrap()).unwrap();
    assert_eq!(text.matches("\r\nCIRCLE\r\n").count(), 12);
    assert_eq!(String::from_utf8(svg_sheet(&sheet)).unwrap().matches("<path").count(), 24);
}

#[test]
fn the_time_follows_the_formula_within_a_factor_of_two() {
    let rules = waterjet(SlotEnds::Round);
    let outline = Outline::of(&spring(SPRING), &rules).unwrap();
    let summary = CutSummary::of(&outline, &rules);
    assert_eq!(summary.pierces, 4);
    let expected = 60.0 * 1.15 * summary.cut_length_mm / rules.speed.unwrap() + 4.0 * (5.5 + 4.0);
    let [low, high] = summary.machine_seconds.unwrap();
    assert!((low * 2.0 - expected).abs() < 1e-9 && (high / 2.0 - expected).abs() < 1e-9);
    // two circles and two slots, twice their length each
    let circles = std::f64::consts::PI * (76.0 + 8.0);
    let slots = summary.cut_length_mm - circles;
    assert!((slots / (4.0 * outline.centre_line.length()) - 1.0).abs() < 0.03, "{slots}");
    assert!(summary.sheet_use > 0.5 && summary.sheet_use < 0.8, "{}", summary.sheet_use);
    let etch = CutRules::of(&Process { kind: Some(ProcessKind::Etch), ..Process::default() }, 0.3);
    let etched = CutSummary::of(&outline, &etch);
    assert!(etched.machine_seconds.is_none() && etched.pierces == 0);
}

#[test]
fn notes_say_size_unit_faces_and_tabs_and_can_be_left_out() {
    let rules = waterjet(SlotEnds::Keyhole);
    let spring = spring(SPRING);
    let outline = Outline::of(&spring, &rules).unwrap();
    let marks = Marks::of(&outline, &rules, &Shop::default());
    let notes = DrawingNotes::of("pedal return spring", &spring, &outline, &rules, &marks).unwrap();
    let text = notes.lines.join("\n");
    for part in
        ["mm", "1.4310+C1300", "1.20 thick", "kerf 0.90", "±0.10", "Ø2.25", "entry face", "at 90, 270°"]
    {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
    let with = String::from_utf8(dxf(&outline, &notes).unwrap()).unwrap();
    let without = String::from_utf8(dxf(&outline, &DrawingNotes::none()).unwrap()).unwrap();
    assert!(with.contains("\r\nnotes\r\n") && !without.contains("notes"));
    let geometry =
        |text: &str| text[text.find("ENTITIES").unwrap()..].split("\r\nTEXT").next().unwrap().to_owned();
    assert!(without.contains(geometry(&with).trim_end_matches("\r\n  0")));
}

#[test]
fn stations_alone_give_the_same_drawing() {
    let by_slots = spring(SPRING);
    let stations: Vec<Station> = by_slots.arm(300).unwrap().stations().collect();
    let rules = waterjet(SlotEnds::Round);
    let by_stations = Spring { shape: ArmShape::Stations(stations), ..by_slots.clone() };
    let (one, two) = (Outline::of(&by_slots, &rules).unwrap(), Outline::of(&by_stations, &rules).unwrap());
    let (one, two) = (measure(&one.contours, 0.9).unwrap(), measure(&two.contours, 0.9).unwrap());
    assert!((one.slot_width() - two.slot_width()).abs() < 1e-6);
    for (a, b) in one.stations().iter().zip(&two.stations()) {
        assert!((a.angle - b.angle).abs() < 1e-3, "{} {}", a.angle, b.angle);
        assert!((a.width - b.width).abs() < 0.01 && (a.radius - b.radius).abs() < 0.01, "{a:?} {b:?}");
    }
}
