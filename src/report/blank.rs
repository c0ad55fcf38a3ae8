//! The blank: what is cut, as a picture and in numbers.

use crate::layout::Spring;
use crate::outline::{ArcChain, CutRules, CutSummary, Finding, Outline, OutlineError, Role, findings};
use crate::plot::PlanView;

/// Largest turn of one edge of a polygon that stands for an arc (rad).
const STEP: f64 = 0.06;

/// What is cut.
#[derive(Debug, Clone)]
pub(super) struct Blank {
    pub plan: PlanView,
    pub rules: CutRules,
    pub cut: CutSummary,
    pub findings: Vec<Finding>,
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
        let (a, b) = (arc.start, arc.end);
        let sweep = 4.0 * arc.bulge.atan();
        let mut steps = 1;
        while STEP * f64::from(steps) < sweep.abs() {
            steps += 1;
        }
        if arc.bulge != 0.0 && steps > 1 {
            // the centre lies left of the chord for a short counter-clockwise arc
            let reach = (1.0 - arc.bulge * arc.bulge) / (4.0 * arc.bulge);
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let centre = [0.5 * (a[0] + b[0]) - reach * dy, 0.5 * (a[1] + b[1]) + reach * dx];
            let arm = [a[0] - centre[0], a[1] - centre[1]];
            for k in 1..steps {
                let (sine, cosine) = (sweep * f64::from(k) / f64::from(steps)).sin_cos();
                points.push([
                    centre[0] + cosine * arm[0] - sine * arm[1],
                    centre[1] + sine * arm[0] + cosine * arm[1],
                ]);
            }
        }
        points.push(b);
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
