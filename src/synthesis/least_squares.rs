//! Bounded nonlinear least squares: a projected Levenberg–Marquardt method as an argmin solver.
//!
//! Minimises ½‖r(p)‖² within `lower ≤ p ≤ upper`. Requirements: the problem gives residuals ([`argmin::core::Operator`])
//! and their Jacobian ([`argmin::core::Jacobian`]). Each step solves the damped linear problem by a QR factorisation of
//! `[J; √λ D]` over the free parameters, those at a bound that would leave it being held, and is projected onto the
//! bounds; the damping follows the gain ratio. Marquardt, J. SIAM 11 (1963); Moré, Lecture Notes in Mathematics 630
//! (1978) for the scaling D; Kanzow, Yamashita & Fukushima, J. Comput. Appl. Math. 172 (2004) for the projection.

use argmin::core::{
    ArgminFloat, Error, IterState, Jacobian, KV, Operator, Problem, Solver, State, TerminationReason,
    TerminationStatus,
};
use nalgebra::{DMatrix, DVector};

/// State of a run: parameters, residual-less gradient and Jacobian in argmin's terms.
pub type LeastSquaresState = IterState<DVector<f64>, (), DMatrix<f64>, (), DVector<f64>, f64>;

/// Projected Levenberg–Marquardt.
#[derive(Debug, Clone)]
pub struct ProjectedLevenbergMarquardt {
    lower: DVector<f64>,
    upper: DVector<f64>,
    damping: f64,
    scale: DVector<f64>,
    /// relative fall of the cost below which a step counts as the last
    cost_tolerance: f64,
    stop: Option<TerminationReason>,
}

impl ProjectedLevenbergMarquardt {
    /// Within `lower` and `upper`, one value for each parameter.
    pub fn new(lower: DVector<f64>, upper: DVector<f64>) -> Self {
        let scale = DVector::zeros(lower.len());
        Self { lower, upper, damping: 1e-3, scale, cost_tolerance: 1e-4, stop: None }
    }

    /// Relative fall of the cost below which a step counts as the last; 1e-4 when left alone.
    #[must_use]
    pub fn with_cost_tolerance(mut self, tolerance: f64) -> Self {
        self.cost_tolerance = tolerance;
        self
    }

    fn project(&self, p: &DVector<f64>) -> DVector<f64> {
        p.zip_zip_map(&self.lower, &self.upper, f64::clamp)
    }

    /// Parameters that may move: not at a bound that the descent direction points out of.
    fn free(&self, p: &DVector<f64>, gradient: &DVector<f64>) -> Vec<usize> {
        (0..p.len())
            .filter(|&k| {
                let out_below = p[k] <= self.lower[k] && gradient[k] > 0.0;
                let out_above = p[k] >= self.upper[k] && gradient[k] < 0.0;
                !out_below && !out_above && self.lower[k] < self.upper[k]
            })
            .collect()
    }

    /// Damped step over the free parameters.
    fn step(&self, jacobian: &DMatrix<f64>, residual: &DVector<f64>, free: &[usize]) -> Option<DVector<f64>> {
        let (rows, columns) = (residual.len(), free.len());
        let mut stacked = DMatrix::zeros(rows + columns, columns);
        let mut right = DVector::zeros(rows + columns);
        right.rows_mut(0, rows).copy_from(&-residual);
        for (column, &k) in free.iter().enumerate() {
            stacked.view_mut((0, column), (rows, 1)).copy_from(&jacobian.column(k));
            stacked[(rows + column, column)] = self.damping.sqrt() * self.scale[k];
        }
        let qr = stacked.qr();
        let projected = qr.q().tr_mul(&right);
        let solved = qr.r().solve_upper_triangular(&projected)?;
        let mut step = DVector::zeros(jacobian.ncols());
        for (column, &k) in free.iter().enumerate() {
            step[k] = solved[column];
        }
        step.iter().all(|v| v.is_finite()).then_some(step)
    }
}

/// Steps tried from one point before it counts as the minimum.
const MOST_TRIALS: usize = 12;

impl<O> Solver<O, LeastSquaresState> for ProjectedLevenbergMarquardt
where
    O: Operator<Param = DVector<f64>, Output = DVector<f64>>
        + Jacobian<Param = DVector<f64>, Jacobian = DMatrix<f64>>,
    f64: ArgminFloat,
{
    fn name(&self) -> &'static str {
        "projected Levenberg-Marquardt"
    }

    fn init(
        &mut self,
        problem: &mut Problem<O>,
        state: LeastSquaresState,
    ) -> Result<(LeastSquaresState, Option<KV>), Error> {
        let start = state.get_param().cloned().unwrap_or_else(|| 0.5 * (&self.lower + &self.upper));
        let start = self.project(&start);
        let residual = problem.apply(&start)?;
        let cost = 0.5 * residual.norm_squared();
        Ok((state.param(start).cost(cost).residuals(residual), None))
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<O>,
        mut state: LeastSquaresState,
    ) -> Result<(LeastSquaresState, Option<KV>), Error> {
        let (Some(p), Some(residual)) = (state.take_param(), state.take_residuals()) else {
            return Err(argmin::core::Error::msg("the run has no start"));
        };
        // a Jacobian is expensive, and that of the last point is not needed
        let jacobian = match state.take_jacobian() {
            Some(jacobian) => jacobian,
            None => problem.jacobian(&p)?,
        };
        let cost = state.get_cost();
        let gradient = jacobian.tr_mul(&residual);
        for k in 0..p.len() {
            self.scale[k] = self.scale[k].max(jacobian.column(k).norm()).max(1e-12);
        }
        let free = self.free(&p, &gradient);
        if free.is_empty() {
            self.stop = Some(TerminationReason::SolverConverged);
            return Ok((state.param(p).cost(cost).residuals(residual).jacobian(jacobian), None));
        }
        for _ in 0..MOST_TRIALS {
            let Some(step) = self.step(&jacobian, &residual, &free) else {
                self.damping *= 10.0;
                continue;
            };
            let trial = self.project(&(&p + step));
            let moved = &trial - &p;
            let linear = &residual + &jacobian * &moved;
            let predicted = cost - 0.5 * linear.norm_squared();
            let trial_residual = problem.apply(&trial)?;
            let trial_cost = 0.5 * trial_residual.norm_squared();
            let gain = (cost - trial_cost) / predicted;
            if trial_cost.is_finite() && predicted > 0.0 && gain > 1e-4 {
                // Nielsen's rule
                self.damping = (self.damping * (1.0 - (2.0 * gain - 1.0).powi(3)).max(0.1)).max(1e-9);
                if cost - trial_cost < self.cost_tolerance * cost {
                    self.stop = Some(TerminationReason::SolverConverged);
                }
                return Ok((state.param(trial).cost(trial_cost).residuals(trial_residual), None));
            }
            if moved.amax() < 1e-9 || predicted.abs() < 1e-3 * self.cost_tolerance * cost {
                break;
            }
            self.damping *= 6.0;
        }
        self.stop = Some(TerminationReason::SolverConverged);
        Ok((state.param(p).cost(cost).residuals(residual).jacobian(jacobian), None))
    }

    fn terminate(&mut self, _state: &LeastSquaresState) -> TerminationStatus {
        match &self.stop {
            Some(reason) => TerminationStatus::Terminated(reason.clone()),
            None => TerminationStatus::NotTerminated,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use argmin::core::Executor;

    /// Rosenbrock's valley as residuals (10(y − x²), 1 − x).
    struct Valley;

    impl Operator for Valley {
        type Param = DVector<f64>;
        type Output = DVector<f64>;
        fn apply(&self, p: &DVector<f64>) -> Result<DVector<f64>, Error> {
            Ok(DVector::from_vec(vec![10.0 * (p[1] - p[0] * p[0]), 1.0 - p[0]]))
        }
    }

    impl Jacobian for Valley {
        type Param = DVector<f64>;
        type Jacobian = DMatrix<f64>;
        fn jacobian(&self, p: &DVector<f64>) -> Result<DMatrix<f64>, Error> {
            Ok(DMatrix::from_row_slice(2, 2, &[-20.0 * p[0], 10.0, -1.0, 0.0]))
        }
    }

    fn run(upper: f64) -> DVector<f64> {
        let solver =
            ProjectedLevenbergMarquardt::new(DVector::from_element(2, -3.0), DVector::from_element(2, upper))
                .with_cost_tolerance(1e-14);
        let start = DVector::from_vec(vec![-1.2, 0.3]);
        let done =
            Executor::new(Valley, solver).configure(|state| state.param(start).max_iters(200)).run().unwrap();
        done.state().get_best_param().unwrap().clone()
    }

    #[test]
    fn finds_the_bottom_of_rosenbrocks_valley() {
        // Rosenbrock, Comput. J. 3 (1960): minimum at (1, 1)
        let p = run(3.0);
        assert_abs_diff_eq!(p[0], 1.0, epsilon = 1e-6);
        assert_abs_diff_eq!(p[1], 1.0, epsilon = 1e-6);
    }

    #[test]
    fn stays_within_its_bounds() {
        // with x, y ≤ 0.5 the minimum lies on the bound of y: there 200x(x² − ½) + x = 1 has its root near 0.708, so x is at
        // its bound too
        let p = run(0.5);
        assert!(p.iter().all(|v| *v <= 0.5));
        assert_abs_diff_eq!(p[0], 0.5, epsilon = 1e-6);
        assert_abs_diff_eq!(p[1], 0.25, epsilon = 1e-5);
    }
}
