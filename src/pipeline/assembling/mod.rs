//! The design of assemblies: one disc where one suffices, else the simplest assembly that suffices.
//!
//! A wanted curve is split into those of its discs ([`crate::assembly::split`]), each disc is searched for as a single one
//! is, and all are shaped together for the error of the whole.

mod joint;
mod member;
mod plan;

use serde::Serialize;

use self::joint::Joint;
use self::member::Disc;
use self::plan::{PairLimit, Plan, Plans};
use super::answer::{Answer, AnswerError, Question, Wishes, answer_with};
use crate::assembly::{Arrangement, MemberTarget, PLATE_MM, SHOULDER_MM, Spacers, outer_plate_mm};
use crate::curve::{RMS_TOLERANCE_PERCENT, TargetCurve, nearest_reachable};
use crate::evaluation::{
    AssembledError, AssembledEvaluation, AssembledMember, AssembledSummary, Extent, MOST_POINTS, json_bytes,
};
use crate::numeric::{evenly_spread, short};
use crate::spec::{
    AssemblyFile, AssemblyKind, AssemblyMember, AssemblyWish, Brief, Fit, Pressing, Side, Target,
};
use crate::synthesis::SearchError;

/// Departure from every curve of one disc, over the tolerance, from which on several are tried first.
const FAR: f64 = 1.2;
/// Least thickness of a hub piece between two discs (mm): enough for a shoulder. Common practice.
const HUB_PIECE: f64 = 2.0;
/// Way of the hub of a pair behind a third disc to its stop, beyond the last deflection asked for, over the way to there.
const HUB_RESERVE: f64 = 0.1;
/// Clearance between arms of two discs that face each other (mm).
const CLEARANCE: f64 = 1.0;

/// An assembly as the answer.
#[derive(Debug, Clone)]
pub struct AssemblyAnswer {
    /// the question
    pub question: Question,
    /// the discs by folder, each with what is wanted of it
    pub discs: Vec<(String, Answer)>,
    /// evaluation of the whole
    pub evaluation: AssembledEvaluation,
    /// verdicts and numbers
    pub summary: AssemblyDesignSummary,
}

/// Verdicts and numbers of a designed assembly.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AssemblyDesignSummary {
    /// verdicts and numbers of the whole
    #[serde(flatten)]
    pub evaluation: AssembledSummary,
    /// reason of the choice, one sentence
    pub choice: String,
    /// what one disc would have reached; null where one disc was not asked for
    pub one_disc: Option<OneDisc>,
    /// other assemblies that were tried, in their order
    pub tried: Vec<Tried>,
}

impl AssemblyDesignSummary {
    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
}

/// Reach of one disc: by a search, or at best by the law of seating where that is far off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OneDisc {
    /// root mean square force error (percent of the error base); null without a spring
    pub rms_percent: Option<f64>,
    /// verdicts that are no or not judged
    pub failed: Vec<&'static str>,
    /// reason, a sentence
    pub reason: String,
}

/// An assembly that was tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// the assembly in words
    pub assembly: String,
    /// root mean square force error (percent of the error base); null where a disc was not found
    pub rms_percent: Option<f64>,
    /// verdicts that are no or not judged
    pub failed: Vec<&'static str>,
    /// height between the plates at rest (mm)
    pub height_mm: Option<f64>,
    /// why a disc was not found; empty where all were
    pub reason: String,
}

/// Answer to a question that several discs may answer.
#[derive(Debug, Clone)]
pub enum Solution {
    /// one disc
    Single(Box<Answer>),
    /// an assembly
    Assembly(Box<AssemblyAnswer>),
}

/// Answers a question with one disc where one suffices, else with the simplest assembly that suffices, within the
/// brief's `assembly`.
pub fn solve(wishes: &Wishes, question: Question) -> Result<Solution, AnswerError> {
    let brief = &question.brief;
    let wish = brief.assembly.kind;
    let two_sided = question.target.deflection.first().is_some_and(|x| *x < 0.0);
    let tolerance = question.tolerance_percent();
    let one_may = matches!(wish, AssemblyWish::Any | AssemblyWish::Single) && !two_sided;
    let more_may = wish != AssemblyWish::Single && brief.assembly.discs_max() > 1;
    // a curve far from every disc's is left to several first; one disc is searched for where they fail
    let far = if one_may && more_may { far_from_one_disc(&question, tolerance) } else { None };
    let mut single = None;
    if one_may && far.is_none() {
        let answer = answer_with(wishes, question.clone())?;
        let fails = |name: &str| answer.evaluation.verdicts.get(name).is_some_and(|v| v.state.fails());
        let done = !(fails("curve") || fails("strength") || fails("flat"));
        if done || !more_may || (wishes.time_is_up)() {
            return Ok(Solution::Single(Box::new(answer)));
        }
        single = Some(answer);
    }
    let plans = Plans::of(&question.target, brief, tolerance);
    let mut one_disc = single.as_ref().map(one_disc).or_else(|| far.clone());
    let preload = plans.least_installed.map(|least| preload_words(least, &question, tolerance));
    // one disc that rests against a stop, deflected at rest
    let mut unheld = None;
    for installed in plans.installed.iter().filter(|_| one_may) {
        let mut pressed = question.clone();
        pressed.brief.duty.installed = Some((installed * 1e3).round() / 1e3);
        let answer = match answer_with(wishes, pressed) {
            Ok(answer) => {
                let least = preload.as_deref().filter(|_| answer.evaluation.passed());
                preloaded(answer, *installed, least)
            }
            Err(AnswerError::Search(SearchError::NothingFits { considered, reason })) => {
                unheld = Some(SearchError::NothingFits { considered, reason });
                continue;
            }
            Err(error) => return Err(error),
        };
        if answer.evaluation.passed() {
            return Ok(Solution::Single(Box::new(answer)));
        }
        if nearer_single(&answer, single.as_ref()) {
            one_disc = Some(self::one_disc(&answer));
            single = Some(answer);
        }
    }
    let (best, tried) = search_plans(wishes, &question, &plans.tried, tolerance, single.is_some())?;
    if single.is_none() && far.is_some() && !best.as_ref().is_some_and(|best| best.evaluation.passed()) {
        let answer = answer_with(wishes, question.clone())?;
        one_disc = Some(self::one_disc(&answer));
        single = Some(answer);
    }
    let limit = plans.limit.map(|limit| limit_words(&limit, &question, tolerance));
    let limit = match (limit, preload) {
        (Some(limit), Some(preload)) => Some(format!("{limit}; {preload}")),
        (limit, preload) => limit.or(preload),
    };
    if let (None, None, Some(SearchError::NothingFits { considered, reason })) = (&single, &best, unheld) {
        let reason = limit.map_or_else(|| reason.clone(), |limit| format!("{reason}; {limit}"));
        return Err(SearchError::NothingFits { considered, reason }.into());
    }
    choose(question, single, best, one_disc, tried, limit)
}

/// Deflection at rest that a curve asks for which starts with a force, and why it is no less.
fn preload_words(least: f64, question: &Question, tolerance: f64) -> String {
    let target = &question.target;
    format!(
        "from {} N at the start to {} N at {:.2} mm: within {tolerance} % rms a disc has to be deflected by about \
         {least:.0} mm at rest, and be as much taller, because its rate never falls; several in series need as much together, and \
         an opposed pair is stiffer",
        short(target.force[0]),
        short(target.max_force()),
        target.max_deflection()
    )
}

/// Why no opposed pair has the curve, and what a third disc in series does about it.
fn limit_words(limit: &PairLimit, question: &Question, tolerance: f64) -> String {
    let PairLimit { lacks, rms_percent, with_third_percent } = limit;
    let mut said = format!(
        "the rate asked for starts with {} N/mm and falls by {} N/mm in all: an opposed pair can lose no more than it \
         starts with, and comes as near as {rms_percent:.2} % rms",
        short(lacks.start),
        short(lacks.falls)
    );
    if let Some(rms) = with_third_percent {
        said.push_str(&format!("; with a third disc in series, which makes the start soft, {rms:.2} % rms"));
    } else if *rms_percent > tolerance && !question.brief.assembly.third_disc() {
        said.push_str(
            "; a third disc in series makes the start soft and may come nearer: allow it (assembly.discs_max = 3, \
             assembly.kind = \"any\" or \"opposed-series\")",
        );
    }
    said
}

/// The plans searched for in their order until one passes: the best assembly, and what each of them reached.
fn search_plans(
    wishes: &Wishes,
    question: &Question,
    plans: &[Plan],
    tolerance: f64,
    have_one: bool,
) -> Result<(Option<AssemblyAnswer>, Vec<Tried>), AnswerError> {
    let mut best: Option<AssemblyAnswer> = None;
    let mut tried = Vec::new();
    for plan in plans {
        if (wishes.time_is_up)() && (best.is_some() || have_one) {
            break;
        }
        let mut outcome = Tried {
            assembly: plan.name(),
            rms_percent: None,
            failed: Vec::new(),
            height_mm: None,
            reason: String::new(),
        };
        match assemble(wishes, question, plan, tolerance) {
            Ok(found) => {
                outcome.rms_percent = found.evaluation.fit.as_ref().map(|fit| fit.rms_percent);
                outcome.failed = found.evaluation.verdicts.failed();
                outcome.height_mm = Some(found.evaluation.arrangement.height_at_rest());
                if best.as_ref().is_none_or(|best| rank(&found) < rank(best)) {
                    best = Some(found);
                }
            }
            Err(AnswerError::Search(SearchError::Stopped)) => return Err(SearchError::Stopped.into()),
            Err(error) => outcome.reason = error.to_string(),
        }
        tried.push(outcome);
        if best.as_ref().is_some_and(|best| best.evaluation.passed()) {
            break;
        }
    }
    Ok((best, tried))
}

/// Best reach of one disc, where that is far from the tolerance: by the law of seating, without a search.
fn far_from_one_disc(question: &Question, tolerance: f64) -> Option<OneDisc> {
    let reach = nearest_reachable(&question.target, question.brief.duty.installed.unwrap_or(0.0));
    let starts = question.target.force.first().is_some_and(|force| *force > 0.0);
    if reach.reachable || starts || reach.rms_percent <= FAR * tolerance + RMS_TOLERANCE_PERCENT {
        return None;
    }
    let reason = reach.findings.first().map(|finding| finding.reason.clone()).unwrap_or_default();
    Some(OneDisc { rms_percent: Some(reach.rms_percent), failed: vec!["curve"], reason })
}

/// The answer out of what was found.
fn choose(
    question: Question,
    single: Option<Answer>,
    best: Option<AssemblyAnswer>,
    one_disc: Option<OneDisc>,
    tried: Vec<Tried>,
    limit: Option<String>,
) -> Result<Solution, AnswerError> {
    let better = match (&single, &best) {
        (Some(single), Some(best)) => {
            let curve = |verdicts: &crate::evaluation::Verdicts| {
                verdicts.get("curve").is_some_and(|verdict| verdict.state.fails())
            };
            let own = (curve(&best.evaluation.verdicts), best.evaluation.verdicts.failed().len());
            let other = (curve(&single.evaluation.verdicts), single.evaluation.verdicts.failed().len());
            own < other
        }
        (None, _) => true,
        (Some(_), None) => false,
    };
    let mut said: Vec<String> = tried.iter().map(Tried::words).collect();
    said.dedup();
    match (single, best) {
        (_, Some(mut answer)) if better => {
            answer.summary.choice = choice(&answer, one_disc.as_ref());
            answer.summary.one_disc = one_disc;
            answer.summary.evaluation.warnings.extend(limit);
            answer.summary.tried = tried;
            Ok(Solution::Assembly(Box::new(answer)))
        }
        (Some(mut answer), _) => {
            let warnings = &mut answer.summary.evaluation.warnings;
            if !said.is_empty() {
                warnings.push(format!("no assembly does better: {}", said.join("; ")));
            }
            warnings.extend(limit);
            Ok(Solution::Single(Box::new(answer)))
        }
        _ => {
            let considered = tried.len();
            let reason = match limit {
                Some(limit) => limit,
                None if said.is_empty() => format!(
                    "no assembly of at most {} discs follows it; allow more (assembly.discs_max), another kind \
                     (assembly.kind) or more height (assembly.height_max)",
                    question.brief.assembly.discs_max()
                ),
                None => said.join("; "),
            };
            Err(SearchError::NothingFits { considered, reason }.into())
        }
    }
}

impl Tried {
    fn words(&self) -> String {
        match self.rms_percent {
            Some(rms) if self.failed.is_empty() => format!("{}: {rms:.2} % rms, passed", self.assembly),
            Some(rms) => format!("{}: {rms:.2} % rms, failed {}", self.assembly, self.failed.join(", ")),
            None => format!("{}: no disc, {}", self.assembly, self.reason),
        }
    }
}

fn one_disc(answer: &Answer) -> OneDisc {
    let failing = answer.evaluation.verdicts.failing().next();
    OneDisc {
        rms_percent: answer.evaluation.fit.as_ref().map(|fit| fit.summary.rms_percent),
        failed: answer.evaluation.verdicts.failed(),
        reason: failing.map(|named| named.verdict.reason.clone()).unwrap_or_default(),
    }
}

/// Whether another single disc is the better answer.
fn nearer_single(answer: &Answer, other: Option<&Answer>) -> bool {
    let rms =
        |answer: &Answer| answer.evaluation.fit.as_ref().map_or(f64::INFINITY, |fit| fit.summary.rms_percent);
    let key = |answer: &Answer| (answer.evaluation.verdicts.failed().len(), rms(answer));
    other.is_none_or(|other| key(answer) < key(other))
}

/// The answer with a note on a disc that is deflected at rest.
fn preloaded(mut answer: Answer, installed: f64, least: Option<&str>) -> Answer {
    answer.summary.evaluation.warnings.extend(least.map(str::to_owned));
    answer.summary.evaluation.warnings.push(format!(
        "the curve starts with a force: the disc is deflected by {installed:.2} mm at rest (duty.installed) against a stop \
         that holds its hub; press it in with screws, never by hand"
    ));
    answer
}

/// Order of assemblies: fewer verdicts that fail, then less error.
fn rank(answer: &AssemblyAnswer) -> (usize, f64) {
    let rms = answer.evaluation.fit.as_ref().map_or(f64::INFINITY, |fit| fit.rms_percent);
    (answer.evaluation.verdicts.failed().len(), rms)
}

fn choice(answer: &AssemblyAnswer, one_disc: Option<&OneDisc>) -> String {
    let evaluation = &answer.evaluation;
    let arrangement = &evaluation.arrangement;
    let preload = arrangement.preloads().into_iter().fold(0.0, f64::max);
    let mut text = format!(
        "{} of {} discs, {:.2} mm between the plates at rest",
        evaluation.file.kind.name(),
        evaluation.file.discs(),
        arrangement.height_at_rest()
    );
    if preload > 0.0 {
        text.push_str(&format!(
            ", preload {preload:.1} N ({:.2} J stored)",
            1e-3 * arrangement.energy_at_rest()
        ));
    }
    if let Some(OneDisc { rms_percent: Some(rms), failed, .. }) = one_disc {
        text.push_str(&format!("; one disc reaches {rms:.2} % rms and fails {}", failed.join(", ")));
    } else if answer.question.target.deflection.first().is_some_and(|x| *x < 0.0) {
        text.push_str("; one disc pushes one way only");
    }
    text
}

/// The assembly of a plan.
fn assemble(
    wishes: &Wishes,
    question: &Question,
    plan: &Plan,
    tolerance: f64,
) -> Result<AssemblyAnswer, AnswerError> {
    let target = &question.target;
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
        discs.push(Disc::search(wishes, member, &question.brief, installed)?);
    }
    let joint = Joint { kind: plan.kind, target, tolerance, symmetric: plan.symmetric };
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
    };
    Ok(AssemblyAnswer { question: question.clone(), discs: answers, evaluation, summary })
}

/// Target of one disc in the end: the force that the others leave to it, over all deflections that it sees.
fn wanted_of(
    joint: &Joint,
    discs: &[Disc],
    k: usize,
    arrangement: &crate::assembly::Arrangement,
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

fn limits(brief: &Brief, members: &[AssembledMember]) -> crate::spec::AssemblyChoice {
    let discs = members.iter().map(|member| member.member.count).sum();
    // where the brief does not say, a third disc is allowed
    let most = brief.assembly.discs_max.unwrap_or(brief.assembly.discs_max().max(discs));
    crate::spec::AssemblyChoice { discs_max: Some(most), ..brief.assembly.clone() }
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
