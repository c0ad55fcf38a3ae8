//! A picture as a list of shapes, before anything is drawn. Lengths in points of the page, y downward.

/// A place on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub x: f64,
    pub y: f64,
}

/// A colour with how much it covers (0 to 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ink {
    pub rgb: (u8, u8, u8),
    pub cover: f64,
}

impl Ink {
    pub const fn solid(red: u8, green: u8, blue: u8) -> Self {
        Self { rgb: (red, green, blue), cover: 1.0 }
    }
}

/// End of a text that its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// One thing to draw.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Shape {
    /// filled, without outline
    Area { outline: Vec<Point>, ink: Ink },
    /// filled, with a thin edge of the same ink that closes the seam to its neighbours
    Cell { outline: Vec<Point>, ink: Ink },
    /// a line through points
    Stroke { path: Vec<Point>, width: f64, ink: Ink },
    /// a filled disc
    Dot { centre: Point, radius: f64, ink: Ink },
    /// a line of text; the place lies on its baseline
    Text { text: String, place: Point, em: f64, anchor: Anchor, ink: Ink },
}

/// The whole picture.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scene {
    pub width: f64,
    pub height: f64,
    /// what the picture shows, for readers who cannot see it
    pub title: String,
    pub shapes: Vec<Shape>,
}

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Frame {
    pub fn grown(self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    pub fn contains(&self, point: Point) -> bool {
        (self.left..=self.right).contains(&point.x) && (self.top..=self.bottom).contains(&point.y)
    }

    pub fn encloses(&self, inner: &Self) -> bool {
        self.left <= inner.left
            && self.top <= inner.top
            && self.right >= inner.right
            && self.bottom >= inner.bottom
    }

    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub fn centre(&self) -> Point {
        Point { x: 0.5 * (self.left + self.right), y: 0.5 * (self.top + self.bottom) }
    }

    /// The point of the rectangle nearest to another.
    pub fn nearest(&self, point: Point) -> Point {
        Point { x: point.x.clamp(self.left, self.right), y: point.y.clamp(self.top, self.bottom) }
    }

    /// Whether a straight piece touches the rectangle (Liang and Barsky 1984).
    pub fn touches(&self, a: Point, b: Point) -> bool {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        for (step, room) in
            [(-dx, a.x - self.left), (dx, self.right - a.x), (-dy, a.y - self.top), (dy, self.bottom - a.y)]
        {
            if step == 0.0 {
                if room < 0.0 {
                    return false;
                }
            } else if step < 0.0 {
                enter = enter.max(room / step);
            } else {
                leave = leave.min(room / step);
            }
        }
        enter <= leave
    }
}

/// Distance of two points.
pub(super) fn distance(a: Point, b: Point) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

/// Distance of a point from a straight piece.
pub(super) fn distance_to_piece(point: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let along = if square > 0.0 {
        (((point.x - a.x) * dx + (point.y - a.y) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    distance(point, Point { x: a.x + along * dx, y: a.y + along * dy })
}

/// The path without points that lie closer than `spacing` to the one before; both ends stay.
pub(super) fn thinned(path: &[Point], spacing: f64) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for (index, &point) in path.iter().enumerate() {
        match kept.last() {
            Some(&last) if distance(last, point) < spacing => {
                if index + 1 == path.len() && kept.len() > 1 {
                    kept.pop();
                    kept.push(point);
                }
            }
            _ => kept.push(point),
        }
    }
    kept
}

/// Dashes along a path: `pattern` gives the lengths of dash, gap, dash, gap …
pub(super) fn dashes(path: &[Point], pattern: &[f64]) -> Vec<Vec<Point>> {
    if pattern.is_empty() || pattern.iter().sum::<f64>() <= 0.0 {
        return vec![path.to_vec()];
    }
    let mut drawn: Vec<Vec<Point>> = Vec::new();
    let (mut place, mut left) = (0, pattern[0]);
    let mut open: Vec<Point> = path.first().map(|first| vec![*first]).unwrap_or_default();
    for piece in path.windows(2) {
        let (mut from, to) = (piece[0], piece[1]);
        loop {
            let length = distance(from, to);
            if length <= left {
                left -= length;
                if place % 2 == 0 {
                    open.push(to);
                }
                break;
            }
            let share = left / length;
            from = Point { x: from.x + share * (to.x - from.x), y: from.y + share * (to.y - from.y) };
            if place % 2 == 0 {
                open.push(from);
                drawn.push(std::mem::take(&mut open));
            } else {
                open = vec![from];
            }
            place = (place + 1) % pattern.len();
            left = pattern[place];
        }
    }
    if open.len() > 1 {
        drawn.push(open);
    }
    drawn
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn p(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    #[test]
    fn dashes_cover_their_share_of_the_path() {
        let path = [p(0.0, 0.0), p(30.0, 40.0), p(30.0, 90.0)];
        let drawn: f64 = dashes(&path, &[6.0, 4.0])
            .iter()
            .flat_map(|dash| dash.windows(2).map(|pair| distance(pair[0], pair[1])).collect::<Vec<_>>())
            .sum();
        assert_abs_diff_eq!(drawn, 60.0, epsilon = 1e-9);
    }

    #[test]
    fn thinning_keeps_both_ends() {
        let path: Vec<Point> = (0..=1000).map(|i| p(f64::from(i) * 0.01, 0.0)).collect();
        let kept = thinned(&path, 1.0);
        assert!(kept.len() < 13, "{}", kept.len());
        assert_eq!((kept[0], kept[kept.len() - 1]), (path[0], path[1000]));
    }

    #[test]
    fn a_piece_that_passes_a_corner_does_not_touch() {
        let frame = Frame { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };
        assert!(frame.touches(p(-5.0, 5.0), p(15.0, 6.0)));
        assert!(!frame.touches(p(-5.0, 4.0), p(4.0, -5.0)));
        assert!(frame.touches(p(3.0, 3.0), p(4.0, 4.0)));
    }
}
