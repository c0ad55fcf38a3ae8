//! What a design hands over: named files as bytes, the same for the same answer, whoever asks.

mod answer;
mod corrected;
mod drawing;
mod files;
mod spring_text;
mod stacking;
mod summary;

pub use answer::{
    Answer, AnswerError, CurveTable, FormerGain, Question, SheetsToTry, answer, answer_unless, check_options,
    curve_table, cutting_limits, failed,
};
pub use corrected::{
    CorrectError, Corrected, CorrectedSummary, Correction, Expected, correct, measured_plot,
};
pub use drawing::{Drawing, DrawingError, READ_BACK_LIMIT_PERCENT, ReadBack};
pub use files::{PackageError, files};
pub use spring_text::response_csv;
pub use stacking::{Arrangement, Stack};
pub use summary::{DrawingSummary, Summary, json_bytes};

pub use crate::export::NamedFile;
pub use crate::summary::{CurveSummary, FitSummary, FlatSummary, StressSummary};
