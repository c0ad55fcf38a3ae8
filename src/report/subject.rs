//! The subject of a report: one spring, its evaluation, and the candidates beside it.

use crate::checks::Checks;
use crate::curve::{Reach, TargetCurve};
use crate::evaluation::{Evaluation, FitSummary};
use crate::layout::Spring;
use crate::pipeline::Answer;
use crate::spec::SpringFile;
use crate::synthesis::{Design, Merits};

/// One spring with its evaluation and candidates. Unknown parts are left out of the report.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// the spring as its file
    pub file: &'a SpringFile,
    /// its evaluation
    pub evaluation: &'a Evaluation,
    /// the spring
    pub spring: &'a Spring,
    /// the curve asked for
    pub target: Option<&'a TargetCurve>,
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// errors of the curve
    pub fit: Option<&'a FitSummary>,
    /// whether one seating disc can follow the curve, and the nearest curve
    pub reach: Option<&'a Reach>,
    /// findings of the checks
    pub checks: &'a Checks,
    /// numbers that candidates are compared by
    pub merits: Option<&'a Merits>,
    /// the other candidates, best first
    pub shortlist: &'a [Merits],
    /// all of them with their springs, this one first; empty where no search was made
    pub designs: &'a [Design],
    /// combinations that were evaluated
    pub considered: Option<usize>,
    /// least arm width asked for, where one was (mm)
    pub width_min: Option<f64>,
    /// warnings, a sentence each
    pub warnings: &'a [String],
}

impl<'a> Subject<'a> {
    /// A spring by itself.
    pub fn of_spring(file: &'a SpringFile, evaluation: &'a Evaluation) -> Self {
        let fit = evaluation.fit.as_ref();
        Self {
            file,
            evaluation,
            spring: &evaluation.spring,
            target: evaluation.asked.target.as_ref(),
            installed: evaluation.asked.installed(),
            fit: fit.map(|fit| &fit.summary),
            reach: fit.map(|fit| &fit.reach),
            checks: &evaluation.checks,
            merits: None,
            shortlist: &[],
            designs: &[],
            considered: None,
            width_min: None,
            warnings: &evaluation.warnings,
        }
    }

    /// The best spring of an answer.
    pub fn of(answer: &'a Answer) -> Self {
        Self {
            merits: answer.summary.merits.as_ref(),
            shortlist: &answer.summary.shortlist,
            designs: &answer.outcome.designs,
            considered: Some(answer.outcome.considered),
            width_min: answer.question.brief.arms.width_min,
            warnings: &answer.summary.evaluation.warnings,
            ..Self::of_spring(&answer.file, &answer.evaluation)
        }
    }

    /// Largest deflection of the spring that the curve asks for (mm), no more than `most`.
    pub(super) fn last_wanted(&self, most: f64) -> f64 {
        self.target.map_or(most, |target| (target.max_deflection() + self.installed).min(most))
    }
}
