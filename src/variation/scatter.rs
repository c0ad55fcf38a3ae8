//! Scatter: many parts drawn at random from the tolerances, and the same to first order.

use rayon::prelude::*;
use serde::Serialize;

use super::VariationError;
use super::cause::{CAUSES, Cause};
use super::deviation::{Deviation, VariedSpring};
use super::propagation::{FirstOrder, propagate};
use super::random::RandomStream;
use super::tolerance::Tolerances;
use super::wanted::{Asked, Wanted, judged_by};
use crate::layout::Spring;
use crate::model::contact::Contact;
use crate::response::CLOSED_SHARE;

/// Deflections at which the band is given.
pub(super) const POINTS: usize = 24;
/// Segments of the fast model; its error cancels in the factor to the whole model.
pub(super) const SEGMENTS: usize = 40;
/// Fewest parts for a 5 % fractile.
pub(super) const LEAST_PARTS: usize = 40;
/// Standard deviations between the middle and the 95 % fractile of a normal distribution.
pub(super) const FRACTILE: f64 = 1.645;

/// Number of parts and seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScatterSettings {
    /// parts drawn
    pub runs: usize,
    /// seed of the random numbers
    pub seed: u64,
}

impl Default for ScatterSettings {
    fn default() -> Self {
        Self { runs: 2000, seed: 1 }
    }
}

/// Contribution of one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CauseShare {
    /// which
    pub cause: Cause,
    /// of an assembly: the disc, or the discs of one coil
    #[serde(skip_serializing_if = "Option::is_none")]
    pub member: Option<String>,
    /// its ±, in `unit`
    pub plus_minus: f64,
    /// mm or %
    pub unit: &'static str,
    /// where the ± comes from
    pub source: String,
    /// effect of the whole ± on the force, rms over the curve (percent of the error base)
    pub force_percent: f64,
    /// its share of the force's variance, over the curve (percent)
    pub share_percent: f64,
    /// rms half width of the band with this ± halved (percent of the error base)
    pub band_if_halved_percent: f64,
}

/// The force band over the deflection.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Band {
    /// deflection from the free height (mm)
    pub deflection_mm: Vec<f64>,
    /// deflection from where the target starts (mm); left out where that is the free height
    #[serde(skip_serializing_if = "Option::is_none")]
    pub travel_mm: Option<Vec<f64>>,
    /// nominal force (N)
    pub force_n: Vec<f64>,
    /// force asked for (N); none where no target is known
    pub target_n: Option<Vec<f64>>,
    /// force that one part in twenty stays below (N)
    pub low_n: Vec<f64>,
    /// force that one part in twenty exceeds (N); none where more than that lie flat already
    pub high_n: Vec<Option<f64>>,
    /// the same two to first order (N)
    pub first_order_low_n: Vec<f64>,
    /// the same two to first order (N)
    pub first_order_high_n: Vec<f64>,
}

/// The force band of many parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scatter {
    /// parts drawn
    pub runs: usize,
    /// seed
    pub seed: u64,
    /// the band over the deflection
    pub curve: Band,
    /// causes, the largest first
    pub causes: Vec<CauseShare>,
    /// rms half width of the first-order band, middle to 95 % (percent of the error base)
    pub band_percent: f64,
    /// share of parts that are as wanted (0 to 1)
    pub yield_share: f64,
    /// criterion of a good part
    pub judged_by: String,
    /// rms force error that 95 % of the parts keep (percent); none where more than 5 % lie flat too early
    pub rms_of_95_percent: Option<f64>,
    /// share of parts that lie flat before the last deflection (0 to 1)
    pub flat_share: f64,
    /// share of drawn parts with invalid geometry (0 to 1)
    pub scrap_share: f64,
    /// tolerance to tighten first, in words
    pub tighten_first: String,
    /// notes, a sentence each
    pub warnings: Vec<String>,
}

/// Draws parts from the tolerances of a spring. The result depends on nothing but the arguments.
pub fn scatter(
    spring: &Spring,
    tolerances: &Tolerances,
    asked: &Asked,
    settings: &ScatterSettings,
) -> Result<Scatter, VariationError> {
    if settings.runs < LEAST_PARTS {
        return Err(VariationError::TooFewParts { found: settings.runs, least: LEAST_PARTS });
    }
    let varied = VariedSpring::new(spring, SEGMENTS)?;
    let deflections = places(&varied, asked);
    let first = propagate(&varied, &deflections)?;
    let wanted = Wanted::at(asked, &first);
    let sigma = tolerances.deviations();
    // contacts change little from part to part
    let contacts = varied.model(&Deviation::default(), &varied.fast())?.contacts(&first.deflection)?;
    // a drawn part with invalid geometry is scrap: counted, not an error
    let drawn_parts: Vec<Option<Vec<f64>>> = (0..settings.runs)
        .into_par_iter()
        .map(|index| {
            let mut stream = RandomStream::new(settings.seed, index as u64);
            let drawn = tolerances.0.each_ref().map(|spread| spread.draw(&mut stream));
            force_of_part(&varied, &first, &contacts, &Cause::part(drawn)).ok()
        })
        .collect();
    let parts: Vec<Vec<f64>> = drawn_parts.into_iter().flatten().collect();
    let scrap = settings.runs - parts.len();
    let (low_n, high_n) = band(&parts);
    let flat = parts.iter().filter(|force| force.last().is_some_and(|f| f.is_infinite())).count();
    let accepted = parts.iter().filter(|force| wanted.accepts(force, asked.tolerance_percent)).count();
    let mut errors: Vec<f64> = parts.iter().map(|force| wanted.rms_percent(force)).collect();
    errors.extend(std::iter::repeat_n(f64::INFINITY, scrap));
    errors.sort_by(f64::total_cmp);
    let half: Vec<f64> =
        (0..POINTS).map(|i| FRACTILE * first.variances(i, &sigma).iter().sum::<f64>().sqrt()).collect();
    let causes = causes(tolerances, &first, &wanted.base);
    let band_percent = rms_half_width(&first, &wanted.base, &sigma);
    let flat_share = flat as f64 / settings.runs as f64;
    let scrap_share = scrap as f64 / settings.runs as f64;
    let mut warnings = Vec::new();
    if flat > 0 {
        warnings.push(format!(
            "{:.1} % of the parts are flat before the last deflection asked for: allow more free height",
            100.0 * flat_share
        ));
    }
    if scrap > 0 {
        warnings.push(format!(
            "{scrap} of {} parts are scrap: with the tolerances given an arm, a slot or the height is gone; they are \
             counted as bad and left out of the band; widen arm and slot or tighten the tolerances",
            settings.runs
        ));
    }
    let tighten_first = advice(&causes, band_percent);
    Ok(Scatter {
        runs: settings.runs,
        seed: settings.seed,
        curve: Band {
            travel_mm: (asked.installed > 0.0)
                .then(|| deflections.iter().map(|x| x - asked.installed).collect()),
            deflection_mm: deflections.clone(),
            low_n,
            high_n,
            first_order_low_n: first.force.iter().zip(&half).map(|(f, half)| (f - half).max(0.0)).collect(),
            first_order_high_n: first.force.iter().zip(&half).map(|(f, half)| f + half).collect(),
            force_n: first.force,
            target_n: asked.target.is_some().then_some(wanted.force),
        },
        warnings,
        causes,
        band_percent,
        yield_share: accepted as f64 / settings.runs as f64,
        judged_by: judged_by(asked, wanted.band.is_some()),
        rms_of_95_percent: Some(fractile(&errors, 0.95)).filter(|error| error.is_finite()),
        flat_share,
        scrap_share,
        tighten_first,
    })
}

/// Deflections of the spring at which the band is given (mm).
pub(super) fn places(varied: &VariedSpring, asked: &Asked) -> Vec<f64> {
    let most = CLOSED_SHARE * varied.arm.free_height();
    let end = asked.target.map_or(most, |target| (target.max_deflection() + asked.installed).min(most));
    let from = asked.installed.clamp(0.0, 0.9 * end);
    (1..=POINTS).map(|k| from + (end - from) * k as f64 / POINTS as f64).collect()
}

/// Rms half width of the first-order band, middle to 95 % (percent of the error base): the sensitivity of a spring.
pub fn band_percent(spring: &Spring, tolerances: &Tolerances, asked: &Asked) -> Result<f64, VariationError> {
    let varied = VariedSpring::new(spring, SEGMENTS)?;
    let first = propagate(&varied, &places(&varied, asked))?;
    let wanted = Wanted::at(asked, &first);
    Ok(rms_half_width(&first, &wanted.base, &tolerances.deviations()))
}

/// Forces of one part; infinite where it lies flat already. `contacts` are those of the spring as drawn.
fn force_of_part(
    varied: &VariedSpring,
    first: &FirstOrder,
    contacts: &[Vec<Contact>],
    deviation: &Deviation,
) -> Result<Vec<f64>, VariationError> {
    let model = varied.model(deviation, &varied.fast())?;
    let travel = model.travel();
    let within = first.deflection.partition_point(|x| *x <= travel);
    let mut forces = model.forces_near(&first.deflection[..within], contacts)?;
    for (force, factor) in forces.iter_mut().zip(&first.factor) {
        *force *= factor;
    }
    forces.resize(first.deflection.len(), f64::INFINITY);
    Ok(forces)
}

/// 5 % and 95 % fractiles at every deflection; no lower bound above zero and no upper one where fewer than two parts
/// are valid.
pub(super) fn band(parts: &[Vec<f64>]) -> (Vec<f64>, Vec<Option<f64>>) {
    if parts.len() < 2 {
        return (vec![0.0; POINTS], vec![None; POINTS]);
    }
    (0..POINTS)
        .map(|i| {
            let mut column: Vec<f64> = parts.iter().map(|force| force[i]).collect();
            column.sort_by(f64::total_cmp);
            (fractile(&column, 0.05), Some(fractile(&column, 0.95)).filter(|force| force.is_finite()))
        })
        .unzip()
}

/// Fractile of sorted values, straight between neighbours.
pub(super) fn fractile(sorted: &[f64], share: f64) -> f64 {
    let ranks: Vec<f64> = (0..sorted.len()).map(|i| (i as f64 + 0.5) / sorted.len() as f64).collect();
    let after = ranks.partition_point(|rank| *rank < share).clamp(1, sorted.len() - 1);
    let (a, b) = (sorted[after - 1], sorted[after]);
    if a.is_infinite() || b.is_infinite() {
        return b;
    }
    let t = ((share - ranks[after - 1]) / (ranks[after] - ranks[after - 1])).clamp(0.0, 1.0);
    a + t * (b - a)
}

/// Root mean square of the half width, middle to 95 %, over the error base (percent).
fn rms_half_width(first: &FirstOrder, base: &[f64], sigma: &[f64; CAUSES]) -> f64 {
    let sum: f64 =
        (0..base.len()).map(|i| first.variances(i, sigma).iter().sum::<f64>() / base[i].powi(2)).sum();
    100.0 * FRACTILE * (sum / base.len() as f64).sqrt()
}

fn causes(tolerances: &Tolerances, first: &FirstOrder, base: &[f64]) -> Vec<CauseShare> {
    let sigma = tolerances.deviations();
    let mut sums = [0.0; CAUSES];
    for (i, base) in base.iter().enumerate() {
        for (sum, variance) in sums.iter_mut().zip(first.variances(i, &sigma)) {
            *sum += variance / base.powi(2) / POINTS as f64;
        }
    }
    let total: f64 = sums.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let mut causes: Vec<CauseShare> = tolerances
        .0
        .iter()
        .enumerate()
        .map(|(k, spread)| {
            let mut halved = sigma;
            halved[k] *= 0.5;
            CauseShare {
                cause: spread.cause,
                member: None,
                plus_minus: spread.plus_minus,
                unit: spread.unit,
                source: spread.source.clone(),
                force_percent: 100.0 * (sums[k].sqrt() / sigma[k].max(f64::MIN_POSITIVE)) * spread.plus_minus,
                share_percent: 100.0 * sums[k] / total,
                band_if_halved_percent: rms_half_width(first, base, &halved),
            }
        })
        .collect();
    causes.sort_by(|a, b| b.share_percent.total_cmp(&a.share_percent));
    causes
}

pub(super) fn advice(causes: &[CauseShare], band_percent: f64) -> String {
    let Some(first) = causes.first().filter(|first| first.share_percent > 0.0) else {
        return "no cause scatters".to_owned();
    };
    let how = first.cause.remedy();
    let of = first.member.as_ref().map_or_else(String::new, |member| format!(" of {member}"));
    format!(
        "{}{of}: {:.0} % of the variance; halved, the band narrows from ±{band_percent:.1} % to ±{:.1} %; {how}",
        first.cause.name(),
        first.share_percent,
        first.band_if_halved_percent
    )
}
