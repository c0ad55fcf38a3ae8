//! `summary.json` of a design: the keys of the evaluation, the spring and the other candidates.

use serde::Serialize;

use super::answer::FormerGain;
use super::stacking::Stack;
use crate::evaluation::{Evaluation, EvaluationSummary, json_bytes};
use crate::spec::SpringFile;
use crate::synthesis::{Merits, Outcome};

/// A design in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DesignSummary {
    /// verdicts and numbers of the spring
    #[serde(flatten)]
    pub evaluation: EvaluationSummary,
    /// the spring, as in its file
    pub spring: SpringFile,
    /// equal springs that would meet the curve together, where one cannot
    pub stack: Option<Stack>,
    /// gain of shaping the former, where it was shaped
    pub former_gain: Option<FormerGain>,
    /// the other candidates, best first
    pub shortlist: Vec<Merits>,
    /// combinations of sheet, arms and size that were evaluated
    pub considered: usize,
}

impl DesignSummary {
    /// Of an evaluated spring; `notes` are what was chosen and corrected before.
    pub(super) fn of(
        evaluation: &Evaluation,
        file: &SpringFile,
        outcome: &Outcome,
        notes: Vec<String>,
    ) -> Self {
        let mut summary = EvaluationSummary::of(evaluation);
        summary.warnings.extend(notes);
        Self {
            evaluation: summary,
            spring: file.clone(),
            stack: None,
            former_gain: None,
            shortlist: outcome.designs.iter().skip(1).map(|design| design.merits).collect(),
            considered: outcome.considered,
        }
    }

    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
}
