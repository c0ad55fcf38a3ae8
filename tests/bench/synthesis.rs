//! Cost of shaping in evaluations of the model, against general-purpose optimisers that drive the same model: a simplex
//! without slopes, and a Levenberg-Marquardt method whose slopes are differences. And what a design and a search cost.

// a bench prints, and stops at the first surprise
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use std::cell::Cell;
use std::time::Instant;

use argmin::core::{CostFunction, Error, Executor};
use argmin::solver::neldermead::NelderMead;
use flatspire::curve::{TargetCurve, nearest_reachable};
use flatspire::layout::{ArmShape, SlotLine, Spring};
use flatspire::model::{Model, ModelSettings};
use flatspire::numeric::MonotoneCubic;
use flatspire::pipeline::{Question, answer};
use flatspire::spec::{Brief, SpringFile};
use flatspire::synthesis::{ShapeFreedom, ShapeSettings, TargetPoints, shape};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

const START: &str = "[sheet]\nthickness = 1.5\nyoungs_modulus = 185000\nshear_modulus = 70000\n[disc]\nouter_diameter = 76\n\
                     arm_outer_diameter = 62\narm_inner_diameter = 22\nbore_diameter = 6\narms = 1\nslot = 1.4\n[arm]\n\
                     radius = [11, 31]\nwidth = [3.0, 9.0]\n[former]\nfree_height = 8.2\n[seat]\nrim = \"held\"\n";
const CONTROLS: usize = 6;
const BOUNDS: (f64, f64) = (1.5, 12.0);
const STEP: f64 = 1e-4;

fn model() -> ModelSettings {
    ModelSettings { segments: 48, ..ModelSettings::default() }
}

/// The same model, points and variables as the program's own method: logarithms of widths.
struct Widths {
    start: Spring,
    radius: Vec<f64>,
    points: TargetPoints,
    evaluations: Cell<u64>,
}

impl Widths {
    /// Force errors in percent of their base, over the square root of their number.
    fn residuals(&self, p: &[f64]) -> Option<DVector<f64>> {
        self.evaluations.set(self.evaluations.get() + 1);
        let width: Vec<f64> = p.iter().map(|w| w.exp().clamp(BOUNDS.0, BOUNDS.1)).collect();
        let mut spring = self.start.clone();
        let profile = MonotoneCubic::through(&self.radius, &width)?;
        let line =
            SlotLine::wind(spring.arms, spring.slot, self.radius[CONTROLS - 1], self.radius[0], profile)
                .ok()?;
        spring.shape = ArmShape::Slots(line);
        let force = Model::of(&spring, &model()).ok()?.response(&self.points.deflection).ok()?.force;
        let scale = 100.0 / (force.len() as f64).sqrt();
        let errors = force
            .iter()
            .zip(&self.points.force)
            .zip(&self.points.base)
            .map(|((f, t), b)| scale * (f - t) / b);
        Some(DVector::from_iterator(force.len(), errors))
    }

    fn rms(&self, p: &[f64]) -> f64 {
        self.residuals(p).map_or(1e3, |residuals| residuals.norm())
    }
}

impl CostFunction for &Widths {
    type Param = DVector<f64>;
    type Output = f64;

    fn cost(&self, p: &DVector<f64>) -> Result<f64, Error> {
        Ok(self.rms(p.as_slice()))
    }
}

struct ByDifferences<'a> {
    widths: &'a Widths,
    p: DVector<f64>,
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for ByDifferences<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, p: &DVector<f64>) {
        self.p.copy_from(p);
    }

    fn params(&self) -> DVector<f64> {
        self.p.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        self.widths.residuals(self.p.as_slice())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let mut columns = Vec::new();
        for k in 0..self.p.len() {
            let moved = |by: f64| {
                let mut p = self.p.clone();
                p[k] += by;
                self.widths.residuals(p.as_slice())
            };
            columns.push((moved(STEP)? - moved(-STEP)?) / (2.0 * STEP));
        }
        Some(DMatrix::from_columns(&columns))
    }
}

fn main() {
    let start = Spring::from_file(&SpringFile::parse(START, "start.toml").unwrap(), None).unwrap();
    let deflection: Vec<f64> = (0..=28).map(|k| 8.0 * f64::from(k) / 28.0).collect();
    let force: Vec<f64> = deflection.iter().map(|x| 3.0 * x + 0.05 * x * x * x).collect();
    let target = TargetCurve::points(&deflection, &force).curve("target").unwrap();
    let points = TargetPoints::of(&target, &nearest_reachable(&target, 0.0));
    let settings = ShapeSettings {
        freedom: ShapeFreedom::Free(CONTROLS),
        width: BOUNDS,
        free_height: (8.2, 8.2),
        ease: None,
        profile: false,
        width_ratio: f64::INFINITY,
        closed: None,
        allowable: None,
        smoothness: 1.0,
        iterations: 14,
        model: model(),
    };
    let clock = Instant::now();
    let shaped = shape(&start, &points, &settings).unwrap();
    let seconds = clock.elapsed().as_secs_f64();
    println!(
        "shaping              {:5} evaluations, {:.2} % rms, {seconds:.3} s",
        shaped.evaluations, shaped.rms_percent
    );

    let radius: Vec<f64> = (0..CONTROLS).map(|k| 11.0 + 4.0 * k as f64).collect();
    let first: Vec<f64> = radius.iter().map(|r| (3.0 + 0.3 * (r - 11.0)).ln()).collect();
    let widths = Widths { start: start.clone(), radius, points, evaluations: Cell::new(0) };
    let enough = 1.1 * shaped.rms_percent;

    let simplex: Vec<DVector<f64>> = (0..=CONTROLS)
        .map(|k| {
            let mut corner = first.clone();
            if k > 0 {
                corner[k - 1] += 0.3;
            }
            DVector::from_vec(corner)
        })
        .collect();
    let done = Executor::new(&widths, NelderMead::new(simplex))
        .configure(|state| state.max_iters(3000).target_cost(enough))
        .run()
        .unwrap();
    report("simplex", widths.evaluations.replace(0), shaped.evaluations, done.state().get_best_cost());

    let problem = ByDifferences { widths: &widths, p: DVector::from_vec(first) };
    let (problem, _) = LevenbergMarquardt::new().with_ftol(1e-4).with_xtol(1e-6).minimize(problem);
    let count = widths.evaluations.replace(0);
    report("differences", count, shaped.evaluations, widths.rms(problem.p.as_slice()));

    let gentle: Vec<f64> = deflection.iter().map(|x| 4.0 * x + 0.15 * x * x * x).collect();
    let target = TargetCurve::points(&deflection, &gentle).curve("gentle").unwrap();
    let brief = Brief::parse(include_str!("../../examples/pedal.toml"), "pedal.toml").unwrap();
    let clock = Instant::now();
    let found = answer(Question { target, brief }, &|_| ()).unwrap();
    println!(
        "search of the stock  {} combinations, {:.2} % rms, {:.1} s",
        found.outcome.considered,
        found.evaluation.fit.as_ref().unwrap().summary.rms_percent,
        clock.elapsed().as_secs_f64()
    );
}

fn report(name: &str, count: u64, own: u64, rms: f64) {
    println!(
        "{name:<20} {count:5} evaluations, {rms:.2} % rms: {:.1} times as many",
        count as f64 / own as f64
    );
}
