//! Least web of metal and least slot between neighbouring cuts.

use super::arc::left;
use super::slot::{EndClosing, contour};
use super::{Arc, ArcChain, Contour, Point, Role};

/// Distance of samples along a contour (mm); each least width is then searched between two samples.
const STEP: f64 = 0.4;

/// Most places sampled on one contour, which bounds the work for a large drawing.
const LOOKS_MOST: f64 = 4000.0;

/// Narrow places between which the narrowest is searched.
const SEARCHES: usize = 24;

/// Rounds of the golden-section search between two looks.
const ROUNDS: usize = 40;

/// Widths that differ by less are the same (mm): the lowest contour is named, whatever the rounding.
const SAME: f64 = 1e-9;

/// Beside a sharp corner of the metal its two sides come as near as one likes without being a web: places on one
/// contour are a web only if the way along the contour is this many times the way across. Between slots it is hundreds
/// of times that, at the corners of keyholes less than four.
const WEDGE: f64 = 6.0;

/// A narrowest place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NarrowPlace {
    /// width (mm)
    pub width: f64,
    /// one edge of it (mm)
    pub place: Point,
    /// the other edge (mm)
    pub across: Point,
    /// contour it was seen from, counted from 0
    pub contour: usize,
    /// contour on the other side
    pub other: usize,
}

/// Contours as areas that are cut away, lines widened to what the cut takes.
pub(super) fn areas(contours: &[Contour], kerf: f64) -> Vec<Option<ArcChain>> {
    contours
        .iter()
        .map(|one| match (one.role, one.chain.closed) {
            (Role::Bore | Role::Slot | Role::Outside, true) => Some(one.chain.clone()),
            (Role::CutOnLine | Role::Slot, false) if kerf > 0.0 && !one.chain.is_empty() => {
                contour(&one.chain, kerf, EndClosing::Round, 0.0)
            }
            _ => None,
        })
        .collect()
}

/// The narrowest web of metal between any two cuts, a cut and itself, or a cut and the outside; lines are cut `kerf` (mm)
/// wide. None where there is no web.
///
/// Measured along normals: at the narrowest place between smooth edges the connection is normal to both.
pub fn least_web(contours: &[Contour], kerf: f64) -> Option<NarrowPlace> {
    let areas = areas(contours, kerf);
    let all = placed(&areas);
    let look = |from: &Placed, share: f64, side: f64| look(from, share, side, &all, WEDGE);
    narrowest(contours, &areas, look, |role| if role == Role::Outside { 1.0 } else { -1.0 })
}

/// The narrowest place of any slot; one drawn as a line is `kerf` (mm) wide. None where there is no slot.
pub fn least_slot(contours: &[Contour], kerf: f64) -> Option<NarrowPlace> {
    let areas = areas(contours, kerf);
    let mut own: Vec<Vec<Placed>> = vec![Vec::new(); contours.len()];
    for one in placed(&areas) {
        own[one.contour].push(one);
    }
    let look = |from: &Placed, share: f64, side: f64| look(from, share, side, &own[from.contour], 0.0);
    let is_slot = |role| matches!(role, Role::Slot | Role::CutOnLine);
    narrowest(contours, &areas, look, |role| if is_slot(role) { 1.0 } else { 0.0 })
}

/// An arc and its place on its contour.
#[derive(Clone)]
struct Placed {
    contour: usize,
    arc: Arc,
    /// its length (mm)
    length: f64,
    /// middle of its chord (mm)
    middle: Point,
    /// length of the contour up to it (mm)
    along: f64,
    /// length of the whole contour (mm)
    around: f64,
}

fn placed(areas: &[Option<ArcChain>]) -> Vec<Placed> {
    let mut all = Vec::new();
    for (contour, chain) in areas.iter().enumerate() {
        let Some(chain) = chain else { continue };
        let around = chain.length();
        let mut along = 0.0;
        for arc in chain.arcs() {
            let length = arc.length();
            let middle = [0.5 * (arc.start[0] + arc.end[0]), 0.5 * (arc.start[1] + arc.end[1])];
            all.push(Placed { contour, arc, length, middle, along, around });
            along += length;
        }
    }
    all
}

/// A look at one place of a contour.
struct Look {
    width: f64,
    from: Placed,
    side: f64,
    share: f64,
    /// distance of the looks on this arc, in shares
    step: f64,
}

/// `look` gives the width seen from a place and the contour across; `side`: +1 looks to the left of a contour of that
/// role, −1 to the right, 0 not at all.
fn narrowest(
    contours: &[Contour],
    areas: &[Option<ArcChain>],
    look: impl Fn(&Placed, f64, f64) -> Option<(f64, usize)>,
    side: impl Fn(Role) -> f64,
) -> Option<NarrowPlace> {
    let mut looks: Vec<Look> = Vec::new();
    for from in placed(areas) {
        let side = side(contours[from.contour].role);
        let Some(chain) = areas[from.contour].as_ref().filter(|_| side != 0.0) else { continue };
        // left of a contour that runs clockwise is right of it
        let side = side * chain.area().signum();
        let step = STEP.max(from.around / LOOKS_MOST);
        let count = (from.length / step).ceil().max(2.0);
        let mut k = 0.0;
        while k <= count {
            let share = k / count;
            if let Some((width, _)) = look(&from, share, side) {
                looks.push(Look { width, from: from.clone(), side, share, step: 1.0 / count });
            }
            k += 1.0;
        }
    }
    // only where it is narrower than on both sides, and there only the narrowest few
    let mut narrow: Vec<&Look> = (0..looks.len())
        .filter(|&k| {
            let here = looks[k].width;
            looks.get(k + 1).is_none_or(|next| here <= next.width) && (k == 0 || here <= looks[k - 1].width)
        })
        .map(|k| &looks[k])
        .collect();
    narrow.sort_by(|a, b| a.width.total_cmp(&b.width));
    let mut best: Option<NarrowPlace> = None;
    for at in narrow.into_iter().take(SEARCHES) {
        let width_at = |share: f64| look(&at.from, share, at.side).map_or(f64::INFINITY, |(width, _)| width);
        let (low, high) = ((at.share - at.step).max(0.0), (at.share + at.step).min(1.0));
        let share = golden(low, high, width_at);
        let share = if width_at(share) < at.width { share } else { at.share };
        let Some((width, other)) = look(&at.from, share, at.side) else { continue };
        let contour = at.from.contour;
        let better = |best: NarrowPlace| {
            width < best.width - SAME || (width < best.width + SAME && contour < best.contour)
        };
        if best.is_none_or(better) {
            let place = at.from.arc.point_at(share);
            let way = left(at.from.arc.tangent_at(share));
            let reach = at.side * width;
            let across = [place[0] + reach * way[0], place[1] + reach * way[1]];
            best = Some(NarrowPlace { width, place, across, contour, other });
        }
    }
    best
}

/// Distance from a place of an arc along its normal to the nearest arc, and whose arc that is. What lies nearer than
/// `wedge` times the distance along the same contour does not count.
fn look(from: &Placed, share: f64, side: f64, among: &[Placed], wedge: f64) -> Option<(f64, usize)> {
    let origin = from.arc.point_at(share);
    let normal = left(from.arc.tangent_at(share));
    let way = [side * normal[0], side * normal[1]];
    let here = from.along + share * from.length;
    let mut nearest: Option<(f64, usize)> = None;
    for other in among {
        let arc = &other.arc;
        // an arc is nowhere farther from its chord's middle than half its length
        let (middle, length) = (other.middle, other.length);
        let to = [middle[0] - origin[0], middle[1] - origin[1]];
        let off = (way[0] * to[1] - way[1] * to[0]).abs();
        let ahead = way[0] * to[0] + way[1] * to[1];
        let limit = nearest.map_or(f64::INFINITY, |(distance, _)| distance);
        let reach = 0.5 * length;
        if off > reach || ahead < -reach || ahead - reach > limit {
            continue;
        }
        for (distance, there) in arc.crossings_of_line(origin, way) {
            let apart = (other.along + there * length - here).abs();
            let same_corner =
                other.contour == from.contour && apart.min(other.around - apart) < wedge * distance.max(STEP);
            if distance > 1e-7 && !same_corner && nearest.is_none_or(|(least, _)| distance < least) {
                nearest = Some((distance, other.contour));
            }
        }
    }
    nearest
}

/// Argument of the least value of `f` between `low` and `high`, where it has one minimum.
fn golden(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let ratio = 0.5 * (5f64.sqrt() - 1.0);
    let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
    let (mut fa, mut fb) = (f(a), f(b));
    for _ in 0..ROUNDS {
        if fa <= fb {
            (high, b, fb) = (b, a, fa);
            a = high - ratio * (high - low);
            fa = f(a);
        } else {
            (low, a, fa) = (a, b, fb);
            b = low + ratio * (high - low);
            fb = f(b);
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Vertex;
    use approx::assert_abs_diff_eq;

    fn hole(x: f64, y: f64, radius: f64) -> Contour {
        Contour { role: Role::Slot, chain: ArcChain::circle([x, y], radius) }
    }

    #[test]
    fn the_web_between_two_holes_and_a_rim_is_found() {
        let outside = Contour { role: Role::Outside, chain: ArcChain::circle([0.0, 0.0], 20.0) };
        let near = least_web(&[hole(-3.0, 1.0, 2.0), hole(3.0, 1.5, 3.0), outside.clone()], 0.0).unwrap();
        assert_abs_diff_eq!(near.width, 6f64.hypot(0.5) - 5.0, epsilon = 1e-9);
        assert_eq!((near.contour, near.other), (0, 1));
        let rim = least_web(&[hole(16.0, 0.0, 3.0), outside], 0.0).unwrap();
        assert_abs_diff_eq!(rim.width, 1.0, epsilon = 1e-9);
    }

    #[test]
    fn a_sharp_corner_of_the_metal_is_no_web() {
        // a hole with a spike of metal that reaches into it
        let vertex = |x: f64, y: f64| Vertex { point: [x, y], bulge: 0.0 };
        let chain = ArcChain {
            vertices: vec![
                vertex(-5.0, -5.0),
                vertex(5.0, -5.0),
                vertex(5.0, 5.0),
                vertex(1.0, 5.0),
                vertex(0.0, 3.0),
                vertex(-1.0, 5.0),
                vertex(-5.0, 5.0),
            ],
            closed: true,
        };
        let outside = Contour { role: Role::Outside, chain: ArcChain::circle([0.0, 0.0], 20.0) };
        let web = least_web(&[Contour { role: Role::Slot, chain }, outside], 0.0).unwrap();
        assert!(web.width > 10.0, "{web:?}");
    }

    #[test]
    fn a_hole_is_as_wide_as_its_diameter() {
        let slot = least_slot(&[hole(5.0, 5.0, 1.5)], 0.0).unwrap();
        assert_abs_diff_eq!(slot.width, 3.0, epsilon = 1e-9);
    }
}
