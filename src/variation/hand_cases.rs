//! Numbers computed by hand, each with its computation beside it.

use super::propagation::slopes;
use super::*;
use crate::layout::Spring;
use crate::model::{Model, ModelSettings};
use crate::spec::{Process, SpringFile, Tolerance};

/// Four arms of even width, steep: a pitch of 4·(5 + 2) = 28 mm a turn, 4.4563 mm a radian, no easing. The rim is held: a
/// resting one rolls a little more where the slots are wider, which the slopes leave out.
fn spring() -> Spring {
    let text = "[sheet]\nthickness = 1.2\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\nouter_diameter = 90\n\
        arm_outer_diameter = 70\narm_inner_diameter = 22\narms = 4\nslot = 2\n[arm]\nradius = [11, 35]\nwidth = [5, 5]\n[former]\n\
        free_height = 6\nease = 0\n[seat]\nrim = \"held\"\n";
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

fn part(deviation: Deviation) -> (Spring, crate::layout::ArmPath) {
    VariedSpring::new(&spring(), 200).unwrap().part(&deviation).unwrap()
}

#[test]
fn a_wider_kerf_takes_its_width_normal_to_the_arm() {
    let drawn = spring().arm(200).unwrap();
    let (spring, arm) = part(Deviation { kerf_mm: 0.1, ..Deviation::default() });
    assert!((spring.slot - 2.1).abs() < 1e-12);
    for node in [20, 100, 180] {
        // along the radius 0.1/cos of the spiral's angle: √(1 + (4.4563/r)²) times as much, 1.05 at r 14
        let lost = drawn.width[node] - arm.width[node];
        let expected = 0.1 * (4.4563 / drawn.radius[node]).hypot(1.0);
        assert!(
            (lost / expected - 1.0).abs() < 3e-3,
            "{lost}, {expected} expected at {}",
            drawn.radius[node]
        );
    }
    assert_eq!(arm.height, drawn.height);
}

#[test]
fn a_bowed_cone_stands_highest_halfway_up_and_its_rise_is_its_slope() {
    let drawn = spring().arm(200).unwrap();
    let (_, arm) = part(Deviation { cone_mm: 0.3, ..Deviation::default() });
    for i in 0..=200 {
        // a parabola over the height: 4·0.3 z/6 (1 − z/6); the rise per angle is its derivative
        let share = drawn.height[i] / 6.0;
        let bowed = drawn.height[i] + 1.2 * share * (1.0 - share);
        assert!((arm.height[i] - bowed).abs() < 1e-9, "{} and {bowed}", arm.height[i]);
        let rise = drawn.rise[i] * (1.0 + 0.2 * (1.0 - 2.0 * share));
        assert!((arm.rise[i] - rise).abs() < 1e-9, "{} and {rise}", arm.rise[i]);
    }
    // and of the heights themselves, whatever the formula
    for i in 1..200 {
        let slope = (arm.height[i + 1] - arm.height[i - 1]) / (arm.angle[i + 1] - arm.angle[i - 1]);
        assert!((slope / arm.rise[i] - 1.0).abs() < 2e-3, "{slope} and {}", arm.rise[i]);
    }
    let middle = drawn.height.iter().position(|height| *height >= 3.0).unwrap();
    assert!((arm.height[middle] - drawn.height[middle] - 0.3).abs() < 1e-3);
    assert_eq!((arm.height[0], arm.free_height()), (0.0, drawn.free_height()));
}

#[test]
fn a_higher_free_height_scales_the_former() {
    let drawn = spring().arm(200).unwrap();
    let (spring, arm) = part(Deviation { free_height_mm: 0.6, ..Deviation::default() });
    assert!((spring.former.free_height - 6.6).abs() < 1e-12 && (arm.free_height() - 6.6).abs() < 1e-9);
    for i in [30, 120] {
        assert!((arm.height[i] / drawn.height[i] - 1.1).abs() < 1e-9);
        assert!((arm.rise[i] / drawn.rise[i] - 1.1).abs() < 1e-9);
    }
    // and the kerf and the other numbers of a part that is a spring of its own
    let own = deviated(
        &self::spring(),
        &Deviation {
            kerf_mm: 0.1,
            thickness_mm: 0.02,
            modulus_percent: 2.0,
            free_height_mm: 0.6,
            ..Deviation::default()
        },
    )
    .unwrap();
    assert!((own.sheet.thickness - 1.22).abs() < 1e-12 && (own.slot - 2.1).abs() < 1e-12);
    assert!((own.sheet.youngs_modulus / 204_000.0 - 1.0).abs() < 1e-12);
    assert!((own.sheet.shear_modulus / 81_600.0 - 1.0).abs() < 1e-12);
    assert!((own.former.free_height - 6.6).abs() < 1e-12);
    // radial pitch stays 7 mm: nominal width 4.9
    let crate::layout::ArmShape::Slots(line) = &own.shape else { panic!("no slots") };
    assert!((line.nominal_width().value(20.0) - 4.9).abs() < 1e-12);
}

#[test]
fn slopes_agree_with_the_force_of_a_deviating_part() {
    let varied = VariedSpring::new(&spring(), 100).unwrap();
    let stops = [1.0, 3.0];
    let (response, rows) = slopes(&varied, &Deviation::default(), &stops).unwrap();
    let force = |deviation: Deviation| {
        varied.model(&deviation, &varied.fast()).unwrap().response(&stops).unwrap().force
    };
    for (k, step) in [1e-5, 1e-2, 1e-5, 1e-5, 1e-5].into_iter().enumerate() {
        let by = |sign: f64| {
            let mut values = [0.0; DEVIATIONS];
            values[k] = sign * step;
            force(Deviation::from_values(values))
        };
        let (low, high) = (by(-1.0), by(1.0));
        for i in 0..stops.len() {
            let quotient = (high[i] - low[i]) / (2.0 * step);
            let scale = quotient.abs().max(1e-3 * response.force[i]);
            assert!((rows[i][k] - quotient).abs() < 2e-3 * scale, "cause {k}: {} and {quotient}", rows[i][k]);
        }
    }
    // force is proportional to the moduli: a hundredth of it for each percent, 1/1.1 of that from ten percent on
    assert!((rows[1][1] / response.force[1] - 0.01).abs() < 1e-9);
    let stiff = Deviation { modulus_percent: 10.0, ..Deviation::default() };
    let (response, rows) = slopes(&varied, &stiff, &stops).unwrap();
    assert!((rows[1][1] / response.force[1] - 0.01 / 1.1).abs() < 1e-9);
}

#[test]
fn more_root_compliance_is_a_longer_piece_of_root() {
    let base = ModelSettings { segments: 40, ..ModelSettings::default() };
    let compliance = |percent: f64| {
        let settings = Deviation { end_compliance_percent: percent, ..Deviation::default() }.settings(&base);
        let model = Model::of(&spring(), &settings).unwrap();
        [model.chain.elements[0], model.chain.elements[model.chain.elements.len() - 1]]
            .map(|root| root.flexibility)
    };
    let (drawn, soft) = (compliance(0.0), compliance(20.0));
    for (drawn, soft) in drawn.into_iter().zip(soft) {
        assert!((soft - 1.2 * drawn).abs().max() < 1e-9 * drawn.abs().max(), "{soft} of {drawn}");
    }
}

#[test]
fn tolerances_are_two_standard_deviations() {
    let given = Tolerance {
        kerf: Some(0.08),
        kerf_drift: Some(0.06),
        free_height: Some(0.2),
        ..Tolerance::default()
    };
    let tolerances = Tolerances::of(&spring(), &given, &Process::default());
    let of = |cause: Cause| tolerances.of_cause(cause);
    // normal, cut off at three standard deviations: 0.04·0.98658; even over ±0.03: 0.03/√3
    assert!((of(Cause::Kerf).deviation() - 0.04 * 0.986_58).abs() < 1e-9);
    assert_eq!(of(Cause::KerfDrift).plus_minus, 0.03);
    assert!((of(Cause::KerfDrift).deviation() - 0.017_320_5).abs() < 1e-7);
    assert_eq!(of(Cause::FreeHeight).plus_minus, 0.2);
    // ± 3 % on the moduli; half a percent of 6 mm is 0.03; 3 % of 1.2 mm where no table reaches
    assert_eq!(of(Cause::Modulus).plus_minus, 3.0);
    assert!((of(Cause::Cone).plus_minus - 0.03).abs() < 1e-12);
    assert!((of(Cause::Thickness).plus_minus - 0.036).abs() < 1e-12);
    // 2 % of 6 mm where no height is given
    let free = Tolerances::of(&spring(), &Tolerance::default(), &Process::default());
    assert!((free.of_cause(Cause::FreeHeight).plus_minus - 0.12).abs() < 1e-12);
    // the coil at hand measured: thickness and moduli are known, the rest is not
    let measured = tolerances.sheet_measured();
    let left = measured.0.each_ref().map(|spread| spread.plus_minus > 0.0);
    assert_eq!(left, [false, false, true, true, true, true, true]);
}
