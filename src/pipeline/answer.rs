//! The design pipeline: from a question (curve and brief) to an answer (spring, evaluation, other candidates), step by
//! step, without touching the disk.

use super::clock::{CUT_SHORT, Clock};
use super::sheets::{SheetsToTry, cutting_limits};
use super::single_changes::{SingleChange, finding, loosened, try_single_changes};
use super::stacking::Stack;
use super::summary::{DesignSummary, FormerGain};
use super::ways::{Way, ways};
use crate::curve::TargetCurve;
use crate::evaluation::{Asked, Evaluation, MOST_POINTS};
use crate::layout::{LayoutError, Spring};
use crate::model::ModelError;
use crate::numeric::evenly_spread;
use crate::outline::CutRules;
use crate::spec::{Brief, Duty, Fit, FormerLaw, Shop, SpringFile, Target};
use crate::synthesis::{
    Design, Merits, NOTICEABLE_OWN_WEIGHT, Outcome, Preference, Progress, Search, SearchEffort, SearchError,
};

/// A question: the wanted curve and the brief.
#[derive(Debug, Clone)]
pub struct Question {
    /// the wanted curve
    pub target: TargetCurve,
    /// the brief
    pub brief: Brief,
}

impl Question {
    /// Largest rms error that counts as met (percent).
    pub fn tolerance_percent(&self) -> f64 {
        self.brief.fit.tolerance(self.target.tolerance_percent)
    }
}

/// An answer.
#[derive(Debug, Clone)]
pub struct Answer {
    /// the question
    pub question: Question,
    /// springs that the search found, best first
    pub outcome: Outcome,
    /// the best spring as a file
    pub file: SpringFile,
    /// evaluation of the best spring
    pub evaluation: Evaluation,
    /// verdicts and numbers
    pub summary: DesignSummary,
    /// what was chosen and corrected before the search, a sentence each
    notes: Vec<String>,
}

impl Answer {
    /// The best spring.
    pub fn spring(&self) -> &Spring {
        &self.evaluation.spring
    }

    /// Says that the time limit cut the search short.
    pub(super) fn cut_short(&mut self) {
        self.summary.cut_short = true;
        self.summary.evaluation.warnings.push(CUT_SHORT.to_owned());
    }
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AnswerError {
    /// The search found nothing.
    #[error(transparent)]
    Search(#[from] SearchError),
    /// The shortlist has no such place.
    #[error("--take: found {asked}, expected a place from 1 to {found} of the shortlist; take one of those")]
    NotOnTheShortlist {
        /// place asked for
        asked: usize,
        /// springs on the list
        found: usize,
    },
    /// The sheet is unknown, or the geometry of the spring found is invalid.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The spring found has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// Answers a question. What the brief leaves open is chosen, and said in the summary's warnings.
pub fn answer(question: Question, progress: &(dyn Fn(Progress) + Sync)) -> Result<Answer, AnswerError> {
    answer_unless(&|| false, question, progress)
}

/// As [`answer`], but ends with [`SearchError::Stopped`] soon after `stopped` says so.
pub fn answer_unless(
    stopped: &(dyn Fn() -> bool + Sync),
    question: Question,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Answer, AnswerError> {
    let wishes = Wishes { stopped, progress, ..Wishes::default() };
    answer_with(&wishes, question)
}

/// Wishes for the search and the choice among the springs found.
#[derive(Clone, Copy)]
pub struct Wishes<'a> {
    /// what decides between springs that pass
    pub preference: Preference,
    /// place in the shortlist, from 1, of the spring to answer with
    pub take: usize,
    /// whether to stop
    pub stopped: &'a (dyn Fn() -> bool + Sync),
    /// whether the time is up: the best so far is the answer
    pub time_is_up: &'a (dyn Fn() -> bool + Sync),
    /// called with every step
    pub progress: &'a (dyn Fn(Progress) + Sync),
}

impl Default for Wishes<'_> {
    fn default() -> Self {
        Self {
            preference: Preference::default(),
            take: 1,
            stopped: &|| false,
            time_is_up: &|| false,
            progress: &|_| (),
        }
    }
}

/// As [`answer`], with wishes. An answer that the time limit cut short says so.
pub fn answer_with(wishes: &Wishes, question: Question) -> Result<Answer, AnswerError> {
    let clock = Clock::of(wishes.time_is_up);
    let time_is_up = || clock.is_up();
    let mut answer = answer_in_time(&Wishes { time_is_up: &time_is_up, ..*wishes }, question)?;
    if clock.cut_short() {
        answer.cut_short();
    }
    Ok(answer)
}

/// As [`answer_with`], the time left to the caller's clock.
pub(super) fn answer_in_time(wishes: &Wishes, question: Question) -> Result<Answer, AnswerError> {
    // 1: what the brief leaves open
    let mut ways = ways(&question.brief)?;
    // 2: the search, way by way until a spring passes that is light and of which most parts come out good; everything is
    // tried on the way that comes nearest
    let target = &question.target;
    let search_way = |way: &Way, effort: SearchEffort| {
        search(wishes, &way.sheets, target, &way.brief, effort, false, Attempts::All)
    };
    let search_rest = |way: &Way, found: Option<Outcome>| {
        let attempts = Attempts::AfterFirst(found.map(Box::new));
        search(wishes, &way.sheets, target, &way.brief, SearchEffort::Whole, false, attempts)
    };
    let first = if ways.len() > 1 { SearchEffort::FirstAttempt } else { SearchEffort::Whole };
    let mut nearest: Option<(usize, Outcome)> = None;
    let mut usual = None;
    let mut error = None;
    for (place, way) in ways.iter().enumerate() {
        // another sheet is for what cannot be done with the usual one
        if way.other_sheet && nearest.as_ref().is_some_and(|(_, found)| passes(found)) {
            break;
        }
        if nearest.is_some() && (wishes.time_is_up)() {
            break;
        }
        match search_way(way, first) {
            Ok(found) => {
                usual = usual.or_else(|| (place == 0).then(|| found.clone()));
                let better = nearest.as_ref().is_none_or(|(_, other)| serves_better(&found, other));
                nearest = if better { Some((place, found)) } else { nearest };
            }
            Err(SearchError::Stopped) => return Err(SearchError::Stopped.into()),
            Err(other) => error = error.or(Some(other)),
        }
        if nearest.as_ref().is_some_and(|(_, found)| serves_well(found)) {
            break;
        }
    }
    let Some((mut place, mut outcome)) = nearest else {
        return Err(error.unwrap_or(SearchError::NoForce).into());
    };
    // a machine less usual only where everything tried on the usual one does not serve as well
    let mut all_tried = first == SearchEffort::Whole;
    if place > 0 && !(wishes.time_is_up)() {
        let whole = search_rest(&ways[0], usual);
        if let Some(usual) = whole.ok().filter(|usual| !serves_better(&outcome, usual)) {
            (place, outcome, all_tried) = (0, usual, true);
        }
    }
    let way = ways.swap_remove(place);
    if !all_tried && !passes(&outcome) && !(wishes.time_is_up)() {
        let whole = search_rest(&way, Some(outcome.clone()))?;
        outcome = if nearer(&whole, &outcome) { whole } else { outcome };
    }
    let mut notes = target.notes.clone();
    notes.extend(way.sheets.warnings.iter().cloned());
    if way.brief.process.kind() != question.brief.process.kind() {
        notes.push(format!(
            "no process named: {} taken, by waterjet no spring passes, most parts come out bad or the disc is too heavy for its \
             force",
            way.brief.process.kind().name()
        ));
    }
    if question.brief.sheet.material.is_none() && way.brief.sheet.material.is_some() {
        notes.push(format!(
            "no sheet named: {} taken, the usual sheet does not suffice",
            way.brief.sheet.material.as_deref().unwrap_or_default()
        ));
    }
    let question = Question { target: question.target.clone(), brief: way.brief.clone() };
    let found = outcome.designs.len();
    if wishes.take == 0 || wishes.take > found {
        return Err(AnswerError::NotOnTheShortlist { asked: wishes.take, found });
    }
    // the spring taken comes first, the others keep their order
    outcome.designs[..wishes.take].rotate_right(1);
    conclude(wishes, &way.sheets, question, outcome, notes)
}

/// The same answer with the spring at `place` (from 1) of its list taken instead of the first.
pub fn take(answer: &Answer, place: usize) -> Result<Answer, AnswerError> {
    let found = answer.outcome.designs.len();
    if place == 0 || place > found {
        return Err(AnswerError::NotOnTheShortlist { asked: place, found });
    }
    let sheets = SheetsToTry::of(&answer.question.brief)?;
    let mut outcome = answer.outcome.clone();
    outcome.designs[..place].rotate_right(1);
    conclude(&Wishes::default(), &sheets, answer.question.clone(), outcome, answer.notes.clone())
}

/// Steps 3 and 4 of an answer: the evaluation of the first spring, and the alternatives of several springs or a plain
/// cone.
fn conclude(
    wishes: &Wishes,
    sheets: &SheetsToTry,
    question: Question,
    outcome: Outcome,
    notes: Vec<String>,
) -> Result<Answer, AnswerError> {
    let mut answer = evaluate(question, outcome, notes)?;
    let quietly = |target: &TargetCurve, brief: &Brief| glance(wishes, sheets, target, brief);
    add_stack(&mut answer, &quietly);
    add_single_changes(&mut answer, wishes);
    add_former_gain(&mut answer, &quietly);
    if (wishes.stopped)() {
        return Err(SearchError::Stopped.into());
    }
    Ok(answer)
}

/// Attempts of a search that are made.
#[derive(Debug, Clone)]
pub(super) enum Attempts {
    /// all that its effort asks for
    All,
    /// those after the first, whose outcome is known if it had one
    AfterFirst(Option<Box<Outcome>>),
}

/// A search with the sheets of one way; `within_reach` ends it where the closed form shows that no spring can be had.
pub(super) fn search(
    wishes: &Wishes,
    sheets: &SheetsToTry,
    target: &TargetCurve,
    brief: &Brief,
    effort: SearchEffort,
    within_reach: bool,
    attempts: Attempts,
) -> Result<Outcome, SearchError> {
    let search = Search {
        target,
        brief,
        sheet: &sheets.sheet,
        thicknesses: &sheets.thicknesses,
        limits: &|thickness: f64| cutting_limits(brief, thickness),
        preference: wishes.preference,
        effort,
        within_reach,
        stopped: wishes.stopped,
        time_is_up: wishes.time_is_up,
        progress: wishes.progress,
    };
    match attempts {
        Attempts::All => search.run(),
        Attempts::AfterFirst(found) => search.run_after_first(found.map(|found| *found)),
    }
}

/// A short search that only says more about an answer already found: left out when the time is up.
fn glance(
    wishes: &Wishes,
    sheets: &SheetsToTry,
    target: &TargetCurve,
    brief: &Brief,
) -> Result<Outcome, SearchError> {
    if (wishes.time_is_up)() {
        return Err(SearchError::Stopped);
    }
    search(wishes, sheets, target, brief, SearchEffort::Glance, true, Attempts::All)
}

/// Share of good parts, the sheet measured, from which on no other process is tried (percent).
const MOST_PARTS_GOOD: f64 = 60.0;
/// Points of good parts that another process than the usual one has to bring.
const WORTH_ANOTHER_PROCESS: f64 = 10.0;

/// Whether a spring passes, is light against its force, and most of its parts come out good.
fn serves_well(outcome: &Outcome) -> bool {
    let good = |merits: &Merits| !merits.heavy() && merits.good_percent_sheet_measured >= MOST_PARTS_GOOD;
    passes(outcome) && outcome.designs.first().is_some_and(|design| good(&design.merits))
}

/// Whether an outcome serves better than one by a more usual process: it passes where the other does not, it is light where the
/// other is heavy, or it brings many more good parts.
fn serves_better(outcome: &Outcome, usual: &Outcome) -> bool {
    let (Some(own), Some(other)) = (outcome.designs.first(), usual.designs.first()) else {
        return nearer(outcome, usual);
    };
    let (own, other) = (&own.merits, &other.merits);
    if !(own.passed && other.passed) {
        return nearer(outcome, usual);
    }
    if own.heavy() != other.heavy() {
        return other.heavy();
    }
    own.good_mean() > other.good_mean() + WORTH_ANOTHER_PROCESS
}

pub(super) fn passes(outcome: &Outcome) -> bool {
    outcome.designs.first().is_some_and(|design| design.merits.passed)
}

/// Whether an outcome comes nearer to what was asked than another one: fewer verdicts that fail, then less error.
pub(super) fn nearer(outcome: &Outcome, other: &Outcome) -> bool {
    let key = |outcome: &Outcome| {
        outcome
            .designs
            .first()
            .map_or((usize::MAX, f64::INFINITY), |design| (design.merits.failing, design.merits.rms_percent))
    };
    let (own, their) = (key(outcome), key(other));
    own.0 < their.0 || own.0 == their.0 && own.1 < their.1
}

/// The answer that springs already found make; `notes` say what was chosen and corrected before.
pub(super) fn evaluate(
    question: Question,
    outcome: Outcome,
    mut notes: Vec<String>,
) -> Result<Answer, AnswerError> {
    let given = notes.clone();
    let best = &outcome.designs[0];
    let file = spring_file(&best.spring, &question, outcome.reach.installed, &mut notes);
    let asked = Asked::of(&file, Some(&question.target));
    let evaluation = Evaluation::of(&best.spring, asked)?;
    if let Some(weight) = evaluation.checks.mass.weight_n {
        let share = weight / question.target.max_force();
        if share > NOTICEABLE_OWN_WEIGHT {
            notes.push(format!(
                "the disc weighs {:.0} % of the largest force asked for: its force depends on its orientation; take thinner \
                 sheet or a smaller disc",
                100.0 * share
            ));
        }
    }
    // nothing is chosen where a spring that is there is shaped again
    if outcome.considered > 1 && question.brief.envelope.outer_diameter_max.is_none() {
        notes.push(format!(
            "no outer_diameter_max given: an outside diameter of {:.1} mm is chosen",
            best.merits.outer_diameter_mm
        ));
    }
    let summary = DesignSummary::of(&evaluation, &file, &outcome, notes);
    Ok(Answer { question, outcome, file, evaluation, summary, notes: given })
}

/// The fewest equal springs that suffice where one does not and seating can follow the curve.
fn add_stack(answer: &mut Answer, search: &dyn Fn(&TargetCurve, &Brief) -> Result<Outcome, SearchError>) {
    let done = |name: &str| answer.evaluation.verdicts.get(name).is_none_or(|verdict| !verdict.state.fails());
    let reachable = answer.evaluation.fit.as_ref().is_none_or(|fit| fit.summary.reachable);
    if !reachable || done("curve") && done("strength") {
        return;
    }
    let question = &answer.question;
    let stack = Stack::find(&question.target, &question.brief, question.tolerance_percent(), search);
    answer.summary.evaluation.warnings.extend(stack.iter().map(Stack::advice));
    answer.summary.stack = stack;
}

/// The limits of the brief that bind, where no spring passes and the time is not up.
fn add_single_changes(answer: &mut Answer, wishes: &Wishes) {
    let best = answer.outcome.designs[0].merits;
    if best.passed || (wishes.stopped)() {
        return;
    }
    let limits = loosened(&answer.question.brief);
    if limits.is_empty() {
        return;
    }
    let target = &answer.question.target;
    let attempt = |words: &str, brief: &Brief| {
        let found = glance(wishes, &SheetsToTry::of(brief).ok()?, target, brief).ok()?;
        Some(SingleChange::of(words, &found.designs.first()?.merits))
    };
    let changes = try_single_changes(&limits, (best.failing, best.rms_percent), &attempt);
    // that no change helps is known only where all were tried
    if changes.is_empty() && (wishes.time_is_up)() {
        return;
    }
    answer.summary.evaluation.warnings.push(finding(&changes));
    answer.summary.single_changes = changes;
}

/// The cone to compare with, where the former was shaped.
fn add_former_gain(
    answer: &mut Answer,
    search: &dyn Fn(&TargetCurve, &Brief) -> Result<Outcome, SearchError>,
) {
    if answer.question.brief.former.law != Some(FormerLaw::Profile) {
        return;
    }
    let best = answer.outcome.designs[0].merits;
    let mut brief = answer.question.brief.clone();
    brief.former.law = Some(FormerLaw::Cone);
    brief.arms.count = Some(vec![best.arms]);
    brief.envelope.outer_diameter_max = Some(best.outer_diameter_mm);
    let Ok(found) = search(&answer.question.target, &brief) else { return };
    let same_sheet = |design: &&Design| design.merits.thickness_mm == best.thickness_mm;
    let Some(cone) = found.designs.iter().find(same_sheet).or(found.designs.first()) else { return };
    let gain = FormerGain { cone: cone.merits, profile: best };
    answer.summary.evaluation.warnings.push(format!(
        "shaping the former's profile: {:.2} % rms and {:.0} MPa against {:.2} % rms and {:.0} MPa on a plain cone of the \
         same sheet, arms and outside diameter",
        gain.profile.rms_percent,
        gain.profile.peak_stress_mpa,
        gain.cone.rms_percent,
        gain.cone.peak_stress_mpa
    ));
    answer.summary.former_gain = Some(gain);
}

/// The spring file of a design, with what was asked; `installed` (mm) is the deflection where the target counts zero.
/// Remarks on it are appended to the `notes`.
pub fn spring_file(
    spring: &Spring,
    question: &Question,
    installed: f64,
    notes: &mut Vec<String>,
) -> SpringFile {
    let (brief, target) = (&question.brief, &question.target);
    let keep = evenly_spread(target.len(), MOST_POINTS);
    let pick = |list: &[f64]| keep.iter().map(|&i| list[i]).collect::<Vec<f64>>();
    let mut file = spring.to_file();
    let mut process = brief.process.clone();
    if let Some(least) = brief.arms.width_min {
        let usual = CutRules::of(&brief.process, spring.sheet.thickness).arm_min;
        if least < usual {
            notes.push(format!(
                "arms.width_min is {least} mm; this process usually leaves at least {usual} mm standing in this sheet: ask \
                 the shop first"
            ));
        }
        process.arm_min = Some(least);
    }
    // the file says what the brief may have left out
    process.kind = Some(process.kind());
    file.process = Some(process);
    file.duty = Some(Duty { installed: Some(installed).filter(|x| *x > 0.0), ..brief.duty.clone() });
    file.setting = brief.setting.given();
    file.envelope = Some(brief.envelope.clone());
    file.shop = Some(brief.shop.clone()).filter(|shop| *shop != Shop::default());
    let named = brief.fit.tolerance_percent.or(target.tolerance_percent);
    file.fit = Some(Fit { tolerance_percent: named, ..brief.fit.clone() });
    file.target = Some(Target {
        file: None,
        deflection: Some(pick(&target.deflection)),
        force: Some(pick(&target.force)),
        force_min: target.force_min.as_deref().map(pick),
        force_max: target.force_max.as_deref().map(pick),
    });
    file
}
