//! Validity of a drawing for the process: all findings, each with its place.
//!
//! The rules for contours are those that nesting and machine software ask for (closed, simple, nothing twice; common
//! practice, no source); the rules for widths come with [`CutRules`].

use super::arc::{cross, dot};
use super::finding::{DrawingRule, Grade, OutlineFinding};
use super::web::{areas, least_slot, least_web};
use super::{Arc, ArcChain, Contour, CutRules, Point, Role};

/// Two ends this close are one point, two arcs this close lie on each other (mm).
const SAME: f64 = 1e-4;

/// Corners that turn less than this are smooth (rad): coordinates in a file are rounded.
const SMOOTH: f64 = 0.01;

/// Room beyond two kerfs in which a sliver falls out and can jam (mm; derived from what fits between catcher slats).
const SLIVER: f64 = 1.5;

/// Tolerance of widths against their limits (mm).
const ENOUGH: f64 = 1e-6;

/// Everything found, geometry first; empty is a sound drawing.
pub fn findings(contours: &[Contour], rules: &CutRules) -> Vec<OutlineFinding> {
    let mut found = geometry(contours, rules);
    if worst(&found) != Some(Grade::Fault) {
        found.extend(widths(contours, rules));
    }
    found
}

/// Findings in the contours themselves, whatever the process.
pub(super) fn geometry(contours: &[Contour], rules: &CutRules) -> Vec<OutlineFinding> {
    let mut found = shapes(contours, rules);
    if found.iter().any(|finding| finding.rule == DrawingRule::Finite) {
        return found;
    }
    found.extend(meetings(contours));
    found.extend(order(contours));
    if worst(&found) != Some(Grade::Fault) {
        found.extend(nesting(contours));
    }
    found
}

/// The worst grade among findings.
pub fn worst(findings: &[OutlineFinding]) -> Option<Grade> {
    findings.iter().map(|finding| finding.grade).max()
}

fn start(chain: &ArcChain) -> Point {
    chain.vertices.first().map_or([f64::NAN; 2], |vertex| vertex.point)
}

fn finding(
    rule: DrawingRule,
    grade: Grade,
    contour: usize,
    place: Point,
    value: f64,
    limit: f64,
) -> OutlineFinding {
    OutlineFinding { rule, grade, contour: contour + 1, place, value, limit }
}

/// Rules on one contour alone.
fn shapes(contours: &[Contour], rules: &CutRules) -> Vec<OutlineFinding> {
    let mut found = Vec::new();
    for (i, contour) in contours.iter().enumerate() {
        let chain = &contour.chain;
        let mut add = |rule, grade, place, value, limit| {
            found.push(finding(rule, grade, i, place, value, limit));
        };
        if chain.is_empty()
            || chain
                .vertices
                .iter()
                .any(|v| !(v.point[0].is_finite() && v.point[1].is_finite() && v.bulge.is_finite()))
        {
            add(DrawingRule::Finite, Grade::Fault, start(chain), f64::NAN, 0.0);
            continue;
        }
        if !chain.closed && matches!(contour.role, Role::Bore | Role::Slot | Role::Outside) {
            let (first, last) = (start(chain), chain.vertices[chain.vertices.len() - 1].point);
            let gap = (first[0] - last[0]).hypot(first[1] - last[1]);
            add(DrawingRule::Closed, Grade::Fault, last, gap, 0.0);
        }
        let shortest = chain.arcs().min_by(|a, b| a.length().total_cmp(&b.length()));
        if let Some(piece) = shortest.filter(|piece| piece.length() < rules.segment_min - ENOUGH) {
            add(DrawingRule::ShortPiece, Grade::Limit, piece.start, piece.length(), rules.segment_min);
        }
        if let Some(large) = chain.arcs().find(|arc| arc.bulge.abs() > 1.0 + 1e-9) {
            add(DrawingRule::LargeArc, Grade::Limit, large.start, large.sweep().abs(), std::f64::consts::PI);
        }
        if chain.closed
            && let Some((place, radius)) = sharpest(contour)
            && radius < rules.inside_radius_min - ENOUGH
        {
            add(DrawingRule::InsideRadius, Grade::Limit, place, radius, rules.inside_radius_min);
        }
    }
    found
}

/// The sharpest inside corner of the metal along a contour and its radius, 0 where two pieces meet at an angle.
fn sharpest(contour: &Contour) -> Option<(Point, f64)> {
    let chain = &contour.chain;
    // metal lies outside a hole and inside the outside: an inside corner turns with the cut-away area
    let turn = chain.area().signum() * if contour.role == Role::Outside { -1.0 } else { 1.0 };
    let count = chain.len();
    let arcs = (0..count)
        .map(|i| chain.arc(i))
        .filter(|arc| turn * arc.curvature() > 0.0)
        .map(|arc| (arc.start, arc.radius()));
    let corners = (0..count).filter_map(|i| {
        let (before, after) = (chain.arc(i), chain.arc((i + 1) % count));
        let (a, b) = (before.tangent_at(1.0), after.tangent_at(0.0));
        (turn * cross(a, b).atan2(dot(a, b)) > SMOOTH).then_some((after.start, 0.0))
    });
    arcs.chain(corners).min_by(|a, b| a.1.total_cmp(&b.1))
}

/// One arc of a drawing with its box.
struct Boxed {
    arc: Arc,
    low: Point,
    high: Point,
    contour: usize,
    index: usize,
}

/// Crossings, touches and what is drawn twice.
fn meetings(contours: &[Contour]) -> Vec<OutlineFinding> {
    let mut all = Vec::new();
    for (contour, one) in contours.iter().enumerate() {
        for (index, arc) in one.chain.arcs().enumerate() {
            let [low, high] = arc.extents();
            all.push(Boxed { arc, low, high, contour, index });
        }
    }
    all.sort_by(|a, b| {
        a.low[0].total_cmp(&b.low[0]).then(a.contour.cmp(&b.contour)).then(a.index.cmp(&b.index))
    });
    let mut found = Vec::new();
    for (i, a) in all.iter().enumerate() {
        for b in all[i + 1..].iter().take_while(|b| b.low[0] <= a.high[0] + SAME) {
            if b.low[1] > a.high[1] + SAME || a.low[1] > b.high[1] + SAME {
                continue;
            }
            let (rule, place) = if lie_on_each_other(&a.arc, &b.arc) {
                (DrawingRule::Duplicate, b.arc.point_at(0.5))
            } else if let Some(place) = meeting(a, b, &contours[a.contour].chain) {
                (DrawingRule::Crossing, place)
            } else {
                continue;
            };
            // one finding for each pair of contours and rule is enough
            let (one, two) = (a.contour.min(b.contour), a.contour.max(b.contour));
            let known = found.iter().any(|(pair, finding): &((usize, usize), OutlineFinding)| {
                *pair == (one, two) && finding.rule == rule
            });
            if !known {
                found.push(((one, two), finding(rule, Grade::Fault, two, place, 0.0, 0.0)));
            }
        }
    }
    found.sort_by_key(|(pair, _)| *pair);
    found.into_iter().map(|(_, finding)| finding).collect()
}

fn lie_on_each_other(a: &Arc, b: &Arc) -> bool {
    let on = |arc: &Arc, other: &Arc| {
        [0.1, 0.3, 0.5, 0.7, 0.9]
            .into_iter()
            .filter(|&share| {
                let (at, away) = other.nearest(arc.point_at(share));
                away < SAME && (0.01..=0.99).contains(&at)
            })
            .count()
            >= 2
    };
    on(a, b) || on(b, a)
}

/// Where two arcs meet, the joint of neighbours apart.
fn meeting(a: &Boxed, b: &Boxed, chain: &ArcChain) -> Option<Point> {
    let count = chain.len();
    let follows =
        |first: usize, second: usize| (first + 1) % count == second && (chain.closed || second != 0);
    let (a_first, b_first) = if a.contour == b.contour {
        (follows(a.index, b.index), follows(b.index, a.index))
    } else {
        (false, false)
    };
    let joint = |place: Point| {
        let near = |point: Point| (place[0] - point[0]).hypot(place[1] - point[1]) < SAME;
        (a_first && near(a.arc.end)) || (b_first && near(b.arc.end))
    };
    let crossing = a.arc.crossings(&b.arc).into_iter().map(|(share, _)| a.arc.point_at(share));
    let touching = [b.arc.start, b.arc.end]
        .into_iter()
        .filter(|&point| a.arc.nearest(point).1 < SAME)
        .chain([a.arc.start, a.arc.end].into_iter().filter(|&point| b.arc.nearest(point).1 < SAME));
    crossing.chain(touching).find(|&place| !joint(place))
}

fn order(contours: &[Contour]) -> Vec<OutlineFinding> {
    let mut found = Vec::new();
    let rank = |role: Role| match role {
        Role::Bore => 0,
        Role::Slot | Role::CutOnLine => 1,
        Role::Outside => 2,
        Role::Path | Role::Entry => 3,
    };
    for (i, pair) in contours.windows(2).enumerate() {
        if rank(pair[1].role) < rank(pair[0].role) {
            found.push(finding(DrawingRule::Order, Grade::Advice, i + 1, start(&pair[1].chain), 0.0, 0.0));
        }
    }
    found
}

/// Whether a point lies inside a closed chain: the chain's winding about it.
pub(super) fn contains(chain: &ArcChain, point: Point) -> bool {
    let mut turn = 0.0;
    for arc in chain.arcs() {
        // short pieces: none may wind by half a turn about the point
        for k in 0..8 {
            let piece = [arc.point_at(f64::from(k) / 8.0), arc.point_at(f64::from(k + 1) / 8.0)];
            let (a, b) = (
                [piece[0][0] - point[0], piece[0][1] - point[1]],
                [piece[1][0] - point[0], piece[1][1] - point[1]],
            );
            turn += cross(a, b).atan2(dot(a, b));
        }
    }
    turn.abs() > std::f64::consts::PI
}

/// Nothing meets by now, so one point of a contour tells where all of it lies.
fn nesting(contours: &[Contour]) -> Vec<OutlineFinding> {
    let mut found = Vec::new();
    for (i, inner) in contours.iter().enumerate() {
        if inner.role == Role::Outside {
            continue;
        }
        let point = start(&inner.chain);
        let inside_outside = contours
            .iter()
            .filter(|outer| outer.role == Role::Outside && outer.chain.closed)
            .any(|outer| contains(&outer.chain, point));
        let inside_hole = contours.iter().enumerate().any(|(k, outer)| {
            k != i && outer.role != Role::Outside && outer.chain.closed && contains(&outer.chain, point)
        });
        if !inside_outside || inside_hole {
            found.push(finding(DrawingRule::Nesting, Grade::Fault, i, point, 0.0, 0.0));
        }
    }
    found
}

/// Rules of the process on what is left between the cuts.
fn widths(contours: &[Contour], rules: &CutRules) -> Vec<OutlineFinding> {
    let mut found = Vec::new();
    if let Some(web) = least_web(contours, rules.kerf)
        && web.width < rules.arm_min - ENOUGH
    {
        found.push(finding(
            DrawingRule::LeastWeb,
            Grade::Limit,
            web.contour,
            web.place,
            web.width,
            rules.arm_min,
        ));
    }
    // a line that is cut on is as wide as the cut: there is nothing to check
    let closed: Vec<Contour> = contours
        .iter()
        .filter(|contour| contour.role == Role::Slot && contour.chain.closed)
        .cloned()
        .collect();
    if let Some(slot) = least_slot(&closed, rules.kerf) {
        let contour = contours
            .iter()
            .position(|contour| contour.chain == closed[slot.contour].chain)
            .unwrap_or_default();
        let mut add = |rule, grade, value, limit| {
            found.push(finding(rule, grade, contour, slot.place, value, limit));
        };
        if slot.width < rules.slot_min - ENOUGH {
            add(DrawingRule::LeastSlot, Grade::Limit, slot.width, rules.slot_min);
        } else if slot.width < rules.closed_slot_min - ENOUGH {
            add(DrawingRule::TwoPasses, Grade::Limit, slot.width, rules.closed_slot_min);
        }
        let sliver = slot.width - 2.0 * rules.kerf;
        if rules.kerf > 0.0 && sliver > ENOUGH && sliver < SLIVER {
            add(DrawingRule::LooseSliver, Grade::Advice, sliver, SLIVER);
        }
    }
    if let Some([from, to]) = rules.sheet
        && !(from..=to).contains(&rules.thickness)
    {
        let limit = if rules.thickness > to { to } else { from };
        found.push(finding(DrawingRule::SheetThickness, Grade::Limit, 0, [0.0; 2], rules.thickness, limit));
    }
    // a line the cut cannot follow has no width to check
    for (i, area) in areas(contours, rules.kerf).iter().enumerate() {
        if area.is_none() && contours[i].role == Role::CutOnLine {
            let chain = &contours[i].chain;
            let tight = chain.arcs().map(|arc| arc.radius()).fold(f64::INFINITY, f64::min);
            found.push(finding(
                DrawingRule::InsideRadius,
                Grade::Limit,
                i,
                start(chain),
                tight,
                0.5 * rules.kerf,
            ));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::Vertex;
    use crate::spec::Process;

    fn rules() -> CutRules {
        CutRules::of(&Process::default(), 1.0)
    }

    fn circle(role: Role, x: f64, radius: f64) -> Contour {
        Contour { role, chain: ArcChain::circle([x, 0.0], radius) }
    }

    fn kinds(contours: &[Contour]) -> Vec<DrawingRule> {
        findings(contours, &rules()).iter().map(|finding| finding.rule).collect()
    }

    fn square(role: Role, x: f64, side: f64) -> Contour {
        let corner = |dx: f64, dy: f64| Vertex { point: [x + dx * side, dy * side], bulge: 0.0 };
        Contour {
            role,
            chain: ArcChain {
                vertices: vec![corner(0.0, 0.0), corner(1.0, 0.0), corner(1.0, 1.0), corner(0.0, 1.0)],
                closed: true,
            },
        }
    }

    #[test]
    fn a_washer_is_sound() {
        assert!(kinds(&[circle(Role::Bore, 0.0, 4.0), circle(Role::Outside, 0.0, 20.0)]).is_empty());
    }

    #[test]
    fn crossing_touching_and_doubled_contours_are_found() {
        let outside = circle(Role::Outside, 0.0, 20.0);
        let (a, b) = (circle(Role::Slot, 5.0, 2.0), circle(Role::Slot, 8.0, 2.0));
        assert_eq!(kinds(&[a.clone(), b, outside.clone()]), [DrawingRule::Crossing]);
        assert_eq!(
            kinds(&[a.clone(), circle(Role::Slot, 9.0, 2.0), outside.clone()]),
            [DrawingRule::Crossing]
        );
        assert!(kinds(&[a.clone(), a.clone(), outside.clone()]).contains(&DrawingRule::Duplicate));
        let far = circle(Role::Slot, 30.0, 2.0);
        assert_eq!(kinds(&[a, far, outside]), [DrawingRule::Nesting]);
    }

    #[test]
    fn a_contour_that_crosses_itself_is_found() {
        let mut eight = square(Role::Slot, 3.0, 4.0);
        eight.chain.vertices.swap(1, 2);
        assert!(kinds(&[eight, circle(Role::Outside, 0.0, 20.0)]).contains(&DrawingRule::Crossing));
    }

    #[test]
    fn a_sharp_inside_corner_and_a_thin_web_are_found_with_place() {
        let found = findings(
            &[square(Role::Slot, 3.0, 4.0), circle(Role::Slot, 9.5, 2.0), circle(Role::Outside, 0.0, 20.0)],
            &rules(),
        );
        let rules: Vec<DrawingRule> = found.iter().map(|finding| finding.rule).collect();
        assert_eq!(rules, [DrawingRule::InsideRadius, DrawingRule::LeastWeb]);
        assert_eq!(found[0].value, 0.0);
        assert!((found[1].value - 0.5).abs() < 1e-9 && found[1].place[0] > 6.9, "{:?}", found[1]);
        assert!(found[1].to_string().contains("0.500 mm"), "{}", found[1]);
    }

    #[test]
    fn an_open_outside_and_a_wrong_order_are_found() {
        let mut open = circle(Role::Outside, 0.0, 20.0);
        open.chain.closed = false;
        assert!(kinds(&[open]).contains(&DrawingRule::Closed));
        let swapped = [circle(Role::Outside, 0.0, 20.0), circle(Role::Bore, 0.0, 4.0)];
        assert_eq!(kinds(&swapped), [DrawingRule::Order]);
    }

    #[test]
    fn slots_are_told_apart_by_their_width_in_kerfs() {
        let slot = |width: f64| {
            let vertex = |x: f64, y: f64, bulge: f64| Vertex { point: [x, y], bulge };
            let half = 0.5 * width;
            let chain = ArcChain {
                vertices: vec![
                    vertex(4.0, -half, 0.0),
                    vertex(10.0, -half, 1.0),
                    vertex(10.0, half, 0.0),
                    vertex(4.0, half, 1.0),
                ],
                closed: true,
            };
            kinds(&[Contour { role: Role::Slot, chain }, circle(Role::Outside, 0.0, 20.0)])
        };
        assert!(slot(0.6).contains(&DrawingRule::LeastSlot));
        assert_eq!(slot(1.1), [DrawingRule::TwoPasses]);
        assert!(slot(1.5).is_empty());
        assert_eq!(slot(2.5), [DrawingRule::LooseSliver]);
        assert!(slot(4.0).is_empty());
    }
}
