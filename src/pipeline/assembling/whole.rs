//! The assembly of one plan: each disc searched for as a single one is, all shaped together for the error of the whole, put
//! between plates and evaluated.

use super::joint::Joint;
use super::member::{Disc, Effort};
use super::plan::Plan;
use super::{AssemblyAnswer, AssemblyDesignSummary};
use crate::assembly::{Arrangement, MemberTarget, PLATE_MM, SHOULDER_MM, Spacers, outer_plate_mm};
use crate::curve::TargetCurve;
use crate::evaluation::{
    AssembledError, AssembledEvaluation, AssembledMember, AssembledSummary, Extent, MOST_POINTS,
};
use crate::numeric::{evenly_spread, short};
use crate::pipeline::answer::{Answer, AnswerError, Question, Wishes};
use crate::spec::{
    AssemblyChoice, AssemblyFile, AssemblyKind, AssemblyMember, Brief, Fit, Pressing, Side, Target,
};
use crate::synthesis::SearchError;

/// Least thickness of a hub piece between two discs (mm): enough for a shoulder. Common practice.
const HUB_PIECE: f64 = 2.0;
/// Way of the hub of a pair behind a third disc to its stop, beyond the last deflection asked for, over the way to there.
const HUB_RESERVE: f64 = 0.1;
/// Clearance between arms of two discs that face each other (mm).
const CLEARANCE: f64 = 1.0;

/// The assembly of a plan, its discs searched for with an effort.
pub(super) fn assemble(
    wishes: &Wishes,
    question: &Question,
    plan: &Plan,
    effort: Effort,
) -> Result<AssemblyAnswer, AnswerError> {
    let (target, tolerance) = (&question.target, question.tolerance_percent());
    let first = target.deflection.first().copied().unwrap_or(0.0);
    let mut discs: Vec<Disc> = Vec::new();
    for (k, member) in plan.members.iter().enumerate() {
        if k == 1 && plan.symmetric {
            let twin = discs[0].clone();
            discs.push(twin);
            continue;
        }
        let installed = match plan.kind {
            AssemblyKind::Opposed if k == 0 => member.target.installed - first / member.count as f64,
            AssemblyKind::Opposed => member.target.installed + target.max_deflection() / member.count as f64,
            // the hub of the pair moves by less than the whole
            AssemblyKind::OpposedSeries if k == 1 => member.target.reach(),
            _ => member.target.installed,
        };
        discs.push(Disc::search(wishes, member, &question.brief, installed, effort)?);
    }
    let over = || (wishes.stopped)() || (wishes.time_is_up)();
    let joint = Joint { kind: plan.kind, target, tolerance, symmetric: plan.symmetric, over: &over };
    let discs = joint.shape(discs);
    finished(question, plan, &joint, &discs)
}

/// The discs evaluated, put together and evaluated again.
fn finished(
    question: &Question,
    plan: &Plan,
    joint: &Joint,
    discs: &[Disc],
) -> Result<AssemblyAnswer, AnswerError> {
    let target = &question.target;
    let arrangement = joint.arrangement(discs).ok_or(SearchError::NoForce)?;
    let mut answers: Vec<(String, Answer)> = Vec::new();
    let mut members = Vec::new();
    for (k, disc) in discs.iter().enumerate() {
        let folder = if discs.len() == 1 || plan.symmetric {
            "disc".to_owned()
        } else {
            ["disc-a", "disc-b", "disc-c"][k.min(2)].to_owned()
        };
        let wanted = wanted_of(joint, discs, k, &arrangement, target);
        let answer = match answers.iter().find(|(other, _)| *other == folder) {
            Some((_, answer)) => answer.clone(),
            None => disc.answer(&wanted)?,
        };
        let side = plan.kind.sides().get(k).copied();
        let member = AssemblyMember {
            folder: folder.clone(),
            side,
            count: disc.count,
            stacked: (disc.count > 1).then_some(disc.stacking),
            installed: disc.installed,
            spacer: 0.0,
        };
        members.push(AssembledMember { member, evaluation: answer.evaluation.clone() });
        if !answers.iter().any(|(other, _)| *other == folder) {
            answers.push((folder, answer));
        }
    }
    set_spacers(&arrangement, target.max_deflection(), &mut members, question.brief.seat.pressing);
    let file = assembly_file(plan.kind, &members, question);
    let evaluation =
        AssembledEvaluation::of(&file, members, Some(target.clone()), Extent::Whole).map_err(|error| {
            match error {
                AssembledError::Model(error) => AnswerError::from(error),
                AssembledError::NoForce { .. } | AssembledError::ShortRod { .. } => {
                    SearchError::NoForce.into()
                }
            }
        })?;
    let mut notes = target.notes.clone();
    notes.extend(limits_and_friction(&evaluation));
    for (folder, answer) in &answers {
        let of_disc = answer.summary.evaluation.warnings.iter().skip(answer.evaluation.warnings.len());
        notes.extend(of_disc.map(|note| format!("{folder}: {note}")));
    }
    let summary = AssemblyDesignSummary {
        evaluation: AssembledSummary::of(&evaluation, &notes),
        choice: String::new(),
        one_disc: None,
        tried: Vec::new(),
        single_changes: Vec::new(),
        cut_short: false,
    };
    Ok(AssemblyAnswer { question: question.clone(), discs: answers, evaluation, summary })
}

/// Target of one disc in the end: the force that the others leave to it, over all deflections that it sees.
fn wanted_of(
    joint: &Joint,
    discs: &[Disc],
    k: usize,
    arrangement: &Arrangement,
    target: &TargetCurve,
) -> MemberTarget {
    let (travel, times) = discs[k].multiples();
    let mut points: Vec<[f64; 2]> = joint
        .left_to(discs, k)
        .unwrap_or_default()
        .into_iter()
        .map(|[x, force, _]| [x / travel, force / times])
        .filter(|[x, force]| *x >= 0.0 && *force >= 0.0)
        .collect();
    points.sort_by(|a, b| a[0].total_cmp(&b[0]));
    points.dedup_by(|a, b| a[0] - b[0] < 1e-4);
    // a force below an earlier one is not for a disc to follow
    for i in 1..points.len() {
        points[i][1] = points[i][1].max(points[i - 1][1]);
    }
    let seen = |x: f64| arrangement.disc_deflections(x)[k];
    let ends = [seen(target.deflection[0]), seen(target.max_deflection())];
    let installed = ends[0].min(ends[1]).min(points.first().map_or(f64::INFINITY, |point| point[0]));
    MemberTarget {
        installed,
        deflection: points.iter().map(|[x, _]| ((x - installed) * 1e6).round() / 1e6).collect(),
        force: points.iter().map(|[_, force]| *force).collect(),
        closes: discs[k].closes,
    }
}

/// Spacers so that arms of neighbouring discs never meet: hub pieces between hubs, plates between rims. That of a third
/// disc is the plate over the pair, the shoulder and the way of the hub over the curve to `last` (mm), with a reserve.
fn set_spacers(arrangement: &Arrangement, last: f64, members: &mut [AssembledMember], pressing: Pressing) {
    let proud = members.iter().map(|member| member.evaluation.checks.flat.proud_mm).fold(0.0, f64::max);
    let arms = if pressing == Pressing::Plates { PLATE_MM } else { 2.0 * proud + CLEARANCE };
    // to the next tenth of a millimetre
    let up = |value: f64| (10.0 * value - 1e-9).ceil() / 10.0;
    let hub_piece = up(arms.max(HUB_PIECE));
    let thickest = members.iter().map(|member| member.evaluation.spring.sheet.thickness).fold(0.0, f64::max);
    let (count, travel) = (members.len(), arrangement.travel());
    // the hub of a pair sinks so far over the curve
    let sinks = arrangement.hub_deflection(arrangement.force(last.min(travel))).unwrap_or(0.0);
    for (k, member) in members.iter_mut().enumerate() {
        member.member.spacer = if member.member.side == Some(Side::C) {
            up(outer_plate_mm(thickest) + SHOULDER_MM + (1.0 + HUB_RESERVE) * sinks)
        } else {
            Spacers::of(arrangement.kind(), k, count, &member.member, hub_piece).total()
        };
    }
}

fn assembly_file(kind: AssemblyKind, members: &[AssembledMember], question: &Question) -> AssemblyFile {
    let (target, brief) = (&question.target, &question.brief);
    let keep = evenly_spread(target.len(), MOST_POINTS);
    let pick = |list: &[f64]| keep.iter().map(|&i| list[i]).collect::<Vec<f64>>();
    let named = brief.fit.tolerance_percent.or(target.tolerance_percent);
    AssemblyFile {
        format: 1,
        kind,
        height: 0.0,
        member: members.iter().map(|member| member.member.clone()).collect(),
        assembly: Some(limits(brief, members)),
        fit: Some(Fit { tolerance_percent: named, ..brief.fit.clone() }),
        target: Some(Target {
            file: None,
            deflection: Some(pick(&target.deflection)),
            force: Some(pick(&target.force)),
            force_min: target.force_min.as_deref().map(pick),
            force_max: target.force_max.as_deref().map(pick),
        }),
    }
}

fn limits(brief: &Brief, members: &[AssembledMember]) -> AssemblyChoice {
    let discs = members.iter().map(|member| member.member.count).sum();
    // where the brief does not say, a third disc is allowed
    let most = brief.assembly.discs_max.unwrap_or(brief.assembly.discs_max().max(discs));
    AssemblyChoice { discs_max: Some(most), ..brief.assembly.clone() }
}

/// Limit that prevents an assembly from following a curve that it misses, with its numbers.
fn binding(evaluation: &AssembledEvaluation) -> Option<String> {
    evaluation.verdicts.get("curve").filter(|verdict| verdict.state.fails())?;
    let target = evaluation.target.as_ref()?;
    let rates = |rates: &mut dyn Iterator<Item = f64>| {
        rates
            .filter(|rate| rate.is_finite())
            .fold((f64::INFINITY, 0.0_f64), |(low, high), rate| (low.min(rate), high.max(rate)))
    };
    let (low, high) = rates(&mut evaluation.curve.rate.iter().copied());
    let (soft, hard) = rates(&mut target.deflection.iter().skip(1).map(|x| target.rate_at(x - 1e-9)));
    let members: Vec<String> = evaluation
        .members
        .iter()
        .zip(evaluation.arrangement.preloads())
        .map(|(AssembledMember { member, evaluation }, preload)| {
            let strength = evaluation.verdicts.get("strength");
            let stress = strength.and_then(|verdict| verdict.value.zip(verdict.limit));
            let stress = stress.map_or_else(String::new, |(value, limit)| {
                format!(", its stress {value:.0} of {limit:.0} MPa")
            });
            format!(
                "{} has {preload:.1} N of preload at {:.2} of {:.2} mm{stress}",
                member.folder, member.installed, evaluation.spring.former.free_height
            )
        })
        .collect();
    Some(format!(
        "limit: rates of {} to {} N/mm are reached, {} to {} N/mm are asked for; {}",
        short(low),
        short(high),
        short(soft),
        short(hard),
        members.join("; ")
    ))
}

/// Notes on friction and loose discs, a sentence each.
fn limits_and_friction(evaluation: &AssembledEvaluation) -> Vec<String> {
    let curve = &evaluation.curve;
    let mut said: Vec<String> = binding(evaluation).into_iter().collect();
    if let (Some([least, most]), Some(force), Some(x)) =
        (curve.friction.last(), curve.force.last(), curve.deflection.last())
    {
        said.push(format!(
            "friction at seats and between sheets (2 to 3 % of the force of each face, common practice): loading needs {least:.2} \
             to {most:.2} N more and unloading gives as much less at {x:.2} mm, where the force is {force:.1} N"
        ));
    }
    if let Some(loose) = evaluation.arrangement.loose_from()
        && curve.deflection.last().is_some_and(|last| loose < *last)
    {
        said.push(format!("disc b is loose from {loose:.2} mm on: a vibrating spring may rattle there"));
    }
    said
}
