use super::*;
use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettingsBuilder, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus};
use proptest::prelude::*;

/// The same problem as a general quadratic programme in the values f_i at the points, by an interior-point
/// solver without hinges.
fn by_interior_point(origin: f64, x: &[f64], y: &[f64], weight: &[f64]) -> Vec<f64> {
    let count = x.len();
    let quadratic = CscMatrix::new(
        count,
        count,
        (0..=count).collect(),
        (0..count).collect(),
        weight.iter().map(|w| 2.0 * w).collect(),
    );
    let linear: Vec<f64> = weight.iter().zip(y).map(|(w, y)| -2.0 * w * y).collect();
    // rows a f ≤ 0: slope of each piece less that of the next; the first slope not negative. Piece i ends at
    // point i, the first begins at the origin.
    let mut rows = vec![vec![0.0; count]; count];
    let step = |i: usize| x[i] - if i == 0 { origin } else { x[i - 1] };
    let mut add_slope = |row: usize, piece: usize, sign: f64| {
        rows[row][piece] += sign / step(piece);
        if piece > 0 {
            rows[row][piece - 1] -= sign / step(piece);
        }
    };
    add_slope(0, 0, -1.0);
    for row in 1..count {
        add_slope(row, row - 1, 1.0);
        add_slope(row, row, -1.0);
    }
    let constraint = CscMatrix::from(&rows);
    let cones = [NonnegativeConeT(count)];
    let settings = DefaultSettingsBuilder::default()
        .verbose(false)
        .tol_gap_abs(1e-12)
        .tol_gap_rel(1e-12)
        .tol_feas(1e-12)
        .build()
        .unwrap();
    let mut solver =
        DefaultSolver::new(&quadratic, &linear, &constraint, &vec![0.0; count], &cones, settings).unwrap();
    solver.solve();
    assert!(
        matches!(solver.solution.status, SolverStatus::Solved | SolverStatus::AlmostSolved),
        "{:?}",
        solver.solution.status
    );
    solver.solution.x.clone()
}

fn sum(y: &[f64], f: &[f64], weight: &[f64]) -> f64 {
    y.iter().zip(f).zip(weight).map(|((y, f), w)| w * (y - f).powi(2)).sum()
}

fn ours(origin: f64, x: &[f64], y: &[f64], weight: &[f64]) -> Vec<f64> {
    let fit = fit(origin, x, y, weight, usize::MAX);
    assert!(fit.rises.iter().all(|rise| *rise > 0.0), "{:?}", fit.rises);
    fit.values(x)
}

#[test]
fn agrees_with_a_general_quadratic_programme() {
    let x: Vec<f64> = (1..=40).map(|i| 0.25 * f64::from(i)).collect();
    let shapes: [&dyn Fn(f64) -> f64; 5] = [
        &|x| 10.0 * x.sqrt(),
        &|x| x * x + 3.0 * (3.0 * x).sin().abs(),
        &|x| 20.0 * x * (-0.3 * x).exp(),
        &|x| 30.0 + x,
        &|x| (x - 4.0).max(0.0).powi(2) + (7.0 * x).cos().abs(),
    ];
    for (number, shape) in shapes.iter().enumerate() {
        for origin in [0.0, -3.0] {
            let y: Vec<f64> = x.iter().map(|&x| shape(x)).collect();
            let largest = y.iter().copied().fold(0.0, f64::max);
            let weight: Vec<f64> = y.iter().map(|y| (largest / y.max(0.1 * largest)).powi(2)).collect();
            let found = ours(origin, &x, &y, &weight);
            let expected = by_interior_point(origin, &x, &y, &weight);
            for (i, (found, expected)) in found.iter().zip(&expected).enumerate() {
                assert!(
                    (found - expected).abs() < 2e-5 * largest,
                    "shape {number} from {origin}: got {found} at point {i}, expected {expected}"
                );
            }
            let (found, expected) = (sum(&y, &found, &weight), sum(&y, &expected, &weight));
            assert!(
                found <= expected * (1.0 + 1e-7) + 1e-9,
                "shape {number}: sum {found}, expected {expected}"
            );
        }
    }
}

#[test]
fn a_convex_curve_is_its_own_regression() {
    let x: Vec<f64> = (0..=100).map(|i| 0.1 * f64::from(i)).collect();
    let y: Vec<f64> = x.iter().map(|x| x + 0.2 * x * x * x).collect();
    let found = ours(0.0, &x, &y, &vec![1.0; x.len()]);
    for (found, expected) in found.iter().zip(&y) {
        assert!((found - expected).abs() < 1e-5 * y[100], "got {found}, expected {expected}");
    }
}

#[test]
fn a_falling_curve_becomes_the_best_straight_line_through_the_origin() {
    let (x, y) = ([1.0, 2.0, 3.0], [3.0, 2.0, 1.0]);
    // Σ xy / Σ x²
    let slope = 10.0 / 14.0;
    for (x, found) in x.iter().zip(ours(0.0, &x, &y, &[1.0; 3])) {
        assert!((found - slope * x).abs() < 1e-12, "got {found} at {x}, expected {}", slope * x);
    }
}

#[test]
fn few_knots_for_many_points_cost_little() {
    let x: Vec<f64> = (0..20_000).map(|i| 0.001 * f64::from(i)).collect();
    let y: Vec<f64> = x.iter().map(|x| x + 0.1 * x * x - 3.0 * (-(x - 10.0).powi(2)).exp()).collect();
    let y: Vec<f64> = y.iter().map(|y| y.max(0.0)).collect();
    let weight = vec![1.0; x.len()];
    let all = fit(0.0, &x, &y, &weight, 4000).values(&x);
    let few = fit(0.0, &x, &y, &weight, 400).values(&x);
    let (all, few) = (sum(&y, &all, &weight), sum(&y, &few, &weight));
    assert!(few >= all * (1.0 - 1e-9) && few < 1.001 * all, "few knots {few}, many {all}");
}

#[test]
fn points_all_but_on_one_another_do_no_harm() {
    let x = [0.0, 1e-300, 1e-12, 1.0, 1.0 + 2e-16, 2.0, 2.0 + 1e-12];
    let y = [0.0, 1.0, 0.5, 0.0, 4.0, 3.0, 9.0];
    let values = fit(0.0, &x, &y, &[1.0; 7], usize::MAX).values(&x);
    assert!(values.iter().all(|value| value.is_finite()), "{values:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_convex_curve_nearby_is_closer(
        steps in prop::collection::vec(0.01_f64..2.0, 3..30),
        heights in prop::collection::vec(0.0_f64..100.0, 30),
        nudges in prop::collection::vec(0.0_f64..1.0, 31),
        origin in -2.0_f64..0.0,
    ) {
        let x: Vec<f64> = steps.iter().scan(0.0, |at, step| { *at += step; Some(*at) }).collect();
        let y = &heights[..x.len()];
        let weight: Vec<f64> = y.iter().map(|y| 1.0 / y.max(10.0).powi(2)).collect();
        let best = ours(origin, &x, y, &weight);
        // towards any other sum of hinges the sum rises
        let mut kinks = vec![origin];
        kinks.extend_from_slice(&x[..x.len() - 1]);
        let other = ConvexFit { rises: nudges[..kinks.len()].to_vec(), kinks }.values(&x);
        for share in [1e-3, 0.1, 1.0] {
            let mixed: Vec<f64> = best.iter().zip(&other).map(|(b, o)| b + share * (o - b)).collect();
            prop_assert!(sum(y, &mixed, &weight) >= sum(y, &best, &weight) * (1.0 - 1e-9) - 1e-12);
        }
    }
}
