//! Result of a measurement: estimates with their intervals, quantities it cannot identify, and whether it is explained.

use nalgebra::DMatrix;
use serde::Serialize;

use super::VariationError;
use super::deviation::Deviation;
use super::identification::{Fit, OF_PART, Unknowns};
use super::readings::{Hysteresis, Readings};
use super::suspicion::likely_cause;

/// Standard deviations in a 95 % interval.
const INTERVAL: f64 = 1.96;
/// Likeness of what two quantities do to the curve (cosine of the angle between their weighted slopes) above which the
/// curve does not tell them apart.
const ALIKE: f64 = 0.98;
/// Correlation of their errors above which two quantities are not told apart either.
const TIED: f64 = 0.8;
/// Share of what was expected before above which the measurement says little of a quantity.
const BARELY_NARROWED: f64 = 0.85;
/// Standard deviations of what was expected that a quantity may need before it is no explanation: one and a half times
/// its ±.
const PLAUSIBLE: f64 = 3.0;
/// Standard normal value exceeded once in ten thousand times.
const RARE: f64 = 3.72;
/// Variance of the sum of squared departures over its mean, times the number of readings: 2 of the noise itself, and what
/// estimating it from the readings' own scatter adds. Measured on random curves.
const VARIANCE_OF_SQUARES: f64 = 12.0;
/// Departure along the curve that the model itself may have (percent): twice what it shows against most solid finite
/// elements.
const MODEL_PERCENT: f64 = 1.5;

/// Estimated quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// the sheet's thickness
    Thickness,
    /// both moduli
    Modulus,
    /// the kerf, and with it the width of the arms
    Kerf,
    /// the height it was set to
    FreeHeight,
    /// how far rim and hub yield where the arms end
    EndCompliance,
    /// deflection counted before the spring carries: seating lash, or a zero that is off
    Lash,
    /// force shown when there is none
    ForceOffset,
}

impl Quantity {
    /// All of them, those of the part first.
    pub const ALL: [Self; 7] = [
        Self::Thickness,
        Self::Modulus,
        Self::Kerf,
        Self::FreeHeight,
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

/// One quantity found: by how much it is off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// which
    pub quantity: Quantity,
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
    /// whether it was measured at the part, and only refined here
    pub given: bool,
}

/// Two quantities that the measurement cannot tell apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Alike {
    /// one
    pub first: Quantity,
    /// the other
    pub second: Quantity,
    /// how alike they act on the curve: 1 or −1 is the same but for a factor
    pub likeness: f64,
    /// correlation of their errors, after what was expected of each
    pub correlation: f64,
}

/// Explanation of a measurement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Identified {
    /// whether such corrections explain the measurement
    pub explained: bool,
    /// why not
    pub reason: String,
    /// how the part departs from its drawing
    pub deviation: Deviation,
    /// everything estimated, with intervals
    pub estimates: Vec<Estimate>,
    /// what cannot be told apart
    pub alike: Vec<Alike>,
    /// the same in words, and what the measurement says little of
    pub open: Vec<String>,
    /// what the branches differ by; none where only loading was measured
    pub hysteresis: Option<Hysteresis>,
    /// scatter of single readings (N)
    pub noise_n: f64,
    /// readings used
    pub readings: usize,
    /// readings left out because they lie near flat
    pub left_out: usize,
    /// rms departure from the spring as drawn (percent of the error base)
    pub rms_before_percent: f64,
    /// rms departure from the corrected spring (percent of the error base)
    pub rms_after_percent: f64,
    /// the part of it that is no noise (percent of the error base)
    pub misfit_percent: f64,
    /// sum of squared departures in units of their expected size, priors included
    pub chi_square: f64,
    /// value that it exceeds by chance once in ten thousand times
    pub chi_square_limit: f64,
    /// 95 % half width of the corrected spring's force, rms over the curve (percent of the error base)
    pub force_uncertainty_percent: f64,
    /// force of the spring as drawn, of the corrected one with the measurement's zeros, and as measured, at the readings
    /// used
    pub curve: IdentifiedCurve,
}

/// Curves at the readings used.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct IdentifiedCurve {
    /// deflection as measured (mm)
    pub deflection_mm: Vec<f64>,
    /// force as measured (N)
    pub measured_n: Vec<f64>,
    /// force of the spring as drawn (N)
    pub drawn_n: Vec<f64>,
    /// force of the corrected spring, with the zeros of the measurement (N)
    pub corrected_n: Vec<f64>,
}

impl Identified {
    /// From a fit that came to rest at `p`; `before` are the departures from the spring as drawn.
    pub(super) fn of(
        fit: &Fit,
        p: &Unknowns,
        before: &[f64],
        given: bool,
        readings: &Readings,
    ) -> Result<Self, VariationError> {
        let (rest, slopes) = fit.system(p)?;
        // the priors' rows make the normal matrix regular
        let covariance = slopes
            .tr_mul(&slopes)
            .cholesky()
            .map_or_else(|| DMatrix::identity(p.len(), p.len()), |factor| factor.inverse());
        let departures = fit.departures(p)?;
        let count = fit.x.len();
        let rms = |list: &[f64]| {
            let sum: f64 = list.iter().zip(&fit.base).map(|(off, base)| (off / base).powi(2)).sum();
            100.0 * (sum / count as f64).sqrt()
        };
        let noise = rms(&vec![fit.noise; count]);
        let after = rms(&departures);
        let misfit_percent = (after * after - noise * noise).max(0.0).sqrt();
        let chi_square = rest.norm_squared();
        let chi_square_limit = count as f64 * (1.0 + RARE * (VARIANCE_OF_SQUARES / count as f64).sqrt());
        let estimates = estimates(fit, p, &covariance, given);
        let alike = alike(&covariance, &slopes, count, given);
        let departs = chi_square > chi_square_limit && misfit_percent > MODEL_PERCENT;
        let mut reason = objection(p, &estimates, departs.then_some(misfit_percent));
        let measured = &readings.force[..count];
        let minus = |list: &[f64]| measured.iter().zip(list).map(|(f, off)| f - off).collect::<Vec<f64>>();
        if !reason.is_empty()
            && let Some(cause) = likely_cause(fit.x, measured, &minus(before), fit.noise)
        {
            reason = format!("{cause}; {reason}");
        }
        let mut open = open(&alike, &estimates);
        if readings.hysteresis.is_none() {
            open.push(
                "only loading was measured: friction stays in the forces and in what is found; measure unloading too"
                    .to_owned(),
            );
        }
        Ok(Self {
            explained: reason.is_empty(),
            reason,
            deviation: fit.deviation(p),
            open,
            estimates,
            alike,
            hysteresis: readings.hysteresis,
            noise_n: fit.noise,
            readings: count,
            left_out: readings.deflection.len() - count,
            rms_before_percent: rms(before),
            rms_after_percent: after,
            misfit_percent,
            chi_square,
            chi_square_limit,
            force_uncertainty_percent: force_uncertainty(fit, &slopes, &covariance),
            curve: IdentifiedCurve {
                deflection_mm: fit.x.to_vec(),
                measured_n: measured.to_vec(),
                drawn_n: minus(before),
                corrected_n: minus(&departures),
            },
        })
    }

    /// The estimate of one quantity.
    pub fn estimate(&self, quantity: Quantity) -> Option<&Estimate> {
        self.estimates.iter().find(|estimate| estimate.quantity == quantity)
    }
}

fn estimates(fit: &Fit, p: &Unknowns, covariance: &DMatrix<f64>, given: bool) -> Vec<Estimate> {
    Quantity::ALL
        .into_iter()
        .enumerate()
        .map(|(k, quantity)| {
            let half = INTERVAL * covariance[(k, k)].sqrt() * fit.prior[k];
            let value = fit.value(p, k);
            Estimate {
                quantity,
                value,
                low: value - half,
                high: value + half,
                expected: INTERVAL * fit.prior[k],
                unit: quantity.unit(),
                given: quantity == Quantity::Thickness && given,
            }
        })
        .collect()
}

fn alike(covariance: &DMatrix<f64>, slopes: &DMatrix<f64>, count: usize, given: bool) -> Vec<Alike> {
    let mut pairs = Vec::new();
    let signature = |k: usize| slopes.view((0, k), (count, 1));
    for a in usize::from(given)..Quantity::ALL.len() {
        for b in a + 1..Quantity::ALL.len() {
            let correlation = covariance[(a, b)] / (covariance[(a, a)] * covariance[(b, b)]).sqrt();
            let sizes = signature(a).norm() * signature(b).norm();
            let likeness = signature(a).dot(&signature(b)) / sizes.max(f64::MIN_POSITIVE);
            if likeness.abs() > ALIKE || correlation.abs() > TIED {
                pairs.push(Alike {
                    first: Quantity::ALL[a],
                    second: Quantity::ALL[b],
                    likeness,
                    correlation,
                });
            }
        }
    }
    pairs
}

/// Quantities the measurement cannot identify, in words: confounded ones, taken together, and those whose interval it
/// hardly narrows.
fn open(alike: &[Alike], estimates: &[Estimate]) -> Vec<String> {
    let mut groups: Vec<Vec<Quantity>> = Vec::new();
    for pair in alike {
        let (mut joined, apart): (Vec<_>, Vec<_>) =
            groups.drain(..).partition(|group| group.contains(&pair.first) || group.contains(&pair.second));
        joined.push(vec![pair.first, pair.second]);
        let member = |quantity: &Quantity| joined.iter().any(|group| group.contains(quantity));
        groups = apart;
        groups.push(Quantity::ALL.into_iter().filter(member).collect());
    }
    let mut words: Vec<String> = groups
        .iter()
        .map(|group| {
            let names: Vec<&str> = group.iter().map(|quantity| quantity.name()).collect();
            let (last, before) = (names[names.len() - 1], names[..names.len() - 1].join(", "));
            let remedy = if group.contains(&Quantity::Thickness) {
                "; measure the thickness of the part and give it with --thickness"
            } else {
                ""
            };
            format!(
                "{before} and {last} are confounded: their joint effect on the force is known, the split rests on the \
                 assumed tolerances{remedy}"
            )
        })
        .collect();
    for estimate in estimates.iter().take(OF_PART.len()).filter(|estimate| !estimate.given) {
        if estimate.high - estimate.low > 2.0 * BARELY_NARROWED * estimate.expected {
            words.push(format!(
                "the {} is not identifiable from the force: its interval is mostly the assumed tolerance",
                estimate.quantity.name()
            ));
        }
    }
    words
}

/// The corrected force's own uncertainty: what the part's estimated departures leave open (percent).
fn force_uncertainty(fit: &Fit, slopes: &DMatrix<f64>, covariance: &DMatrix<f64>) -> f64 {
    let of_part = OF_PART.len();
    let covariance = covariance.view((0, 0), (of_part, of_part));
    let count = fit.x.len();
    let variance: f64 = (0..count)
        .map(|i| {
            let row = slopes.view((i, 0), (1, of_part));
            (row * covariance * row.transpose())[(0, 0)] / (fit.weight(i) * fit.base[i]).powi(2)
        })
        .sum();
    100.0 * INTERVAL * (variance / count as f64).sqrt()
}

/// Why the corrections are no explanation; empty where they are.
fn objection(p: &Unknowns, estimates: &[Estimate], misfit_percent: Option<f64>) -> String {
    if let Some(misfit) = misfit_percent {
        return format!(
            "the curve departs by {misfit:.2} % rms in a way that thickness, modulus, kerf, height, ends and zeros do not \
             explain: look for friction, a tilted hub, uneven setting or yielding, or arms of another shape"
        );
    }
    let worst = (0..estimates.len()).max_by(|a, b| p[*a].abs().total_cmp(&p[*b].abs()));
    if let Some((k, estimate)) = worst.map(|k| (k, &estimates[k])).filter(|(k, _)| p[*k].abs() > PLAUSIBLE) {
        let off = format!("{:+.3} {}", estimate.value, estimate.unit);
        return match estimate.quantity {
            Quantity::Thickness if estimate.given => format!(
                "the force asks for a thickness that deviates by {off} from nominal, which the measured one rules out: measure it again, \
                 or look for another sheet"
            ),
            Quantity::Lash | Quantity::ForceOffset => format!(
                "the {} would have to be {off}: set the zeros of the measurement where the spring begins to carry",
                estimate.quantity.name()
            ),
            _ => format!(
                "the {} would have to deviate by {off}, {:.1} times the assumed tolerance: look for another sheet, a wrong free \
                 height or another boundary condition",
                estimate.quantity.name(),
                p[k].abs() / INTERVAL
            ),
        };
    }
    String::new()
}
