//! The search: candidates by the thousand, the best of them shaped, the best of those chosen.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::candidate::{Candidate, CandidateSpace, Choice};
use super::limits::{
    CuttingLimits, LEAST_RESERVE, easing_range, free_height_range, least_free_height, width_range,
};
use super::ranking::Design;
use super::shaping::{ShapeError, ShapeFreedom, ShapeSettings, shape};
use super::target_points::TargetPoints;
use crate::curve::{Reach, TargetCurve, nearest_reachable};
use crate::layout::{LayoutError, SheetProperties, Spring};
use crate::model::ModelSettings;
use crate::spec::{Brief, FormerLaw};

/// Candidates that are shaped over the segment model.
const SHAPED: usize = 10;
/// Candidates of one sheet and number of arms among them, as long as one of them meets the curve.
const ALIKE: usize = 2;
/// Candidates of other proportions, besides the best of each proportion.
const WIDER: usize = 4;
/// Share of the tolerated error above which more proportions are tried.
const MORE_PROPORTIONS: f64 = 0.3;
/// Designs that are finished at full resolution; the shortlist.
const FINISHED: usize = 6;
/// Segments while shaping; the finish uses the model's own number.
const COARSE_SEGMENTS: usize = 120;
/// Control radii tried, one after the other, until the fit is good.
const CONTROLS: [usize; 3] = [6, 9, 13];
/// Control radii for what these do not follow, and how much less bends cost there.
const KNEE_CONTROLS: usize = 19;
/// See [`KNEE_CONTROLS`].
const KNEE: f64 = 0.5;
/// How much more bends of the width cost in the last steps, one after the other: what the curve does not need goes.
const SMOOTHER: [f64; 3] = [4.0, 12.0, 36.0];
/// Factor by which a smoother arm may be further off the curve, or higher stressed.
const SMOOTHING_COST: f64 = 1.15;

/// A seed judges one in so many choices first, then all of those that share sheet and arms with the best few.
const SEED_STEP: usize = 4;
/// How many those best few are.
const SEED_PROMISING: usize = 3;

/// How far a search has come: candidates shaped and designs finished.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Progress {
    /// steps done
    pub done: usize,
    /// steps in all, as far as they are known: the search may find that it has to try more
    pub of: usize,
}

/// Counts the steps of a search for whoever watches.
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

/// What a search found.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// designs, best first
    pub designs: Vec<Design>,
    /// what the target asks for and whether seating can follow it
    pub reach: Reach,
    /// candidates judged
    pub considered: usize,
}

/// Why a search ended without a design.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
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
    /// Whoever asked does not want to know any more.
    #[error("the search was stopped before it found a spring; start it again when the answer is wanted")]
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

/// Finds springs for a target under a brief. `limits` gives what cutting allows by sheet thickness, `thicknesses` the
/// sheets there are, `allowable` the von Mises stress not to exceed (MPa). The result depends on nothing but these. Ends
/// with [`SearchError::Stopped`] soon after `stopped` says so: within the shaping of one candidate.
pub fn design(
    stopped: &(dyn Fn() -> bool + Sync),
    target: &TargetCurve,
    brief: &Brief,
    sheet: &SheetProperties,
    thicknesses: &[f64],
    limits: &(dyn Fn(f64) -> CuttingLimits + Sync),
    allowable: Option<f64>,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Outcome, SearchError> {
    let (reach, points) = wanted(target, brief)?;
    let space = CandidateSpace { points: &points, brief, sheet, limits, allowable };
    let choices = space.choices(thicknesses);
    let considered = choices.len();
    let candidates = space.ranked(choices.par_iter());
    let chosen = choose(&candidates, ALIKE, SHAPED);
    if chosen.is_empty() {
        return Err(nothing(&space, &choices));
    }
    let tolerance = brief.fit.tolerance(target.tolerance_percent);
    let task =
        Task { target, points: &points, brief, limits, allowable, tolerance, installed: reach.installed };
    let steps = Steps { done: AtomicUsize::new(0), of: AtomicUsize::new(0), watch: progress };
    steps.expect(chosen.len() + FINISHED.min(chosen.len()));
    let shape_all = |chosen: &[&Candidate]| -> Vec<Design> {
        chosen
            .par_iter()
            .filter_map(|candidate| {
                if stopped() {
                    return None;
                }
                let start = space.spring(candidate).ok();
                let design = start.and_then(|start| task.shape_coarsely(&start).ok());
                steps.one_done();
                design
            })
            .collect()
    };
    let mut designs = shape_all(&chosen);
    if designs.iter().all(|design| design.merits.rms_percent > MORE_PROPORTIONS * tolerance) {
        // the closed form knows nothing of stiffness in the plane: try other proportions, too
        let mut wider: Vec<&Candidate> = Vec::new();
        for candidate in choose(&candidates, SHAPED, WIDER + chosen.len())
            .into_iter()
            .chain(best_of_each_ratio(&candidates))
        {
            if !chosen.iter().chain(&wider).any(|other| std::ptr::eq(*other, candidate)) {
                wider.push(candidate);
            }
        }
        steps.expect(chosen.len() + wider.len() + FINISHED);
        designs.extend(shape_all(&wider));
    }
    designs.sort_by(|a, b| a.score.total_cmp(&b.score));
    designs.truncate(FINISHED);
    steps.expect(steps.done.load(Ordering::Relaxed) + designs.len());
    let mut designs: Vec<Design> = designs
        .par_iter()
        .map(|design| {
            if stopped() {
                return design.clone();
            }
            let finished = task.finish(design).unwrap_or_else(|_| design.clone());
            steps.one_done();
            finished
        })
        .collect();
    if stopped() {
        return Err(SearchError::Stopped);
    }
    designs.sort_by(|a, b| a.score.total_cmp(&b.score));
    if designs.is_empty() {
        return Err(SearchError::NothingFits {
            considered,
            reason: "no candidate could be shaped; allow a larger disc, more height, a smaller bore or other sheet"
                .to_owned(),
        });
    }
    Ok(Outcome { designs, reach, considered })
}

/// The spring that the closed form alone thinks best: the search's first step, good enough to start shaping from.
pub fn seed(
    target: &TargetCurve,
    brief: &Brief,
    sheet: &SheetProperties,
    thicknesses: &[f64],
    limits: &(dyn Fn(f64) -> CuttingLimits + Sync),
    allowable: Option<f64>,
) -> Result<Spring, SearchError> {
    let (_, points) = wanted(target, brief)?;
    let space = CandidateSpace { points: &points, brief, sheet, limits, allowable };
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

/// That nothing fits, what most likely keeps every choice from it, and what would change it.
fn nothing(space: &CandidateSpace, choices: &[Choice]) -> SearchError {
    let (points, considered) = (space.points, choices.len());
    let height = space.brief.envelope.free_height_max;
    if let Some(most) = height.filter(|most| *most < least_free_height(points.reach())) {
        let reason = format!(
            "the curve needs {} mm of travel and the free height may be {most} mm; allow at least {} mm",
            figures(points.reach()),
            figures(points.reach() * (1.0 + 2.0 * LEAST_RESERVE))
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
            "an arm and its slot take at least {} mm, between rim and hub as wide, and the largest disc is {} mm across; \
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

struct Task<'a> {
    target: &'a TargetCurve,
    points: &'a TargetPoints,
    brief: &'a Brief,
    limits: &'a (dyn Fn(f64) -> CuttingLimits + Sync),
    allowable: Option<f64>,
    tolerance: f64,
    installed: f64,
}

impl Task<'_> {
    fn settings(&self, start: &Spring, controls: usize, segments: usize, iterations: u64) -> ShapeSettings {
        let limits = (self.limits)(start.sheet.thickness);
        ShapeSettings {
            freedom: ShapeFreedom::Free(controls),
            width: width_range(limits.arm_min, &start.disc),
            free_height: free_height_range(self.points.reach(), &self.brief.envelope),
            ease: easing_range(&self.brief.former),
            profile: self.brief.former.law == FormerLaw::Profile,
            allowable: self.allowable,
            smoothness: 1.0,
            iterations,
            model: ModelSettings { segments, ..ModelSettings::default() },
        }
    }

    fn judge(&self, spring: Spring) -> Result<Design, ShapeError> {
        Design::judge(spring, self.target, self.installed, self.allowable, self.tolerance)
    }

    /// A plain cone first; then easing at the roots and more and more control radii until the fit is good.
    fn shape_coarsely(&self, start: &Spring) -> Result<Design, ShapeError> {
        let good = self.good();
        let mut spring = start.clone();
        let plain = ShapeSettings { ease: None, ..self.settings(start, CONTROLS[0], COARSE_SEGMENTS, 14) };
        let mut shaped = shape(&spring, self.points, &plain)?;
        for controls in CONTROLS {
            spring = shaped.spring;
            if shaped.rms_percent <= good {
                break;
            }
            shaped = shape(&spring, self.points, &self.settings(&spring, controls, COARSE_SEGMENTS, 14))?;
            spring = shaped.spring.clone();
        }
        self.judge(self.fit_rings(spring)?)
    }

    /// Last steps at the model's own resolution.
    fn finish(&self, design: &Design) -> Result<Design, ShapeError> {
        if design.merits.rms_percent > MORE_PROPORTIONS * self.tolerance {
            // a knee needs steep changes of width
            let settings = self.settings(&design.spring, KNEE_CONTROLS, COARSE_SEGMENTS, 14);
            let shaped = shape(&design.spring, self.points, &ShapeSettings { smoothness: KNEE, ..settings })?;
            let knee = self.judge(shaped.spring)?;
            if knee.score < design.score {
                return self.refine(&knee);
            }
        }
        self.refine(design)
    }

    /// At the model's own resolution, and as smooth as the curve allows.
    fn refine(&self, design: &Design) -> Result<Design, ShapeError> {
        let controls = match &design.spring.shape {
            crate::layout::ArmShape::Slots(line) => line.nominal_width().arguments().len(),
            crate::layout::ArmShape::Stations(_) => CONTROLS[0],
        };
        let segments = ModelSettings::default().segments;
        let last = |spring: &Spring| {
            let shaped = shape(spring, self.points, &self.settings(spring, controls, segments, 4))?;
            self.judge(rounded(shaped.spring)?)
        };
        let finished = last(&design.spring)?;
        let enough = (SMOOTHING_COST * finished.merits.rms_percent).max(self.good());
        let stress = SMOOTHING_COST * finished.merits.peak_stress_mpa;
        let stress = stress.min(self.allowable.unwrap_or(f64::INFINITY)).max(finished.merits.peak_stress_mpa);
        let mut smooth = design.spring.clone();
        let mut best = None;
        for smoothness in SMOOTHER {
            let settings =
                ShapeSettings { smoothness, ..self.settings(&smooth, controls, COARSE_SEGMENTS, 8) };
            let Ok(shaped) = shape(&smooth, self.points, &settings) else { break };
            if shaped.rms_percent > enough {
                break;
            }
            smooth = shaped.spring;
            let judged = self.judge(rounded(smooth.clone())?)?;
            if judged.merits.rms_percent > enough || judged.merits.peak_stress_mpa > stress {
                break;
            }
            best = Some(judged);
        }
        Ok(best.unwrap_or(finished))
    }

    /// A fit that needs no more control radii, and that a smoother arm may cost (percent rms).
    fn good(&self) -> f64 {
        (0.3 * self.tolerance).min(0.6)
    }

    /// Rings as wide as the roots that were found ask for, within the envelope.
    fn fit_rings(&self, mut spring: Spring) -> Result<Spring, LayoutError> {
        let arm = spring.arm(60)?;
        let last = arm.width.len() - 1;
        let most = self.brief.envelope.outer_diameter_max.map_or(f64::INFINITY, |d| 0.5 * d);
        let edge = spring.disc.slot_outer_radius + 0.5 * spring.slot;
        let least_ring = (self.limits)(spring.sheet.thickness).arm_min;
        let wanted = edge + (1.2 * arm.width[0]).max(least_ring);
        spring.disc.outer_radius = wanted.min(most).max(edge + 0.5 * least_ring);
        let hub_edge = spring.disc.slot_inner_radius - 0.5 * spring.slot;
        let bore_min = 0.5 * self.brief.envelope.bore_diameter_min.unwrap_or(0.0);
        spring.disc.bore_radius = (hub_edge - 2.5 * arm.width[last].max(least_ring)).max(bore_min).max(0.0);
        Ok(spring)
    }
}

/// The spring with its numbers as they will stand in the file: widths, heights and radii to a micrometre, circles to
/// ten.
fn rounded(spring: Spring) -> Result<Spring, LayoutError> {
    let mut file = spring.to_file();
    for list in [&mut file.arm.radius, &mut file.arm.width, &mut file.former.radius, &mut file.former.height]
        .into_iter()
        .flatten()
    {
        for value in list.iter_mut() {
            *value = decimals(*value, 3);
        }
    }
    file.former.free_height = decimals(file.former.free_height, 3);
    file.former.ease = decimals(file.former.ease, 2);
    for diameter in [
        &mut file.disc.outer_diameter,
        &mut file.disc.arm_outer_diameter,
        &mut file.disc.arm_inner_diameter,
        &mut file.disc.bore_diameter,
    ]
    .into_iter()
    .flatten()
    {
        *diameter = decimals(*diameter, 2);
    }
    let mut again = Spring::from_file(&file, None)?;
    again.sheet = spring.sheet;
    Ok(again)
}

/// The value as it reads with so many decimals.
fn decimals(value: f64, count: usize) -> f64 {
    format!("{value:.count$}").parse().unwrap_or(value)
}
