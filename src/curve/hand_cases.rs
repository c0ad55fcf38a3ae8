//! Numbers computed by hand, each with its computation beside it.

use super::branch::turning_point;
use super::noise::{averaged, forgiven_percent, scatter_percent};
use super::*;

fn curve(deflection: Vec<f64>, force: Vec<f64>) -> TargetCurve {
    TargetCurve { deflection, force, ..TargetCurve::default() }
}

fn near(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found}, {expected} expected");
}

#[test]
fn scatter_of_a_zigzag_is_that_of_its_steps() {
    // 1 % up and down in turn about 10 N: every point departs by 2 % from the chord of its neighbours, 2/√1.5 = 1.63299
    // of one reading's own; all departures are alike, so their mean is that, over 0.5149: 3.1715 %
    let x: Vec<f64> = (0..101).map(f64::from).collect();
    let zigzag = x.iter().enumerate().map(|(i, _)| if i % 2 == 0 { 10.1 } else { 9.9 }).collect();
    near(scatter_percent(&curve(x.clone(), zigzag)), 3.1715, 0.012);
    // 198 quantiles of a normal distribution of 1 %, in the order of the powers of 71 modulo 199: the scatter is 1 %
    let quantile = |k: u32| {
        // 4.91 (p^0.14 − (1 − p)^0.14), within 0.005 of the quantile (Tukey's lambda distribution)
        let p = (f64::from(k) - 0.5) / 198.0;
        4.91 * (p.powf(0.14) - (1.0 - p).powf(0.14))
    };
    let order = std::iter::successors(Some(71_u32), |k| Some(k * 71 % 199)).take(198);
    let noisy = order.map(|k| 10.0 + 0.1 * quantile(k)).collect();
    let x: Vec<f64> = (0..198).map(f64::from).collect();
    near(scatter_percent(&curve(x, noisy)), 1.0, 0.03);
}

#[test]
fn noise_is_forgiven_by_its_estimate_and_no_more() {
    // 1 + 3.5/√100 times the scatter; 3 % at most, of ten points a quarter of that
    near(forgiven_percent(1.0, 100), 1.35, 1e-12);
    near(forgiven_percent(0.2, 400), 0.2 * 1.175, 1e-12);
    near(forgiven_percent(2.9, 400), 3.0, 1e-12);
    near(forgiven_percent(2.9, 20), 1.5, 1e-12);
    // (2/0.5)² = 16 readings halve the scatter twice
    let line = curve((0..240).map(f64::from).collect(), (0..240).map(f64::from).collect());
    let means = averaged(&line, 2.0, 0.5);
    assert_eq!((means.group, means.force[0], means.deflection[14]), (16, 7.5, 231.5));
}

#[test]
fn a_rise_that_falls_back_by_more_than_a_tremble_is_not_a_branch() {
    // a thousandth of the largest deflection, 3 mm, is a tremble: 2 µm, not 15
    assert_eq!(turning_point(&[0.0, 2.0, 1.998, 3.0, 1.0]), Some(3));
    assert_eq!(turning_point(&[0.0, 2.0, 1.985, 3.0, 1.0]), None);
    assert_eq!(turning_point(&[0.0, 2.0, 3.0, 1.0, 1.002]), Some(2));
    assert_eq!(turning_point(&[0.0, 2.0, 3.0, 1.0, 1.015, 0.5]), None);
    // unloading comes back over what was covered, but for a twentieth: −0.1 of 3, not −0.2
    assert_eq!(turning_point(&[0.0, 2.0, 3.0, -0.1]), Some(2));
    assert_eq!(turning_point(&[0.0, 2.0, 3.0, -0.2]), None);
}

#[test]
fn errors_are_relative_to_the_force_or_a_tenth_of_the_largest() {
    let wanted = curve(vec![0.0, 1.0, 2.0, 3.0], vec![0.0, 2.0, 10.0, 40.0]);
    assert_eq!(wanted.error_bases(), [4.0, 4.0, 10.0, 40.0]);
    // errors 0.2/4, −0.4/4, 0.5/10, −2/40: 5, −10, 5, −5 %; rms √(175/4) = 6.614 %
    let (rms, largest) = wanted.errors_percent(&[0.2, 1.6, 10.5, 38.0]);
    near(rms, 6.6144, 1e-4);
    near(largest, 10.0, 1e-9);
}

#[test]
fn a_falling_rate_is_replaced_by_the_nearest_even_one() {
    // f = b x nearest to (1, 2) and (2, 3), errors relative to 2 and 3 N: least (b − 2)²/4 + (2b − 3)²/9 at
    // b = (2/4 + 6/9)/(1/4 + 4/9) = 1.68; errors −0.32/2, 0.36/3 and none at the origin: rms √((0.16² + 0.12²)/3)
    let reach = nearest_reachable(&curve(vec![0.0, 1.0, 2.0], vec![0.0, 2.0, 3.0]), 0.0);
    near(reach.nearest.force[1], 1.68, 1e-6);
    near(reach.nearest.force[2], 3.36, 1e-6);
    near(reach.rms_percent, 100.0 * (0.04_f64 / 3.0).sqrt(), 1e-6);
    near(reach.max_percent, 16.0, 1e-6);
    assert!(!reach.reachable && (reach.max_at - 1.0).abs() < 1e-12);
    // deflected by 2 mm before it counts zero, 2, 3, 4 N are the line through (−2, 0)
    let installed = nearest_reachable(&curve(vec![0.0, 1.0, 2.0], vec![2.0, 3.0, 4.0]), 2.0);
    assert!(installed.reachable && installed.rms_percent < 1e-9);
    assert_eq!(installed.from_free_height(), (vec![0.0, 2.0, 3.0, 4.0], vec![0.0, 2.0, 3.0, 4.0]));
}
