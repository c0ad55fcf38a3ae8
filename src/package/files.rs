//! The files of a package.

use super::answer::Answer;
use super::spring_text::{curve_csv, former_csv, setting_text};
use crate::export::former::former_solid;
use crate::export::stl::{PlanError, formed_spring};
use crate::export::svg;
use crate::layout::{LayoutError, write_stations};
use crate::model::{Model, ModelError, ModelSettings};
use crate::plot::{CurvePlot, PlotError, Units, curve_png, curve_svg};

/// Thickness of the former under its lowest step (mm).
const FORMER_BASE: f64 = 5.0;
/// Points of the predicted line in a plot.
const LINE_POINTS: usize = 120;

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
    /// No solid.
    #[error(transparent)]
    Solid(#[from] PlanError),
    /// No picture.
    #[error(transparent)]
    Plot(#[from] PlotError),
}

/// All files of an answer, in the order in which they are written.
pub fn files(answer: &Answer, units: Units) -> Result<Vec<NamedFile>, PackageError> {
    let spring = &answer.outcome.designs[0].spring;
    let arm = spring.arm(ModelSettings::default().segments)?;
    let plot = curve_plot(answer)?;
    let heights = answer.verdicts.setting.as_ref().map_or(&arm.height, |setting| &setting.former_heights);
    let named = |name: &str, bytes: Vec<u8>| NamedFile { name: name.to_owned(), bytes };
    Ok(vec![
        named("spring.toml", answer.file.to_toml().into_bytes()),
        named("stations.csv", write_stations(&arm).into_bytes()),
        named("curve.csv", curve_csv(&answer.table).into_bytes()),
        named("outline_mm.dxf", answer.drawing.dxf.clone()),
        named("outline.svg", svg(&answer.drawing.outline)),
        named("former.csv", former_csv(&answer.verdicts).into_bytes()),
        named("former.stl", former_solid(spring, &arm, heights, FORMER_BASE)?.to_stl()),
        named("spring.stl", formed_spring(spring, &arm)?.to_stl()),
        named("setting.txt", setting_text(&answer.verdicts).into_bytes()),
        named("curve.svg", curve_svg(&plot, units)?),
        named("curve.png", curve_png(&plot, units)?),
        named("summary.json", answer.summary.to_json()),
    ])
}

/// The predicted curve beside the target.
pub fn curve_plot(answer: &Answer) -> Result<CurvePlot, PackageError> {
    let best = &answer.outcome.designs[0];
    let installed = answer.outcome.reach.installed;
    let model = Model::of(&best.spring, &ModelSettings::default())?;
    let target = &answer.question.target;
    let to = target.max_deflection().min(model.travel() - installed);
    let deflection: Vec<f64> = (0..=LINE_POINTS).map(|k| to * k as f64 / LINE_POINTS as f64).collect();
    let stops: Vec<f64> = deflection.iter().map(|x| (x + installed).min(model.travel())).collect();
    let response = model.response(&stops)?;
    let list = |list: &Option<Vec<f64>>| list.clone().unwrap_or_default();
    Ok(CurvePlot {
        title: "Force over deflection".to_owned(),
        target_deflection: target.deflection.clone(),
        target_force: target.force.clone(),
        force_min: list(&target.force_min),
        force_max: list(&target.force_max),
        predicted_deflection: deflection,
        predicted_force: response.force,
        predicted_label: "predicted".to_owned(),
        ..CurvePlot::default()
    })
}
