//! The spring that follows a curve while it is being shaped: one sheet, one number of arms, one set of circles; widths,
//! free height and easing at the roots follow.
//!
//! The mechanics is that of the search. It is fast because shaping starts from the spring drawn last, works in
//! small slopes over few pieces, and corrects their forces point by point with the ratio that the full model had at the
//! start. The resulting spring is evaluated by the full model, so that the numbers shown are those of the spring drawn.

use serde::{Deserialize, Serialize};

use super::LiveError;
use crate::curve::{TargetCurve, nearest_reachable};
use crate::evaluation::{Asked, Evaluation, Extent};
use crate::layout::{FormerProfile, LayoutError, Spring};
use crate::model::{Model, ModelSettings};
use crate::numeric::evenly_spread;
use crate::pipeline::{Question, SheetsToTry, cutting_limits, spring_file};
use crate::response::fine_over_coarse;
use crate::spec::{Brief, FormerLaw, SpringFile};
use crate::synthesis::{
    ClosedRequirement, SearchError, ShapeError, ShapeFreedom, ShapeSettings, TargetPoints, easing_range,
    free_height_range, least_free_height, reserve, seed, shape, wanted, width_range,
};

/// Thicknesses among which a draft under the hand chooses anew; each costs about
/// a tenth of a second of one core.
const QUICK_THICKNESSES: usize = 8;
/// Tolerance of diameters against their limits (mm): the last digit written.
const WRITTEN: f64 = 0.011;

/// Depth of the work on a draft.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Depth {
    /// while the hand moves: some ten milliseconds
    #[default]
    Quick,
    /// when it rests: a second or two, at the model's own resolution
    Fine,
    /// no shaping, evaluation of the spring as it is
    AsIs,
}

/// Most points of a curve among which those out of reach are looked for: each one left out costs a fit of a convex curve for
/// every point there is.
const MOST_SORTED: usize = 50;
/// Share of a curve's points that may be out of reach while the rest is followed for itself: with more of them the curve
/// as a whole is another one, and the nearest to all of it is followed.
const MOST_OUT: f64 = 0.4;

/// Steps of one shaping.
struct Effort {
    /// pieces of the arm that is shaped over
    shaped_over: usize,
    /// parts of the evaluation that judges it
    judged: Extent,
    /// control radii of each round
    controls: &'static [usize],
    /// most iterations of each round
    iterations: u64,
    /// whether the closed spring has to keep its limits as well: it costs as much again
    closed: bool,
}

impl Effort {
    fn of(depth: Depth) -> Self {
        match depth {
            // one step is enough: the next movement of the hand takes the next one
            Depth::Quick => {
                Self { shaped_over: 24, judged: Extent::Draft, controls: &[6], iterations: 1, closed: false }
            }
            Depth::Fine => Self {
                shaped_over: 48,
                judged: Extent::Whole,
                controls: &[6, 9, 9],
                iterations: 6,
                closed: true,
            },
            Depth::AsIs => {
                Self { shaped_over: 0, judged: Extent::Whole, controls: &[], iterations: 0, closed: false }
            }
        }
    }
}

/// A spring that follows the curve, and its evaluation.
#[derive(Debug, Clone)]
pub struct Draft {
    /// the evaluation
    pub evaluation: Evaluation,
    /// the spring as its file, with what was asked
    pub file: SpringFile,
    /// whether sheet, arms and size were chosen anew
    pub chosen_anew: bool,
    /// the curve that was followed, where a part of the one asked for is out of reach; deflection as the target counts it
    pub followed: Option<TargetCurve>,
}

impl Draft {
    /// The spring.
    pub fn spring(&self) -> &Spring {
        &self.evaluation.spring
    }

    /// Root mean square force error (percent of the error base).
    pub fn rms_percent(&self) -> f64 {
        self.evaluation.fit.as_ref().map_or(0.0, |fit| fit.summary.rms_percent)
    }

    /// Whether the curve is met.
    pub fn fits(&self) -> bool {
        self.evaluation.fit.as_ref().is_some_and(|fit| fit.met)
    }
}

/// Drafts a spring. `previous` is the one drawn last; without it, or where the brief no longer allows it, the closed
/// form chooses sheet, arms and size.
pub fn draft(question: &Question, previous: Option<&Spring>, depth: Depth) -> Result<Draft, LiveError> {
    draft_unless(&|| false, question, previous, depth)
}

/// As [`draft`], but ends with [`LiveError::Late`] soon after `late` says that it is out of date.
pub fn draft_unless(
    late: &dyn Fn() -> bool,
    question: &Question,
    previous: Option<&Spring>,
    depth: Depth,
) -> Result<Draft, LiveError> {
    let job = Job::of(question, late)?;
    let effort = Effort::of(depth);
    if let (Depth::AsIs, Some(spring)) = (depth, previous) {
        return job.judge(spring.clone(), effort.judged, false);
    }
    let (start, chosen_anew) = match previous.filter(|spring| job.allows(spring)) {
        Some(spring) => (spring.clone(), false),
        None => (job.seed(depth)?, true),
    };
    // with nothing to look at, a first spring is drafted
    let depth = if depth == Depth::AsIs { Depth::Quick } else { depth };
    let effort = Effort::of(depth);
    let followed = job.follow_in(depth, start)?;
    let found = job.judge(followed, effort.judged, chosen_anew)?;
    // with a part out of reach, errors over the whole curve say nothing of the sheet
    if depth != Depth::Fine || chosen_anew || found.fits() || job.followed.is_some() {
        return Ok(found);
    }
    // no spring from the sheet at hand: another one may do
    let other = job.follow_in(depth, job.seed(depth)?);
    match other.and_then(|spring| job.judge(spring, effort.judged, true)) {
        Ok(other) if other.rms_percent() < 0.8 * found.rms_percent() => Ok(other),
        Err(LiveError::Late) => Err(LiveError::Late),
        _ => Ok(found),
    }
}

/// The curve to follow where a part of the target cannot be followed: the rest of it as it stands. Points are left out one
/// by one, each time the one whose absence helps most, until the rest can be followed; `all` stands where that takes too
/// many.
fn rest_of(question: &Question, all: TargetPoints) -> (Option<TargetCurve>, TargetPoints) {
    let target = &question.target;
    if target.len() > MOST_SORTED {
        return (None, all);
    }
    let mut rest = target.clone();
    // a share of a length
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = (MOST_OUT * target.len() as f64) as usize;
    for _ in 0..most {
        let left = (0..rest.len()).map(|out| without(&rest, out));
        let errors = left.map(|left| error_of_nearest(&left, question.brief.duty.installed.unwrap_or(0.0)));
        let Some((worst, _)) = errors.enumerate().min_by(|a, b| a.1.total_cmp(&b.1)) else { break };
        rest = without(&rest, worst);
        match wanted(&rest, &question.brief) {
            Ok((reach, points)) if reach.reachable => return (Some(reach.nearest), points),
            Ok(_) => {}
            Err(_) => break,
        }
    }
    (None, all)
}

/// A curve without one of its points.
fn without(target: &TargetCurve, out: usize) -> TargetCurve {
    let mut rest = target.clone();
    rest.deflection.remove(out);
    rest.force.remove(out);
    for edge in [&mut rest.force_min, &mut rest.force_max].into_iter().flatten() {
        edge.remove(out);
    }
    rest
}

/// Sum of the squared relative errors of the curve nearest to a target that can be followed.
fn error_of_nearest(target: &TargetCurve, installed: f64) -> f64 {
    let near = nearest_reachable(target, installed).nearest;
    let errors = near.force.iter().zip(&target.force).zip(target.error_bases());
    errors.map(|((near, wanted), base)| ((near - wanted) / base).powi(2)).sum()
}

/// Conditions shared by all springs of one question.
struct Job<'a> {
    late: &'a dyn Fn() -> bool,
    question: &'a Question,
    sheets: SheetsToTry,
    points: TargetPoints,
    /// the nearest curve without the points out of reach; none where there are none such
    followed: Option<TargetCurve>,
    /// deflection of the spring where the target counts zero (mm)
    installed: f64,
}

impl<'a> Job<'a> {
    /// For a question; there has to be a force to follow.
    fn of(question: &'a Question, late: &'a dyn Fn() -> bool) -> Result<Self, LiveError> {
        let sheets = SheetsToTry::of(&question.brief)?;
        let (reach, points) = wanted(&question.target, &question.brief)?;
        let (followed, points) = if reach.reachable { (None, points) } else { rest_of(question, points) };
        Ok(Self { late, question, sheets, points, followed, installed: reach.installed })
    }

    fn in_time(&self) -> Result<(), LiveError> {
        if (self.late)() { Err(LiveError::Late) } else { Ok(()) }
    }

    fn brief(&self) -> &Brief {
        &self.question.brief
    }

    fn seed(&self, depth: Depth) -> Result<Spring, SearchError> {
        let brief = self.brief();
        let all = &self.sheets.thicknesses;
        let most = if depth == Depth::Quick { QUICK_THICKNESSES } else { all.len() };
        let tried: Vec<f64> = evenly_spread(all.len(), most).into_iter().map(|i| all[i]).collect();
        let seeded = |brief: &Brief| {
            let limits = |thickness: f64| cutting_limits(brief, thickness);
            let target = self.followed.as_ref().unwrap_or(&self.question.target);
            seed(target, brief, &self.sheets.sheet, &tried, &limits, self.sheets.allowable)
        };
        // two arms or more balance the hub; one is taken where nothing else does it
        let several: Vec<usize> =
            brief.arms.count.iter().flatten().copied().filter(|count| *count > 1).collect();
        if several.is_empty() {
            return seeded(brief);
        }
        let mut balanced = brief.clone();
        balanced.arms.count = Some(several);
        seeded(&balanced).or_else(|_| seeded(brief))
    }

    /// Least and largest free height (mm).
    fn free_height(&self) -> (f64, f64) {
        free_height_range(self.points.reach(), reserve(self.brief()), &self.brief().envelope)
    }

    /// Whether a spring keeps the brief's limits of sheet, arms, size and slots; the rest can be shaped.
    fn allows(&self, spring: &Spring) -> bool {
        let brief = self.brief();
        let (_, most) = self.free_height();
        let sheet =
            crate::layout::SheetProperties { thickness: spring.sheet.thickness, ..self.sheets.sheet.clone() };
        let arms = brief.arms.count.as_ref().is_none_or(|counts| counts.contains(&spring.arms));
        let envelope = &brief.envelope;
        least_free_height(self.points.reach(), reserve(brief)) <= most
            && sheet == spring.sheet
            && self.sheets.thicknesses.contains(&spring.sheet.thickness)
            && arms
            && envelope.outer_diameter_max.is_none_or(|d| 2.0 * spring.disc.outer_radius <= d + WRITTEN)
            && envelope.bore_diameter_min.is_none_or(|d| 2.0 * spring.disc.bore_radius >= d - WRITTEN)
            && spring.slot == cutting_limits(brief, spring.sheet.thickness).slot
            && (spring.former.is_cone() || brief.former.law != Some(FormerLaw::Cone))
    }

    /// The start in the brief's seat, its free height and easing within their limits.
    fn seated(&self, mut spring: Spring) -> Result<Spring, LayoutError> {
        let (least, most) = self.free_height();
        let height = spring.former.free_height.clamp(least, most);
        let ease = self.brief().former.ease.unwrap_or(spring.former.ease);
        spring.former = match spring.former.points() {
            Some((radius, heights)) => FormerProfile::profile(height, ease, radius, heights)?,
            None => FormerProfile::cone(height, ease),
        };
        spring.seat = self.brief().seat;
        Ok(spring)
    }

    /// Shapes a spring towards the curve with the work of a depth. A fine draft begins with a quick one: from far off, the
    /// limits of the closed spring would stop it too early.
    fn follow_in(&self, depth: Depth, start: Spring) -> Result<Spring, LiveError> {
        let quick = self.follow(start, &Effort::of(Depth::Quick))?;
        if depth == Depth::Quick { Ok(quick) } else { self.follow(quick, &Effort::of(depth)) }
    }

    /// Shapes a spring towards the curve.
    fn follow(&self, start: Spring, effort: &Effort) -> Result<Spring, LiveError> {
        let mut spring = self.seated(start)?;
        let brief = self.brief();
        let limits = cutting_limits(brief, spring.sheet.thickness);
        for &controls in effort.controls {
            self.in_time()?;
            let settings = ShapeSettings {
                freedom: ShapeFreedom::Free(controls),
                width: width_range(limits.arm_min, &spring.disc),
                free_height: self.free_height(),
                ease: easing_range(&brief.former),
                profile: brief.former.law == Some(FormerLaw::Profile),
                width_ratio: f64::INFINITY,
                closed: effort.closed.then(|| ClosedRequirement {
                    process: brief.process.clone(),
                    solid_height_max: brief.envelope.solid_height_max,
                    allowable: self.sheets.allowable,
                    life: None,
                }),
                allowable: self.sheets.allowable,
                smoothness: 1.0,
                iterations: effort.iterations,
                model: ModelSettings {
                    segments: effort.shaped_over,
                    in_plane: false,
                    ..ModelSettings::default()
                },
            };
            let aim = self.aim(&spring, &settings.model)?;
            spring = shape(&spring, &aim, &settings)?.spring;
        }
        Ok(spring)
    }

    /// The curve to aim at with a coarse model, so that the fine one meets the curve wanted.
    fn aim(&self, spring: &Spring, coarse: &ModelSettings) -> Result<TargetPoints, ShapeError> {
        let points = &self.points;
        let fine = ModelSettings::default();
        let low = Model::of(spring, coarse)?.response(&points.deflection)?.force;
        let high = Model::of(spring, &fine)?.response(&points.deflection)?.force;
        let factor = fine_over_coarse(&high, &low);
        let scaled =
            |list: &[f64]| list.iter().zip(&factor).map(|(value, k)| value / k).collect::<Vec<f64>>();
        Ok(TargetPoints {
            force: scaled(&points.force),
            base: scaled(&points.base),
            band: points.band.as_ref().map(|band| {
                band.iter().zip(&factor).map(|((least, most), k)| (least / k, most / k)).collect()
            }),
            ..points.clone()
        })
    }

    /// The evaluation of a spring on the page to an `extent`: the whole one is that which the commands make of the spring's file.
    fn judge(&self, spring: Spring, extent: Extent, chosen_anew: bool) -> Result<Draft, LiveError> {
        self.in_time()?;
        let mut notes = Vec::new();
        let file = spring_file(&spring, self.question, self.installed, &mut notes);
        // the commands know only the file
        let spring = Spring::from_file(&file, None)?;
        let asked = Asked::of(&file, Some(&self.question.target)).to_extent(extent);
        Ok(Draft {
            evaluation: Evaluation::of(&spring, asked)?,
            file,
            chosen_anew,
            followed: self.followed.clone(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve;

    const BRIEF: &str =
        "[envelope]\nouter_diameter_max = 90\n[sheet]\nthickness = [1.2, 1.5]\n[arms]\ncount = [1, 2]\n";

    fn question(csv: &str, brief: &str) -> Question {
        Question {
            target: curve::read(csv.as_bytes(), "curve.csv").unwrap(),
            brief: Brief::parse(brief, "brief.toml").unwrap(),
        }
    }

    /// 5 N/mm over 7 mm, the last force raised by a share.
    fn throttle(raised: f64) -> Question {
        let force = 35.0 * (1.0 + raised);
        question(&format!("deflection_mm,force_n\n0,0\n2,10\n4,20\n6,30\n7,{force}\n"), BRIEF)
    }

    #[test]
    fn a_first_draft_comes_from_the_closed_form_and_the_next_ones_from_the_last() {
        let first = draft(&throttle(0.0), None, Depth::Quick).unwrap();
        assert!(first.chosen_anew);
        let mut spring = first.evaluation.spring;
        for step in 1..=5 {
            let next = draft(&throttle(0.02 * f64::from(step)), Some(&spring), Depth::Quick).unwrap();
            assert!(!next.chosen_anew);
            assert_eq!((&next.spring().sheet, next.spring().arms), (&spring.sheet, spring.arms));
            assert_eq!(next.spring().disc, spring.disc);
            spring = next.evaluation.spring;
        }
        let moved = draft(&throttle(0.1), Some(&spring), Depth::Fine).unwrap();
        assert!(moved.fits(), "{}", moved.rms_percent());
    }

    #[test]
    fn a_quick_draft_is_judged_by_the_whole_model() {
        let question = throttle(0.0);
        let quick = draft(&question, None, Depth::Quick).unwrap();
        let whole = draft(&question, Some(quick.spring()), Depth::AsIs).unwrap();
        assert_eq!(quick.spring(), whole.spring());
        for x in [1.0, 3.0, 5.0, 6.0] {
            let (a, b) = (quick.evaluation.closing.force_at(x), whole.evaluation.closing.force_at(x));
            assert!((a / b - 1.0).abs() < 1e-3, "{a} N and {b} N at {x} mm");
        }
        let off = (quick.rms_percent() - whole.rms_percent()).abs();
        assert!(off < 1e-6, "{} and {}", quick.rms_percent(), whole.rms_percent());
    }

    #[test]
    fn a_spring_that_the_brief_no_longer_allows_is_chosen_anew() {
        let spring = draft(&throttle(0.0), None, Depth::Quick).unwrap().evaluation.spring;
        for change in ["outer_diameter_max = 40", "bore_diameter_min = 30"] {
            let brief = BRIEF.replace("outer_diameter_max = 90", change);
            let other = Question { brief: Brief::parse(&brief, "b").unwrap(), ..throttle(0.0) };
            let found = draft(&other, Some(&spring), Depth::Quick).unwrap();
            assert!(found.chosen_anew, "{change}");
        }
        let mut seat = throttle(0.0);
        seat.brief.seat.rim = crate::spec::Rim::Held;
        let found = draft(&seat, Some(&spring), Depth::Quick).unwrap();
        assert!(!found.chosen_anew && found.spring().seat == seat.brief.seat);
    }

    #[test]
    fn where_a_part_is_out_of_reach_the_rest_is_followed() {
        let straight = "0,0\n1,5\n2,10\n3,15\n4,20\n5,25\n6,30\n";
        let fallen = question(&format!("deflection_mm,force_n\n{straight}7,0\n"), BRIEF);
        let start = draft(&throttle(0.0), None, Depth::Quick).unwrap().evaluation.spring;
        let found = draft(&fallen, Some(&start), Depth::Fine).unwrap();
        for x in [2.0, 4.0, 6.0] {
            let force = found.evaluation.closing.force_at(x);
            assert!((force / (5.0 * x) - 1.0).abs() < 0.03, "{force} N at {x} mm");
        }
        // said of the curve that was asked for
        assert!(!found.fits());
        assert_eq!(found.followed.map(|curve| curve.deflection.len()), Some(7));
        // a curve that falls short everywhere is another one: the nearest to all of it is followed
        let soft = question("deflection_mm,force_n\n0,0\n1,12\n2,18\n3,22\n4,25\n5,27\n6,28\n", BRIEF);
        assert!(draft(&soft, Some(&start), Depth::Quick).unwrap().followed.is_none());
    }

    #[test]
    fn a_last_point_drawn_beyond_the_travel_lifts_the_spring() {
        let spring = draft(&throttle(0.0), None, Depth::Quick).unwrap().evaluation.spring;
        let longer = question("deflection_mm,force_n\n0,0\n4,20\n8,40\n14,70\n", BRIEF);
        let found = draft(&longer, Some(&spring), Depth::Quick).unwrap();
        assert!(found.spring().former.free_height > 14.0);
        let low = question(
            "deflection_mm,force_n\n0,0\n4,20\n8,40\n14,70\n",
            &BRIEF.replace("outer", "free_height_max = 10\nouter"),
        );
        let message = draft(&low, Some(&spring), Depth::Quick).unwrap_err().to_string();
        assert!(message.contains("free height may be 10 mm"), "{message}");
    }
}
