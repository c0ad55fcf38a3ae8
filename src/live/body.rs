//! The formed spring as a body to turn and to press: corners, each with its place along the arm, and triangles.

use serde::Serialize;

use crate::export::stl::{Plan, PlanError};
use crate::layout::{ArmPath, Spring};
use crate::numeric::rounded;

/// Rim, arms and hub in one piece. A corner stands at the height of its place along the arm, and its lever times the
/// slope there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Body {
    /// x and y of every corner, one after the other (mm)
    pub points: Vec<f64>,
    /// place of every corner among the nodes drawn, 0 at the rim
    pub place: Vec<f64>,
    /// distance of every corner from the arm's middle outwards (mm); 0 on rim and hub
    pub lever: Vec<f64>,
    /// corners of the triangles, counter-clockwise from above, one after the other
    pub triangles: Vec<usize>,
}

impl Body {
    /// Of a spring whose arm is drawn at some of its `nodes`.
    pub fn of(spring: &Spring, arm: &ArmPath, nodes: &[usize]) -> Result<Self, PlanError> {
        // heights enter the plan linearly: with the numbers of the nodes drawn for heights, the height of every corner
        // is its place
        let numbers: Vec<f64> = (0..arm.angle.len())
            .map(|i| {
                let after = nodes.partition_point(|&node| node < i).min(nodes.len() - 1);
                let before = after.saturating_sub(1);
                let width = (nodes[after] - nodes[before]).max(1) as f64;
                after as f64 - (nodes[after] as f64 - i as f64) / width
            })
            .collect();
        let plan = Plan::of(spring, arm, &numbers)?;
        let last = (nodes.len() - 1) as f64;
        let middle = |place: f64| {
            // a place lies between 0 and the number of nodes
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let i = (place.max(0.0) as usize).min(nodes.len() - 2);
            let share = place - i as f64;
            arm.radius[nodes[i]] + share * (arm.radius[nodes[i + 1]] - arm.radius[nodes[i]])
        };
        let on_arm = |place: f64| place > 1e-9 && place < last - 1e-9;
        let lever =
            |[x, y, place]: &[f64; 3]| if on_arm(*place) { x.hypot(*y) - middle(*place) } else { 0.0 };
        Ok(Self {
            points: plan.points.iter().flat_map(|[x, y, _]| [rounded(*x, 3), rounded(*y, 3)]).collect(),
            place: plan.points.iter().map(|[_, _, place]| rounded(*place, 3)).collect(),
            lever: plan.points.iter().map(|point| rounded(lever(point), 3)).collect(),
            triangles: plan.part.iter().flatten().copied().collect(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::evenly_spread;
    use crate::spec::SpringFile;

    const SPRING: &str = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.5\n[disc]\narms = 2\nslot = 1.4\n\
        outer_diameter = 75\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\n\
        width = [3.2, 5.2]\n[former]\nfree_height = 5\n";

    #[test]
    fn the_body_lies_within_the_disc_and_covers_what_is_left_of_the_sheet() {
        let file = SpringFile::parse(SPRING, "spring.toml").unwrap();
        let spring = Spring::from_file(&file, None).unwrap();
        let arm = spring.arm(240).unwrap();
        let nodes = evenly_spread(arm.angle.len(), 96);
        let body = Body::of(&spring, &arm, &nodes).unwrap();
        let corners = body.place.len();
        assert_eq!((body.points.len(), body.lever.len()), (2 * corners, corners));
        assert!(body.triangles.iter().all(|&corner| corner < corners));
        let area: f64 = body
            .triangles
            .chunks(3)
            .map(|t| {
                let at = |k: usize| [body.points[2 * t[k]], body.points[2 * t[k] + 1]];
                let ([ax, ay], [bx, by], [cx, cy]) = (at(0), at(1), at(2));
                0.5 * ((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))
            })
            .sum();
        // Guldin: a slot takes its width times the length of its middle
        let disc = std::f64::consts::PI * (37.5 * 37.5 - spring.disc.bore_radius.powi(2));
        assert!(area > 0.5 * disc && area < 0.9 * disc, "{area} of {disc}");
        // corners of the arm stand half a width from its middle
        let most = body.lever.iter().fold(0.0, |most: f64, lever| most.max(lever.abs()));
        let widest = arm.width.iter().fold(0.0, |most: f64, width| most.max(*width));
        assert!((most - 0.5 * widest).abs() < 0.05, "{most} beside {widest}");
        assert!(body.place.iter().all(|place| (0.0..=95.0).contains(place)));
    }
}
