//! Scatter: many parts drawn at random from the tolerances, and the same to first order.

use rayon::prelude::*;
use serde::Serialize;

use super::VariationError;
use super::deviation::{Cause, Deviation, VariedSpring};
use super::propagation::{FirstOrder, fast, propagate};
use super::random::RandomStream;
use super::tolerance::Tolerances;
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::model::Model;
use crate::numeric::straight_between;

/// Deflections at which the band is given.
const POINTS: usize = 24;
/// Share of the travel up to which forces are compared; beyond, force climbs without bound.
const LAST_SHARE: f64 = 0.99;
/// Segments of the fast model; its error cancels in the factor to the whole model.
const SEGMENTS: usize = 100;
/// Fewest parts from which a 5 % fractile can be told.
const LEAST_PARTS: usize = 40;
/// A ± is two standard deviations of a normal distribution, and nothing lies beyond one and a half times the ±: sheet
/// outside its tolerance is mostly caught, and a setting that is far off is seen.
const CUT_OFF: f64 = 3.0;
/// Standard deviations between the middle and the 95 % fractile of a normal distribution.
const FRACTILE: f64 = 1.645;

/// How many parts, from which seed.
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

/// What a part is held against.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// the curve that was asked for; the nominal curve counts where there is none
    pub target: Option<&'a TargetCurve>,
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// largest rms force error (percent), where no band was asked for
    pub tolerance_percent: f64,
}

/// What one cause is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CauseShare {
    /// which
    pub cause: Cause,
    /// its ±, in `unit`
    pub plus_minus: f64,
    /// mm or %
    pub unit: &'static str,
    /// where the ± comes from
    pub source: String,
    /// what the whole ± does to the force, rms over the curve (percent of the error base)
    pub force_percent: f64,
    /// its share of the force's variance, over the curve (percent)
    pub share_percent: f64,
    /// rms half width of the band with this ± halved (percent of the error base)
    pub band_if_halved_percent: f64,
}

/// The force band over the deflection.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Band {
    /// deflection as the target counts it (mm)
    pub deflection_mm: Vec<f64>,
    /// nominal force (N)
    pub force_n: Vec<f64>,
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
    /// causes, the gravest first
    pub causes: Vec<CauseShare>,
    /// rms half width of the first-order band, middle to 95 % (percent of the error base)
    pub band_percent: f64,
    /// share of parts that are as wanted (0 to 1)
    pub yield_share: f64,
    /// how a part was judged
    pub judged_by: String,
    /// rms force error that 95 % of the parts keep (percent); none where more than 5 % lie flat too early
    pub rms_of_95_percent: Option<f64>,
    /// share of parts that lie flat before the last deflection (0 to 1)
    pub flat_share: f64,
    /// what to tighten first
    pub tighten_first: String,
}

/// What is wanted at each deflection of the band.
struct Wanted {
    force: Vec<f64>,
    base: Vec<f64>,
    band: Option<(Vec<f64>, Vec<f64>)>,
}

impl Wanted {
    fn at(asked: &Asked, first: &FirstOrder) -> Self {
        let force: Vec<f64> = match asked.target {
            Some(target) => first.deflection.iter().map(|x| target.force_at(x - asked.installed)).collect(),
            None => first.force.clone(),
        };
        let largest =
            asked.target.map_or_else(|| force.iter().copied().fold(0.0, f64::max), TargetCurve::max_force);
        let band = asked.target.filter(|t| t.force_min.is_some() || t.force_max.is_some()).map(|target| {
            let edge = |edge: &Option<Vec<f64>>, otherwise: f64| -> Vec<f64> {
                first
                    .deflection
                    .iter()
                    .map(|x| {
                        edge.as_ref().map_or(otherwise, |edge| {
                            straight_between(&target.deflection, edge, x - asked.installed)
                        })
                    })
                    .collect()
            };
            (edge(&target.force_min, f64::NEG_INFINITY), edge(&target.force_max, f64::INFINITY))
        });
        Self { base: force.iter().map(|f| f.max(0.1 * largest)).collect(), force, band }
    }

    /// Root mean square force error (percent).
    fn rms_percent(&self, force: &[f64]) -> f64 {
        let sum: f64 = force
            .iter()
            .zip(&self.force)
            .zip(&self.base)
            .map(|((found, wanted), base)| ((found - wanted) / base).powi(2))
            .sum();
        100.0 * (sum / force.len().max(1) as f64).sqrt()
    }

    fn accepts(&self, force: &[f64], tolerance_percent: f64) -> bool {
        match &self.band {
            Some((low, high)) => {
                force.iter().zip(low).zip(high).all(|((force, low), high)| force >= low && force <= high)
            }
            None => self.rms_percent(force) <= tolerance_percent,
        }
    }
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
    let most = LAST_SHARE * varied.arm.free_height();
    let end = asked.target.map_or(most, |target| (target.max_deflection() + asked.installed).min(most));
    let from = asked.installed.clamp(0.0, 0.9 * end);
    let deflections: Vec<f64> =
        (1..=POINTS).map(|k| from + (end - from) * k as f64 / POINTS as f64).collect();
    let first = propagate(&varied, &deflections)?;
    let wanted = Wanted::at(asked, &first);
    let sigma = tolerances.deviations();
    let parts: Vec<Vec<f64>> = (0..settings.runs)
        .into_par_iter()
        .map(|index| {
            let mut stream = RandomStream::new(settings.seed, index as u64);
            let drawn = sigma.map(|sigma| sigma * stream.truncated_normal(CUT_OFF));
            force_of_part(&varied, &first, &Deviation::from_values(drawn))
        })
        .collect::<Result<_, _>>()?;
    let (low_n, high_n) = band(&parts);
    let flat = parts.iter().filter(|force| force.last().is_some_and(|f| f.is_infinite())).count();
    let accepted = parts.iter().filter(|force| wanted.accepts(force, asked.tolerance_percent)).count();
    let mut errors: Vec<f64> = parts.iter().map(|force| wanted.rms_percent(force)).collect();
    errors.sort_by(f64::total_cmp);
    let half: Vec<f64> =
        (0..POINTS).map(|i| FRACTILE * first.variances(i, &sigma).iter().sum::<f64>().sqrt()).collect();
    let causes = causes(tolerances, &first, &wanted.base);
    let band_percent = rms_half_width(&first, &wanted.base, &sigma);
    let tighten_first = advice(&causes, band_percent);
    Ok(Scatter {
        runs: settings.runs,
        seed: settings.seed,
        curve: Band {
            deflection_mm: deflections.iter().map(|x| x - asked.installed).collect(),
            low_n,
            high_n,
            first_order_low_n: first.force.iter().zip(&half).map(|(f, half)| (f - half).max(0.0)).collect(),
            first_order_high_n: first.force.iter().zip(&half).map(|(f, half)| f + half).collect(),
            force_n: first.force,
        },
        causes,
        band_percent,
        yield_share: accepted as f64 / settings.runs as f64,
        judged_by: judged_by(asked, wanted.band.is_some()),
        rms_of_95_percent: Some(fractile(&errors, 0.95)).filter(|error| error.is_finite()),
        flat_share: flat as f64 / settings.runs as f64,
        tighten_first,
    })
}

/// Forces of one part; infinite where it lies flat already.
fn force_of_part(
    varied: &VariedSpring,
    first: &FirstOrder,
    deviation: &Deviation,
) -> Result<Vec<f64>, VariationError> {
    let (spring, arm) = varied.part(deviation)?;
    let model = Model::of_arm(&spring, &arm, &fast(varied));
    let travel = model.travel();
    let end = first.deflection.last().copied().unwrap_or(0.0).min(travel);
    let path = model.path(end)?;
    let arms = spring.arms as f64;
    Ok(first
        .deflection
        .iter()
        .zip(&first.factor)
        .map(|(&x, factor)| {
            if x > travel {
                return f64::INFINITY;
            }
            let after = path.knots.partition_point(|knot| knot.deflection <= x);
            let knot = after.checked_sub(1).and_then(|before| path.knots.get(before));
            knot.map_or(0.0, |knot| factor * arms * (knot.force + knot.rate * (x - knot.deflection)))
        })
        .collect())
}

/// 5 % and 95 % fractiles at every deflection.
fn band(parts: &[Vec<f64>]) -> (Vec<f64>, Vec<Option<f64>>) {
    (0..POINTS)
        .map(|i| {
            let mut column: Vec<f64> = parts.iter().map(|force| force[i]).collect();
            column.sort_by(f64::total_cmp);
            (fractile(&column, 0.05), Some(fractile(&column, 0.95)).filter(|force| force.is_finite()))
        })
        .unzip()
}

/// Fractile of sorted values, straight between neighbours.
fn fractile(sorted: &[f64], share: f64) -> f64 {
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
fn rms_half_width(first: &FirstOrder, base: &[f64], sigma: &[f64; 4]) -> f64 {
    let sum: f64 =
        (0..base.len()).map(|i| first.variances(i, sigma).iter().sum::<f64>() / base[i].powi(2)).sum();
    100.0 * FRACTILE * (sum / base.len() as f64).sqrt()
}

fn causes(tolerances: &Tolerances, first: &FirstOrder, base: &[f64]) -> Vec<CauseShare> {
    let sigma = tolerances.deviations();
    let mut sums = [0.0; 4];
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
                plus_minus: spread.plus_minus,
                unit: spread.unit,
                source: spread.source.clone(),
                // the ± is two standard deviations
                force_percent: 200.0 * sums[k].sqrt(),
                share_percent: 100.0 * sums[k] / total,
                band_if_halved_percent: rms_half_width(first, base, &halved),
            }
        })
        .collect();
    causes.sort_by(|a, b| b.share_percent.total_cmp(&a.share_percent));
    causes
}

fn judged_by(asked: &Asked, band: bool) -> String {
    let against =
        if asked.target.is_some() { "the target" } else { "the nominal curve, no target being known" };
    if band {
        "every point inside the target's band".to_owned()
    } else {
        format!("rms force error within {} % of {against}", asked.tolerance_percent)
    }
}

fn advice(causes: &[CauseShare], band_percent: f64) -> String {
    let Some(first) = causes.first().filter(|first| first.share_percent > 0.0) else {
        return "nothing scatters".to_owned();
    };
    let how = match first.cause {
        Cause::Thickness => {
            "order a closer thickness class, or measure the sheet and shape the spring for it"
        }
        Cause::Modulus => "take sheet of one melt and correct the design from a measured first part",
        Cause::Kerf => "hold the kerf closer, or take fewer, wider arms",
        Cause::FreeHeight => "set the height closer, or set each part to its force",
    };
    format!(
        "{}: {:.0} % of the variance; halved, the band narrows from ±{band_percent:.1} % to ±{:.1} %; {how}",
        first.cause.name(),
        first.share_percent,
        first.band_if_halved_percent
    )
}
