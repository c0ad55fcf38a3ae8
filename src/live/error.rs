//! Errors that the page shows.

use crate::compare::CompareError;
use crate::curve::CurveError;
use crate::evaluation::AssembledError;
use crate::layout::LayoutError;
use crate::model::ModelError;
use crate::package::PackageError;
use crate::pipeline::AnswerError;
use crate::plot::PlotError;
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
    /// No assembly.
    #[error(transparent)]
    Assembled(#[from] AssembledError),
    /// No picture.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// A file of a kind that the page does not take.
    #[error(
        "{file}: this is {found}; expected a curve (CSV), a spring, a brief or an assembly (TOML), or a saved page; {remedy}"
    )]
    OtherKind {
        /// name of the file
        file: String,
        /// kind found
        found: &'static str,
        /// remedy
        remedy: &'static str,
    },
    /// The assembly came without the files of a member.
    #[error(
        "{file}: {folder}/spring.toml did not come with it; drop the whole folder, or use flatspire flat FOLDER"
    )]
    MemberMissing {
        /// name of the assembly file
        file: String,
        /// folder of the member
        folder: String,
    },
    /// More members than the page shows.
    #[error("{file}: {found} members, the page shows at most {most}; use flatspire flat FOLDER")]
    ManyMembers {
        /// name of the assembly file
        file: String,
        /// members found
        found: usize,
        /// most members
        most: usize,
    },
    /// Invalid spring of a saved state or of a file.
    #[error("{place}: {source}")]
    Saved {
        /// its place in the state, or the file
        place: String,
        /// why
        source: Box<LiveError>,
    },
    /// The files could not be put together.
    #[error("the archive could not be written: {message}")]
    Archive {
        /// message of its writer
        message: String,
    },
}
