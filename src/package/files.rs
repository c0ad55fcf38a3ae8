//! The files of a package.

use serde::Serialize;

use super::spring_text::{curve_csv, former_csv, rings_text, rows_csv, set_shape_csv, setting_text};
use crate::checks::FormerShape;
use crate::curve::TargetCurve;
use crate::evaluation::{Evaluation, EvaluationSummary, json_bytes};
use crate::export::former::former_solid;
use crate::export::step::{blank, faceted, step, turned};
use crate::export::stl::{PlanError, formed_spring};
use crate::export::{
    ExportError, NamedFile, dxf_nest, dxf_profile, dxf_rings, former_profile, svg_marked, svg_nest,
};
use crate::layout::{ArmPath, LayoutError, Spring, write_stations};
use crate::model::{ModelError, ModelSettings};
use crate::numeric::Units;
use crate::pipeline::Answer;
use crate::plot::PlotError;
use crate::shop::{self, SheetError};
use crate::spec::{SpringFile, Target};

/// Name of the table of one arm.
const STATIONS: &str = "stations.csv";
/// Thickness of the former under its lowest step (mm).
const FORMER_BASE: f64 = 5.0;

/// Why a file could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PackageError {
    /// No arm.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// No curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// No picture.
    #[error(transparent)]
    Plot(#[from] PlotError),
    /// No solid.
    #[error(transparent)]
    Solid(#[from] PlanError),
    /// No drawing.
    #[error(transparent)]
    Export(#[from] ExportError),
    /// No sheet for the shop.
    #[error(transparent)]
    Sheet(#[from] SheetError),
}

/// Files of a former alone, for an arm at `heights` (mm at its nodes) on it: table, solids, profile and rings.
pub fn former_files(
    spring: &Spring,
    arm: &ArmPath,
    heights: &[f64],
    shims: Option<&[f64]>,
) -> Result<Vec<NamedFile>, PackageError> {
    let former = FormerShape::of(spring, arm, heights, shims);
    let rings = dxf_rings(&former)?.map(|bytes| NamedFile::new("former_rings_mm.dxf", bytes));
    let mut files = vec![
        NamedFile::new("former.csv", rows_csv(&former.table)),
        NamedFile::new("former.stl", former_solid(spring, arm, heights, FORMER_BASE)?.to_stl()),
        NamedFile::new("former_profile_mm.dxf", dxf_profile(&former, spring.disc.bore_radius)?),
        NamedFile::new("rings.txt", rings_text(&former, Units::MillimetreNewton)),
    ];
    files.extend(turned_former(&former, spring).map(|bytes| NamedFile::new("former_turned.step", bytes)));
    files.extend(rings);
    Ok(files)
}

/// The turned former as STEP; none where its profile has no exact solid.
fn turned_former(former: &FormerShape, spring: &Spring) -> Option<Vec<u8>> {
    let solid = turned(&former_profile(former, spring.disc.bore_radius))?;
    Some(step(&solid, "turned former"))
}

/// All files of an answer but its report and pictures, in the order in which they are written.
pub fn files(answer: &Answer) -> Result<Vec<NamedFile>, PackageError> {
    whole(&answer.file, &answer.evaluation, answer.summary.to_json())
}

/// The same files for a spring as it stands: its file, made whole, and its evaluation.
pub fn spring_files(file: &SpringFile, evaluation: &Evaluation) -> Result<Vec<NamedFile>, PackageError> {
    let summary = SpringSummary { evaluation: EvaluationSummary::of(evaluation), spring: file };
    whole(file, evaluation, json_bytes(&summary))
}

/// A spring's file with everything it names in itself, as a package holds it: the points of its curve, and the stations
/// under the name that the package gives them.
pub fn whole_file(file: &SpringFile, target: Option<&TargetCurve>) -> SpringFile {
    let mut file = file.clone();
    if file.arm.stations.is_some() {
        file.arm.stations = Some(STATIONS.to_owned());
    }
    if let (Some(target), Some(Target { file: Some(_), .. })) = (target, &file.target) {
        file.target = Some(Target {
            file: None,
            deflection: Some(target.deflection.clone()),
            force: Some(target.force.clone()),
            force_min: target.force_min.clone(),
            force_max: target.force_max.clone(),
        });
        let fit = file.fit.get_or_insert_default();
        fit.tolerance_percent = fit.tolerance_percent.or(target.tolerance_percent);
    }
    file
}

/// `summary.json` of a spring as it stands.
#[derive(Serialize)]
struct SpringSummary<'a> {
    #[serde(flatten)]
    evaluation: EvaluationSummary,
    spring: &'a SpringFile,
}

fn whole(
    file: &SpringFile,
    evaluation: &Evaluation,
    summary: Vec<u8>,
) -> Result<Vec<NamedFile>, PackageError> {
    let (spring, checks) = (&evaluation.spring, &evaluation.checks);
    let arm = spring.arm(ModelSettings::default().segments)?;
    let heights = checks.setting.as_ref().map_or(&arm.height, |setting| &setting.heights_to_make);
    let named = |name: &str, bytes: Vec<u8>| NamedFile { name: name.to_owned(), bytes };
    let title = shop::title(evaluation);
    let mut files = vec![
        named("spring.toml", file.to_toml().into_bytes()),
        named(STATIONS, write_stations(&arm).into_bytes()),
    ];
    files.extend(evaluation.fit.iter().map(|fit| named("curve.csv", curve_csv(&fit.table).into_bytes())));
    if let Ok(drawing) = &evaluation.drawing {
        files.push(named("outline_mm.dxf", drawing.dxf.clone()));
        files.push(named("outline.svg", svg_marked(&drawing.outline, &drawing.marks)));
        if let Some(blank) = blank(&drawing.outline, spring.sheet.thickness) {
            files.push(named("solids/blank.step", step(&blank, "flat blank")));
        }
        if let Some(nest) = drawing.placed() {
            let notes = drawing.notes.on_sheet(nest, drawing.cut.part_area_mm2);
            let (outline, marks) = (&drawing.outline, &drawing.marks);
            files.push(named("sheet_mm.dxf", dxf_nest(nest, outline, marks, &notes)?));
            files.push(named("sheet.svg", svg_nest(nest, outline, marks)));
        }
        let sheet = shop::drawing_sheet(evaluation, drawing, &title)?;
        files.push(named("drawing.pdf", shop::pdf(&sheet)?));
        files.push(named("pictures/drawing.svg", shop::svg(&sheet)));
        files
            .push(named("inspection.pdf", shop::pdf(&shop::inspection_sheet(evaluation, drawing, &title)?)?));
    }
    files.extend(dxf_rings(&checks.former)?.map(|bytes| named("former/former_rings_mm.dxf", bytes)));
    let profile = dxf_profile(&checks.former, spring.disc.bore_radius)?;
    files.push(named("former/former_profile_mm.dxf", profile));
    files
        .extend(turned_former(&checks.former, spring).map(|bytes| named("former/former_turned.step", bytes)));
    let formed = formed_spring(spring, &arm)?;
    files.extend([
        named("former/former.csv", former_csv(checks).into_bytes()),
        named("former/set_shape.csv", set_shape_csv(checks).into_bytes()),
        named("former/former.stl", former_solid(spring, &arm, heights, FORMER_BASE)?.to_stl()),
        named("solids/spring.stl", formed.to_stl()),
        named("solids/spring.step", step(&faceted(&formed), "formed spring")),
        named("setting.txt", setting_text(checks).into_bytes()),
        named("summary.json", summary),
    ]);
    Ok(files)
}
