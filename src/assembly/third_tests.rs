use super::*;
use crate::assembly::split::opposed;
use crate::assembly::{Arrangement, PlacedMember};
use crate::spec::AssemblyKind;

/// A curve with the rates `rates` (N/mm) over `length` mm each, in pieces of a quarter of a millimetre.
fn of_rates(rates: &[f64], length: usize) -> (Vec<f64>, Vec<f64>) {
    let (mut x, mut f) = (vec![0.0], vec![0.0]);
    for rate in rates {
        for _ in 0..4 * length {
            x.push(x[x.len() - 1] + 0.25);
            f.push(f[f.len() - 1] + 0.25 * rate);
        }
    }
    (x, f)
}

fn bases(f: &[f64]) -> Vec<f64> {
    f.iter().map(|force| force.max(0.1 * f[f.len() - 1])).collect()
}

fn placed(curve: ForceCurve, installed: f64) -> PlacedMember {
    PlacedMember { curve, count: 1, stacking: Stacking::Series, installed, thickness: 1.0, spacer: 0.0 }
}

#[test]
fn a_soft_start_before_a_rise_and_a_fall_is_left_to_a_third_disc() {
    // an opposed pair has no rate 2, 8, 2 N/mm: 6 are to go, it starts with 2
    let (x, f) = of_rates(&[2.0, 8.0, 2.0], 3);
    assert!(opposed(&x, &f, 0.5, 0.0).is_err());
    let found = &splits(&x, &f, &bases(&f))[0];
    assert!(found.rms_percent < 0.3, "{}", found.rms_percent);
    // its compliance never rises with the force
    let compliance: Vec<f64> = (1..found.third.force.len())
        .map(|i| {
            (found.third.deflection[i] - found.third.deflection[i - 1])
                / (found.third.force[i] - found.third.force[i - 1])
        })
        .collect();
    assert!(compliance.windows(2).all(|pair| pair[1] < pair[0] + 1e-9), "{compliance:?}");
    assert!(opposed(&found.deflection, &found.force, 0.5, 0.0).is_ok());
}

#[test]
fn the_members_of_a_split_have_the_wanted_curve_together() {
    let (x, f) = of_rates(&[2.0, 8.0, 2.0], 3);
    let split = splits(&x, &f, &bases(&f)).remove(0);
    let touch = 0.05 * split.deflection[split.deflection.len() - 1];
    let [a, b] = opposed(&split.deflection, &split.force, 0.4, touch).unwrap();
    let (at_a, at_b) = (a.installed, b.reach());
    let discs = [(a, at_a), (b, at_b), (split.third, 0.0)];
    let members = discs.iter().map(|(target, installed)| placed(target.curve().unwrap(), *installed));
    let whole = Arrangement::of(AssemblyKind::OpposedSeries, members.collect()).unwrap();
    for (x, f) in x.iter().zip(&f).take(x.len() - 1) {
        assert!((whole.force(*x) - f).abs() < 0.01 * f.max(4.0), "at {x}: {} {f}", whole.force(*x));
    }
    assert!(whole.hub_deflection(0.0).unwrap().abs() < 1e-6);
}

#[test]
fn a_curve_that_does_not_rise_has_no_split() {
    assert!(splits(&[0.0, 1.0, 2.0, 3.0], &[0.0, 1.0, 1.0, 1.0], &[1.0; 4]).is_empty());
    assert!(splits(&[], &[], &[]).is_empty());
}
