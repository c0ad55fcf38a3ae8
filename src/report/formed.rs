//! The formed spring as a body: the height of every corner for a shape of the arm.

use std::f64::consts::{PI, TAU};

use super::stroke::{Shape, Stroke};
use crate::export::stl::{Plan, PlanError};
use crate::layout::Spring;
use crate::plot::{CutPiece, Relief, ReliefState, ReliefView, Section, SectionView};
use crate::spec::Pressing;

/// Rotation of the spring before the viewer (rad): a root of the rim in front, a little to the left.
const TURN: f64 = -1.9;

/// A corner that belongs to the arm: where along it, and how far from its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    /// place among the nodes kept, 0 at the rim
    pub node: f64,
    /// from the arm's middle outwards (mm); 0 on rim and hub
    pub lever: f64,
}

/// The body.
#[derive(Debug, Clone)]
pub(super) struct FormedBody {
    pub relief: Relief,
    pub corners: Vec<Corner>,
    pub view: ReliefView,
}

/// A piece of arm, rim or hub cut by the section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CutPlace {
    pub centre: f64,
    pub width: f64,
    /// place among the nodes kept
    pub node: f64,
    /// whether it is a piece of arm: rim and hub neither twist nor count as seated
    pub arm: bool,
}

/// Value of a list at a place between its entries.
pub(super) fn at(list: &[f64], place: f64) -> f64 {
    let last = list.len() - 1;
    // a place lies between 0 and the number of nodes
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let i = (place.max(0.0).floor() as usize).min(last.saturating_sub(1));
    let share = (place - i as f64).clamp(0.0, 1.0);
    list[i] + share * (list[(i + 1).min(last)] - list[i])
}

fn is_seated(shape: &Shape, place: f64) -> bool {
    let last = shape.seated.len() - 1;
    // as above
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let nearest = (place.max(0.0).round() as usize).min(last);
    shape.seated[nearest]
}

impl FormedBody {
    /// The body of a spring.
    pub fn of(spring: &Spring, stroke: &Stroke, width: f64) -> Result<Self, PlanError> {
        // heights enter the plan linearly: with the nodes' own numbers for heights, the height of every corner is its
        // place
        let pieces = (stroke.nodes.len() - 1) as f64;
        let all = stroke.arm.angle.len() - 1;
        let numbers: Vec<f64> = (0..=all).map(|i| pieces * i as f64 / all as f64).collect();
        let plan = Plan::of(spring, &stroke.arm, &numbers)?;
        let radius: Vec<f64> = stroke.nodes.iter().map(|&i| stroke.arm.radius[i]).collect();
        let corners = plan
            .points
            .iter()
            .map(|[x, y, node]| {
                let on_arm = *node > 1e-9 && *node < pieces - 1e-9;
                let lever = if on_arm { x.hypot(*y) - at(&radius, *node) } else { 0.0 };
                Corner { node: *node, lever }
            })
            .collect();
        let flat: Vec<[f64; 2]> = plan.points.iter().map(|[x, y, _]| [*x, *y]).collect();
        Ok(Self {
            relief: Relief::of(&flat, &plan.part, TURN),
            corners,
            view: ReliefView {
                radius: spring.disc.outer_radius,
                height: stroke.travel,
                thickness: spring.sheet.thickness,
                width,
            },
        })
    }

    /// Heights of all corners in a shape, and which of them lie on a plate.
    pub fn stand(&self, shape: &Shape) -> (Vec<f64>, Vec<bool>) {
        let height = self
            .corners
            .iter()
            .map(|corner| at(&shape.height, corner.node) + corner.lever * at(&shape.slope, corner.node))
            .collect();
        let seated =
            self.corners.iter().map(|corner| corner.lever != 0.0 && is_seated(shape, corner.node)).collect();
        (height, seated)
    }

    /// The body in a shape as a picture.
    pub fn picture(&self, shape: &Shape, title: String) -> crate::plot::Picture {
        let (height, seated) = self.stand(shape);
        self.relief.picture(&ReliefState { height: &height, seated: &seated, title }, &self.view)
    }
}

/// Places where a plane through the axis cuts: on the right where it meets an arm in its middle, on the left half a turn on, or
/// where the arms stand alike if their number is odd.
pub(super) fn cut_places(spring: &Spring, stroke: &Stroke) -> Vec<CutPlace> {
    let arms = spring.arms;
    let between = TAU / arms as f64;
    let arm = &stroke.arm;
    let span = arm.angle[arm.angle.len() - 1];
    let pieces = (stroke.nodes.len() - 1) as f64;
    let half = 0.5 * between.min(span);
    let other = if arms == 1 { half + PI } else { half };
    let mut places = Vec::new();
    for (azimuth, side) in [(half, 1.0), (other, -1.0)] {
        let mut crossings: Vec<CutPlace> = Vec::new();
        let mut angle = azimuth;
        while angle <= span {
            let (i, share) = arm.piece_at(angle);
            let node = pieces * (i as f64 + share) / arm.segments() as f64;
            crossings.push(CutPlace {
                centre: side * arm.value_at(&arm.radius, angle),
                width: arm.value_at(&arm.width, angle),
                node,
                arm: true,
            });
            angle += between;
        }
        let (outer_slot, inner_slot) = match (crossings.first(), crossings.last()) {
            (Some(first), Some(last)) => (
                side * first.centre + 0.5 * first.width + spring.slot,
                side * last.centre - 0.5 * last.width - spring.slot,
            ),
            _ => (
                spring.disc.slot_outer_radius + 0.5 * spring.slot,
                spring.disc.slot_inner_radius - 0.5 * spring.slot,
            ),
        };
        let mut ring = |from: f64, to: f64, node: f64| {
            if to > from {
                let centre = side * 0.5 * (from + to);
                places.push(CutPlace { centre, width: to - from, node, arm: false });
            }
        };
        ring(outer_slot, spring.disc.outer_radius, 0.0);
        ring(spring.disc.bore_radius, inner_slot, pieces);
        places.extend(crossings);
    }
    places
}

/// The pieces that a plane through the axis cuts, where they stand in a shape.
pub(super) fn cut_pieces(places: &[CutPlace], shape: &Shape) -> Vec<CutPiece> {
    places
        .iter()
        .map(|place| {
            let side = if place.centre < 0.0 { -1.0 } else { 1.0 };
            CutPiece {
                centre: place.centre,
                width: place.width,
                height: at(&shape.height, place.node),
                slope: if place.arm { side * at(&shape.slope, place.node) } else { 0.0 },
                seated: place.arm && is_seated(shape, place.node),
            }
        })
        .collect()
}

/// Sections at free height, half closed and closed.
pub(super) fn sections(
    spring: &Spring,
    stroke: &Stroke,
    places: &[CutPlace],
    titles: [String; 3],
) -> SectionView {
    let [free, half, closed] = titles;
    let upper = spring.seat.pressing == Pressing::Plates;
    let sections = [(0.0, free), (0.5, half), (1.0, closed)]
        .into_iter()
        .map(|(share, title)| {
            let shape = stroke.shape_at(share);
            let pieces = cut_pieces(places, shape);
            let top = shape.height.last().copied().unwrap_or(0.0);
            Section { title, pieces, plate: upper.then_some(top + spring.sheet.thickness) }
        })
        .collect();
    SectionView {
        sections,
        radius: spring.disc.outer_radius,
        thickness: spring.sheet.thickness,
        height: stroke.travel,
    }
}
