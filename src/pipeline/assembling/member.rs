//! One disc of an assembly: searched for, shaped again, evaluated.

use super::plan::PlannedMember;
use crate::assembly::{ForceCurve, MemberTarget, PlacedMember};
use crate::curve::{TargetCurve, nearest_reachable};
use crate::evaluation::{Asked, force_curve};
use crate::layout::Spring;
use crate::model::ModelError;
use crate::pipeline::answer::{
    Answer, AnswerError, Attempts, Question, Wishes, evaluate, nearer, passes, search as search_sheets,
};
use crate::pipeline::sheets::cutting_limits;
use crate::pipeline::ways::ways;
use crate::spec::{AssemblyChoice, Brief, Stacking};
use crate::synthesis::{Arm, Design, Outcome, SearchEffort, SearchError, TargetPoints, shape_in_assembly};

/// Least tolerance of a member while it is searched for (percent rms): what is left is taken up together.
const SEARCH_TOLERANCE: f64 = 1.0;
/// Error over the tolerance up to which a disc that fails nothing else is taken: shaping with the others does the rest.
const NEAR: f64 = 3.0;
/// Height above the last deflection of a disc that closes there, relative.
const CLOSING_ROOM: f64 = 5e-4;

/// Effort of the search for the discs of an assembly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Effort {
    /// every way, also where no disc can hold: the nearest is wanted
    Nearest,
    /// every way; ends with [`SearchError::OutOfReach`] where the closed form shows that no disc holds, so that the assembly
    /// would not, either
    WithinReach,
    /// few candidates of the first way: enough to know whether it can be done
    Glance,
}

/// A disc in its place.
#[derive(Debug, Clone)]
pub(super) struct Disc {
    pub spring: Spring,
    pub curve: ForceCurve,
    /// deflection at rest (mm)
    pub installed: f64,
    pub count: usize,
    pub stacking: Stacking,
    pub closes: bool,
    /// brief of the disc, with sheet and process filled in
    pub brief: Brief,
    /// outcome of the search
    pub outcome: Outcome,
}

impl Disc {
    /// Searches for the disc of a plan; `installed` is its deflection at rest (mm).
    pub fn search(
        wishes: &Wishes,
        member: &PlannedMember,
        brief: &Brief,
        installed: f64,
        effort: Effort,
    ) -> Result<Self, AnswerError> {
        let target = target_curve(&member.target);
        let brief = member_brief(brief, &member.target);
        let mut nearest: Option<(Brief, Outcome)> = None;
        let mut error = None;
        // every way with two or more arms first, then all that is left on the way that came nearest
        let mut ways = ways(&brief)?;
        let first_effort = if effort == Effort::Glance {
            ways.truncate(1);
            SearchEffort::Glance
        } else {
            SearchEffort::FirstAttempt
        };
        let within_reach = effort != Effort::Nearest;
        let search = |place: usize, effort: SearchEffort, attempts: Attempts| {
            let way = &ways[place];
            search_sheets(wishes, &way.sheets, &target, &way.brief, effort, within_reach, attempts)
        };
        let mut best = 0;
        for (place, way) in ways.iter().enumerate() {
            if nearest.is_some() && (wishes.time_is_up)() {
                break;
            }
            match search(place, first_effort, Attempts::All) {
                Ok(found) => {
                    if nearest.as_ref().is_none_or(|(_, other)| nearer(&found, other)) {
                        nearest = Some((way.brief.clone(), found));
                        best = place;
                    }
                }
                Err(SearchError::Stopped) => return Err(SearchError::Stopped.into()),
                Err(other) => error = error.or(Some(other)),
            }
            if nearest.as_ref().is_some_and(|(_, found)| passes(found)) {
                break;
            }
        }
        let near = |found: &Outcome| {
            found.designs.first().is_some_and(|design| {
                design.merits.failing <= 1 && design.merits.rms_percent <= NEAR * brief.fit.tolerance(None)
            })
        };
        let done = effort == Effort::Glance
            || nearest.as_ref().is_some_and(|(_, found)| passes(found) || near(found));
        if !done && !(wishes.time_is_up)() {
            let first = nearest.as_ref().map(|(_, found)| Box::new(found.clone()));
            match search(best, SearchEffort::Whole, Attempts::AfterFirst(first)) {
                Ok(found) if nearest.as_ref().is_none_or(|(_, other)| nearer(&found, other)) => {
                    nearest = Some((ways[best].brief.clone(), found));
                }
                Err(SearchError::Stopped) => return Err(SearchError::Stopped.into()),
                _ => {}
            }
        }
        let Some((brief, outcome)) = nearest else {
            return Err(error.unwrap_or(SearchError::NoForce).into());
        };
        let spring = outcome.designs[0].spring.clone();
        let curve = force_curve(&spring)?.ok_or(SearchError::NoForce)?;
        let (count, stacking, closes) = (member.count, member.stacking, member.target.closes);
        Ok(Self { spring, curve, installed, count, stacking, closes, brief, outcome })
    }

    /// Its place in the arrangement.
    pub fn placed(&self, spacer: f64) -> PlacedMember {
        PlacedMember {
            curve: self.curve.clone(),
            count: self.count,
            stacking: self.stacking,
            installed: self.installed,
            thickness: self.spring.sheet.thickness,
            spacer,
        }
    }

    /// Deflection of the stack over that of one disc, and its force over that of one.
    pub fn multiples(&self) -> (f64, f64) {
        let count = self.count as f64;
        match self.stacking {
            Stacking::Series => (count, 1.0),
            Stacking::Parallel => (1.0, count),
        }
    }

    /// The disc shaped again for the points wanted of its stack: deflection (mm), force and base of the error (N). None
    /// where no valid spring results.
    pub fn shaped_for(&self, wanted: &[[f64; 3]], controls: Option<usize>) -> Option<Self> {
        let (travel, times) = self.multiples();
        let mut points: Vec<[f64; 3]> = wanted
            .iter()
            .map(|[x, f, base]| [x / travel, f / times, base / times])
            .filter(|[x, f, _]| *x > 0.0 && *f >= 0.0)
            .collect();
        points.sort_by(|a, b| a[0].total_cmp(&b[0]));
        points.dedup_by(|a, b| a[0] - b[0] < 1e-6);
        let last = points.last()?[0];
        let column = |k: usize| points.iter().map(|point| point[k]).collect::<Vec<f64>>();
        let points = TargetPoints {
            deflection: column(0),
            force: column(1),
            base: column(2),
            band: None,
            from_free: (column(0), column(1)),
        };
        let asked = self.asked(&self.spring);
        let height = self.spring.former.free_height;
        let least = (last * (1.0 + self.brief.fit.reserve.unwrap_or(0.03))).min(height);
        let range = if self.closes {
            (0.97 * height, 1.03 * height)
        } else {
            (least.max(0.9 * height), 1.1 * height)
        };
        let limits = cutting_limits(&self.brief, self.spring.sheet.thickness);
        let spring =
            shape_in_assembly(&self.spring, &points, &asked, limits.arm_min, range, controls).ok()?;
        let curve = force_curve(&spring).ok()??;
        Some(Self { spring, curve, ..self.clone() })
    }

    fn asked(&self, spring: &Spring) -> Asked {
        let mut file = spring.to_file();
        let mut process = self.brief.process.clone();
        process.arm_min = self.brief.arms.width_min.or(process.arm_min);
        file.process = Some(process);
        file.duty = Some(self.brief.duty.clone());
        file.envelope = Some(self.brief.envelope.clone());
        file.fit = Some(self.brief.fit.clone());
        Asked::of(&file, None)
    }

    /// The answer of the disc for its final target.
    pub fn answer(&self, wanted: &MemberTarget) -> Result<Answer, AnswerError> {
        let mut brief = self.brief.clone();
        brief.duty.installed = Some(wanted.installed).filter(|x| *x > 0.0);
        // what the other discs leave to it, as far as a disc can follow
        let target = nearest_reachable(&target_curve(wanted), wanted.installed).nearest;
        let reach = nearest_reachable(&target, wanted.installed);
        let question = Question { target, brief };
        let asked = self.asked(&self.spring);
        let arm = Arm::of(&self.spring);
        let design =
            Design::of(self.spring.clone(), &Asked { target: Some(question.target.clone()), ..asked }, arm)
                .map_err(AnswerError::from)?;
        let outcome = Outcome {
            designs: vec![design],
            reach,
            considered: self.outcome.considered,
            shaped: self.outcome.shaped,
        };
        evaluate(question, outcome, Vec::new())
    }

    /// Curve again after a change of the spring.
    pub fn with_height(&self, height: f64) -> Result<Option<Self>, ModelError> {
        let mut spring = self.spring.clone();
        spring.former.free_height = height;
        Ok(force_curve(&spring)?.map(|curve| Self { spring, curve, ..self.clone() }))
    }
}

fn target_curve(target: &MemberTarget) -> TargetCurve {
    TargetCurve {
        deflection: target.deflection.clone(),
        force: target.force.clone(),
        ..TargetCurve::default()
    }
}

/// The part of a brief that is asked of one disc.
fn member_brief(brief: &Brief, target: &MemberTarget) -> Brief {
    let mut own = brief.clone();
    own.assembly = AssemblyChoice::default();
    own.duty.installed = Some(target.installed).filter(|x| *x > 0.0);
    // the stroke of a disc is its range of deflection over the curve
    own.duty.stroke_start = None;
    own.duty.stroke_end = None;
    let tolerance = brief.fit.tolerance(None).max(SEARCH_TOLERANCE);
    own.fit.tolerance_percent = Some(tolerance);
    // good parts are asked of the whole
    own.fit.good_parts_min = None;
    if target.closes {
        own.fit.reserve = Some(0.0);
        own.envelope.free_height_max = Some((1.0 + CLOSING_ROOM) * target.reach());
    }
    own
}
