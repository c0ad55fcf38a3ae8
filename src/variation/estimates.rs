//! Estimates with their intervals, prior and evidence apart.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::deviation::DEVIATIONS;
use super::fit::{Fit, OWN, Unknowns};

/// Standard deviations in a 95 % interval.
pub(super) const INTERVAL: f64 = 1.96;
/// Gain of precision over that of the prior, below which the evidence hardly narrows a quantity.
const LEAST_GAIN: f64 = 0.05;

/// Estimated quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum EstimatedQuantity {
    /// the sheet's thickness
    Thickness,
    /// both moduli
    Modulus,
    /// the kerf, and with it the width of the arms
    Kerf,
    /// the height it was set to
    FreeHeight,
    /// the former's shape between rim and hub
    Cone,
    /// compliance of rim and hub at the roots
    EndCompliance,
    /// deflection counted before the spring carries: initial free play, or a zero offset
    Lash,
    /// force shown by the unloaded balance
    ForceOffset,
}

impl EstimatedQuantity {
    /// All of them, those of the part first.
    pub const ALL: [Self; 8] = [
        Self::Thickness,
        Self::Modulus,
        Self::Kerf,
        Self::FreeHeight,
        Self::Cone,
        Self::EndCompliance,
        Self::Lash,
        Self::ForceOffset,
    ];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Thickness => "thickness",
            Self::Modulus => "modulus",
            Self::Kerf => "kerf (arm width)",
            Self::FreeHeight => "free height",
            Self::Cone => "cone",
            Self::EndCompliance => "root compliance",
            Self::Lash => "initial free play",
            Self::ForceOffset => "force offset",
        }
    }

    /// Unit of its value.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Modulus | Self::EndCompliance => "%",
            Self::ForceOffset => "N",
            _ => "mm",
        }
    }
}

/// Estimate without the prior of its own quantity, with those of the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Evidence {
    /// departure
    pub value: f64,
    /// half of the 95 % interval
    pub plus_minus: f64,
}

/// Estimate of one quantity: its deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// which
    pub quantity: EstimatedQuantity,
    /// most likely departure, in `unit`
    pub value: f64,
    /// lower end of its 95 % interval
    pub low: f64,
    /// upper end of its 95 % interval
    pub high: f64,
    /// half of the 95 % interval that was expected before measuring
    pub expected: f64,
    /// mm, % or N
    pub unit: &'static str,
    /// estimate from the evidence without the tolerance of this quantity; none where that is hardly narrower
    pub evidence: Option<Evidence>,
    /// whether it was measured at the part, and only refined here
    pub given: bool,
}

/// A quantity as a combination of the unknowns: its value is the centre and the sum of unknowns times weights.
pub(super) struct Combination {
    /// which
    pub quantity: EstimatedQuantity,
    /// weights of the unknowns, in its unit
    pub weights: DVector<f64>,
    /// mean before measuring
    centre: f64,
    /// standard deviation before measuring
    sigma: f64,
    /// standard deviation of direct readings, where there are any
    given: Option<f64>,
}

impl EstimatedQuantity {
    /// Index into [`Deviation::values`](super::deviation::Deviation::values); none for a zero of the measurement.
    pub(super) fn place(self) -> Option<usize> {
        (self as usize).lt(&DEVIATIONS).then_some(self as usize)
    }
}

impl Combination {
    /// A deviation of one `part`; without one, of all parts together.
    fn of_deviation(fit: &Fit, quantity: EstimatedQuantity, k: usize, part: Option<usize>) -> Self {
        let mut weights = DVector::zeros(fit.unknowns());
        weights[k] = fit.prior[k];
        let own = OWN.iter().position(|other| *other == k);
        if let (Some(part), Some(j)) = (part, own) {
            weights[Fit::own(part, j)] = fit.prior[Fit::own(part, j)];
        }
        let given = fit
            .direct
            .iter()
            .find(|one| one.place == k && part.is_none_or(|part| part == one.part))
            .map(|one| one.sigma);
        let sigma = weights.norm();
        Self { quantity, weights, centre: fit.centre[k], sigma, given }
    }

    fn of_zero(fit: &Fit, quantity: EstimatedQuantity, m: usize, j: usize) -> Self {
        let index = fit.of_series(m, j);
        let mut weights = DVector::zeros(fit.unknowns());
        weights[index] = fit.prior[index];
        Self { quantity, weights, centre: 0.0, sigma: fit.prior[index], given: None }
    }

    /// A step of the quantity that moves all parts alike, in units of the unknowns.
    pub fn direction(&self) -> DVector<f64> {
        let index =
            self.quantity.place().or_else(|| (0..self.weights.len()).find(|k| self.weights[*k] != 0.0));
        DVector::from_fn(self.weights.len(), |k, _| f64::from(Some(k) == index))
    }

    fn estimate(&self, p: &Unknowns, covariance: &DMatrix<f64>) -> Estimate {
        let variance = (self.weights.transpose() * covariance * &self.weights)[(0, 0)].max(0.0);
        let value = self.centre + self.weights.dot(p);
        let half = INTERVAL * variance.sqrt();
        let gain = 1.0 / variance.max(f64::MIN_POSITIVE) - 1.0 / self.sigma.powi(2);
        let told = gain * self.sigma.powi(2) > LEAST_GAIN;
        let evidence = told.then(|| Evidence {
            value: (value / variance - self.centre / self.sigma.powi(2)) / gain,
            plus_minus: INTERVAL / gain.sqrt(),
        });
        Estimate {
            quantity: self.quantity,
            value,
            low: value - half,
            high: value + half,
            expected: INTERVAL * self.given.unwrap_or(self.sigma),
            unit: self.quantity.unit(),
            evidence,
            given: self.given.is_some(),
        }
    }
}

/// Combinations that are shown: deviations of the one part, or those common to several, then the zeros of a single
/// measurement.
pub(super) fn shown(fit: &Fit) -> Vec<Combination> {
    let part = (fit.parts == 1).then_some(0);
    let zeros = fit.series.len() == 1;
    EstimatedQuantity::ALL
        .into_iter()
        .filter_map(|quantity| match quantity {
            EstimatedQuantity::Lash => zeros.then(|| Combination::of_zero(fit, quantity, 0, 0)),
            EstimatedQuantity::ForceOffset => zeros.then(|| Combination::of_zero(fit, quantity, 0, 1)),
            _ => quantity.place().map(|k| Combination::of_deviation(fit, quantity, k, part)),
        })
        .collect()
}

/// Estimates of the one part, or of what several have in common, and the zeros of a single measurement.
pub(super) fn estimates_of(fit: &Fit, p: &Unknowns, covariance: &DMatrix<f64>) -> Vec<Estimate> {
    shown(fit).iter().map(|one| one.estimate(p, covariance)).collect()
}

/// Estimates of one part of several, and the zeros of its measurements.
pub(super) fn estimates_of_part(
    fit: &Fit,
    p: &Unknowns,
    covariance: &DMatrix<f64>,
    part: usize,
) -> Vec<Estimate> {
    let own = EstimatedQuantity::ALL.into_iter().filter_map(|quantity| {
        let k = quantity.place().filter(|k| OWN.contains(k))?;
        Some(Combination::of_deviation(fit, quantity, k, Some(part)))
    });
    let series = (0..fit.series.len()).filter(|m| fit.series[*m].part == part);
    let zeros = series.flat_map(|m| {
        [EstimatedQuantity::Lash, EstimatedQuantity::ForceOffset]
            .into_iter()
            .enumerate()
            .map(move |(j, quantity)| Combination::of_zero(fit, quantity, m, j))
    });
    own.chain(zeros).map(|one| one.estimate(p, covariance)).collect()
}
