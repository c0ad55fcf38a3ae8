//! A body of sheet seen obliquely from above, shaded, hidden parts covered.

use std::collections::BTreeSet;

use super::depth_order::back_to_front;
use super::picture::Picture;
use super::scene::{Ink, Point, Scene, Shape};

/// Elevation of the eye above the base (rad).
const ELEVATION: f64 = 0.62;
/// Free edge (points).
const EDGE: f64 = 10.0;
/// Steps of brightness: fewer make a smaller file, more a smoother face.
const SHADES: f64 = 40.0;
/// Brightness of a level face.
const LEVEL: f64 = 0.86;
/// Exaggeration of the shading of slopes: flat springs slope little.
const CONTRAST: f64 = 1.5;
/// Direction of the light: from the left, a little from the front, mostly from above.
const LIGHT: [f64; 3] = [-0.50, -0.22, 0.84];

/// Sheet, and sheet that touches a plate.
const STEEL: [f64; 3] = [226.0, 229.0, 233.0];
const SEATED: [f64; 3] = [132.0, 178.0, 222.0];
const LINE: Ink = Ink::solid(58, 62, 70);
const SHADOW: Ink = Ink::solid(222, 222, 220);
const LINE_WIDTH: f64 = 0.6;

/// A body of sheet over its plan: triangles that a height at each corner makes a surface, as thick as the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// corners in the plan, x to the right, y away from the viewer (mm)
    pub points: Vec<[f64; 2]>,
    /// triangles in the order in which they are painted, counter-clockwise seen from above
    pub triangles: Vec<[usize; 3]>,
    /// which of a triangle's edges (corner 0 to 1, 1 to 2, 2 to 0) bound the body
    pub borders: Vec<[bool; 3]>,
}

/// One position of the body.
#[derive(Debug, Clone, PartialEq)]
pub struct ReliefState<'a> {
    /// height of the sheet's middle at every corner (mm)
    pub height: &'a [f64],
    /// which corners touch a plate
    pub seated: &'a [bool],
    /// in words
    pub title: String,
}

/// Part of space that the picture shows: the same for all positions, so that they can be compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReliefView {
    /// radius of the body in the plan (mm)
    pub radius: f64,
    /// largest height (mm)
    pub height: f64,
    /// thickness of the sheet (mm)
    pub thickness: f64,
    /// width of the picture (points)
    pub width: f64,
}

impl ReliefView {
    /// Points to a millimetre.
    pub fn scale(&self) -> f64 {
        (self.width - 2.0 * EDGE) / (2.0 * self.radius)
    }

    /// Sine and cosine of the eye's elevation.
    pub fn elevation() -> [f64; 2] {
        [ELEVATION.sin(), ELEVATION.cos()]
    }

    /// Extent of the picture above the middle of the base (mm on the page).
    fn above(&self) -> f64 {
        let [sine, cosine] = Self::elevation();
        // the highest part stands about the axis
        (self.radius * sine).max(0.45 * self.radius * sine + self.height * cosine) + self.thickness * cosine
    }

    fn below(&self) -> f64 {
        let [sine, cosine] = Self::elevation();
        self.radius * sine + self.thickness * cosine
    }

    /// Height of the picture (points).
    pub fn page_height(&self) -> f64 {
        2.0 * EDGE + self.scale() * (self.above() + self.below())
    }

    /// Place of the middle of the base on the page (points).
    pub fn origin(&self) -> [f64; 2] {
        [0.5 * self.width, EDGE + self.scale() * self.above()]
    }
}

impl Relief {
    /// From a plan in triangles (counter-clockwise from above), turned by `turn` (rad) before the viewer.
    pub fn of(points: &[[f64; 2]], triangles: &[[usize; 3]], turn: f64) -> Self {
        let (sine, cosine) = turn.sin_cos();
        let points: Vec<[f64; 2]> =
            points.iter().map(|[x, y]| [cosine * x - sine * y, sine * x + cosine * y]).collect();
        let edges: BTreeSet<(usize, usize)> =
            triangles.iter().flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)]).collect();
        let ordered: Vec<[usize; 3]> =
            back_to_front(&points, triangles).into_iter().map(|cell| triangles[cell]).collect();
        let borders = ordered
            .iter()
            .map(|&[a, b, c]| [(b, a), (c, b), (a, c)].map(|back| !edges.contains(&back)))
            .collect();
        Self { points, triangles: ordered, borders }
    }

    /// The body in one position.
    pub fn picture(&self, state: &ReliefState, view: &ReliefView) -> Picture {
        let [sine, cosine] = ReliefView::elevation();
        let (scale, [left, top]) = (view.scale(), view.origin());
        let half = 0.5 * view.thickness;
        let place = |corner: usize, z: f64| {
            let [x, y] = self.points[corner];
            Point { x: left + scale * x, y: top - scale * (y * sine + z * cosine) }
        };
        let height = |corner: usize| state.height.get(corner).copied().unwrap_or(0.0);
        let normals = self.normals(height);
        let mut shapes = Vec::with_capacity(3 * self.triangles.len());
        for triangle in &self.triangles {
            // straight down onto the base
            shapes.push(Shape::Cell {
                outline: triangle.map(|corner| place(corner, -half)).to_vec(),
                ink: SHADOW,
            });
        }
        for (triangle, borders) in self.triangles.iter().zip(&self.borders) {
            let seated = triangle.iter().all(|corner| state.seated.get(*corner).copied().unwrap_or(false));
            let base = if seated { SEATED } else { STEEL };
            let upper = triangle.map(|corner| place(corner, height(corner) + half));
            let lower = triangle.map(|corner| place(corner, height(corner) - half));
            for k in 0..3 {
                let next = (k + 1) % 3;
                let wall = [lower[k], lower[next], upper[next], upper[k]];
                if borders[k] && area(&wall) > 0.0 {
                    let (a, b) = (self.points[triangle[k]], self.points[triangle[next]]);
                    let length = (b[0] - a[0]).hypot(b[1] - a[1]).max(1e-12);
                    // outwards is to the right of an edge that runs counter-clockwise
                    let across = (b[1] - a[1]) / length;
                    shapes.push(Shape::Cell { outline: wall.to_vec(), ink: ink(base, 0.56 - 0.14 * across) });
                    shapes.push(Shape::Stroke {
                        path: vec![lower[k], lower[next]],
                        width: LINE_WIDTH,
                        ink: LINE,
                    });
                }
            }
            let (outline, brightness) = if area(&upper) > 0.0 {
                (upper, lit(triangle.map(|corner| normals[corner])))
            } else {
                ([lower[2], lower[1], lower[0]], 0.45)
            };
            shapes.push(Shape::Cell { outline: outline.to_vec(), ink: ink(base, brightness) });
            for k in 0..3 {
                if borders[k] {
                    let path = vec![outline[k], outline[(k + 1) % 3]];
                    shapes.push(Shape::Stroke { path, width: LINE_WIDTH, ink: LINE });
                }
            }
        }
        Picture(Scene { width: view.width, height: view.page_height(), title: state.title.clone(), shapes })
    }
}

impl Relief {
    /// Upward normals at the corners, those of the faces about each of them together: long faces between far corners
    /// would glint otherwise.
    fn normals(&self, height: impl Fn(usize) -> f64) -> Vec<[f64; 3]> {
        let mut normals = vec![[0.0; 3]; self.points.len()];
        for triangle in &self.triangles {
            let [a, b, c] = triangle.map(|corner| {
                let [x, y] = self.points[corner];
                [x, y, height(corner)]
            });
            let (u, v) = ([b[0] - a[0], b[1] - a[1], b[2] - a[2]], [c[0] - a[0], c[1] - a[1], c[2] - a[2]]);
            let normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
            for corner in triangle {
                for (sum, part) in normals[*corner].iter_mut().zip(normal) {
                    *sum += part;
                }
            }
        }
        for normal in &mut normals {
            let length = normal.iter().map(|v| v * v).sum::<f64>().sqrt().max(1e-12);
            *normal = normal.map(|v| v / length);
        }
        normals
    }
}

/// Twice the area on the page, above zero for what runs counter-clockwise as seen (y points down).
fn area(outline: &[Point]) -> f64 {
    (0..outline.len())
        .map(|k| {
            let (a, b) = (outline[k], outline[(k + 1) % outline.len()]);
            b.x * a.y - a.x * b.y
        })
        .sum()
}

/// Brightness of a face with these normals at its corners.
fn lit(normals: [[f64; 3]; 3]) -> f64 {
    let normal = [0, 1, 2].map(|k| normals.iter().map(|normal| normal[k]).sum::<f64>());
    let length = normal.iter().map(|v| v * v).sum::<f64>().sqrt().max(1e-12);
    let light: f64 = normal.iter().zip(LIGHT).map(|(n, l)| n * l).sum::<f64>() / length;
    LEVEL + CONTRAST * (light - LIGHT[2])
}

fn ink(base: [f64; 3], brightness: f64) -> Ink {
    let step = (brightness.clamp(0.2, 1.08) * SHADES).round() / SHADES;
    // clamped to what a colour can be
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let [red, green, blue] = base.map(|part| (part * step).clamp(0.0, 255.0).round() as u8);
    Ink::solid(red, green, blue)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square plate in two triangles.
    fn plate() -> Relief {
        let points = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
        Relief::of(&points, &[[0, 1, 2], [0, 2, 3]], 0.0)
    }

    fn view() -> ReliefView {
        ReliefView { radius: 1.5, height: 1.0, thickness: 0.2, width: 200.0 }
    }

    #[test]
    fn a_plate_shows_its_top_and_its_front_wall_alone() {
        let relief = plate();
        assert_eq!(relief.borders.iter().flatten().filter(|border| **border).count(), 4);
        let state = ReliefState { height: &[0.0; 4], seated: &[false; 4], title: "a plate".to_owned() };
        let picture = relief.picture(&state, &view());
        // two shadows, two top faces, one wall: the sides are seen edge on and the back is hidden
        let cells: Vec<&Shape> =
            picture.0.shapes.iter().filter(|shape| matches!(shape, Shape::Cell { .. })).collect();
        assert_eq!(cells.len(), 5);
        for cell in cells {
            if let Shape::Cell { outline, .. } = cell {
                assert!(area(outline) > 0.0, "all cells run the same way round: {outline:?}");
            }
        }
    }

    #[test]
    fn a_higher_plate_stands_higher_and_stays_on_the_page() {
        let relief = plate();
        let top = |height: f64| {
            let state = ReliefState { height: &[height; 4], seated: &[false; 4], title: String::new() };
            let picture = relief.picture(&state, &view());
            let mut least = f64::INFINITY;
            for shape in &picture.0.shapes {
                if let Shape::Cell { outline, .. } = shape {
                    for point in outline {
                        assert!(point.y > 0.0 && point.y < picture.0.height, "{point:?}");
                        least = least.min(point.y);
                    }
                }
            }
            least
        };
        assert!(top(0.3) < top(0.0) - 5.0);
    }
}
