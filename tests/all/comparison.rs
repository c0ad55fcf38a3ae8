//! The facts of the trade on the segment model (COMMON PRACTICE, no source), and what a comparison says of them.

use flatspire::checks::BURR_MM;
use flatspire::compare::{CompareSettings, Kind, compare, files};
use flatspire::curve::TargetCurve;
use flatspire::layout::Spring;
use flatspire::model::{Model, ModelSettings};
use flatspire::plot::Units;
use flatspire::spec::{Duty, Envelope, Pressing, Process, SettingChoice, Shop, SpringFile};

/// Three arms on a cone with widths at hub and rim.
fn spring(hub_width: f64, rim_width: f64) -> Spring {
    let text = format!(
        "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\nouter_diameter = 100\n\
         arm_outer_diameter = 80\narm_inner_diameter = 28\nbore_diameter = 6\narms = 3\nslot = 1.4\n[arm]\n\
         radius = [14, 40]\nwidth = [{hub_width}, {rim_width}]\n[former]\nfree_height = 8\n[seat]\nrim = \"held\"\n"
    );
    Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap()
}

/// Secant rates over tenths of the travel (N/mm).
fn rates(spring: &Spring) -> Vec<f64> {
    let model = Model::of(spring, &ModelSettings::default()).unwrap();
    let travel = model.travel();
    let stops: Vec<f64> = (0..10).map(|k| 0.1 * f64::from(k) * travel).collect();
    let force = model.response(&stops).unwrap().force;
    force.windows(2).map(|pair| (pair[1] - pair[0]) / (0.1 * travel)).collect()
}

#[test]
fn constant_width_turns_progressive_as_its_outer_turns_seat() {
    let rates = rates(&spring(4.0, 4.0));
    println!("constant width: {rates:.3?}");
    // torsion alone: the outermost turn seats at (R2⁴ − R1⁴)/(4 R2³ (R2 − R1)) of the travel, about half of it here
    assert!(rates.windows(2).all(|pair| pair[1] > 0.98 * pair[0]), "the rate falls: {rates:?}");
    assert!(rates[6] > 2.0 * rates[0], "not progressive beyond half travel: {rates:?}");
    assert!(rates[7] > 3.0 * rates[0], "not progressive at the end: {rates:?}");
}

#[test]
fn a_linear_taper_keeps_the_rate_to_half_travel_and_then_turns_progressive() {
    // width growing with the radius, as the shop's rule has it
    let rates = rates(&spring(2.2, 2.2 * 40.0 / 14.0));
    println!("linear taper: {rates:.3?}");
    let start = rates[0];
    assert!(rates[..7].iter().all(|rate| (rate / start - 1.0).abs() < 0.05), "not constant: {rates:?}");
    assert!(rates[8] > 1.2 * start, "not progressive at the end: {rates:?}");
}

#[test]
fn between_its_circles_constant_width_cannot_hold_a_rate_that_a_taper_holds() {
    let tapered = spring(2.2, 2.2 * 40.0 / 14.0);
    let rate = Model::of(&tapered, &ModelSettings::default()).unwrap().linear_rate();
    let deflection: Vec<f64> = (0..=20).map(|k| 0.3 * f64::from(k)).collect();
    let force: Vec<f64> = deflection.iter().map(|x| 1.03 * rate * x).collect();
    let target = TargetCurve::points(&deflection, &force).curve("throttle return").unwrap();
    let settings = CompareSettings {
        width: (1.25, 20.0),
        free_height: (6.06, 6.6),
        ease: None,
        arms: Vec::new(),
        process: Process::default(),
        allowable: None,
        duty: Duty::default(),
        setting: SettingChoice::default(),
        envelope: Envelope::default(),
        shop: Shop::default(),
        tolerance_percent: 3.0,
    };
    let found = compare(&tapered, &target, &settings).unwrap();
    let rms: Vec<f64> = found.springs.iter().map(|spring| spring.fit.rms_percent).collect();
    println!("rms error, tapered, constant width, linear taper: {rms:.2?} %");
    assert_eq!(found.springs[1].kind, Kind::ConstantWidth);
    assert!(rms[1] > 2.0 * rms[2], "{rms:?}");
    // closed, each is as high as its sheet with burr and the larger of its proud arms and 1 % of the travel
    for spring in &found.springs {
        let last = (0.01 * spring.free_height_mm).max(spring.flat.proud_mm);
        assert!((spring.flat.solid_height_mm - (1.0 + BURR_MM + last)).abs() < 1e-9, "{:?}", spring.flat);
    }
    let rise = |k: usize| found.springs[k].rate_at(0.8) / found.springs[k].rate_at(0.1);
    assert!(
        rise(1) > 1.2 * rise(2),
        "the rate of constant width rises {} times, of the taper {}",
        rise(1),
        rise(2)
    );
    // the outer turn of constant width lies on the base before that of a taper
    let lies = |k: usize| found.springs[k].turns[0].lies_at_mm.unwrap_or(f64::INFINITY);
    assert!(lies(1) < lies(2), "{} mm against {} mm", lies(1), lies(2));
    assert!(found.findings[0].starts_with("constant width misses"), "{:?}", found.findings);
    assert!(found.findings[1].starts_with("linear taper would do"), "{:?}", found.findings);
    assert!(
        found.findings[2].contains("for the curve and the stress of the arms alone"),
        "{:?}",
        found.findings
    );
    let written = files(&found, Units::default()).unwrap();
    let names: Vec<&str> = written.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["comparison.csv", "comparison.svg", "comparison.png"]);
    let picture = String::from_utf8(written[1].bytes.clone()).unwrap();
    // bore, three slots and outside of each spring, and what the chart draws
    assert!(picture.matches("<path").count() >= 15 && picture.matches("<svg ").count() == 2);
    for name in ["tapered", "constant width", "linear taper", "target"] {
        assert!(picture.contains(name), "{name} is not named");
    }
    let table = String::from_utf8(written[0].bytes.clone()).unwrap();
    assert!(table.starts_with("deflection_mm,target_n,tapered_n,constant_width_n,linear_taper_n\n"));
    assert_eq!(table.lines().count(), 22);
}

#[test]
fn pressed_flat_a_spring_is_as_high_as_its_sheet() {
    for widths in [[4.0, 4.0], [2.2, 6.0]] {
        let mut spring = spring(widths[0], widths[1]);
        spring.seat.pressing = Pressing::Plates;
        let model = Model::of(&spring, &ModelSettings::default()).unwrap();
        let states = model.states(&[0.99 * model.travel()]).unwrap();
        let highest = states[0].height.iter().copied().fold(0.0, f64::max);
        assert!(
            highest < 0.0101 * model.travel(),
            "{highest} mm above the sheet with 1 % of the travel left"
        );
    }
}
