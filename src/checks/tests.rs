//! Springs with one fault each, and one without.

use super::*;
use crate::model::Model;
use crate::spec::{ProcessKind, SpringFile};

/// A return spring of the pedal-feel rig: two tapered arms, within every limit.
const SOUND: &str = r#"
[sheet]
material = "1.4310+C1300"
thickness = 1.0
[disc]
outer_diameter = 78
arm_outer_diameter = 66
arm_inner_diameter = 24
bore_diameter = 10
arms = 2
slot = 1.4
[arm]
radius = [12, 20, 33]
width = [3.2, 4.2, 5.4]
[former]
free_height = 7.0
"#;

/// Options with a coarse arm: these checks compare springs with themselves.
fn coarse() -> CheckOptions {
    CheckOptions {
        model: ModelSettings { segments: 120, ..ModelSettings::default() },
        ..CheckOptions::default()
    }
}

fn spring(text: &str) -> Spring {
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

/// The sound spring with another free height (mm).
fn of_height(height: f64) -> Spring {
    spring(&SOUND.replace("free_height = 7.0", &format!("free_height = {height}")))
}

fn verdicts(spring: &Spring, options: &CheckOptions) -> Checks {
    Checks::of(spring, options).unwrap()
}

/// The message of the one failed finding of a check.
fn failed(verdicts: &Checks, check: &str) -> String {
    let found = verdicts.failed().find(|finding| finding.check == check);
    found.unwrap_or_else(|| panic!("no failed {check}: {:#?}", verdicts.findings)).to_string()
}

fn assert_says(message: &str, parts: &[&str]) {
    for part in parts {
        assert!(message.contains(part), "{part:?} is not in {message:?}");
    }
}

/// The sound spring on a former eased over `ease` arm widths at the roots.
fn of_ease(ease: f64) -> Spring {
    spring(&SOUND.replace("free_height = 7.0", &format!("free_height = 7.0\nease = {ease}")))
}

#[test]
fn a_sound_spring_passes_every_check() {
    let found = verdicts(&of_ease(12.0), &coarse());
    assert!(found.failed().next().is_none(), "{:#?}", found.findings);
    assert!(found.flat.closes && found.stress.ok == Some(true), "{:?}", found.flat.in_the_way);
    // sheet 1, burr 0.05, and the higher of the hub with 1 % of 7 mm left and the arms
    let last = found.flat.proud_mm.max(0.07);
    assert!((found.flat.solid_height_mm - 1.05 - last).abs() < 1e-12, "{:?}", found.flat);
    assert!(found.flat.proud_mm < 0.14 && found.flat.lies_flat(), "{}", found.flat.proud_mm);
    assert!((found.flat.least_gap_mm - 1.3).abs() < 0.002, "{}", found.flat.least_gap_mm);
    // a wide slot needs no look at how the arms shift
    assert_eq!(found.flat.least_gap_on_the_way_mm, None);
    assert!(found.flat.holding_force_n >= found.flat.closing_force_n);
    assert_eq!(found.fatigue, None);
    // the inner root goes down with the hub
    for (section, wanted) in found.flat.sections.iter().zip([7.0, 3.5, 0.07]) {
        let inner = section.height_mm[section.height_mm.len() - 1];
        assert!((inner - wanted).abs() < 0.02, "{}: {inner}, {wanted} expected", section.name);
    }
}

#[test]
fn arms_that_stand_proud_of_the_sheet_fail_flat() {
    let found = verdicts(&of_ease(1.0), &coarse());
    let highest = &found.flat.sections[2].height_mm.iter().copied().fold(0.0, f64::max);
    // the closed section shows what the number says
    assert!((found.flat.proud_mm - highest).abs() < 1e-9, "{} and {highest}", found.flat.proud_mm);
    assert!(found.flat.proud_mm > 0.3 && found.flat.highest == "arm", "{:?}", found.flat.proud_mm);
    assert!((found.flat.solid_height_mm - 1.05 - highest).abs() < 1e-12);
    assert_says(&failed(&found, "flat"), &["at radius", "proud", "between plates", "solid_height_max"]);
    // a flat plate takes more force than the hub, and lays the arms down
    assert!(found.flat.flattening_force_n > 1.2 * found.flat.closing_force_n);
    let mut plates = of_ease(1.0);
    plates.seat.pressing = crate::spec::Pressing::Plates;
    let pressed = verdicts(&plates, &coarse()).flat;
    assert!(pressed.lies_flat() && pressed.proud_mm <= 0.07 + 1e-6, "{}", pressed.proud_mm);
    assert!((pressed.closing_force_n - found.flat.flattening_force_n).abs() < 1e-6 * pressed.closing_force_n);
    // the remedy helps
    let allowed = CheckOptions {
        envelope: crate::spec::Envelope { solid_height_max: Some(1.6), ..Default::default() },
        ..coarse()
    };
    assert!(verdicts(&of_ease(1.0), &allowed).flat.lies_flat());
}

#[test]
fn a_spring_that_would_yield_is_caught() {
    let found = verdicts(&of_height(17.0), &coarse());
    assert_says(&failed(&found, "strength"), &["would yield", "lower former.free_height to about", "MPa"]);
    assert_eq!((found.flat.closes, found.stress.ok), (false, Some(false)));
    let within = found.stress.travel_within_mm.unwrap();
    assert!(within > 8.0 && within < 0.99 * 17.0, "{within}");
    // the remedy helps
    let lower = 17.0 * found.stress.margin.unwrap();
    let better = verdicts(&of_height(lower), &coarse());
    assert!(better.stress.margin.unwrap() > 0.93, "{:?} at {lower} mm", better.stress.margin);
}

#[test]
fn a_spring_that_cannot_hold_its_height_is_caught() {
    let found = verdicts(&of_height(32.0), &coarse());
    assert_says(&failed(&found, "setting"), &["lower former.free_height to", "stronger sheet"]);
    let setting = found.setting.unwrap();
    assert!(setting.stress_ratio >= 1.5 && setting.former_height_mm.is_none());
    assert!(setting.height_after_first_closing_mm < 32.0);
    assert_says(&setting.ways[0].steps[0], &["change the spring first"]);
}

#[test]
fn a_little_yielding_is_formed_over_height() {
    let spring = of_height(12.0);
    let closing = Closing::of(&spring, &coarse().model, &[]).unwrap();
    // a sheet so soft that the worst place comes to 1.2 times its yield
    let ratio = SettingCheck::of(&spring, &closing, 1000.0, None).stress_ratio;
    let setting = SettingCheck::of(&spring, &closing, 1000.0 * ratio / 1.2, None);
    assert!((setting.stress_ratio - 1.2).abs() < 1e-9);
    let former = setting.former_height_mm.unwrap();
    // local over-height: less than the worst place alone would ask of the whole arm
    assert!(former > 12.0 && former < 12.0 * 1.07583, "{former}");
    assert!(setting.height_after_first_closing_mm < 12.0);
    assert!((setting.yield_depth_mm - 0.5 * (1.0 - 1.0 / 1.2)).abs() < 1e-9);
    assert_says(&setting.findings(&closing)[0].to_string(), &["form so that", "instead of 12.0 mm"]);
    assert_says(&setting.ways[0].steps.join(" "), &["425 °C", "set 3 blanks", "three radii"]);
}

#[test]
fn turns_that_touch_are_caught() {
    let narrow = spring(&SOUND.replace("slot = 1.4", "slot = 0.12"));
    let found = verdicts(&narrow, &coarse());
    assert_says(&failed(&found, "turns"), &["turns could touch", "disc.slot wider by at least"]);
    // the same slot cut by wire leaves room when flat, less on the way
    let options = CheckOptions {
        process: Process { kind: Some(ProcessKind::WireEdm), ..Process::default() },
        ..coarse()
    };
    let flat = verdicts(&narrow, &options).flat;
    let on_the_way = flat.least_gap_on_the_way_mm.unwrap();
    assert!(flat.least_gap_mm > 0.1 && on_the_way < flat.least_gap_mm - 0.02, "{on_the_way}");
}

#[test]
fn hardware_that_blocks_closing_is_caught() {
    let with = |keys: &str| spring(&format!("{SOUND}[seat]\n{keys}\n"));
    let found = verdicts(&with("hub_hardware_below = 1.5"), &coarse());
    assert_says(&failed(&found, "flat"), &["hardware below the hub", "cannot close", "1.50 mm"]);
    assert!(!found.flat.closes);
    assert!((found.flat.usable_travel_mm - 5.5).abs() < 1e-9);
    // a thick rim is in the way of an upper plate only
    assert!(verdicts(&with("rim_hardware_above = 2"), &coarse()).flat.closes);
    let plates = with("rim_hardware_above = 2\npressing = \"plates\"");
    assert_says(&failed(&verdicts(&plates, &coarse()), "flat"), &["upper plate"]);
}

#[test]
fn a_stroke_outside_the_fatigue_limit_is_caught() {
    let duty = |cycles, start| CheckOptions {
        duty: Duty { cycles, stroke_start: Some(start), ..Duty::default() },
        ..coarse()
    };
    let tall = of_height(14.0);
    let found = verdicts(&tall, &duty(1e6, 0.5));
    assert_says(
        &failed(&found, "life"),
        &["slot end at the", "former.ease", "process.finish", "safety factor"],
    );
    let fatigue = found.fatigue.unwrap();
    let life = fatigue.life_cycles.unwrap();
    assert!(fatigue.factor < 1.0 && (1e2..1e6).contains(&life), "{fatigue:?}");
    // the weakest place decides
    assert_eq!(fatigue.factor, fatigue.slot_end_factor.unwrap());
    assert!(fatigue.arm_factor > fatigue.factor && fatigue.ring_factor.unwrap() > fatigue.factor);
    // cycles below the lower end of that life's range pass
    let low = fatigue.life_range[0].unwrap();
    assert!(low < life);
    assert!(verdicts(&tall, &duty(0.9 * low, 0.5)).failed().all(|finding| finding.check != "life"));
    // a shorter stroke has a smaller amplitude
    let later = verdicts(&tall, &duty(1e6, 8.0)).fatigue.unwrap();
    assert!(later.factor > fatigue.factor && later.amplitude_mpa < fatigue.amplitude_mpa, "{later:?}");
}

#[test]
fn the_stroke_is_the_one_asked_for() {
    let asked = CheckOptions { asked: Some([1.0, 5.0]), ..coarse() };
    assert_eq!((asked.stroke(7.0).start, asked.stroke(7.0).end), (1.0, 5.0));
    let duty = Duty { stroke_start: Some(2.0), stroke_end: Some(4.0), ..Duty::default() };
    let given = CheckOptions { duty, ..asked };
    assert_eq!((given.stroke(7.0).start, given.stroke(7.0).end), (2.0, 4.0));
    let free = coarse().stroke(7.0);
    assert_eq!((free.start, free.end), (0.0, 0.99 * 7.0));
    // over its own stroke the spring is looked at there and nowhere else
    let duty = Duty { cycles: 1e5, ..given.duty.clone() };
    let part = verdicts(&of_height(7.0), &CheckOptions { duty: duty.clone(), ..coarse() }).fatigue.unwrap();
    let duty = Duty { stroke_start: Some(0.0), stroke_end: None, ..duty };
    let whole = verdicts(&of_height(7.0), &CheckOptions { duty, ..coarse() }).fatigue.unwrap();
    assert!(part.amplitude_mpa < 0.5 * whole.amplitude_mpa, "{part:?} {whole:?}");
}

#[test]
fn a_suggested_remedy_works() {
    // slot ends by laser, 50,000 cycles: the root decides
    let process = Process { kind: Some(ProcessKind::Laser), ..Process::default() };
    let duty = Duty { cycles: 5e4, stroke_start: Some(3.0), ..Duty::default() };
    let options = CheckOptions { process, duty, ..coarse() };
    let tight = of_height(10.0);
    let found = verdicts(&tight, &options);
    assert!(!found.fatigue.as_ref().unwrap().ok);
    let told = remedies::remedies(&tight, &options, &found, None).unwrap();
    let words = remedies::in_words(&told, 5e4);
    assert_says(&words, &["tried: easing", "instead of 1.00", "life to yes"]);
    assert!(told.iter().all(|remedy| remedy.helps), "{told:?}");
    let ease: f64 = told[0].change.split_whitespace().nth(1).unwrap().parse().unwrap();
    let mut eased = tight.clone();
    eased.former.ease = ease;
    assert!(verdicts(&eased, &options).fatigue.unwrap().ok, "{words}");
    // where nothing is wrong nothing is tried
    assert_eq!(remedies::remedies(&eased, &options, &verdicts(&eased, &options), None).unwrap(), []);
}

#[test]
fn slot_ends_may_yield_only_where_asked_and_safe() {
    // a height at which only the slot ends are above the allowable
    let (height, found) = (7..17)
        .map(|height| (f64::from(height), verdicts(&of_height(f64::from(height)), &coarse())))
        .find(|(_, found)| found.failed().any(|finding| finding.check == "slot end"))
        .unwrap();
    assert_says(&failed(&found, "slot end"), &["slot end at the hub", "former.ease", "process.ends"]);
    assert_eq!((found.stress.arms_ok(), found.stress.ok), (Some(true), Some(false)));
    let duty = |local_yielding, cycles| CheckOptions {
        duty: Duty { cycles, local_yielding, ..Duty::default() },
        ..coarse()
    };
    let allowed = verdicts(&of_height(height), &duty(true, 0.0));
    assert_eq!(allowed.stress.ok, Some(true));
    assert!(allowed.stress.slot_ends.iter().any(|end| end.yields_locally));
    assert!(allowed.findings.iter().any(|finding| finding.rule.contains("local yielding")));
    // not with cycles, not in the hardest strip
    assert_eq!(verdicts(&of_height(height), &duty(true, 1e4)).stress.ok, Some(false));
    let hard = SOUND.replace("C1300", "C1700");
    let hard = (14..60)
        .map(|half| {
            spring(&hard.replace("free_height = 7.0", &format!("free_height = {}", 0.5 * f64::from(half))))
        })
        .find(|hard| verdicts(hard, &coarse()).failed().any(|finding| finding.check == "slot end"))
        .unwrap();
    let hard = verdicts(&hard, &duty(true, 0.0)).stress;
    assert_eq!(hard.ok, Some(false));
    assert!(hard.slot_ends.iter().all(|end| !end.yields_locally));
}

#[test]
fn other_metals_get_no_fatigue_verdict_from_steel_data() {
    let bronze = spring(&SOUND.replace("1.4310+C1300", "CuSn8+spring"));
    let options =
        CheckOptions { duty: Duty { cycles: 1e5, stroke_start: Some(1.0), ..Duty::default() }, ..coarse() };
    let found = verdicts(&bronze, &options);
    assert_eq!(found.fatigue, None);
    assert!(found.findings.iter().any(|f| f.check == "life" && f.remedy.contains("cycle 6 springs")));
}

#[test]
fn without_a_strength_there_is_no_verdict_on_stress() {
    let text = SOUND.replace("material = \"1.4310+C1300\"", "youngs_modulus = 185000\nshear_modulus = 70000");
    let found = verdicts(&spring(&text), &coarse());
    assert_eq!((found.stress.ok, found.stress.allowable_mpa), (None, None));
    assert!(found.flat.closes && found.setting.is_none() && found.mass.mass_g.is_none());
    let json = serde_json::to_value(&found).unwrap();
    assert!(json["stress"]["ok"].is_null() && json["stress"]["peak_mpa"].as_f64().unwrap() > 0.0);
}

#[test]
fn without_shims_the_former_is_a_stack_of_the_springs_own_sheet() {
    let spring = of_height(7.3);
    let arm = spring.arm(coarse().model.segments).unwrap();
    let former = FormerShape::of(&spring, &arm, &arm.height, None);
    assert_eq!(former.rings.len(), 7);
    assert!((former.shim_mm - 0.3).abs() < 1e-9);
    for pair in former.rings.windows(2) {
        assert!(pair[1].outer_radius_mm < pair[0].outer_radius_mm);
    }
    assert!(former.rings.iter().all(|ring| (10.0..33.0).contains(&ring.outer_radius_mm)));
    let last = former.table[former.table.len() - 1];
    assert_eq!((former.table[0].height_mm, former.table[0].angle_deg), (0.0, 0.0));
    assert!((last.height_mm - 7.3).abs() < 1e-9 && last.radius_mm < former.table[0].radius_mm);
}

#[test]
fn a_high_former_is_no_stack_of_dozens_of_rings() {
    let spring = of_height(7.3);
    let arm = spring.arm(coarse().model.segments).unwrap();
    let heights: Vec<f64> = arm.height.iter().map(|height| 5.0 * height).collect();
    let former = FormerShape::of(&spring, &arm, &heights, None);
    // 36.5 mm of sheet 1 mm: twelve rings of three sheets would be 36 mm; 36 whole sheets in rings of three
    assert_eq!((former.rings.len(), former.rings[0].thickness_mm), (12, 3.0));
    assert!((former.shim_mm - 0.5).abs() < 1e-9);
}

#[test]
fn the_former_to_make_is_higher_than_what_is_left() {
    let found = verdicts(&of_height(7.3), &coarse());
    let last = found.shape.len() - 1;
    let setting = found.setting.unwrap();
    assert!((found.shape[last].height_mm - setting.former_height_mm.unwrap()).abs() < 1e-9);
    assert!((found.former.height_mm - setting.ways[0].former_height_mm.unwrap()).abs() < 1e-9);
    // clamped relief at 0.25 to 0.42 of the stress leaves at most 1/2.4 of an elastic former
    assert!(found.former.height_mm > 1.3 * found.shape[last].height_mm, "{}", found.former.height_mm);
}

#[test]
fn a_mass_rests_where_its_weight_is_carried() {
    let carrying =
        |mass| CheckOptions { duty: Duty { carried_mass: Some(mass), ..Duty::default() }, ..coarse() };
    let sound = of_height(7.0);
    let found = verdicts(&sound, &carrying(0.5)).mass;
    let swing = found.swing.unwrap();
    let model = Model::of(&sound, &coarse().model).unwrap();
    let force = model.response(&[swing.deflection_mm]).unwrap().force[0];
    assert!((force - 0.5 * 9.806_65).abs() < 0.02, "{force}");
    assert!((5.0..30.0).contains(&swing.frequency_hz), "{swing:?}");
    // work of the force to closed, by many more steps
    let steps = 400;
    let x: Vec<f64> = (0..=steps).map(|k| 0.99 * 7.0 * f64::from(k) / f64::from(steps)).collect();
    let force = model.response(&x).unwrap().force;
    let work: f64 = (1..x.len()).map(|k| 0.5e-3 * (force[k - 1] + force[k]) * (x[k] - x[k - 1])).sum();
    assert!((found.energy_j / work - 1.0).abs() < 0.02, "{} against {work}", found.energy_j);
    // a mass too heavy is reported
    assert!(verdicts(&sound, &carrying(500.0)).findings.iter().any(|f| f.check == "mass"));
}

#[test]
fn cautions_carry_the_energy_and_the_sheets_own() {
    let carbon = spring(&SOUND.replace("1.4310+C1300", "C100S+QT"));
    let found = verdicts(&carbon, &coarse());
    assert_says(&found.cautions[0], &["stores about 0.0", "face shield"]);
    assert_says(&found.cautions.join(" "), &["hydrogen", "captive bolt", "qualified engineer"]);
    // nothing goes through a hub without a bore
    let mut closed = carbon;
    closed.disc.bore_radius = 0.0;
    let found = verdicts(&closed, &coarse());
    let steps = found.setting.iter().flat_map(|setting| &setting.ways).flat_map(|way| &way.steps);
    let told = steps.chain(&found.cautions).cloned().collect::<Vec<_>>().join(" ");
    assert!(!told.contains("through the hub") && told.contains("bolted plate"), "{told}");
}
