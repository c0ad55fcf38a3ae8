//! The search: candidates by the thousand, the best of them shaped, the best of those taken up the ladder of arms.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::candidate::{Candidate, CandidateSpace, Choice};
use super::limits::{CuttingLimits, least_free_height, reserve};
use super::ranking::{Design, Preference, ordered};
use super::target_points::TargetPoints;
use super::task::{Coarse, Task};
use crate::checks::CheckOptions;
use crate::curve::{Reach, TargetCurve, nearest_reachable};
use crate::evaluation::{Asked, Extent};
use crate::layout::{SheetProperties, Spring};
use crate::model::ModelSettings;
use crate::spec::{Brief, Tolerance};

/// Candidates that are shaped over the segment model.
const SHAPED: usize = 12;
/// Candidates of one sheet and number of arms among them, as long as one of them meets the curve.
const ALIKE: usize = 2;
/// Mean share of good parts (0 to 1) below which more candidates are shaped.
const MANY_GOOD: f64 = 0.45;
/// Candidates of other proportions, besides the best of each proportion.
const WIDER: usize = 4;
/// Designs that are taken up the ladder; the shortlist.
const FINISHED: usize = 6;
/// Designs that are taken up the ladder where the curve is out of reach.
const FINISHED_BEYOND: usize = 2;
/// Clearance to flat of a last attempt, where the curve is not met with the usual one: the curve may ask for bottoming.
const BOTTOMING_RESERVE: f64 = 0.01;

/// Stress of the arms over the allowable, the least of all candidates by the closed form, above which no spring can be had.
/// Springs that pass have one near 1 there; shaping and in-plane stiffness, which the closed form leaves out, take some tens of
/// percent off.
const OUT_OF_REACH: f64 = 2.5;

/// A seed rates one in so many choices first, then all of those that share sheet and arms with the best few.
const SEED_STEP: usize = 4;
/// Number of those best few.
const SEED_PROMISING: usize = 3;

/// Progress of a search: candidates shaped and designs finished.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Progress {
    /// steps done
    pub done: usize,
    /// steps in all, as far as they are known: the search may find that it has to try more
    pub of: usize,
}

/// Counter of the steps of a search, reported to the caller.
struct Steps<'a> {
    done: AtomicUsize,
    of: AtomicUsize,
    watch: &'a (dyn Fn(Progress) + Sync),
}

impl Steps<'_> {
    fn expect(&self, of: usize) {
        self.of.store(of, Ordering::Relaxed);
    }

    fn one_done(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        (self.watch)(Progress { done, of: self.of.load(Ordering::Relaxed) });
    }
}

/// Result of a search.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// designs, best first
    pub designs: Vec<Design>,
    /// what the target asks for and whether seating can follow it
    pub reach: Reach,
    /// candidates evaluated by the closed form
    pub considered: usize,
    /// springs whose curve was computed by the segment model, each with all its steps
    pub shaped: usize,
}

/// Why a search ended without a design.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SearchError {
    /// Nothing fits the brief.
    #[error("none of {considered} combinations of sheet, arms and size fits the brief: {reason}")]
    NothingFits {
        /// combinations tried
        considered: usize,
        /// what stood in the way, and what would change it
        reason: String,
    },
    /// No combination to begin with.
    #[error("no combination of sheet, arms and size is left to try: {reason}")]
    NothingToTry {
        /// what emptied the list
        reason: String,
    },
    /// A target with nothing in it.
    #[error("the target has no force above zero within its travel; give a curve that rises")]
    NoForce,
    /// Arms that bear the force over that travel would be stressed far beyond the allowable.
    #[error(
        "in all of {considered} combinations of sheet, arms and size the arms would be stressed to {times:.1} times the allowable \
         or more; allow a larger disc or a stronger sheet, or ask for less force or less travel"
    )]
    OutOfReach {
        /// combinations considered
        considered: usize,
        /// least stress over the allowable, by the closed form
        times: f64,
    },
    /// The caller stopped the search.
    #[error("the search was stopped before it found a spring; start it again")]
    Stopped,
}

/// The curve to follow and whether seating can; there has to be a force in it.
pub fn wanted(target: &TargetCurve, brief: &Brief) -> Result<(Reach, TargetPoints), SearchError> {
    let reach = nearest_reachable(target, brief.duty.installed.unwrap_or(0.0));
    let points = TargetPoints::of(target, &reach);
    if points.force.is_empty() || points.largest_force() <= 0.0 {
        return Err(SearchError::NoForce);
    }
    Ok((reach, points))
}

/// A search for springs. The result depends on nothing but the fields.
#[derive(Clone, Copy)]
pub struct Search<'a> {
    /// the wanted curve
    pub target: &'a TargetCurve,
    /// what else is known
    pub brief: &'a Brief,
    /// the sheet; its thickness is the candidate's
    pub sheet: &'a SheetProperties,
    /// thicknesses to try (mm)
    pub thicknesses: &'a [f64],
    /// limits of cutting, by thickness
    pub limits: &'a (dyn Fn(f64) -> CuttingLimits + Sync),
    /// what decides between springs that pass
    pub preference: Preference,
    /// how much is tried
    pub effort: SearchEffort,
    /// whether a search that the closed form shows to be out of reach ends with [`SearchError::OutOfReach`]; else the nearest
    /// spring is found with little effort
    pub within_reach: bool,
    /// whether to stop; the search ends with [`SearchError::Stopped`] soon after
    pub stopped: &'a (dyn Fn() -> bool + Sync),
    /// whether the time is up; the search ends with the best so far soon after
    pub time_is_up: &'a (dyn Fn() -> bool + Sync),
    /// called with every step
    pub progress: &'a (dyn Fn(Progress) + Sync),
}

/// Effort of a search.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum SearchEffort {
    /// two or more arms, then one arm, then next to no reserve to flat, until a spring passes
    #[default]
    Whole,
    /// the first of these alone
    FirstAttempt,
    /// the first of these, few candidates: enough to know whether it can be done
    Glance,
}

/// One attempt: what is left open besides the brief.
struct Attempt {
    /// numbers of arms
    arms: Vec<usize>,
    /// clearance between the last deflection asked for and flat, in units of that deflection
    reserve: f64,
}

impl Search<'_> {
    /// Finds springs. Two or more arms and a reserve to flat first; one arm, then next to no reserve, where that does not
    /// pass.
    pub fn run(&self) -> Result<Outcome, SearchError> {
        self.run_attempts(0, None)
    }

    /// As [`run`](Self::run) with the whole effort, where the first attempt is already done; `first` is its outcome, if it has one.
    pub fn run_after_first(&self, first: Option<Outcome>) -> Result<Outcome, SearchError> {
        match first {
            Some(first) if first.designs.iter().any(|design| design.merits.passed) => Ok(first),
            first => self.run_attempts(1, first),
        }
    }

    /// The attempts but so many, after what was found before.
    fn run_attempts(&self, skipped: usize, found: Option<Outcome>) -> Result<Outcome, SearchError> {
        let brief = self.brief;
        let tolerance = brief.fit.tolerance(self.target.tolerance_percent);
        let usual = reserve(brief);
        let steps = Steps { done: AtomicUsize::new(0), of: AtomicUsize::new(0), watch: self.progress };
        // two or more arms balance; one is taken where it is asked for alone, or where nothing else passes
        let counts = brief.arms.count.clone().unwrap_or_else(|| (1..=MOST_ARMS).collect());
        let (balanced, single): (Vec<usize>, Vec<usize>) = counts.iter().partition(|arms| **arms > 1);
        let mut attempts: Vec<Attempt> = [balanced, single]
            .into_iter()
            .filter(|arms| !arms.is_empty())
            .map(|arms| Attempt { arms, reserve: usual })
            .collect();
        if brief.fit.reserve.is_none() {
            attempts.push(Attempt { arms: counts, reserve: BOTTOMING_RESERVE });
        }
        if self.effort != SearchEffort::Whole {
            attempts.truncate(1);
        }
        let (mut designs, mut considered, mut shaped) =
            found.map_or((Vec::new(), 0, 0), |found| (found.designs, found.considered, found.shaped));
        let mut error = None;
        let mut out_of_reach = false;
        for attempt in attempts.into_iter().skip(skipped) {
            // less reserve does not bring into reach what is far from it
            let hopeless = out_of_reach && attempt.reserve < usual;
            if !designs.is_empty() && (hopeless || (self.time_is_up)()) {
                break;
            }
            match self.attempt(&attempt, tolerance, &steps) {
                Ok((found, beyond)) => {
                    out_of_reach = beyond;
                    designs.extend(found.designs);
                    considered += found.considered;
                    shaped += found.shaped;
                }
                Err(SearchError::Stopped) => return Err(SearchError::Stopped),
                Err(other) => error = error.or(Some(other)),
            }
            if designs.iter().any(|design: &Design| design.merits.passed) {
                break;
            }
        }
        let designs = ordered(designs, self.preference, tolerance);
        if designs.is_empty() {
            return Err(error.unwrap_or(SearchError::NothingFits {
                considered,
                reason: "no candidate could be shaped; allow a larger disc, more height, a smaller bore or other sheet"
                    .to_owned(),
            }));
        }
        let reach = nearest_reachable(self.target, brief.duty.installed.unwrap_or(0.0));
        Ok(Outcome { designs, reach, considered, shaped })
    }

    /// One attempt, and whether the curve is out of its reach by the closed form.
    fn attempt(
        &self,
        attempt: &Attempt,
        tolerance: f64,
        steps: &Steps,
    ) -> Result<(Outcome, bool), SearchError> {
        let (reach, points) = wanted(self.target, self.brief)?;
        let allowable = self.sheet.allowable().map(|found| found.limit);
        let space = CandidateSpace {
            points: &points,
            brief: self.brief,
            sheet: self.sheet,
            limits: self.limits,
            allowable,
            arms: &attempt.arms,
            reserve: attempt.reserve,
            tolerance,
        };
        let choices = space.choices(self.thicknesses);
        let considered = choices.len();
        let candidates = space.ranked(choices.par_iter());
        let least_stress = candidates.iter().map(|found| found.stress_ratio).fold(f64::INFINITY, f64::min);
        let out_of_reach = least_stress.is_finite() && least_stress > OUT_OF_REACH;
        if out_of_reach && self.within_reach {
            return Err(SearchError::OutOfReach { considered, times: least_stress });
        }
        // out of reach, the first attempts of several ways show which of them comes nearest
        let few = match self.effort {
            SearchEffort::Whole => false,
            SearchEffort::FirstAttempt => out_of_reach,
            SearchEffort::Glance => true,
        };
        let most = if few { SHAPED / 3 } else { SHAPED };
        let finished = match (few, out_of_reach) {
            (true, _) => 1,
            (false, true) => FINISHED_BEYOND,
            (false, false) => FINISHED,
        };
        let chosen = choose(&candidates, ALIKE, most);
        if chosen.is_empty() {
            return Err(nothing(&space, &choices));
        }
        let over = || (self.stopped)() || (self.time_is_up)();
        let task = Task {
            points: &points,
            brief: self.brief,
            limits: self.limits,
            allowable,
            tolerance,
            reserve: attempt.reserve,
            asked: self.asked(),
            over: &over,
        };
        steps.expect(steps.done.load(Ordering::Relaxed) + chosen.len() + finished.min(chosen.len()));
        let shape_all = |chosen: &[&Candidate]| -> Vec<Coarse> {
            chosen
                .par_iter()
                .enumerate()
                .filter_map(|(place, candidate)| {
                    // the first is shaped whatever the time: a search ends with a spring
                    if place > 0 && over() {
                        return None;
                    }
                    let start = space.spring(candidate).ok();
                    let found = start.and_then(|start| task.shape_coarsely(&start).ok());
                    steps.one_done();
                    found
                })
                .collect()
        };
        let mut coarse = shape_all(&chosen);
        let mut shaped = coarse.len();
        let serves = |found: &Coarse| found.feasible(tolerance) && found.good.mean() >= MANY_GOOD;
        if !few && !coarse.iter().any(serves) && !over() {
            // the closed form leaves out in-plane stiffness: other proportions are tried, too
            let mut wider: Vec<&Candidate> = Vec::new();
            for candidate in choose(&candidates, SHAPED, WIDER + chosen.len())
                .into_iter()
                .chain(best_of_each_ratio(&candidates))
            {
                if !chosen.iter().chain(&wider).any(|other| std::ptr::eq(*other, candidate)) {
                    wider.push(candidate);
                }
            }
            steps.expect(steps.done.load(Ordering::Relaxed) + wider.len() + finished);
            let found = shape_all(&wider);
            shaped += found.len();
            coarse.extend(found);
        }
        // feasible ones first, most good parts first
        coarse.sort_by(|a, b| a.rank(tolerance).total_cmp(&b.rank(tolerance)));
        let coarse = diverse(coarse, finished, tolerance);
        steps.expect(steps.done.load(Ordering::Relaxed) + coarse.len());
        let designs: Vec<Design> = coarse
            .par_iter()
            .enumerate()
            .filter_map(|(place, found)| {
                if (self.stopped)() || place > 0 && (self.time_is_up)() {
                    return None;
                }
                let design = task.climb(found);
                steps.one_done();
                design
            })
            .collect();
        if (self.stopped)() {
            return Err(SearchError::Stopped);
        }
        Ok((Outcome { designs, reach, considered, shaped }, out_of_reach))
    }

    /// The question that designs are evaluated with.
    fn asked(&self) -> Asked {
        let brief = self.brief;
        let installed = brief.duty.installed.unwrap_or(0.0);
        let mut process = brief.process.clone();
        process.arm_min = brief.arms.width_min.or(process.arm_min);
        let ends = [self.target.deflection.first(), self.target.deflection.last()];
        Asked {
            target: Some(self.target.thinned()),
            fit: brief.fit.clone(),
            tolerance: Tolerance::default(),
            checks: CheckOptions {
                model: ModelSettings::default(),
                process,
                duty: brief.duty.clone(),
                envelope: brief.envelope.clone(),
                way: brief.setting.way,
                asked: match ends {
                    [Some(first), Some(last)] => Some([first + installed, last + installed]),
                    _ => None,
                },
                shop: brief.shop.clone(),
            },
            extent: Extent::WithoutParts,
        }
    }
}

/// Most arms tried where the brief names none.
const MOST_ARMS: usize = 6;

/// The first of the ranked candidates, and the smallest feasible one, for the shortlist.
fn diverse(ranked: Vec<Coarse>, most: usize, tolerance: f64) -> Vec<Coarse> {
    let smallest = (0..ranked.len())
        .filter(|&k| ranked[k].feasible(tolerance))
        .min_by(|&a, &b| ranked[a].spring.disc.outer_radius.total_cmp(&ranked[b].spring.disc.outer_radius));
    ranked
        .into_iter()
        .enumerate()
        .filter(|(place, _)| {
            *place + 1 < most || Some(*place) == smallest || *place < most && smallest < Some(most)
        })
        .map(|(_, found)| found)
        .take(most)
        .collect()
}

/// The spring that the closed form alone ranks first: the start of shaping.
pub fn seed(
    target: &TargetCurve,
    brief: &Brief,
    sheet: &SheetProperties,
    thicknesses: &[f64],
    limits: &(dyn Fn(f64) -> CuttingLimits + Sync),
    allowable: Option<f64>,
) -> Result<Spring, SearchError> {
    let (_, points) = wanted(target, brief)?;
    let arms: Vec<usize> = brief.arms.count.clone().unwrap_or_else(|| (2..=MOST_ARMS).collect());
    let (reserve, tolerance) = (reserve(brief), brief.fit.tolerance(target.tolerance_percent));
    let space =
        CandidateSpace { points: &points, brief, sheet, limits, allowable, arms: &arms, reserve, tolerance };
    let choices = space.choices(thicknesses);
    // one in a few shows which sheets and numbers of arms are worth a closer look
    let rough = space.ranked(choices.par_iter().step_by(SEED_STEP));
    let promising: Vec<(f64, usize)> =
        rough.iter().take(SEED_PROMISING).map(|found| (found.thickness, found.arms)).collect();
    let close =
        |choice: &&Choice| promising.is_empty() || promising.contains(&(choice.thickness, choice.arms));
    let candidates = space.ranked(choices.par_iter().filter(close));
    candidates
        .iter()
        .find_map(|candidate| space.spring(candidate).ok())
        .ok_or_else(|| nothing(&space, &choices))
}

/// Best candidates, different from one another: no more than `alike` of the same sheet and number of arms, `most` in all.
fn choose(candidates: &[Candidate], alike: usize, most: usize) -> Vec<&Candidate> {
    let mut chosen: Vec<&Candidate> = Vec::new();
    for candidate in candidates {
        let same = chosen
            .iter()
            .filter(|other| other.thickness == candidate.thickness && other.arms == candidate.arms)
            .count();
        let same_size = chosen.iter().any(|other| {
            other.thickness == candidate.thickness
                && other.arms == candidate.arms
                && (other.outer_diameter / candidate.outer_diameter - 1.0).abs() < 0.06
                && (alike == ALIKE || (hub_share(other) - hub_share(candidate)).abs() < 0.05)
        });
        if same < alike && !same_size {
            chosen.push(candidate);
        }
        if chosen.len() == most {
            break;
        }
    }
    chosen
}

/// The best candidate of every ratio of the slots' radii, in the order of their penalties.
fn best_of_each_ratio(candidates: &[Candidate]) -> Vec<&Candidate> {
    let mut best: Vec<&Candidate> = Vec::new();
    for candidate in candidates {
        if !best.iter().any(|other| other.ratio == candidate.ratio) {
            best.push(candidate);
        }
    }
    best
}

/// Hub-side slot radius over rim-side slot radius.
fn hub_share(candidate: &Candidate) -> f64 {
    candidate.slot_radius.1 / candidate.slot_radius.0
}

/// Error that nothing fits, with the most likely reason and its remedy.
fn nothing(space: &CandidateSpace, choices: &[Choice]) -> SearchError {
    let (points, considered) = (space.points, choices.len());
    let height = space.brief.envelope.free_height_max;
    if let Some(most) = height.filter(|most| *most < least_free_height(points.reach(), space.reserve)) {
        let reason = format!(
            "the curve needs {} mm of travel and the free height may be {most} mm; allow at least {} mm",
            figures(points.reach()),
            figures(1.01 * least_free_height(points.reach(), space.reserve))
        );
        return SearchError::NothingToTry { reason };
    }
    if choices.is_empty() {
        let reason = "no thickness or no number of arms is given; give one or leave both out".to_owned();
        return SearchError::NothingToTry { reason };
    }
    let reason = if choices.iter().any(|choice| space.has_room(choice)) {
        format!(
            "arms stiff enough for {} N at {} mm would be wider than the ring between bore and outside; take thicker or \
             stiffer sheet, allow more arms or other diameters, or ask for less force",
            figures(points.largest_force()),
            figures(points.reach())
        )
    } else {
        let narrowest = |choice: &Choice| {
            let limits = (space.limits)(choice.thickness);
            limits.arm_min + limits.slot
        };
        format!(
            "an arm and its slot need at least {} mm, rim and hub as much each, and the largest disc is {} mm across; \
             allow a larger disc, a smaller bore or thinner sheet",
            figures(choices.iter().map(narrowest).fold(f64::INFINITY, f64::min)),
            figures(choices.iter().map(|choice| choice.outer_diameter).fold(0.0, f64::max))
        )
    };
    SearchError::NothingFits { considered, reason }
}

/// A number at three figures.
fn figures(value: f64) -> String {
    if !(1e-3..1e6).contains(&value) {
        return format!("{value:.2e}");
    }
    let decimals = [100.0, 10.0, 1.0].iter().filter(|power| value < **power).count();
    format!("{value:.decimals$}")
}
