//! A chart laid out on the page: margins, grid, curves, names.

use super::axis::Scale;
use super::error::PlotError;
use super::font;
use super::labels::{Name, Obstacles, place};
use super::line_chart::{LineChart, Shade};
use super::scene::{Anchor, Frame, Ink, Point, Scene, Shape, dashes, distance, thinned};
use crate::numeric::{Quantity, Units};

/// Size of a picture, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageSize {
    /// from left to right
    pub width: f64,
    /// from top to bottom
    pub height: f64,
}

impl Default for PageSize {
    /// 720 points of a screen are 190 mm in print at 96 to the inch.
    fn default() -> Self {
        Self { width: 720.0, height: 450.0 }
    }
}

/// A chart on its page, with the mapping of its values.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Composed {
    pub scene: Scene,
    /// where the curves are drawn
    pub plot: Frame,
    /// shown values at the frame's left and right
    pub x: [f64; 2],
    /// shown values at the frame's bottom and top
    pub y: [f64; 2],
}

/// Free edge around everything.
const EDGE: f64 = 16.0;

const TITLE_EM: f64 = 16.0;
const TEXT_EM: f64 = 13.0;
const NUMBER_EM: f64 = 12.0;

const TEXT: Ink = Ink::solid(34, 34, 38);
const QUIET: Ink = Ink::solid(95, 95, 100);
const GRID: Ink = Ink::solid(224, 224, 228);
const AXIS: Ink = Ink::solid(120, 120, 125);
const PAPER: Ink = Ink::solid(255, 255, 255);
const MARK: Ink = Ink::solid(20, 20, 22);
const NEUTRAL: Ink = Ink { rgb: (0, 0, 0), cover: 0.11 };
const TINT: Ink = Ink { rgb: (0, 90, 160), cover: 0.20 };

const TINT_NAME: Ink = Ink::solid(70, 110, 150);

/// Inks of the lines, in order. Dark blue, vermilion, green and purple differ in lightness as well, and after Okabe
/// and Ito (2008) stay apart for colour-blind readers; the dash patterns do for a grey print.
const LINES: [(Ink, &[f64]); 4] = [
    (Ink::solid(0, 82, 150), &[]),
    (Ink::solid(200, 80, 0), &[9.0, 5.0]),
    (Ink::solid(0, 128, 96), &[2.0, 4.0]),
    (Ink::solid(150, 70, 130), &[12.0, 4.0, 2.0, 4.0]),
];

const LINE_WIDTH: f64 = 2.2;
const DOT_RADIUS: f64 = 3.2;
/// Points closer than this are not drawn one by one: a line under them would be hidden.
const DOT_SPACING: f64 = 15.0;
/// Curve points closer than this add no detail.
const PATH_SPACING: f64 = 0.7;
const SEAT_TICK: f64 = 9.0;

/// The chart as shapes on a page of the usual size.
pub(super) fn compose(chart: &LineChart, units: Units) -> Result<Scene, PlotError> {
    Ok(compose_on(chart, units, PageSize::default())?.scene)
}

/// The chart as shapes on a page.
pub(super) fn compose_on(chart: &LineChart, units: Units, page: PageSize) -> Result<Composed, PlotError> {
    chart.check()?;
    let factors = (chart.x_axis.quantity.factor(units), chart.y_axis.quantity.factor(units));
    let (x, y, plot) = scales(chart, factors, page)?;
    let to_page = |at: f64, value: f64| Point {
        x: plot.left + x.share(at * factors.0) * (plot.right - plot.left),
        y: plot.bottom - y.share(value * factors.1) * (plot.bottom - plot.top),
    };
    let path = |at: &[f64], values: &[f64], spacing: f64| -> Vec<Point> {
        let whole: Vec<Point> = at.iter().zip(values).map(|(at, value)| to_page(*at, *value)).collect();
        thinned(&whole, spacing)
    };

    let title = font::fitted(&chart.title, TITLE_EM, page.width - 2.0 * EDGE)?;
    let mut shapes = vec![Shape::Text {
        text: title.clone(),
        place: Point { x: EDGE, y: EDGE + 0.8 * TITLE_EM },
        em: TITLE_EM,
        anchor: Anchor::Start,
        ink: TEXT,
    }];
    let mut obstacles = Obstacles::within(plot.grown(-2.0));

    axes(chart, units, &x, &y, plot, page, &mut shapes, &mut obstacles)?;

    let mut names: Vec<Name> = Vec::new();
    for band in &chart.bands {
        let low = path(&band.x, &band.low, PATH_SPACING);
        let high = path(&band.x, &band.high, PATH_SPACING);
        obstacles.edges.extend([low.clone(), high.clone()]);
        let (ink, name_ink) = match band.shade {
            Shade::Neutral => (NEUTRAL, QUIET),
            Shade::Tinted => (TINT, TINT_NAME),
        };
        names.push(Name::of_band(&band.label, &low, &high, name_ink));
        if high.is_empty() {
            continue;
        }
        shapes.push(Shape::Area { outline: high.into_iter().chain(low.into_iter().rev()).collect(), ink });
    }
    // the first line is the one that counts: it is drawn over the others
    for (index, line) in chart.lines.iter().enumerate().rev() {
        let points = path(&line.x, &line.y, PATH_SPACING);
        let (ink, pattern) = LINES[index % LINES.len()];
        if let [single] = points[..] {
            shapes.push(Shape::Dot { centre: single, radius: DOT_RADIUS, ink });
        }
        for dash in dashes(&points, pattern).into_iter().filter(|dash| dash.len() > 1) {
            shapes.push(Shape::Stroke { path: dash, width: LINE_WIDTH, ink });
        }
        names.push(Name::of_line(&line.label, points.clone(), obstacles.lines.len(), ink));
        obstacles.lines.push(points);
    }
    for marks in &chart.marks {
        let points = path(&marks.x, &marks.y, DOT_SPACING);
        for &centre in &points {
            // the white ring keeps the point apart from a line that runs through it
            shapes.push(Shape::Dot { centre, radius: DOT_RADIUS + 1.3, ink: PAPER });
            shapes.push(Shape::Dot { centre, radius: DOT_RADIUS, ink: MARK });
        }
        obstacles.dots.extend(points.iter().copied());
        names.push(Name::of_points(&marks.label, points, MARK));
    }
    seat_ticks(chart, plot, |at| to_page(at, 0.0).x, &mut shapes, &mut obstacles)?;

    // the hardest to place go first: points and lines before bands
    names.reverse();
    for name in &names {
        shapes.extend(place(name, &mut obstacles, TEXT_EM)?);
    }
    let scene = Scene { width: page.width, height: page.height, title, shapes };
    Ok(Composed { scene, plot, x: [x.low, x.high], y: [y.low, y.high] })
}

/// Both scales and the frame of the plot, so that every number finds room.
fn scales(
    chart: &LineChart,
    factors: (f64, f64),
    page: PageSize,
) -> Result<(Scale, Scale, Frame), PlotError> {
    let top = EDGE + TITLE_EM + 14.0 + TEXT_EM + 12.0;
    let bottom = page.height - EDGE - TEXT_EM - 10.0 - NUMBER_EM - 8.0;
    let (mut at, mut values) = (Vec::new(), Vec::new());
    for band in &chart.bands {
        at.extend(&band.x);
        values.extend(band.low.iter().chain(&band.high));
    }
    for (x, y) in chart.lines.iter().map(|l| (&l.x, &l.y)).chain(chart.marks.iter().map(|m| (&m.x, &m.y))) {
        at.extend(x);
        values.extend(y);
    }
    let range = |values: &[f64], factor: f64| {
        let ends = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), value| {
            (least.min(*value), most.max(*value))
        });
        (ends.0 * factor, ends.1 * factor)
    };
    let (least, mut most) = range(&values, factors.1);
    if chart.y_axis.quantity == Quantity::Share && chart.y_axis.from_zero {
        // a share is judged against the whole
        most = most.max(1.0);
    }
    let y = Scale::over(least, most, chart.y_axis.from_zero, true, 7);
    let widest = |scale: &Scale| -> Result<f64, PlotError> {
        scale
            .ticks
            .iter()
            .try_fold(0.0_f64, |widest, tick| Ok(widest.max(font::width(&scale.number(*tick), NUMBER_EM)?)))
    };
    let left = EDGE + widest(&y)? + 10.0;
    let (least, most) = range(&at, factors.0);
    let mut ticks_max = 10;
    loop {
        let x = Scale::over(least, most, chart.x_axis.from_zero, false, ticks_max);
        let number = widest(&x)?;
        let right = page.width - EDGE - 0.5 * number.max(10.0);
        let spacing = (right - left) / x.ticks.len().max(1) as f64;
        if spacing > number + 18.0 || ticks_max == 1 {
            return Ok((x, y, Frame { left, top, right, bottom }));
        }
        ticks_max -= 1;
    }
}

/// Grid, axis line, numbers and axis names.
fn axes(
    chart: &LineChart,
    units: Units,
    x: &Scale,
    y: &Scale,
    plot: Frame,
    page: PageSize,
    shapes: &mut Vec<Shape>,
    obstacles: &mut Obstacles,
) -> Result<(), PlotError> {
    let number = |text: String, place: Point, anchor: Anchor| Shape::Text {
        text,
        place,
        em: NUMBER_EM,
        anchor,
        ink: QUIET,
    };
    for &tick in &y.ticks {
        let height = plot.bottom - y.share(tick) * (plot.bottom - plot.top);
        let path = vec![Point { x: plot.left, y: height }, Point { x: plot.right, y: height }];
        obstacles.grid.push(height);
        shapes.push(Shape::Stroke { path, width: 1.0, ink: GRID });
        let place = Point { x: plot.left - 8.0, y: height + 0.36 * NUMBER_EM };
        shapes.push(number(y.number(tick), place, Anchor::End));
    }
    let base = vec![Point { x: plot.left, y: plot.bottom }, Point { x: plot.right, y: plot.bottom }];
    shapes.push(Shape::Stroke { path: base, width: 1.0, ink: AXIS });
    for &tick in &x.ticks {
        let at = plot.left + x.share(tick) * (plot.right - plot.left);
        let path = vec![Point { x: at, y: plot.bottom }, Point { x: at, y: plot.bottom + 5.0 }];
        shapes.push(Shape::Stroke { path, width: 1.0, ink: AXIS });
        let place = Point { x: at, y: plot.bottom + 8.0 + 0.85 * NUMBER_EM };
        shapes.push(number(x.number(tick), place, Anchor::Middle));
    }
    let name = |label: &str, unit: String, available: f64| -> Result<String, PlotError> {
        let rest = font::width(&unit, TEXT_EM)?;
        Ok(font::fitted(label, TEXT_EM, available - rest)? + &unit)
    };
    let available = plot.right - EDGE;
    let y_name = name(&chart.y_axis.label, y.unit(chart.y_axis.quantity.unit(units)), available)?;
    let x_name = name(&chart.x_axis.label, x.unit(chart.x_axis.quantity.unit(units)), available)?;
    shapes.push(Shape::Text {
        text: y_name,
        place: Point { x: EDGE, y: plot.top - 16.0 },
        em: TEXT_EM,
        anchor: Anchor::Start,
        ink: TEXT,
    });
    shapes.push(Shape::Text {
        text: x_name,
        place: Point { x: plot.right, y: page.height - EDGE - 0.24 * TEXT_EM },
        em: TEXT_EM,
        anchor: Anchor::End,
        ink: TEXT,
    });
    Ok(())
}

/// Short ticks on the axis with one name for all.
fn seat_ticks(
    chart: &LineChart,
    plot: Frame,
    to_page: impl Fn(f64) -> f64,
    shapes: &mut Vec<Shape>,
    obstacles: &mut Obstacles,
) -> Result<(), PlotError> {
    let feet: Vec<Point> = chart
        .ticks
        .x
        .iter()
        .map(|at| Point { x: to_page(*at), y: plot.bottom })
        .filter(|foot| (plot.left - 0.5..=plot.right + 0.5).contains(&foot.x))
        .collect();
    let mut last: Option<Point> = None;
    for &foot in &feet {
        if last.is_some_and(|last| distance(last, foot) < 2.0) {
            continue;
        }
        last = Some(foot);
        let path = vec![foot, Point { x: foot.x, y: foot.y - SEAT_TICK }];
        obstacles.lines.push(path.clone());
        shapes.push(Shape::Stroke { path, width: 1.6, ink: TEXT });
    }
    let heads = feet.iter().map(|foot| Point { x: foot.x, y: foot.y - SEAT_TICK }).collect();
    let name = Name::of_points(&chart.ticks.label, heads, QUIET);
    shapes.extend(place(&name, obstacles, TEXT_EM)?);
    Ok(())
}

#[cfg(test)]
#[path = "page_tests.rs"]
mod tests;
