//! Draws a few pictures into a folder: `cargo run --example plot_gallery -- FOLDER`.

use std::path::{Path, PathBuf};

use flatspire::plot::{
    Axis, CurvePlot, Line, LineChart, Quantity, Ticks, Units, curve_png, curve_svg, line_chart_png,
    line_chart_svg,
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).map_or_else(|| PathBuf::from("flatspire-out"), PathBuf::from);
    std::fs::create_dir_all(&folder)?;

    let pedal = brake_pedal();
    write_curve(&folder, "pedal", &pedal, Units::MillimetreNewton)?;
    write_curve(&folder, "pedal-inch", &pedal, Units::InchPound)?;
    let bare = CurvePlot {
        title: "Brake pedal return spring: prediction alone".to_owned(),
        predicted_deflection: pedal.predicted_deflection.clone(),
        predicted_force: pedal.predicted_force.clone(),
        ..CurvePlot::default()
    };
    write_curve(&folder, "bare", &bare, Units::MillimetreNewton)?;
    let compared = CurvePlot { scatter_low: vec![], scatter_high: vec![], seats: vec![], ..pedal.clone() };
    write_curve(&folder, "compared", &compared, Units::MillimetreNewton)?;
    for (name, factor) in [("tiny", 1e-3 / 130.0), ("huge", 1e6 / 130.0)] {
        let scaled = |values: &[f64]| values.iter().map(|value| value * factor).collect::<Vec<_>>();
        let plot = CurvePlot {
            title: format!("Forces {name}"),
            target_force: scaled(&pedal.target_force),
            force_min: scaled(&pedal.force_min),
            force_max: scaled(&pedal.force_max),
            predicted_force: scaled(&pedal.predicted_force),
            scatter_low: scaled(&pedal.scatter_low),
            scatter_high: scaled(&pedal.scatter_high),
            compared: None,
            ..pedal.clone()
        };
        write_curve(&folder, name, &plot, Units::MillimetreNewton)?;
    }
    for (name, chart) in along_the_arm(&pedal) {
        std::fs::write(folder.join(format!("{name}.svg")), line_chart_svg(&chart, Units::MillimetreNewton)?)?;
        std::fs::write(folder.join(format!("{name}.png")), line_chart_png(&chart, Units::MillimetreNewton)?)?;
    }
    Ok(())
}

fn write_curve(
    folder: &Path,
    name: &str,
    plot: &CurvePlot,
    units: Units,
) -> Result<(), Box<dyn std::error::Error>> {
    std::fs::write(folder.join(format!("{name}.svg")), curve_svg(plot, units)?)?;
    std::fs::write(folder.join(format!("{name}.png")), curve_png(plot, units)?)?;
    Ok(())
}

/// A progressive return spring of a pedal-feel rig.
fn brake_pedal() -> CurvePlot {
    let force = |x: f64| 4.0 * x + 0.9 * x * x + 0.011 * x.powi(4);
    let target_deflection: Vec<f64> = (0..=18).map(|i| 0.5 * f64::from(i)).collect();
    let predicted_deflection: Vec<f64> = (0..=180).map(|i| 0.05 * f64::from(i)).collect();
    let predicted_force: Vec<f64> =
        predicted_deflection.iter().map(|x| force(*x) * (1.0 + 0.02 * (1.3 * x).sin())).collect();
    let target_force: Vec<f64> = target_deflection.iter().map(|x| force(*x)).collect();
    CurvePlot {
        title: "Brake pedal return spring, 1.4310+C1300, 1.2 mm, 3 arms".to_owned(),
        force_min: target_force.iter().map(|f| 0.92 * f).collect(),
        force_max: target_force.iter().map(|f| 1.08 * f + 1.0).collect(),
        scatter_low: predicted_force.iter().map(|f| 0.87 * f).collect(),
        scatter_high: predicted_force.iter().map(|f| 1.13 * f).collect(),
        seats: vec![3.1, 5.0, 6.4, 7.5, 8.3, 8.8],
        compared: Some(Line {
            label: "constant width".to_owned(),
            x: predicted_deflection.clone(),
            y: predicted_deflection.iter().map(|x| 1.2 * x + 0.028 * x.powi(4)).collect(),
        }),
        target_deflection,
        target_force,
        predicted_deflection,
        predicted_force,
        predicted_label: String::new(),
        target_label: String::new(),
    }
}

fn along_the_arm(pedal: &CurvePlot) -> Vec<(&'static str, LineChart)> {
    let x = &pedal.predicted_deflection;
    let f = &pedal.predicted_force;
    let rate: Vec<f64> = (1..x.len()).map(|i| (f[i] - f[i - 1]) / (x[i] - x[i - 1])).collect();
    let arc: Vec<f64> = (0..=200).map(|i| 1.3 * f64::from(i)).collect();
    let share = |s: f64| s / 260.0;
    let axis = |label: &str, quantity: Quantity| Axis { label: label.to_owned(), quantity, from_zero: true };
    let line = |label: &str, x: &[f64], y: Vec<f64>| Line { label: label.to_owned(), x: x.to_vec(), y };
    let chart = |title: &str, x_axis: Axis, y_axis: Axis, lines: Vec<Line>| LineChart {
        title: title.to_owned(),
        x_axis,
        y_axis,
        bands: vec![],
        lines,
        marks: vec![],
        ticks: Ticks::default(),
    };
    let along = || axis("arc length from the outer root", Quantity::Length);
    vec![
        (
            "rate",
            chart(
                "Rate over travel",
                axis("deflection", Quantity::Length),
                axis("rate", Quantity::Rate),
                vec![line("", &x[1..], rate)],
            ),
        ),
        (
            "arm",
            chart(
                "Arm width and former height",
                along(),
                axis("width, height", Quantity::Length),
                vec![
                    line("width", &arc, arc.iter().map(|s| 5.6 - 3.2 * share(*s).powf(1.4)).collect()),
                    line("former height", &arc, arc.iter().map(|s| 9.0 * share(*s).powf(0.9)).collect()),
                ],
            ),
        ),
        (
            "stress",
            chart(
                "Von Mises stress at the surface, pressed flat",
                along(),
                axis("stress", Quantity::Stress),
                vec![
                    line(
                        "inner edge",
                        &arc,
                        arc.iter().map(|s| 620.0 + 340.0 * (3.0 * share(*s)).sin().powi(2)).collect(),
                    ),
                    line(
                        "outer edge",
                        &arc,
                        arc.iter().map(|s| 560.0 + 300.0 * (3.0 * share(*s)).sin().powi(2)).collect(),
                    ),
                    line("allowable 1131 MPa", &[0.0, 260.0], vec![1131.0, 1131.0]),
                ],
            ),
        ),
    ]
}
