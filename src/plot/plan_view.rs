//! The disc seen from above, with its main sizes.

use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::scene::{Anchor, Ink, Point, Scene, Shape};
use crate::numeric::{Quantity, Units};

const EDGE: f64 = 10.0;
const NUMBER_EM: f64 = 12.0;
const STEEL: Ink = Ink::solid(206, 211, 218);
const PAPER: Ink = Ink::solid(255, 255, 255);
const LINE: Ink = Ink::solid(40, 43, 50);
const QUIET: Ink = Ink::solid(95, 95, 100);

/// Lengths a scale bar may have (in the units shown).
const BARS: [f64; 10] = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];

/// A disc as polygons. mm, y up.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PlanView {
    /// the outside
    pub outside: Vec<[f64; 2]>,
    /// bore and slots
    pub holes: Vec<Vec<[f64; 2]>>,
    /// lines to draw on the sheet without cutting it out, as slots that are one kerf wide
    pub lines: Vec<Vec<[f64; 2]>>,
    /// words below the drawing
    pub notes: Vec<String>,
}

/// A plan view with its place on the page, so that something can be drawn on it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanPicture {
    /// the picture
    pub picture: Picture,
    /// where the disc's centre lies (points)
    pub origin: [f64; 2],
    /// points to a millimetre
    pub scale: f64,
}

impl PlanView {
    fn radius(&self) -> f64 {
        self.outside.iter().fold(1e-3, |radius: f64, [x, y]| radius.max(x.abs()).max(y.abs()))
    }

    /// Draws it on a page `width` points wide.
    pub fn picture(&self, width: f64, units: Units) -> Result<PlanPicture, PlotError> {
        let radius = self.radius();
        let scale = (width - 2.0 * EDGE) / (2.0 * radius);
        let origin = [0.5 * width, 0.5 * width];
        let on_page = |outline: &[[f64; 2]]| -> Vec<Point> {
            outline
                .iter()
                .map(|[x, y]| Point { x: origin[0] + scale * x, y: origin[1] - scale * y })
                .collect()
        };
        let closed = |mut path: Vec<Point>| {
            path.extend(path.first().copied());
            path
        };
        let outside = on_page(&self.outside);
        let mut shapes = vec![
            Shape::Area { outline: outside.clone(), ink: STEEL },
            Shape::Stroke { path: closed(outside), width: 1.0, ink: LINE },
        ];
        for hole in &self.holes {
            let outline = on_page(hole);
            shapes.push(Shape::Area { outline: outline.clone(), ink: PAPER });
            shapes.push(Shape::Stroke { path: closed(outline), width: 1.0, ink: LINE });
        }
        for line in &self.lines {
            shapes.push(Shape::Stroke { path: on_page(line), width: 1.4, ink: LINE });
        }
        // axes of the disc
        let reach = scale * radius + 0.5 * EDGE;
        for [dx, dy] in [[1.0, 0.0], [0.0, 1.0]] {
            for (from, to) in [(-reach, -0.96 * reach), (0.96 * reach, reach), (-4.0, 4.0)] {
                let at = |s: f64| Point { x: origin[0] + s * dx, y: origin[1] + s * dy };
                shapes.push(Shape::Stroke { path: vec![at(from), at(to)], width: 0.7, ink: QUIET });
            }
        }
        let mut baseline = width + NUMBER_EM + 2.0;
        shapes.extend(scale_bar(scale, width, baseline, units));
        for note in &self.notes {
            baseline += 1.5 * NUMBER_EM;
            shapes.push(Shape::Text {
                text: font::fitted(note, NUMBER_EM, width - 2.0 * EDGE)?,
                place: Point { x: EDGE, y: baseline },
                em: NUMBER_EM,
                anchor: Anchor::Start,
                ink: QUIET,
            });
        }
        let height = baseline + EDGE;
        let scene = Scene { width, height, title: "Plan view of the blank, to scale".to_owned(), shapes };
        Ok(PlanPicture { picture: Picture(scene), origin, scale })
    }
}

/// A bar of a round length with its length beside it.
pub(super) fn scale_bar(scale: f64, width: f64, baseline: f64, units: Units) -> Vec<Shape> {
    let factor = Quantity::Length.factor(units);
    let bar = BARS.into_iter().rev().find(|bar| bar / factor * scale < 0.3 * width).unwrap_or(BARS[0]);
    let long = bar / factor * scale;
    let (y, left) = (baseline - 0.35 * NUMBER_EM, EDGE);
    let stroke = |from: [f64; 2], to: [f64; 2]| Shape::Stroke {
        path: vec![Point { x: from[0], y: from[1] }, Point { x: to[0], y: to[1] }],
        width: 1.0,
        ink: LINE,
    };
    vec![
        stroke([left, y], [left + long, y]),
        stroke([left, y - 3.0], [left, y + 3.0]),
        stroke([left + long, y - 3.0], [left + long, y + 3.0]),
        Shape::Text {
            text: format!("{bar} {}", Quantity::Length.unit(units)),
            place: Point { x: left + long + 7.0, y: baseline },
            em: NUMBER_EM,
            anchor: Anchor::Start,
            ink: QUIET,
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_bar_is_as_long_as_it_says() {
        let square = vec![[-20.0, -20.0], [20.0, -20.0], [20.0, 20.0], [-20.0, 20.0]];
        let view = PlanView { outside: square, ..PlanView::default() };
        for (units, factor) in [(Units::MillimetreNewton, 1.0), (Units::InchPound, 1.0 / 25.4)] {
            let drawn = view.picture(200.0, units).unwrap();
            let bar = drawn.picture.0.shapes.iter().find_map(|shape| match shape {
                Shape::Text { text, place, .. } => Some((text.clone(), place.x - 7.0 - EDGE)),
                _ => None,
            });
            let (text, long) = bar.unwrap();
            let said: f64 = text.split(' ').next().unwrap().parse().unwrap();
            assert!((long * factor / drawn.scale - said).abs() < 1e-9, "{text}: {long}");
        }
    }
}
