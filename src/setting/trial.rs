//! A trial: heights measured on a spring that was set, and the next former from them.

use serde::Serialize;

use super::plan::{LEAST_SLOPE, NO_TWIST, Plan, scaled};
use crate::layout::ArmPath;

/// Shares of the free height at which a trial is measured.
const SHARES: [f64; 3] = [1.0 / 3.0, 2.0 / 3.0, 1.0];

/// Place at which a trial is measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TrialPlace {
    /// radius of the arm centre (mm)
    pub radius_mm: f64,
    /// height of the former there (mm)
    pub former_mm: f64,
    /// height wanted of the spring there, pressed flat and released (mm)
    pub height_mm: f64,
}

/// Height measured at one radius of an arm, above the rim's level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// radius of the arm centre (mm)
    pub radius: f64,
    /// height (mm)
    pub height: f64,
}

impl TrialPlace {
    /// The three places on an arm whose former stands at `heights` (mm at its nodes).
    pub(super) fn of(arm: &ArmPath, heights: &[f64]) -> Vec<Self> {
        let end = arm.height.len() - 1;
        let places = SHARES.map(|share| {
            let i = arm.height.partition_point(|height| *height < share * arm.height[end]).min(end);
            Self { radius_mm: arm.radius[i], former_mm: heights[i], height_mm: arm.height[i] }
        });
        places.to_vec()
    }
}

impl Plan {
    /// Heights of the next former (mm at the nodes of `arm`) from a trial that was set on a former at `on` heights and
    /// measured at `readings`, after pressing flat.
    ///
    /// Between readings the ratio of measured to free rise holds; each node is moved by what is missing there over the
    /// slope of the spring-back, so that the strength and the relaxation need not be known.
    pub fn next_former(&self, arm: &ArmPath, on: &[f64], readings: &[Reading]) -> Vec<f64> {
        let mut sorted = readings.to_vec();
        sorted.sort_by(|a, b| b.radius.total_cmp(&a.radius));
        let free = &arm.height;
        let mut ratio = vec![1.0; free.len()];
        let (mut begin, mut measured) = (0, free[0]);
        for reading in sorted {
            let end = arm.radius.partition_point(|node| *node > reading.radius).min(free.len() - 1);
            let rise = free[end] - free[begin];
            if end > begin && rise.abs() > 0.0 {
                ratio[begin..=end].fill((reading.height - measured) / rise);
                begin = end;
                measured = reading.height;
            }
        }
        let innermost = ratio[begin];
        ratio[begin..].fill(innermost);
        let last = free.len() - 1;
        let factor: Vec<f64> = (0..=last)
            .map(|i| {
                let left = self.left[i];
                let (a, b) = (i.saturating_sub(1), (i + 1).min(last));
                let wanted = self.wanted[b] - self.wanted[a];
                if left <= NO_TWIST || wanted.abs() < 1e-12 {
                    return 1.0;
                }
                let used = left * (on[b] - on[a]) / wanted;
                let missing = left * (1.0 - ratio[i]);
                let slope = self.forming.left_slope(used).max(LEAST_SLOPE);
                (used + missing / slope).max(0.0) / left
            })
            .collect();
        scaled(&self.wanted, &factor)
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::tests::spring;
    use super::super::strip::Forming;
    use super::*;
    use crate::setting::ways_for;

    #[test]
    fn trials_at_three_radii_lead_to_the_wanted_height() {
        let (spring, arm) = spring();
        for (name, relaxed, strength) in [("clamped-relief", 0.27, 1.05), ("cold", 0.0, 1.06), ("cold", 0.0, 0.94)] {
            let rows = ways_for(Some("1.4310+C1300"), 1.0);
            let row = rows.into_iter().find(|row| row.way.name() == name).unwrap();
            let plan = Plan::of(row, &arm, 2, &arm.height, &spring.sheet, 1131.0);
            // the workshop's strip and furnace are not the middle of their ranges
            let shop = Forming { relaxed, flow: plan.forming.flow };
            let let_go = |on: &[f64]| {
                let mut left = vec![0.0];
                for i in 1..on.len() {
                    let wanted = arm.height[i] - arm.height[i - 1];
                    let measure = 0.5 * (plan.left[i - 1] + plan.left[i]);
                    let used = measure * (on[i] - on[i - 1]) / wanted.max(1e-12);
                    let kept = strength * shop.left(used / strength);
                    left.push(left[i - 1] + wanted * kept / measure.max(1e-9));
                }
                left
            };
            let end = arm.height.len() - 1;
            let missing = |heights: &[f64]| (heights[end] / arm.height[end] - 1.0).abs();
            let mut former = plan.heights.clone();
            let first = missing(&let_go(&former));
            for _ in 0..2 {
                let set = let_go(&former);
                let readings: Vec<Reading> = [end / 3, 2 * end / 3, end]
                    .map(|i| Reading { radius: arm.radius[i], height: set[i] })
                    .to_vec();
                former = plan.next_former(&arm, &former, &readings);
            }
            let second = missing(&let_go(&former));
            assert!(first > 0.04, "{name}: {first}");
            assert!(second < 0.012, "{name}: {second} after {first}");
        }
    }

    #[test]
    fn a_trial_that_fits_leaves_the_former_as_it_is() {
        let (spring, arm) = spring();
        let plan = Plan::of(ways_for(Some("1.4310+C1300"), 1.0)[0], &arm, 2, &arm.height, &spring.sheet, 1131.0);
        let readings: Vec<Reading> =
            plan.places.iter().map(|place| Reading { radius: place.radius_mm, height: place.height_mm }).collect();
        let next = plan.next_former(&arm, &plan.heights, &readings);
        for (next, former) in next.iter().zip(&plan.heights) {
            assert!((next - former).abs() < 0.02 * plan.former_mm(), "{next} {former}");
        }
    }
}
