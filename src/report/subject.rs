//! What a report is about.

use crate::checks::Verdicts;
use crate::curve::{Reach, TargetCurve};
use crate::layout::Spring;
use crate::package::{Answer, FitSummary};
use crate::spec::SpringFile;
use crate::synthesis::Merits;

/// One spring with everything that is known about it. What is not known is left out of the report.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// the spring as its file
    pub file: &'a SpringFile,
    /// the spring
    pub spring: &'a Spring,
    /// the curve that was asked for
    pub target: Option<&'a TargetCurve>,
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// how well the curve is met
    pub fit: Option<&'a FitSummary>,
    /// whether such a spring can follow the curve, and what comes nearest
    pub reach: Option<&'a Reach>,
    /// what the checks found
    pub verdicts: &'a Verdicts,
    /// names of the checks that failed, drawing and band among them
    pub failed: &'a [String],
    /// what it is compared by
    pub merits: Option<&'a Merits>,
    /// the other candidates, best first
    pub shortlist: &'a [Merits],
    /// combinations that were judged
    pub considered: Option<usize>,
    /// least arm width that was asked for, where it was (mm)
    pub width_min: Option<f64>,
    /// what a person should know
    pub warnings: &'a [String],
}

impl<'a> Subject<'a> {
    /// The best spring of an answer.
    pub fn of(answer: &'a Answer) -> Self {
        let best = &answer.outcome.designs[0];
        Self {
            file: &answer.file,
            spring: &best.spring,
            target: Some(&answer.question.target),
            installed: answer.outcome.reach.installed,
            fit: Some(&answer.summary.fit),
            reach: Some(&answer.outcome.reach),
            verdicts: &answer.verdicts,
            failed: &answer.summary.failed,
            merits: Some(&best.merits),
            shortlist: &answer.summary.shortlist,
            considered: Some(answer.outcome.considered),
            width_min: answer.question.brief.arms.width_min,
            warnings: &answer.summary.warnings,
        }
    }

    /// Largest deflection of the spring that the curve asks for (mm), no more than `most`.
    pub(super) fn last_wanted(&self, most: f64) -> f64 {
        self.target.map_or(most, |target| (target.max_deflection() + self.installed).min(most))
    }

    /// Whether the curve is met.
    pub(super) fn fits(&self) -> Option<bool> {
        self.fit.map(|fit| fit.reachable && fit.rms_percent <= fit.tolerance_percent)
    }

    /// Whether every check passed.
    pub(super) fn passed(&self) -> bool {
        self.fits() != Some(false)
            && self.failed.is_empty()
            && self.verdicts.flat.closes
            && self.verdicts.stress.ok != Some(false)
    }
}
