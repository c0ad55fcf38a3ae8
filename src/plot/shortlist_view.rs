//! Springs to choose from: each a small outline at its outside diameter and its share of good parts.

use super::axis::Scale;
use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::plan_view::PlanView;
use super::scene::{Anchor, Ink, Point, Scene, Shape};
use crate::numeric::{Quantity, Units};

/// Margins of the field: left, top, right, bottom (points).
const MARGINS: [f64; 4] = [62.0, 40.0, 24.0, 54.0];
const TITLE_EM: f64 = 15.0;
const TEXT_EM: f64 = 12.0;
/// Diameter of the largest outline (points).
const LARGEST: f64 = 84.0;
/// Height over width of the picture.
const ASPECT: f64 = 0.62;
const TEXT: Ink = Ink::solid(34, 34, 38);
const QUIET: Ink = Ink::solid(95, 95, 100);
const GRID: Ink = Ink::solid(226, 228, 231);
const STEEL: Ink = Ink::solid(206, 211, 218);
const CHOSEN: Ink = Ink::solid(150, 190, 226);
const PAPER: Ink = Ink::solid(255, 255, 255);
const LINE: Ink = Ink::solid(40, 43, 50);

/// One spring of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedSpring {
    /// the blank from above
    pub plan: PlanView,
    /// outside diameter (mm)
    pub diameter: f64,
    /// share of good parts (percent)
    pub good_percent: f64,
    /// few words beside it
    pub label: String,
}

/// The springs, the chosen one first, on a page `width` points wide.
pub fn shortlist_view(springs: &[ListedSpring], width: f64, units: Units) -> Result<Picture, PlotError> {
    let height = ASPECT * width;
    let [left, top, right, bottom] = MARGINS;
    let (field_width, field_height) = (width - left - right, height - top - bottom);
    let factor = Quantity::Length.factor(units);
    let most = springs.iter().fold(0.0, |most: f64, spring| most.max(spring.diameter));
    // outlines at the edges stay in the field
    let room = 0.5 * LARGEST;
    let least = springs.iter().fold(most, |least, spring| least.min(spring.diameter));
    let across = Scale::over(0.6 * least * factor, most * factor, false, true, 6);
    let up = Scale::over(0.0, 100.0, true, false, 5);
    let x_of = |diameter: f64| left + across.share(diameter * factor) * (field_width - room);
    let y_of = |percent: f64| top + field_height - up.share(percent) * field_height;
    let text = |text: String, place: [f64; 2], anchor: Anchor, ink: Ink| Shape::Text {
        text,
        place: Point { x: place[0], y: place[1] },
        em: TEXT_EM,
        anchor,
        ink,
    };
    let stroke = |from: [f64; 2], to: [f64; 2], ink: Ink| Shape::Stroke {
        path: vec![Point { x: from[0], y: from[1] }, Point { x: to[0], y: to[1] }],
        width: 0.8,
        ink,
    };
    let title = "Good parts and outside diameter of the springs found".to_owned();
    let mut shapes = vec![Shape::Text {
        text: title.clone(),
        place: Point { x: 16.0, y: 22.0 },
        em: TITLE_EM,
        anchor: Anchor::Start,
        ink: TEXT,
    }];
    for tick in &across.ticks {
        let x = x_of(tick / factor);
        shapes.push(stroke([x, top], [x, top + field_height], GRID));
        shapes.push(text(across.number(*tick), [x, top + field_height + 18.0], Anchor::Middle, TEXT));
    }
    for tick in &up.ticks {
        let y = y_of(*tick);
        shapes.push(stroke([left, y], [left + field_width, y], GRID));
        shapes.push(text(up.number(*tick), [left - 8.0, y + 4.0], Anchor::End, TEXT));
    }
    let unit = Quantity::Length.unit(units);
    let named = format!("outside diameter ({unit}); upward good parts (%)");
    shapes.push(text(named, [left, height - 12.0], Anchor::Start, QUIET));
    // the chosen one is drawn last, on top
    for (place, spring) in springs.iter().enumerate().rev() {
        let centre = [x_of(spring.diameter), y_of(spring.good_percent)];
        let scale = LARGEST / most.max(1e-9);
        shapes.extend(outline(&spring.plan, centre, scale, if place == 0 { CHOSEN } else { STEEL }));
    }
    shapes.extend(labels(springs, &x_of, &y_of, LARGEST / most.max(1e-9), width)?);
    Ok(Picture(Scene { width, height, title, shapes }))
}

/// A blank drawn around a place.
fn outline(plan: &PlanView, centre: [f64; 2], scale: f64, ink: Ink) -> Vec<Shape> {
    let on_page = |points: &[[f64; 2]]| -> Vec<Point> {
        points.iter().map(|[x, y]| Point { x: centre[0] + scale * x, y: centre[1] - scale * y }).collect()
    };
    let edge = |points: &[[f64; 2]]| {
        let mut path = on_page(points);
        path.extend(path.first().copied());
        Shape::Stroke { path, width: 0.6, ink: LINE }
    };
    let mut shapes = vec![Shape::Area { outline: on_page(&plan.outside), ink }, edge(&plan.outside)];
    for hole in &plan.holes {
        shapes.push(Shape::Area { outline: on_page(hole), ink: PAPER });
        shapes.push(edge(hole));
    }
    let lines = plan.lines.iter().map(|line| Shape::Stroke { path: on_page(line), width: 0.6, ink: LINE });
    shapes.extend(lines);
    shapes
}

/// A label beside each outline, moved down where another one stands.
fn labels(
    springs: &[ListedSpring],
    x_of: &dyn Fn(f64) -> f64,
    y_of: &dyn Fn(f64) -> f64,
    scale: f64,
    width: f64,
) -> Result<Vec<Shape>, PlotError> {
    let mut taken: Vec<[f64; 4]> = Vec::new();
    let mut shapes = Vec::new();
    for spring in springs {
        let (centre, radius) = (x_of(spring.diameter), 0.5 * scale * spring.diameter);
        let long = font::width(&spring.label, TEXT_EM)?;
        let left = (centre - radius - long - 6.0).max(MARGINS[0] + 2.0).min(width - long - 8.0);
        let mut baseline = y_of(spring.good_percent) + 4.0;
        let meets = |baseline: f64, other: &[f64; 4]| {
            left < other[2] && other[0] < left + long && (baseline - other[1]).abs() < other[3]
        };
        while taken.iter().any(|other| meets(baseline, other)) {
            baseline += 1.2 * TEXT_EM;
        }
        taken.push([left, baseline, left + long, 1.15 * TEXT_EM]);
        shapes.push(Shape::Text {
            text: spring.label.clone(),
            place: Point { x: left, y: baseline },
            em: TEXT_EM,
            anchor: Anchor::Start,
            ink: TEXT,
        });
    }
    Ok(shapes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(diameter: f64, good_percent: f64) -> ListedSpring {
        let corner = |k: u32| {
            let turn = std::f64::consts::TAU * f64::from(k) / 24.0;
            [0.5 * diameter * turn.cos(), 0.5 * diameter * turn.sin()]
        };
        let plan = PlanView { outside: (0..24).map(corner).collect(), ..PlanView::default() };
        ListedSpring { plan, diameter, good_percent, label: format!("{diameter}") }
    }

    #[test]
    fn outlines_are_to_one_scale_and_stand_at_their_shares() {
        let picture =
            shortlist_view(&[listed(40.0, 90.0), listed(80.0, 30.0)], 600.0, Units::default()).unwrap();
        let areas: Vec<[f64; 4]> = picture
            .0
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Area { outline, .. } => {
                    let over = |f: fn(&Point) -> f64, pick: fn(f64, f64) -> f64, from: f64| {
                        outline.iter().map(f).fold(from, pick)
                    };
                    Some([
                        over(|p| p.x, f64::min, f64::MAX),
                        over(|p| p.x, f64::max, f64::MIN),
                        over(|p| p.y, f64::min, f64::MAX),
                        over(|p| p.y, f64::max, f64::MIN),
                    ])
                }
                _ => None,
            })
            .collect();
        // drawn last first: the larger and worse one lies below
        let [large, small] = [areas[0], areas[1]];
        assert!(((large[1] - large[0]) / (small[1] - small[0]) - 2.0).abs() < 1e-9);
        assert!(small[3] < large[3], "better is higher");
        assert!(large[0] + large[1] > small[0] + small[1], "larger is further right");
        assert!(large[1] <= 600.0);
    }
}
