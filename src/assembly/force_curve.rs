//! The force of one disc, or of a stack, over its own deflection.

use crate::spec::Stacking;

/// Force over deflection from the free height to closed, straight between its points.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceCurve {
    /// deflection (mm) from 0, increasing
    deflection: Vec<f64>,
    /// force (N) from 0, never falling
    force: Vec<f64>,
}

impl ForceCurve {
    /// Through points; (0, 0) is added where the first one lies behind it. A force below an earlier one counts as that
    /// one. `None` with fewer than two points, with deflections that do not increase from 0 on, and without any force.
    pub fn through(deflection: &[f64], force: &[f64]) -> Option<Self> {
        let (mut x, mut f) = (vec![0.0], vec![0.0]);
        for (&deflection, &force) in deflection.iter().zip(force) {
            if !(deflection.is_finite() && force.is_finite()) || deflection < 0.0 {
                return None;
            }
            let before = x.len() - 1;
            if deflection == 0.0 && before == 0 {
                continue;
            }
            if deflection <= x[before] {
                return None;
            }
            x.push(deflection);
            f.push(force.max(f[before]));
        }
        (x.len() > 1 && f[f.len() - 1] > 0.0).then_some(Self { deflection: x, force: f })
    }

    /// Deflections of the points (mm).
    pub fn deflections(&self) -> &[f64] {
        &self.deflection
    }

    /// Forces of the points (N).
    pub fn forces(&self) -> &[f64] {
        &self.force
    }

    /// Deflection at which it is closed (mm).
    pub fn closed(&self) -> f64 {
        self.deflection[self.deflection.len() - 1]
    }

    /// Force at which it is closed (N).
    pub fn closing_force(&self) -> f64 {
        self.force[self.force.len() - 1]
    }

    fn piece(&self, deflection: f64) -> usize {
        self.deflection.partition_point(|x| *x <= deflection).clamp(1, self.deflection.len() - 1)
    }

    /// Force (N) at a deflection (mm): none where it is loose, without bound beyond closed.
    pub fn force(&self, deflection: f64) -> f64 {
        if deflection <= 0.0 {
            return 0.0;
        }
        if deflection > self.closed() {
            return f64::INFINITY;
        }
        let k = self.piece(deflection);
        self.force[k - 1] + self.slope(k) * (deflection - self.deflection[k - 1])
    }

    fn slope(&self, k: usize) -> f64 {
        (self.force[k] - self.force[k - 1]) / (self.deflection[k] - self.deflection[k - 1])
    }

    /// Rate (N/mm) at a deflection (mm): none where it is loose, without bound beyond closed.
    pub fn rate(&self, deflection: f64) -> f64 {
        if deflection < 0.0 {
            return 0.0;
        }
        if deflection > self.closed() {
            return f64::INFINITY;
        }
        self.slope(self.piece(deflection))
    }

    /// Deflection (mm) at a force (N): closed beyond the closing force.
    pub fn deflection(&self, force: f64) -> f64 {
        if force <= 0.0 {
            return 0.0;
        }
        let k = self.force.partition_point(|f| *f < force);
        if k >= self.force.len() {
            return self.closed();
        }
        let rise = self.force[k] - self.force[k - 1];
        let share = (force - self.force[k - 1]) / rise;
        self.deflection[k - 1] + share * (self.deflection[k] - self.deflection[k - 1])
    }

    /// Energy (N·mm) stored at a deflection (mm).
    pub fn energy(&self, deflection: f64) -> f64 {
        let to = deflection.clamp(0.0, self.closed());
        let mut sum = 0.0;
        for k in 1..self.deflection.len() {
            let (from, end) = (self.deflection[k - 1], self.deflection[k].min(to));
            if end <= from {
                break;
            }
            let last = self.force[k - 1] + self.slope(k) * (end - from);
            sum += 0.5 * (self.force[k - 1] + last) * (end - from);
        }
        sum
    }

    /// Unequal discs stacked: deflections added at equal force, or forces at equal deflection until the first is closed.
    /// `None` where nothing is left of it.
    pub fn of_stack(discs: &[Self], stacking: Stacking) -> Option<Self> {
        match stacking {
            Stacking::Series => Self::in_series(discs),
            Stacking::Parallel => {
                let closed = discs.iter().map(Self::closed).fold(f64::INFINITY, f64::min);
                let mut x: Vec<f64> = discs.iter().flat_map(|disc| disc.deflection.iter().copied()).collect();
                x.retain(|x| *x > 0.0 && *x <= closed);
                x.sort_by(f64::total_cmp);
                x.dedup();
                let f: Vec<f64> = x.iter().map(|x| discs.iter().map(|disc| disc.force(*x)).sum()).collect();
                Self::through(&x, &f)
            }
        }
    }

    /// Deflections added at equal force, at the forces of all points.
    pub(super) fn in_series(discs: &[Self]) -> Option<Self> {
        let mut forces: Vec<f64> = discs.iter().flat_map(|disc| disc.force.iter().copied()).collect();
        forces.sort_by(f64::total_cmp);
        forces.dedup();
        let (mut x, mut f): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
        for force in forces.into_iter().filter(|force| *force > 0.0) {
            let deflection: f64 = discs.iter().map(|disc| disc.deflection(force)).sum();
            // all softer discs are closed: no deflection is left
            if x.last().is_none_or(|last| deflection > *last) {
                x.push(deflection);
                f.push(force);
            }
        }
        Self::through(&x, &f)
    }

    /// The same disc taller and stiffer by these factors. Forces of an arm are proportional to its heights and deflections
    /// together (small slopes), and to its stiffness.
    #[must_use]
    pub fn scaled(&self, height: f64, stiffness: f64) -> Self {
        let times = |list: &[f64], factor: f64| list.iter().map(|value| factor * value).collect();
        Self { deflection: times(&self.deflection, height), force: times(&self.force, height * stiffness) }
    }

    /// The curve of `count` equals.
    #[must_use]
    pub fn stacked(&self, count: usize, stacking: Stacking) -> Self {
        let times = count as f64;
        let scaled = |list: &[f64]| list.iter().map(|value| times * value).collect();
        match stacking {
            Stacking::Series => Self { deflection: scaled(&self.deflection), force: self.force.clone() },
            Stacking::Parallel => Self { deflection: self.deflection.clone(), force: scaled(&self.force) },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn force_and_deflection_are_inverse_to_each_other() {
        let curve = ForceCurve::through(&[1.0, 2.0, 3.0], &[2.0, 6.0, 20.0]).unwrap();
        for force in [0.5, 2.0, 5.0, 19.0] {
            assert_abs_diff_eq!(curve.force(curve.deflection(force)), force, epsilon = 1e-12);
        }
        assert_eq!(curve.deflection(25.0), 3.0);
        assert_eq!(curve.force(-1.0), 0.0);
        assert!(curve.force(3.1).is_infinite());
        // triangle, trapezoids
        assert_abs_diff_eq!(curve.energy(3.0), 1.0 + 4.0 + 13.0, epsilon = 1e-12);
    }

    #[test]
    fn equals_in_series_are_softer_and_in_parallel_stiffer() {
        let one = ForceCurve::through(&[2.0], &[10.0]).unwrap();
        assert_abs_diff_eq!(one.stacked(3, Stacking::Series).rate(1.0), 5.0 / 3.0, epsilon = 1e-12);
        assert_abs_diff_eq!(one.stacked(3, Stacking::Parallel).rate(1.0), 15.0, epsilon = 1e-12);
    }

    #[test]
    fn points_that_make_no_curve_are_refused() {
        assert!(ForceCurve::through(&[1.0, 1.0], &[1.0, 2.0]).is_none());
        assert!(ForceCurve::through(&[1.0, 2.0], &[0.0, 0.0]).is_none());
        assert!(ForceCurve::through(&[], &[]).is_none());
    }
}
