use super::*;
use crate::curve::{BranchChoice, CurveError, TargetCurve, read, read_branch};

/// Curve of all files in `tests/data/bench` (invented): F = 6 x + 0.5 x².
fn wanted(x: f64) -> f64 {
    6.0 * x + 0.5 * x * x
}

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/bench").join(name))
        .unwrap()
}

fn read_file(name: &str) -> Result<TargetCurve, CurveError> {
    read(&bytes(name), name)
}

/// Root mean square and largest departure from the curve at 15 points, over the error base (percent).
fn errors(curve: &TargetCurve, factor: f64) -> (f64, f64) {
    let (mut sum, mut largest) = (0.0, 0.0_f64);
    for k in 0..15 {
        let x = 5.0 * f64::from(k) / 14.0;
        let error = 100.0 * (curve.force_at(x) - factor * wanted(x)) / wanted(x).max(0.1 * wanted(5.0));
        sum += error * error;
        largest = largest.max(error.abs());
    }
    ((sum / 15.0_f64).sqrt(), largest)
}

#[test]
fn exports_of_different_testers_read_as_the_same_curve() {
    for name in [
        "01_plain.csv",
        "02_german.csv",
        "03_french.csv",
        "04_spanish.csv",
        "05_italian.csv",
        "06_inch_pound.csv",
        "07_micrometre_gram.csv",
        "08_thou_ounce.csv",
        "11_zero.csv",
    ] {
        let curve = read_file(name).unwrap();
        let (_, largest) = errors(&curve, 1.0);
        assert_eq!(curve.len(), 15, "{name}");
        assert!(largest < 0.01, "{name}: {largest} %");
    }
}

#[test]
fn a_noisy_cycle_is_the_same_curve_as_fifteen_points() {
    // the report's two cycles dwell at their ends, and the rows there leave a little more
    for (name, most) in [("09_cycle.csv", 0.3), ("10_gap.csv", 0.3), ("12_report.csv", 0.4)] {
        let curve = read_file(name).unwrap();
        let (rms, largest) = errors(&curve, 1.0);
        assert!(
            rms < most && largest < 5.0 * most,
            "{name}: {rms} % rms, {largest} % at most; {:?}",
            curve.notes
        );
        assert!(curve.len() <= 62, "{name}: {} points", curve.len());
        for word in ["friction", "averaged"] {
            assert!(curve.notes.iter().any(|note| note.contains(word)), "{name}: {:?}", curve.notes);
        }
    }
}

#[test]
fn the_start_of_contact_is_found_and_noted() {
    let curve = read_file("10_gap.csv").unwrap();
    assert!(curve.notes.iter().any(|note| note.contains("touched at 0.4")), "{:?}", curve.notes);
    assert_eq!((curve.deflection[0], curve.force[0]), (0.0, 0.0));
}

#[test]
fn each_branch_can_be_the_target() {
    for (choice, factor) in
        [(BranchChoice::Loading, 1.02), (BranchChoice::Unloading, 0.98), (BranchChoice::Mean, 1.0)]
    {
        let curve = read_branch(&bytes("09_cycle.csv"), choice, "cycle").unwrap();
        let (rms, _) = errors(&curve, factor);
        assert!(rms < 0.4, "{choice:?}: {rms} %");
    }
}

#[test]
fn a_list_of_wanted_points_is_no_measurement() {
    let deflection: Vec<f64> = (0..200).map(|k| 0.025 * f64::from(k)).collect();
    let force = deflection.iter().map(|x| wanted(*x)).collect();
    let points = Points { deflection, force, ..Points::default() };
    assert_eq!(conditioned(&points, BranchChoice::Mean), None);
}
