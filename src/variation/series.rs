//! Readings of one measurement as a fit uses them.

use super::readings::Readings;

/// The model's own error at single places, over the error base: judgement from solid finite elements.
const MODEL_SHARE: f64 = 0.002;

/// Readings of one measurement below flat.
pub(super) struct Series {
    /// index of the part
    pub part: usize,
    /// deflections (mm)
    pub x: Vec<f64>,
    /// forces (N)
    pub f: Vec<f64>,
    /// base of a departure (N)
    pub base: Vec<f64>,
    /// scatter of single readings (N)
    pub noise: f64,
    /// largest force (N)
    pub largest: f64,
    /// standard deviation of the zero of the deflection before measuring (mm)
    pub lash: f64,
    /// whether friction is left in the forces
    pub friction: bool,
    /// readings left out near flat
    pub left_out: usize,
}

impl Series {
    pub fn of(part: usize, curve: &Readings, last: f64) -> Self {
        let used = curve.deflection.partition_point(|x| *x <= last);
        let f = curve.force[..used].to_vec();
        let largest = f.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        Self {
            part,
            x: curve.deflection[..used].to_vec(),
            base: f.iter().map(|f| f.max(0.1 * largest)).collect(),
            f,
            noise: 0.01 * largest,
            largest,
            lash: 0.0,
            friction: curve.friction_left,
            left_out: curve.deflection.len() - used,
        }
    }

    pub fn end(&self) -> f64 {
        self.x[self.x.len() - 1]
    }

    /// From −1 to 1 over the readings.
    pub fn place(&self, i: usize) -> f64 {
        2.0 * (self.x[i] - self.x[0]) / (self.end() - self.x[0]).max(f64::MIN_POSITIVE) - 1.0
    }

    /// Weight of reading `i` (per N).
    pub fn weight(&self, i: usize) -> f64 {
        1.0 / self.noise.hypot(MODEL_SHARE * self.base[i])
    }
}

/// Standard deviation of single readings about their neighbours' chord, wild ones set aside.
///
/// Pseudo-residuals: Gasser, Sroka & Jennen-Steinmetz, Biometrika 73 (1986); the median of |z| of a standard normal is
/// 0.6745.
pub(super) fn scatter_of(x: &[f64], values: &[f64]) -> f64 {
    let mut departures: Vec<f64> = (1..x.len() - 1)
        .map(|i| {
            let b = (x[i] - x[i - 1]) / (x[i + 1] - x[i - 1]);
            let a = 1.0 - b;
            (values[i] - a * values[i - 1] - b * values[i + 1]).abs() / (1.0 + a * a + b * b).sqrt()
        })
        .collect();
    departures.sort_by(f64::total_cmp);
    departures[departures.len() / 2] / 0.6745
}
