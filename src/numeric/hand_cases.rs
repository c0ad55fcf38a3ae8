//! Numbers computed by hand, each with its computation or its source beside it.

use super::*;

#[test]
fn a_slope_at_an_end_is_held_to_three_chords() {
    // Fritsch & Carlson: chords 1 and −5 of even pieces give the end (3·1 + 5)/2 = 4, held to 3·1; in the middle, where the
    // chords change sign, 0. Hermite at a half: 0.5 + 0.125·3 = 0.875, slope 1.5 − 0.25·3 = 0.75
    let curve = MonotoneCubic::through(&[0.0, 1.0, 2.0], &[0.0, 1.0, -4.0]).unwrap();
    assert_eq!(curve.value_and_slope(0.0), (0.0, 3.0));
    let (value, slope) = curve.value_and_slope(0.5);
    assert!((value - 0.875).abs() < 1e-12 && (slope - 0.75).abs() < 1e-12, "{value} {slope}");
    // the other end: (3·(−5) − 1)/2 = −8, less than three times −5
    assert_eq!(curve.value_and_slope(2.0).1, -8.0);
    // chords 1 and 5: (3·1 − 5)/2 = −1 against the chord is 0
    assert_eq!(
        MonotoneCubic::through(&[0.0, 1.0, 2.0], &[0.0, 1.0, 6.0]).unwrap().value_and_slope(0.0).1,
        0.0
    );
}

#[test]
fn inner_slopes_are_harmonic_means() {
    // Fritsch & Butland: pieces 1 and 2 long with chords 2 and 1: weights 2·2 + 1 = 5 and 2 + 2·1 = 4,
    // 9/(5/2 + 4/1) = 1.384615
    let curve = MonotoneCubic::through(&[0.0, 1.0, 3.0], &[0.0, 2.0, 4.0]).unwrap();
    assert!((curve.value_and_slope(1.0).1 - 1.384_615_384_6).abs() < 1e-9);
    // at 2: half of 2 to 4 plus (1.384615 − d)·2/8 with d at the end ((2·2 + 1)·1 − 2·2)/3 = 1/3
    assert!((curve.value(2.0) - (3.0 + 0.25 * (1.384_615_384_6 - 1.0 / 3.0))).abs() < 1e-9);
}
