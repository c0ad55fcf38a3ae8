//! A predicted curve, the result of the model.

use serde::Serialize;

/// Share of the travel at which a spring counts as closed. In the last percent the flatness of the sheet matters and
/// the force rises without bound.
pub const CLOSED_SHARE: f64 = 0.99;

/// Force-deflection curve of a whole spring (all arms). All arrays have the same length.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Response {
    /// deflection from the free height (mm), increasing
    pub deflection: Vec<f64>,
    /// force (N)
    pub force: Vec<f64>,
    /// tangent rate (N/mm)
    pub rate: Vec<f64>,
    /// arc length that touches a plate, or lies nearer to it than 0.2 % of the free height, over arm length (0 to 1)
    pub seated_share: Vec<f64>,
    /// largest surface von Mises stress anywhere on the arms, inner edge included (MPa)
    pub peak_stress: Vec<f64>,
    /// where along the arm it is: arc length from the outer root over arm length (0 to 1)
    pub peak_station: Vec<f64>,
    /// number of points without a converged equilibrium; their values are those of the last iteration
    pub not_converged: usize,
}

impl Response {
    /// Number of deflections.
    pub fn len(&self) -> usize {
        self.deflection.len()
    }

    /// Whether there is no point at all.
    pub fn is_empty(&self) -> bool {
        self.deflection.is_empty()
    }

    /// Force (N) at a deflection (mm) between its points, by a cubic with their forces and rates (Hermite interpolation); beyond
    /// them that of the end.
    pub fn force_at(&self, deflection: f64) -> f64 {
        let [Some(first), Some(last)] = [self.deflection.first(), self.deflection.last()] else { return 0.0 };
        let x = deflection.clamp(*first, *last);
        let b = self.deflection.partition_point(|at| *at <= x).min(self.len() - 1);
        let a = b.saturating_sub(1);
        let run = self.deflection[b] - self.deflection[a];
        if run <= 0.0 {
            return self.force[b];
        }
        let s = (x - self.deflection[a]) / run;
        let rise = self.force[b] - self.force[a];
        let (from, to) = (run * self.rate[a] - rise, rise - run * self.rate[b]);
        self.force[a] + s * rise + s * (1.0 - s) * ((1.0 - s) * from + s * to)
    }

    /// The first deflection (mm) from which the force falls, between points or by its rate: pressed by a weight the
    /// spring snaps through there.
    pub fn first_fall(&self) -> Option<f64> {
        (0..self.len())
            .find(|&i| self.rate[i] < 0.0 || i + 1 < self.len() && self.force[i + 1] < self.force[i])
            .map(|i| self.deflection[i])
    }
}

/// Factor of a fine model over a coarse one, from their forces at the same deflections; 1 where either has no force.
///
/// A search, a scatter or a fit works with the fast model (small slopes, few segments) and takes its forces times this
/// factor for those of the whole model. The factor changes slowly from spring to spring, so that it is worked out once for
/// many springs that differ little, and anew where they have moved.
pub(crate) fn fine_over_coarse(fine: &[f64], coarse: &[f64]) -> Vec<f64> {
    let factor = |(fine, coarse): (&f64, &f64)| {
        let factor = fine / coarse;
        if *fine > 0.0 && *coarse > 0.0 && factor.is_finite() { factor } else { 1.0 }
    };
    fine.iter().zip(coarse).map(factor).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forces_between_the_points_are_those_of_a_cubic() {
        let cubic = |x: f64| (x.powi(3) - 2.0 * x + 3.0, 3.0 * x * x - 2.0);
        let deflection = vec![0.0, 1.0, 2.5];
        let (force, rate) = deflection.iter().map(|x| cubic(*x)).unzip();
        let response = Response { deflection, force, rate, ..Response::default() };
        for x in [0.0, 0.3, 1.0, 1.9, 2.5] {
            assert!((response.force_at(x) - cubic(x).0).abs() < 1e-12, "{x}");
        }
        assert_eq!(response.force_at(-1.0), 3.0);
        assert_eq!(Response::default().force_at(1.0), 0.0);
    }

    #[test]
    fn the_factor_takes_coarse_forces_to_fine_ones_and_is_one_without_force() {
        let (coarse, fine) = ([0.0, 2.0, 4.0, 0.0, -1.0, 1e-320], [0.0, 2.5, 3.0, 1.0, 2.0, 5.0]);
        assert_eq!(fine_over_coarse(&fine, &coarse), [1.0, 1.25, 0.75, 1.0, 1.0, 1.0]);
    }
}
