//! The report on a spring as its file gives it.

use super::{Report, ReportError, Subject};
use crate::evaluation::Evaluation;
use crate::plot::Units;
use crate::spec::SpringFile;

impl Report {
    /// Reports on an evaluated spring.
    pub fn of_spring(file: &SpringFile, evaluation: &Evaluation, units: Units) -> Result<Self, ReportError> {
        let mut warnings = evaluation.warnings.clone();
        if evaluation.fit.is_none() {
            warnings.push("no curve was asked for: the fit is not evaluated".to_owned());
        }
        let subject = Subject { warnings: &warnings, ..Subject::of_spring(file, evaluation) };
        Self::of(&subject, units)
    }
}
