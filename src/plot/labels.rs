//! Place of the name of a curve: near its own curve, clear of everything else.
//!
//! Each name tries places along its curve, on eight sides, at several distances, and takes the one with the least
//! cost. Names placed before are never covered; a name far from its curve, and the name of a band, gets a thin
//! leader.

use super::error::PlotError;
use super::font;
use super::scene::{Anchor, Frame, Ink, Point, Shape, distance, distance_to_piece};

/// Places tried along a curve.
const PLACES: u32 = 28;
/// Distances tried (points of the page).
const GAPS: [f64; 5] = [6.0, 12.0, 22.0, 36.0, 54.0];
/// From this distance on a leader is drawn.
const LEADER_GAP: f64 = 22.0;
/// Length of the leader of a band's name within the band.
const INTO_BAND: f64 = 4.0;
/// Gap between the leader of a point's name and the point.
const SHORT_OF_POINT: f64 = 5.5;
/// A band's name is attached no closer than this to a point.
const POINT_CLEARANCE: f64 = 13.0;
/// A band's name is attached where the band has at least this share of its largest width.
const WIDE_SHARE: f64 = 0.4;
/// Room kept clear around a name.
const CLEARANCE: f64 = 4.0;
/// Largest width of a name, as a share of the plot.
const WIDTH_SHARE: f64 = 0.55;

/// Costs, in points of distance that a fault is worth.
mod cost {
    pub const LINE_CROSSED: f64 = 120.0;
    pub const DOT_COVERED: f64 = 60.0;
    pub const EDGE_CROSSED: f64 = 45.0;
    pub const FOOT_ON_LINE: f64 = 30.0;
    pub const GRID_CROSSED: f64 = 7.0;
    pub const NEARER_TO_ANOTHER: f64 = 35.0;
    pub const LEADER: f64 = 10.0;
    pub const LEADER_CROSSES: f64 = 30.0;
    /// per share of the curve away from the preferred place
    pub const OFF_PLACE: f64 = 22.0;
}
/// Preferred place: most curves part towards their end.
const PREFERRED_SHARE: f64 = 0.7;

/// Lines, points and texts already in the plot.
#[derive(Debug, Clone)]
pub(super) struct Obstacles {
    frame: Frame,
    /// lines that may not be crossed
    pub lines: Vec<Vec<Point>>,
    /// edges of bands, better not crossed
    pub edges: Vec<Vec<Point>>,
    /// points that may not be covered
    pub dots: Vec<Point>,
    /// heights of grid lines
    pub grid: Vec<f64>,
    taken: Vec<Frame>,
}

impl Obstacles {
    pub fn within(frame: Frame) -> Self {
        Self {
            frame,
            lines: Vec::new(),
            edges: Vec::new(),
            dots: Vec::new(),
            grid: Vec::new(),
            taken: Vec::new(),
        }
    }
}

/// Object that a label belongs to.
#[derive(Debug, Clone)]
enum Owner {
    /// line of that index among the lines in the way
    Line(usize),
    /// points, or ticks
    Points,
    /// a band: its name always has a leader, which ends inside the band
    Band,
}

/// A name and what it belongs to.
#[derive(Debug, Clone)]
pub(super) struct Name {
    text: String,
    /// curve, points or edges it belongs to
    path: Vec<Point>,
    /// where it may be attached, with the share of the curve
    feet: Vec<(f64, Point)>,
    owner: Owner,
    ink: Ink,
}

impl Name {
    /// The name of a line that stands in the way under that index.
    pub fn of_line(text: &str, path: Vec<Point>, index: usize, ink: Ink) -> Self {
        let feet = sampled(&path);
        Self { text: text.to_owned(), path, feet, owner: Owner::Line(index), ink }
    }

    /// The name of points.
    pub fn of_points(text: &str, path: Vec<Point>, ink: Ink) -> Self {
        let last = path.len().saturating_sub(1).max(1) as f64;
        let every = path.len() / (PLACES as usize + 1) + 1;
        let feet = path
            .iter()
            .enumerate()
            .step_by(every)
            .map(|(index, point)| (index as f64 / last, *point))
            .collect();
        Self { text: text.to_owned(), path, feet, owner: Owner::Points, ink }
    }

    /// The name of a band; it is attached where the band is wide.
    pub fn of_band(text: &str, low: &[Point], high: &[Point], ink: Ink) -> Self {
        let clearest = |edge: &[Point], other: &[Point]| -> Vec<(f64, Point, f64)> {
            let reach = |foot: Point| {
                other
                    .windows(2)
                    .map(|piece| distance_to_piece(foot, piece[0], piece[1]))
                    .fold(f64::INFINITY, f64::min)
            };
            sampled(edge).into_iter().map(|(share, foot)| (share, foot, reach(foot))).collect()
        };
        let mut feet = clearest(high, low);
        feet.extend(clearest(low, high));
        let widest = feet.iter().map(|foot| foot.2).fold(0.0, f64::max);
        let wide = feet.into_iter().filter(|foot| foot.2 >= WIDE_SHARE * widest);
        let feet = wide.map(|(share, foot, _)| (share, foot)).collect();
        let path = high.iter().chain(low.iter().rev()).copied().collect();
        Self { text: text.to_owned(), path, feet, owner: Owner::Band, ink }
    }
}

/// Places along a curve where its name may be attached, with their share of its length.
fn sampled(path: &[Point]) -> Vec<(f64, Point)> {
    (0..=PLACES)
        .map(|step| f64::from(step) / f64::from(PLACES))
        .filter_map(|share| along(path, share).map(|foot| (share, foot)))
        .collect()
}

/// The name at its best place, with a leader where one is needed. The place counts as taken from now on.
///
/// Nothing comes back for an empty name, and for one that finds no place in a crowded plot: it is left out rather
/// than set over another.
pub(super) fn place(name: &Name, obstacles: &mut Obstacles, em: f64) -> Result<Vec<Shape>, PlotError> {
    let text = font::fitted(&name.text, em, WIDTH_SHARE * (obstacles.frame.right - obstacles.frame.left))?;
    if text.is_empty() {
        return Ok(Vec::new());
    }
    let size = (font::width(&text, em)?, em);
    let is_band = matches!(name.owner, Owner::Band);
    let mut best: Option<(f64, Frame, Point, bool)> = None;
    for &(share, foot) in &name.feet {
        for gap in GAPS {
            let leader = gap >= LEADER_GAP;
            if is_band && !leader {
                continue;
            }
            for side in SIDES {
                let frame = beside(foot, size, side, gap);
                if !obstacles.frame.encloses(&frame) {
                    continue;
                }
                let clear = frame.grown(CLEARANCE);
                let head = frame.nearest(foot);
                let covers = |taken: &Frame| {
                    taken.overlaps(&clear) || (leader && taken.grown(2.0).touches(foot, head))
                };
                if obstacles.taken.iter().any(covers) {
                    continue;
                }
                let off_place = (share - PREFERRED_SHARE).abs() * cost::OFF_PLACE;
                let cost = fault(name, obstacles, &frame, foot, leader) + gap + off_place;
                if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                    best = Some((cost, frame, foot, leader));
                }
            }
        }
    }
    let Some((_, frame, foot, leader)) = best else { return Ok(Vec::new()) };
    obstacles.taken.push(frame);
    let mut shapes = Vec::new();
    if leader {
        let head = frame.grown(2.0).nearest(foot);
        let length = distance(foot, head).max(1.0);
        // into a band, up to a line, short of a point
        let into = match name.owner {
            Owner::Band => INTO_BAND / length,
            Owner::Line(_) => 0.0,
            Owner::Points => -SHORT_OF_POINT / length,
        };
        let tip = Point { x: foot.x + into * (foot.x - head.x), y: foot.y + into * (foot.y - head.y) };
        // a band can end at the edge of the plot
        let tip = obstacles.frame.nearest(tip);
        obstacles.lines.push(vec![tip, head]);
        shapes.push(Shape::Stroke { path: vec![tip, head], width: 0.9, ink: name.ink });
        if is_band {
            shapes.push(Shape::Dot { centre: tip, radius: 1.6, ink: name.ink });
        }
    }
    shapes.push(Shape::Text {
        text,
        place: Point { x: frame.left, y: frame.bottom - 0.16 * em },
        em,
        anchor: Anchor::Start,
        ink: name.ink,
    });
    Ok(shapes)
}

/// Eight sides: right and down as −1, 0, 1.
const SIDES: [(f64, f64); 8] =
    [(-1.0, -1.0), (1.0, 1.0), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0), (1.0, -1.0), (-1.0, 1.0)];

/// Frame of a text beside a point.
fn beside(foot: Point, (width, height): (f64, f64), (right, down): (f64, f64), gap: f64) -> Frame {
    let reach = if right != 0.0 && down != 0.0 { gap * std::f64::consts::FRAC_1_SQRT_2 } else { gap };
    let left = match right {
        r if r > 0.0 => foot.x + reach,
        r if r < 0.0 => foot.x - reach - width,
        _ => foot.x - 0.5 * width,
    };
    let top = match down {
        d if d > 0.0 => foot.y + reach,
        d if d < 0.0 => foot.y - reach - height,
        _ => foot.y - 0.5 * height,
    };
    Frame { left, top, right: left + width, bottom: top + height }
}

/// Penalty of a place, apart from its distance.
fn fault(name: &Name, obstacles: &Obstacles, frame: &Frame, foot: Point, leader: bool) -> f64 {
    let clear = frame.grown(CLEARANCE - 1.0);
    let crossed = |paths: &[Vec<Point>]| -> f64 {
        let touches = |path: &&Vec<Point>| path.windows(2).any(|piece| clear.touches(piece[0], piece[1]));
        paths.iter().filter(touches).count() as f64
    };
    let mut fault =
        cost::LINE_CROSSED * crossed(&obstacles.lines) + cost::EDGE_CROSSED * crossed(&obstacles.edges);
    let dots = obstacles.dots.iter().filter(|dot| frame.grown(CLEARANCE + 3.0).contains(**dot)).count();
    fault += cost::DOT_COVERED * dots as f64;
    let grid = obstacles.grid.iter().filter(|height| (frame.top..=frame.bottom).contains(*height)).count();
    fault += cost::GRID_CROSSED * grid as f64;
    let foreign = obstacles
        .lines
        .iter()
        .enumerate()
        .filter(|(index, _)| !matches!(name.owner, Owner::Line(own) if own == *index));
    let head = frame.nearest(foot);
    if matches!(name.owner, Owner::Band) {
        if obstacles.dots.iter().any(|dot| distance(*dot, foot) < POINT_CLEARANCE) {
            fault += cost::DOT_COVERED;
        }
        let near = |line: &&Vec<Point>| {
            line.windows(2).any(|piece| distance_to_piece(foot, piece[0], piece[1]) < 2.0 * INTO_BAND)
        };
        fault += cost::FOOT_ON_LINE * obstacles.lines.iter().filter(near).count() as f64;
    }
    if leader {
        let crossing = foreign
            .filter(|(_, line)| line.windows(2).any(|piece| pieces_cross(foot, head, piece[0], piece[1])))
            .count();
        fault += cost::LEADER + cost::LEADER_CROSSES * crossing as f64;
    } else {
        // without a leader the nearest curve is taken for the one that is named
        let own = distance_to_path(frame, &name.path);
        let nearer = foreign.filter(|(_, line)| distance_to_path(frame, line) < 1.3 * own).count();
        fault += cost::NEARER_TO_ANOTHER * nearer as f64;
    }
    // of equal places the one nearer to the middle of the plot
    fault + 1e-3 * distance(frame.centre(), obstacles.frame.centre())
}

/// Whether two straight pieces cross.
fn pieces_cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let turn = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

/// Distance of a curve from a frame.
fn distance_to_path(frame: &Frame, path: &[Point]) -> f64 {
    let corners = [
        Point { x: frame.left, y: frame.top },
        Point { x: frame.right, y: frame.top },
        Point { x: frame.left, y: frame.bottom },
        Point { x: frame.right, y: frame.bottom },
    ];
    let from_points =
        path.iter().map(|point| distance(*point, frame.nearest(*point))).fold(f64::INFINITY, f64::min);
    path.windows(2)
        .flat_map(|piece| corners.iter().map(|corner| distance_to_piece(*corner, piece[0], piece[1])))
        .fold(from_points, f64::min)
}

/// The point of a path at a share of its length.
fn along(path: &[Point], share: f64) -> Option<Point> {
    let whole: f64 = path.windows(2).map(|piece| distance(piece[0], piece[1])).sum();
    let mut left = share * whole;
    for piece in path.windows(2) {
        let length = distance(piece[0], piece[1]);
        if left <= length && length > 0.0 {
            let part = left / length;
            return Some(Point {
                x: piece[0].x + part * (piece[1].x - piece[0].x),
                y: piece[0].y + part * (piece[1].y - piece[0].y),
            });
        }
        left -= length;
    }
    path.last().copied()
}
