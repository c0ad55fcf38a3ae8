//! Shaping: the arm's width, the free height and, if wanted, the former's profile, so that the predicted curve meets the
//! target. Bounded least squares over few smooth variables; the segment model gives the residuals and their slopes.

use std::cell::{Cell, RefCell};
use std::f64::consts::TAU;

use argmin::core::{Executor, State};
use nalgebra::DVector;

use super::closed_use::ClosedUse;
use super::least_squares::ProjectedLevenbergMarquardt;
use super::residuals::{Problem, flat_stress};
use super::shape_settings::{ShapeError, ShapeFreedom, ShapeSettings};
use super::target_points::TargetPoints;
use super::variables::Variables;
use crate::layout::{ArmShape, LayoutError, Spring};
use crate::model::Model;

/// Relative fall of the cost below which a step is the last. A tenth of it takes two to three times the steps and brings the
/// error down by a hundredth of itself.
const LAST_FALL: f64 = 1e-3;
/// Margin for the narrowest place: drawn edges differ a little from those given by the centre line.
const DRAWN: f64 = 1.01;
/// Largest step of a monotone width from one control radius to the next (logarithm).
const LARGEST_STEP: f64 = 1.4;
/// Widest arm in units of its radius; a wider one is a plate, to which arm theory does not apply.
const WIDEST: f64 = 0.5;

/// A shaped spring.
#[derive(Debug, Clone)]
pub struct Shaped {
    /// the spring
    pub spring: Spring,
    /// force at the target's points (N)
    pub force: Vec<f64>,
    /// root mean square error over the fitted points (percent of the error base)
    pub rms_percent: f64,
    /// estimated von Mises stress when flat (MPa)
    pub flat_stress: f64,
    /// share of the limits that the closed spring uses; nothing where none was asked
    pub closed: ClosedUse,
    /// model evaluations used
    pub evaluations: u64,
}

/// Shapes a spring whose arm is given by slots: sheet, arms, slot and circles stay as they are.
pub fn shape(start: &Spring, points: &TargetPoints, settings: &ShapeSettings) -> Result<Shaped, ShapeError> {
    let ArmShape::Slots(line) = &start.shape else {
        return Err(ShapeError::Layout(LayoutError::Profile {
            what: "the arm",
            found: "stations, which cannot be shaped".to_owned(),
        }));
    };
    let controls = match settings.freedom {
        ShapeFreedom::Constant | ShapeFreedom::LinearTaper => 4,
        ShapeFreedom::Monotone { controls, .. } | ShapeFreedom::Free(controls) => controls.max(3),
    };
    let (inner, outer) = (line.inner_radius(), line.outer_radius());
    let radius: Vec<f64> =
        (0..controls).map(|k| inner + (outer - inner) * k as f64 / (controls - 1) as f64).collect();
    let (narrowest, widest) = settings.width;
    let (low, high) = settings.free_height;
    let start_width: Vec<f64> =
        radius.iter().map(|r| line.nominal_width().value(*r).clamp(narrowest, widest)).collect();
    let variables = Variables {
        template: start.clone(),
        radius,
        start_width,
        freedom: settings.freedom,
        height_free: high > low,
        ease_free: settings.ease.is_some(),
        profile: settings.profile,
        narrowest,
    };
    let count = variables.len();
    let mut p = DVector::zeros(count);
    let (mut lower, mut upper) = (DVector::zeros(count), DVector::zeros(count));
    let widths = variables.widths();
    for k in 0..widths {
        p[k] = match settings.freedom {
            ShapeFreedom::Constant => {
                variables.start_width.iter().map(|w| w.ln()).sum::<f64>() / controls as f64
            }
            ShapeFreedom::LinearTaper => variables.start_width[if k == 0 { 0 } else { controls - 1 }].ln(),
            ShapeFreedom::Free(_) => variables.start_width[k].ln(),
            ShapeFreedom::Monotone { outwards, .. } if k > 0 => {
                // the start's own steps, those the wrong way left out
                let step = (variables.start_width[k] / variables.start_width[k - 1]).ln();
                if outwards { step.max(0.0) } else { step.min(0.0) }
            }
            ShapeFreedom::Monotone { .. } => variables.start_width[0].ln(),
        };
        if let ShapeFreedom::Monotone { outwards, .. } = settings.freedom
            && k > 0
        {
            (lower[k], upper[k]) = if outwards { (0.0, LARGEST_STEP) } else { (-LARGEST_STEP, 0.0) };
            continue;
        }
        let widest = match settings.freedom {
            ShapeFreedom::Constant => widest,
            ShapeFreedom::LinearTaper => widest.min(WIDEST * variables.radius[k * (controls - 1)]),
            ShapeFreedom::Monotone { .. } | ShapeFreedom::Free(_) => widest.min(WIDEST * variables.radius[k]),
        };
        let least = match settings.freedom {
            // where the arm winds steepest
            ShapeFreedom::Constant
            | ShapeFreedom::LinearTaper
            | ShapeFreedom::Monotone { outwards: false, .. } => radial_width(start, narrowest, inner),
            ShapeFreedom::Monotone { .. } | ShapeFreedom::Free(_) => {
                radial_width(start, narrowest, variables.radius[k])
            }
        };
        (lower[k], upper[k]) = (least.ln(), widest.max(least).ln());
    }
    if variables.height_free {
        p[widths] = start.former.free_height.clamp(low, high).ln();
        (lower[widths], upper[widths]) = (low.ln(), high.ln());
    }
    if let Some((least, most)) = settings.ease {
        let k = variables.before_profile() - 1;
        p[k] = start.former.ease.clamp(least, most).ln();
        (lower[k], upper[k]) = (least.ln(), most.ln());
    }
    if settings.profile {
        let from = variables.before_profile();
        for k in 0..controls {
            let steepness = start.former.steepness(variables.radius[k]);
            p[from + k] = if start.former.is_cone() { 0.0 } else { steepness.max(1e-3).ln() };
            (lower[from + k], upper[from + k]) = (-2.3, 2.3);
        }
    }
    let problem = Problem {
        variables: &variables,
        points,
        settings,
        evaluations: Cell::new(0),
        last: RefCell::default(),
    };
    // the start has to be a spring: its error is the caller's
    problem.residual(&p)?;
    let solver = ProjectedLevenbergMarquardt::new(lower, upper).with_cost_tolerance(LAST_FALL);
    let done = Executor::new(problem, solver)
        .configure(|state| state.param(p.clone()).max_iters(settings.iterations))
        .run()
        .map_err(|error| ShapeError::Search { message: error.to_string() })?;
    let evaluations = done.problem.problem.as_ref().map_or(0, |problem| problem.evaluations.get());
    if let Some(best) = done.state().get_best_param() {
        p.copy_from(best);
    }
    let spring = variables.spring(&p)?;
    let force = Model::of(&spring, &settings.model)?.forces(&points.deflection)?;
    let arm = spring.arm(settings.model.segments)?;
    let flat_stress = (0..arm.angle.len()).map(|i| flat_stress(&spring, &arm, i)).fold(0.0, f64::max);
    let closed = match &settings.closed {
        Some(required) => required.used(&spring, &Model::of_arm(&spring, &arm, &settings.model))?,
        None => ClosedUse::default(),
    };
    Ok(Shaped { rms_percent: rms_percent(points, &force), force, spring, flat_stress, closed, evaluations })
}

/// Width along the radius of an arm that is `normal` mm wide normal to itself, where the slots wind at `radius`: the slope
/// of the spiral is `N (w + g)/(2πr)`.
fn radial_width(spring: &Spring, normal: f64, radius: f64) -> f64 {
    let mut width = normal;
    for _ in 0..4 {
        let slope = spring.arms as f64 * (width + spring.slot) / (TAU * radius);
        // steeper spirals do not occur
        width = DRAWN * normal * slope.min(1.0).hypot(1.0);
    }
    width
}

/// Root mean square error over the fitted points (percent of the error base).
fn rms_percent(points: &TargetPoints, force: &[f64]) -> f64 {
    let sum: f64 = force
        .iter()
        .zip(&points.force)
        .zip(&points.base)
        .map(|((found, wanted), base)| ((found - wanted) / base).powi(2))
        .sum();
    100.0 * (sum / force.len() as f64).sqrt()
}
