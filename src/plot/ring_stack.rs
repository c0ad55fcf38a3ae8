//! A former: the rings it is stacked from, or the turned one where no stack makes it, seen from above and cut through.

use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::plan_view::scale_bar;
use super::scene::{Anchor, Ink, Point, Scene, Shape};
use crate::numeric::{Quantity, Units};

/// Between columns: spaces that a page does not run together.
const GAP: &str = "\u{a0}\u{a0}\u{a0}";
const EDGE: f64 = 12.0;
const NUMBER_EM: f64 = 12.0;
const LINE: Ink = Ink::solid(40, 43, 50);
const QUIET: Ink = Ink::solid(95, 95, 100);
const PAPER: Ink = Ink::solid(255, 255, 255);
const BASE: Ink = Ink::solid(226, 224, 218);
const EVEN: Ink = Ink::solid(206, 211, 218);
const ODD: Ink = Ink::solid(178, 186, 196);
/// Edges of a circle's polygon.
const CIRCLE: usize = 120;
/// Thickness of the base plate in the picture (points).
const BASE_DEPTH: f64 = 7.0;

/// One ring. mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StackRing {
    /// outer radius
    pub outer_radius: f64,
    /// height of its upper face above the base
    pub top: f64,
}

/// Rings on a base plate. mm.
#[derive(Debug, Clone, PartialEq)]
pub struct RingStack {
    /// from below
    pub rings: Vec<StackRing>,
    /// radius and height of the turned former, from its foot to its top: drawn where there are no rings
    pub turned: Vec<[f64; 2]>,
    /// radius of the hole through all rings; 0 in a stack without a hole
    pub bore_radius: f64,
    /// radius of the base plate
    pub base_radius: f64,
}

impl RingStack {
    /// Draws the stack on a page `width` points wide: from above, and below it in section with the sizes of the rings.
    pub fn picture(&self, width: f64, units: Units) -> Result<Picture, PlotError> {
        let column = 0.42 * width;
        let scale = (width - column - 2.0 * EDGE) / (2.0 * self.base_radius);
        let axis = EDGE + scale * self.base_radius;
        let mut shapes = Vec::new();
        let middle = [axis, EDGE + scale * self.base_radius];
        shapes.extend(disc(middle, scale * self.base_radius, BASE));
        for (index, ring) in self.rings.iter().enumerate() {
            let ink = if index % 2 == 0 { ODD } else { EVEN };
            shapes.extend(disc(middle, scale * ring.outer_radius, ink));
        }
        let turned = if self.rings.is_empty() { self.turned.as_slice() } else { &[] };
        for (end, ink) in [(turned.first(), ODD), (turned.last(), EVEN)] {
            shapes.extend(end.into_iter().flat_map(|[radius, _]| disc(middle, scale * radius, ink)));
        }
        if self.bore_radius > 0.0 {
            shapes.extend(disc(middle, scale * self.bore_radius, PAPER));
        }
        let top = turned.last().map_or(0.0, |[_, height]| *height);
        let highest = self.rings.last().map_or(top, |ring| ring.top);
        let base = middle[1] + scale * (self.base_radius + highest) + 2.0 * EDGE;
        shapes.extend(self.cut(axis, base, scale));
        shapes.extend(self.sizes(width - column + EDGE, column - 2.0 * EDGE, base, units)?);
        let baseline = base + BASE_DEPTH + 2.0 * NUMBER_EM;
        shapes.extend(scale_bar(scale, width - column, baseline, units));
        let scene = Scene {
            width,
            height: baseline + EDGE,
            title: if turned.is_empty() {
                "Stepped former: rings to cut from shim or sheet, or to turn".to_owned()
            } else {
                "Former to turn".to_owned()
            },
            shapes,
        };
        Ok(Picture(scene))
    }

    /// Base and rings cut through the axis.
    fn cut(&self, axis: f64, base: f64, scale: f64) -> Vec<Shape> {
        let bore = scale * self.bore_radius;
        let mut shapes = Vec::new();
        let mut bar = |from: f64, to: f64, low: f64, high: f64, ink: Ink| {
            let at = |x: f64, y: f64| Point { x: axis + x, y };
            let outline = vec![at(from, low), at(to, low), at(to, high), at(from, high)];
            let mut edge = outline.clone();
            edge.push(at(from, low));
            shapes.push(Shape::Area { outline, ink });
            shapes.push(Shape::Stroke { path: edge, width: 0.8, ink: LINE });
        };
        let reach = scale * self.base_radius;
        for (from, to) in [(-reach, -bore), (bore, reach)] {
            bar(from, to, base + BASE_DEPTH, base, BASE);
        }
        if self.rings.is_empty() && !self.turned.is_empty() {
            shapes.extend(
                [-1.0, 1.0].map(|side| self.turned_half(side, axis, base, scale)).into_iter().flatten(),
            );
            return shapes;
        }
        let mut low = 0.0;
        for (index, ring) in self.rings.iter().enumerate() {
            let ink = if index % 2 == 0 { ODD } else { EVEN };
            let reach = scale * ring.outer_radius;
            for (from, to) in [(-reach, -bore), (bore, reach)] {
                bar(from, to, base - scale * low, base - scale * ring.top, ink);
            }
            low = ring.top;
        }
        shapes
    }

    /// One half of the turned former in section.
    fn turned_half(&self, side: f64, axis: f64, base: f64, scale: f64) -> [Shape; 2] {
        let at = |[radius, height]: [f64; 2]| Point {
            x: axis + side * scale * radius.max(self.bore_radius),
            y: base - scale * height,
        };
        let top = self.turned.last().map_or(0.0, |[_, height]| *height);
        let foot = self.turned.first().map_or(0.0, |[radius, _]| *radius);
        let mut outline = vec![at([foot, 0.0])];
        outline.extend(self.turned.iter().map(|place| at(*place)));
        outline.extend([at([self.bore_radius, top]), at([self.bore_radius, 0.0])]);
        let mut edge = outline.clone();
        edge.push(at([foot, 0.0]));
        [Shape::Area { outline, ink: EVEN }, Shape::Stroke { path: edge, width: 0.8, ink: LINE }]
    }

    /// The rings' sizes beside them, as many as find room, with a reference to the table for the rest.
    fn sizes(&self, left: f64, room: f64, base: f64, units: Units) -> Result<Vec<Shape>, PlotError> {
        let shown = |value: f64| format!("{:.*}", digits(units), value * Quantity::Length.factor(units));
        let unit = Quantity::Length.unit(units);
        let line = 1.45 * NUMBER_EM;
        // counted in lines of text on a page: a handful
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let places = (((base - EDGE) / line).floor() as usize).saturating_sub(2).max(2);
        let mut lines = vec![format!("ring{GAP}Ø {unit}{GAP}top {unit}")];
        let count = self.rings.len();
        let left_out = if count > places { count - (places - 1) } else { 0 };
        for (index, ring) in self.rings.iter().enumerate().rev().take(count - left_out) {
            lines.push(format!(
                "{}{GAP}Ø {}{GAP}{}",
                index + 1,
                shown(2.0 * ring.outer_radius),
                shown(ring.top)
            ));
        }
        if left_out > 0 {
            lines.push(format!("and {left_out} more, see the table"));
        }
        if let (0, Some([foot, _]), Some([top, height])) = (count, self.turned.first(), self.turned.last()) {
            lines = vec![
                format!("former to turn, {unit}"),
                format!("foot{GAP}Ø {}", shown(2.0 * foot)),
                format!("top{GAP}Ø {}", shown(2.0 * top)),
                format!("height{GAP}{}", shown(*height)),
            ];
        }
        if self.bore_radius > 0.0 {
            lines.push(format!("hole in all{GAP}Ø {}", shown(2.0 * self.bore_radius)));
        }
        let mut shapes = Vec::new();
        for (index, text) in lines.iter().enumerate() {
            shapes.push(Shape::Text {
                text: font::fitted(text, NUMBER_EM, room)?,
                place: Point { x: left, y: EDGE + NUMBER_EM + line * index as f64 },
                em: NUMBER_EM,
                anchor: Anchor::Start,
                ink: if index == 0 { QUIET } else { LINE },
            });
        }
        Ok(shapes)
    }
}

/// Decimals of a length.
fn digits(units: Units) -> usize {
    match units {
        Units::MillimetreNewton => 2,
        Units::InchPound => 3,
    }
}

fn disc(middle: [f64; 2], radius: f64, ink: Ink) -> Vec<Shape> {
    let mut outline: Vec<Point> = (0..CIRCLE)
        .map(|k| {
            let angle = std::f64::consts::TAU * k as f64 / CIRCLE as f64;
            Point { x: middle[0] + radius * angle.cos(), y: middle[1] + radius * angle.sin() }
        })
        .collect();
    let area = Shape::Area { outline: outline.clone(), ink };
    outline.extend(outline.first().copied());
    vec![area, Shape::Stroke { path: outline, width: 0.8, ink: LINE }]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_rings_keep_to_the_page_and_say_what_is_left_out() {
        for count in [0, 1, 3, 60] {
            let rings = (0..count)
                .map(|k| StackRing { outer_radius: 40.0 - 0.5 * f64::from(k), top: 0.2 * f64::from(k + 1) })
                .collect();
            let turned = vec![[40.0, 0.0], [30.0, 3.0], [12.0, 9.0]];
            let stack = RingStack { rings, turned, bore_radius: 4.0, base_radius: 45.0 };
            let picture = stack.picture(460.0, Units::default()).unwrap();
            let mut words = Vec::new();
            for shape in &picture.0.shapes {
                if let Shape::Text { text, place, .. } = shape {
                    assert!(place.y < picture.0.height && place.x < picture.0.width, "{count}: {text}");
                    words.push(text.clone());
                }
            }
            let all = words.join(" | ");
            assert_eq!(all.contains("more, see the table"), count == 60, "{count} rings: {all}");
            assert!(all.contains(&format!("hole in all{GAP}Ø 8.00")), "{all}");
            // without a stack the turned former stands in its place, as high as it is
            assert_eq!(all.contains(&format!("height{GAP}9.00")), count == 0, "{count} rings: {all}");
            let areas = picture.0.shapes.iter().filter(|shape| matches!(shape, Shape::Area { .. })).count();
            assert!(
                count > 0 || areas == 1 + 2 + 1 + 2 + 2,
                "plan, foot, top, bore, base and section: {areas}"
            );
        }
    }
}
