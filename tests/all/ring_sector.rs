//! A ring sector of rectangular section in torsion, solved for itself: Göhner's problem.
//!
//! Timoshenko & Goodier, Theory of Elasticity, torsion of a part of a ring: with a stress function φ that vanishes round
//! the section, `τ_rθ = (R²/r²) ∂φ/∂z`, `τ_θz = −(R²/r²) ∂φ/∂r` and `φ_rr + φ_zz − (3/r) φ_r = −2` for unit twist per
//! length at radius R and unit shear modulus. Central differences on a square grid, successive over-relaxation.

use std::f64::consts::PI;

/// Least and most squares over the thickness: finer for narrow sections.
const ACROSS: [f64; 2] = [20.0, 28.0];

/// A solved sector, in units of a straight bar at the same twist.
#[derive(Debug, Clone, Copy)]
pub struct RingSector {
    /// torsional stiffness over that of the straight bar, `b a³ k1`
    pub stiffness: f64,
    /// largest shear round the section over that in the middle of the straight bar's wide face
    pub shear: f64,
}

/// Largest shear and torsion constant of a straight bar `aspect` wide and 1 thick (Timoshenko & Goodier, series).
fn straight(aspect: f64) -> (f64, f64) {
    let odd = || (0..20).map(|k| f64::from(2 * k + 1));
    let shear: f64 = odd().map(|n| 1.0 / (n * n * (0.5 * n * PI * aspect).min(700.0).cosh())).sum();
    let sum: f64 = odd().map(|n| (0.5 * n * PI * aspect).tanh() / n.powi(5)).sum();
    (1.0 - 8.0 / (PI * PI) * shear, (1.0 - 192.0 / PI.powi(5) * sum / aspect) / 3.0 * aspect)
}

/// For `index` C = 2R/b and `aspect` b/t.
pub fn ring_sector(index: f64, aspect: f64) -> RingSector {
    on_grid(index, aspect, (80.0 / aspect).round().clamp(ACROSS[0], ACROSS[1]))
}

/// Stiffness of a thick sector, in the same unit, from two grids (Richardson).
pub fn thick_sector(index: f64, aspect: f64) -> f64 {
    let on = |across: f64| on_grid(index, aspect, across).stiffness;
    (4.0 * on(2.0 * ACROSS[0]) - on(ACROSS[0])) / 3.0
}

/// The sector with `across` squares over the thickness.
fn on_grid(index: f64, aspect: f64, across: f64) -> RingSector {
    let (step, rows, columns) = (1.0 / across, (aspect * across).round() as usize, across as usize);
    let (radius, inner) = (0.5 * index * aspect, 0.5 * (index - 1.0) * aspect);
    let at = |i: usize| inner + step * i as f64;
    let mut phi = vec![vec![0.0; columns + 1]; rows + 1];
    let spectral: f64 = 0.5 * ((PI / rows as f64).cos() + (PI / columns as f64).cos());
    let relaxation = 2.0 / (1.0 + (1.0 - spectral * spectral).sqrt());
    for _ in 0..4000 {
        let mut largest: f64 = 0.0;
        for i in 1..rows {
            let lean = 1.5 * step / at(i);
            for j in 1..columns {
                let around = (1.0 - lean) * phi[i + 1][j]
                    + (1.0 + lean) * phi[i - 1][j]
                    + phi[i][j - 1]
                    + phi[i][j + 1];
                let change = relaxation * (0.25 * (around + 2.0 * step * step) - phi[i][j]);
                phi[i][j] += change;
                largest = largest.max(change.abs());
            }
        }
        if largest < 1e-11 {
            break;
        }
    }
    // the force along the axis, times R: the torque
    let force: f64 = (0..rows)
        .map(|i| {
            let middle = at(i) + 0.5 * step;
            let rise: f64 = (1..columns).map(|j| phi[i + 1][j] - phi[i][j]).sum();
            -rise * step * (radius / middle).powi(2)
        })
        .sum();
    // slopes at the boundary from three places, second order
    let slope = |one: f64, two: f64| (4.0 * one - two) / (2.0 * step);
    let face = (0..=rows).map(|i| (radius / at(i)).powi(2) * slope(phi[i][1], phi[i][2]));
    let end = (0..=columns).map(|j| (radius / inner).powi(2) * slope(phi[1][j], phi[2][j]));
    let (shear, constant) = straight(aspect);
    RingSector {
        stiffness: force.abs() * radius / constant,
        shear: face.chain(end).fold(0.0, f64::max) / shear,
    }
}

#[test]
fn a_sector_of_a_large_ring_is_a_straight_bar() {
    let found = ring_sector(400.0, 4.0);
    assert!((found.stiffness - 1.0).abs() < 4e-3 && (found.shear - 1.0).abs() < 8e-3, "{found:?}");
    // two grids agree
    let narrow = ring_sector(3.0, 3.0);
    assert!((narrow.stiffness - 1.153).abs() < 5e-3 && (narrow.shear - 1.440).abs() < 5e-3, "{narrow:?}");
}
