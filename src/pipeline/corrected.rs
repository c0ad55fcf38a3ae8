//! A spring cut again after a measured part: what is to be drawn, and the part that is expected to come out of it.

use serde::Serialize;

use super::answer::{AnswerError, Question, evaluate};
use super::recut::{Recut, RecutError, RecutSettings, recut};
use super::{Answer, DesignSummary};
use crate::checks::CheckOptions;
use crate::curve::{TargetCurve, nearest_reachable};
use crate::evaluation::{Asked, Evaluation, json_bytes};
use crate::layout::Spring;
use crate::model::{ModelError, ModelSettings};
use crate::outline::CutRules;
use crate::spec::SpringFile;
use crate::synthesis::{Arm, Design, Outcome, ShapeError, width_range};
use crate::variation::Identified;

/// Segments while shaping.
const SEGMENTS: usize = 150;

/// Why nothing could be cut again.
#[derive(Debug, thiserror::Error)]
pub enum CorrectError {
    /// The spring could not be shaped.
    #[error(transparent)]
    Recut(#[from] RecutError),
    /// The new one cannot be judged.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The new one has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// There is no answer in it.
    #[error(transparent)]
    Answer(#[from] AnswerError),
}

/// Prediction for the new cut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Expected {
    /// root mean square force error of the most likely part (percent of the error base)
    pub rms_percent: f64,
    /// the same with what the measurement leaves open: nineteen of twenty parts stay below (percent of the error base)
    pub within_percent: f64,
}

/// Result of a correction and prediction for the new cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Correction {
    /// what the measurement told
    #[serde(flatten)]
    pub found: Identified,
    /// what is expected of the new cut
    pub expected: Expected,
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

/// Shapes a spring again for its target with what a measured part told. Sheet, slots and circles stay; the sheet's
/// thickness and moduli are those found, widths and height make up for kerf and setting.
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
    let mut new = recut(spring, target, &found.deviation, &settings)?;
    new.model.segments = ModelSettings::default().segments;
    let design = Design::of(new.drawn.clone(), &Asked::of(file, Some(target)), Arm::Free)?;
    let question = Question { target: target.clone(), brief };
    let reach = nearest_reachable(target, installed);
    let outcome = Outcome { designs: vec![design], reach, considered: 1, shaped: 1 };
    let mut drawn = evaluate(question, outcome, Vec::new())?;
    drawn.file.tolerance.clone_from(&file.tolerance);
    let asked = Asked::of(&drawn.file, Some(target));
    let checks = CheckOptions { model: new.model, ..asked.checks.clone() };
    let part = Evaluation::of_part(&new.part, &new.drawn, Asked { checks, ..asked })?;
    let mut part_file = new.part.to_file();
    part_file.process.clone_from(&drawn.file.process);
    part_file.duty.clone_from(&drawn.file.duty);
    part_file.setting = drawn.file.setting;
    part_file.target.clone_from(&drawn.file.target);
    let expected = Expected {
        rms_percent: new.rms_percent,
        within_percent: new.rms_percent.hypot(found.force_uncertainty_percent),
    };
    let design = DesignSummary::of(&part, &drawn.file, &drawn.outcome, Vec::new());
    let summary = CorrectedSummary { design, correction: Correction { found, expected, part: part_file } };
    Ok(Corrected { drawn, recut: new, part, summary })
}

impl CorrectedSummary {
    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
}
