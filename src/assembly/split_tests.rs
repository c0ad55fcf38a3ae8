use super::*;
use crate::assembly::{Arrangement, PlacedMember};
use crate::spec::{AssemblyKind, Stacking};

/// Numbers from 0 to 1, the same in every run (a linear congruence; Knuth, The Art of Computer Programming 2, 3.3.4).
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

const POINTS: usize = 30;

/// A rising curve over 3 to 12 mm whose rate is the sum of one that never falls and one that never rises.
fn rising(draw: &mut Draw, steps: i32) -> (Vec<f64>, Vec<f64>) {
    let travel = 3.0 + 9.0 * draw.next();
    let (p, q) = (0.2 + draw.next(), 0.2 + draw.next());
    let mut hinges: Vec<(f64, f64)> = Vec::new();
    for _ in 0..steps {
        hinges.push((draw.next(), 6.0 * draw.next()));
    }
    let rate = |s: f64, falling: bool| -> f64 {
        hinges
            .iter()
            .enumerate()
            .filter(|(k, (at, _))| (k % 2 == 0) == falling && if falling { s < *at } else { s > *at })
            .map(|(_, (_, height))| height)
            .sum()
    };
    let step = travel / (POINTS - 1) as f64;
    let (mut x, mut f) = (vec![0.0], vec![0.0]);
    for i in 1..POINTS {
        let s = (i as f64 - 0.5) / (POINTS - 1) as f64;
        x.push(step * i as f64);
        f.push(f[i - 1] + step * (p + q + rate(s, true) + rate(s, false)));
    }
    (x, f)
}

fn composed(kind: AssemblyKind, targets: &[MemberTarget; 2], installed: [f64; 2]) -> Arrangement {
    let members = targets
        .iter()
        .zip(installed)
        .map(|(target, installed)| PlacedMember {
            curve: target.curve().unwrap(),
            count: 1,
            stacking: Stacking::Series,
            installed,
            thickness: 1.0,
            spacer: 0.0,
        })
        .collect();
    Arrangement::of(kind, members).unwrap()
}

#[test]
fn a_hundred_rising_curves_come_back_from_the_targets_of_an_opposed_pair() {
    let mut draw = Draw(7);
    for case in 0..100 {
        let (x, f) = rising(&mut draw, 1 + case % 7);
        let share = 0.1 + 0.8 * draw.next();
        let touch = 0.05 * x[POINTS - 1];
        let targets = opposed(&x, &f, share, touch).unwrap();
        for target in &targets {
            let curve = target.curve().unwrap();
            // what a seating disc can have
            let rates: Vec<f64> =
                curve.deflections().windows(2).map(|p| curve.rate(0.5 * (p[0] + p[1]))).collect();
            assert!(rates.windows(2).all(|pair| pair[1] > pair[0] - 1e-6), "case {case}: {rates:?}");
            assert!(rates[0] > 0.0);
        }
        let at_rest = [targets[0].installed, targets[1].reach()];
        let pair = composed(AssemblyKind::Opposed, &targets, at_rest);
        for (x, wanted) in x.iter().zip(&f) {
            let found = pair.force(*x);
            assert!((found - wanted).abs() < 1e-3 * f[POINTS - 1], "case {case} at {x}: {found} {wanted}");
        }
    }
}

#[test]
fn a_hundred_stiffening_curves_come_back_from_two_discs_in_series() {
    let mut draw = Draw(3);
    for case in 0..100 {
        // rates that never fall
        let (mut x, mut f, mut rate) = (vec![], vec![], 0.5 + draw.next());
        let (mut at, mut force) = (0.0, 0.0);
        for _ in 0..20 {
            at += 0.1 + 0.4 * draw.next();
            force += rate * (at - x.last().copied().unwrap_or(0.0));
            rate *= 1.0 + draw.next() * if draw.next() > 0.7 { 2.0 } else { 0.2 };
            x.push(at);
            f.push(force);
        }
        for level in series_levels(&x, &f) {
            let targets = in_series(&x, &f, level).unwrap();
            let pair = composed(AssemblyKind::Series, &targets, [0.0, 0.0]);
            for (x, wanted) in x.iter().zip(&f) {
                let found = pair.force(*x - 1e-9);
                assert!((found - wanted).abs() < 1e-3 * wanted, "case {case} at {x}: {found} {wanted}");
            }
        }
    }
}

#[test]
fn a_corner_is_split_into_a_straight_disc_that_closes_and_a_straight_one() {
    // 4 N/mm to 3.5 mm, then 18 N/mm
    let x = [1.0, 2.0, 3.5, 5.0, 7.0];
    let f = [4.0, 8.0, 14.0, 41.0, 77.0];
    let [soft, stiff] = in_series(&x, &f, series_levels(&x, &f)[0]).unwrap();
    assert!(soft.closes && !stiff.closes);
    // 1/4 − 1/18 mm/N up to 14 N
    assert!((soft.reach() - 14.0 * (0.25 - 1.0 / 18.0)).abs() < 1e-9, "{soft:?}");
    assert!((stiff.curve().unwrap().rate(0.1) - 18.0).abs() < 1e-9, "{stiff:?}");
}

#[test]
fn a_rate_that_falls_by_more_than_it_starts_with_is_refused_with_both_numbers() {
    // rate 1, then 6, then 1 N/mm
    let x: Vec<f64> = (0..=9).map(f64::from).collect();
    let f = [0.0, 1.0, 2.0, 3.0, 9.0, 15.0, 21.0, 22.0, 23.0, 24.0];
    let limit = opposed(&x, &f, 0.5, 0.1).unwrap_err();
    assert!((limit.start - 1.0).abs() < 1e-9 && (limit.falls - 5.0).abs() < 1e-9, "{limit:?}");
    let base: Vec<f64> = f.iter().map(|f| f64::max(*f, 2.4)).collect();
    let near = nearest_opposed(&x, &f, &base);
    assert!(opposed(&near.0, &near.1, 0.5, 0.1).is_ok());
    let off = largest_difference(&x, &f, &base, (&near.0, &near.1));
    assert!((0.05..0.6).contains(&off), "{off}");
}

#[test]
fn a_curve_through_zero_that_is_the_same_to_both_sides_gives_equal_discs() {
    let x: Vec<f64> = (-8..=8).map(|i| 0.5 * f64::from(i)).collect();
    // soft in the middle
    let f: Vec<f64> = x.iter().map(|x| 1.5 * x + 0.1 * x.powi(3)).collect();
    let [a, b] = opposed(&x, &f, 0.5, 0.2).unwrap();
    assert!((a.installed - b.installed).abs() < 1e-9, "{} {}", a.installed, b.installed);
    for (fa, fb) in a.force.iter().zip(&b.force) {
        assert!((fa - fb).abs() < 1e-9 * a.largest_force(), "{fa} {fb}");
    }
}

#[test]
fn of_a_hundred_curves_of_any_curvature_most_have_an_opposed_pair_nearby() {
    // rates that wander: each piece's rate is up to three times or a third of the one before, at random
    let mut draw = Draw(11);
    let mut off = Vec::new();
    for _ in 0..100 {
        let (mut x, mut f, mut rate) = (vec![0.0], vec![0.0], 1.0 + 4.0 * draw.next());
        for i in 0..24 {
            if i % 6 == 0 {
                rate *= 3f64.powf(2.0 * draw.next() - 1.0);
            }
            x.push(0.25 * f64::from(i + 1));
            f.push(f[f.len() - 1] + 0.25 * rate);
        }
        let largest = f[f.len() - 1];
        let base: Vec<f64> = f.iter().map(|force| force.max(0.1 * largest)).collect();
        let near = nearest_opposed(&x, &f, &base);
        assert!(opposed(&near.0, &near.1, 0.5, 0.05).is_ok());
        let sum: f64 =
            (0..x.len()).map(|i| ((straight_between(&near.0, &near.1, x[i]) - f[i]) / base[i]).powi(2)).sum();
        off.push(100.0 * (sum / x.len() as f64).sqrt());
    }
    off.sort_by(f64::total_cmp);
    println!("rms of the 50th, 80th, 90th and 95th: {:?}", [49, 79, 89, 94].map(|k| off[k]));
    assert!(off.iter().filter(|rms| **rms < 2.0).count() >= 85, "{:?}", &off[80..]);
}
