//! The package of a spring cut again: as a design's, for what is to be drawn, with curve and summary of the part to expect,
//! and the measurement as a picture.

use super::files::{PackageError, files};
use super::spring_text::curve_csv;
use crate::export::NamedFile;
use crate::model::{Model, ModelError};
use crate::pipeline::Corrected;
use crate::plot::{CurvePlot, Line, Units, curve_png, curve_svg};
use crate::variation::Identified;

/// Points of the predicted line in a plot.
const LINE_POINTS: usize = 120;

/// All files, in the order in which they are written: those of a design, for what is to be drawn, but curve and summary of
/// the part that is expected to come out; the part itself; the measurement as a picture.
pub fn corrected_files(corrected: &Corrected, units: Units) -> Result<Vec<NamedFile>, PackageError> {
    let mut package = files(&corrected.drawn)?;
    let expected = expected_plot(corrected)?;
    let measured = measured_plot(&corrected.summary.correction.found);
    let mut put = |name: &str, bytes: Vec<u8>| match package.iter_mut().find(|file| file.name == name) {
        Some(file) => file.bytes = bytes,
        None => package.push(NamedFile::new(name, bytes)),
    };
    if let Some(fit) = &corrected.part.fit {
        put("curve.csv", curve_csv(&fit.table).into_bytes());
    }
    put("curve.svg", curve_svg(&expected, units)?);
    put("curve.png", curve_png(&expected, units)?);
    put("pictures/measured.svg", curve_svg(&measured, units)?);
    put("pictures/measured.png", curve_png(&measured, units)?);
    put("part.toml", corrected.summary.correction.part.to_toml().into_bytes());
    put("summary.json", corrected.summary.to_json());
    Ok(package)
}

fn expected_plot(corrected: &Corrected) -> Result<CurvePlot, ModelError> {
    let target = &corrected.drawn.question.target;
    let installed = corrected.drawn.outcome.reach.installed;
    let model = Model::of(&corrected.recut.part, &corrected.recut.model)?;
    let to = target.max_deflection().min(model.travel() - installed);
    let deflection: Vec<f64> = (0..=LINE_POINTS).map(|k| to * k as f64 / LINE_POINTS as f64).collect();
    let stops: Vec<f64> = deflection.iter().map(|x| (x + installed).min(model.travel())).collect();
    Ok(CurvePlot {
        title: "The spring cut again, as expected".to_owned(),
        target_deflection: target.deflection.clone(),
        target_force: target.force.clone(),
        force_min: target.force_min.clone().unwrap_or_default(),
        force_max: target.force_max.clone().unwrap_or_default(),
        predicted_force: model.response(&stops)?.force,
        predicted_deflection: deflection,
        predicted_label: "expected".to_owned(),
        ..CurvePlot::default()
    })
}

/// A measurement beside the spring as drawn and as corrected.
pub fn measured_plot(found: &Identified) -> CurvePlot {
    let curve = &found.curve;
    CurvePlot {
        title: "The part measured".to_owned(),
        target_deflection: curve.deflection_mm.clone(),
        target_force: curve.measured_n.clone(),
        target_label: "measured".to_owned(),
        predicted_deflection: curve.deflection_mm.clone(),
        predicted_force: curve.corrected_n.clone(),
        predicted_label: "corrected".to_owned(),
        compared: Some(Line {
            label: "as drawn".to_owned(),
            x: curve.deflection_mm.clone(),
            y: curve.drawn_n.clone(),
        }),
        ..CurvePlot::default()
    }
}
