//! Measuring a drawing: slots, arms and rings from the contours alone, however these were made.
//!
//! The predicted curve is that of the drawing, not of the numbers it was drawn from.

use std::f64::consts::TAU;

use super::arc::{left, plus};
use super::flank::{Flanks, NoSlot, winding};
use super::slot::{EndClosing, contour};
use super::{ArcChain, Contour, Point, Role};
use crate::layout::{Station, pitch_cosines};

/// Stations measured along each arm. The cubic through them is then within a micron of the edges of any arm that a
/// model of a few hundred segments can follow.
const STATIONS: usize = 241;

/// Most places along a slot at which its width is measured.
const PLACES_MOST: f64 = 600.0;

/// A slot as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredSlot {
    /// winding angles on the centre line, increasing from the rim (rad); the first is the slot's place on the disc
    pub angle: Vec<f64>,
    /// radius of the centre line there (mm)
    pub radius: Vec<f64>,
    /// width normal to the centre line: the middle one of all places (mm)
    pub width: f64,
    /// least width (mm)
    pub width_least: f64,
    /// largest width (mm)
    pub width_most: f64,
    /// where the centre line ends on the rim side: angle (rad) and radius (mm)
    pub rim_end: [f64; 2],
    /// where it ends on the hub side
    pub hub_end: [f64; 2],
}

/// An arm as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredArm {
    /// its stations where slots bound it on both sides, outer root first; the free height is not in a flat drawing
    /// and stands as 0
    pub stations: Vec<Station>,
    /// least width normal to the arm's centre line (mm)
    pub width_least: f64,
}

/// A disc as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredDisc {
    /// centre of the outside (mm)
    pub centre: Point,
    /// least radius of the outside (mm)
    pub outer_radius: f64,
    /// largest radius of the bore (mm); 0 in a disc without a bore
    pub bore_radius: f64,
    /// whether the slots wind clockwise from the rim to the hub; everything else is measured on the mirror image then
    pub mirrored: bool,
    /// the slots, in order round the disc
    pub slots: Vec<MeasuredSlot>,
    /// the arms; each lies inside the slot of the same number
    pub arms: Vec<MeasuredArm>,
}

/// Reasons why contours cannot be measured as a spring.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeasureError {
    /// There is no outside.
    #[error("the drawing has no closed outside contour; put the disc's outside on the layer \"outside\"")]
    NoOutside,
    /// There are no slots.
    #[error("the drawing has no slots; put their contours on the layer \"slots\"")]
    NoSlots,
    /// A contour on the slots' layer is no slot.
    #[error(
        "contour {contour} near {place:.3?} mm is no slot: {reason}; a slot winds from the rim to the hub"
    )]
    NotASlot {
        /// which contour, from 1
        contour: usize,
        /// where it begins (mm)
        place: Point,
        /// why not
        reason: &'static str,
    },
    /// The slots wind different ways.
    #[error(
        "{clockwise} of the {slots} slots wind clockwise and the others do not; all have to wind the same way"
    )]
    Windings {
        /// how many wind clockwise
        clockwise: usize,
        /// how many there are
        slots: usize,
    },
    /// Two slots do not overlap.
    #[error(
        "slot {slot} winds {slot_degrees:.1}° and its neighbour starts {between_degrees:.1}° later: no arm is bounded \
         on both sides"
    )]
    NoArm {
        /// which slot, from 1
        slot: usize,
        /// its winding (°)
        slot_degrees: f64,
        /// angle between the two starts (°)
        between_degrees: f64,
    },
    /// Neighbouring slots touch or cross.
    #[error(
        "the arm inside slot {slot} is {width_mm:.4} mm wide at {degrees:.1}°; the slots there touch or cross"
    )]
    NoWidth {
        /// which slot, from 1
        slot: usize,
        /// width found (mm)
        width_mm: f64,
        /// winding angle from the arm's root (°)
        degrees: f64,
    },
}

impl MeasuredDisc {
    /// The mean arm's stations; the free height is not in a drawing and stands as 0.
    ///
    /// Arms that differ are averaged at equal shares of their winding.
    pub fn stations(&self) -> Vec<Station> {
        let count = self.arms.len() as f64;
        (0..STATIONS)
            .map(|i| {
                let mean = |value: fn(&Station) -> f64| {
                    self.arms.iter().map(|arm| value(&arm.stations[i])).sum::<f64>() / count
                };
                Station {
                    angle: mean(|s| s.angle),
                    radius: mean(|s| s.radius),
                    width: mean(|s| s.width),
                    height: 0.0,
                }
            })
            .collect()
    }

    /// The middle slot width of all slots (mm).
    pub fn slot_width(&self) -> f64 {
        self.slots.iter().map(|slot| slot.width).sum::<f64>() / self.slots.len() as f64
    }

    /// Largest difference of any arm's width from the mean arm's, at equal shares of the winding (mm).
    pub fn unevenness(&self) -> f64 {
        let mean = self.stations();
        self.arms
            .iter()
            .flat_map(|arm| arm.stations.iter().zip(&mean).map(|(a, b)| (a.width - b.width).abs()))
            .fold(0.0, f64::max)
    }
}

/// Measures a disc from its contours; a slot drawn as one line is taken `line_width` mm wide.
pub fn measure(contours: &[Contour], line_width: f64) -> Result<MeasuredDisc, MeasureError> {
    let outside = contours
        .iter()
        .filter(|contour| contour.role == Role::Outside && contour.chain.closed)
        .max_by(|a, b| a.chain.area().abs().total_cmp(&b.chain.area().abs()))
        .ok_or(MeasureError::NoOutside)?;
    let [low, high] = outside.chain.extents();
    let centre = outside
        .as_circle()
        .map_or([0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])], |(centre, _)| centre);
    let to_origin = [-centre[0], -centre[1]];
    let mut chains = Vec::new();
    for (i, contour) in contours.iter().enumerate() {
        let chain = contour.chain.shifted(to_origin);
        match (contour.role, chain.closed) {
            (Role::Slot, true) => chains.push((i, chain)),
            (Role::Slot | Role::CutOnLine, false) => chains.push((i, widened(i, &chain, line_width)?)),
            _ => {}
        }
    }
    if chains.is_empty() {
        return Err(MeasureError::NoSlots);
    }
    let mut clockwise = 0;
    for (i, chain) in &chains {
        if winding(chain).map_err(|why| no_slot(*i, chain, why))? < 0.0 {
            clockwise += 1;
        }
    }
    if clockwise != 0 && clockwise != chains.len() {
        return Err(MeasureError::Windings { clockwise, slots: chains.len() });
    }
    let mirrored = clockwise != 0;
    let mut slots = Vec::with_capacity(chains.len());
    for (i, chain) in &chains {
        let chain = if mirrored { chain.mirrored() } else { chain.clone() };
        let flanks = Flanks::of(&chain).map_err(|why| no_slot(*i, &chain, why))?;
        let slot = slot_of(&flanks, &chain);
        slots.push((slot, flanks));
    }
    slots.sort_by(|a, b| a.0.rim_end[0].rem_euclid(TAU).total_cmp(&b.0.rim_end[0].rem_euclid(TAU)));
    let arms = arms_between(&slots)?;
    let bore_radius = contours
        .iter()
        .filter(|contour| contour.role == Role::Bore && contour.chain.closed)
        .map(|contour| farthest(&contour.chain.shifted(to_origin)))
        .fold(0.0, f64::max);
    Ok(MeasuredDisc {
        centre,
        outer_radius: outside.chain.distance(centre),
        bore_radius,
        mirrored,
        slots: slots.into_iter().map(|(slot, _)| slot).collect(),
        arms,
    })
}

fn no_slot(i: usize, chain: &ArcChain, why: NoSlot) -> MeasureError {
    let reason = match why {
        NoSlot::RoundCentre => "it goes round the disc's centre",
        NoSlot::NoLength => "it has no length",
    };
    let place = chain.vertices.first().map_or([f64::NAN; 2], |vertex| vertex.point);
    MeasureError::NotASlot { contour: i + 1, place, reason }
}

/// The contour of a slot that is drawn as its centre line.
fn widened(i: usize, chain: &ArcChain, width: f64) -> Result<ArcChain, MeasureError> {
    let radius = |vertex: Option<&super::Vertex>| vertex.map_or(0.0, |v| v.point[0].hypot(v.point[1]));
    let from_rim = radius(chain.vertices.first()) >= radius(chain.vertices.last());
    let inwards = if from_rim { chain.clone() } else { chain.reversed() };
    let wide = (width > 0.0 && !inwards.is_empty())
        .then(|| contour(&inwards, width, EndClosing::Round, 0.0))
        .flatten();
    wide.ok_or_else(|| MeasureError::NotASlot {
        contour: i + 1,
        place: chain.vertices.first().map_or([f64::NAN; 2], |vertex| vertex.point),
        reason: "it is a line that no cut of the given width can follow",
    })
}

fn farthest(chain: &ArcChain) -> f64 {
    let [low, high] = chain.extents();
    chain
        .vertices
        .iter()
        .map(|vertex| vertex.point[0].hypot(vertex.point[1]))
        .chain([-low[0], -low[1], high[0], high[1]])
        .fold(0.0, f64::max)
}

fn slot_of(flanks: &Flanks, chain: &ArcChain) -> MeasuredSlot {
    // a strip's width from its area and length; good enough to look for the ends
    let rough = chain.area().abs() / (0.5 * chain.length());
    let (begin, end) = (flanks.inner.begin(rough), flanks.inner.end(rough));
    let step = rough.max((end.along - begin.along) / PLACES_MOST);
    let mut places = flanks.inner.places(begin.along, end.along, step);
    let mut widths: Vec<f64> = Vec::with_capacity(places.len());
    let across = |place: &super::flank::FlankPlace| {
        let normal = left(place.tangent);
        flanks.outer.met_from(place.point, [-normal[0], -normal[1]])
    };
    let margin = (4.0 * rough).min(0.2 * (end.along - begin.along));
    for place in &places {
        if place.along > begin.along + margin && place.along < end.along - margin {
            widths.extend(across(place));
        }
    }
    widths.sort_by(f64::total_cmp);
    let width = widths.get(widths.len() / 2).copied().unwrap_or(rough);
    let rim_begin = flanks.inner.begin(width);
    let hub_end = flanks.outer.end(width);
    let half = |point: Point, tangent: Point, side: f64| plus(point, side * 0.5 * width, left(tangent));
    let spot = |place: &super::flank::FlankPlace, side: f64| {
        let point = half(place.point, place.tangent, side);
        let turn = super::arc::cross(place.point, point).atan2(super::arc::dot(place.point, point));
        [place.angle + turn, point[0].hypot(point[1])]
    };
    let (rim, hub) = (spot(&rim_begin, -1.0), spot(&hub_end, 1.0));
    places.retain(|place| place.along >= rim_begin.along);
    let mut angle = vec![rim[0]];
    let mut radius = vec![rim[1]];
    for place in &places {
        // near the ends a keyhole may lie across
        let inside = place.along > begin.along + margin && place.along < end.along - margin;
        let reach = if inside { across(place).unwrap_or(width) } else { width };
        let point = plus(place.point, -0.5 * reach, left(place.tangent));
        let turn = super::arc::cross(place.point, point).atan2(super::arc::dot(place.point, point));
        let at = place.angle + turn;
        if at > angle[angle.len() - 1] + 1e-6 && at < hub[0] - 1e-6 {
            angle.push(at);
            radius.push(point[0].hypot(point[1]));
        }
    }
    angle.push(hub[0]);
    radius.push(hub[1]);
    MeasuredSlot {
        angle,
        radius,
        width,
        width_least: widths.first().copied().unwrap_or(width),
        width_most: widths.last().copied().unwrap_or(width),
        rim_end: rim,
        hub_end: hub,
    }
}

fn arms_between(slots: &[(MeasuredSlot, Flanks)]) -> Result<Vec<MeasuredArm>, MeasureError> {
    let count = slots.len();
    let mut arms = Vec::with_capacity(count);
    for k in 0..count {
        let (outer, outer_flanks) = &slots[k];
        // the slot that starts before this one has wound further in: it is the arm's inner edge
        let (inner, inner_flanks) = &slots[(k + count - 1) % count];
        let mut between = (outer.rim_end[0] - inner.rim_end[0]).rem_euclid(TAU);
        if between < 1e-9 {
            between += TAU;
        }
        let wound = inner.hub_end[0] - inner.rim_end[0];
        let span = wound - between;
        if span.is_nan() || span <= 1e-6 {
            return Err(MeasureError::NoArm {
                slot: k + 1,
                slot_degrees: wound.to_degrees(),
                between_degrees: between.to_degrees(),
            });
        }
        let mut stations = Vec::with_capacity(STATIONS);
        for i in 0..STATIONS {
            let angle = span * i as f64 / (STATIONS - 1) as f64;
            let edges = outer_flanks
                .inner
                .radius_at(outer.rim_end[0] + angle)
                .zip(inner_flanks.outer.radius_at(inner.rim_end[0] + between + angle));
            let (high, low) = edges.unwrap_or((f64::NAN, f64::NAN));
            let width = high - low;
            if width.is_nan() || width <= 0.0 {
                return Err(MeasureError::NoWidth {
                    slot: k + 1,
                    width_mm: width,
                    degrees: angle.to_degrees(),
                });
            }
            stations.push(Station { angle, radius: 0.5 * (high + low), width, height: 0.0 });
        }
        let width_least = least_normal_width(&stations);
        arms.push(MeasuredArm { stations, width_least });
    }
    Ok(arms)
}

/// Least width normal to the arm.
fn least_normal_width(stations: &[Station]) -> f64 {
    let angle: Vec<f64> = stations.iter().map(|station| station.angle).collect();
    let radius: Vec<f64> = stations.iter().map(|station| station.radius).collect();
    let cosines = pitch_cosines(&angle, &radius);
    stations.iter().zip(cosines).map(|(station, cosine)| station.width * cosine).fold(f64::INFINITY, f64::min)
}
