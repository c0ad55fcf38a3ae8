//! Data of the page's script: curves, shapes and bodies as numbers.

use serde::Serialize;
use serde_json::{Value, json};

use super::charts::{Along, NamedChart};
use super::formed::{CutPlace, FormedBody};
use super::shown::Shown;
use super::stroke::Stroke;
use crate::checks::FLATNESS_MM;
use crate::layout::Spring;
use crate::numeric::{rounded, significant};
use crate::plot::{ChartPicture, PlanPicture, Quantity, ReliefView};
use crate::spec::Pressing;

/// Points of one line that readings are taken from.
const MOST_POINTS: usize = 160;

/// A chart with its picture.
pub(super) struct DrawnChart {
    pub named: NamedChart,
    pub picture: ChartPicture,
}

fn list(values: impl IntoIterator<Item = f64>, decimals: i32) -> Value {
    values.into_iter().map(|value| rounded(value, decimals)).collect()
}

fn shown_list<'a>(values: impl IntoIterator<Item = &'a f64>, quantity: Quantity, shown: Shown) -> Value {
    let factor = quantity.factor(shown.units);
    values.into_iter().map(|value| significant(value * factor, 5)).collect()
}

/// Everything for the script.
pub(super) fn page_data(
    spring: &Spring,
    stroke: &Stroke,
    charts: &[DrawnChart],
    body: Option<&FormedBody>,
    cuts: &[CutPlace],
    plan: Option<&PlanPicture>,
    shown: Shown,
) -> Value {
    let response = &stroke.response;
    json!({
        "units": {
            "length": shown.unit(Quantity::Length),
            "force": shown.unit(Quantity::Force),
            "rate": shown.unit(Quantity::Rate),
            "stress": shown.unit(Quantity::Stress),
        },
        "shown_length": Quantity::Length.factor(shown.units),
        "travel": {
            "x": shown_list(&response.deflection, Quantity::Length, shown),
            "force": shown_list(&response.force, Quantity::Force, shown),
            "rate": shown_list(&stroke.rate, Quantity::Rate, shown),
            "seated": list(stroke.rested.iter().copied(), 4),
            "stress": shown_list(&response.peak_stress, Quantity::Stress, shown),
            "flat": significant(stroke.travel * Quantity::Length.factor(shown.units), 6),
        },
        "shapes": stroke.shapes.iter().map(|shape| json!({
            "x": significant(shape.deflection * Quantity::Length.factor(shown.units), 6),
            "height": list(shape.height.iter().copied(), 3),
            "slope": list(shape.slope.iter().copied(), 4),
            "seated": shape.seated.iter().map(|seated| if *seated { '1' } else { '0' }).collect::<String>(),
            "stress": shown_list(&shape.stress, Quantity::Stress, shown),
        })).collect::<Vec<_>>(),
        "arm": {
            "arms": spring.arms,
            "arc": shown_list(&stroke.arc, Quantity::Length, shown),
            "angle": list(stroke.nodes.iter().map(|&i| stroke.arm.angle[i]), 4),
            "radius": list(stroke.nodes.iter().map(|&i| stroke.arm.radius[i]), 3),
        },
        "charts": charts.iter().map(|drawn| (drawn.named.name.to_owned(), chart(drawn, shown)))
            .collect::<serde_json::Map<_, _>>(),
        "body": body.map(self::body),
        "touching": FLATNESS_MM,
        "allowable": spring.sheet.allowable()
            .map(|allowable| significant(allowable.limit * Quantity::Stress.factor(shown.units), 5)),
        "section": {
            "radius": rounded(spring.disc.outer_radius, 3),
            "thickness": spring.sheet.thickness,
            "height": rounded(stroke.travel, 3),
            "upper": spring.seat.pressing == Pressing::Plates,
            "pieces": cuts.iter().map(|cut| json!([
                rounded(cut.centre, 3), rounded(cut.width, 3), rounded(cut.node, 3), u8::from(cut.arm)
            ])).collect::<Vec<_>>(),
        },
        "plan": plan.map(|plan| json!({
            "x": rounded(plan.origin[0], 2),
            "y": rounded(plan.origin[1], 2),
            "scale": significant(plan.scale, 6),
        })),
    })
}

fn chart(drawn: &DrawnChart, shown: Shown) -> Value {
    let (picture, chart) = (&drawn.picture, &drawn.named.chart);
    let along = match drawn.named.along {
        Along::Travel => "travel",
        Along::Arm => "arm",
    };
    let lines: Vec<Value> = chart
        .lines
        .iter()
        .map(|line| (&line.label, &line.x, &line.y))
        .chain(chart.marks.iter().map(|marks| (&marks.label, &marks.x, &marks.y)))
        .map(|(label, x, y)| {
            let step = x.len().div_ceil(MOST_POINTS).max(1);
            let last = x.len().saturating_sub(1);
            let kept: Vec<usize> = (0..x.len()).filter(|i| i % step == 0 || *i == last).collect();
            json!({
                "name": label,
                "x": shown_list(kept.iter().map(|&i| &x[i]), chart.x_axis.quantity, shown),
                "y": shown_list(kept.iter().map(|&i| &y[i]), chart.y_axis.quantity, shown),
            })
        })
        .collect();
    json!({
        "along": along,
        "field": list(picture.field, 2),
        "x": picture.x,
        "y": picture.y,
        "unit_x": chart.x_axis.quantity.unit(shown.units),
        "unit_y": chart.y_axis.quantity.unit(shown.units),
        "lines": lines,
    })
}

#[derive(Serialize)]
struct BodyData {
    points: Vec<f64>,
    corners: Vec<f64>,
    triangles: Vec<usize>,
    borders: Vec<u8>,
    width: f64,
    height: f64,
    scale: f64,
    origin: [f64; 2],
    elevation: [f64; 2],
    half: f64,
}

fn body(body: &FormedBody) -> Value {
    let relief = &body.relief;
    let data = BodyData {
        points: relief.points.iter().flatten().map(|value| rounded(*value, 2)).collect(),
        corners: body
            .corners
            .iter()
            .flat_map(|corner| [rounded(corner.node, 2), rounded(corner.lever, 2)])
            .collect(),
        triangles: relief.triangles.iter().flatten().copied().collect(),
        borders: relief
            .borders
            .iter()
            .map(|edges| u8::from(edges[0]) + 2 * u8::from(edges[1]) + 4 * u8::from(edges[2]))
            .collect(),
        width: body.view.width,
        height: rounded(body.view.page_height(), 2),
        scale: significant(body.view.scale(), 6),
        origin: body.view.origin().map(|value| rounded(value, 2)),
        elevation: ReliefView::elevation().map(|value| rounded(value, 6)),
        half: 0.5 * body.view.thickness,
    };
    // numbers alone: writing cannot fail
    serde_json::to_value(data).unwrap_or_default()
}

/// JSON that can stand in a page: no tag can end it.
pub(super) fn in_page(value: &Value) -> String {
    value.to_string().replace('<', "\\u003c").replace('\u{2028}', "\\u2028").replace('\u{2029}', "\\u2029")
}
