//! The design pipeline: from a question to an answer, and from a measured part to the spring cut again.
//!
//! Steps of [`answer`]: [`SheetsToTry`] and [`cutting_limits`] (what the brief leaves open), the search
//! ([`crate::synthesis`]), the evaluation of the best spring ([`crate::evaluation`]), and several equal springs where
//! one does not suffice ([`Stack`]). [`correct`] goes from a measurement to a new cut by the same evaluation. All are
//! values; [`crate::package`] names the files.

mod answer;
mod assembling;
mod clock;
mod corrected;
mod measured_sheet;
mod recut;
mod sheets;
mod single_changes;
mod stacking;
mod summary;
mod trims;
mod ways;

pub use answer::{
    Answer, AnswerError, Question, Wishes, answer, answer_unless, answer_with, spring_file, take,
};
pub use assembling::{AssemblyAnswer, AssemblyDesignSummary, OneDisc, Solution, Tried, solve};
pub use corrected::{CorrectError, Corrected, CorrectedSummary, Correction, correct, trims_of};
pub use measured_sheet::answer_for_sheet;
pub use recut::{Recut, RecutError, RecutSettings, recut};
pub use sheets::{SheetsToTry, cutting_limits};
pub use single_changes::SingleChange;
pub use stacking::{Arrangement, Stack};
pub use summary::{DesignSummary, FormerGain};
pub use trims::{Trim, TrimKind, advised};
