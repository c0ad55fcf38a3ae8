use super::*;
use approx::{assert_abs_diff_eq, assert_relative_eq};

fn linear(rate: f64, closed: f64) -> ForceCurve {
    ForceCurve::through(&[closed], &[rate * closed]).unwrap()
}

/// A curve as a seating disc has: rate from `first` on rising to `last`.
fn seating(first: f64, last: f64, closed: f64) -> ForceCurve {
    let x: Vec<f64> = (1..=80).map(|k| closed * f64::from(k) / 80.0).collect();
    let f: Vec<f64> = x.iter().map(|x| first * x + 0.5 * (last - first) * x * x / closed).collect();
    ForceCurve::through(&x, &f).unwrap()
}

fn placed(curve: ForceCurve, installed: f64) -> PlacedMember {
    PlacedMember { curve, count: 1, stacking: Stacking::Series, installed, thickness: 1.0, spacer: 0.0 }
}

#[test]
fn linear_members_add_as_springs_of_a_textbook_do() {
    let (k, q) = (3.0, 7.0);
    let pair = |kind| {
        Arrangement::of(kind, vec![placed(linear(k, 10.0), 0.0), placed(linear(q, 10.0), 0.0)]).unwrap()
    };
    assert_relative_eq!(pair(AssemblyKind::Series).rate(2.0), k * q / (k + q), max_relative = 1e-12);
    assert_relative_eq!(pair(AssemblyKind::Parallel).rate(2.0), k + q, max_relative = 1e-12);
    let opposed = pair(AssemblyKind::Opposed).installed_at(&[3.5, 1.5]).unwrap();
    // balanced at rest, both in touch until b is loose
    assert_abs_diff_eq!(opposed.force(0.0), 0.0, epsilon = 1e-12);
    assert_relative_eq!(opposed.force(1.0), k + q, max_relative = 1e-12);
    assert_eq!(opposed.loose_from(), Some(1.5));
    assert_relative_eq!(opposed.rate(1.5 + 1e-9), k, max_relative = 1e-12);
    assert_relative_eq!(opposed.force(-1.5), -(k + q) * 1.5, max_relative = 1e-12);
    assert_relative_eq!(opposed.energy_at_rest(), 0.5 * k * 12.25 + 0.5 * q * 2.25, max_relative = 1e-12);
    // both free: 10 + 1 each; at rest 6.5 + 1 and 8.5 + 1
    assert_abs_diff_eq!(opposed.free_height(), 22.0, epsilon = 1e-12);
    assert_abs_diff_eq!(opposed.height_at_rest(), 17.0, epsilon = 1e-12);
    assert_eq!(opposed.closed_height(), opposed.height_at_rest());
}

/// The force at which the deflections of some discs add up to `x`, by halving an interval.
fn by_bisection(discs: &[&ForceCurve], x: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e4);
    for _ in 0..80 {
        let force = 0.5 * (low + high);
        let sum: f64 = discs
            .iter()
            .map(|disc| {
                // each disc's own deflection by halving, too
                let (mut from, mut to) = (0.0, disc.closed());
                for _ in 0..60 {
                    let middle = 0.5 * (from + to);
                    if disc.force(middle) < force { from = middle } else { to = middle }
                }
                from
            })
            .sum();
        if sum < x { low = force } else { high = force }
    }
    0.5 * (low + high)
}

#[test]
fn unequal_discs_in_series_are_found_by_bisection_too() {
    let (soft, hard) = (seating(2.0, 9.0, 4.0), seating(11.0, 60.0, 5.0));
    let pair =
        Arrangement::of(AssemblyKind::Series, vec![placed(soft.clone(), 0.0), placed(hard.clone(), 0.0)])
            .unwrap();
    for k in 1..60 {
        let x = pair.travel() * f64::from(k) / 60.0;
        let expected = by_bisection(&[&soft, &hard], x);
        assert_relative_eq!(pair.force(x), expected, max_relative = 2e-4);
        let each = pair.disc_deflections(x);
        assert_abs_diff_eq!(each[0] + each[1], x, epsilon = 1e-9);
    }
    // the soft one is closed, the hard one goes on alone
    let x = soft.closed() + hard.deflection(soft.closing_force()) + 0.5;
    assert_relative_eq!(pair.rate(x), hard.rate(x - soft.closed()), max_relative = 0.05);
    assert_eq!(pair.disc_deflections(x)[0], soft.closed());
}

#[test]
fn preload_in_series_moves_the_origin_along_the_curve() {
    let disc = seating(2.0, 9.0, 4.0);
    let member = PlacedMember { count: 3, installed: 1.0, ..placed(disc.clone(), 0.0) };
    let stack = Arrangement::of(AssemblyKind::Series, vec![member]).unwrap();
    assert_relative_eq!(stack.force(0.0), disc.force(1.0), max_relative = 1e-12);
    assert_relative_eq!(stack.force(3.0), disc.force(2.0), max_relative = 1e-12);
    assert_abs_diff_eq!(stack.travel(), 9.0, epsilon = 1e-12);
    assert_abs_diff_eq!(stack.height_at_rest(), 3.0 * (3.0 + 1.0), epsilon = 1e-12);
    assert_abs_diff_eq!(stack.closed_height(), 3.0, epsilon = 1e-12);
}

#[test]
fn nested_discs_rub_on_every_face() {
    let disc = linear(5.0, 4.0);
    let nest = |count| {
        let member = PlacedMember { count, stacking: Stacking::Parallel, ..placed(disc.clone(), 0.0) };
        Arrangement::of(AssemblyKind::Parallel, vec![member]).unwrap()
    };
    // one face under one disc, three under and between three
    assert_relative_eq!(nest(1).friction(2.0)[0], 0.02 * 10.0, max_relative = 1e-12);
    assert_relative_eq!(nest(3).friction(2.0)[1], 0.03 * 3.0 * 30.0, max_relative = 1e-12);
    assert_abs_diff_eq!(nest(3).free_height(), 4.0 + 3.0, epsilon = 1e-12);
}

/// Deflection of the hub of a pair under a load, by halving: force of a less that of b.
fn hub_by_bisection(a: &ForceCurve, b: &ForceCurve, rest: [f64; 2], load: f64) -> f64 {
    let (mut low, mut high) = (-rest[1], a.closed() - rest[0]);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        let force = a.force(rest[0] + middle) - b.force(rest[1] - middle);
        if force < load { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[test]
fn a_third_disc_in_series_with_a_pair_is_found_by_bisection_too() {
    let (a, b, c) = (seating(1.0, 4.0, 16.0), seating(0.5, 9.0, 6.0), seating(2.0, 30.0, 3.0));
    let rest = [6.0, 5.0];
    let members = [(a.clone(), rest[0]), (b.clone(), rest[1]), (c.clone(), 0.0)];
    let placed = members.into_iter().map(|(curve, installed)| placed(curve, installed)).collect();
    let whole = Arrangement::of(AssemblyKind::OpposedSeries, placed).unwrap();
    let balance = hub_by_bisection(&a, &b, rest, 0.0);
    assert_abs_diff_eq!(whole.hub_deflection(0.0).unwrap(), balance, epsilon = 1e-9);
    assert_eq!(whole.force(0.0), 0.0);
    assert_eq!(whole.force(-0.5), 0.0);
    let preloads = whole.preloads();
    assert_relative_eq!(preloads[0], preloads[1], max_relative = 1e-9);
    assert_eq!(preloads[2], 0.0);
    for k in 1..30 {
        let load = 36.0 * f64::from(k) / 30.0;
        let hub = hub_by_bisection(&a, &b, rest, load) - balance;
        let x = hub + c.deflection(load);
        assert_relative_eq!(whole.force(x), load, max_relative = 1e-6);
        let discs = whole.disc_deflections(x);
        assert_abs_diff_eq!(discs[0], rest[0] + balance + hub, epsilon = 1e-6);
        assert_abs_diff_eq!(discs[1], (rest[1] - balance - hub).max(0.0), epsilon = 1e-6);
        assert_abs_diff_eq!(discs[2], c.deflection(load), epsilon = 1e-6);
        // rates in series: of the pair, both of whose discs push the hub back, and of the third disc
        let of_pair = a.rate(discs[0]) + if discs[1] > 0.0 { b.rate(discs[1]) } else { 0.0 };
        let of_third = c.rate(discs[2]);
        let expected = of_pair * of_third / (of_pair + of_third);
        assert_relative_eq!(whole.rate(x), expected, max_relative = 0.05);
    }
    // b is loose where its own deflection is used up
    let loose = whole.loose_from().unwrap();
    assert_abs_diff_eq!(whole.disc_deflections(loose)[1], 0.0, epsilon = 1e-6);
    // the shoulder under the third disc meets the plate of the pair: 6 mm thick, 4 mm of shoulder, 3 mm of way
    let mut stopped = whole.members().to_vec();
    stopped[2].spacer = 6.0 + 4.0 + 3.0;
    let stopped = Arrangement::of(AssemblyKind::OpposedSeries, stopped).unwrap();
    assert_abs_diff_eq!(stopped.hub_travel(), 3.0, epsilon = 1e-12);
    let load = a.force(rest[0] + balance + 3.0) - b.force(rest[1] - balance - 3.0);
    let x = 3.0 + c.deflection(load);
    assert_relative_eq!(stopped.force(x - 0.1), whole.force(x - 0.1), max_relative = 1e-9);
    assert!(stopped.rate(x + 0.01) > 1.3 * whole.rate(x + 0.01));
    // the plates of the pair stay where they are, the loaded one goes down
    assert_abs_diff_eq!(whole.closed_height(), whole.height_at_rest() - whole.travel(), epsilon = 1e-12);
    assert_abs_diff_eq!(whole.height_at_rest(), 10.0 + 1.0 + 3.0 + 3.0, epsilon = 1e-12);
}

#[test]
fn a_pair_without_balance_makes_no_assembly() {
    let discs = || vec![placed(linear(3.0, 4.0), 0.0), placed(linear(3.0, 4.0), 0.0)];
    let third = placed(linear(2.0, 4.0), 0.0);
    assert!(Arrangement::of(AssemblyKind::OpposedSeries, discs()).is_none());
    // a touches nothing to the last, b is pressed by nothing: balanced where a begins
    let all = discs().into_iter().chain([third]).collect();
    let whole = Arrangement::of(AssemblyKind::OpposedSeries, all).unwrap();
    assert_relative_eq!(whole.force(1.0), 1.2, max_relative = 1e-9);
}
