//! The ends of a slot close up, with the stress there.

use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::plan_view::PlanView;
use super::scene::{Anchor, Ink, Point, Scene, Shape};

const EDGE: f64 = 10.0;
const GAP: f64 = 14.0;
const NUMBER_EM: f64 = 12.0;
const STEEL: Ink = Ink::solid(206, 211, 218);
const PAPER: Ink = Ink::solid(255, 255, 255);
const LINE: Ink = Ink::solid(40, 43, 50);
const QUIET: Ink = Ink::solid(95, 95, 100);
const HOT: Ink = Ink::solid(200, 40, 30);
/// Points of the arc that marks the place of the peak.
const ARC: usize = 24;

/// One end of a slot. mm, y up.
#[derive(Debug, Clone, PartialEq)]
pub struct RootEnd {
    /// centre of the round
    pub centre: [f64; 2],
    /// radius of the round
    pub radius: f64,
    /// unit vector from the centre line to the flank on the arm's side
    pub to_arm: [f64; 2],
    /// unit vector along the slot, out of its end
    pub outwards: [f64; 2],
    /// half the width of what is shown around the centre
    pub reach: f64,
    /// name of the root
    pub title: String,
    /// lines below the picture
    pub notes: Vec<String>,
}

/// The blank around the ends of one slot.
#[derive(Debug, Clone, PartialEq)]
pub struct RootView<'a> {
    /// the blank
    pub plan: &'a PlanView,
    /// the ends shown, side by side
    pub ends: Vec<RootEnd>,
    /// where the peak lies on the round, from and to (degrees from the arm's flank over the tip)
    pub peak_degrees: [f64; 2],
}

impl RootView<'_> {
    /// Draws it on a page `width` points wide.
    pub fn picture(&self, width: f64) -> Result<Picture, PlotError> {
        let count = self.ends.len().max(1) as f64;
        let side = (width - 2.0 * EDGE - GAP * (count - 1.0)) / count;
        let mut shapes = Vec::new();
        let mut height: f64 = 0.0;
        for (k, end) in self.ends.iter().enumerate() {
            let left = EDGE + k as f64 * (side + GAP);
            let title = font::fitted(&end.title, NUMBER_EM, side)?;
            let mut baseline = EDGE + NUMBER_EM;
            shapes.push(text(title, left, baseline, LINE));
            let top = baseline + 6.0;
            self.window(end, [left, top], side, &mut shapes);
            baseline = top + side;
            for note in &end.notes {
                baseline += 1.4 * NUMBER_EM;
                shapes.push(text(font::fitted(note, NUMBER_EM, side)?, left, baseline, QUIET));
            }
            height = height.max(baseline + EDGE);
        }
        let title = "Ends of a slot, close up, with the place of the largest stress".to_owned();
        Ok(Picture(Scene { width, height, title, shapes }))
    }

    fn window(&self, end: &RootEnd, corner: [f64; 2], side: f64, shapes: &mut Vec<Shape>) {
        let scale = 0.5 * side / end.reach;
        let at = |point: [f64; 2]| Point {
            x: corner[0] + 0.5 * side + scale * (point[0] - end.centre[0]),
            y: corner[1] + 0.5 * side - scale * (point[1] - end.centre[1]),
        };
        let area = |outline: &[[f64; 2]], ink: Ink, shapes: &mut Vec<Shape>| {
            let seen = clipped(outline, end.centre, end.reach);
            if seen.len() > 2 {
                shapes.push(Shape::Area { outline: seen.iter().map(|point| at(*point)).collect(), ink });
            }
        };
        area(&self.plan.outside, STEEL, shapes);
        for hole in &self.plan.holes {
            area(hole, PAPER, shapes);
        }
        for line in self.plan.lines.iter().chain(&self.plan.holes).chain([&self.plan.outside]) {
            let closed = line.iter().zip(line.iter().skip(1).chain(line.first()));
            for (from, to) in closed {
                if let Some([from, to]) = clipped_line(*from, *to, end.centre, end.reach) {
                    shapes.push(Shape::Stroke { path: vec![at(from), at(to)], width: 1.0, ink: LINE });
                }
            }
        }
        let on_round = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            [0, 1].map(|i| end.centre[i] + end.radius * (cos * end.to_arm[i] + sin * end.outwards[i]))
        };
        let [from, to] = self.peak_degrees;
        let path = (0..=ARC).map(|k| at(on_round(from + (to - from) * k as f64 / ARC as f64))).collect();
        shapes.push(Shape::Stroke { path, width: 4.0, ink: HOT });
        let frame = [[0.0, 0.0], [side, 0.0], [side, side], [0.0, side], [0.0, 0.0]];
        let path = frame.iter().map(|[x, y]| Point { x: corner[0] + x, y: corner[1] + y }).collect();
        shapes.push(Shape::Stroke { path, width: 0.7, ink: QUIET });
    }
}

fn text(text: String, x: f64, y: f64, ink: Ink) -> Shape {
    Shape::Text { text, place: Point { x, y }, em: NUMBER_EM, anchor: Anchor::Start, ink }
}

/// The four sides of an upright square: axis, sign, limit.
fn sides(centre: [f64; 2], reach: f64) -> [(usize, f64, f64); 4] {
    [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)].map(|(axis, sign)| (axis, sign, sign * centre[axis] + reach))
}

/// A polygon cut off at an upright square (Sutherland & Hodgman 1974).
fn clipped(outline: &[[f64; 2]], centre: [f64; 2], reach: f64) -> Vec<[f64; 2]> {
    let mut points = outline.to_vec();
    for (axis, sign, limit) in sides(centre, reach) {
        let room = |point: [f64; 2]| limit - sign * point[axis];
        let mut kept = Vec::with_capacity(points.len() + 4);
        for (i, &to) in points.iter().enumerate() {
            let from = points[if i == 0 { points.len() - 1 } else { i - 1 }];
            let (a, b) = (room(from), room(to));
            if (a < 0.0) != (b < 0.0) {
                let share = a / (a - b);
                kept.push([0, 1].map(|k| from[k] + share * (to[k] - from[k])));
            }
            if b >= 0.0 {
                kept.push(to);
            }
        }
        points = kept;
    }
    points
}

/// A line cut off at an upright square; none where it lies outside (Liang & Barsky 1984).
fn clipped_line(from: [f64; 2], to: [f64; 2], centre: [f64; 2], reach: f64) -> Option<[[f64; 2]; 2]> {
    let (mut start, mut end) = (0.0_f64, 1.0_f64);
    for (axis, sign, limit) in sides(centre, reach) {
        let (a, b) = (limit - sign * from[axis], limit - sign * to[axis]);
        if a < 0.0 && b < 0.0 {
            return None;
        }
        if a < 0.0 {
            start = start.max(a / (a - b));
        } else if b < 0.0 {
            end = end.min(a / (a - b));
        }
    }
    let at = |share: f64| [0, 1].map(|k| from[k] + share * (to[k] - from[k]));
    (start < end).then(|| [at(start), at(end)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polygons_and_lines_end_at_the_window() {
        let square = [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]];
        let seen = clipped(&square, [0.0, 0.0], 1.0);
        let area: f64 = (0..seen.len())
            .map(|i| {
                let (a, b) = (seen[i], seen[(i + 1) % seen.len()]);
                0.5 * (a[0] * b[1] - a[1] * b[0])
            })
            .sum();
        assert!((area - 1.0).abs() < 1e-12, "{seen:?}");
        assert!(clipped(&square, [9.0, 9.0], 1.0).is_empty());
        let line = clipped_line([-5.0, 0.5], [5.0, 0.5], [0.0, 0.0], 1.0).unwrap();
        assert_eq!(line, [[-1.0, 0.5], [1.0, 0.5]]);
        assert_eq!(clipped_line([-5.0, 3.0], [5.0, 3.0], [0.0, 0.0], 1.0), None);
    }

    #[test]
    fn the_mark_lies_on_the_round() {
        let plan = PlanView {
            outside: vec![[-9.0, -9.0], [9.0, -9.0], [9.0, 9.0], [-9.0, 9.0]],
            ..PlanView::default()
        };
        let end = RootEnd {
            centre: [1.0, 2.0],
            radius: 0.7,
            to_arm: [0.0, -1.0],
            outwards: [1.0, 0.0],
            reach: 3.5,
            title: "slot end at the rim".to_owned(),
            notes: vec!["400 MPa".to_owned()],
        };
        let view = RootView { plan: &plan, ends: vec![end], peak_degrees: [50.0, 95.0] };
        let picture = view.picture(240.0).unwrap();
        let mark = picture.0.shapes.iter().find_map(|shape| match shape {
            Shape::Stroke { path, ink, .. } if *ink == HOT => Some(path.clone()),
            _ => None,
        });
        // the window is 220 points wide and shows 7 mm about its middle
        let (scale, middle) = (220.0 / 7.0, [120.0, 28.0 + 110.0]);
        for point in mark.unwrap() {
            let away = (point.x - middle[0]).hypot(point.y - middle[1]) / scale;
            assert!((away - 0.7).abs() < 1e-9, "{away}");
            // towards the arm or beside it, never on the ring's side
            assert!(point.y > middle[1] - 0.1 * 0.7 * scale);
        }
    }
}
