//! Small pictures of terms: the disc in plan, sections through its axis, a cut, an arm. Sketches, not to scale.

use super::error::PlotError;
use super::picture::Picture;
use super::scene::{Anchor, Ink, Point, Scene, Shape};

/// Width of every picture (points).
const WIDTH: f64 = 230.0;
const HEIGHT: f64 = 120.0;
const EM: f64 = 11.0;
const STEEL: Ink = Ink::solid(206, 211, 218);
const SEATED: Ink = Ink::solid(0, 90, 160);
const PAPER: Ink = Ink::solid(255, 255, 255);
const LINE: Ink = Ink::solid(40, 43, 50);
const PLATE: Ink = Ink::solid(226, 224, 218);
const TOOL: Ink = Ink::solid(214, 190, 150);
const MARK: Ink = Ink::solid(200, 40, 30);
/// Thickness of the sheet in sections (points).
const SHEET: f64 = 5.0;
/// Upper face of the base, and the axis, in sections.
const BASE: f64 = 100.0;
const AXIS: f64 = 92.0;
/// Free height in sections.
const FREE: f64 = 58.0;
/// Length and half width of an arrow head.
const HEAD: [f64; 2] = [7.0, 2.6];

/// Drawing of one term.
type Drawing = fn(&mut Sketch);

/// Pictures of terms, by their names in the glossary.
pub fn term_pictures() -> Result<Vec<(&'static str, Picture)>, PlotError> {
    let drawn: [(&'static str, &str, Drawing); 10] = [
        ("arm", "Disc from above: rim, arm, slot and hub", disc),
        ("former", "Section: the spring clamped on its former", former),
        ("free height", "Section: rise of the hub without load", free_height),
        ("kerf", "Cut from above: width of the material removed", kerf),
        ("proud", "Section: hub down, an arm above the flat sheet", proud),
        ("root", "Close up: root of an arm and end of a slot at the rim", root),
        ("seated", "Section: outer turns seated on the base", seated),
        ("solid height", "Section: height of the closed spring", solid_height),
        ("taper", "One arm rolled out: width from rim to hub", taper),
        ("travel to flat", "Section: deflection from free to flat", travel),
    ];
    Ok(drawn.map(|(term, title, draw)| (term, picture(title, draw))).into())
}

fn picture(title: &str, draw: Drawing) -> Picture {
    let mut sketch = Sketch::default();
    draw(&mut sketch);
    Picture(Scene { width: WIDTH, height: HEIGHT, title: title.to_owned(), shapes: sketch.0 })
}

/// Shapes of one picture.
#[derive(Default)]
struct Sketch(Vec<Shape>);

impl Sketch {
    fn area(&mut self, points: &[[f64; 2]], ink: Ink) {
        self.0
            .push(Shape::Area { outline: points.iter().map(|[x, y]| Point { x: *x, y: *y }).collect(), ink });
    }

    fn line(&mut self, points: &[[f64; 2]]) {
        let path = points.iter().map(|[x, y]| Point { x: *x, y: *y }).collect();
        self.0.push(Shape::Stroke { path, width: 0.8, ink: LINE });
    }

    /// An area with a border.
    fn part(&mut self, points: &[[f64; 2]], ink: Ink) {
        self.area(points, ink);
        self.line(points);
        self.line(&[points[points.len() - 1], points[0]]);
    }

    fn text(&mut self, text: &str, [x, y]: [f64; 2], anchor: Anchor) {
        self.0.push(Shape::Text { text: text.to_owned(), place: Point { x, y }, em: EM, anchor, ink: LINE });
    }

    /// A text right of a line to the thing that it names.
    fn name(&mut self, text: &str, at: [f64; 2], thing: [f64; 2]) {
        self.line(&[[at[0] - 3.0, at[1] - 0.35 * EM], thing]);
        self.0.push(Shape::Dot { centre: Point { x: thing[0], y: thing[1] }, radius: 1.6, ink: LINE });
        self.text(text, at, Anchor::Start);
    }

    /// A head with its point at a place, pointing along a direction of length one.
    fn head(&mut self, [x, y]: [f64; 2], [dx, dy]: [f64; 2], ink: Ink) {
        let foot = [x - HEAD[0] * dx, y - HEAD[0] * dy];
        let side = |sign: f64| [foot[0] - sign * HEAD[1] * dy, foot[1] + sign * HEAD[1] * dx];
        self.area(&[[x, y], side(1.0), side(-1.0)], ink);
    }

    /// A dimension between two places, arrows at both ends; its text to the right of the middle.
    fn dimension(&mut self, from: [f64; 2], to: [f64; 2], text: &str) {
        let along = [to[0] - from[0], to[1] - from[1]];
        let length = along[0].hypot(along[1]);
        let unit = along.map(|part| part / length);
        self.line(&[from, to]);
        self.head(to, unit, LINE);
        self.head(from, unit.map(|part| -part), LINE);
        if !text.is_empty() {
            let middle = [0.5 * (from[0] + to[0]) + 5.0, 0.5 * (from[1] + to[1]) + 0.35 * EM];
            self.text(text, middle, Anchor::Start);
        }
    }

    /// The load on the hub: an arrow down to a height above the base.
    fn load(&mut self, height: f64) {
        let tip = [AXIS, BASE - height - SHEET];
        self.0.push(Shape::Stroke {
            path: [tip[1] - 20.0, tip[1] - HEAD[0]].map(|y| Point { x: AXIS, y }).to_vec(),
            width: 1.6,
            ink: MARK,
        });
        self.head(tip, [0.0, 1.0], MARK);
    }

    fn base(&mut self) {
        self.part(&[[8.0, BASE], [176.0, BASE], [176.0, BASE + 9.0], [8.0, BASE + 9.0]], PLATE);
    }

    /// A section of the spring with outer turn, inner turn and hub at these heights above the flat sheet; seated turns are
    /// blue.
    fn section(&mut self, [outer, inner, hub]: [f64; 3]) {
        let ink = |height: f64| if height < 0.5 { SEATED } else { STEEL };
        for (from, to, height, ink) in [
            (64.0, 82.0, 0.0, STEEL),
            (44.0, 58.0, outer, ink(outer)),
            (26.0, 38.0, inner, ink(inner)),
            (4.0, 20.0, hub, STEEL),
        ] {
            let low = BASE - height;
            for side in [-1.0, 1.0] {
                let (a, b) = (AXIS + side * from, AXIS + side * to);
                self.part(&[[a, low], [b, low], [b, low - SHEET], [a, low - SHEET]], ink);
            }
        }
    }
}

/// Places round a circle.
fn circle([x, y]: [f64; 2], radius: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
    const PIECES: usize = 36;
    let at = |k: usize| from + (to - from) * k as f64 / PIECES as f64;
    (0..=PIECES).map(|k| [x + radius * at(k).cos(), y + radius * at(k).sin()]).collect()
}

fn disc(sketch: &mut Sketch) {
    let (centre, turn) = ([60.0, 60.0], std::f64::consts::TAU);
    sketch.part(&circle(centre, 54.0, 0.0, turn)[1..], STEEL);
    for start in [0.0, 0.5 * turn] {
        let flank = |side: f64| {
            (0..=40).map(move |k| {
                let share = f64::from(k) / 40.0;
                let (angle, radius) = (start + 1.15 * turn * share, 44.0 - 27.0 * share + side);
                [centre[0] + radius * angle.cos(), centre[1] + radius * angle.sin()]
            })
        };
        let slot: Vec<[f64; 2]> =
            flank(2.0).chain(flank(-2.0).collect::<Vec<_>>().into_iter().rev()).collect();
        sketch.part(&slot, PAPER);
    }
    sketch.part(&circle(centre, 6.0, 0.0, turn)[1..], PAPER);
    sketch.name("rim", [132.0, 24.0], [91.0, 21.0]);
    sketch.name("slot", [132.0, 50.0], [101.7, 71.0]);
    sketch.name("arm", [132.0, 76.0], [91.8, 77.4]);
    sketch.name("hub", [132.0, 102.0], [67.0, 69.0]);
}

fn free_height(sketch: &mut Sketch) {
    sketch.base();
    sketch.section([20.0, 40.0, FREE]);
    sketch.line(&[[AXIS + 22.0, BASE - FREE], [186.0, BASE - FREE]]);
    sketch.line(&[[176.0, BASE], [186.0, BASE]]);
    sketch.dimension([181.0, BASE], [181.0, BASE - FREE], "free");
    sketch.text("height", [186.0, BASE - 0.5 * FREE + 1.5 * EM], Anchor::Start);
}

fn travel(sketch: &mut Sketch) {
    sketch.base();
    sketch.section([20.0, 40.0, FREE]);
    sketch.load(FREE);
    let flat = BASE - SHEET;
    sketch.line(&[[AXIS + 22.0, flat - FREE], [186.0, flat - FREE]]);
    sketch.line(&[[AXIS + 84.0, flat], [186.0, flat]]);
    sketch.dimension([181.0, flat - FREE], [181.0, flat], "travel");
    sketch.text("to flat", [186.0, flat - 0.5 * FREE + 1.5 * EM], Anchor::Start);
}

fn solid_height(sketch: &mut Sketch) {
    sketch.base();
    sketch.section([0.0, 7.0, 0.6]);
    sketch.load(0.6);
    let top = BASE - SHEET - 7.0;
    sketch.line(&[[AXIS + 40.0, top], [196.0, top]]);
    sketch.line(&[[176.0, BASE], [196.0, BASE]]);
    for (tip, way) in [(top, 1.0), (BASE, -1.0)] {
        sketch.line(&[[190.0, tip], [190.0, tip - 18.0 * way]]);
        sketch.head([190.0, tip], [0.0, way], LINE);
    }
    sketch.text("solid height", [222.0, top - 24.0], Anchor::End);
}

fn proud(sketch: &mut Sketch) {
    sketch.base();
    sketch.section([0.0, 9.0, 0.6]);
    sketch.load(0.6);
    sketch.name("proud arm", [150.0, 62.0], [AXIS + 33.0, BASE - 11.5]);
    sketch.name("seated", [184.0, 84.0], [AXIS + 52.0, BASE - 3.0]);
}

fn seated(sketch: &mut Sketch) {
    sketch.base();
    sketch.section([0.0, 14.0, 0.5 * FREE]);
    sketch.load(0.5 * FREE);
    sketch.name("hub", [136.0, 46.0], [AXIS + 15.0, BASE - 31.0]);
    sketch.name("active", [160.0, 64.0], [AXIS + 34.0, BASE - 17.0]);
    sketch.name("seated", [184.0, 84.0], [AXIS + 52.0, BASE - 3.0]);
}

fn former(sketch: &mut Sketch) {
    let mut outline = vec![[AXIS - 84.0, BASE + 9.0]];
    let steps =
        [(-84.0, 0.0), (-61.0, 22.0), (-41.0, 44.0), (-22.0, 66.0), (22.0, 44.0), (41.0, 22.0), (61.0, 0.0)];
    let mut height = 0.0;
    for (x, next) in steps {
        outline.extend([[AXIS + x, BASE - height], [AXIS + x, BASE - next]]);
        height = next;
    }
    outline.extend([[AXIS + 84.0, BASE], [AXIS + 84.0, BASE + 9.0]]);
    sketch.part(&outline, TOOL);
    sketch.section([22.0, 44.0, 66.0]);
    sketch.name("blank, clamped", [132.0, 22.0], [AXIS + 15.0, BASE - 68.0]);
    sketch.name("former", [182.0, 62.0], [AXIS + 36.0, BASE - 12.0]);
}

fn kerf(sketch: &mut Sketch) {
    let (left, right) = (86.0, 118.0);
    sketch.part(&[[10.0, 20.0], [left, 20.0], [left, 110.0], [10.0, 110.0]], STEEL);
    sketch.part(&[[right, 20.0], [200.0, 20.0], [200.0, 110.0], [right, 110.0]], PLATE);
    sketch.part(
        &circle([0.5 * (left + right), 92.0], 0.5 * (right - left), 0.0, std::f64::consts::TAU)[1..],
        PAPER,
    );
    sketch.text("part", [48.0, 70.0], Anchor::Middle);
    sketch.text("waste", [159.0, 50.0], Anchor::Middle);
    sketch.name("jet or beam", [130.0, 97.0], [0.5 * (left + right), 92.0]);
    sketch.line(&[[left, 16.0], [left, 6.0]]);
    sketch.line(&[[right, 16.0], [right, 6.0]]);
    sketch.dimension([left, 10.0], [right, 10.0], "");
    sketch.text("kerf", [right + 6.0, 14.0], Anchor::Start);
}

fn root(sketch: &mut Sketch) {
    sketch.part(&[[8.0, 8.0], [160.0, 8.0], [160.0, 112.0], [8.0, 112.0]], STEEL);
    let quarter = 0.25 * std::f64::consts::TAU;
    let mut end = circle([70.0, 44.0], 7.0, quarter, 3.0 * quarter);
    end.extend([[160.0, 37.0], [160.0, 51.0]]);
    sketch.part(&end, PAPER);
    sketch.part(&[[8.0, 84.0], [160.0, 84.0], [160.0, 98.0], [8.0, 98.0]], PAPER);
    sketch.0.push(Shape::Stroke {
        path: [51.0, 84.0].map(|y| Point { x: 66.0, y }).to_vec(),
        width: 2.0,
        ink: MARK,
    });
    sketch.text("rim", [18.0, 27.0], Anchor::Start);
    sketch.text("arm", [112.0, 79.0], Anchor::Start);
    sketch.name("slot end", [170.0, 30.0], [66.0, 42.0]);
    sketch.name("root", [170.0, 66.0], [66.0, 62.0]);
}

fn taper(sketch: &mut Sketch) {
    let (left, right, middle) = (46.0, 184.0, 58.0);
    let half = |share: f64| 30.0 - 19.0 * share.powf(0.8);
    let edge = |side: f64| {
        (0..=20).map(move |k| {
            let share = f64::from(k) / 20.0;
            [left + (right - left) * share, middle + side * half(share)]
        })
    };
    let outline: Vec<[f64; 2]> = edge(-1.0).chain(edge(1.0).collect::<Vec<_>>().into_iter().rev()).collect();
    sketch.part(&outline, STEEL);
    sketch.text("rim", [left - 6.0, middle + 4.0], Anchor::End);
    sketch.text("hub", [right + 6.0, middle + 4.0], Anchor::Start);
    for (share, text) in [(0.1, "wide"), (0.6, "narrow")] {
        let (x, half) = (left + (right - left) * share, half(share));
        sketch.dimension([x, middle + half], [x, middle - half], text);
    }
    sketch.text("width along the radius, rolled out", [0.5 * WIDTH, 111.0], Anchor::Middle);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plot::font;
    use crate::plot::scene::Frame;

    /// Frame of a text, letters down to a quarter of the em below the baseline.
    fn frame(shape: &Shape) -> Option<(String, Frame)> {
        let Shape::Text { text, place, em, anchor, .. } = shape else { return None };
        let width = font::width(text, *em).unwrap();
        let left = match anchor {
            Anchor::Start => place.x,
            Anchor::Middle => place.x - 0.5 * width,
            Anchor::End => place.x - width,
        };
        let (top, bottom) = (place.y - 0.8 * em, place.y + 0.25 * em);
        (!text.is_empty()).then(|| (text.clone(), Frame { left, top, right: left + width, bottom }))
    }

    #[test]
    fn texts_and_lines_stay_in_the_picture_and_no_text_covers_another() {
        for (term, picture) in term_pictures().unwrap() {
            let page = Frame { left: 0.0, top: 0.0, right: WIDTH, bottom: HEIGHT };
            let texts: Vec<(String, Frame)> = picture.0.shapes.iter().filter_map(frame).collect();
            assert!(!texts.is_empty(), "{term}");
            for (k, (text, place)) in texts.iter().enumerate() {
                assert!(page.encloses(place), "{term}: {text} leaves the picture: {place:?}");
                for (other, second) in &texts[..k] {
                    assert!(!place.overlaps(second), "{term}: {text} covers {other}");
                }
            }
            for shape in &picture.0.shapes {
                if let Shape::Area { outline: path, .. } | Shape::Stroke { path, .. } = shape {
                    assert!(path.iter().all(|point| page.contains(*point)), "{term}: {path:?}");
                }
            }
        }
    }
}
