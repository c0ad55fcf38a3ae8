//! Shaping: the arm's width, the free height and, if wanted, the former's profile, so that the predicted curve meets the
//! target. Bounded least squares over few smooth variables; the segment model gives the residuals and their slopes.

use argmin::core::{Error, Executor, Jacobian, Operator, State};
use nalgebra::{DMatrix, DVector};
use std::cell::Cell;
use std::f64::consts::TAU;

use super::least_squares::ProjectedLevenbergMarquardt;
use super::target_points::TargetPoints;
use crate::layout::{ArmPath, ArmShape, FormerProfile, LayoutError, SlotLine, Spring};
use crate::model::sensitivity::Direction;
use crate::model::stress::flat_edge_stress;
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::MonotoneCubic;

/// Step of the layout's difference quotients, in logarithms. The layout is smooth and cheap; the mechanics is
/// differentiated analytically.
const LAYOUT_STEP: f64 = 1e-5;
/// Percent of fit that a bend is worth which would change the width e-fold over the range of radii.
const BEND_WEIGHT: f64 = 0.12;
/// Percent of fit that an e-fold change from the start's width is worth: the closed form stands where the curve leaves
/// the width open.
const START_WEIGHT: f64 = 0.7;
/// Percent of fit that one percent of stress above the allowable is worth.
const STRESS_WEIGHT: f64 = 0.3;
/// Relative fall of the cost below which a step is the last. A tenth of it takes two to three times the steps and brings the
/// error down by a hundredth of itself.
const LAST_FALL: f64 = 1e-3;
/// Rounds of correcting for the stiffness in the plane.
const PLANE_ROUNDS: usize = 3;
/// Fall of the cost below which no further round follows.
const WORTH_ANOTHER: f64 = 0.9;
/// Share of the force from which on the stiffness in the plane is shaped with, at several times the cost, not only
/// corrected for.
const PLANE_MATTERS: f64 = 0.04;
/// Error from which on that is worth its cost (percent rms).
const PLANE_CORRECTED: f64 = 0.3;
/// Margin for what drawing takes from the narrowest place: edges are not quite where the centre line says.
const DRAWN: f64 = 1.01;
/// Widest arm in units of its radius: beyond, it is a plate and no arm.
const WIDEST: f64 = 0.5;
/// Stress aimed at, in units of the allowable: what the finish and the file's digits may take from it.
const STRESS_AIM: f64 = 0.97;
/// Stretches of the arm whose worst stress is watched.
const STRETCHES: usize = 12;
/// Weight of being off the target inside a band.
const INSIDE_BAND: f64 = 0.15;

/// What may be shaped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShapeFreedom {
    /// one width for the whole arm
    Constant,
    /// a width linear in the radius: the shop's rule of thumb
    LinearTaper,
    /// widths at this many control radii
    Free(usize),
}

/// Settings of one shaping.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeSettings {
    /// what may be shaped
    pub freedom: ShapeFreedom,
    /// least and largest width (mm)
    pub width: (f64, f64),
    /// least and largest free height (mm); equal fixes it
    pub free_height: (f64, f64),
    /// least and largest easing at the roots (arm widths of arc); `None` leaves it as it is
    pub ease: Option<(f64, f64)>,
    /// whether the former's profile is shaped too
    pub profile: bool,
    /// von Mises stress not to exceed when flat (MPa)
    pub allowable: Option<f64>,
    /// how much more than usual a bend of the width over the radius costs; 1 is usual
    pub smoothness: f64,
    /// most iterations
    pub iterations: u64,
    /// the model used
    pub model: ModelSettings,
}

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
    /// model evaluations used
    pub evaluations: u64,
}

/// Why nothing could be shaped.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShapeError {
    /// The start is no spring.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The start has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// The solver gave up.
    #[error("the least-squares search failed: {message}")]
    Search {
        /// its message
        message: String,
    },
}

/// The variables: logarithms of widths, of the free height, of the former's steepness.
struct Variables {
    template: Spring,
    radius: Vec<f64>,
    start_width: Vec<f64>,
    freedom: ShapeFreedom,
    height_free: bool,
    ease_free: bool,
    profile: bool,
}

impl Variables {
    fn widths(&self) -> usize {
        match self.freedom {
            ShapeFreedom::Constant => 1,
            ShapeFreedom::LinearTaper => 2,
            ShapeFreedom::Free(_) => self.radius.len(),
        }
    }

    fn len(&self) -> usize {
        self.before_profile() + if self.profile { self.radius.len() } else { 0 }
    }

    /// Variables before the former's steepness.
    fn before_profile(&self) -> usize {
        self.widths() + usize::from(self.height_free) + usize::from(self.ease_free)
    }

    fn ease(&self, p: &DVector<f64>) -> f64 {
        if self.ease_free { p[self.before_profile() - 1].exp() } else { self.template.former.ease }
    }

    fn width_at_controls(&self, p: &DVector<f64>) -> Vec<f64> {
        match self.freedom {
            ShapeFreedom::Constant => vec![p[0].exp(); self.radius.len()],
            ShapeFreedom::LinearTaper => {
                let (inner, outer) = (p[0].exp(), p[1].exp());
                let (from, to) = (self.radius[0], self.radius[self.radius.len() - 1]);
                self.radius.iter().map(|r| inner + (outer - inner) * (r - from) / (to - from)).collect()
            }
            ShapeFreedom::Free(_) => (0..self.radius.len()).map(|k| p[k].exp()).collect(),
        }
    }

    fn free_height(&self, p: &DVector<f64>) -> f64 {
        if self.height_free { p[self.widths()].exp() } else { self.template.former.free_height }
    }

    fn steepness(&self, p: &DVector<f64>) -> Option<Vec<f64>> {
        let from = self.before_profile();
        self.profile.then(|| (0..self.radius.len()).map(|k| p[from + k].exp()).collect())
    }

    fn spring(&self, p: &DVector<f64>) -> Result<Spring, LayoutError> {
        let width = self.width_at_controls(p);
        let profile = MonotoneCubic::through(&self.radius, &width).ok_or_else(|| LayoutError::Profile {
            what: "arm.width",
            found: format!("{} widths", width.len()),
        })?;
        let mut spring = self.template.clone();
        let disc = &spring.disc;
        let line = SlotLine::wind(
            spring.arms,
            spring.slot,
            disc.slot_outer_radius,
            disc.slot_inner_radius,
            profile,
        )?;
        spring.shape = ArmShape::Slots(line);
        let (height, ease) = (self.free_height(p), self.ease(p));
        spring.former = match self.steepness(p) {
            None => match self.template.former.points() {
                Some((radius, profile)) => FormerProfile::profile(height, ease, radius, profile)?,
                None => FormerProfile::cone(height, ease),
            },
            Some(slopes) => {
                let heights = heights_from(&self.radius, &slopes, height);
                FormerProfile::profile(height, ease, &self.radius, &heights)?
            }
        };
        Ok(spring)
    }
}

/// Von Mises stress at the inner edge of node `i` once it lies flat (MPa).
fn flat_stress(spring: &Spring, arm: &ArmPath, i: usize) -> f64 {
    let sheet = &spring.sheet;
    flat_edge_stress(sheet.shear_modulus, arm.width[i], sheet.thickness, arm.rise[i], arm.radius[i])
}

/// Heights over increasing radii that fall with the given slopes, scaled to a rise.
fn heights_from(radius: &[f64], slopes: &[f64], rise: f64) -> Vec<f64> {
    let mut height = vec![0.0; radius.len()];
    for k in (0..radius.len() - 1).rev() {
        height[k] = height[k + 1] + 0.5 * (slopes[k] + slopes[k + 1]) * (radius[k + 1] - radius[k]);
    }
    let scale = rise / height[0];
    height.iter().map(|z| z * scale).collect()
}

/// Residuals, or residuals with their slopes.
type Rows = Vec<(f64, DVector<f64>)>;

struct Problem<'a> {
    variables: &'a Variables,
    points: &'a TargetPoints,
    settings: &'a ShapeSettings,
    /// what the stiffness in the plane adds to the linear path's force, as a factor at each point
    factor: Vec<f64>,
    /// the model used: the linear path with that factor, or the plane itself
    model: ModelSettings,
    evaluations: Cell<u64>,
}

impl Problem<'_> {
    /// All rows at `p`; slopes are left at zero unless wanted.
    fn rows(&self, p: &DVector<f64>, slopes_wanted: bool) -> Result<Rows, ShapeError> {
        self.evaluations.set(self.evaluations.get() + 1);
        let spring = self.variables.spring(p)?;
        let arm = spring.arm(self.settings.model.segments)?;
        let model = Model::of_arm(&spring, &arm, &self.model);
        let mut moved = Vec::new();
        let (response, slopes) = if slopes_wanted {
            moved = (0..p.len()).map(|k| self.moved(p, k)).collect::<Result<_, _>>()?;
            let directions: Vec<Direction> =
                moved.iter().map(|(_, high)| Direction::between(&arm, high, LAYOUT_STEP)).collect();
            model.response_and_gradient(&self.points.deflection, &directions)?
        } else {
            (model.response(&self.points.deflection)?, Vec::new())
        };
        let count = self.points.force.len();
        let weight = 100.0 / (count as f64).sqrt();
        let mut rows: Rows = Vec::new();
        for i in 0..count {
            let force = self.factor[i] * response.force[i];
            let inside =
                self.points.band.as_ref().is_some_and(|band| force >= band[i].0 && force <= band[i].1);
            let weight = weight / self.points.base[i] * if inside { INSIDE_BAND } else { 1.0 };
            let slope = slopes.get(i).map_or_else(
                || DVector::zeros(p.len()),
                |slopes| weight * self.factor[i] * DVector::from_row_slice(slopes),
            );
            rows.push((weight * (force - self.points.force[i]), slope));
        }
        self.bend_rows(p, &mut rows);
        self.stress_rows(&spring, &arm, &moved, p.len(), &mut rows);
        Ok(rows)
    }

    fn residual(&self, p: &DVector<f64>) -> Result<DVector<f64>, ShapeError> {
        let rows = self.rows(p, false)?;
        Ok(DVector::from_iterator(rows.len(), rows.iter().map(|row| row.0)))
    }

    /// Spring and arm with variable `k` moved by a small step.
    fn moved(&self, p: &DVector<f64>, k: usize) -> Result<(Spring, ArmPath), ShapeError> {
        let mut moved = p.clone();
        moved[k] += LAYOUT_STEP;
        let spring = self.variables.spring(&moved)?;
        let arm = spring.arm(self.settings.model.segments)?;
        Ok((spring, arm))
    }

    /// Bends of the width over the radius, both in logarithms, and of the former's steepness: a power law is straight, and
    /// what the curve does not ask for stays so.
    fn bend_rows(&self, p: &DVector<f64>, rows: &mut Vec<(f64, DVector<f64>)>) {
        let variables = self.variables;
        let controls = variables.radius.len();
        let scale = self.settings.smoothness * BEND_WEIGHT / (controls as f64).sqrt();
        if let ShapeFreedom::Free(_) = variables.freedom {
            // a smoother profile is not the start's
            let hold = START_WEIGHT / self.settings.smoothness / (controls as f64).sqrt();
            for (k, width) in variables.start_width.iter().enumerate() {
                let mut slope = DVector::zeros(p.len());
                slope[k] = hold;
                rows.push((hold * (p[k] - width.ln()), slope));
            }
            let whole = (variables.radius[controls - 1] / variables.radius[0]).ln();
            for k in 1..controls - 1 {
                let before = (variables.radius[k] / variables.radius[k - 1]).ln();
                let after = (variables.radius[k + 1] / variables.radius[k]).ln();
                // change of the power between neighbouring pieces, over the whole range of radii
                let (a, c) = (scale * whole / before, scale * whole / after);
                let mut slope = DVector::zeros(p.len());
                (slope[k - 1], slope[k], slope[k + 1]) = (a, -a - c, c);
                rows.push((slope.dot(p), slope));
            }
        }
        if variables.profile {
            let from = variables.before_profile();
            for k in 1..controls - 1 {
                let mut slope = DVector::zeros(p.len());
                (slope[from + k - 1], slope[from + k], slope[from + k + 1]) = (scale, -2.0 * scale, scale);
                rows.push((scale * (p[from + k - 1] - 2.0 * p[from + k] + p[from + k + 1]), slope));
            }
            // the steepness counts only up to a factor: pin its mean
            let mut slope = DVector::zeros(p.len());
            slope.rows_mut(from, controls).fill(1.0);
            rows.push((p.rows(from, controls).sum(), slope));
        }
    }

    /// Stress above the allowable when flat, the worst node of each stretch of the arm.
    fn stress_rows(
        &self,
        spring: &Spring,
        arm: &ArmPath,
        moved: &[(Spring, ArmPath)],
        variables: usize,
        rows: &mut Rows,
    ) {
        let Some(allowable) = self.settings.allowable else { return };
        let weight = 100.0 * STRESS_WEIGHT;
        let excess = |stress: f64| (stress / allowable - STRESS_AIM).max(0.0);
        let here: Vec<f64> = (0..arm.angle.len()).map(|i| flat_stress(spring, arm, i)).collect();
        let stretch = here.len().div_ceil(STRETCHES);
        for from in (0..here.len()).step_by(stretch) {
            let nodes = from..(from + stretch).min(here.len());
            let worst = nodes.max_by(|&a, &b| here[a].total_cmp(&here[b])).unwrap_or(from);
            let value = excess(here[worst]);
            let mut slope = DVector::zeros(variables);
            if value > 0.0 {
                for (k, (spring, arm)) in moved.iter().enumerate() {
                    slope[k] = weight * (excess(flat_stress(spring, arm, worst)) - value) / LAYOUT_STEP;
                }
            }
            rows.push((weight * value, slope));
        }
    }
}

impl Operator for Problem<'_> {
    type Param = DVector<f64>;
    type Output = DVector<f64>;

    fn apply(&self, p: &DVector<f64>) -> Result<DVector<f64>, Error> {
        // a trial that is no spring is as bad as can be, not the end of the search
        Ok(self.residual(p).unwrap_or_else(|_| DVector::from_element(1, f64::INFINITY)))
    }
}

impl Jacobian for Problem<'_> {
    type Param = DVector<f64>;
    type Jacobian = DMatrix<f64>;

    fn jacobian(&self, p: &DVector<f64>) -> Result<DMatrix<f64>, Error> {
        let rows = self.rows(p, true)?;
        Ok(DMatrix::from_fn(rows.len(), p.len(), |i, k| rows[i].1[k]))
    }
}

/// Shapes a spring whose arm is given by slots: sheet, arms, slot and circles stay as they are.
pub fn shape(start: &Spring, points: &TargetPoints, settings: &ShapeSettings) -> Result<Shaped, ShapeError> {
    let ArmShape::Slots(line) = &start.shape else {
        return Err(ShapeError::Layout(LayoutError::Profile {
            what: "the arm",
            found: "stations, which leave nothing to shape".to_owned(),
        }));
    };
    let controls = match settings.freedom {
        ShapeFreedom::Constant | ShapeFreedom::LinearTaper => 4,
        ShapeFreedom::Free(controls) => controls.max(3),
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
        };
        let widest = match settings.freedom {
            ShapeFreedom::Constant => widest,
            ShapeFreedom::LinearTaper => widest.min(WIDEST * variables.radius[k * (controls - 1)]),
            ShapeFreedom::Free(_) => widest.min(WIDEST * variables.radius[k]),
        };
        let least = match settings.freedom {
            // where the arm winds steepest
            ShapeFreedom::Constant | ShapeFreedom::LinearTaper => radial_width(start, narrowest, inner),
            ShapeFreedom::Free(_) => radial_width(start, narrowest, variables.radius[k]),
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
    let mut evaluations = 0;
    let mut spring = variables.spring(&p)?;
    let mut force = Vec::new();
    let linear = ModelSettings { in_plane: false, ..settings.model };
    let mut run = |p: &DVector<f64>, factor: Vec<f64>, model: ModelSettings, iterations: u64| {
        let problem =
            Problem { variables: &variables, points, settings, factor, model, evaluations: Cell::new(0) };
        // the start has to be a spring: its error is the caller's
        let before = 0.5 * problem.residual(p)?.norm_squared();
        let solver =
            ProjectedLevenbergMarquardt::new(lower.clone(), upper.clone()).with_cost_tolerance(LAST_FALL);
        let done = Executor::new(problem, solver)
            .configure(|state| state.param(p.clone()).max_iters(iterations))
            .run()
            .map_err(|error| ShapeError::Search { message: error.to_string() })?;
        evaluations += done.problem.problem.as_ref().map_or(0, |problem| problem.evaluations.get());
        let after = done.state().get_best_cost();
        let best = done.state().get_best_param().cloned().unwrap_or_else(|| p.clone());
        Ok::<_, ShapeError>((best, after <= WORTH_ANOTHER * before))
    };
    let response_force = |spring: &Spring| {
        Ok::<_, ShapeError>(Model::of(spring, &settings.model)?.response(&points.deflection)?.force)
    };
    let mut plane_matters = false;
    for round in 0..PLANE_ROUNDS {
        let (factor, predicted) = plane_factor(&spring, points, settings)?;
        force = predicted;
        plane_matters = factor.iter().any(|factor| (factor - 1.0).abs() > PLANE_MATTERS);
        let (best, fell) = run(&p, factor, linear, settings.iterations)?;
        p = best;
        spring = variables.spring(&p)?;
        if round + 1 == PLANE_ROUNDS || !settings.model.in_plane || !fell {
            break;
        }
    }
    if plane_matters && rms_percent(points, &response_force(&spring)?) > PLANE_CORRECTED {
        let ones = vec![1.0; points.force.len()];
        (p, _) = run(&p, ones, settings.model, settings.iterations)?;
        spring = variables.spring(&p)?;
    }
    let response = Model::of(&spring, &settings.model)?.response(&points.deflection)?;
    if !response.force.is_empty() {
        force = response.force;
    }
    let arm = spring.arm(settings.model.segments)?;
    let flat_stress = (0..arm.angle.len()).map(|i| flat_stress(&spring, &arm, i)).fold(0.0, f64::max);
    Ok(Shaped { rms_percent: rms_percent(points, &force), force, spring, flat_stress, evaluations })
}

/// Width along the radius of an arm that is `normal` mm wide normal to itself, where the slots wind at `radius`: the slope
/// of the spiral is `N (w + g)/(2πr)`.
fn radial_width(spring: &Spring, normal: f64, radius: f64) -> f64 {
    let mut width = normal;
    for _ in 0..4 {
        let slope = spring.arms as f64 * (width + spring.slot) / (TAU * radius);
        // steeper than that no arm winds
        width = DRAWN * normal * slope.min(1.0).hypot(1.0);
    }
    width
}

/// How much the stiffness in the plane adds at each point, and the force with it. It changes slowly with the widths, so
/// that the search may work on the fast linear path and correct for it a few times.
fn plane_factor(
    spring: &Spring,
    points: &TargetPoints,
    settings: &ShapeSettings,
) -> Result<(Vec<f64>, Vec<f64>), ShapeError> {
    let arm = spring.arm(settings.model.segments)?;
    let linear = ModelSettings { in_plane: false, ..settings.model };
    let low = Model::of_arm(spring, &arm, &linear).response(&points.deflection)?.force;
    if !settings.model.in_plane {
        return Ok((vec![1.0; low.len()], low));
    }
    let high = Model::of_arm(spring, &arm, &settings.model).response(&points.deflection)?.force;
    let factor = low.iter().zip(&high).map(|(low, high)| if *low > 0.0 { high / low } else { 1.0 }).collect();
    Ok((factor, high))
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
