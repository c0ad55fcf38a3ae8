//! Identification of a part from its measured curve: departures of sheet, cut, setting and roots, and the measurement's zero.
//!
//! Least squares with priors, which is the mode of a Bayesian estimate with normal errors (Tarantola, Inverse Problem
//! Theory, SIAM 2005, chapter 3): `min Σ ((f_i − F(x_i))/σ_i)² + Σ ((p_k − p̄_k)/σ_k)²` by Gauss-Newton with the model's
//! slopes; the intervals are those of the inverse of its normal matrix.

use nalgebra::{DMatrix, DVector};

use super::VariationError;
use super::cause::Cause;
use super::deviation::{Deviation, VariedSpring};
use super::finding::Identified;
use super::propagation::slopes;
use super::readings::Readings;
use super::tolerance::Tolerances;
use crate::layout::Spring;
use crate::numeric::straight_between;
use crate::response::CLOSED_SHARE;

/// Deflections at which the fast model is evaluated, closer together near flat, where the force bends most.
const GRID: usize = 60;
/// Deflections at which the whole model is evaluated: what it adds changes slowly.
const WHOLE_GRID: usize = 16;
/// How much closer together deflections lie near flat.
const CROWDING: f64 = 1.6;
/// Share of the travel up to which readings are used: beyond, force climbs without bound and tells of flatness and burrs
/// more than of the arm.
const LAST_SHARE: f64 = 0.95;
/// The model's own error at single places, over the error base: judgement from solid finite elements.
const MODEL_SHARE: f64 = 0.002;
/// Standard deviations of the model's own error along the curve, over the force: a factor on it, and a factor that runs
/// from −1 to 1 over the travel. Judgement from solid finite elements.
const MODEL_SCALE: f64 = 0.005;
/// Standard deviation of the ends' compliance (percent): how rim and hub are held. Judgement.
const END_PERCENT: f64 = 15.0;
/// Standard deviation of a measured thickness (mm): a micrometer, a few places. Judgement.
pub(super) const MICROMETER: f64 = 0.0025;
/// Standard deviation of the zero of the deflection, over the largest one and at least (mm). Judgement.
const LASH_SHARE: f64 = 0.01;
const LASH_LEAST: f64 = 0.03;
/// Standard deviation of the zero of the force over the largest one. Judgement.
const OFFSET_SHARE: f64 = 0.01;
/// Rounds of renewing what the whole model adds, and the noise.
const ROUNDS: usize = 2;
/// Most Gauss-Newton steps in a round.
const STEPS: usize = 20;
/// Readings before the touch that prove a gap.
const PROOF: usize = 2;
/// Zeros of the deflection from which a round starts, in standard deviations of its prior.
const LASH_STARTS: [f64; 2] = [0.0, 1.5];
/// Largest step of one quantity, in standard deviations of its prior.
const LONGEST_STEP: f64 = 1.5;
/// Halvings of a step that makes nothing better.
const HALVINGS: usize = 6;
/// Step at which a round ends, in standard deviations of the priors.
const SHORTEST_STEP: f64 = 2e-3;
/// Fewest readings that have to lie below flat.
const LEAST_READINGS: usize = 8;

/// How finely the fast model and the whole one divide an arm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IdentifySettings {
    /// segments of the fast model
    pub segments: usize,
    /// segments of the whole one, which corrects it
    pub whole_segments: usize,
}

impl Default for IdentifySettings {
    fn default() -> Self {
        Self { segments: 100, whole_segments: 300 }
    }
}

/// Unknowns: five of the part, two of the measurement, two of the model.
pub(super) const UNKNOWNS: usize = 9;
/// Those of the part, as indices into [`Deviation::values`].
pub(super) const OF_PART: [usize; 5] = [0, 1, 2, 3, 5];
const ENDS: usize = 4;
const LASH: usize = 5;
const OFFSET: usize = 6;
const SCALE: usize = 7;
const TILT: usize = 8;

/// Half of the step of the difference quotient over the ends' compliance (percent).
const END_STEP: f64 = 7.5;

/// Least departure of the ends' compliance tried (percent): below it the ends are as good as clamped.
const LEAST_ENDS_PERCENT: f64 = -90.0;

/// Unknowns in units of their priors' standard deviations.
pub(super) type Unknowns = DVector<f64>;

/// Fits the departures of a part to readings. A `thickness` measured at the part (mm) stands above the sheet's tolerance.
pub fn identify(
    spring: &Spring,
    tolerances: &Tolerances,
    readings: &Readings,
    thickness: Option<f64>,
    settings: IdentifySettings,
) -> Result<Identified, VariationError> {
    let varied = VariedSpring::new(spring, settings.segments)?;
    let fine = VariedSpring::new(spring, settings.whole_segments)?;
    let used = readings.deflection.partition_point(|x| *x <= LAST_SHARE * varied.arm.free_height());
    if used < LEAST_READINGS {
        return Err(VariationError::TooFewReadings { found: used, least: LEAST_READINGS });
    }
    let (x, f) = (&readings.deflection[..used], &readings.force[..used]);
    let largest = f.iter().copied().fold(0.0, f64::max);
    let expected = |cause| 0.5 * tolerances.of_cause(cause).plus_minus;
    let least = f64::MIN_POSITIVE.sqrt();
    // drift of the kerf and slope of the edges change the arms as the kerf does
    let kerf = [Cause::Kerf, Cause::KerfDrift, Cause::EdgeSlope]
        .map(|cause| tolerances.of_cause(cause).deviation().powi(2))
        .iter()
        .sum::<f64>()
        .sqrt();
    let prior = [
        if thickness.is_some() { MICROMETER } else { expected(Cause::Thickness).max(least) },
        expected(Cause::Modulus).max(least),
        kerf.max(least),
        expected(Cause::FreeHeight).max(least),
        END_PERCENT,
        (LASH_SHARE * x[used - 1]).max(LASH_LEAST),
        OFFSET_SHARE * largest,
        MODEL_SCALE,
        MODEL_SCALE,
    ];
    let base: Vec<f64> = f.iter().map(|f| f.max(0.1 * largest)).collect();
    let centre = thickness.map_or(0.0, |thickness| thickness - spring.sheet.thickness);
    let mut fit = Fit {
        varied,
        fine,
        x,
        f,
        base,
        prior,
        centre,
        noise: 0.01 * largest,
        factor: (vec![0.0], vec![1.0]),
    };
    let start = DVector::zeros(UNKNOWNS);
    let drawn = fit.drawn();
    fit.refresh(&drawn)?;
    let before = fit.departures(&drawn)?;
    fit.noise = scatter_of(x, &before).max(1e-4 * largest);
    let mut p = start;
    for round in 0..ROUNDS {
        p = fit.minimise_from_several(p)?;
        if round + 1 < ROUNDS {
            if fit.refresh(&p).is_err() {
                break; // what the whole model adds to the drawn spring stands
            }
            fit.noise = scatter_of(x, &fit.departures(&p)?).max(1e-4 * largest);
        }
    }
    Identified::of(&fit, &p, &before, thickness.is_some(), readings)
}

/// One fit under way.
pub(super) struct Fit<'a> {
    varied: VariedSpring,
    fine: VariedSpring,
    /// deflections of the readings used (mm)
    pub x: &'a [f64],
    /// their forces (N)
    f: &'a [f64],
    /// what a departure is measured by (N)
    pub base: Vec<f64>,
    /// standard deviations of the unknowns
    pub prior: [f64; UNKNOWNS],
    /// thickness measured less nominal (mm)
    centre: f64,
    /// scatter of single readings (N)
    pub noise: f64,
    /// what the whole model adds, over the deflection of the spring
    factor: (Vec<f64>, Vec<f64>),
}

/// Forces at the readings, and their slopes over the unknowns in units of their priors.
struct Predicted {
    force: Vec<f64>,
    slopes: DMatrix<f64>,
}

impl Fit<'_> {
    /// An unknown in its own unit.
    pub fn value(&self, p: &Unknowns, k: usize) -> f64 {
        p[k] * self.prior[k] + if k == 0 { self.centre } else { 0.0 }
    }

    /// The part that belongs to the unknowns.
    pub fn deviation(&self, p: &Unknowns) -> Deviation {
        let mut values = Deviation::default().values();
        for (k, place) in OF_PART.into_iter().enumerate() {
            values[place] = self.value(p, k);
        }
        Deviation::from_values(values)
    }

    /// Unknowns of the part as drawn, measured without error.
    fn drawn(&self) -> Unknowns {
        let mut p = DVector::zeros(UNKNOWNS);
        p[0] = -self.centre / self.prior[0];
        p
    }

    /// Deflections up to the last reading, as far as this part goes.
    fn grid(&self, p: &Unknowns, travel: f64, count: usize) -> Vec<f64> {
        let end =
            (self.x[self.x.len() - 1] - self.value(p, LASH)).clamp(0.05 * travel, CLOSED_SHARE * travel);
        (0..=count).map(|k| end * (1.0 - (1.0 - k as f64 / count as f64).powf(CROWDING))).collect()
    }

    /// Whether the part tried is one, also with the ends' compliance moved by the step of its difference quotient, and
    /// reaches the last reading.
    fn possible(&self, p: &Unknowns) -> bool {
        if self.value(p, ENDS) < LEAST_ENDS_PERCENT {
            return false;
        }
        let travel = self.varied.arm.free_height() + self.value(p, 3);
        self.x[self.x.len() - 1] - self.value(p, LASH) <= CLOSED_SHARE * travel
            && self.varied.part(&self.deviation(p)).is_ok()
    }

    /// Updates the difference between the whole and the fast model at `p`.
    fn refresh(&mut self, p: &Unknowns) -> Result<(), VariationError> {
        let deviation = self.deviation(p);
        let low = self.varied.model(&deviation, &self.varied.fast())?;
        let whole = self.fine.model(&deviation, &self.fine.whole())?;
        // both arms end at the same height but for rounding
        let grid = self.grid(p, low.travel().min(whole.travel()), WHOLE_GRID);
        let (low, whole) = (low.response(&grid)?.force, whole.response(&grid)?.force);
        let mut factor: Vec<f64> =
            low.iter().zip(&whole).map(|(low, whole)| if *low > 0.0 { whole / low } else { 1.0 }).collect();
        factor[0] = factor[1];
        self.factor = (grid, factor);
        Ok(())
    }

    /// From −1 to 1 over the readings.
    fn place(&self, i: usize) -> f64 {
        let (from, to) = (self.x[0], self.x[self.x.len() - 1]);
        2.0 * (self.x[i] - from) / (to - from) - 1.0
    }

    fn predict(&self, p: &Unknowns) -> Result<Predicted, VariationError> {
        let deviation = self.deviation(p);
        let grid = self.grid(p, self.varied.arm.free_height() + deviation.free_height_mm, GRID);
        let (response, rows) = slopes(&self.varied, &deviation, &grid)?;
        let mut columns = OF_PART.map(|place| rows.iter().map(|row| row[place]).collect::<Vec<f64>>());
        columns[ENDS] = self.by_ends(&deviation, &grid)?;
        // the force itself from every knot of the path: between the points of the grid it bends where nodes seat
        let model = self.varied.model(&deviation, &self.varied.fast())?;
        let path = model.path(grid[GRID])?;
        let arms = self.varied.spring.arms as f64;
        let exact = |x: f64| arms * path.force_at(x);
        let mut predicted = Predicted {
            force: Vec::with_capacity(self.x.len()),
            slopes: DMatrix::zeros(self.x.len(), UNKNOWNS),
        };
        // one or two readings before the touch do not prove that there was a gap: an interval that took them for proof would
        // be too narrow, since without a gap the zeros of deflection and force make up for each other
        let by_chance = self.x.get(PROOF).is_some_and(|x| self.value(p, LASH) < *x);
        for (i, x) in self.x.iter().enumerate() {
            let x = x - self.value(p, LASH);
            let by_model = 1.0 + self.value(p, SCALE) + self.place(i) * self.value(p, TILT);
            let factor = straight_between(&self.factor.0, &self.factor.1, x);
            let value = |list: &[f64]| factor * straight_between(&grid, list, x.max(0.0));
            let elastic = factor * exact(x.clamp(0.0, grid[GRID]));
            predicted.force.push(by_model * elastic + self.value(p, OFFSET));
            let rate = if x > 0.0 || by_chance { value(&response.rate) } else { 0.0 };
            for (k, column) in columns.iter().enumerate() {
                predicted.slopes[(i, k)] = by_model * value(column);
            }
            predicted.slopes[(i, LASH)] = -by_model * rate;
            predicted.slopes[(i, OFFSET)] = 1.0;
            predicted.slopes[(i, SCALE)] = elastic;
            predicted.slopes[(i, TILT)] = self.place(i) * elastic;
            for k in 0..UNKNOWNS {
                predicted.slopes[(i, k)] *= self.prior[k];
            }
        }
        Ok(predicted)
    }

    /// Slopes over the ends' compliance as a quotient of differences: it is no direction in which an arm moves.
    fn by_ends(&self, deviation: &Deviation, grid: &[f64]) -> Result<Vec<f64>, VariationError> {
        let force = |step: f64| {
            let mut moved = *deviation;
            moved.end_compliance_percent += step;
            Ok::<_, VariationError>(self.varied.model(&moved, &self.varied.fast())?.response(grid)?.force)
        };
        let (low, high) = (force(-END_STEP)?, force(END_STEP)?);
        Ok(low.iter().zip(&high).map(|(low, high)| (high - low) / (2.0 * END_STEP)).collect())
    }

    /// Measured less predicted (N).
    pub fn departures(&self, p: &Unknowns) -> Result<Vec<f64>, VariationError> {
        Ok(self.predict(p)?.force.iter().zip(self.f).map(|(found, measured)| measured - found).collect())
    }

    /// Weight of reading `i` (per N).
    pub fn weight(&self, i: usize) -> f64 {
        1.0 / self.noise.hypot(MODEL_SHARE * self.base[i])
    }

    /// Weighted departures with the priors' rows, and their slopes.
    pub fn system(&self, p: &Unknowns) -> Result<(DVector<f64>, DMatrix<f64>), VariationError> {
        let predicted = self.predict(p)?;
        let count = self.x.len();
        let mut rest = DVector::zeros(count + UNKNOWNS);
        let mut slopes = DMatrix::zeros(count + UNKNOWNS, UNKNOWNS);
        for i in 0..count {
            let weight = self.weight(i);
            rest[i] = weight * (predicted.force[i] - self.f[i]);
            for k in 0..UNKNOWNS {
                slopes[(i, k)] = weight * predicted.slopes[(i, k)];
            }
        }
        for k in 0..UNKNOWNS {
            rest[count + k] = p[k];
            slopes[(count + k, k)] = 1.0;
        }
        Ok((rest, slopes))
    }

    /// The best of several starts: where the zero of the deflection passes a reading the slopes jump, and a descent may end
    /// there.
    fn minimise_from_several(&self, start: Unknowns) -> Result<Unknowns, VariationError> {
        let mut best: Option<(f64, Unknowns)> = None;
        for lash in LASH_STARTS {
            let mut from = start.clone();
            from[LASH] += lash;
            if !self.possible(&from) {
                continue;
            }
            let Ok(found) = self.minimise(from) else { continue };
            let Ok((rest, _)) = self.system(&found) else { continue };
            let cost = rest.norm_squared();
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, found));
            }
        }
        best.map_or_else(|| self.minimise(start), |(_, found)| Ok(found))
    }

    /// Gauss-Newton with halved steps.
    fn minimise(&self, start: Unknowns) -> Result<Unknowns, VariationError> {
        let mut p = start;
        let (mut rest, mut slopes) = self.system(&p)?;
        for _ in 0..STEPS {
            let Some(normal) = slopes.tr_mul(&slopes).cholesky() else { break };
            let step = normal.solve(&(-slopes.tr_mul(&rest)));
            let mut share = (LONGEST_STEP / step.amax()).min(1.0);
            let mut moved = None;
            for _ in 0..HALVINGS {
                let trial = &p + share * &step;
                // a trial that makes no spring is no better one; the step is halved
                let tried = if self.possible(&trial) { self.system(&trial).ok() } else { None };
                if let Some(system) = tried.filter(|tried| tried.0.norm_squared() < rest.norm_squared()) {
                    moved = Some((trial, system));
                    break;
                }
                share *= 0.5;
            }
            let Some((trial, system)) = moved else { break };
            p = trial;
            (rest, slopes) = system;
            if share * step.amax() < SHORTEST_STEP {
                break;
            }
        }
        Ok(p)
    }
}

/// Standard deviation of single readings about their neighbours' chord, wild ones set aside.
///
/// Pseudo-residuals: Gasser, Sroka & Jennen-Steinmetz, Biometrika 73 (1986); the median of |z| of a standard normal is
/// 0.6745.
fn scatter_of(x: &[f64], values: &[f64]) -> f64 {
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

#[cfg(test)]
#[path = "identification_tests.rs"]
mod tests;
