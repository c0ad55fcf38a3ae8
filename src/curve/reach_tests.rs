use super::*;
use crate::curve::ReachKind;
use proptest::prelude::*;

fn curve(count: usize, travel: f64, force: impl Fn(f64) -> f64) -> TargetCurve {
    let deflection: Vec<f64> = (0..count).map(|i| travel * i as f64 / (count - 1) as f64).collect();
    let force = deflection.iter().map(|&x| force(x)).collect();
    TargetCurve { deflection, force, ..TargetCurve::default() }
}

/// Normally distributed numbers, the same each time (linear congruential generator after Knuth's MMIX, twelve
/// uniform numbers to one).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        (0..12)
            .map(|_| {
                self.0 =
                    self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                (self.0 >> 11) as f64 / (1_u64 << 53) as f64
            })
            .sum::<f64>()
            - 6.0
    }
}

/// Scatter of `share` of the force.
fn noisy(mut curve: TargetCurve, share: f64, seed: u64) -> TargetCurve {
    let mut noise = Noise(seed);
    let bases = curve.error_bases();
    for (force, base) in curve.force.iter_mut().zip(bases) {
        *force = (*force + share * base * noise.next()).max(0.0);
    }
    curve
}

fn assert_followable(reach: &Reach) {
    let (x, f) = reach.from_free_height();
    assert_eq!((x[0], f[0]), (0.0, 0.0), "a spring at its free height has no force");
    let slack = 1e-9 * reach.nearest.max_force();
    let mut before = 0.0;
    for (x, f) in x.windows(2).zip(f.windows(2)) {
        let step = x[1] - x[0];
        assert!(f[1] - f[0] >= before * step - slack, "rate falls to {} at {}", (f[1] - f[0]) / step, x[0]);
        before = (f[1] - f[0]) / step;
    }
}

#[test]
fn a_progressive_curve_is_reachable_and_returned_as_it_is() {
    let target = curve(21, 8.0, |x| 5.0 * x + 0.4 * x * x);
    let reach = nearest_reachable(&target, 0.0);
    assert!(reach.reachable && reach.findings.is_empty(), "{:?}", reach.findings);
    assert_eq!(reach.nearest, target);
    assert_eq!((reach.rms_percent, reach.max_percent), (0.0, 0.0));
    assert_followable(&reach);
}

#[test]
fn a_straight_line_written_to_few_digits_is_reachable() {
    let target = curve(30, 7.0, |x| (3.7 * x * 100.0).round() / 100.0);
    let reach = nearest_reachable(&target, 0.0);
    assert!(reach.reachable && reach.findings.is_empty(), "{:?}", reach.findings);
    assert_followable(&reach);
}

#[test]
fn a_softening_curve_is_refused_with_place_size_and_reason() {
    // steep to 4 mm, flatter beyond
    let target = curve(41, 10.0, |x| if x < 4.0 { 10.0 * x } else { 40.0 + 3.0 * (x - 4.0) });
    let reach = nearest_reachable(&target, 0.0);
    assert!(!reach.reachable);
    assert!(reach.rms_percent > 5.0, "{}", reach.rms_percent);
    assert_followable(&reach);
    assert_eq!(reach.findings.len(), 1, "{:?}", reach.findings);
    let finding = &reach.findings[0];
    assert_eq!(finding.kind, ReachKind::FallingRate);
    assert_eq!((finding.from_deflection, finding.to_deflection), (0.0, 10.0));
    // a straight line is nearest: too soft before the bend, too stiff at the end, where it differs most
    let difference = 58.0 - reach.nearest.force_at(10.0);
    assert_eq!((finding.at_deflection, finding.size_n), (10.0, difference));
    assert!(
        (finding.size_percent - 100.0 * difference / 58.0).abs() < 1e-9 && difference < -10.0,
        "{finding:?}"
    );
    assert!(finding.reason.contains("from about 10.0 N/mm before 4.00 mm to about 3.00 N/mm"), "{finding:?}");
    assert!(finding.reason.contains("a seated turn stays seated"), "{finding:?}");
}

#[test]
fn a_slight_long_softening_is_still_named() {
    let reach = nearest_reachable(&curve(26, 10.0, |x| 10.0 * x - 0.1 * x * x), 0.0);
    assert!(!reach.reachable);
    assert_eq!(reach.findings[0].kind, ReachKind::FallingRate);
}

#[test]
fn the_slightly_stiffer_start_of_a_tall_spring_is_no_softening() {
    let reach =
        nearest_reachable(&curve(30, 9.0, |x| 2.0 * x * (1.0 + 0.035 * (1.0 - x / 9.0).powi(2))), 0.0);
    assert!(reach.reachable && reach.rms_percent > 0.2, "rms {}", reach.rms_percent);
    assert!(reach.findings.is_empty(), "{:?}", reach.findings);
}

#[test]
fn softening_in_the_middle_is_named_there_only() {
    let bump = |x: f64| 2.0 * x + 0.5 * x * x + 6.0 * (-(x - 5.0).powi(2)).exp();
    let reach = nearest_reachable(&curve(101, 10.0, bump), 0.0);
    assert!(!reach.reachable);
    assert_followable(&reach);
    let named: Vec<_> =
        reach.findings.iter().filter(|finding| finding.kind == ReachKind::FallingRate).collect();
    assert_eq!(named.len(), 1, "{:?}", reach.findings);
    assert!(named[0].from_deflection > 2.0 && named[0].to_deflection < 8.0, "{:?}", named[0]);
    assert!((named[0].at_deflection - 5.0).abs() < 1.0, "{:?}", named[0]);
}

#[test]
fn a_falling_force_is_named_with_its_fall() {
    let target = curve(61, 6.0, |x| {
        if x < 3.0 {
            10.0 * x
        } else if x < 4.0 {
            60.0 - 10.0 * x
        } else {
            15.0 * x - 40.0
        }
    });
    let reach = nearest_reachable(&target, 0.0);
    assert!(!reach.reachable);
    assert_followable(&reach);
    assert_eq!(reach.findings.len(), 1, "{:?}", reach.findings);
    let finding = &reach.findings[0];
    assert_eq!(finding.kind, ReachKind::FallingForce);
    assert!(
        finding.reason.contains("falls by 10.0 N, from 30.0 N at 3.00 mm to 20.0 N at 4.00 mm"),
        "{finding:?}"
    );
    assert!(finding.remedy.contains("disc spring"), "{finding:?}");
}

#[test]
fn a_force_at_zero_travel_needs_installed_deflection() {
    let target = curve(21, 5.0, |x| 20.0 + 8.0 * x + x * x);
    let reach = nearest_reachable(&target, 0.0);
    assert!(!reach.reachable);
    assert_eq!(reach.nearest.force[0], 0.0);
    let finding = &reach.findings[0];
    assert_eq!(finding.kind, ReachKind::ForceAtStart);
    assert_eq!((finding.at_deflection, finding.size_n), (0.0, 20.0));
    assert!(finding.reason.contains("begins with 20.0 N at zero travel"), "{finding:?}");
    // the rate over the first half millimetre is 8.5 N/mm
    assert!(finding.remedy.contains("at a deflection of 2.353 mm or more (`installed`)"), "{finding:?}");
    let installed = nearest_reachable(&target, 2.6);
    assert!(installed.reachable, "{:?}", installed.findings);
    assert_eq!(installed.nearest, target);
    assert_followable(&installed);
}

#[test]
fn too_little_installed_travel_is_named() {
    let target = curve(21, 5.0, |x| 20.0 + 8.0 * x + x * x);
    let reach = nearest_reachable(&target, 1.0);
    assert!(!reach.reachable);
    assert_followable(&reach);
    assert_eq!(reach.findings[0].kind, ReachKind::ForceAtStart, "{:?}", reach.findings);
    assert!(reach.findings[0].reason.contains("more force than 1.00 mm of installed deflection"));
}

#[test]
fn a_curve_that_begins_late_and_high_needs_preload_too() {
    let target = TargetCurve {
        deflection: vec![1.0, 2.0, 3.0],
        force: vec![30.0, 40.0, 50.0],
        ..TargetCurve::default()
    };
    let reach = nearest_reachable(&target, 0.0);
    assert!(!reach.reachable);
    assert!(reach.findings[0].reason.contains("begins with 20.0 N at zero travel"), "{:?}", reach.findings);
    assert!(nearest_reachable(&target, 2.0).reachable);
}

#[test]
fn clearance_before_the_spring_is_a_remark_and_no_refusal() {
    let reach = nearest_reachable(&curve(41, 4.0, |x| 12.0 * (x - 1.0).max(0.0)), 0.0);
    assert!(reach.reachable);
    assert_eq!(reach.findings.len(), 1, "{:?}", reach.findings);
    assert_eq!((reach.findings[0].kind, reach.findings[0].to_deflection), (ReachKind::FreePlay, 1.0));
}

#[test]
fn noise_alone_makes_no_curve_unreachable() {
    for (count, share) in [(12, 0.003), (20, 0.01), (60, 0.01), (300, 0.02), (2000, 0.01), (2000, 0.02)] {
        for seed in 1..=40 {
            for shape in
                [|x: f64| 6.0 * x, |x: f64| 4.0 * x + 0.5 * x * x, |x: f64| 2.0 * x + 0.05 * x.powi(4)]
            {
                let reach = nearest_reachable(&noisy(curve(count, 8.0, shape), share, seed), 0.0);
                assert!(
                    reach.reachable,
                    "{count} points, noise {share}, seed {seed}: rms {} max {} scatter {}: {:?}",
                    reach.rms_percent, reach.max_percent, reach.scatter_percent, reach.findings
                );
                assert!(reach.findings.is_empty(), "{:?}", reach.findings);
                assert_followable(&reach);
            }
        }
    }
}

#[test]
fn the_regression_of_a_noisy_curve_is_closer_to_the_truth_than_the_noise() {
    let truth = curve(2000, 8.0, |x| 4.0 * x + 0.5 * x * x);
    let reach = nearest_reachable(&noisy(truth.clone(), 0.01, 7), 0.0);
    let at_points: Vec<f64> = truth.deflection.iter().map(|&x| reach.nearest.force_at(x)).collect();
    let (rms, largest) = truth.errors_percent(&at_points);
    assert!(rms < 0.2 && largest < 1.0, "rms {rms} %, largest {largest} %");
    assert_eq!(reach.nearest.len(), 400);
    assert!((reach.scatter_percent - 1.0).abs() < 0.15, "{}", reach.scatter_percent);
}

#[test]
fn noise_hides_no_softening() {
    let soft = |x: f64| if x < 4.0 { 10.0 * x } else { 40.0 + 7.0 * (x - 4.0) };
    for count in [60, 300, 2000] {
        for seed in 1..=20 {
            let reach = nearest_reachable(&noisy(curve(count, 10.0, soft), 0.01, seed), 0.0);
            assert!(!reach.reachable, "{count} points, seed {seed}: rms {}", reach.rms_percent);
            assert!(
                reach.findings.iter().any(|finding| finding.kind == ReachKind::FallingRate),
                "{:?}",
                reach.findings
            );
        }
    }
}

#[test]
fn points_that_jump_about_are_no_curve() {
    let mut target = curve(40, 10.0, |x| 10.0 * x + 5.0);
    for (i, force) in target.force.iter_mut().enumerate() {
        *force *= if i % 2 == 0 { 0.85 } else { 1.15 };
    }
    let reach = nearest_reachable(&target, 1.0);
    assert!(!reach.reachable);
    assert!(reach.findings.iter().any(|finding| finding.kind == ReachKind::Scatter), "{:?}", reach.findings);
}

#[test]
fn a_hundred_thousand_points_are_answered_in_a_few_hundred() {
    let target = noisy(curve(100_000, 8.0, |x| 4.0 * x + 0.5 * x * x), 0.01, 3);
    let reach = nearest_reachable(&target, 0.0);
    assert!(reach.reachable, "{:?}", reach.findings);
    assert_eq!(reach.nearest.len(), 400);
    assert_eq!(reach.nearest.max_deflection(), target.max_deflection());
}

#[test]
fn the_band_goes_along_to_the_nearest_curve() {
    let mut target = curve(801, 8.0, |x| 10.0 * x.sqrt());
    target.force_min = Some(target.force.iter().map(|force| 0.9 * force).collect());
    target.tolerance_percent = Some(4.0);
    let nearest = nearest_reachable(&target, 0.0).nearest;
    assert_eq!(nearest.force_min.as_ref().map(Vec::len), Some(400));
    assert_eq!(nearest.tolerance_percent, Some(4.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_nearest_curve_can_always_be_followed(
        steps in prop::collection::vec((0.001_f64..3.0, 0.0_f64..500.0), 3..60),
        installed in prop::sample::select(vec![0.0, 0.5, 4.0]),
        scale in prop::sample::select(vec![1e-9, 1.0, 1e12]),
    ) {
        let mut at = 0.0;
        let mut target = TargetCurve::default();
        for (step, force) in steps {
            target.deflection.push(at);
            target.force.push(scale * (force + 0.1));
            at += step;
        }
        let reach = nearest_reachable(&target, installed);
        assert_followable(&reach);
        prop_assert!(reach.rms_percent.is_finite() && reach.rms_percent <= reach.max_percent);
        prop_assert!(reach.reachable || !reach.findings.is_empty());
        // a reachable curve stays reachable
        prop_assert!(nearest_reachable(&reach.nearest, installed).reachable);
    }
}
