//! Result of a measurement: estimates with their intervals, quantities it cannot identify, and whether it is explained.

use nalgebra::DMatrix;
use serde::Serialize;

use super::VariationError;
use super::belief::Belief;
use super::deviation::{DEVIATIONS, Deviation};
use super::estimates::{
    Combination, Estimate, EstimatedQuantity, INTERVAL, estimates_of, estimates_of_part, shown,
};
use super::evidence::MeasuredPart;
use super::fit::{Fit, OWN, Unknowns};
use super::readings::Hysteresis;
use super::series::Series;
use super::suspicion::likely_cause;

/// Cosine of the angle between the weighted slopes of two quantities above which they are confounded.
const ALIKE: f64 = 0.98;
/// Correlation of their errors above which two quantities are confounded, too.
const TIED: f64 = 0.8;
/// Width of an interval over that before measuring, above which a quantity is not identifiable.
const BARELY_NARROWED: f64 = 0.85;
/// Standard deviations of its prior beyond which a quantity is implausible: one and a half times its ±.
const PLAUSIBLE: f64 = 3.0;
/// Standard normal value exceeded once in ten thousand times.
const RARE: f64 = 3.72;
/// Variance of the sum of squared departures over its mean, times the number of readings: 2 of the noise itself, and what
/// estimating it from the readings' own scatter adds. Measured on random curves.
const VARIANCE_OF_SQUARES: f64 = 12.0;
/// Departure along the curve that the model itself may have (percent): twice what it shows against most solid finite
/// elements.
const MODEL_PERCENT: f64 = 1.5;

/// Two confounded quantities.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Alike {
    /// one
    pub first: EstimatedQuantity,
    /// the other
    pub second: EstimatedQuantity,
    /// cosine between their effects on the curve: 1 or −1 is the same effect but for a factor
    pub likeness: f64,
    /// correlation of their errors
    pub correlation: f64,
}

/// One part of several.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartFound {
    /// its name
    pub name: String,
    /// how it departs from its drawing
    pub deviation: Deviation,
    /// force as measured over that of the spring as drawn, in the mean over its readings (percent); none without a curve
    pub force_percent: Option<f64>,
    /// its own deviations, with intervals, and the zeros of its measurements
    pub estimates: Vec<Estimate>,
}

/// Explanation of a measurement.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Identified {
    /// whether such corrections explain the measurement
    pub explained: bool,
    /// why not
    pub reason: String,
    /// how the part departs from its drawing; of several parts, what they have in common
    pub deviation: Deviation,
    /// everything estimated of it, with intervals
    pub estimates: Vec<Estimate>,
    /// the parts, where there are several
    pub parts: Vec<PartFound>,
    /// confounded quantities
    pub alike: Vec<Alike>,
    /// the same in words, and quantities that are not identifiable
    pub open: Vec<String>,
    /// assumptions on the zeros of the measurements
    pub notes: Vec<String>,
    /// difference between the branches; none where only loading was measured
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
    /// the part of it that exceeds noise (percent of the error base)
    pub misfit_percent: f64,
    /// sum of squared departures in units of their expected size, priors included
    pub chi_square: f64,
    /// value that it exceeds by chance once in ten thousand times
    pub chi_square_limit: f64,
    /// 95 % half width of the corrected spring's force, rms over the curve (percent of the error base)
    pub force_uncertainty_percent: f64,
    /// expected deviations of the next part
    #[serde(skip)]
    pub belief: Belief,
    /// force of the spring as drawn, of the corrected one with the measurement's zeros, and as measured, at the readings
    /// used of the first measurement
    pub curve: IdentifiedCurve,
}

/// Curves at the readings used.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct IdentifiedCurve {
    /// deflection as measured (mm), from the place where the spring is touched where the measurement counts from elsewhere
    pub deflection_mm: Vec<f64>,
    /// force as measured (N)
    pub measured_n: Vec<f64>,
    /// force of the spring as drawn (N)
    pub drawn_n: Vec<f64>,
    /// force of the corrected spring, with the zeros of the measurement (N)
    pub corrected_n: Vec<f64>,
}

impl Identified {
    /// From a fit that converged at `p`; `before` are the departures from the spring as drawn.
    pub(super) fn of(
        fit: &Fit,
        p: &Unknowns,
        before: &[Vec<f64>],
        parts: &[MeasuredPart],
    ) -> Result<Self, VariationError> {
        let (rest, slopes) = fit.system(p)?;
        // the priors' rows make the normal matrix regular
        let covariance = slopes
            .tr_mul(&slopes)
            .cholesky()
            .map_or_else(|| DMatrix::identity(p.len(), p.len()), |factor| factor.inverse());
        let departures = fit.departures(p)?;
        let count = fit.readings();
        let rms = |lists: &[Vec<f64>]| {
            let off = |(series, list): (&Series, &Vec<f64>)| {
                list.iter().zip(&series.base).map(|(off, base)| (off / base).powi(2)).sum::<f64>()
            };
            100.0 * (fit.series.iter().zip(lists).map(off).sum::<f64>() / count as f64).sqrt()
        };
        let noise = rms(&fit.series.iter().map(|one| vec![one.noise; one.x.len()]).collect::<Vec<_>>());
        let after = rms(&departures);
        let misfit_percent = (after * after - noise * noise).max(0.0).sqrt();
        let chi_square = rest.norm_squared();
        let evidence = count + fit.direct.len();
        let chi_square_limit =
            evidence as f64 * (1.0 + RARE * (VARIANCE_OF_SQUARES / evidence as f64).sqrt());
        let estimates = estimates_of(fit, p, &covariance);
        let alike = alike(fit, &covariance, &slopes);
        let departs = chi_square > chi_square_limit && misfit_percent > MODEL_PERCENT;
        let mut reason = objection(fit, p, parts, departs.then_some(misfit_percent));
        let minus = |series: &Series, list: &[f64]| {
            series.f.iter().zip(list).map(|(f, off)| f - off).collect::<Vec<f64>>()
        };
        if !reason.is_empty() {
            let causes = fit.series.iter().zip(before).find_map(|(series, before)| {
                let cause = likely_cause(&series.x, &series.f, &minus(series, before), series.noise)?;
                let several = fit.parts > 1;
                Some(if several { format!("part {}: {cause}", parts[series.part].name) } else { cause })
            });
            reason = causes.map_or(reason.clone(), |cause| format!("{cause}; {reason}"));
        }
        let mut open = open(&alike, &estimates);
        if fit.series.iter().any(|series| series.friction) {
            open.push(
                "only one branch is used: friction stays in the forces and in the estimates, ±1 % is allowed for it; \
                 measure loading and unloading"
                    .to_owned(),
            );
        }
        let found = if fit.parts == 1 {
            Vec::new()
        } else {
            parts
                .iter()
                .enumerate()
                .map(|(k, part)| part_found(fit, p, &covariance, k, part, before))
                .collect()
        };
        let first = &fit.series[0];
        Ok(Self {
            explained: reason.is_empty(),
            reason,
            deviation: if fit.parts == 1 { fit.deviation(p, 0) } else { fit.common(p) },
            open,
            notes: Vec::new(),
            estimates,
            parts: found,
            alike,
            hysteresis: parts.iter().flat_map(|part| &part.curves).find_map(|curve| curve.hysteresis),
            noise_n: first.noise,
            readings: count,
            left_out: fit.series.iter().map(|series| series.left_out).sum(),
            rms_before_percent: rms(before),
            rms_after_percent: after,
            misfit_percent,
            chi_square,
            chi_square_limit,
            force_uncertainty_percent: force_uncertainty(fit, &slopes, &covariance),
            belief: Belief::of(fit, p, &covariance),
            curve: IdentifiedCurve {
                deflection_mm: first.x.clone(),
                measured_n: first.f.clone(),
                drawn_n: minus(first, &before[0]),
                corrected_n: minus(first, &departures[0]),
            },
        })
    }

    /// Parts that no fit explains, with the reason.
    pub(super) fn without_fit(parts: &[MeasuredPart], reason: String) -> Self {
        let curve = parts.iter().find_map(|part| part.curves.first());
        let (x, f) = curve.map_or_else(Default::default, |one| (one.deflection.clone(), one.force.clone()));
        Self {
            reason,
            hysteresis: curve.and_then(|one| one.hysteresis),
            left_out: x.len(),
            curve: IdentifiedCurve {
                drawn_n: vec![0.0; x.len()],
                corrected_n: vec![0.0; x.len()],
                deflection_mm: x,
                measured_n: f,
            },
            ..Self::default()
        }
    }

    /// The estimate of one quantity.
    pub fn estimate(&self, quantity: EstimatedQuantity) -> Option<&Estimate> {
        self.estimates.iter().find(|estimate| estimate.quantity == quantity)
    }
}

fn part_found(
    fit: &Fit,
    p: &Unknowns,
    covariance: &DMatrix<f64>,
    k: usize,
    part: &MeasuredPart,
    before: &[Vec<f64>],
) -> PartFound {
    let mut shares = Vec::new();
    for (series, before) in fit.series.iter().zip(before).filter(|(series, _)| series.part == k) {
        shares.extend(before.iter().zip(&series.base).map(|(off, base)| 100.0 * off / base));
    }
    PartFound {
        name: part.name.clone(),
        deviation: fit.deviation(p, k),
        force_percent: (!shares.is_empty()).then(|| shares.iter().sum::<f64>() / shares.len() as f64),
        estimates: estimates_of_part(fit, p, covariance, k),
    }
}

fn alike(fit: &Fit, covariance: &DMatrix<f64>, slopes: &DMatrix<f64>) -> Vec<Alike> {
    let count = fit.readings();
    let data = slopes.rows(0, count);
    let list: Vec<Combination> = shown(fit)
        .into_iter()
        // a measured thickness is told apart by its reading
        .filter(|one| !fit.direct.iter().any(|direct| Some(direct.place) == one.quantity.place()))
        .filter(|one| one.quantity != EstimatedQuantity::Cone)
        .collect();
    let mut pairs = Vec::new();
    for (a, first) in list.iter().enumerate() {
        for second in &list[a + 1..] {
            let between =
                |x: &Combination, y: &Combination| (x.weights.transpose() * covariance * &y.weights)[(0, 0)];
            let correlation =
                between(first, second) / (between(first, first) * between(second, second)).sqrt();
            let (one, other) = (data * first.direction(), data * second.direction());
            let likeness = one.dot(&other) / (one.norm() * other.norm()).max(f64::MIN_POSITIVE);
            if likeness.abs() > ALIKE || correlation.abs() > TIED {
                pairs.push(Alike { first: first.quantity, second: second.quantity, likeness, correlation });
            }
        }
    }
    pairs
}

/// Quantities the measurement cannot identify, in words: confounded ones, taken together, and those whose interval it
/// hardly narrows.
fn open(alike: &[Alike], estimates: &[Estimate]) -> Vec<String> {
    let mut groups: Vec<Vec<EstimatedQuantity>> = Vec::new();
    for pair in alike {
        let (mut joined, apart): (Vec<_>, Vec<_>) =
            groups.drain(..).partition(|group| group.contains(&pair.first) || group.contains(&pair.second));
        joined.push(vec![pair.first, pair.second]);
        let member = |quantity: &EstimatedQuantity| joined.iter().any(|group| group.contains(quantity));
        groups = apart;
        groups.push(EstimatedQuantity::ALL.into_iter().filter(member).collect());
    }
    let mut words: Vec<String> = groups
        .iter()
        .map(|group| {
            let names: Vec<&str> = group.iter().map(|quantity| quantity.name()).collect();
            let (last, before) = (names[names.len() - 1], names[..names.len() - 1].join(", "));
            let remedy = if group.contains(&EstimatedQuantity::Thickness) {
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
    // the cone is no quantity that a maker corrects
    let of_part = |one: &&Estimate| one.quantity.place().is_some() && one.quantity != EstimatedQuantity::Cone;
    for estimate in estimates.iter().filter(of_part).filter(|estimate| !estimate.given) {
        if estimate.high - estimate.low > 2.0 * BARELY_NARROWED * estimate.expected {
            words.push(format!(
                "the {} is not identifiable from the force: its interval is mostly the assumed tolerance",
                estimate.quantity.name()
            ));
        }
    }
    words
}

/// The corrected force's own uncertainty: what the deviations of the first part that was pressed leave open (percent).
fn force_uncertainty(fit: &Fit, slopes: &DMatrix<f64>, covariance: &DMatrix<f64>) -> f64 {
    let series = &fit.series[0];
    let mut places: Vec<usize> = (0..DEVIATIONS).collect();
    places.extend((0..OWN.len()).map(|j| Fit::own(series.part, j)));
    let count = series.x.len();
    let variance: f64 = (0..count)
        .map(|i| {
            let mut sum = 0.0;
            for &a in &places {
                for &b in &places {
                    sum += slopes[(i, a)] * covariance[(a, b)] * slopes[(i, b)];
                }
            }
            sum / (series.weight(i) * series.base[i]).powi(2)
        })
        .sum();
    100.0 * INTERVAL * (variance / count as f64).sqrt()
}

/// Reason for which the corrections do not explain the measurement; empty where they do.
fn objection(fit: &Fit, p: &Unknowns, parts: &[MeasuredPart], misfit_percent: Option<f64>) -> String {
    if let Some(misfit) = misfit_percent {
        return format!(
            "the curve departs by {misfit:.2} % rms in a way that thickness, modulus, kerf, height, ends and zeros do not \
             explain: look for friction, a tilted hub, uneven setting or yielding, or arms of another shape"
        );
    }
    for one in &fit.direct {
        if fit.direct_departure(p, one).abs() > PLAUSIBLE {
            let off = fit.deviation(p, one.part).values()[one.place];
            return format!(
                "the force asks for a {} that deviates by {off:+.3} mm from nominal, which the measured one rules out: \
                 measure it again, or look for another sheet",
                ["thickness", "modulus", "kerf", "free height"].get(one.place).unwrap_or(&"size")
            );
        }
    }
    let mut worst: Option<(EstimatedQuantity, f64, f64, usize)> = None;
    let mut consider = |quantity: EstimatedQuantity, off: f64, sigmas: f64, part: usize| {
        if sigmas.abs() > PLAUSIBLE && worst.is_none_or(|worst| sigmas.abs() > worst.2.abs()) {
            worst = Some((quantity, off, sigmas, part));
        }
    };
    for part in 0..fit.parts {
        let values = fit.deviation(p, part).values();
        for quantity in EstimatedQuantity::ALL {
            let Some(k) = quantity.place() else { continue };
            if !fit.direct.iter().any(|one| one.place == k) {
                consider(quantity, values[k], values[k] / fit.tolerance[k], part);
            }
        }
    }
    for (m, series) in fit.series.iter().enumerate() {
        for (j, quantity) in [EstimatedQuantity::Lash, EstimatedQuantity::ForceOffset].into_iter().enumerate()
        {
            let k = fit.of_series(m, j);
            consider(quantity, fit.value(p, k), p[k], series.part);
        }
    }
    let Some((quantity, off, sigmas, part)) = worst else { return String::new() };
    let off = format!("{off:+.3} {}", quantity.unit());
    let of = if fit.parts > 1 { format!("part {}: ", parts[part].name) } else { String::new() };
    match quantity {
        EstimatedQuantity::Lash | EstimatedQuantity::ForceOffset => format!(
            "{of}the {} would have to be {off}: set the zeros of the measurement where the spring begins to carry",
            quantity.name()
        ),
        _ => format!(
            "{of}the {} would have to deviate by {off}, {:.1} times the assumed tolerance: look for another sheet, a wrong free \
             height or another boundary condition",
            quantity.name(),
            sigmas.abs() / INTERVAL
        ),
    }
}
