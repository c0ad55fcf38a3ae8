//! The charts of a report.

use super::stroke::Stroke;
use super::subject::Subject;
use crate::numeric::straight_between;
use crate::plot::{Axis, CurvePlot, Line, LineChart, PlotError, Quantity, Ticks};

/// Share of the travel beyond which rates are not shown: the force rises without bound.
const LAST_SHARE: f64 = 0.95;

/// Abscissa of a chart, on which the slider's mark moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Along {
    /// deflection from the free height
    Travel,
    /// arc length of an arm
    Arm,
}

/// A chart by name.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct NamedChart {
    /// name of its files, and of its place in the page
    pub name: &'static str,
    pub along: Along,
    pub chart: LineChart,
}

fn axis(label: &str, quantity: Quantity) -> Axis {
    Axis { label: label.to_owned(), quantity, from_zero: true }
}

fn line(label: &str, x: &[f64], y: &[f64]) -> Line {
    Line { label: label.to_owned(), x: x.to_vec(), y: y.to_vec() }
}

fn level(label: &str, x: &[f64], value: f64) -> Line {
    let ends = [x.first().copied().unwrap_or(0.0), x.last().copied().unwrap_or(1.0)];
    line(label, &ends, &[value, value])
}

/// The part of a list of pairs up to `most`.
fn up_to(x: &[f64], y: &[f64], most: f64) -> (Vec<f64>, Vec<f64>) {
    x.iter().zip(y).filter(|(x, _)| **x <= most * (1.0 + 1e-9)).map(|(x, y)| (*x, *y)).unzip()
}

/// The curve: target as points, band, prediction, deflections at which turns seat, and the nearest curve that seating
/// can follow.
pub(super) fn curve(subject: &Subject, stroke: &Stroke) -> CurvePlot {
    let installed = subject.installed;
    let most = stroke.response.deflection.last().copied().unwrap_or(0.0);
    let end = subject.last_wanted(most);
    let (mut deflection, mut force) = up_to(&stroke.response.deflection, &stroke.response.force, end);
    if deflection.last().is_some_and(|last| *last < end) {
        deflection.push(end);
        force.push(straight_between(&stroke.response.deflection, &stroke.response.force, end));
    }
    let first = deflection.partition_point(|x| *x < installed);
    let (deflection, force) = (&deflection[first..], &force[first..]);
    let from_free = |list: &[f64]| list.iter().map(|x| x + installed).collect::<Vec<f64>>();
    let list = |list: &Option<Vec<f64>>| list.clone().unwrap_or_default();
    let target = subject.target.cloned().unwrap_or_default();
    let compared = subject.reach.filter(|reach| !reach.reachable).map(|reach| Line {
        label: "nearest that can be followed".to_owned(),
        x: from_free(&reach.nearest.deflection),
        y: reach.nearest.force.clone(),
    });
    CurvePlot {
        title: "Force over deflection".to_owned(),
        target_deflection: from_free(&target.deflection),
        target_force: target.force.clone(),
        force_min: list(&target.force_min),
        force_max: list(&target.force_max),
        predicted_deflection: deflection.to_vec(),
        predicted_force: force.to_vec(),
        predicted_label: "predicted".to_owned(),
        seats: stroke.seats.iter().copied().filter(|x| *x >= installed).collect(),
        compared,
        ..CurvePlot::default()
    }
}

/// All charts but the curve.
pub(super) fn others(subject: &Subject, stroke: &Stroke) -> Vec<NamedChart> {
    let response = &stroke.response;
    let x = &response.deflection;
    let wanted = subject.last_wanted(LAST_SHARE * stroke.travel).max(0.3 * stroke.travel);
    let (rate_x, rate) = up_to(x, &stroke.rate, wanted.min(LAST_SHARE * stroke.travel));
    let travel = |name, chart| NamedChart { name, along: Along::Travel, chart };
    let arm = |name, chart| NamedChart { name, along: Along::Arm, chart };
    let chart = |title: &str, x_axis, y_axis, lines| LineChart {
        title: title.to_owned(),
        x_axis,
        y_axis,
        bands: Vec::new(),
        lines,
        marks: Vec::new(),
        ticks: Ticks::default(),
    };
    let deflection = || axis("deflection from free", Quantity::Length);
    let along = || axis("along the arm from the rim", Quantity::Length);
    let mut charts = vec![
        travel(
            "rate",
            LineChart {
                ticks: Ticks { label: "turns seat".to_owned(), x: stroke.seats.clone() },
                ..chart(
                    "Rate over travel",
                    deflection(),
                    axis("rate", Quantity::Rate),
                    vec![line("rate", &rate_x, &rate)],
                )
            },
        ),
        travel(
            "seated",
            chart(
                "Seated share of the arm",
                deflection(),
                axis("share of the arm's length", Quantity::Share),
                vec![line("seated", x, &stroke.rested)],
            ),
        ),
    ];
    let pick = |list: &[f64]| stroke.nodes.iter().map(|&i| list[i]).collect::<Vec<f64>>();
    let widths: Vec<f64> = pick(&stroke.arm.width);
    charts.push(arm(
        "width",
        chart(
            "Width of the arm",
            along(),
            axis("width along the radius", Quantity::Length),
            vec![line("width", &stroke.arc, &widths)],
        ),
    ));
    let mut heights = vec![line("free height", &stroke.arc, &pick(&stroke.arm.height))];
    if let Some(setting) = &subject.checks.setting
        && setting.heights_to_make.len() == stroke.arm.height.len()
    {
        heights.insert(0, line("former", &stroke.arc, &pick(&setting.heights_to_make)));
    }
    charts.push(arm(
        "height",
        chart(
            "Height of former and spring",
            along(),
            axis("height above the rim", Quantity::Length),
            heights,
        ),
    ));
    charts.push(stress_along(subject, stroke, along()));
    let mut peak = vec![line("largest stress", x, &response.peak_stress)];
    if let Some(allowable) = subject.checks.stress.allowable_mpa {
        peak.push(level("allowable", x, allowable));
    }
    charts.push(travel(
        "stress_over_travel",
        chart("Largest stress over travel", deflection(), axis("von Mises stress", Quantity::Stress), peak),
    ));
    charts
}

fn stress_along(subject: &Subject, stroke: &Stroke, along: Axis) -> NamedChart {
    let stress = &subject.checks.stress;
    let length = stroke.arc.last().copied().unwrap_or(0.0);
    let (x, y): (Vec<f64>, Vec<f64>) =
        stress.stations.iter().map(|station| (station.arc_share * length, station.von_mises_mpa)).unzip();
    let half = stroke.shape_at(0.5);
    let mut lines = vec![line("maximum over the stroke", &x, &y)];
    if let Some(allowable) = stress.allowable_mpa {
        lines.push(level("allowable", &stroke.arc, allowable));
    }
    lines.push(line("half closed", &stroke.arc, &half.stress));
    NamedChart {
        name: "stress_along",
        along: Along::Arm,
        chart: LineChart {
            title: "Stress along the arm".to_owned(),
            x_axis: along,
            y_axis: axis("von Mises stress", Quantity::Stress),
            bands: Vec::new(),
            lines,
            marks: Vec::new(),
            ticks: Ticks::default(),
        },
    }
}

/// The curve as a chart.
pub(super) fn named_curve(plot: &CurvePlot) -> Result<NamedChart, PlotError> {
    Ok(NamedChart { name: "curve", along: Along::Travel, chart: plot.chart()? })
}
