//! A comparison as files: one picture with all springs and all curves, and a table.

use std::fmt::Write;

use super::contender::Contender;
use super::contest::Comparison;
use crate::export::{NamedFile, svg_path};
use crate::layout::Spring;
use crate::numeric::cell;
use crate::outline::{CutRules, Outline};
use crate::plot::{ChartPicture, CurvePlot, Line, LineChart, PageSize, PlotError, Units, line_chart_png};

/// Width and height of a chart as it is written (px).
const CHART: PageSize = PageSize { width: 720.0, height: 450.0 };
/// Height of the strip with the springs (px).
const STRIP: f64 = 270.0;
/// Share of its field that the largest spring takes.
const FILLED: f64 = 0.86;
/// Height of the words under a spring (px).
const WORDS: f64 = 40.0;

/// One picture of all springs and curves, the curves alone as PNG, and all curves as a table.
pub fn files(comparison: &Comparison, units: Units) -> Result<Vec<NamedFile>, PlotError> {
    let chart = chart(comparison)?;
    let drawn = ChartPicture::of(&chart, units, CHART)?.picture;
    Ok(vec![
        NamedFile::new("comparison.csv", table(comparison)),
        NamedFile::new("comparison.svg", picture(comparison, &drawn.svg())),
        NamedFile::new("comparison.png", line_chart_png(&chart, units)?),
    ])
}

/// All curves over the target's points.
fn chart(comparison: &Comparison) -> Result<LineChart, PlotError> {
    let line = |spring: &Contender| Line {
        label: spring.kind.name().to_owned(),
        x: spring.curve.deflection_mm.clone(),
        y: spring.curve.force_n.clone(),
    };
    let mut plot =
        CurvePlot { title: "Force over deflection, side by side".to_owned(), ..CurvePlot::default() };
    let mut rivals = Vec::new();
    if let Some((tapered, others)) = comparison.springs.split_first() {
        plot.target_deflection.clone_from(&tapered.curve.deflection_mm);
        plot.target_force.clone_from(&tapered.curve.target_n);
        plot.predicted_deflection.clone_from(&tapered.curve.deflection_mm);
        plot.predicted_force.clone_from(&tapered.curve.force_n);
        tapered.kind.name().clone_into(&mut plot.predicted_label);
        plot.seats = tapered.turns.iter().filter_map(|turn| turn.lies_at_mm).collect();
        rivals = others.iter().map(line).collect();
    }
    let mut chart = plot.chart()?;
    chart.lines.extend(rivals);
    Ok(chart)
}

/// The springs in plan at one scale, above their curves.
fn picture(comparison: &Comparison, chart: &str) -> String {
    let field = CHART.width / comparison.springs.len().max(1) as f64;
    let largest = comparison
        .springs
        .iter()
        .filter_map(|spring| spring.spring.disc.outer_diameter)
        .fold(f64::MIN_POSITIVE, f64::max);
    let scale = FILLED * field.min(STRIP - WORDS) / largest;
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\">\n\
         <title>Springs side by side</title>\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n",
        CHART.width,
        STRIP + CHART.height
    );
    for (k, spring) in comparison.springs.iter().enumerate() {
        let (x, y) = (field * (k as f64 + 0.5), 0.5 * (STRIP - WORDS));
        // writing to a string cannot fail
        let _ = writeln!(text, "<g transform=\"translate({x:.2} {y:.2}) scale({scale:.4})\">");
        for path in paths(spring) {
            let _ = writeln!(text, "{path}");
        }
        let _ = writeln!(text, "</g>");
        let below =
            [spring.kind.name().to_owned(), format!("curve error {:.2} % rms", spring.fit.rms_percent)];
        for (line, words) in below.iter().enumerate() {
            let _ = writeln!(
                text,
                "<text x=\"{x:.2}\" y=\"{:.2}\" text-anchor=\"middle\" font-family=\"sans-serif\" font-size=\"13\" \
                 fill=\"#222\">{words}</text>",
                STRIP - WORDS + 14.0 + 17.0 * line as f64
            );
        }
    }
    // the chart as a picture within the picture
    text.push_str(&chart.replacen("<svg ", &format!("<svg y=\"{STRIP}\" "), 1));
    text.push_str("</svg>\n");
    text
}

/// The outline's contours as SVG paths; none where the spring cannot be drawn.
fn paths(contender: &Contender) -> Vec<String> {
    let process = contender.spring.process.clone().unwrap_or_default();
    let outline = Spring::from_file(&contender.spring, None)
        .ok()
        .and_then(|spring| Outline::of(&spring, &CutRules::of(&process, spring.sheet.thickness)).ok());
    outline
        .iter()
        .flat_map(|outline| &outline.contours)
        .map(|contour| {
            format!("<path d=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"0.4\"/>", svg_path(contour))
        })
        .collect()
}

fn table(comparison: &Comparison) -> String {
    let mut text = String::from("deflection_mm,target_n");
    for spring in &comparison.springs {
        text.push_str(&format!(",{}_n", spring.kind.name().replace(' ', "_")));
    }
    text.push('\n');
    let Some(first) = comparison.springs.first() else { return text };
    for i in 0..first.curve.deflection_mm.len() {
        text.push_str(&format!(
            "{},{}",
            cell(first.curve.deflection_mm[i], 5),
            cell(first.curve.target_n[i], 5)
        ));
        for spring in &comparison.springs {
            // a spring of less travel has no force there
            text.push(',');
            text.extend(spring.curve.force_n.get(i).map(|force| cell(*force, 5)));
        }
        text.push('\n');
    }
    text
}
