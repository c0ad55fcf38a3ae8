//! What a design hands over: named files as bytes, the same for the same answer, whoever asks.

mod answer;
mod drawing;
mod files;
mod spring_text;
mod stacking;
mod summary;

pub use answer::{
    Answer, AnswerError, CurveTable, FormerGain, Question, SheetsToTry, answer, answer_unless, check_options,
    cutting_limits,
};
pub use drawing::{Drawing, DrawingError, READ_BACK_LIMIT_PERCENT, ReadBack};
pub use files::{NamedFile, PackageError, files};
pub use stacking::{Arrangement, Stack};
pub use summary::{CurveSummary, DrawingSummary, FitSummary, FlatSummary, StressSummary, Summary, rounded};
