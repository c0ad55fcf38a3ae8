//! Errors that the page shows.

use crate::compare::CompareError;
use crate::curve::CurveError;
use crate::layout::LayoutError;
use crate::model::ModelError;
use crate::package::PackageError;
use crate::pipeline::AnswerError;
use crate::report::ReportError;
use crate::spec::SpecError;
use crate::synthesis::{SearchError, ShapeError};

/// Why a request has no answer.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LiveError {
    /// The request is out of date.
    #[error("the page has asked for something newer meanwhile")]
    Late,
    /// No report.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// Invalid body of a request.
    #[error("the request was not understood: {message}; reload the page and try again")]
    Request {
        /// message of the JSON reader
        message: String,
    },
    /// Invalid curve.
    #[error(transparent)]
    Curve(#[from] CurveError),
    /// Invalid setting.
    #[error(transparent)]
    Spec(#[from] SpecError),
    /// Nothing fits.
    #[error(transparent)]
    Search(#[from] SearchError),
    /// Nothing could be shaped.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// No spring.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// No answer.
    #[error(transparent)]
    Answer(#[from] AnswerError),
    /// Nothing to compare with.
    #[error(transparent)]
    Compare(#[from] CompareError),
    /// No package.
    #[error(transparent)]
    Package(#[from] PackageError),
    /// The files could not be put together.
    #[error("the archive could not be written: {message}")]
    Archive {
        /// message of its writer
        message: String,
    },
}
