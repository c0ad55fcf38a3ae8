//! How parts differ from their drawing.

use flatspire::layout::Spring;
use flatspire::model::{Model, ModelSettings};
use flatspire::spec::{Process, SpringFile, Tolerance};
use flatspire::variation::{
    Asked, Deviation, ScatterSettings, Tolerances, VariedSpring, deviated, propagate, scatter,
};

const TEXT: &str = r#"
[sheet]
material = "1.4310+C1300"
thickness = 1.2
[disc]
outer_diameter = 84
arm_outer_diameter = 70
arm_inner_diameter = 24
bore_diameter = 8
arms = 2
slot = 1.4
[arm]
radius = [12, 20, 28, 35]
width = [2.8, 4.2, 5.2, 6.0]
[former]
free_height = 9.0
"#;

fn spring() -> Spring {
    Spring::from_file(&SpringFile::parse(TEXT, "spring.toml").unwrap(), None).unwrap()
}

fn forces(spring: &Spring, deflections: &[f64], in_plane: bool) -> Vec<f64> {
    let settings = ModelSettings { in_plane, ..ModelSettings::default() };
    Model::of(spring, &settings).unwrap().response(deflections).unwrap().force
}

#[test]
fn slopes_agree_with_parts_made_the_long_way_round() {
    let spring = spring();
    // four fifths of the travel: nearer to flat every node that seats shows in the slope
    let deflections = [1.0, 3.0, 5.0, 7.0];
    let varied = VariedSpring::new(&spring, 300).unwrap();
    let first = propagate(&varied, &deflections).unwrap();
    for (k, step) in [0.002, 0.1, 0.01, 0.01].into_iter().enumerate() {
        let by = |sign: f64| {
            let mut values = [0.0; 6];
            values[k] = sign * step;
            forces(&deviated(&spring, &Deviation::from_values(values)).unwrap(), &deflections, true)
        };
        let (low, high) = (by(-1.0), by(1.0));
        for i in 0..deflections.len() {
            let quotient = (high[i] - low[i]) / (2.0 * step);
            let found = first.slopes[i][k];
            let scale = quotient.abs().max(0.05 * first.force[i] / step.max(0.1));
            assert!(
                (found - quotient).abs() < 0.06 * scale,
                "cause {k} at {} mm: {found} by sensitivity, {quotient} by differences",
                deflections[i]
            );
        }
    }
}

#[test]
fn force_follows_nearly_the_cube_of_the_thickness() {
    // COMMON PRACTICE: ±1 % of thickness is ±3 % of force; the curved-strip factor and seating take a little off
    let varied = VariedSpring::new(&spring(), 200).unwrap();
    let first = propagate(&varied, &[1.0, 4.0, 7.0]).unwrap();
    for i in 0..3 {
        let power = first.slopes[i][0] * 1.2 / first.force[i];
        assert!((2.6..3.05).contains(&power), "{power} at point {i}");
    }
}

#[test]
fn random_parts_and_first_order_give_the_same_band_and_the_same_bytes() {
    let spring = spring();
    // no scatter of the height, which near flat is no first-order matter
    let given = Tolerance { free_height: Some(0.02), ..Tolerance::default() };
    let tolerances = Tolerances::of(&spring, &given, &Process::default());
    let asked = Asked { target: None, installed: 0.0, tolerance_percent: 3.0 };
    let settings = ScatterSettings { runs: 1200, seed: 5 };
    let found = scatter(&spring, &tolerances, &asked, &settings).unwrap();
    let band = &found.curve;
    for i in 0..20 {
        let high = band.high_n[i].unwrap();
        let (width, first) = (high - band.low_n[i], band.first_order_high_n[i] - band.first_order_low_n[i]);
        assert!((width / first - 1.0).abs() < 0.12, "point {i}: {width} N drawn, {first} N to first order");
        assert!(band.low_n[i] < band.force_n[i] && band.force_n[i] < high);
    }
    let total: f64 = found.causes.iter().map(|cause| cause.share_percent).sum();
    assert!((total - 100.0).abs() < 1e-9, "{total}");
    // thickness is the gravest cause of ordinary strip, and most parts miss ±3 % of force
    assert_eq!(found.causes[0].cause, flatspire::variation::Cause::Thickness);
    assert!(found.yield_share < 0.6, "{}", found.yield_share);
    assert_eq!(found, scatter(&spring, &tolerances, &asked, &settings).unwrap());
    let other = ScatterSettings { seed: 6, ..settings };
    assert_ne!(found.curve, scatter(&spring, &tolerances, &asked, &other).unwrap().curve);
}

#[test]
fn closer_tolerances_make_more_good_parts() {
    let spring = spring();
    let asked = Asked { target: None, installed: 0.0, tolerance_percent: 3.0 };
    let settings = ScatterSettings { runs: 400, seed: 1 };
    let share = |given: &Tolerance| {
        let tolerances = Tolerances::of(&spring, given, &Process::default());
        scatter(&spring, &tolerances, &asked, &settings).unwrap().yield_share
    };
    let closer = Tolerance {
        thickness_class: Some(flatspire::material::ToleranceClass::Precision),
        strip_width: Some(100.0),
        kerf: Some(0.02),
        free_height: Some(0.03),
        modulus_percent: Some(1.0),
        ..Tolerance::default()
    };
    let (ordinary, close) = (share(&Tolerance::default()), share(&closer));
    assert!(close > ordinary + 0.1, "{ordinary} of ordinary parts, {close} of close ones");
}

#[test]
fn a_kerf_that_eats_the_arm_is_refused_with_the_reason() {
    let varied = VariedSpring::new(&spring(), 60).unwrap();
    let gone = Deviation { kerf_mm: 4.0, ..Deviation::default() };
    let message = varied.part(&gone).unwrap_err().to_string();
    assert!(message.contains("kerf") && message.contains("4.0000 mm"), "{message}");
}
