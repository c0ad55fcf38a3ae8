//! The blank: what is cut, as a picture and in numbers.

use crate::layout::Spring;
use crate::outline::{ArcChain, CutRules, CutSummary, Outline, OutlineError, OutlineFinding, Role, findings};
use crate::plot::PlanView;

/// Largest turn of one edge of a polygon that stands for an arc (rad).
const STEP: f64 = 0.06;

/// The blank as it is cut.
#[derive(Debug, Clone)]
pub(super) struct Blank {
    pub plan: PlanView,
    pub rules: CutRules,
    pub cut: CutSummary,
    pub findings: Vec<OutlineFinding>,
}

impl Blank {
    /// Draws a spring by the rules of its process.
    pub fn of(spring: &Spring, rules: CutRules) -> Result<Self, OutlineError> {
        let outline = Outline::of(spring, &rules)?;
        let mut plan = PlanView::default();
        for contour in &outline.contours {
            let polygon = polygon(&contour.chain);
            match contour.role {
                Role::Outside => plan.outside = polygon,
                Role::Bore | Role::Slot => plan.holes.push(polygon),
                Role::CutOnLine => plan.lines.push(polygon),
                Role::Path | Role::Entry => {}
            }
        }
        let findings = findings(&outline.contours, &rules);
        Ok(Self { plan, cut: CutSummary::of(&outline, &rules), findings, rules })
    }
}

/// A chain of lines and arcs as a polygon.
fn polygon(chain: &ArcChain) -> Vec<[f64; 2]> {
    let mut points: Vec<[f64; 2]> = chain.vertices.first().map(|vertex| vertex.point).into_iter().collect();
    for arc in chain.arcs() {
        let mut steps = 1;
        while STEP * f64::from(steps) < arc.sweep().abs() {
            steps += 1;
        }
        points.extend((1..steps).map(|k| arc.point_at(f64::from(k) / f64::from(steps))));
        points.push(arc.end);
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_polygon_of_a_circle_lies_on_it() {
        let points = polygon(&ArcChain::circle([2.0, 1.0], 5.0));
        assert!(points.len() > 90, "{}", points.len());
        for [x, y] in points {
            assert!(((x - 2.0).hypot(y - 1.0) - 5.0).abs() < 1e-9, "({x}, {y})");
        }
    }
}
