//! The search: candidates by the thousand, the best of them shaped, the best of those chosen.

use rayon::prelude::*;

use super::candidate::{Candidate, CandidateSpace};
use super::limits::CuttingLimits;
use super::ranking::Design;
use super::shaping::{LEAST_RESERVE, ShapeError, ShapeFreedom, ShapeSettings, shape};
use super::target_points::TargetPoints;
use crate::curve::{Reach, TargetCurve, nearest_reachable};
use crate::layout::{LayoutError, SheetProperties, Spring};
use crate::model::ModelSettings;
use crate::spec::{Brief, FormerLaw};

/// Candidates that are shaped over the segment model.
const SHAPED: usize = 10;
/// Designs that are finished at full resolution; the shortlist.
const FINISHED: usize = 6;
/// Segments while shaping; the finish uses the model's own number.
const COARSE_SEGMENTS: usize = 120;
/// Control radii tried, one after the other, until the fit is good.
const CONTROLS: [usize; 3] = [6, 9, 13];
/// Longest easing tried, in arm widths of arc.
const WIDEST_EASE: f64 = 25.0;
/// Widest arm in units of the slot's outer radius.
const WIDEST: f64 = 0.6;

/// How far a search has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// candidates judged by the closed form
    Judged(usize),
    /// candidates shaped
    Shaped(usize),
    /// designs finished
    Finished(usize),
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
    #[error(
        "none of {considered} combinations of sheet, arms and size fits the brief: {reason}; allow a larger disc, more \
         height, a smaller bore or other sheet"
    )]
    NothingFits {
        /// combinations tried
        considered: usize,
        /// what stood in the way
        reason: String,
    },
    /// A target with nothing in it.
    #[error("the target has no force above zero within its travel; give a curve that rises")]
    NoForce,
    /// Whoever asked does not want to know any more.
    #[error("the search was stopped before it found a spring; start it again when the answer is wanted")]
    Stopped,
}

/// Finds springs for a target under a brief. `limits` gives what cutting allows by sheet thickness, `thicknesses` the
/// sheets there are, `allowable` the von Mises stress not to exceed (MPa). The result depends on nothing but these.
pub fn design(
    target: &TargetCurve,
    brief: &Brief,
    sheet: &SheetProperties,
    thicknesses: &[f64],
    limits: &(dyn Fn(f64) -> CuttingLimits + Sync),
    allowable: Option<f64>,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Outcome, SearchError> {
    design_unless(&|| false, target, brief, sheet, thicknesses, limits, allowable, progress)
}

/// As [`design`], but ends with [`SearchError::Stopped`] soon after `stopped` says so: within the shaping of one candidate.
pub fn design_unless(
    stopped: &(dyn Fn() -> bool + Sync),
    target: &TargetCurve,
    brief: &Brief,
    sheet: &SheetProperties,
    thicknesses: &[f64],
    limits: &(dyn Fn(f64) -> CuttingLimits + Sync),
    allowable: Option<f64>,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Outcome, SearchError> {
    let installed = brief.duty.installed.unwrap_or(0.0);
    let reach = nearest_reachable(target, installed);
    let points = TargetPoints::of(target, &reach);
    if points.force.is_empty() || points.largest_force() <= 0.0 {
        return Err(SearchError::NoForce);
    }
    let space = CandidateSpace { points: &points, brief, sheet, limits, allowable };
    let choices = space.choices(thicknesses);
    let considered = choices.len();
    let judge = |choice| {
        let space = CandidateSpace { points: &points, brief, sheet, limits, allowable };
        space.candidate(choice)
    };
    let mut candidates: Vec<Candidate> =
        choices.par_iter().map(judge).collect::<Vec<_>>().into_iter().flatten().collect();
    progress(Progress::Judged(considered));
    candidates.sort_by(|a, b| a.penalty.total_cmp(&b.penalty));
    let chosen = choose(&candidates);
    if chosen.is_empty() {
        return Err(SearchError::NothingFits {
            considered,
            reason: reason(&points, brief, thicknesses, limits),
        });
    }
    let tolerance = target
        .tolerance_percent
        .filter(|_| brief.fit.tolerance_percent.is_none())
        .unwrap_or(brief.fit.tolerance());
    let task = Task { target, points: &points, brief, limits, allowable, tolerance, installed };
    let mut designs: Vec<Design> = chosen
        .par_iter()
        .enumerate()
        .filter_map(|(k, candidate)| {
            if stopped() {
                return None;
            }
            let space = CandidateSpace { points: &points, brief, sheet, limits, allowable };
            let start = space.spring(candidate).ok()?;
            let design = task.shape_coarsely(&start).ok();
            progress(Progress::Shaped(k + 1));
            design
        })
        .collect();
    designs.sort_by(|a, b| a.score.total_cmp(&b.score));
    designs.truncate(FINISHED);
    let mut designs: Vec<Design> = designs
        .par_iter()
        .enumerate()
        .map(|(k, design)| {
            if stopped() {
                return design.clone();
            }
            let finished = task.finish(design).unwrap_or_else(|_| design.clone());
            progress(Progress::Finished(k + 1));
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
            reason: "no candidate could be shaped".to_owned(),
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
    let reach = nearest_reachable(target, brief.duty.installed.unwrap_or(0.0));
    let points = TargetPoints::of(target, &reach);
    if points.force.is_empty() || points.largest_force() <= 0.0 {
        return Err(SearchError::NoForce);
    }
    let space = CandidateSpace { points: &points, brief, sheet, limits, allowable };
    let choices = space.choices(thicknesses);
    let judge =
        |choice| CandidateSpace { points: &points, brief, sheet, limits, allowable }.candidate(choice);
    let mut candidates: Vec<Candidate> =
        choices.par_iter().map(judge).collect::<Vec<_>>().into_iter().flatten().collect();
    candidates.sort_by(|a, b| a.penalty.total_cmp(&b.penalty));
    candidates.iter().find_map(|candidate| space.spring(candidate).ok()).ok_or_else(|| {
        SearchError::NothingFits {
            considered: choices.len(),
            reason: reason(&points, brief, thicknesses, limits),
        }
    })
}

/// Best candidates, different from one another: no more than two of the same sheet and number of arms.
fn choose(candidates: &[Candidate]) -> Vec<&Candidate> {
    let mut chosen: Vec<&Candidate> = Vec::new();
    for candidate in candidates {
        let alike = chosen
            .iter()
            .filter(|other| other.thickness == candidate.thickness && other.arms == candidate.arms)
            .count();
        let same_size = chosen.iter().any(|other| {
            other.thickness == candidate.thickness
                && other.arms == candidate.arms
                && (other.outer_diameter / candidate.outer_diameter - 1.0).abs() < 0.06
        });
        if alike < 2 && !same_size {
            chosen.push(candidate);
        }
        if chosen.len() == SHAPED {
            break;
        }
    }
    chosen
}

/// What most likely keeps every candidate from fitting.
fn reason(
    points: &TargetPoints,
    brief: &Brief,
    thicknesses: &[f64],
    limits: &dyn Fn(f64) -> CuttingLimits,
) -> String {
    if let Some(most) =
        brief.envelope.free_height_max.filter(|most| *most < points.reach() * (1.0 + LEAST_RESERVE))
    {
        return format!(
            "the curve needs {:.2} mm of travel and the free height may be {most} mm; allow at least {:.2} mm",
            points.reach(),
            points.reach() * (1.0 + 2.0 * LEAST_RESERVE)
        );
    }
    let narrowest =
        thicknesses.iter().map(|t| limits(*t)).map(|l| l.arm_min + l.slot).fold(f64::INFINITY, f64::min);
    format!("an arm and its slot take at least {narrowest:.2} mm between bore and outside")
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
        let least = self.points.reach() * (1.0 + LEAST_RESERVE);
        let most = self.brief.envelope.free_height_max.unwrap_or(3.0 * self.points.reach());
        ShapeSettings {
            freedom: ShapeFreedom::Free(controls),
            width: (limits.arm_min, WIDEST * start.disc.slot_outer_radius),
            free_height: (least.min(most), most),
            ease: self.brief.former.ease.is_none().then_some((1.0, WIDEST_EASE)),
            profile: self.brief.former.law == FormerLaw::Profile,
            allowable: self.allowable,
            iterations,
            model: ModelSettings { segments, ..ModelSettings::default() },
        }
    }

    fn judge(&self, spring: Spring) -> Result<Design, ShapeError> {
        Design::judge(spring, self.target, self.installed, self.allowable, self.tolerance)
    }

    /// A plain cone first; then easing at the roots and more and more control radii until the fit is good.
    fn shape_coarsely(&self, start: &Spring) -> Result<Design, ShapeError> {
        let good = (0.3 * self.tolerance).min(0.6);
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
        let controls = match &design.spring.shape {
            crate::layout::ArmShape::Slots(line) => line.nominal_width().arguments().len(),
            crate::layout::ArmShape::Stations(_) => CONTROLS[0],
        };
        let segments = ModelSettings::default().segments;
        let shaped =
            shape(&design.spring, self.points, &self.settings(&design.spring, controls, segments, 4))?;
        self.judge(rounded(shaped.spring)?)
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
