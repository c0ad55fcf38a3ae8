//! Shims for an assembly that was measured, which trim its curve before any disc is cut again.
//!
//! The measured curve is explained by the height and the stiffness of each member and by the distance of the plates, all near
//! what was drawn (least squares with priors, as in [`super::identification`]). A disc that is taller by a factor has its curve stretched by that factor
//! in deflection and force (arms are linear at the same seated state), a stiffer one in force. The explained assembly is
//! then put between plates at other distances, in steps of a shim; the result is the one nearest to the curve asked
//! for.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use super::VariationError;
use super::assembled::{STOP_SHARE, VariedMember, balance};
use super::cause::Cause;
use super::deviation::VariedSpring;
use super::propagation::propagate;
use super::readings::{Hysteresis, LEAST_READINGS, Readings};
use crate::assembly::{Arrangement, PlacedMember};
use crate::curve::TargetCurve;
use crate::plot::{CurvePlot, Line};
use crate::spec::{AssemblyKind, Stacking};

/// Steps of a shim and the thickest one (mm). Common practice for shim stock.
const SHIM_STEP: f64 = 0.05;
/// See [`SHIM_STEP`].
const MOST_SHIM: f64 = 3.0;
/// Error that a millimetre of shim has to save at least (percent rms): thin shims first.
const WORTH: f64 = 0.05;
/// Standard deviation of the model and of friction over the error base. Judgement.
const NOISE: f64 = 0.005;
/// Standard deviations of the measurement's zeros, over the largest deflection and force. Judgement.
const ZERO_SHARE: f64 = 0.005;
/// Standard deviation of the ends' share of a disc's stiffness (percent). Judgement.
const ENDS_PERCENT: f64 = 1.0;
/// Standard deviation of the distance of the plates (mm): columns, hub piece, flatness. Judgement.
const PLATES_MM: f64 = 0.15;
/// Departure of the explained curve above which the measurement is not explained (percent of the error base, rms).
const MISFIT_PERCENT: f64 = 2.0;
/// Standard deviations beyond which a height or a stiffness is implausible: one and a half times its ±.
const PLAUSIBLE: f64 = 3.0;
/// Share of the range, next to a closed disc, in which readings are not used.
const NEAR_CLOSED: f64 = 0.03;
/// Most steps of the least squares, and the step of its difference quotients in standard deviations.
const STEPS: usize = 40;
/// See [`STEPS`].
const DIFFERENCE: f64 = 0.02;

/// Departure of one member from its drawing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrimEstimate {
    /// folder of the member, with its side in an opposed pair
    pub member: String,
    /// height of each of its discs more than drawn (mm)
    pub height_mm: f64,
    /// its ± before the measurement (mm)
    pub height_expected_mm: f64,
    /// stiffness more than drawn (percent)
    pub stiffness_percent: f64,
    /// its ± before the measurement (percent)
    pub stiffness_expected_percent: f64,
}

/// A shim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shim {
    /// folder of the member that it presses in further, with its side in an opposed pair
    pub member: String,
    /// thickness (mm); below zero the plates go apart by as much
    pub thickness_mm: f64,
    /// its place in words
    pub place: String,
}

/// Curves at the readings used.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct TrimCurve {
    /// deflection as measured (mm)
    pub deflection_mm: Vec<f64>,
    /// force as measured (N)
    pub measured_n: Vec<f64>,
    /// force of the explained assembly, with the zeros of the measurement (N)
    pub explained_n: Vec<f64>,
    /// force asked for (N)
    pub target_n: Vec<f64>,
    /// force expected with the shims (N); null where a disc is closed
    pub trimmed_n: Vec<f64>,
}

/// Explanation of a measured assembly, and the shims that trim it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Trimmed {
    /// whether heights and stiffnesses of the members explain the measurement
    pub explained: bool,
    /// why not
    pub reason: String,
    /// departure of each member
    pub estimates: Vec<TrimEstimate>,
    /// distance of the plates more than drawn (mm); one number a side where the assembly rests against a stop, none without
    /// preload
    pub plates_apart_mm: Vec<f64>,
    /// deflection shown where the assembly rests (mm)
    pub deflection_zero_mm: f64,
    /// force shown by the unloaded balance (N)
    pub force_zero_n: f64,
    /// difference between the branches; none where only loading was measured
    pub hysteresis: Option<Hysteresis>,
    /// error of the assembly as measured, its zeros set right (percent rms)
    pub rms_measured_percent: f64,
    /// departure of the explained curve from the readings (percent of the error base, rms)
    pub misfit_percent: f64,
    /// shims; empty where none betters the curve
    pub shims: Vec<Shim>,
    /// distance of the plates at rest with them (mm)
    pub height_mm: f64,
    /// error expected with them (percent rms)
    pub rms_trimmed_percent: f64,
    /// largest error asked for (percent rms)
    pub tolerance_percent: f64,
    /// whether it is within the tolerance with the shims
    pub met: bool,
    /// member that departs most from its drawing: the first to be measured alone where shims are not enough
    pub suspect: String,
    /// curves
    pub curve: TrimCurve,
}

/// Members whose heights and stiffnesses may be off.
struct Members<'a> {
    kind: AssemblyKind,
    placed: &'a [PlacedMember],
    preloaded: bool,
    balances: bool,
}

impl Members<'_> {
    /// Sides that a shim, or plates at another distance, press each on their own: none without preload; where the
    /// assembly finds its own equilibrium, and in a stack, the sum of all counts.
    fn sides(&self) -> usize {
        match (self.preloaded, self.kind == AssemblyKind::Opposed && !self.balances) {
            (false, _) => 0,
            (_, true) => self.placed.len(),
            _ => 1,
        }
    }

    fn multiple(member: &PlacedMember) -> f64 {
        if member.stacking == Stacking::Series { member.count as f64 } else { 1.0 }
    }

    /// The assembly with heights more than drawn (mm), stiffnesses more than drawn (percent) and shims (mm).
    fn with(&self, off: &[[f64; 2]], shims: &[f64]) -> Option<Arrangement> {
        let placed = self.placed.iter().zip(off).zip(shims).map(|((member, [height, stiffness]), shim)| {
            let free = member.curve.closed();
            let curve =
                member.curve.scaled((1.0 + height / free).max(0.1), (1.0 + 0.01 * stiffness).max(0.1));
            let installed = member.installed + height + shim / Self::multiple(member);
            let installed = if self.preloaded { installed.max(0.0) } else { 0.0 };
            PlacedMember { curve, installed, ..member.clone() }
        });
        Arrangement::of(self.kind, placed.collect())
    }

    fn forces(&self, off: &[[f64; 2]], shims: &[f64], deflections: &[f64]) -> Option<Vec<f64>> {
        let part = self.with(off, shims)?;
        let rest = if self.balances { balance(&part)? } else { 0.0 };
        Some(deflections.iter().map(|x| part.force(rest + x)).collect())
    }
}

/// Explains a measured assembly and finds the shims that bring it nearest to the curve asked for. `arrangement` is the
/// assembly as drawn.
pub fn trim(
    members: &[VariedMember],
    arrangement: &Arrangement,
    target: &TargetCurve,
    tolerance_percent: f64,
    readings: &Readings,
) -> Result<Trimmed, VariationError> {
    let kind = arrangement.kind();
    let placed = arrangement.members();
    let at_rest = target.force_at(0.0).abs();
    let parts = Members {
        kind,
        placed,
        preloaded: kind.has_pair() || placed.iter().any(|member| member.installed > 0.0),
        balances: kind == AssemblyKind::Opposed && at_rest <= STOP_SHARE * target.max_force(),
    };
    let (x, f) = below_closed(arrangement, readings);
    if x.len() < LEAST_READINGS {
        return Ok(Trimmed {
            reason: format!(
                "found {} readings at which no disc is near closed, expected {LEAST_READINGS} or more: measure more",
                x.len()
            ),
            hysteresis: readings.hysteresis,
            height_mm: arrangement.height_at_rest(),
            tolerance_percent,
            ..Trimmed::default()
        });
    }
    let priors = members.iter().map(prior).collect::<Result<Vec<[f64; 2]>, _>>()?;
    let fit = Fit::new(&parts, &priors, &x, &f);
    let q = fit.solve();
    let Split { off, closer, zeros: [zero_mm, zero_n] } = fit.split(&q);
    let explained_n = fit.forces(&q).unwrap_or_else(|| vec![f64::NAN; x.len()]);
    let off_percent = |found: &[f64]| {
        let sum: f64 =
            (0..x.len()).map(|i| ((found[i] - f[i]) / fit.base[i]).powi(2)).sum::<f64>() / x.len() as f64;
        100.0 * sum.sqrt()
    };
    let misfit_percent = off_percent(&explained_n);
    let names = names(members);
    // heights and stiffnesses of the discs alone are suspect
    let worst = (0..2 * members.len()).max_by(|a, b| q[*a].abs().total_cmp(&q[*b].abs())).unwrap_or(0);
    let suspect = names[worst / 2].clone();
    let reason = if misfit_percent.is_nan() || misfit_percent > MISFIT_PERCENT {
        format!(
            "the curve departs by {misfit_percent:.2} % rms in a way that heights and stiffnesses of the discs and plates do not explain: \
             look for a rod that jams, a disc that is not seated, a disc the wrong way up, or other plates"
        )
    } else if q[worst].abs() > PLAUSIBLE {
        let (what, unit) = if worst % 2 == 0 { ("height", "mm") } else { ("stiffness", "%") };
        format!(
            "the {what} of {suspect} would have to differ by {:+.2} {unit}, {:.1} times its tolerance: measure that disc alone",
            off[worst / 2][worst % 2],
            0.5 * q[worst].abs()
        )
    } else {
        String::new()
    };
    // shims add to what the plates are closer than drawn
    let with = |shims: &[f64], x: &[f64]| {
        let all: Vec<f64> = closer.iter().zip(shims).map(|(closer, shim)| closer + shim).collect();
        parts.forces(&off, &all, x)
    };
    let error = |shims: &[f64]| {
        with(shims, &target.deflection).map_or(f64::INFINITY, |force| {
            let rms = target.errors_percent(&force).0;
            if rms.is_finite() { rms } else { f64::INFINITY }
        })
    };
    let none = vec![0.0; members.len()];
    let found = if reason.is_empty() { best_shims(&parts, error) } else { none.clone() };
    let shims: Vec<Shim> = (0..members.len())
        .filter(|k| found[*k] != 0.0)
        .map(|k| Shim {
            member: names[k].clone(),
            thickness_mm: found[k],
            place: if found[k] > 0.0 {
                format!("between {} and its plate, the plates as far apart as before", names[k])
            } else {
                format!("between the columns and the plate of {}: the plates go apart by as much", names[k])
            },
        })
        .collect();
    let apart: f64 = found.iter().map(|shim| (-shim).max(0.0)).sum();
    let rms_trimmed_percent = error(&found);
    let estimates = (0..members.len())
        .map(|k| TrimEstimate {
            member: names[k].clone(),
            height_mm: off[k][0],
            height_expected_mm: 2.0 * priors[k][0],
            stiffness_percent: off[k][1],
            stiffness_expected_percent: 2.0 * priors[k][1],
        })
        .collect();
    Ok(Trimmed {
        explained: reason.is_empty(),
        met: reason.is_empty() && rms_trimmed_percent <= tolerance_percent,
        reason,
        estimates,
        plates_apart_mm: closer.iter().take(parts.sides()).map(|closer| 0.0 - closer).collect(),
        deflection_zero_mm: zero_mm,
        force_zero_n: zero_n,
        hysteresis: readings.hysteresis,
        rms_measured_percent: error(&none),
        misfit_percent,
        shims,
        height_mm: arrangement.height_at_rest() + apart,
        rms_trimmed_percent,
        tolerance_percent,
        suspect,
        curve: TrimCurve {
            trimmed_n: with(&found, &x).unwrap_or_default(),
            target_n: x.iter().map(|x| target.force_at(*x)).collect(),
            deflection_mm: x,
            measured_n: f,
            explained_n,
        },
    })
}

/// Names of the members: their folders, with the side in an opposed pair.
fn names(members: &[VariedMember]) -> Vec<String> {
    members
        .iter()
        .map(|VariedMember { member, .. }| {
            let side = member.side.map_or_else(String::new, |side| format!(" (side {})", side.letter()));
            format!("{}{side}", member.folder)
        })
        .collect()
}

/// The readings at which no disc of the assembly as drawn is near closed.
fn below_closed(arrangement: &Arrangement, readings: &Readings) -> (Vec<f64>, Vec<f64>) {
    let (back, travel) = (arrangement.travel_back(), arrangement.travel());
    let clear = NEAR_CLOSED * (travel - back);
    let low = if back < 0.0 { back + clear } else { f64::NEG_INFINITY };
    let kept =
        readings.deflection.iter().zip(&readings.force).filter(|(x, _)| (low..=travel - clear).contains(*x));
    kept.map(|(x, f)| (*x, *f)).unzip()
}

/// Standard deviations of height (mm) and stiffness (percent) of a disc.
fn prior(member: &VariedMember) -> Result<[f64; 2], VariationError> {
    let sigma = member.tolerances.deviations();
    let height = sigma[Cause::FreeHeight as usize].hypot(sigma[Cause::Thickness as usize]);
    let varied = VariedSpring::new(member.spring, super::scatter::SEGMENTS)?;
    let first = propagate(&varied, &[0.5 * varied.arm.free_height()])?;
    let variances = first.variances(0, &sigma);
    let of_stiffness: f64 =
        [Cause::Thickness, Cause::Modulus, Cause::Kerf, Cause::KerfDrift, Cause::EdgeSlope]
            .map(|cause| variances[cause as usize])
            .iter()
            .sum();
    let percent = 100.0 * of_stiffness.sqrt() / first.force[0].max(f64::MIN_POSITIVE);
    Ok([height.max(1e-3), percent.hypot(ENDS_PERCENT)])
}

/// Unknowns in their own units.
struct Split {
    /// height (mm) and stiffness (percent) of each member more than drawn
    off: Vec<[f64; 2]>,
    /// distance by which the plates are closer than drawn, at each member (mm)
    closer: Vec<f64>,
    /// zeros of deflection (mm) and force (N)
    zeros: [f64; 2],
}

/// The least squares: two unknowns a member, the zeros of deflection and force, then the plates, in standard deviations.
struct Fit<'a> {
    parts: &'a Members<'a>,
    sigma: Vec<f64>,
    x: &'a [f64],
    f: &'a [f64],
    base: Vec<f64>,
}

impl<'a> Fit<'a> {
    fn new(parts: &'a Members<'a>, priors: &[[f64; 2]], x: &'a [f64], f: &'a [f64]) -> Self {
        let largest = |list: &[f64]| list.iter().map(|value| value.abs()).fold(0.0, f64::max);
        let mut sigma: Vec<f64> = priors.iter().flatten().copied().collect();
        sigma.extend([ZERO_SHARE * largest(x), ZERO_SHARE * largest(f)]);
        sigma.extend(std::iter::repeat_n(PLATES_MM, parts.sides()));
        let tenth = 0.1 * largest(f);
        let base = f.iter().map(|f| f.abs().max(tenth)).collect();
        Self { parts, sigma, x, f, base }
    }

    fn split(&self, q: &DVector<f64>) -> Split {
        let value = |k: usize| q[k] * self.sigma[k];
        let members = self.parts.placed.len();
        let mut closer = vec![0.0; members];
        for (side, closer) in closer.iter_mut().take(self.parts.sides()).enumerate() {
            *closer = value(2 * members + 2 + side);
        }
        Split {
            off: (0..members).map(|k| [value(2 * k), value(2 * k + 1)]).collect(),
            closer,
            zeros: [value(2 * members), value(2 * members + 1)],
        }
    }

    fn forces(&self, q: &DVector<f64>) -> Option<Vec<f64>> {
        let Split { off, closer, zeros: [zero_mm, zero_n] } = self.split(q);
        let x: Vec<f64> = self.x.iter().map(|x| x - zero_mm).collect();
        let force = self.parts.forces(&off, &closer, &x)?;
        Some(force.into_iter().map(|force| force + zero_n).collect())
    }

    /// Departures in units of their expected size, then the unknowns themselves.
    fn rest(&self, q: &DVector<f64>) -> Option<DVector<f64>> {
        let force = self.forces(q)?;
        let rows = (0..self.x.len()).map(|i| (force[i] - self.f[i]) / (NOISE * self.base[i]));
        let rest = DVector::from_iterator(self.x.len() + q.len(), rows.chain(q.iter().copied()));
        rest.iter().all(|value| value.is_finite()).then_some(rest)
    }

    /// Gauss-Newton steps, damped where they bring no improvement (Levenberg 1944).
    fn solve(&self) -> DVector<f64> {
        let mut q = DVector::zeros(self.sigma.len());
        let Some(mut rest) = self.rest(&q) else { return q };
        let mut damping = 1e-3;
        for _ in 0..STEPS {
            let mut slopes = DMatrix::zeros(rest.len(), q.len());
            for k in 0..q.len() {
                let mut moved = q.clone();
                moved[k] += DIFFERENCE;
                if let Some(other) = self.rest(&moved) {
                    slopes.set_column(k, &((other - &rest) / DIFFERENCE));
                }
            }
            let mut normal = slopes.tr_mul(&slopes);
            for k in 0..q.len() {
                normal[(k, k)] *= 1.0 + damping;
            }
            let Some(factor) = normal.cholesky() else { break };
            let step = factor.solve(&-slopes.tr_mul(&rest));
            let moved = &q + &step;
            match self.rest(&moved).filter(|other| other.norm_squared() < rest.norm_squared()) {
                Some(other) => {
                    (q, rest, damping) = (moved, other, 0.3 * damping);
                    if step.norm() < 1e-4 {
                        break;
                    }
                }
                None if damping > 1e6 => break,
                None => damping *= 10.0,
            }
        }
        q
    }
}

/// The shims with the least error, a small price on each: each member's in turn over all thicknesses, until none changes.
fn best_shims(parts: &Members, error: impl Fn(&[f64]) -> f64) -> Vec<f64> {
    let mut shims = vec![0.0; parts.placed.len()];
    let priced = |shims: &[f64]| error(shims) + WORTH * shims.iter().map(|shim| shim.abs()).sum::<f64>();
    #[allow(clippy::cast_possible_truncation)] // some dozen
    let most = (MOST_SHIM / SHIM_STEP).round() as i32;
    for _ in 0..4 {
        let before = shims.clone();
        for side in 0..parts.sides() {
            let tried = (-most..=most).map(|k| {
                let mut tried = shims.clone();
                // a twentieth is not exact in binary: as it will be written
                tried[side] = (100.0 * SHIM_STEP * f64::from(k)).round() / 100.0;
                tried
            });
            let best = tried.min_by(|a, b| priced(a).total_cmp(&priced(b)));
            if let Some(best) = best.filter(|best| priced(best) < priced(&shims)) {
                shims = best;
            }
        }
        if shims == before {
            break;
        }
    }
    shims
}

/// The measurement, the curve asked for and the one expected with the shims, as a picture.
pub fn trim_plot(found: &Trimmed) -> CurvePlot {
    let curve = &found.curve;
    let trimmed = curve.deflection_mm.iter().zip(&curve.trimmed_n).filter(|(_, force)| force.is_finite());
    let (x, force) = trimmed.map(|(x, force)| (*x, *force)).unzip();
    CurvePlot {
        title: "The assembly measured".to_owned(),
        target_deflection: curve.deflection_mm.clone(),
        target_force: curve.measured_n.clone(),
        target_label: "measured".to_owned(),
        predicted_deflection: x,
        predicted_force: force,
        predicted_label: if found.shims.is_empty() { "explained" } else { "with the shims" }.to_owned(),
        compared: Some(Line {
            label: "asked for".to_owned(),
            x: curve.deflection_mm.clone(),
            y: curve.target_n.clone(),
        }),
        ..CurvePlot::default()
    }
}

#[cfg(test)]
#[path = "trim_tests.rs"]
mod tests;
