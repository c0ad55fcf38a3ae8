//! From a question (curve and brief) to an answer (springs, curve, verdicts), without touching the disk.

use serde::Serialize;

use super::drawing::{Drawing, DrawingError};
use super::stacking::Stack;
use super::summary::{DrawingSummary, Summary};
use crate::checks::{CheckOptions, Verdicts};
use crate::curve::TargetCurve;
use crate::layout::{LayoutError, SheetProperties, Spring, sheet_properties};
use crate::material::find;
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::evenly_spread;
use crate::outline::CutRules;
use crate::response::Response;
use crate::spec::{Brief, FormerLaw, Sheet, SpringFile, Target};
use crate::summary::{CurveSummary, FitSummary, FlatSummary, StressSummary};
use crate::synthesis::{CuttingLimits, Design, Merits, Outcome, Progress, SearchError, design};

/// Sheet used where the brief names none.
const DEFAULT_SHEET: &str = "1.4310+C1300";
/// Points of a target that are kept in the spring file and the curve table; the fit is judged on all of them.
const MOST_KEPT: usize = 400;

/// What is asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// the wanted curve
    pub target: TargetCurve,
    /// what else is known
    pub brief: Brief,
}

/// What is answered.
#[derive(Debug, Clone)]
pub struct Answer {
    /// what was asked
    pub question: Question,
    /// what the search found
    pub outcome: Outcome,
    /// the best spring as a file
    pub file: SpringFile,
    /// the best spring's curve at the target's points
    pub table: CurveTable,
    /// what the checks found on the best spring
    pub verdicts: Verdicts,
    /// its drawing
    pub drawing: Drawing,
    /// verdicts and numbers
    pub summary: Summary,
}

/// The predicted curve beside the target.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CurveTable {
    /// deflection as the target counts it (mm)
    pub deflection: Vec<f64>,
    /// force asked for (N)
    pub target: Vec<f64>,
    /// the prediction at the same places
    pub response: Response,
}

/// What shaping the former's profile gained over a plain cone of the same sheet, arms and size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormerGain {
    /// the best spring on a cone
    pub cone: Merits,
    /// the spring on the shaped former
    pub profile: Merits,
}

impl FormerGain {
    /// Designs the cone to compare with, where the former was shaped.
    fn of(
        best: &Design,
        question: &Question,
        search: &dyn Fn(&TargetCurve, &Brief) -> Result<Outcome, SearchError>,
    ) -> Option<Self> {
        if question.brief.former.law != FormerLaw::Profile {
            return None;
        }
        let mut brief = question.brief.clone();
        brief.former.law = FormerLaw::Cone;
        brief.arms.count = Some(vec![best.merits.arms]);
        brief.envelope.outer_diameter_max = Some(best.merits.outer_diameter_mm);
        let designs = search(&question.target, &brief).ok()?.designs;
        let same_sheet = |design: &&Design| design.merits.thickness_mm == best.merits.thickness_mm;
        let cone = designs.iter().find(same_sheet).or(designs.first())?.merits;
        Some(Self { cone, profile: best.merits })
    }

    /// The gain in words.
    fn said(&self) -> String {
        format!(
            "shaping the former's profile: {:.2} % rms and {:.0} MPa against {:.2} % rms and {:.0} MPa on a plain cone of the same sheet, arms and \
             outside",
            self.profile.rms_percent,
            self.profile.peak_stress_mpa,
            self.cone.rms_percent,
            self.cone.peak_stress_mpa
        )
    }
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum AnswerError {
    /// The search found nothing.
    #[error(transparent)]
    Search(#[from] SearchError),
    /// The sheet is none, or the spring found has no shape.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The spring found has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// The spring found cannot be drawn.
    #[error(transparent)]
    Drawing(#[from] DrawingError),
}

/// Answers a question. What the brief leaves open is chosen and said in the summary's warnings.
pub fn answer(question: Question, progress: &(dyn Fn(Progress) + Sync)) -> Result<Answer, AnswerError> {
    answer_unless(&|| false, question, progress)
}

/// As [`answer`], but ends with [`SearchError::Stopped`] soon after `stopped` says so.
pub fn answer_unless(
    stopped: &(dyn Fn() -> bool + Sync),
    question: Question,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Answer, AnswerError> {
    let brief = &question.brief;
    let SheetsToTry { sheet, thicknesses: usable, allowable: allowed, warnings: chosen } =
        SheetsToTry::of(brief)?;
    let mut warnings = question.target.notes.clone();
    warnings.extend(chosen);
    let limits = |thickness: f64| cutting_limits(brief, thickness);
    let outcome = design(stopped, &question.target, brief, &sheet, &usable, &limits, allowed, progress)?;
    let best = &outcome.designs[0];
    let search = |target: &TargetCurve, brief: &Brief| {
        // least arm and slot are the brief's, whatever the share
        design(stopped, target, brief, &sheet, &usable, &limits, allowed, &|_| ())
    };
    let met = best.merits.fits(tolerance(&question)) && best.merits.holds() != Some(false);
    let stack = if met || !reachable(&outcome) {
        None
    } else {
        Stack::find(&question.target, brief, tolerance(&question), &search)
    };
    warnings.extend(stack.iter().map(Stack::advice));
    let former_gain = FormerGain::of(best, &question, &search);
    warnings.extend(former_gain.iter().map(FormerGain::said));
    if stopped() {
        return Err(SearchError::Stopped.into());
    }
    if brief.envelope.outer_diameter_max.is_none() {
        warnings.push(format!(
            "no outer_diameter_max given: {:.1} mm chosen from preferred numbers",
            outcome.designs[0].merits.outer_diameter_mm
        ));
    }
    let mut answer = assemble(question, outcome, warnings)?;
    (answer.summary.stack, answer.summary.former_gain) = (stack, former_gain);
    Ok(answer)
}

/// The answer that springs already found make; `warnings` are what was chosen and mended before. There has to be one.
pub(super) fn assemble(
    question: Question,
    outcome: Outcome,
    mut warnings: Vec<String>,
) -> Result<Answer, AnswerError> {
    let (best, brief) = (&outcome.designs[0], &question.brief);
    let mut file = spring_file(best, &question, &outcome);
    if let Some(least) = brief.arms.width_min {
        let usual = CutRules::of(&brief.process, best.spring.sheet.thickness).arm_min;
        if least < usual {
            warnings.push(format!(
                "arms.width_min is {least} mm, {usual} mm is what this process usually leaves standing in this sheet: \
                 ask the shop first"
            ));
            let process = file.process.get_or_insert_with(Default::default);
            process.arm_min = Some(least);
        }
    }
    let table = curve_table(&best.spring, &question.target, outcome.reach.installed)?;
    for finding in &outcome.reach.findings {
        warnings.push(format!("{}; {}", finding.reason, finding.remedy));
    }
    let options = check_options(&file);
    let verdicts = Verdicts::of(&best.spring, &options)?;
    warnings.extend(verdicts.findings.iter().map(ToString::to_string));
    let drawing = Drawing::of(&best.spring, &file.process.clone().unwrap_or_default())?;
    warnings.extend(drawing.warnings());
    let summary = summarise(&question, &outcome, &file, &table, &verdicts, &drawing, warnings);
    Ok(Answer { question, outcome, file, table, verdicts, drawing, summary })
}

/// The checks a spring file asks for.
pub fn check_options(file: &SpringFile) -> CheckOptions {
    CheckOptions {
        process: file.process.clone().unwrap_or_default(),
        duty: file.duty.clone().unwrap_or_default(),
        ..CheckOptions::default()
    }
}

/// The sheets that a brief leaves to choose from.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetsToTry {
    /// what all of them share; its thickness is the first one's
    pub sheet: SheetProperties,
    /// thicknesses to try (mm)
    pub thicknesses: Vec<f64>,
    /// von Mises stress not to exceed (MPa); none where no strength is known
    pub allowable: Option<f64>,
    /// what was chosen for the user, a sentence each
    pub warnings: Vec<String>,
}

impl SheetsToTry {
    /// From the brief and, where that says nothing, the stock.
    pub fn of(brief: &Brief) -> Result<Self, LayoutError> {
        let name = brief.sheet.material.as_deref().unwrap_or(DEFAULT_SHEET);
        let mut warnings = Vec::new();
        if brief.sheet.material.is_none() {
            warnings.push(format!("no sheet named: {DEFAULT_SHEET} taken"));
        }
        let thicknesses = match &brief.sheet.thickness {
            Some(list) => list.clone(),
            None => find(name).map_err(LayoutError::from)?.thicknesses.clone(),
        };
        let given = &brief.sheet;
        let sheet = sheet_properties(&Sheet {
            material: Some(name.to_owned()),
            thickness: thicknesses.first().copied().unwrap_or(1.0),
            youngs_modulus: given.youngs_modulus,
            shear_modulus: given.shear_modulus,
            tensile_strength: given.tensile_strength,
            yield_strength: given.yield_strength,
            density: given.density,
        })?;
        let in_range = |thickness: &f64| {
            CutRules::of(&brief.process, *thickness)
                .sheet
                .is_none_or(|[from, to]| *thickness >= from && *thickness <= to)
        };
        let usable: Vec<f64> = thicknesses.iter().copied().filter(in_range).collect();
        if usable.is_empty() {
            warnings
                .push("none of the thicknesses is usual for this cutting process: all were tried".to_owned());
        }
        let thicknesses = if usable.is_empty() { thicknesses } else { usable };
        let allowable = sheet.allowable().map(|allowable| allowable.limit);
        Ok(Self { sheet, thicknesses, allowable, warnings })
    }
}

/// What cutting allows under a brief, for a sheet of `thickness` (mm): least width of an arm and of a slot.
pub fn cutting_limits(brief: &Brief, thickness: f64) -> CuttingLimits {
    let rules = CutRules::of(&brief.process, thickness);
    // a closed outline, to the next tenth of a millimetre
    let least = rules.closed_slot_min.max(rules.slot_min);
    let slot = brief.process.slot.unwrap_or((10.0 * least - 1e-9).ceil() / 10.0);
    let limits = CuttingLimits { slot, arm_min: rules.arm_min }.with_brief(brief);
    // an arm thicker than wide bends sideways first: it is no arm of a flat spring, and not what the model is for
    CuttingLimits { arm_min: limits.arm_min.max(thickness), ..limits }
}

fn spring_file(best: &Design, question: &Question, outcome: &Outcome) -> SpringFile {
    let (brief, target) = (&question.brief, &question.target);
    let keep = evenly_spread(target.len(), MOST_KEPT);
    let pick = |list: &[f64]| keep.iter().map(|&i| list[i]).collect::<Vec<f64>>();
    let mut file = best.spring.to_file();
    file.process = Some(brief.process.clone());
    file.duty = Some(crate::spec::Duty {
        installed: Some(outcome.reach.installed).filter(|x| *x > 0.0),
        ..brief.duty.clone()
    });
    file.envelope = Some(brief.envelope.clone());
    file.fit = Some(crate::spec::Fit { tolerance_percent: Some(tolerance(question)) });
    file.target = Some(Target {
        file: None,
        deflection: Some(pick(&target.deflection)),
        force: Some(pick(&target.force)),
        force_min: target.force_min.as_deref().map(pick),
        force_max: target.force_max.as_deref().map(pick),
    });
    file
}

fn reachable(outcome: &Outcome) -> bool {
    let merits = &outcome.designs[0].merits;
    outcome.reach.can_be_followed(merits.rms_percent, merits.max_percent)
}

fn tolerance(question: &Question) -> f64 {
    question.brief.fit.tolerance(question.target.tolerance_percent)
}

/// The predicted curve at a target's points.
pub fn curve_table(spring: &Spring, target: &TargetCurve, installed: f64) -> Result<CurveTable, AnswerError> {
    let model = Model::of(spring, &ModelSettings::default())?;
    let keep: Vec<usize> = evenly_spread(target.len(), MOST_KEPT)
        .into_iter()
        .filter(|&i| target.deflection[i] + installed <= model.travel())
        .collect();
    let deflection: Vec<f64> = keep.iter().map(|&i| target.deflection[i]).collect();
    let stops: Vec<f64> = deflection.iter().map(|x| x + installed).collect();
    Ok(CurveTable {
        target: keep.iter().map(|&i| target.force[i]).collect(),
        deflection,
        response: model.response(&stops)?,
    })
}

/// Names of the checks that failed.
pub fn failed(verdicts: &Verdicts, drawing: Option<&Drawing>, outside_band: bool) -> Vec<String> {
    let mut names: Vec<String> = verdicts.failed().map(|finding| finding.check.to_owned()).collect();
    names.extend(drawing.is_some_and(|drawing| !drawing.passed()).then(|| "drawing".to_owned()));
    names.extend(outside_band.then(|| "band".to_owned()));
    names
}

fn summarise(
    question: &Question,
    outcome: &Outcome,
    file: &SpringFile,
    table: &CurveTable,
    verdicts: &Verdicts,
    drawing: &Drawing,
    mut warnings: Vec<String>,
) -> Summary {
    let best = &outcome.designs[0];
    let merits = best.merits;
    let tolerance = tolerance(question);
    let fits = merits.fits(tolerance);
    let reason = if !reachable(outcome) {
        outcome.reach.findings.first().map_or_else(
            || "the curve is not one that seating can follow".to_owned(),
            |finding| finding.reason.clone(),
        )
    } else if fits {
        String::new()
    } else {
        format!(
            "the best spring found is {:.2} % off (rms), more than {tolerance} %: the widths that would follow the curve \
             are narrower or wider than cutting, size and stress allow",
            merits.rms_percent
        )
    };
    if !fits {
        warnings.push(format!(
            "the curve is met within {:.2} % rms, {tolerance} % was asked: allow a larger disc, more height or other sheet",
            merits.rms_percent
        ));
    }
    let breach = question.target.band_breach(&table.deflection, &table.response.force);
    warnings.extend(breach.map(|breach| breach.said()));
    Summary {
        fit: FitSummary {
            rms_percent: merits.rms_percent,
            max_percent: merits.max_percent,
            reachable: reachable(outcome),
            reason,
            tolerance_percent: tolerance,
        },
        flat: FlatSummary::of(verdicts),
        stress: StressSummary::of(verdicts),
        failed: failed(verdicts, Some(drawing), breach.is_some()),
        drawing: DrawingSummary::of(drawing),
        spring: file.clone(),
        stack: None,
        former_gain: None,
        shortlist: outcome.designs.iter().skip(1).map(|design| design.merits).collect(),
        warnings,
        curve: CurveSummary {
            deflection_mm: table.deflection.clone(),
            force_n: table.response.force.clone(),
            target_n: table.target.clone(),
        },
    }
}
