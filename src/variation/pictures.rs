//! A scatter run as files: a picture and a table.

use super::scatter::Scatter;
use crate::export::NamedFile;
use crate::numeric::cell;
use crate::plot::{CurvePlot, PlotError, Units, curve_png, curve_svg};

/// The band as a picture and as a table.
pub fn scatter_files(found: &Scatter, units: Units) -> Result<Vec<NamedFile>, PlotError> {
    let plot = plot(found);
    Ok(vec![
        NamedFile::new("scatter.csv", table(found)),
        NamedFile::new("scatter.svg", curve_svg(&plot, units)?),
        NamedFile::new("scatter.png", curve_png(&plot, units)?),
    ])
}

/// The nominal curve in its band, as far as fewer than one part in twenty lie flat.
fn plot(found: &Scatter) -> CurvePlot {
    let band = &found.curve;
    let upto = band.high_n.iter().position(Option::is_none).unwrap_or(band.high_n.len());
    let target = band.target_n.clone().unwrap_or_default();
    let starts_at_zero = band.deflection_mm.first().zip(band.deflection_mm.get(1));
    // the band of an unpressed spring begins in a point that the list leaves out
    let origin = starts_at_zero.is_some_and(|(first, second)| 2.0 * first < second * 1.001);
    let with_origin = |list: &[f64]| -> Vec<f64> {
        origin.then_some(0.0).into_iter().chain(list[..upto].iter().copied()).collect()
    };
    let high: Vec<f64> = band.high_n.iter().map_while(|force| *force).collect();
    CurvePlot {
        title: format!("Force of {} parts, 5 % to 95 %", found.runs),
        target_deflection: if target.is_empty() { Vec::new() } else { band.deflection_mm.clone() },
        target_force: target,
        predicted_deflection: with_origin(&band.deflection_mm),
        predicted_force: with_origin(&band.force_n),
        predicted_label: "nominal".to_owned(),
        scatter_low: with_origin(&band.low_n),
        scatter_high: with_origin(&high),
        ..CurvePlot::default()
    }
}

fn table(found: &Scatter) -> String {
    let band = &found.curve;
    let travel_name = if band.travel_mm.is_some() { "travel_mm," } else { "" };
    let mut text = format!(
        "deflection_mm,{travel_name}force_n,low_n,high_n,first_order_low_n,first_order_high_n,target_n\n"
    );
    let number = |value: Option<f64>| value.map_or_else(String::new, |value| cell(value, 5));
    for i in 0..band.deflection_mm.len() {
        text.push_str(&format!(
            "{},{}{},{},{},{},{},{}\n",
            cell(band.deflection_mm[i], 5),
            band.travel_mm.as_ref().map_or_else(String::new, |travel| format!("{},", cell(travel[i], 5))),
            cell(band.force_n[i], 5),
            cell(band.low_n[i], 5),
            number(band.high_n[i]),
            cell(band.first_order_low_n[i], 5),
            cell(band.first_order_high_n[i], 5),
            number(band.target_n.as_ref().map(|target| target[i]))
        ));
    }
    text
}
