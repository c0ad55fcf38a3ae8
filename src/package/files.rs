//! The files of a package.

use super::answer::Answer;
use super::spring_text::{curve_csv, former_csv, setting_text};
use crate::export::former::former_solid;
use crate::export::stl::{PlanError, formed_spring};
use crate::export::{DrawingNotes, ExportError, dxf, svg};
use crate::layout::{LayoutError, write_stations};
use crate::model::{ModelError, ModelSettings};
use crate::outline::{CutRules, Outline, OutlineError};

/// Thickness of the former under its lowest step (mm).
const FORMER_BASE: f64 = 5.0;

/// A file by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedFile {
    /// its name in the folder
    pub name: String,
    /// its bytes
    pub bytes: Vec<u8>,
}

/// Why a file could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PackageError {
    /// No arm.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// No outline.
    #[error(transparent)]
    Outline(#[from] OutlineError),
    /// No drawing.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// No solid.
    #[error(transparent)]
    Solid(#[from] PlanError),
}

/// All files of an answer but its report and pictures, in the order in which they are written.
pub fn files(answer: &Answer) -> Result<Vec<NamedFile>, PackageError> {
    let spring = &answer.outcome.designs[0].spring;
    let arm = spring.arm(ModelSettings::default().segments)?;
    let rules = CutRules::of(&answer.question.brief.process, spring.sheet.thickness);
    let outline = Outline::of(spring, &rules)?;
    let heights = answer.verdicts.setting.as_ref().map_or(&arm.height, |setting| &setting.former_heights);
    let named = |name: &str, bytes: Vec<u8>| NamedFile { name: name.to_owned(), bytes };
    Ok(vec![
        named("spring.toml", answer.file.to_toml().into_bytes()),
        named("stations.csv", write_stations(&arm).into_bytes()),
        named("curve.csv", curve_csv(&answer.table).into_bytes()),
        named("outline_mm.dxf", dxf(&outline, &notes(answer))?),
        named("outline.svg", svg(&outline)),
        named("former.csv", former_csv(&answer.verdicts).into_bytes()),
        named("former.stl", former_solid(spring, &arm, heights, FORMER_BASE)?.to_stl()),
        named("spring.stl", formed_spring(spring, &arm)?.to_stl()),
        named("setting.txt", setting_text(&answer.verdicts).into_bytes()),
        named("summary.json", answer.summary.to_json()),
    ])
}

/// Words for the drawing's notes layer.
fn notes(answer: &Answer) -> DrawingNotes {
    let merits = &answer.outcome.designs[0].merits;
    let sheet = answer.file.sheet.material.as_deref().unwrap_or("sheet as agreed");
    DrawingNotes {
        lines: vec![
            format!("Unit: mm. Outside dia {:.2}", merits.outer_diameter_mm),
            format!("Sheet {sheet}, {} thick", merits.thickness_mm),
            format!("{} slots alike, {} wide at mid-thickness", merits.arms, answer.file.disc.slot),
            "Finished size, kerf not compensated".to_owned(),
        ],
    }
}
