//! Numbers computed by hand, each with its computation beside it.

use super::flat::{blocked_travel, flat_deflection};
use super::presetting::FULLY_PLASTIC;
use super::turns::lengthening;
use super::*;
use crate::spec::{Pressing, Seat, SpringFile};

/// Two arms of even width: an Archimedean spiral of pitch 2·(4 + 1.4) = 10.8 mm a turn, 1.71887 mm a radian. The slots
/// run from radius 33 to 12, the arm's centre from 30.3 to 14.7 in 9.076 rad, on a cone without easing of 7 mm: 0.7713 mm
/// a radian.
const EVEN: &str = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\nyield_strength = 500\n[disc]\n\
    outer_diameter = 78\narm_outer_diameter = 66\narm_inner_diameter = 24\nbore_diameter = 10\narms = 2\nslot = 1.4\n[arm]\n\
    radius = [12, 33]\nwidth = [4, 4]\n[former]\nfree_height = 7.0\nease = 0\n";

fn spring(more: &str) -> Spring {
    Spring::from_file(&SpringFile::parse(&format!("{EVEN}{more}"), "spring.toml").unwrap(), None).unwrap()
}

fn coarse() -> CheckOptions {
    CheckOptions {
        model: ModelSettings { segments: 120, ..ModelSettings::default() },
        ..CheckOptions::default()
    }
}

fn pressed(spring: &Spring) -> Closing {
    Closing::of(spring, &coarse().model, &[]).unwrap()
}

/// A pressed spring whose stress is 100 MPa a millimetre everywhere and whose force is 10 N/mm.
fn straight(spring: &Spring) -> Closing {
    let mut closing = pressed(spring);
    for state in &mut closing.states {
        state.force = 10.0 * state.deflection;
        for stress in &mut state.stress {
            stress.edge = 100.0 * state.deflection;
        }
    }
    closing
}

fn near(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found}, {expected} expected");
}

#[test]
fn hardware_blocks_what_the_plates_meet_first() {
    let seat = |below, above, pressing| Seat {
        hub_hardware_below: below,
        rim_hardware_above: above,
        pressing,
        ..Seat::default()
    };
    for (below, above, pressing, blocked, flat) in [
        // one plate is stopped by the higher of both, not by their sum; a hub pressed alone passes the rim
        (Some(1.5), Some(2.0), Pressing::Plates, 2.0, 8.0),
        (Some(2.5), Some(2.0), Pressing::Plates, 2.5, 7.5),
        (Some(1.5), Some(2.0), Pressing::Hub, 1.5, 8.5),
        (None, Some(2.0), Pressing::Hub, 0.0, 9.9),
        // less than the hundredth of 10 mm that is left when closed
        (Some(0.05), None, Pressing::Hub, 0.05, 9.9),
        (Some(12.0), None, Pressing::Hub, 12.0, 0.0),
    ] {
        let seat = seat(below, above, pressing);
        assert_eq!(blocked_travel(&seat), blocked);
        assert!((flat_deflection(10.0, &seat) - flat).abs() < 1e-12, "{}", flat_deflection(10.0, &seat));
    }
}

#[test]
fn the_allowable_ends_the_travel_where_the_stress_reaches_it() {
    // 100 MPa a millimetre reach 500 MPa at 5 mm; hardware of 3 mm stops the hub at 4 mm before that, of 1 mm does not
    for (more, usable) in
        [("", 5.0), ("[seat]\nhub_hardware_below = 3\n", 4.0), ("[seat]\nhub_hardware_below = 1\n", 5.0)]
    {
        let spring = spring(more);
        let closing = straight(&spring);
        let stress = StrengthCheck::of(&spring, &closing, &coarse());
        assert!((stress.travel_within_mm.unwrap() - 5.0).abs() < 1e-9, "{:?}", stress.travel_within_mm);
        assert!((stress.peak_mpa - 693.0).abs() < 1e-9 && stress.arms_ok() == Some(false));
        let flat = FlatCheck::of(&spring, &closing, &stress, &coarse()).unwrap();
        assert!((flat.usable_travel_mm - usable).abs() < 1e-9, "{} of {usable}", flat.usable_travel_mm);
    }
}

#[test]
fn the_last_piece_is_held_by_the_load_that_twists_it_flat() {
    // 2 G J K p/r³ at the hub, r 14.7: b = 4/√(1 + (1.7189/14.7)²) = 3.973, J = 0.2805·3.973 = 1.1142 (Timoshenko & Goodier),
    // K = 1 + 0.681·((1 − (4/29.4)²)⁻² − 1) = 1.0259 with the share 0.681 of a sector four times as wide as thick, G 70000,
    // p 0.7713: 2·70000·1.1142·1.0259·0.7713/3176.5 = 38.9 N; the last section of 120 pieces lies a little further out
    let spring = spring("");
    for (force, held) in [(1.0, 38.9), (37.0, 38.9), (50.0, 50.0)] {
        let mut closing = straight(&spring);
        closing.states.last_mut().unwrap().force = force;
        let stress = StrengthCheck::of(&spring, &closing, &coarse());
        let flat = FlatCheck::of(&spring, &closing, &stress, &coarse()).unwrap();
        assert_eq!(flat.closing_force_n, force);
        near(flat.holding_force_n, held, 0.01);
    }
}

#[test]
fn mass_and_energy_come_out_as_by_hand() {
    // the slot's centre line is ∫√(ρ² + a²) dρ/a from 12 to 33 with a = 1.71887: 275.757 mm; it ends in two half circles.
    // π(39² − 5²) − 2(1.4·275.757 + π·1.4²/4) = 3924.62 mm², of 7.9 g/cm³ 31.005 g
    let spring = spring("");
    let closing = straight(&spring);
    let found = MassCheck::of(&spring, &closing, &Duty { carried_mass: Some(1.0), ..Duty::default() });
    near(found.area_mm2, 3924.62, 1e-5);
    near(found.mass_g.unwrap(), 31.005, 1e-4);
    near(found.weight_n.unwrap(), 0.031_005 * 9.806_65, 1e-4);
    // 10 N/mm to 6.93 mm: 5·6.93² = 240.12 N·mm; 1 kg rests at 0.980665 mm
    near(found.energy_j, 0.240_12, 1e-4);
    near(found.half_force_travel_j, 0.240_12, 1e-4);
    let swing = found.swing.unwrap();
    near(swing.deflection_mm, 0.980_665, 1e-9);
    // a third of the spring swings along: √(1000 k/1.010335)/2π
    near(swing.frequency_hz, (1000.0 * swing.rate_n_per_mm / 1.010_335).sqrt() / std::f64::consts::TAU, 1e-6);
}

#[test]
fn an_arm_lengthens_by_half_the_square_of_its_slope() {
    // ½ ∫ (p/r)² r dθ = ½ p²/a · ln(30.3/14.7) = 0.5·0.5949/1.71887·0.72339 = 0.1252 mm
    near(lengthening(&pressed(&spring("")).arm), 0.1252, 0.01);
}

#[test]
fn a_force_that_falls_by_more_than_a_thousandth_is_reported() {
    let spring = spring("");
    let mut closing = straight(&spring);
    assert_eq!(falling_force(&closing), None);
    // the closing force is 69.3 N: from 0.07 N on a fall is reported
    let before = closing.states[10].force;
    closing.states[11].force = before - 0.06;
    assert_eq!(falling_force(&closing), None);
    closing.states[11].force = before - 0.08;
    let finding = falling_force(&closing).unwrap();
    assert_eq!((finding.check, finding.severity), ("falling force", Severity::Warning));
    assert_eq!((finding.value, finding.limit), (Some(before - 0.08), Some(before)));
    assert!(finding.place.contains(&format!("{:.2} mm", closing.states[10].deflection)), "{}", finding.place);
    let stress = StrengthCheck::of(&spring, &closing, &coarse());
    assert!(stress.ok == Some(false));
    let checks = Checks::of_closing(&spring, &closing, &coarse()).unwrap();
    assert!(checks.findings.iter().any(|finding| finding.check == "falling force"));
}

#[test]
fn height_is_added_where_the_strip_yields_and_nowhere_else() {
    // the shear of a strip that lies flat is kt G t p/r², kt = 1 − 8/π²/cosh 2π = 0.997 for b = 4 t (Timoshenko &
    // Goodier): at the hub 0.997·70000·0.7713/14.7² = 249.1 MPa. A proof strength of 330 MPa yields in shear at 190.5:
    // m₀ = 1.3075 at the hub, 1 at radius 14.7·√1.3075 = 16.81
    let spring = spring("");
    let closing = pressed(&spring);
    let setting = SettingCheck::of(&spring, &closing, 330.0, None);
    near(setting.shear_yield_mpa, 190.53, 1e-4);
    near(setting.stress_ratio, 1.3075, 2e-3);
    assert!(setting.arc_share > 0.98, "{}", setting.arc_share);
    near(setting.radius_mm, 14.7, 0.01);
    // plastic over 1 − 1/m of the half thickness, and −(0.5 − 0.5/m²) of the yield stress stays
    let m: f64 = setting.stress_ratio;
    near(setting.yield_depth_mm, 0.5 * (1.0 - 1.0 / m), 1e-9);
    near(setting.residual_shear_mpa, -190.53 * (0.5 - 0.5 / (m * m)), 1e-4);

    let arm = &closing.arm;
    let ratio = |i: usize| 0.997 * 70_000.0 * arm.rise[i] / arm.radius[i].powi(2) / 190.53;
    // springs back by 1.5 − 0.5/m², which has to be m₀: m = 1/√(3 − 2 m₀)
    let over =
        |i: usize| if ratio(i) <= 1.0 { 1.0 } else { 1.0 / (ratio(i) * (3.0 - 2.0 * ratio(i)).sqrt()) };
    let kept = |i: usize| if ratio(i) <= 1.0 { 1.0 } else { (1.5 - 0.5 / ratio(i).powi(2)) / ratio(i) };
    let (mut former, mut left) = (0.0, 0.0);
    for i in 1..arm.angle.len() {
        let free = arm.height[i] - arm.height[i - 1];
        former += free * 0.5 * (over(i - 1) + over(i));
        left += free * 0.5 * (kept(i - 1) + kept(i));
        let found = setting.former_heights[i];
        if arm.radius[i] > 17.1 {
            assert!((found - arm.height[i]).abs() < 1e-6, "radius {}: {found}", arm.radius[i]);
        }
        assert!((found - former).abs() < 2e-3, "radius {}: {found}, {former} expected", arm.radius[i]);
    }
    assert!(former > 7.03, "{former}");
    near(setting.former_height_mm.unwrap(), former, 1e-3);
    near(setting.height_after_first_closing_mm, left, 2e-4);
    assert!(left < 6.99 && m < FULLY_PLASTIC);
}

#[test]
fn solid_height_is_that_of_the_highest_part() {
    // sheet 1, burr 0.05; a hundredth of 7 mm is left under the hub
    for (more, highest, height) in [
        ("[seat]\nrim_hardware_above = 3\nhub_hardware_above = 2.5\n", "rim", 4.05),
        ("[seat]\nrim_hardware_above = 2\nhub_hardware_above = 2.5\n", "hub", 3.62),
        // stopped a millimetre above flat by what is below the hub
        ("[seat]\nhub_hardware_below = 1\nhub_hardware_above = 2.5\n", "hub", 4.55),
    ] {
        let spring = spring(more);
        let options = coarse();
        let closing = Closing::of(&spring, &options.model, &options.stops(&spring)).unwrap();
        let stress = StrengthCheck::of(&spring, &closing, &options);
        let flat = FlatCheck::of(&spring, &closing, &stress, &options).unwrap();
        assert_eq!(flat.highest, highest);
        assert!((flat.solid_height_mm - height).abs() < 1e-9, "{} of {height}", flat.solid_height_mm);
    }
}

#[test]
fn a_life_is_enough_from_the_lower_end_of_its_range_on() {
    let tall = spring("").former.free_height;
    let judged = |cycles: f64| {
        let text = EVEN.replace("free_height = 7.0", "free_height = 14.0").replace("ease = 0", "ease = 2");
        let spring = Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap();
        let options = CheckOptions {
            duty: Duty { cycles, stroke_start: Some(2.0), stroke_end: Some(13.0), ..Duty::default() },
            ..coarse()
        };
        let closing = Closing::of(&spring, &options.model, &options.stops(&spring)).unwrap();
        FatigueCheck::of(&spring, &closing, options.stroke(14.0), &options).unwrap()
    };
    assert_eq!(tall, 7.0);
    let found = judged(1e4);
    let low = found.life_range[0].unwrap();
    assert!((1e3..1e6).contains(&low), "{low}");
    // 1.2 times the stress: the life at 1.2 times amplitude and mean
    near(low, found.endurance.life(1.2 * found.amplitude_mpa, 1.2 * found.mean_mpa).unwrap(), 1e-9);
    assert!(judged(0.98 * low).ok && !judged(1.02 * low).ok);
    assert!(judged(1.02 * low).findings().iter().any(|finding| finding.severity == Severity::Failed));
}
