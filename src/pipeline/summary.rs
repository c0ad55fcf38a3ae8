//! `summary.json` of a design: the keys of the evaluation, the spring and the other candidates.

use serde::Serialize;

use super::single_changes::SingleChange;
use super::stacking::Stack;
use crate::evaluation::{AssemblySummary, Evaluation, EvaluationSummary, json_bytes};
use crate::spec::SpringFile;
use crate::synthesis::{Design, Merits, Outcome, Rung};

/// Gain of shaping the former's profile over a plain cone of the same sheet, arms and size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormerGain {
    /// the best spring on a cone
    pub cone: Merits,
    /// the spring on the shaped former
    pub profile: Merits,
}

/// A design in numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DesignSummary {
    /// verdicts and numbers of the spring
    #[serde(flatten)]
    pub evaluation: EvaluationSummary,
    /// the spring, as in its file
    pub spring: SpringFile,
    /// null: one disc
    pub assembly: Option<AssemblySummary>,
    /// equal springs that would meet the curve together, where one cannot
    pub stack: Option<Stack>,
    /// changes of the brief that were tried one at a time where no spring passes, the most helpful first
    pub single_changes: Vec<SingleChange>,
    /// gain of shaping the former, where it was shaped
    pub former_gain: Option<FormerGain>,
    /// rungs of the ladder of arms: error and good parts of each with the same sheet, number of arms and circles
    pub ladder: Vec<Rung>,
    /// numbers of the spring itself, as of the candidates
    pub merits: Option<Merits>,
    /// reason of the choice, one sentence
    pub choice: String,
    /// the other candidates, best first
    pub shortlist: Vec<Merits>,
    /// combinations of sheet, arms and size that were evaluated
    pub considered: usize,
    /// whether the time limit ended the search before everything was tried
    pub cut_short: bool,
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
        // the evaluation's own shares, so that every place has the same ones
        let mut best = outcome.designs.first().cloned();
        if let (Some(best), Some(parts)) = (&mut best, evaluation.good_parts()) {
            best.set_good_parts(parts.good_percent, parts.good_percent_sheet_measured);
        }
        Self {
            evaluation: summary,
            spring: file.clone(),
            assembly: None,
            stack: None,
            single_changes: Vec::new(),
            former_gain: None,
            choice: best.as_ref().map(choice).unwrap_or_default(),
            merits: best.as_ref().map(|design| design.merits),
            ladder: best.map(|design| design.ladder).unwrap_or_default(),
            shortlist: outcome.designs.iter().skip(1).map(|design| design.merits).collect(),
            considered: outcome.considered,
            cut_short: false,
        }
    }

    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
}

/// Reason for the choice, in one sentence.
fn choice(design: &Design) -> String {
    let merits = &design.merits;
    let taken = format!(
        "{} with {:.0} % good parts as bought and {:.0} % with the sheet measured",
        merits.arm.name(),
        merits.good_percent,
        merits.good_percent_sheet_measured
    );
    if !merits.passed {
        let verdicts = if merits.failing == 1 { "verdict fails" } else { "verdicts fail" };
        return format!("{taken}: nearest to what was asked, {} {verdicts}", merits.failing);
    }
    if design.ladder.is_empty() {
        return format!("{taken}: a given spring shaped again, no other arm was tried");
    }
    let freer = design.ladder.iter().filter(|rung| rung.arm > merits.arm);
    let shares = |rung: &Rung| [rung.good_percent, rung.good_percent_sheet_measured];
    match freer.map(shares).max_by(|a, b| (a[0] + a[1]).total_cmp(&(b[0] + b[1]))) {
        Some([bought, measured]) => format!(
            "{taken}: the simplest arm within three points of the best mean of both; a freer one has {bought:.0} % and \
             {measured:.0} %"
        ),
        None => format!("{taken}: no simpler arm comes within three points of it"),
    }
}
