//! The slopes of a fit against differences of what it predicts.

use super::*;
use crate::layout::Spring;
use crate::spec::{Process, SpringFile, Tolerance};
use crate::variation::Readings;

fn spring() -> Spring {
    let text = "[sheet]\nthickness = 1.2\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\nouter_diameter = 84\n\
        arm_outer_diameter = 70\narm_inner_diameter = 24\narms = 2\nslot = 1.4\n[arm]\nradius = [12, 35]\nwidth = [3, 6]\n\
        [former]\nfree_height = 9\n";
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

#[test]
fn every_unknown_has_the_slope_of_the_force_it_changes() {
    let (x, f): (Vec<f64>, Vec<f64>) = (0..30).map(|k| (0.2 * f64::from(k), 2.0 * f64::from(k))).unzip();
    let readings = Readings { deflection: x.clone(), force: f, hysteresis: None, friction_left: true };
    let varied = VariedSpring::new(&spring(), 80).unwrap();
    let tolerances = Tolerances::of(&spring(), &Tolerance::default(), &Process::default());
    let part =
        MeasuredPart { name: "1".to_owned(), curves: vec![readings.clone()], ..MeasuredPart::default() };
    let series = Series::of(0, &readings, 9.0);
    let fit = Fit::of(varied.clone(), varied, &tolerances, &[part], vec![series]);
    let mut p = DVector::zeros(fit.unknowns());
    p[fit.of_series(0, 0)] = 0.3;
    let predicted = fit.predict(&p, 0).unwrap();
    for k in 0..fit.unknowns() {
        let step = if k == ENDS { 0.4 } else { 2e-3 };
        let force = |sign: f64| {
            let mut moved = p.clone();
            moved[k] += sign * step;
            fit.predict(&moved, 0).unwrap().force
        };
        let (low, high) = (force(-1.0), force(1.0));
        // between the points of the grid the slopes are straight; single readings where a node seats are set aside
        let mut off: Vec<f64> = (4..x.len())
            .map(|i| {
                let quotient = (high[i] - low[i]) / (2.0 * step);
                (predicted.slopes[(i, k)] - quotient).abs() / quotient.abs().max(1e-3)
            })
            .collect();
        off.sort_by(f64::total_cmp);
        // the kerf also moves the inside of the rim, which the slopes leave out: 2.4 % of its effect
        assert!(off[off.len() / 2] < 0.03, "unknown {k}: {off:?}");
    }
}

#[test]
fn single_readings_scatter_about_the_chord_of_their_neighbours() {
    // 1 N up and down in turn: 2 N from the chord, over √1.5, the median over 0.6745
    let x: Vec<f64> = (0..40).map(f64::from).collect();
    let zigzag: Vec<f64> = (0..40).map(|k| if k % 2 == 0 { 1.0 } else { -1.0 }).collect();
    assert!((scatter_of(&x, &zigzag) - 2.0 / 1.5_f64.sqrt() / 0.6745).abs() < 1e-9);
    let line: Vec<f64> = x.iter().map(|x| 3.0 * x).collect();
    assert!(scatter_of(&x, &line) < 1e-9);
}
