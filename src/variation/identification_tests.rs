//! The slopes of a fit against differences of what it predicts.

use super::*;
use crate::spec::SpringFile;

fn spring() -> Spring {
    let text = "[sheet]\nthickness = 1.2\nyoungs_modulus = 200000\nshear_modulus = 80000\n[disc]\nouter_diameter = 84\n\
        arm_outer_diameter = 70\narm_inner_diameter = 24\narms = 2\nslot = 1.4\n[arm]\nradius = [12, 35]\nwidth = [3, 6]\n\
        [former]\nfree_height = 9\n";
    Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap()
}

#[test]
fn every_unknown_has_the_slope_of_the_force_it_changes() {
    let (x, f): (Vec<f64>, Vec<f64>) = (0..30).map(|k| (0.2 * f64::from(k), 2.0 * f64::from(k))).unzip();
    let prior = [0.02, 1.5, 0.03, 0.09, END_PERCENT, 0.06, 0.6, MODEL_SCALE, MODEL_SCALE];
    let fit = Fit {
        varied: VariedSpring::new(&spring(), 80).unwrap(),
        fine: VariedSpring::new(&spring(), 80).unwrap(),
        x: &x,
        f: &f,
        base: f.iter().map(|f| f.max(6.0)).collect(),
        prior,
        centre: 0.0,
        noise: 0.1,
        factor: (vec![0.0], vec![1.0]),
    };
    let mut p = DVector::zeros(UNKNOWNS);
    p[LASH] = 0.3;
    let predicted = fit.predict(&p).unwrap();
    for k in 0..UNKNOWNS {
        let step = if k == ENDS { 0.4 } else { 2e-3 };
        let force = |sign: f64| {
            let mut moved = p.clone();
            moved[k] += sign * step;
            fit.predict(&moved).unwrap().force
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
        assert!(off[off.len() / 2] < 0.02, "unknown {k}: {off:?}");
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
