//! What a design hands over: named files as bytes, the same for the same answer, whoever asks.

mod answer;
mod corrected;
mod files;
mod spring_text;
mod summary;

pub use answer::{Answer, AnswerError, CurveTable, Question, answer, check_options};
pub use corrected::{
    CorrectError, Corrected, CorrectedSummary, Correction, Expected, correct, measured_plot,
};
pub use files::{PackageError, files};
pub use summary::Summary;

pub use crate::export::NamedFile;
pub use crate::summary::{CurveSummary, FitSummary, FlatSummary, StressSummary};
