//! Sections through the axis of an assembly: plates, discs, the pieces between them and the load, in several states.

use super::error::PlotError;
use super::font;
use super::picture::Picture;
use super::plan_view::scale_bar;
use super::scene::{Anchor, Ink, Point, Scene, Shape};
use super::section_view::CutPiece;
use crate::numeric::Units;

const EDGE: f64 = 12.0;
const TEXT_EM: f64 = 13.0;
const SMALL_EM: f64 = 11.0;
const STEEL: Ink = Ink::solid(178, 186, 196);
const SEATED: Ink = Ink::solid(96, 152, 206);
const LINE: Ink = Ink::solid(40, 43, 50);
const PLATE: Ink = Ink::solid(226, 224, 218);
const PIECE: Ink = Ink::solid(214, 196, 160);
const QUIET: Ink = Ink::solid(95, 95, 100);
/// Thickness of the outer plates in the picture (points).
const PLATE_DEPTH: f64 = 8.0;
/// Room for names beside the section (points).
const NAMES: f64 = 92.0;
/// Length of the arrow of the load (points).
const ARROW: f64 = 26.0;
/// Tallest section (points): beyond, the scale is smaller.
const TALLEST: f64 = 210.0;
/// Least distance of two names (points).
const NAME_STEP: f64 = 13.0;

/// A disc in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedDisc {
    /// what is cut, as seen with the rim below
    pub pieces: Vec<CutPiece>,
    /// thickness of the sheet (mm)
    pub thickness: f64,
    /// height of the plane on which its rim lies above the lower plate (mm)
    pub base: f64,
    /// whether the rim is above the hub
    pub upside_down: bool,
    /// name; empty where none is written
    pub name: String,
}

/// A plate or a hub piece: a ring, cut on both sides of the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// inner and outer radius (mm)
    pub radius: [f64; 2],
    /// lower and upper face above the lower plate (mm)
    pub height: [f64; 2],
    /// name; empty where none is written
    pub name: String,
}

/// An assembly in one state.
#[derive(Debug, Clone, PartialEq)]
pub struct AssemblyState {
    /// in words
    pub title: String,
    /// discs from below
    pub discs: Vec<PlacedDisc>,
    /// pieces between them from below
    pub blocks: Vec<Block>,
    /// height between the plates (mm)
    pub height: f64,
    /// height above the lower plate at which the load enters (mm); none where nothing is loaded
    pub load: Option<f64>,
    /// radius of the hole in the upper plate through which the load reaches the hub (mm); 0 without
    pub hole: f64,
}

/// States one below the other.
#[derive(Debug, Clone, PartialEq)]
pub struct AssemblyView {
    /// from the top down
    pub states: Vec<AssemblyState>,
    /// radius of the largest disc (mm)
    pub radius: f64,
}

/// One state on the page: its scale and place.
struct Frame {
    scale: f64,
    axis: f64,
    /// upper face of the lower plate on the page
    base: f64,
    reach: f64,
}

impl Frame {
    fn at(&self, across: f64, up: f64) -> Point {
        Point { x: self.axis + self.scale * across, y: self.base - self.scale * up }
    }

    fn rectangle(&self, [left, right]: [f64; 2], [low, high]: [f64; 2]) -> Vec<Point> {
        vec![self.at(left, low), self.at(right, low), self.at(right, high), self.at(left, high)]
    }
}

impl AssemblyView {
    /// Draws them on a page `width` points wide.
    pub fn picture(&self, width: f64, units: Units) -> Result<Picture, PlotError> {
        let tallest = self.states.iter().map(|state| state.height).fold(0.0, f64::max).max(1e-9);
        let reach = 1.06 * self.radius;
        let scale = ((width - 2.0 * EDGE - NAMES) / (2.0 * reach)).min(TALLEST / tallest);
        let axis = EDGE + 0.5 * (width - 2.0 * EDGE - NAMES);
        let mut shapes = Vec::new();
        let mut top = EDGE;
        for state in &self.states {
            shapes.push(Shape::Text {
                text: font::fitted(&state.title, TEXT_EM, width - 2.0 * EDGE)?,
                place: Point { x: EDGE, y: top + TEXT_EM },
                em: TEXT_EM,
                anchor: Anchor::Start,
                ink: LINE,
            });
            let over = if state.load.is_some() { ARROW + 6.0 } else { 6.0 };
            let base = top + 1.4 * TEXT_EM + over + PLATE_DEPTH + scale * state.height;
            let frame = Frame { scale, axis, base, reach };
            shapes.extend(drawn(state, &frame));
            top = base + PLATE_DEPTH + 1.1 * TEXT_EM;
        }
        let baseline = top + TEXT_EM;
        shapes.extend(scale_bar(scale, width, baseline, units));
        let scene = Scene {
            width,
            height: baseline + EDGE,
            title: "Sections through the axis of the assembly, heights to the same scale as widths"
                .to_owned(),
            shapes,
        };
        Ok(Picture(scene))
    }
}

fn drawn(state: &AssemblyState, frame: &Frame) -> Vec<Shape> {
    let mut shapes = Vec::new();
    let mut area = |outline: Vec<Point>, ink: Ink| {
        let mut edge = outline.clone();
        edge.extend(outline.first().copied());
        shapes.push(Shape::Area { outline, ink });
        shapes.push(Shape::Stroke { path: edge, width: 0.8, ink: LINE });
    };
    let depth = PLATE_DEPTH / frame.scale;
    area(frame.rectangle([-frame.reach, frame.reach], [-depth, 0.0]), PLATE);
    let upper = [state.height, state.height + depth];
    if state.hole > 0.0 {
        area(frame.rectangle([-frame.reach, -state.hole], upper), PLATE);
        area(frame.rectangle([state.hole, frame.reach], upper), PLATE);
    } else {
        area(frame.rectangle([-frame.reach, frame.reach], upper), PLATE);
    }
    for block in &state.blocks {
        let [inner, outer] = block.radius;
        if inner > 0.0 {
            area(frame.rectangle([-outer, -inner], block.height), PIECE);
            area(frame.rectangle([inner, outer], block.height), PIECE);
        } else {
            area(frame.rectangle([-outer, outer], block.height), PIECE);
        }
    }
    let mut names: Vec<(f64, f64, String)> = Vec::new();
    for disc in &state.discs {
        let up = |height: f64| disc.base + if disc.upside_down { -height } else { height };
        let half = 0.5 * disc.thickness;
        let (mut middle, mut count) = (0.0, 0.0);
        for piece in &disc.pieces {
            let corner = |across: f64, over: f64| {
                let height = piece.height + half + piece.slope * across + over;
                frame.at(piece.centre + across - over * piece.slope, up(height))
            };
            let reach = 0.5 * piece.width;
            let outline =
                vec![corner(-reach, -half), corner(reach, -half), corner(reach, half), corner(-reach, half)];
            area(outline, if piece.seated { SEATED } else { STEEL });
            middle += up(piece.height + half);
            count += 1.0;
        }
        let outer = disc.pieces.iter().map(|piece| piece.centre + 0.5 * piece.width).fold(0.0, f64::max);
        if !disc.name.is_empty() && count > 0.0 {
            // the rim is what its name points to
            let rim = disc.pieces.iter().find(|piece| piece.centre + 0.5 * piece.width >= outer - 1e-9);
            let height = rim.map_or(middle / count, |piece| up(piece.height + half));
            names.push((height, outer, disc.name.clone()));
        }
    }
    for block in &state.blocks {
        if !block.name.is_empty() {
            names.push((0.5 * (block.height[0] + block.height[1]), block.radius[1], block.name.clone()));
        }
    }
    shapes.extend(named(names, frame));
    shapes.extend(load(state, frame));
    shapes
}

/// Names to the right, each with a line to what it names, no two on one another.
fn named(mut names: Vec<(f64, f64, String)>, frame: &Frame) -> Vec<Shape> {
    names.sort_by(|a, b| b.0.total_cmp(&a.0));
    let left = frame.axis + frame.scale * frame.reach + 10.0;
    let mut places: Vec<f64> = names.iter().map(|(height, ..)| frame.at(0.0, *height).y).collect();
    // apart from one another, about their own middle
    for _ in 0..40 {
        for k in 1..places.len() {
            let missing = NAME_STEP - (places[k] - places[k - 1]);
            if missing > 0.0 {
                places[k - 1] -= 0.5 * missing;
                places[k] += 0.5 * missing;
            }
        }
    }
    let mut shapes = Vec::new();
    for ((height, outer, name), y) in names.into_iter().zip(places) {
        let from = frame.at(outer, height);
        shapes.push(Shape::Stroke { path: vec![from, Point { x: left - 4.0, y }], width: 0.6, ink: QUIET });
        shapes.push(Shape::Text {
            text: name,
            place: Point { x: left, y: y + 0.35 * SMALL_EM },
            em: SMALL_EM,
            anchor: Anchor::Start,
            ink: LINE,
        });
    }
    shapes
}

/// The axis, and an arrow where the load enters.
fn load(state: &AssemblyState, frame: &Frame) -> Vec<Shape> {
    let top = frame.at(0.0, state.height).y - PLATE_DEPTH;
    let mut shapes = vec![Shape::Stroke {
        path: vec![Point { x: frame.axis, y: top }, Point { x: frame.axis, y: frame.base + PLATE_DEPTH }],
        width: 0.5,
        ink: QUIET,
    }];
    if let Some(at) = state.load {
        let end = frame.at(0.0, at).y;
        let start = Point { x: frame.axis, y: top - ARROW };
        let tip = Point { x: frame.axis, y: end };
        shapes.push(Shape::Stroke { path: vec![start, tip], width: 1.8, ink: LINE });
        shapes.push(Shape::Area {
            outline: vec![
                tip,
                Point { x: frame.axis - 4.0, y: end - 9.0 },
                Point { x: frame.axis + 4.0, y: end - 9.0 },
            ],
            ink: LINE,
        });
        shapes.push(Shape::Text {
            text: "load".to_owned(),
            place: Point { x: frame.axis + 8.0, y: top - ARROW + SMALL_EM },
            em: SMALL_EM,
            anchor: Anchor::Start,
            ink: LINE,
        });
    }
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_plates_are_as_far_apart_as_the_discs_are_tall() {
        let piece = CutPiece { centre: 15.0, width: 10.0, height: 0.0, slope: 0.0, seated: false };
        let disc = |base: f64, upside_down: bool| PlacedDisc {
            pieces: vec![piece],
            thickness: 2.0,
            base,
            upside_down,
            name: String::new(),
        };
        let state = AssemblyState {
            title: "at rest".to_owned(),
            discs: vec![disc(0.0, false), disc(10.0, true)],
            blocks: Vec::new(),
            height: 10.0,
            load: None,
            hole: 0.0,
        };
        let view = AssemblyView { states: vec![state], radius: 20.0 };
        let picture = view.picture(520.0, Units::default()).unwrap();
        let steel: Vec<(f64, f64)> = picture
            .0
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Area { outline, ink } if *ink == STEEL => {
                    let y = outline.iter().map(|point| point.y);
                    Some((y.clone().fold(f64::INFINITY, f64::min), y.fold(0.0, f64::max)))
                }
                _ => None,
            })
            .collect();
        let [lower, upper] = steel[..] else { panic!("{steel:?}") };
        let scale = (lower.1 - lower.0) / 2.0;
        assert!((lower.1 - upper.0 - 10.0 * scale).abs() < 1e-9, "{steel:?}");
    }
}
