//! One evaluation of a spring: all verdicts and numbers on it, computed once.
//!
//! The input is a spring and the question ([`Asked`]); the output is the verdicts, each yes, no, not judged or not
//! asked, with the numbers behind them. Commands, report and page show an [`Evaluation`] and judge nothing themselves.
//! A new verdict is a row in the table of `judge.rs` with its judge; a new number of a summary is a field in
//! `summary.rs`.

mod asked;
mod assembled;
mod assembled_summary;
mod cost;
mod drawing;
mod fit;
#[cfg(test)]
mod hand_cases;
mod judge;
mod member;
mod parts;
mod shared_sheet;
mod summary;
mod verdict;

pub use asked::{Asked, Extent};
pub use assembled::{
    AssembledCurve, AssembledError, AssembledEvaluation, arranged, force_curve, free_points,
};
pub use assembled_summary::{AssembledSummary, AssemblySummary, MemberSummary, OfMember};
pub use cost::Cost;
pub use drawing::{Drawing, DrawingError, READ_BACK_LIMIT_PERCENT, ReadBack};
pub use fit::{CurveTable, Fit, FitSummary, MOST_POINTS};
pub use member::AssembledMember;
pub use parts::{Parts, varied};
pub use shared_sheet::{SharedDisc, SharedSheet, SharedSheetSummary};
pub use summary::{CurveSummary, DrawingSummary, EvaluationSummary, FlatSummary, StressSummary, json_bytes};
pub use verdict::{NamedVerdict, Verdict, VerdictState, Verdicts};

use std::sync::Arc;

use crate::checks::remedies::{Remedy, in_words, remedies};
use crate::checks::{Checks, Closing, Severity};
use crate::layout::Spring;
use crate::model::ModelError;
use crate::variation::VariationError;
use judge::Evidence;

/// A spring, the question put to it, and the answer.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// the question
    pub asked: Asked,
    /// the spring whose curve and strength are judged
    pub spring: Spring,
    /// states of the spring over its travel
    pub closing: Closing,
    /// findings of the checks
    pub checks: Checks,
    /// the curve against the one asked for; none where none is
    pub fit: Option<Fit>,
    /// the drawing, or the reason why it could not be made
    pub drawing: Result<Drawing, Arc<DrawingError>>,
    /// parts as wanted; none where the extent leaves them out
    pub parts: Option<Result<Parts, VariationError>>,
    /// remedies tried where strength or life is no; none in a draft
    pub remedies: Vec<Remedy>,
    /// verdicts
    pub verdicts: Verdicts,
    /// warnings, a sentence each with its remedy, the most severe first
    pub warnings: Vec<String>,
}

impl Evaluation {
    /// Evaluates a spring.
    pub fn of(spring: &Spring, asked: Asked) -> Result<Self, ModelError> {
        Self::of_part(spring, spring, asked)
    }

    /// Evaluates a part that comes out of cutting and setting as `part` where `drawn` is on the drawing.
    pub fn of_part(part: &Spring, drawn: &Spring, asked: Asked) -> Result<Self, ModelError> {
        let options = &asked.checks;
        let mut stops = options.stops(part);
        if asked.extent == Extent::Draft
            && let Some(target) = &asked.target
        {
            stops.extend(target.deflection.iter().map(|x| x + asked.installed()));
        }
        let pressed = || {
            let closing = Closing::of(part, &options.model, &stops)?;
            let checks = Checks::of_closing(part, &closing, options)?;
            let fit =
                asked.target.as_ref().map(|target| Fit::of(&closing.model, target, &asked)).transpose()?;
            Ok::<_, ModelError>((closing, checks, fit))
        };
        let draw = || match asked.extent {
            Extent::Draft => Drawing::sketch(drawn, &options.process, &options.shop),
            _ => Drawing::of(drawn, &options.process, &options.shop),
        };
        let (pressed, drawing) = rayon::join(pressed, draw);
        let (closing, checks, fit) = pressed?;
        let drawing = drawing.map_err(Arc::new);
        let wanted = asked.extent == Extent::Whole || asked.fit.good_parts_min.is_some();
        let parts = wanted.then(|| Parts::of(part, &asked));
        let tried = if asked.extent == Extent::Draft {
            Vec::new()
        } else {
            let target = asked.target.as_ref().map(|target| (target, asked.tolerance_percent()));
            remedies(part, options, &checks, target)?
        };
        let mut verdicts = judge::judge(&Evidence {
            asked: &asked,
            checks: &checks,
            fit: fit.as_ref(),
            drawing: drawing.as_ref().map_err(AsRef::as_ref),
            parts: parts.as_ref().and_then(|parts| parts.as_ref().ok()),
        });
        let words = in_words(&tried, options.duty.cycles);
        if !words.is_empty() {
            verdicts.set_remedy(&["strength", "life"], &words);
        }
        let mut evaluation = Self {
            remedies: tried,
            spring: part.clone(),
            warnings: Vec::new(),
            asked,
            closing,
            checks,
            fit,
            drawing,
            parts,
            verdicts,
        };
        evaluation.warnings = evaluation.warn();
        Ok(evaluation)
    }

    /// Whether everything asked is yes.
    pub fn passed(&self) -> bool {
        self.verdicts.passed()
    }

    /// Parts as wanted, where they were computed.
    pub fn good_parts(&self) -> Option<&Parts> {
        self.parts.as_ref().and_then(|parts| parts.as_ref().ok())
    }

    /// One sentence for every verdict that is no or not judged, then the warnings of the checks and the drawing.
    fn warn(&self) -> Vec<String> {
        let mut warnings: Vec<String> = self
            .verdicts
            .failing()
            .map(|named| {
                let verdict = &named.verdict;
                let mut text = format!("{} {}: {}", named.label, verdict.state.word(), verdict.reason);
                if !verdict.remedy.is_empty() {
                    text.push_str("; ");
                    text.push_str(&verdict.remedy);
                }
                text
            })
            .collect();
        // the first failed finding of a verdict is its reason; the others are told here
        let told = |headline: &String| self.verdicts.failing().any(|named| named.verdict.reason == *headline);
        for finding in self.checks.findings.iter().filter(|finding| finding.severity > Severity::Remark) {
            let headline = finding.headline();
            if !told(&headline) {
                warnings.push(format!("{}: {headline}; {}", finding.check, finding.remedy));
            }
        }
        if let Some(parts) = self.good_parts().filter(|parts| parts.few())
            && self.fit.as_ref().is_some_and(|fit| fit.met)
        {
            warnings.push(parts.warning(self.asked.tolerance_percent()));
        }
        if let Some(fit) = self.fit.as_ref().filter(|fit| fit.met) {
            warnings.extend(fit.reach.findings.iter().map(|finding| {
                format!("{}; the curve is met within its tolerance all the same", finding.reason)
            }));
        }
        if let Ok(drawing) = &self.drawing {
            let told = self.verdicts.get("cutting").map(|verdict| verdict.reason.as_str());
            let others = drawing.warnings().into_iter();
            warnings.extend(others.filter(|warning| told != Some(warning.as_str())));
        }
        warnings
    }
}
