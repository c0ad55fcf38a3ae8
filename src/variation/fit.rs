//! Least-squares fit of the deviations of parts to measured curves and readings.
//!
//! Least squares with priors, which is the mode of a Bayesian estimate with normal errors (Tarantola, Inverse Problem
//! Theory, SIAM 2005, chapter 3): `min Σ ((f_i − F(x_i))/σ_i)² + Σ ((p_k − p̄_k)/σ_k)²` by Gauss-Newton with the model's
//! slopes; the intervals are those of the inverse of its normal matrix. A departure of a part is one common to all plus its
//! own, each with its share of the tolerance ([`PART_SHARES`]).

use nalgebra::{DMatrix, DVector};

use super::VariationError;
use super::cause::Cause;
use super::deviation::{DEVIATIONS, Deviation, VariedSpring};
use super::evidence::{Direct, MeasuredPart, PART_SHARES};
use super::propagation::slopes;
use super::series::{Series, scatter_of};
use super::tolerance::Tolerances;
use crate::numeric::straight_between;
use crate::response::{CLOSED_SHARE, fine_over_coarse};

/// Deflections at which the fast model is evaluated, closer together near flat, where the force bends most.
const GRID: usize = 60;
/// Deflections at which the whole model is evaluated: its difference from the fast one changes slowly.
const WHOLE_GRID: usize = 16;
/// How much closer together deflections lie near flat.
const CROWDING: f64 = 1.6;
/// Standard deviations of the model's own error along the curve, over the force: a factor on it, and a factor that runs
/// from −1 to 1 over the travel. Judgement from solid finite elements.
const MODEL_SCALE: f64 = 0.005;
/// Standard deviation of the root compliance (percent): clamping of rim and hub. Judgement.
const END_PERCENT: f64 = 15.0;
/// Standard deviation of the zero of the deflection, over the largest one and at least (mm). Judgement.
pub(super) const LASH_SHARE: f64 = 0.01;
pub(super) const LASH_LEAST: f64 = 0.03;
/// Standard deviation of the zero of the force over the largest one. Judgement.
const OFFSET_SHARE: f64 = 0.01;
/// Standard deviation of the friction that one branch alone keeps, over the force. Judgement.
const FRICTION_SHARE: f64 = 0.01;
/// Widening of a tolerance where a part was measured directly: the reading overrides it.
const WIDENED: f64 = 10.0;
/// Rounds of updating the difference of the whole model, and the noise.
const ROUNDS: usize = 2;
/// Most Gauss-Newton steps in a round.
const STEPS: usize = 20;
/// Readings before the touch that prove a gap.
const PROOF: usize = 2;
/// Zeros of the deflection from which a round starts, in standard deviations of its prior.
const LASH_STARTS: [f64; 2] = [0.0, 1.5];
/// Largest step of one quantity, in standard deviations of its prior.
const LONGEST_STEP: f64 = 1.5;
/// Halvings of a step that brings no improvement.
const HALVINGS: usize = 6;
/// Step at which a round ends, in standard deviations of the priors.
const SHORTEST_STEP: f64 = 2e-3;
/// Least noise of a reading over the largest force: the resolution of a gauge.
const LEAST_NOISE: f64 = 1e-4;

/// Unknowns common to all parts: the deviations, then factor and tilt of the model's own error.
pub(super) const COMMON: usize = DEVIATIONS + 2;
const SCALE: usize = DEVIATIONS;
const TILT: usize = DEVIATIONS + 1;
/// Deviations that a part has of its own, as indices into [`Deviation::values`].
pub(super) const OWN: [usize; 4] = [0, 2, 3, 4];
/// Unknowns of a measurement: zeros of deflection and force, friction left in the force.
const OF_SERIES: usize = 3;
/// Index of the root compliance in [`Deviation::values`].
const ENDS: usize = 5;

/// Half of the step of the difference quotient over the root compliance (percent).
const END_STEP: f64 = 7.5;

/// Least deviation of the root compliance tried (percent): below it the roots are practically clamped.
const LEAST_ENDS_PERCENT: f64 = -90.0;

/// Unknowns in units of their priors' standard deviations.
pub(super) type Unknowns = DVector<f64>;

/// One fit under way.
pub(super) struct Fit {
    varied: VariedSpring,
    fine: VariedSpring,
    /// measurements
    pub series: Vec<Series>,
    /// number of parts
    pub parts: usize,
    /// direct readings of sizes
    pub direct: Vec<Direct>,
    /// standard deviations of the unknowns
    pub prior: Vec<f64>,
    /// standard deviations of the deviations of one part as the tolerances say
    pub tolerance: [f64; DEVIATIONS],
    /// means of the common unknowns before measuring
    pub centre: [f64; DEVIATIONS],
    /// force of the whole model less that of the fast one, for each part over the deflection of the spring
    factors: Vec<(Vec<f64>, Vec<f64>)>,
}

/// Forces at the readings of one measurement, and their slopes over all unknowns in units of their priors.
struct Predicted {
    force: Vec<f64>,
    slopes: DMatrix<f64>,
}

impl Fit {
    pub fn of(
        varied: VariedSpring,
        fine: VariedSpring,
        tolerances: &Tolerances,
        parts: &[MeasuredPart],
        series: Vec<Series>,
    ) -> Self {
        let least = f64::MIN_POSITIVE.sqrt();
        let half = |cause| 0.5 * tolerances.of_cause(cause).plus_minus;
        // drift of the kerf and slope of the edges change the arms as the kerf does
        let kerf = [Cause::Kerf, Cause::KerfDrift, Cause::EdgeSlope]
            .map(|cause| tolerances.of_cause(cause).deviation().powi(2))
            .iter()
            .sum::<f64>()
            .sqrt();
        let tolerance = [
            half(Cause::Thickness),
            half(Cause::Modulus),
            kerf,
            half(Cause::FreeHeight),
            half(Cause::Cone),
            END_PERCENT,
        ]
        .map(|sigma| sigma.max(least));
        let edge = tolerances.of_cause(Cause::EdgeSlope).deviation();
        let direct: Vec<Direct> =
            parts.iter().enumerate().flat_map(|(k, part)| part.direct(k, &varied, edge)).collect();
        let mut centre = [0.0; DEVIATIONS];
        let mut prior: Vec<f64> =
            (0..DEVIATIONS).map(|k| tolerance[k] * (1.0 - PART_SHARES[k]).sqrt()).collect();
        for k in 0..DEVIATIONS {
            let read: Vec<f64> = direct.iter().filter(|one| one.place == k).map(|one| one.value).collect();
            if !read.is_empty() {
                centre[k] = read.iter().sum::<f64>() / read.len() as f64;
                prior[k] *= WIDENED;
            }
        }
        prior.extend([MODEL_SCALE, MODEL_SCALE]);
        for _ in parts {
            prior.extend(OWN.map(|k| (tolerance[k] * PART_SHARES[k].sqrt()).max(least)));
        }
        for one in &series {
            prior.extend([
                one.lash.max(LASH_SHARE * one.end()).max(LASH_LEAST),
                OFFSET_SHARE * one.largest,
                if one.friction { FRICTION_SHARE } else { least },
            ]);
        }
        let factors = vec![(vec![0.0], vec![1.0]); parts.len()];
        Self { varied, fine, series, parts: parts.len(), direct, prior, tolerance, centre, factors }
    }

    /// Unknowns that fit best, and the departures of the readings from the spring as drawn.
    pub fn run(&mut self) -> Result<(Unknowns, Vec<Vec<f64>>), VariationError> {
        let drawn = self.drawn();
        self.refresh(&drawn)?;
        let before = self.departures(&drawn)?;
        self.set_noise(&before);
        let mut p = DVector::zeros(self.unknowns());
        for round in 0..ROUNDS {
            p = self.minimise_from_several(p)?;
            if round + 1 < ROUNDS {
                if self.refresh(&p).is_err() {
                    break; // the difference of the drawn spring stays
                }
                let left = self.departures(&p)?;
                self.set_noise(&left);
            }
        }
        Ok((p, before))
    }

    fn set_noise(&mut self, departures: &[Vec<f64>]) {
        for (series, left) in self.series.iter_mut().zip(departures) {
            series.noise = scatter_of(&series.x, left).max(LEAST_NOISE * series.largest);
        }
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.prior.len()
    }

    /// Number of readings used.
    pub fn readings(&self) -> usize {
        self.series.iter().map(|series| series.x.len()).sum()
    }

    /// Index of the own deviation `OWN[j]` of a part.
    pub fn own(part: usize, j: usize) -> usize {
        COMMON + OWN.len() * part + j
    }

    /// Index of an unknown of measurement `m`: zero of deflection, of force, friction.
    pub fn of_series(&self, m: usize, j: usize) -> usize {
        COMMON + OWN.len() * self.parts + OF_SERIES * m + j
    }

    /// An unknown in its own unit.
    pub fn value(&self, p: &Unknowns, k: usize) -> f64 {
        p[k] * self.prior[k] + self.centre.get(k).copied().unwrap_or(0.0)
    }

    /// Deviations common to all parts.
    pub fn common(&self, p: &Unknowns) -> Deviation {
        Deviation::from_values(std::array::from_fn(|k| self.value(p, k)))
    }

    /// Deviations of a part.
    pub fn deviation(&self, p: &Unknowns, part: usize) -> Deviation {
        let mut values = self.common(p).values();
        for (j, k) in OWN.into_iter().enumerate() {
            values[k] += self.value(p, Self::own(part, j));
        }
        Deviation::from_values(values)
    }

    /// Unknowns of parts as drawn, measured without error.
    fn drawn(&self) -> Unknowns {
        let mut p = DVector::zeros(self.unknowns());
        for k in 0..DEVIATIONS {
            p[k] = -self.centre[k] / self.prior[k];
        }
        p
    }

    fn lash(&self, p: &Unknowns, m: usize) -> f64 {
        self.value(p, self.of_series(m, 0))
    }

    /// Deflections up to the last reading of a measurement, as far as its part goes.
    fn grid(end: f64, travel: f64, count: usize) -> Vec<f64> {
        let end = end.clamp(0.05 * travel, CLOSED_SHARE * travel);
        (0..=count).map(|k| end * (1.0 - (1.0 - k as f64 / count as f64).powf(CROWDING))).collect()
    }

    /// Whether the trial parts are valid, also with the root compliance moved by the step of its difference quotient,
    /// and reach the last readings.
    fn possible(&self, p: &Unknowns) -> bool {
        if self.value(p, ENDS) < LEAST_ENDS_PERCENT {
            return false;
        }
        self.series.iter().enumerate().all(|(m, series)| {
            let deviation = self.deviation(p, series.part);
            let travel = self.varied.arm.free_height() + deviation.free_height_mm;
            series.end() - self.lash(p, m) <= CLOSED_SHARE * travel && self.varied.part(&deviation).is_ok()
        })
    }

    /// Updates the differences between the whole and the fast model at `p`.
    fn refresh(&mut self, p: &Unknowns) -> Result<(), VariationError> {
        let mut factors = self.factors.clone();
        for (part, place) in factors.iter_mut().enumerate() {
            let ends = self.series.iter().enumerate().filter(|(_, series)| series.part == part);
            let Some(end) = ends.map(|(m, series)| series.end() - self.lash(p, m)).reduce(f64::max) else {
                continue;
            };
            let deviation = self.deviation(p, part);
            let low = self.varied.model(&deviation, &self.varied.fast())?;
            let whole = self.fine.model(&deviation, &self.fine.whole())?;
            // both arms end at the same height but for rounding
            let grid = Self::grid(end, low.travel().min(whole.travel()), WHOLE_GRID);
            let (low, whole) = (low.response(&grid)?.force, whole.response(&grid)?.force);
            let mut factor = fine_over_coarse(&whole, &low);
            factor[0] = factor[1];
            *place = (grid, factor);
        }
        self.factors = factors;
        Ok(())
    }

    fn predict(&self, p: &Unknowns, m: usize) -> Result<Predicted, VariationError> {
        let series = &self.series[m];
        let deviation = self.deviation(p, series.part);
        let lash = self.lash(p, m);
        let travel = self.varied.arm.free_height() + deviation.free_height_mm;
        let grid = Self::grid(series.end() - lash, travel, GRID);
        let (response, rows) = slopes(&self.varied, &deviation, &grid)?;
        let mut columns: Vec<Vec<f64>> =
            (0..DEVIATIONS).map(|place| rows.iter().map(|row| row[place]).collect()).collect();
        columns[ENDS] = by_ends(&self.varied, &deviation, &grid)?;
        let count = series.x.len();
        let mut predicted =
            Predicted { force: Vec::with_capacity(count), slopes: DMatrix::zeros(count, self.unknowns()) };
        // one or two readings before the touch do not prove that there was a gap: an interval that took them for proof would
        // be too narrow, since without a gap the zeros of deflection and force make up for each other
        let by_chance = series.x.get(PROOF).is_some_and(|x| lash < *x);
        let (grid_of_factor, factor_there) = &self.factors[series.part];
        let offset = self.value(p, self.of_series(m, 1));
        let friction = self.value(p, self.of_series(m, 2));
        for (i, x) in series.x.iter().enumerate() {
            let x = x - lash;
            let place = series.place(i);
            let by_model = 1.0 + self.value(p, SCALE) + place * self.value(p, TILT) + friction;
            let factor = straight_between(grid_of_factor, factor_there, x);
            let value = |list: &[f64]| factor * straight_between(&grid, list, x.max(0.0));
            let elastic = factor * response.force_at(x.clamp(0.0, grid[GRID]));
            predicted.force.push(by_model * elastic + offset);
            let rate = if x > 0.0 || by_chance { value(&response.rate) } else { 0.0 };
            for (k, column) in columns.iter().enumerate() {
                predicted.slopes[(i, k)] = by_model * value(column);
            }
            for (j, k) in OWN.into_iter().enumerate() {
                predicted.slopes[(i, Self::own(series.part, j))] = predicted.slopes[(i, k)];
            }
            predicted.slopes[(i, SCALE)] = elastic;
            predicted.slopes[(i, TILT)] = place * elastic;
            predicted.slopes[(i, self.of_series(m, 0))] = -by_model * rate;
            predicted.slopes[(i, self.of_series(m, 1))] = 1.0;
            predicted.slopes[(i, self.of_series(m, 2))] = elastic;
            for k in 0..self.unknowns() {
                predicted.slopes[(i, k)] *= self.prior[k];
            }
        }
        Ok(predicted)
    }

    /// Measured less predicted (N), for every measurement.
    pub fn departures(&self, p: &Unknowns) -> Result<Vec<Vec<f64>>, VariationError> {
        (0..self.series.len())
            .map(|m| {
                let found = self.predict(p, m)?.force;
                Ok(self.series[m].f.iter().zip(&found).map(|(measured, found)| measured - found).collect())
            })
            .collect()
    }

    /// Departure of a direct reading from the part found, in its standard deviations.
    pub fn direct_departure(&self, p: &Unknowns, one: &Direct) -> f64 {
        (self.deviation(p, one.part).values()[one.place] - one.value) / one.sigma
    }

    /// Weighted departures of readings, direct ones after those of force, with the priors' rows, and their slopes.
    pub fn system(&self, p: &Unknowns) -> Result<(DVector<f64>, DMatrix<f64>), VariationError> {
        let (count, unknowns) = (self.readings() + self.direct.len(), self.unknowns());
        let mut rest = DVector::zeros(count + unknowns);
        let mut slopes = DMatrix::zeros(count + unknowns, unknowns);
        let mut row = 0;
        for (m, series) in self.series.iter().enumerate() {
            let predicted = self.predict(p, m)?;
            for i in 0..series.x.len() {
                let weight = series.weight(i);
                rest[row] = weight * (predicted.force[i] - series.f[i]);
                for k in 0..unknowns {
                    slopes[(row, k)] = weight * predicted.slopes[(i, k)];
                }
                row += 1;
            }
        }
        for one in &self.direct {
            rest[row] = self.direct_departure(p, one);
            slopes[(row, one.place)] = self.prior[one.place] / one.sigma;
            if let Some(j) = OWN.iter().position(|k| *k == one.place) {
                let own = Self::own(one.part, j);
                slopes[(row, own)] = self.prior[own] / one.sigma;
            }
            row += 1;
        }
        for k in 0..unknowns {
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
            for m in 0..self.series.len() {
                from[self.of_series(m, 0)] += lash;
            }
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
                // an infeasible trial: the step is halved
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

/// Slopes of the fast force over the root compliance (N per percent) at deflections (mm), as a quotient of differences:
/// the model has no analytic slope for it.
pub(super) fn by_ends(
    varied: &VariedSpring,
    deviation: &Deviation,
    grid: &[f64],
) -> Result<Vec<f64>, VariationError> {
    let force = |step: f64| {
        let mut moved = *deviation;
        moved.end_compliance_percent += step;
        Ok::<_, VariationError>(varied.model(&moved, &varied.fast())?.response(grid)?.force)
    };
    let (low, high) = (force(-END_STEP)?, force(END_STEP)?);
    Ok(low.iter().zip(&high).map(|(low, high)| (high - low) / (2.0 * END_STEP)).collect())
}

#[cfg(test)]
#[path = "fit_tests.rs"]
mod tests;
