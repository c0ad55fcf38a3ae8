//! A slot contour laid out over the winding angle: its two flanks, from the rim to the hub.

use std::f64::consts::{PI, TAU};

use super::arc::{cross, dot};
use super::{Arc, ArcChain, Point};

/// Largest turn of one piece (rad): pieces this short have one winding angle only and show where an end begins.
const PIECE_TURN: f64 = PI / 18.0;

/// Longest piece of a straight line, in distances from the disc's centre.
const PIECE_SHARE: f64 = 0.25;

/// Most pieces of one arc: bounds the work for a line that passes close to the centre.
const PIECES_MOST: f64 = 4000.0;

/// Heading error at which a flank has certainly left its spiral (rad), and a second look at twice that.
const OFF_COURSE: f64 = PI / 9.0;

/// Turn that no round end makes between neighbouring chords (rad): the flank ends in a corner there.
const CORNER: f64 = 0.9;

/// A place is taken this far inside the spiral (mm), so that its tangent is the spiral's and not the end's.
const INSIDE: f64 = 1e-7;

/// One flank from the rim to the hub, in short pieces with their winding angles.
#[derive(Debug, Clone)]
pub(super) struct Flank {
    pieces: Vec<Arc>,
    /// winding angle at the start of each piece and at the end of the last (rad)
    angle: Vec<f64>,
}

/// The two flanks of a slot; the hub lies to the left of both.
#[derive(Debug, Clone)]
pub(super) struct Flanks {
    pub outer: Flank,
    pub inner: Flank,
}

/// Reason for which a contour is not a slot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum NoSlot {
    RoundCentre,
    NoLength,
}

/// Winding angles along a closed contour in short pieces, and by how much the whole way round differs from zero.
fn lay_out(chain: &ArcChain) -> (Vec<Arc>, Vec<f64>) {
    let mut pieces = Vec::new();
    for arc in chain.arcs().filter(|arc| arc.chord() > 0.0) {
        let near = arc.nearest([0.0, 0.0]).1.max(1e-3);
        let count = (arc.sweep().abs() / PIECE_TURN).max(arc.length() / (PIECE_SHARE * near));
        let count = count.ceil().clamp(1.0, PIECES_MOST);
        let mut done = 0.0;
        while done < count {
            pieces.push(arc.piece(done / count, (done + 1.0) / count));
            done += 1.0;
        }
    }
    let mut angle = Vec::with_capacity(pieces.len() + 1);
    let mut total = pieces.first().map_or(0.0, |piece| piece.start[1].atan2(piece.start[0]));
    angle.push(total);
    for piece in &pieces {
        total += cross(piece.start, piece.end).atan2(dot(piece.start, piece.end));
        angle.push(total);
    }
    (pieces, angle)
}

/// Which way a slot winds from the rim to the hub: +1 counter-clockwise, −1 clockwise.
pub(super) fn winding(chain: &ArcChain) -> Result<f64, NoSlot> {
    let (pieces, angle) = lay_out(chain);
    let (low, high) = tips(&pieces, &angle)?;
    let radius = |i: usize| pieces[i].start[0].hypot(pieces[i].start[1]);
    Ok(if radius(low) >= radius(high) { 1.0 } else { -1.0 })
}

/// Pieces that start at the least and at the largest winding angle.
fn tips(pieces: &[Arc], angle: &[f64]) -> Result<(usize, usize), NoSlot> {
    let count = pieces.len();
    if count < 3 {
        return Err(NoSlot::NoLength);
    }
    if (angle[count] - angle[0]).abs() > PI {
        return Err(NoSlot::RoundCentre);
    }
    let by = |a: &usize, b: &usize| angle[*a].total_cmp(&angle[*b]);
    let low = (0..count).min_by(by).ok_or(NoSlot::NoLength)?;
    let high = (0..count).max_by(by).ok_or(NoSlot::NoLength)?;
    if low == high { Err(NoSlot::NoLength) } else { Ok((low, high)) }
}

impl Flanks {
    /// The flanks of a closed slot contour that winds counter-clockwise from the rim to the hub about the origin.
    pub fn of(chain: &ArcChain) -> Result<Self, NoSlot> {
        let chain = if chain.area() < 0.0 { chain.reversed() } else { chain.clone() };
        let (pieces, angle) = lay_out(&chain);
        let (rim, hub) = tips(&pieces, &angle)?;
        let count = pieces.len();
        let walk = |from: usize, to: usize| {
            let steps = (to + count - from) % count;
            let pieces: Vec<Arc> = (0..steps).map(|k| pieces[(from + k) % count]).collect();
            let angle: Vec<f64> = (0..=steps).map(|k| angle[(from + k) % count]).collect();
            Flank { pieces, angle }
        };
        // counter-clockwise from the rim's tip: out along the outer flank, back along the inner one
        let outer = walk(rim, hub);
        let mut inner = walk(hub, rim);
        inner.pieces = inner.pieces.iter().rev().map(Arc::reversed).collect();
        inner.angle.reverse();
        if outer.pieces.is_empty() || inner.pieces.is_empty() {
            return Err(NoSlot::NoLength);
        }
        Ok(Self { outer, inner })
    }
}

/// A place on a flank with the direction of the flank there.
#[derive(Debug, Clone, Copy)]
pub(super) struct FlankPlace {
    pub point: Point,
    pub tangent: Point,
    /// winding angle (rad)
    pub angle: f64,
    /// length from the flank's start (mm)
    pub along: f64,
}

impl Flank {
    /// Length (mm).
    pub fn length(&self) -> f64 {
        self.pieces.iter().map(Arc::length).sum()
    }

    /// Radius at a winding angle (mm); `None` beyond its ends.
    pub fn radius_at(&self, angle: f64) -> Option<f64> {
        let (sin, cos) = angle.sin_cos();
        let way = [cos, sin];
        // rising angles but for the last few pieces round the tips
        let i = (0..self.pieces.len()).find(|&i| self.angle[i] <= angle && angle <= self.angle[i + 1])?;
        let piece = &self.pieces[i];
        let near = piece.start[0].hypot(piece.start[1]);
        let hit = piece
            .crossings_of_line([0.0, 0.0], way)
            .into_iter()
            .map(|(reach, _)| reach)
            .filter(|reach| *reach > 0.0)
            .min_by(|a, b| (a - near).abs().total_cmp(&(b - near).abs()));
        // rounding may lose a crossing at the very end of a piece
        hit.or_else(|| {
            let (a, b) = (dot(piece.start, way), dot(piece.end, way));
            let share = (angle - self.angle[i]) / (self.angle[i + 1] - self.angle[i]).max(1e-300);
            Some(a + share.clamp(0.0, 1.0) * (b - a))
        })
    }

    /// Places `step` mm apart between two lengths along the flank.
    pub fn places(&self, from: f64, to: f64, step: f64) -> Vec<FlankPlace> {
        let count = ((to - from) / step).ceil().max(1.0);
        let mut found = Vec::new();
        let (mut i, mut before) = (0, 0.0);
        let mut length = self.pieces[0].length();
        let mut k = 0.0;
        while k <= count {
            let along = from + (to - from) * k / count;
            while along > before + length && i + 1 < self.pieces.len() {
                before += length;
                i += 1;
                length = self.pieces[i].length();
            }
            let share = ((along - before) / length).clamp(0.0, 1.0);
            found.push(self.place(i, share, along));
            k += 1.0;
        }
        found
    }

    fn place(&self, i: usize, share: f64, along: f64) -> FlankPlace {
        let point = self.pieces[i].point_at(share);
        let turn = cross(self.pieces[i].start, point).atan2(dot(self.pieces[i].start, point));
        FlankPlace { point, tangent: self.pieces[i].tangent_at(share), angle: self.angle[i] + turn, along }
    }

    /// Distances from `origin` along `way` at which the flank is met (mm), the nearest one above zero.
    pub fn met_from(&self, origin: Point, way: Point) -> Option<f64> {
        self.pieces
            .iter()
            .flat_map(|piece| piece.crossings_of_line(origin, way))
            .map(|(reach, _)| reach)
            .filter(|reach| *reach > 1e-9)
            .min_by(f64::total_cmp)
    }

    /// Where the flank leaves the slot's end and takes up its spiral, seen from the rim.
    pub fn begin(&self, width: f64) -> FlankPlace {
        self.leave(width, false)
    }

    /// Where it leaves its spiral at the hub.
    pub fn end(&self, width: f64) -> FlankPlace {
        self.leave(width, true)
    }

    /// The pitch (heading against the circle) is followed from the middle towards an end. Where it is off its course
    /// by one and by two looks, the heading of a round end is on a straight line over the length, which gives the
    /// place where it left; a corner leaves at once.
    fn leave(&self, width: f64, at_hub: bool) -> FlankPlace {
        let total = self.length();
        // lengths counted from the end in question
        let near = (5.0 * width).min(0.3 * total);
        let far = (10.0 * width).min(0.5 * total);
        let place = |from_end: f64| {
            let from_end = from_end + INSIDE;
            let along = if at_hub { total - from_end } else { from_end };
            let places = self.places(along, along, 1.0);
            places[0]
        };
        let pitch = |p: &FlankPlace| {
            let radial = dot(p.tangent, p.point);
            let around = cross(p.point, p.tangent);
            radial.atan2(around)
        };
        let (one, two) = (place(near), place(far));
        let slope = (pitch(&two) - pitch(&one)) / (far - near).max(1e-9);
        let expected = |from_end: f64| pitch(&one) + slope * (from_end - near);
        let off = |p: &FlankPlace, from_end: f64| {
            let d = pitch(p) - expected(from_end);
            (d - TAU * (d / TAU).round()).abs()
        };
        // headings from the reference towards the end: of an arc at both its ends, of a line in its middle, so that
        // chords of a round end count as the arc they stand for
        let mut start = 0.0;
        let mut looks: Vec<[f64; 2]> = Vec::new();
        let mut corner: Option<(f64, f64)> = None;
        let mut starts = Vec::with_capacity(self.pieces.len());
        for piece in &self.pieces {
            starts.push(start);
            start += piece.length();
        }
        let count = self.pieces.len();
        for n in 0..count {
            let i = if at_hub { n } else { count - 1 - n };
            let (piece, length) = (&self.pieces[i], self.pieces[i].length());
            let from_end = |share: f64| {
                let along = starts[i] + share * length;
                if at_hub { total - along } else { along }
            };
            let (enter, leave) = if at_hub { (0.0, 1.0) } else { (1.0, 0.0) };
            if from_end(leave) > near {
                continue;
            }
            let look = |share: f64| {
                let s = from_end(share);
                [s, off(&self.place(i, share, s), s)]
            };
            let first = look(enter);
            if let Some((s, d)) = corner
                && first[1] - d > CORNER
            {
                looks.extend([[s, d], first]);
            }
            if piece.bulge == 0.0 {
                looks.push(look(0.5));
            } else {
                looks.extend([first, look(leave)]);
            }
            let last = look(leave);
            corner = Some((last[0], last[1]));
        }
        let crossing = |level: f64| {
            let mut before = [near, 0.0];
            for &look in &looks {
                if look[1] >= level {
                    let rise = look[1] - before[1];
                    let share = if rise > 0.0 { ((level - before[1]) / rise).clamp(0.0, 1.0) } else { 1.0 };
                    return Some(before[0] + share * (look[0] - before[0]));
                }
                before = look;
            }
            None
        };
        let last = looks.last().map_or(near, |look| look[0]);
        let single = crossing(OFF_COURSE).unwrap_or(last);
        let double = crossing(2.0 * OFF_COURSE).unwrap_or(single);
        place((2.0 * single - double).clamp(0.0, near))
    }
}
