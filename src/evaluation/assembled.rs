//! One evaluation of an assembly: its own curve and space, and the verdicts of its discs.

use rayon::prelude::*;

use super::asked::Extent;
use super::fit::{FitSummary, MOST_POINTS, largest_relative};
use super::judge::parts_verdict;
use super::member::AssembledMember;
use super::parts::Parts;
use super::verdict::{NamedVerdict, Verdict, VerdictState, Verdicts};
use crate::assembly::{Arrangement, ForceCurve, PlacedMember, SHOULDER_MM, outer_plate_mm};
use crate::curve::{BandBreach, TargetCurve};
use crate::layout::Spring;
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::evenly_spread;
use crate::spec::{AssemblyFile, AssemblyKind, AssemblyMember, Side};
use crate::variation::VariationError;

/// Points of a disc's curve, from free to closed.
const CURVE_POINTS: usize = 240;
/// Crowding of these points towards closed, where the rate rises: the gaps shrink as the power of the share left.
const CROWDING: f64 = 1.4;

/// The force of a disc from free to closed.
pub fn force_curve(spring: &Spring) -> Result<Option<ForceCurve>, ModelError> {
    let model = Model::of(spring, &ModelSettings::default())?;
    let travel = model.travel();
    let stops: Vec<f64> = (1..=CURVE_POINTS)
        .map(|k| travel * (1.0 - (1.0 - k as f64 / CURVE_POINTS as f64).powf(CROWDING)))
        .collect();
    let response = model.response(&stops)?;
    Ok(ForceCurve::through(&response.deflection, &response.force))
}

/// The curve of an assembly. All lists have the same length; `deflection` counts from where it rests.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AssembledCurve {
    /// deflection (mm)
    pub deflection: Vec<f64>,
    /// force (N)
    pub force: Vec<f64>,
    /// rate (N/mm)
    pub rate: Vec<f64>,
    /// least seated share of the discs (0 to 1)
    pub seated_share: Vec<f64>,
    /// largest surface von Mises stress of the discs (MPa)
    pub peak_stress: Vec<f64>,
    /// least and largest friction (N), each way
    pub friction: Vec<[f64; 2]>,
    /// deflection of one disc of each member (mm), one list a member
    pub discs: Vec<Vec<f64>>,
}

impl AssembledCurve {
    /// Of discs in their arrangement at deflections of the whole (mm).
    pub fn of(
        springs: &[&Spring],
        arrangement: &Arrangement,
        deflection: &[f64],
    ) -> Result<Self, ModelError> {
        let each: Vec<Vec<f64>> = deflection.iter().map(|x| arrangement.disc_deflections(*x)).collect();
        let discs: Vec<Vec<f64>> =
            (0..springs.len()).map(|k| each.iter().map(|of| of[k]).collect()).collect();
        let mut curve = Self {
            deflection: deflection.to_vec(),
            force: deflection.iter().map(|x| arrangement.force(*x)).collect(),
            rate: deflection.iter().map(|x| arrangement.rate(*x)).collect(),
            seated_share: vec![1.0; deflection.len()],
            peak_stress: vec![0.0; deflection.len()],
            friction: deflection.iter().map(|x| arrangement.friction(*x)).collect(),
            discs,
        };
        for (spring, discs) in springs.iter().zip(&curve.discs) {
            // the model takes deflections that increase
            let mut order: Vec<f64> = discs.clone();
            order.sort_by(f64::total_cmp);
            order.dedup();
            let model = Model::of(spring, &ModelSettings::default())?;
            let response = model.response(&order)?;
            for (i, at) in discs.iter().enumerate() {
                let place = order.partition_point(|x| x < at);
                curve.peak_stress[i] = curve.peak_stress[i].max(response.peak_stress[place]);
                curve.seated_share[i] = curve.seated_share[i].min(response.seated_share[place]);
            }
        }
        Ok(curve)
    }
}

/// An assembly, the question put to it, and the answer.
#[derive(Debug, Clone)]
pub struct AssembledEvaluation {
    /// the assembly
    pub file: AssemblyFile,
    /// its members
    pub members: Vec<AssembledMember>,
    /// the members in their places
    pub arrangement: Arrangement,
    /// curve asked for
    pub target: Option<TargetCurve>,
    /// the curve at the target's points, or over the travel where none is asked for
    pub curve: AssembledCurve,
    /// errors against the curve asked for
    pub fit: Option<FitSummary>,
    /// assemblies as wanted; none where the extent leaves them out
    pub parts: Option<Result<Parts, VariationError>>,
    /// verdicts on the whole
    pub verdicts: Verdicts,
    /// folder of the member that is worst in a verdict, by its name
    pub worst: Vec<(&'static str, String)>,
    /// warnings, a sentence each
    pub warnings: Vec<String>,
}

/// Why an assembly has no evaluation.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AssembledError {
    /// No curve of a member.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// Nothing to put together.
    #[error(
        "{found} members of an assembly of kind \"{kind}\" have no force together; correct the members' files"
    )]
    NoForce {
        /// members
        found: usize,
        /// kind
        kind: &'static str,
    },
    /// No way of the hub of a pair behind a third disc.
    #[error(
        "member.spacer of side \"c\": found {found} mm, expected more than {least} mm: the plate over the pair and the shoulder \
         on the rod take as much; give the distance from the underside of that plate to the hub of the disc at rest"
    )]
    ShortRod {
        /// spacer (mm)
        found: f64,
        /// plate and shoulder (mm)
        least: f64,
    },
}

/// Points of a curve without a target.
const FREE_POINTS: usize = 100;
/// Share of the travel that such a curve covers.
const FREE_SHARE: f64 = 0.99;

impl AssembledEvaluation {
    /// Evaluates an assembly of evaluated members. `file.height` is set to what the members make it.
    pub fn of(
        file: &AssemblyFile,
        members: Vec<AssembledMember>,
        target: Option<TargetCurve>,
        extent: Extent,
    ) -> Result<Self, AssembledError> {
        let arrangement = arrangement(file.kind, &members)?;
        let (deflection, fit) = match &target {
            Some(target) => {
                let kept = evenly_spread(target.len(), MOST_POINTS);
                let points: Vec<f64> = kept.into_iter().map(|i| target.deflection[i]).collect();
                (points, Some(fit(&arrangement, target, file)))
            }
            None => (free_points(&arrangement), None),
        };
        let (low, high) = (arrangement.travel_back(), arrangement.travel());
        let within: Vec<f64> = deflection.into_iter().map(|x| x.max(low).min(high)).collect();
        let springs: Vec<&Spring> = members.iter().map(|member| &member.evaluation.spring).collect();
        let curve = AssembledCurve::of(&springs, &arrangement, &within)?;
        let mut file = file.clone();
        // as it will stand in the file
        file.height = (1e3 * arrangement.height_at_rest()).round() / 1e3;
        let breach = target.as_ref().and_then(|target| target.band_breach(&curve.deflection, &curve.force));
        let least = file.fit.as_ref().and_then(|fit| fit.good_parts_min);
        let parts = (extent == Extent::Whole || least.is_some()).then(|| {
            let tolerance = tolerance_percent(&file, target.as_ref());
            Parts::of_assembly(file.kind, &members, target.as_ref(), tolerance)
        });
        let of_the_whole = [
            (
                "curve",
                curve_verdict(
                    &arrangement,
                    fit.as_ref(),
                    breach.as_ref(),
                    rms_counts(&file, target.as_ref()),
                ),
            ),
            ("parts", parts_verdict(parts.as_ref().and_then(|parts| parts.as_ref().ok()), least)),
            ("assembly", assembly_verdict(&file, &arrangement)),
        ];
        let (verdicts, worst) = verdicts(&members, of_the_whole);
        let warnings = warnings(&members, &verdicts);
        let mut fit = fit;
        if let Some(fit) = &mut fit
            && let Some(verdict) = verdicts.get("curve")
            && verdict.state.fails()
        {
            fit.reason.clone_from(&verdict.reason);
        }
        Ok(Self { file, members, arrangement, target, curve, fit, parts, verdicts, worst, warnings })
    }

    /// Whether everything asked is yes.
    pub fn passed(&self) -> bool {
        self.verdicts.passed()
    }

    /// Assemblies as wanted, where they were computed.
    pub fn good_parts(&self) -> Option<&Parts> {
        self.parts.as_ref().and_then(|parts| parts.as_ref().ok())
    }

    /// Largest rms force error that counts as met (percent).
    pub fn tolerance_percent(&self) -> f64 {
        tolerance_percent(&self.file, self.target.as_ref())
    }
}

fn tolerance_percent(file: &AssemblyFile, target: Option<&TargetCurve>) -> f64 {
    let of_curve = target.and_then(|target| target.tolerance_percent);
    file.fit.as_ref().and_then(|fit| fit.tolerance_percent).or(of_curve).unwrap_or(3.0)
}

/// Whether the rms error decides: a band is the requirement, and a tolerance counts beside it only where one is given.
fn rms_counts(file: &AssemblyFile, target: Option<&TargetCurve>) -> bool {
    let band = target.is_some_and(|target| target.force_min.is_some() || target.force_max.is_some());
    let named = file.fit.as_ref().is_some_and(|fit| fit.tolerance_percent.is_some())
        || target.is_some_and(|target| target.tolerance_percent.is_some());
    named || !band
}

/// Deflections over the whole travel (mm).
pub fn free_points(arrangement: &Arrangement) -> Vec<f64> {
    let (from, to) = (FREE_SHARE * arrangement.travel_back(), FREE_SHARE * arrangement.travel());
    (0..=FREE_POINTS).map(|k| from + (to - from) * k as f64 / FREE_POINTS as f64).collect()
}

fn arrangement(kind: AssemblyKind, members: &[AssembledMember]) -> Result<Arrangement, AssembledError> {
    let springs: Vec<(&AssemblyMember, &Spring)> =
        members.iter().map(|member| (&member.member, &member.evaluation.spring)).collect();
    arranged(kind, &springs)
}

/// Springs in the places that an assembly file gives them.
pub fn arranged(
    kind: AssemblyKind,
    members: &[(&AssemblyMember, &Spring)],
) -> Result<Arrangement, AssembledError> {
    let found = members.len();
    let thickest = members.iter().map(|(_, spring)| spring.sheet.thickness).fold(0.0, f64::max);
    let least = outer_plate_mm(thickest) + SHOULDER_MM;
    if let Some((third, _)) = members.iter().find(|(member, _)| member.side == Some(Side::C))
        && third.spacer <= least
    {
        return Err(AssembledError::ShortRod { found: third.spacer, least });
    }
    let curves: Vec<Option<ForceCurve>> =
        members.par_iter().map(|(_, spring)| force_curve(spring)).collect::<Result<_, _>>()?;
    let placed: Option<Vec<PlacedMember>> = curves
        .into_iter()
        .zip(members)
        .map(|(curve, (member, spring))| {
            Some(PlacedMember {
                curve: curve?,
                count: member.count,
                stacking: member.stacked.unwrap_or_default(),
                installed: member.installed,
                thickness: spring.sheet.thickness,
                spacer: member.spacer,
            })
        })
        .collect();
    placed
        .and_then(|placed| Arrangement::of(kind, placed))
        .ok_or(AssembledError::NoForce { found, kind: kind.name() })
}

fn fit(arrangement: &Arrangement, target: &TargetCurve, file: &AssemblyFile) -> FitSummary {
    // a curve that asks for more than the travel meets the plate there
    let (low, high) = (arrangement.travel_back(), arrangement.travel());
    let force: Vec<f64> = target.deflection.iter().map(|x| arrangement.force(x.max(low).min(high))).collect();
    let (rms_percent, max_percent) = target.errors_percent(&force);
    let (largest_relative_percent, largest_relative_at_mm) = largest_relative(target, &force);
    FitSummary {
        rms_percent,
        max_percent,
        largest_relative_percent,
        largest_relative_at_mm,
        reachable: target.force.windows(2).all(|pair| pair[1] >= pair[0]),
        reason: String::new(),
        tolerance_percent: tolerance_percent(file, Some(target)),
    }
}

/// Verdicts by name: those of the whole, else that of the disc that is worst in it.
fn verdicts(
    members: &[AssembledMember],
    of_the_whole: [(&'static str, Verdict); 3],
) -> (Verdicts, Vec<(&'static str, String)>) {
    let mut worst = Vec::new();
    let rows = members.first().map(|first| first.evaluation.verdicts.0.clone()).unwrap_or_default();
    let named = rows
        .into_iter()
        .map(|row| {
            if let Some((_, verdict)) = of_the_whole.iter().find(|(name, _)| *name == row.name) {
                return NamedVerdict { verdict: verdict.clone(), ..row };
            }
            let of = |member: &AssembledMember| member.evaluation.verdicts.get(row.name).cloned();
            let found = members
                .iter()
                .filter_map(|member| Some((member.member.folder.clone(), of(member)?)))
                .max_by(|a, b| badness(&a.1).total_cmp(&badness(&b.1)));
            let Some((folder, mut verdict)) = found else { return row };
            if verdict.state != VerdictState::NotAsked {
                verdict.reason = format!("{folder}: {}", verdict.reason);
            }
            worst.push((row.name, folder));
            NamedVerdict { verdict, ..row }
        })
        .collect();
    (Verdicts(named), worst)
}

/// Order of verdicts: no, not judged, yes by the share of the limit used, not asked.
fn badness(verdict: &Verdict) -> f64 {
    let state = match verdict.state {
        VerdictState::No => 3e6,
        VerdictState::NotJudged => 2e6,
        VerdictState::Yes => 1e6,
        VerdictState::NotAsked => 0.0,
    };
    let used = match (verdict.value, verdict.limit) {
        (Some(value), Some(limit)) if limit > 0.0 => (value / limit).min(1e3),
        _ => 0.0,
    };
    state + used
}

fn curve_verdict(
    arrangement: &Arrangement,
    fit: Option<&FitSummary>,
    breach: Option<&BandBreach>,
    rms_counts: bool,
) -> Verdict {
    let Some(fit) = fit else { return Verdict::not_asked("no curve is asked for") };
    let figures = format!(
        "{:.2} % rms, {} % allowed; largest {:.1} % of the force there",
        fit.rms_percent, fit.tolerance_percent, fit.largest_relative_percent
    );
    let verdict = match breach {
        _ if !fit.rms_percent.is_finite() => Verdict::new(
            VerdictState::No,
            "a disc is closed before the curve begins",
            "deflect the discs less at rest (installed), or take taller ones",
        ),
        _ if rms_counts && fit.rms_percent > fit.tolerance_percent => Verdict::new(
            VerdictState::No,
            format!("{figures}; the travel of the assembly is {:.2} mm", arrangement.travel()),
            "allow more discs (assembly.discs_max), more height, a larger disc or a wider tolerance",
        ),
        Some(breach) => Verdict::new(
            VerdictState::No,
            format!("{figures}; {}", breach.said()),
            "allow more discs (assembly.discs_max), more height or a wider band",
        ),
        None => Verdict::yes(figures),
    };
    verdict
        .with(fit.rms_percent, Some(fit.tolerance_percent), "%")
        .at(format!("largest relative error at {:.2} mm", fit.largest_relative_at_mm))
}

fn assembly_verdict(file: &AssemblyFile, arrangement: &Arrangement) -> Verdict {
    let (discs, height) = (file.discs(), arrangement.height_at_rest());
    let limits = file.assembly.clone().unwrap_or_default();
    let most = limits.discs_max;
    let said = format!(
        "{} of {discs} discs, {height:.2} mm between the plates at rest, {:.2} mm closed",
        file.kind.name(),
        arrangement.closed_height()
    );
    let over = arrangement
        .members()
        .iter()
        .zip(&file.member)
        .find(|(placed, _)| placed.installed > FREE_SHARE * placed.curve.closed());
    let verdict = if let Some((placed, member)) = over {
        Verdict::new(
            VerdictState::No,
            format!(
                "{said}; {} is deflected by {:.2} mm at rest and closes at {:.2} mm",
                member.folder,
                placed.installed,
                placed.curve.closed()
            ),
            "deflect it less at rest, or take a taller disc",
        )
    } else if most.is_some_and(|most| discs > most) {
        Verdict::new(VerdictState::No, said, "allow more discs (assembly.discs_max)")
    } else if limits.height_max.is_some_and(|most| height > most) {
        Verdict::new(VerdictState::No, said, "allow more height (assembly.height_max)")
    } else {
        Verdict::yes(said)
    };
    verdict.with(height, limits.height_max, "mm").at("between the plates at rest")
}

/// Warnings of the whole, then those of the discs that are not about their own curves.
fn warnings(members: &[AssembledMember], verdicts: &Verdicts) -> Vec<String> {
    let mut warnings: Vec<String> = verdicts
        .failing()
        .map(|named| {
            let verdict = &named.verdict;
            let remedy =
                if verdict.remedy.is_empty() { String::new() } else { format!("; {}", verdict.remedy) };
            format!("{} {}: {}{remedy}", named.label, verdict.state.word(), verdict.reason)
        })
        .collect();
    for member in members {
        let evaluation = &member.evaluation;
        let failing = evaluation.verdicts.failing().count();
        // the first ones repeat the verdicts, which are above
        let others = evaluation.warnings.iter().skip(failing);
        warnings.extend(others.map(|warning| format!("{}: {warning}", member.member.folder)));
    }
    warnings
}
