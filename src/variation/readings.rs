//! Preparation of a measurement: one elastic curve from both branches, and the friction between them.

use serde::Serialize;

use crate::curve::{BranchChoice, MeasuredCurve};
use crate::numeric::straight_between;

/// Fewest readings of a branch.
pub(super) const LEAST_READINGS: usize = 8;
/// Readings of a branch above which neighbours are averaged: the shape of a curve needs no more.
const MOST_READINGS: usize = 120;

/// Difference between loading and unloading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Hysteresis {
    /// mean of loading less unloading where both were measured (N)
    pub mean_n: f64,
    /// the same over the largest force (percent)
    pub mean_percent: f64,
    /// work that a cycle takes, over the work of loading (percent)
    pub loss_percent: f64,
}

/// The elastic curve of a measurement: readings in increasing deflection.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// deflection as measured (mm)
    pub deflection: Vec<f64>,
    /// force as measured (N): the middle of both branches where both exist
    pub force: Vec<f64>,
    /// difference between the branches; none where only loading was measured
    pub hysteresis: Option<Hysteresis>,
    /// whether friction is still in the forces: they are of one branch
    pub friction_left: bool,
}

impl Readings {
    /// Splits a measurement into its branches. Friction works against the motion, so the elastic force is taken in the
    /// middle between them (common practice); where unloading was not measured, loading stands alone.
    pub fn of(measured: &MeasuredCurve) -> Self {
        Self::of_branch(measured, BranchChoice::Mean)
    }

    /// As [`of`](Self::of), or one branch alone: friction stays in its forces. Empty where that branch was not measured.
    pub fn of_branch(measured: &MeasuredCurve, choice: BranchChoice) -> Self {
        let [(deflection, loading), (back, unloading)] = measured.branches();
        let enough = |list: &[f64]| list.len() >= LEAST_READINGS;
        let hysteresis = (enough(&deflection) && enough(&back))
            .then(|| Hysteresis::of(&deflection, &loading, &back, &unloading));
        let (least, most) = (back.first().copied().unwrap_or(0.0), back.last().copied().unwrap_or(0.0));
        let (deflection, force) = match (choice, hysteresis) {
            (BranchChoice::Unloading, _) => (back, unloading),
            (BranchChoice::Loading, _) | (BranchChoice::Mean, None) => (deflection, loading),
            (BranchChoice::Mean, Some(_)) => {
                let force = deflection
                    .iter()
                    .zip(&loading)
                    .map(|(&x, &load)| {
                        if x < least || x > most {
                            load
                        } else {
                            0.5 * (load + straight_between(&back, &unloading, x))
                        }
                    })
                    .collect();
                (deflection, force)
            }
        };
        let friction_left = choice != BranchChoice::Mean || hysteresis.is_none();
        Self { deflection, force, hysteresis, friction_left }.averaged()
    }

    /// The means of neighbouring readings, where there are more than a curve needs.
    fn averaged(self) -> Self {
        let size = self.deflection.len().div_ceil(MOST_READINGS);
        if size < 2 {
            return self;
        }
        let mean = |list: &[f64]| {
            list.chunks(size)
                .map(|group| group.iter().sum::<f64>() / group.len() as f64)
                .collect::<Vec<f64>>()
        };
        Self { deflection: mean(&self.deflection), force: mean(&self.force), ..self }
    }
}

impl Hysteresis {
    fn of(x: &[f64], loading: &[f64], back: &[f64], unloading: &[f64]) -> Self {
        let from = x[0].max(back[0]);
        let to = x[x.len() - 1].min(back[back.len() - 1]);
        let work = |x: &[f64], force: &[f64]| {
            const PIECES: usize = 200;
            let step = (to - from) / PIECES as f64;
            (0..PIECES)
                .map(|k| step * straight_between(x, force, from + step * (k as f64 + 0.5)))
                .sum::<f64>()
        };
        let (up, down) = (work(x, loading), work(back, unloading));
        let largest = loading.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let mean_n = (up - down) / (to - from).max(f64::MIN_POSITIVE);
        Self {
            mean_n,
            mean_percent: 100.0 * mean_n / largest,
            loss_percent: 100.0 * (up - down) / up.abs().max(f64::MIN_POSITIVE),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::read_measured;

    fn readings(rows: impl Iterator<Item = (f64, f64)>) -> Readings {
        let mut text = String::from("deflection_mm,force_n\n");
        for (x, f) in rows {
            text.push_str(&format!("{x},{f}\n"));
        }
        Readings::of(&read_measured(text.as_bytes(), "measured.csv").unwrap())
    }

    #[test]
    fn friction_cancels_in_the_middle_and_is_reported() {
        let up = (0..=20).map(|k| f64::from(k) / 4.0).map(|x| (x, 10.0 * x + 1.0));
        let down = (0..20).rev().map(|k| f64::from(k) / 4.0).map(|x| (x, 10.0 * x - 1.0));
        let found = readings(up.chain(down));
        for (x, f) in found.deflection.iter().zip(&found.force).take(20) {
            assert!((f - 10.0 * x).abs() < 1e-9, "{f} N at {x} mm");
        }
        let hysteresis = found.hysteresis.unwrap();
        // the last step goes from one branch to the other
        assert!((hysteresis.mean_n - 2.0).abs() < 0.06, "{hysteresis:?}");
        assert!((hysteresis.loss_percent - 100.0 * 2.0 / 26.0).abs() < 0.4, "{hysteresis:?}");
    }

    #[test]
    fn loading_alone_stands_as_it_is() {
        let found = readings((0..12).map(f64::from).map(|x| (x, 3.0 * x)));
        assert_eq!((found.force[5], found.hysteresis), (15.0, None));
    }
}
