//! A comparison as files: pictures and a table.

use super::contender::{Contender, Kind};
use super::contest::Comparison;
use crate::package::NamedFile;
use crate::plot::{CurvePlot, Line, PlotError, Units, curve_png, curve_svg};

/// Pictures of the spring against each rival, and all curves as a table.
pub fn files(comparison: &Comparison, units: Units) -> Result<Vec<NamedFile>, PlotError> {
    let mut files =
        vec![NamedFile { name: "comparison.csv".to_owned(), bytes: table(comparison).into_bytes() }];
    let Some(tapered) = comparison.springs.first() else { return Ok(files) };
    for rival in &comparison.springs[1..] {
        let plot = plot(tapered, rival);
        let name = rival.kind.name().replace(' ', "_");
        files.push(NamedFile { name: format!("{name}.svg"), bytes: curve_svg(&plot, units)? });
        files.push(NamedFile { name: format!("{name}.png"), bytes: curve_png(&plot, units)? });
    }
    Ok(files)
}

fn plot(tapered: &Contender, rival: &Contender) -> CurvePlot {
    CurvePlot {
        title: format!("Tapered against {}", rival.kind.name()),
        target_deflection: tapered.curve.deflection_mm.clone(),
        target_force: tapered.curve.target_n.clone(),
        predicted_deflection: tapered.curve.deflection_mm.clone(),
        predicted_force: tapered.curve.force_n.clone(),
        predicted_label: Kind::Tapered.name().to_owned(),
        compared: Some(Line {
            label: rival.kind.name().to_owned(),
            x: rival.curve.deflection_mm.clone(),
            y: rival.curve.force_n.clone(),
        }),
        ..CurvePlot::default()
    }
}

fn table(comparison: &Comparison) -> String {
    let mut text = String::from("deflection_mm,target_n");
    for spring in &comparison.springs {
        text.push_str(&format!(",{}_n", spring.kind.name().replace(' ', "_")));
    }
    text.push('\n');
    let Some(first) = comparison.springs.first() else { return text };
    for i in 0..first.curve.deflection_mm.len() {
        text.push_str(&format!("{:.5},{:.5}", first.curve.deflection_mm[i], first.curve.target_n[i]));
        for spring in &comparison.springs {
            text.push_str(&format!(",{:.5}", spring.curve.force_n[i]));
        }
        text.push('\n');
    }
    text
}
