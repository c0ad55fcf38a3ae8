//! Residuals of shaping: the curve's error, bends of the width, stress above the allowable, each with its slopes.

use std::cell::{Cell, RefCell};

use argmin::core::{Error, Jacobian, Operator};
use nalgebra::{DMatrix, DVector};

use super::shape_settings::{ShapeError, ShapeFreedom, ShapeSettings};
use super::target_points::TargetPoints;
use super::variables::Variables;
use crate::layout::{ArmPath, Spring};
use crate::model::Model;
use crate::model::sensitivity::{Direction, Pressed};
use crate::model::stress::flat_edge_stress;

/// Step of the layout's difference quotients, in logarithms. The layout is smooth and cheap; the mechanics is
/// differentiated analytically.
const LAYOUT_STEP: f64 = 1e-5;
/// Weight of a bend of the width (percent of fit for a change of e-fold over the range of radii).
const BEND_WEIGHT: f64 = 0.12;
/// Weight of departing from the width of the start (percent of fit for a change of e-fold): where the curve leaves the
/// width open, that of the closed form stays.
const START_WEIGHT: f64 = 0.7;
/// Weight of stress above the allowable (percent of fit for one percent of stress).
const STRESS_WEIGHT: f64 = 0.3;
/// Stress aimed at, over the allowable: a margin for the last pass and for rounding.
const STRESS_AIM: f64 = 0.97;
/// Weight of a limit of the closed spring (percent of fit for twice the limit). A tenth above the limit costs as much
/// as the usual tolerance of the curve: both are verdicts.
const CLOSED_WEIGHT: f64 = 30.0;
/// Share of such a limit that is aimed at: a margin for the last pass and for rounding.
const CLOSED_AIM: f64 = 0.9;
/// Weight of a wide range of widths (percent of fit for a ratio e-fold larger).
const SPREAD_WEIGHT: f64 = 8.0;
/// Stretches of the arm, each with a residual for its largest stress.
const STRETCHES: usize = 12;
/// Weight of the deviation from the target inside a band.
const INSIDE_BAND: f64 = 0.15;

/// Von Mises stress at the inner edge of node `i` once it lies flat (MPa).
pub(super) fn flat_stress(spring: &Spring, arm: &ArmPath, i: usize) -> f64 {
    let sheet = &spring.sheet;
    flat_edge_stress(sheet.shear_modulus, arm.width[i], sheet.thickness, arm.rise[i], arm.radius[i])
}

/// Residuals, or residuals with their slopes.
type Rows = Vec<(f64, DVector<f64>)>;

pub(super) struct Problem<'a> {
    pub variables: &'a Variables,
    pub points: &'a TargetPoints,
    pub settings: &'a ShapeSettings,
    pub evaluations: Cell<u64>,
    /// the last spring tried: its slopes are often wanted next
    pub last: RefCell<Option<Tried>>,
}

/// A spring that was tried.
pub(super) struct Tried {
    p: DVector<f64>,
    spring: Spring,
    arm: ArmPath,
    model: Model,
    pressed: Pressed,
}

impl Problem<'_> {
    /// All rows at `p`; slopes are left at zero unless wanted.
    fn rows(&self, p: &DVector<f64>, slopes_wanted: bool) -> Result<Rows, ShapeError> {
        let last = self.last.take().filter(|tried| tried.p == *p);
        let tried = last.map_or_else(|| self.tried(p), Ok)?;
        let Tried { spring, arm, model, pressed, .. } = &tried;
        let forces = pressed.forces();
        let (mut moved, mut slopes) = (Vec::new(), Vec::new());
        if slopes_wanted {
            moved = (0..p.len()).map(|k| self.moved(p, k)).collect::<Result<_, _>>()?;
            let directions: Vec<Direction> =
                moved.iter().map(|(_, high)| Direction::between(arm, high, LAYOUT_STEP)).collect();
            slopes = model.gradient(pressed, &directions);
        }
        let count = self.points.force.len();
        let weight = 100.0 / (count as f64).sqrt();
        let mut rows: Rows = Vec::new();
        for i in 0..count {
            let force = forces[i];
            let inside =
                self.points.band.as_ref().is_some_and(|band| force >= band[i].0 && force <= band[i].1);
            let weight = weight / self.points.base[i] * if inside { INSIDE_BAND } else { 1.0 };
            let slope = slopes
                .get(i)
                .map_or_else(|| DVector::zeros(p.len()), |slopes| weight * DVector::from_row_slice(slopes));
            rows.push((weight * (force - self.points.force[i]), slope));
        }
        self.bend_rows(p, &mut rows);
        self.stress_rows(spring, arm, &moved, p.len(), &mut rows);
        self.closed_rows(spring, model, &moved, p.len(), &mut rows)?;
        self.spread_row(p, &mut rows);
        self.last.replace(Some(tried));
        Ok(rows)
    }

    /// The spring at `p`, pressed.
    fn tried(&self, p: &DVector<f64>) -> Result<Tried, ShapeError> {
        self.evaluations.set(self.evaluations.get() + 1);
        let spring = self.variables.spring(p)?;
        let arm = spring.arm(self.settings.model.segments)?;
        let model = Model::of_arm(&spring, &arm, &self.settings.model);
        let pressed = model.pressed(&self.points.deflection)?;
        Ok(Tried { p: p.clone(), spring, arm, model, pressed })
    }

    pub fn residual(&self, p: &DVector<f64>) -> Result<DVector<f64>, ShapeError> {
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

    /// Bends of the width over the radius, both in logarithms, and of the former's steepness: a power law is straight,
    /// and stays so where the curve does not ask for more.
    fn bend_rows(&self, p: &DVector<f64>, rows: &mut Vec<(f64, DVector<f64>)>) {
        let variables = self.variables;
        let controls = variables.radius.len();
        let scale = self.settings.smoothness * BEND_WEIGHT / (controls as f64).sqrt();
        if let ShapeFreedom::Free(_) | ShapeFreedom::Monotone { .. } = variables.freedom {
            let log_width: Vec<f64> = (0..controls).map(|k| variables.log_width(p, k)).collect();
            let slopes: Vec<DVector<f64>> =
                (0..controls).map(|k| variables.log_width_slope(k, p.len())).collect();
            // a smoother profile is not the start's
            let hold = START_WEIGHT / self.settings.smoothness / (controls as f64).sqrt();
            for (k, width) in variables.start_width.iter().enumerate() {
                rows.push((hold * (log_width[k] - width.ln()), hold * &slopes[k]));
            }
            let whole = (variables.radius[controls - 1] / variables.radius[0]).ln();
            for k in 1..controls - 1 {
                let before = (variables.radius[k] / variables.radius[k - 1]).ln();
                let after = (variables.radius[k + 1] / variables.radius[k]).ln();
                // change of the power between neighbouring pieces, over the whole range of radii
                let (a, c) = (scale * whole / before, scale * whole / after);
                let bend = a * log_width[k - 1] - (a + c) * log_width[k] + c * log_width[k + 1];
                rows.push((bend, a * &slopes[k - 1] - (a + c) * &slopes[k] + c * &slopes[k + 1]));
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

    /// Limits of the closed spring that are exceeded: arms proud of the sheet, slot ends and rings above the allowable.
    fn closed_rows(
        &self,
        spring: &Spring,
        model: &Model,
        moved: &[(Spring, ArmPath)],
        variables: usize,
        rows: &mut Rows,
    ) -> Result<(), ShapeError> {
        let Some(required) = &self.settings.closed else { return Ok(()) };
        let excess = |used: f64| (used - CLOSED_AIM).max(0.0);
        let here = required.used(spring, model)?.list();
        let mut slopes = vec![DVector::zeros(variables); here.len()];
        if here.iter().any(|used| excess(*used) > 0.0) {
            for (k, (spring, arm)) in moved.iter().enumerate() {
                let there = required.used(spring, &Model::of_arm(spring, arm, &self.settings.model))?.list();
                for (slope, (here, there)) in slopes.iter_mut().zip(here.iter().zip(there)) {
                    slope[k] = CLOSED_WEIGHT * (excess(there) - excess(*here)) / LAYOUT_STEP;
                }
            }
        }
        rows.extend(here.iter().zip(slopes).map(|(used, slope)| (CLOSED_WEIGHT * excess(*used), slope)));
        Ok(())
    }

    /// Ratio of widths above the one that the settings leave free.
    fn spread_row(&self, p: &DVector<f64>, rows: &mut Rows) {
        let variables = self.variables;
        let (ShapeFreedom::Free(_) | ShapeFreedom::Monotone { .. }) = variables.freedom else { return };
        let log_width: Vec<f64> = (0..variables.radius.len()).map(|k| variables.log_width(p, k)).collect();
        let order = |a: &usize, b: &usize| log_width[*a].total_cmp(&log_width[*b]);
        let (Some(least), Some(most)) =
            ((0..log_width.len()).min_by(order), (0..log_width.len()).max_by(order))
        else {
            return;
        };
        if !self.settings.width_ratio.is_finite() {
            return;
        }
        let excess = log_width[most] - log_width[least] - self.settings.width_ratio.ln();
        let slope = if excess > 0.0 {
            SPREAD_WEIGHT
                * (variables.log_width_slope(most, p.len()) - variables.log_width_slope(least, p.len()))
        } else {
            DVector::zeros(p.len())
        };
        rows.push((SPREAD_WEIGHT * excess.max(0.0), slope));
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
        // an infeasible trial gets large residuals and does not end the search
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
