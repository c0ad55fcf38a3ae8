//! A spring cut again after a measured part: what is to be drawn, and the part that is expected to come out of it.

use serde::Serialize;

use super::answer::{AnswerError, Question, evaluate};
use super::recut::{Recut, RecutError, RecutSettings, recut};
use super::trims::{Trim, TrimKind, TrimTask, advised};
use super::{Answer, DesignSummary};
use crate::checks::CheckOptions;
use crate::curve::{TargetCurve, nearest_reachable};
use crate::evaluation::{Asked, Evaluation, json_bytes};
use crate::layout::Spring;
use crate::model::{ModelError, ModelSettings};
use crate::outline::CutRules;
use crate::spec::SpringFile;
use crate::synthesis::{Arm, Design, Outcome, ShapeError, width_range};
use crate::variation::{Belief, Deviation, Expectation, Identified, NextPart, VariationError};

/// Segments while shaping.
const SEGMENTS: usize = 60;

/// Errors of cutting a spring again.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum CorrectError {
    /// The spring could not be shaped.
    #[error(transparent)]
    Recut(#[from] RecutError),
    /// The new one cannot be evaluated.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The new one has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// No expectation for the next part.
    #[error(transparent)]
    Variation(#[from] VariationError),
    /// There is no answer in it.
    #[error(transparent)]
    Answer(#[from] AnswerError),
}

/// Effect of the departures on the force up to which the drawing is left as it is (percent rms): a gauge shows no less.
const LEAST_EFFECT_PERCENT: f64 = 0.5;

/// Result of a correction and prediction for the new cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Correction {
    /// result of the measurement
    #[serde(flatten)]
    pub found: Identified,
    /// error to expect of the next part by the drawing in this package
    pub expected: NextPart,
    /// whether that drawing is the one that was measured
    pub kept: bool,
    /// remedies, the cheapest first, each with the error to expect
    pub trims: Vec<Trim>,
    /// the one to take
    pub advised: Option<TrimKind>,
    /// the part that is expected to come out, as a spring file says it; `spring` is what is to be drawn
    pub part: SpringFile,
}

/// A design's summary, of the part that is expected to come out, and the correction. `spring` is what is to be drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrectedSummary {
    /// as of a design
    #[serde(flatten)]
    pub design: DesignSummary,
    /// what was found at the measured part
    pub correction: Correction,
}

/// A spring cut again.
#[derive(Debug, Clone)]
pub struct Corrected {
    /// what is to be drawn, with its own evaluation
    pub drawn: Answer,
    /// both springs
    pub recut: Recut,
    /// evaluation of the part that is expected to come out
    pub part: Evaluation,
    /// numbers and verdicts of that part
    pub summary: CorrectedSummary,
}

/// Shapes a spring again for its target with the deviations of a measured part. Sheet, slots and circles stay; the
/// sheet's thickness and moduli are those found, widths and height compensate for kerf and setting.
pub fn correct(
    spring: &Spring,
    file: &SpringFile,
    target: &TargetCurve,
    found: Identified,
) -> Result<Corrected, CorrectError> {
    let brief = file.brief();
    let installed = brief.duty.installed.unwrap_or(0.0);
    let rules = CutRules::of(&brief.process, spring.sheet.thickness);
    let narrowest = file.arm.width.iter().flatten().copied().fold(f64::INFINITY, f64::min);
    let allowable = spring.sheet.allowable().map(|found| found.limit);
    let settings = RecutSettings {
        width: width_range(rules.arm_min.min(narrowest), &spring.disc),
        free_height_max: brief.envelope.free_height_max,
        allowable,
        installed,
        model: ModelSettings { segments: SEGMENTS, ..ModelSettings::default() },
    };
    let tolerance_percent = Asked::of(file, Some(target)).tolerance_percent();
    let task = TrimTask { spring, target, installed, tolerance_percent };
    let (mut new, trims) = if departs(&task, &found)? {
        let new = recut(spring, target, &found.belief.deviation, &settings)?;
        let trims = task.trims(&found, Some(&new))?;
        (Some(new), trims)
    } else {
        (None, task.for_parts_as_drawn(&found)?)
    };
    // no new cut where the part as it is comes as near
    let error = |kind| trims.iter().find(|trim| trim.kind == kind).map(|trim| trim.next);
    let expected = match (error(TrimKind::Nothing), error(TrimKind::NewCut)) {
        (Some(nothing), Some(cut)) if cut.within_percent < nothing.within_percent => cut,
        (nothing, _) => {
            new = None;
            nothing.unwrap_or_default()
        }
    };
    let kept = new.is_none();
    let trims: Vec<Trim> = trims.into_iter().filter(|trim| !kept || trim.kind != TrimKind::NewCut).collect();
    let mut new = match new {
        Some(new) => new,
        None => Recut::kept(spring, target, &settings)?,
    };
    new.model.segments = ModelSettings::default().segments;
    let design = Design::of(new.drawn.clone(), &Asked::of(file, Some(target)), Arm::Free)?;
    let question = Question { target: target.clone(), brief };
    let reach = nearest_reachable(target, installed);
    let outcome = Outcome { designs: vec![design], reach, considered: 1, shaped: 1 };
    let mut drawn = evaluate(question, outcome, Vec::new())?;
    if kept {
        drawn.file = file.clone();
    }
    drawn.file.tolerance.clone_from(&file.tolerance);
    let asked = Asked::of(&drawn.file, Some(target));
    let checks = CheckOptions { model: new.model, ..asked.checks.clone() };
    let part = Evaluation::of_part(&new.part, &new.drawn, Asked { checks, ..asked })?;
    let mut part_file = new.part.to_file();
    part_file.process.clone_from(&drawn.file.process);
    part_file.duty.clone_from(&drawn.file.duty);
    part_file.setting = drawn.file.setting;
    part_file.target.clone_from(&drawn.file.target);
    let advised = advised(&trims).map(|trim| trim.kind);
    let design = DesignSummary::of(&part, &drawn.file, &drawn.outcome, Vec::new());
    let summary = CorrectedSummary {
        design,
        correction: Correction { found, expected, kept, trims, advised, part: part_file },
    };
    Ok(Corrected { drawn, recut: new, part, summary })
}

/// Remedies for parts that are not drawn again, the cheapest first.
pub fn trims_of(
    spring: &Spring,
    file: &SpringFile,
    target: &TargetCurve,
    found: &Identified,
) -> Result<Vec<Trim>, CorrectError> {
    let asked = Asked::of(file, Some(target));
    let (installed, tolerance_percent) = (asked.installed(), asked.tolerance_percent());
    let task = TrimTask { spring, target, installed, tolerance_percent };
    Ok(if departs(&task, found)? { task.trims(found, None)? } else { task.for_parts_as_drawn(found)? })
}

/// Whether the parts depart from their drawing by more than is known of them.
fn departs(task: &TrimTask<'_>, found: &Identified) -> Result<bool, VariationError> {
    let expect = |mean: &Deviation| {
        Expectation::of(task.spring, mean, &Belief::default(), task.target, [task.installed, 0.0])
    };
    let effect = expect(&found.belief.deviation)?.apart_percent(&expect(&Deviation::default())?);
    Ok(effect > LEAST_EFFECT_PERCENT.max(found.force_uncertainty_percent))
}

impl CorrectedSummary {
    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
}
