//! A re-cut keeps the limits of what is drawn, whatever the kerf was off by.

use flatspire::curve::TargetCurve;
use flatspire::layout::{ArmShape, Spring};
use flatspire::model::{Model, ModelSettings};
use flatspire::pipeline::{RecutSettings, recut};
use flatspire::spec::SpringFile;
use flatspire::variation::Deviation;

/// Two arms, 3 mm wide inside and 6 mm outside.
fn spring() -> Spring {
    let text = "[sheet]\nthickness = 1.2\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\nouter_diameter = 84\n\
        arm_outer_diameter = 70\narm_inner_diameter = 24\narms = 2\nslot = 1.4\n[arm]\nradius = [12, 20, 28, 35]\n\
        width = [3.0, 4.2, 5.2, 6.0]\n[former]\nfree_height = 9\n";
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

fn widths(spring: &Spring) -> Vec<f64> {
    match &spring.shape {
        ArmShape::Slots(line) => line.nominal_width().values().to_vec(),
        ArmShape::Stations(_) => panic!("stations"),
    }
}

#[test]
fn the_least_width_is_that_of_the_drawing() {
    let spring = spring();
    let deflection: Vec<f64> = (0..=14).map(|k| 0.5 * f64::from(k)).collect();
    let settings = ModelSettings { segments: 120, ..ModelSettings::default() };
    let response = Model::of(&spring, &settings).unwrap().response(&deflection).unwrap();
    // three quarters of its force: arms narrower all along than the limit lets through
    let force: Vec<f64> = response.force.iter().map(|force| 0.75 * force).collect();
    let target = TargetCurve::points(&deflection, &force).curve("softer").unwrap();
    let limits = RecutSettings {
        width: (3.2, 20.0),
        free_height_max: Some(9.0),
        allowable: None,
        installed: 0.0,
        model: settings,
    };
    // a kerf wider by a quarter: parts come out narrower than drawn by as much
    let found = Deviation { kerf_mm: 0.25, ..Deviation::default() };
    let new = recut(&spring, &target, &found, &limits).unwrap();
    let least = |spring: &Spring| widths(spring).into_iter().fold(f64::INFINITY, f64::min);
    let (drawn, part) = (least(&new.drawn), least(&new.part));
    assert!((drawn - part - 0.25).abs() < 1e-9, "{drawn} drawn, {part} cut");
    assert!((new.part.slot - new.drawn.slot - 0.25).abs() < 1e-9 && (new.drawn.slot - 1.4).abs() < 1e-9);
    // the limit is met and used
    assert!((3.2 - 1e-6..3.3).contains(&drawn), "{drawn}");
}
