//! The report: one spring on one self-contained page.
//!
//! [`Report::of`] gathers the facts and draws the pictures of a [`Subject`]; what cannot be drawn (an arm given by
//! stations has no slots to cut, say) is left out and said. [`Report::html`] sets them on one page: curves with
//! readings under the pointer, and a slider for the travel that the pictures follow, by a small script that reads
//! nothing but the page itself. [`Report::files`] are the same pictures as files. A design whose checks failed or whose
//! curve cannot be followed makes a report all the same, and so does a question without an answer
//! ([`without_spring`]).

mod assembled;
mod assumptions;
mod blank;
mod captions;
mod charts;
mod digest;
mod facts;
mod formed;
mod glossary;
mod page;
mod page_data;
mod rivals;
mod roots;
mod shown;
mod spring_report;
mod stroke;
mod subject;
mod tables;
mod tiles;
mod unanswered;

pub use assembled::{assembly_report, disc_reports, section};
pub use glossary::{GLOSSARY, glossary_html};
pub use subject::Subject;
pub use unanswered::without_spring;

use rayon::prelude::*;

use crate::evaluation::Evaluation;
use crate::export::NamedFile;
use crate::layout::LayoutError;
use crate::model::ModelError;
use crate::package::{PackageError, spring_files, whole_file};
use crate::pipeline::Answer;
use crate::plot::{Picture, PlotError, Units};
use crate::spec::SpringFile;
use facts::{Facts, NamedPicture};

/// Folder of the pictures of a package.
const PICTURES: &str = "pictures/";

/// Errors of making a report.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// No arm.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// No picture.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// No drawing, former or solid.
    #[error(transparent)]
    Package(#[from] PackageError),
    /// The page could not be set.
    #[error("the report's page cannot be set: {0}")]
    Page(#[from] minijinja::Error),
}

/// A report with its pictures.
#[derive(Debug, Clone)]
pub struct Report {
    facts: Facts,
    pictures: Vec<NamedPicture>,
    units: Units,
}

impl Report {
    /// Gathers everything about a spring.
    pub fn of(subject: &Subject, units: Units) -> Result<Self, ReportError> {
        let (facts, pictures) = facts::gather(subject, units)?;
        Ok(Self { facts, pictures, units })
    }

    /// The page, whole in itself.
    pub fn html(&self) -> Result<String, ReportError> {
        Ok(page::set(&self.facts, self.units)?)
    }

    /// The pictures by name.
    pub fn pictures(&self) -> &[(&'static str, Picture)] {
        &self.pictures
    }

    /// The page and all pictures as SVG and PNG.
    pub fn files(&self) -> Result<Vec<NamedFile>, ReportError> {
        let mut files = vec![NamedFile { name: "report.html".to_owned(), bytes: self.html()?.into_bytes() }];
        let pictures: Vec<[NamedFile; 2]> = self
            .pictures
            .par_iter()
            .map(|(name, picture)| {
                // the curve stands beside its table
                let place = if *name == "curve" { "" } else { PICTURES };
                Ok([
                    NamedFile { name: format!("{place}{name}.svg"), bytes: picture.svg_file() },
                    NamedFile { name: format!("{place}{name}.png"), bytes: picture.png_file()? },
                ])
            })
            .collect::<Result<_, PlotError>>()?;
        files.extend(pictures.into_iter().flatten());
        Ok(files)
    }
}

/// The whole package of an evaluated spring as its file stands: report, pictures, and all that a shop needs.
pub fn spring_package(
    file: &SpringFile,
    evaluation: &Evaluation,
    units: Units,
) -> Result<Vec<NamedFile>, ReportError> {
    let file = whole_file(file, evaluation.asked.target.as_ref());
    let mut package = Report::of_spring(&file, evaluation, units)?.files()?;
    package.extend(spring_files(&file, evaluation)?);
    Ok(package)
}

/// The report on the best spring of an answer as files.
pub fn files(answer: &Answer, units: Units) -> Result<Vec<NamedFile>, ReportError> {
    Report::of(&Subject::of(answer), units)?.files()
}
