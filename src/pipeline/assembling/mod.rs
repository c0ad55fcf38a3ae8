//! The design of assemblies: one disc where one suffices, else the simplest assembly that suffices.
//!
//! Here the choice: one disc or several, and which of the plans. A wanted curve is split into those of its discs
//! ([`crate::assembly::split`]); `whole` makes the assembly of one plan.

mod changes;
mod joint;
mod member;
mod plan;
mod whole;

use serde::Serialize;

use self::changes::single_changes;
use self::member::Effort;
use self::plan::{PairLimit, Plan, Plans};
use self::whole::assemble;
use super::answer::{Answer, AnswerError, Question, Wishes, answer_in_time};
use super::clock::{CUT_SHORT, Clock};
use super::single_changes::{SingleChange, finding, loosened};
use crate::curve::{RMS_TOLERANCE_PERCENT, nearest_reachable};
use crate::evaluation::{AssembledEvaluation, AssembledSummary, json_bytes};
use crate::numeric::short;
use crate::spec::AssemblyWish;
use crate::synthesis::SearchError;

/// Departure from every curve of one disc, over the tolerance, from which on several are tried first.
const FAR: f64 = 1.2;

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
    /// changes of the brief, one at a time, that help where the assembly does not pass, the most helpful first: tried on one disc
    /// where one disc was searched for, else on the assembly
    pub single_changes: Vec<SingleChange>,
    /// whether the time limit ended the search before everything was tried
    pub cut_short: bool,
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
/// brief's `assembly`. An answer that the time limit cut short says so.
pub fn solve(wishes: &Wishes, question: Question) -> Result<Solution, AnswerError> {
    let clock = Clock::of(wishes.time_is_up);
    let time_is_up = || clock.is_up();
    let mut solution = solve_in_time(&Wishes { time_is_up: &time_is_up, ..*wishes }, question)?;
    if clock.cut_short() {
        match &mut solution {
            Solution::Single(answer) => answer.cut_short(),
            Solution::Assembly(answer) => {
                answer.summary.cut_short = true;
                answer.summary.evaluation.warnings.push(CUT_SHORT.to_owned());
            }
        }
    }
    Ok(solution)
}

/// As [`solve`], the time left to the caller's clock: an answer begun is finished, none is begun beside one that there is.
fn solve_in_time(wishes: &Wishes, question: Question) -> Result<Solution, AnswerError> {
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
        let answer = answer_in_time(wishes, question.clone())?;
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
        if single.is_some() && (wishes.time_is_up)() {
            break;
        }
        let answer = match answer_in_time(wishes, pressed) {
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
    let mut found = Assemblies::default();
    found.search(wishes, &question, &plans.tried, single.is_some(), Effort::WithinReach)?;
    if let (None, false, Some(nearest)) = (&found.best, one_may, found.out_of_reach) {
        // no other answer: an assembly that does not hold, to show by how much
        found.tried.clear();
        found.search(wishes, &question, &plans.tried[nearest..=nearest], false, Effort::Nearest)?;
    }
    let Assemblies { best, tried, .. } = found;
    let suffices = best.as_ref().is_some_and(|best| best.evaluation.passed());
    if single.is_none() && far.is_some() && !suffices && (best.is_none() || !(wishes.time_is_up)()) {
        let answer = answer_in_time(wishes, question.clone())?;
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
    let limited = single.as_ref().filter(|answer| !loosened(&answer.question.brief).is_empty());
    let of_one_disc = limited.map(|answer| answer.summary.single_changes.clone());
    let mut solution = choose(question, single, best, one_disc, tried, limit)?;
    if let Solution::Assembly(answer) = &mut solution
        && !answer.evaluation.passed()
        && let Some(changes) = single_changes(wishes, answer, of_one_disc.as_deref())
        // that no change helps is known only where all were tried
        && !(changes.is_empty() && (wishes.time_is_up)())
    {
        answer.summary.evaluation.warnings.push(finding(&changes));
        answer.summary.single_changes = changes;
    }
    Ok(solution)
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

/// Assemblies searched for.
#[derive(Default)]
struct Assemblies {
    /// the best found
    best: Option<AssemblyAnswer>,
    /// what each plan reached
    tried: Vec<Tried>,
    /// first plan left because one of its discs is out of reach
    out_of_reach: Option<usize>,
}

impl Assemblies {
    /// Searches for plans in their order until one passes, or the time is up and there is an answer; `have_one` says that one disc
    /// is one.
    fn search(
        &mut self,
        wishes: &Wishes,
        question: &Question,
        plans: &[Plan],
        have_one: bool,
        effort: Effort,
    ) -> Result<(), AnswerError> {
        for (place, plan) in plans.iter().enumerate() {
            if (self.best.is_some() || have_one) && (wishes.time_is_up)() {
                break;
            }
            let mut outcome = Tried {
                assembly: plan.name(),
                rms_percent: None,
                failed: Vec::new(),
                height_mm: None,
                reason: String::new(),
            };
            match assemble(wishes, question, plan, effort) {
                Ok(found) => {
                    outcome.rms_percent = found.evaluation.fit.as_ref().map(|fit| fit.rms_percent);
                    outcome.failed = found.evaluation.verdicts.failed();
                    outcome.height_mm = Some(found.evaluation.arrangement.height_at_rest());
                    if self.best.as_ref().is_none_or(|best| rank(&found) < rank(best)) {
                        self.best = Some(found);
                    }
                }
                Err(AnswerError::Search(SearchError::Stopped)) => return Err(SearchError::Stopped.into()),
                Err(error) => {
                    if matches!(error, AnswerError::Search(SearchError::OutOfReach { .. })) {
                        self.out_of_reach = self.out_of_reach.or(Some(place));
                    }
                    outcome.reason = error.to_string();
                }
            }
            self.tried.push(outcome);
            if self.best.as_ref().is_some_and(|best| best.evaluation.passed()) {
                break;
            }
        }
        Ok(())
    }
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

#[cfg(test)]
mod tests;
