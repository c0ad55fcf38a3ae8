//! The former to make: its height at every node of the arm, for one way of setting.

use serde::Serialize;

use super::strip::{Forming, surface_measure};
use super::way::WayRow;
use crate::layout::{ArmPath, SheetProperties};
use crate::model::stress::flat_shear;

/// Scatter of the proof strength within an order of strip: 150 MPa in about 1500 (EN 10132), ±.
const STRENGTH_SCATTER: f64 = 0.05;

/// Measure below which a node has no twist to speak of.
const NO_TWIST: f64 = 1e-6;

/// One way of setting worked out for one spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// the way and its data
    pub row: WayRow,
    /// height of every arm node on the former to make (mm), outer root to inner root
    pub heights: Vec<f64>,
    /// height to be left when it is let go (mm)
    pub left_mm: f64,
    /// largest surface measure on the former, elastic surface stress over the proof strength while it is formed
    pub measure: f64,
    /// relative change of height per relative change of proof strength
    pub strength_gain: f64,
    /// relative change of height per change of the share relaxed
    pub relaxation_gain: f64,
    /// height of the first trial, ± share: scatter of strength and range of relaxation
    pub first_trial_band: f64,
    #[serde(skip)]
    left: Vec<f64>,
    #[serde(skip)]
    former: Vec<f64>,
}

/// Heights at the nodes whose increments are those of `wanted` times the mean `factor` of their ends.
fn scaled(wanted: &[f64], factor: &[f64]) -> Vec<f64> {
    let mut heights = vec![wanted[0]];
    for i in 1..wanted.len() {
        heights.push(heights[i - 1] + 0.5 * (factor[i - 1] + factor[i]) * (wanted[i] - wanted[i - 1]));
    }
    heights
}

impl Plan {
    /// For an arm that is to stand at `wanted` heights (mm at its nodes) once let go, of a finished proof strength
    /// `proof` (MPa).
    pub fn of(row: &WayRow, arm: &ArmPath, wanted: &[f64], sheet: &SheetProperties, proof: f64) -> Self {
        let forming_proof = row.forming_proof.unwrap_or(proof);
        let forming = Forming { relaxed: row.relaxed_middle(), hardening: 0.0 };
        let left = measures(arm, wanted, sheet, forming_proof);
        let former: Vec<f64> = left.iter().map(|left| forming.on_former(*left)).collect();
        let factor: Vec<f64> = left
            .iter()
            .zip(&former)
            .map(|(left, former)| if *left > NO_TWIST { former / left } else { 1.0 })
            .collect();
        let heights = scaled(wanted, &factor);
        let (mut strength_gain, mut relaxation_gain, mut weights) = (0.0, 0.0, 0.0);
        for i in 1..wanted.len() {
            if left[i] > NO_TWIST {
                let weight = (wanted[i] - wanted[i - 1]).abs();
                strength_gain += weight * forming.strength_gain(former[i]);
                relaxation_gain += weight * forming.relaxation_gain(former[i]);
                weights += weight;
            }
        }
        if weights > 0.0 {
            strength_gain /= weights;
            relaxation_gain /= weights;
        }
        let half_range = 0.5 * (row.relaxed[1] - row.relaxed[0]);
        Self {
            row: row.clone(),
            left_mm: wanted[wanted.len() - 1],
            measure: former.iter().copied().fold(0.0, f64::max),
            strength_gain,
            relaxation_gain,
            first_trial_band: (strength_gain * STRENGTH_SCATTER).hypot(relaxation_gain * half_range),
            heights,
            left,
            former,
        }
    }

    /// Height of the former to make at the hub (mm).
    pub fn former_mm(&self) -> f64 {
        self.heights[self.heights.len() - 1]
    }

    /// Heights of the next former from a trial: `readings` are radius and height left (mm), measured from the rim's
    /// level; `wanted` as in [`Plan::of`].
    ///
    /// Between readings the ratio of measured to wanted rise holds; each node is moved by what is missing there over
    /// the slope of the spring-back, so that the strength and the relaxation need not be known.
    pub fn next_former(&self, arm: &ArmPath, wanted: &[f64], readings: &[(f64, f64)]) -> Vec<f64> {
        let forming = Forming { relaxed: self.row.relaxed_middle(), hardening: 0.0 };
        let mut sorted = readings.to_vec();
        sorted.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut ratio = vec![1.0; wanted.len()];
        let (mut begin, mut measured) = (0, wanted[0]);
        for (radius, height) in sorted {
            let end = arm.radius.partition_point(|node| *node > radius).min(wanted.len() - 1);
            let rise = wanted[end] - wanted[begin];
            if end > begin && rise.abs() > 0.0 {
                ratio[begin..=end].fill((height - measured) / rise);
                begin = end;
                measured = height;
            }
        }
        let last = ratio[begin];
        ratio[begin..].fill(last);
        let factor: Vec<f64> = (0..wanted.len())
            .map(|i| {
                let (left, former) = (self.left[i], self.former[i]);
                if left <= NO_TWIST {
                    return 1.0;
                }
                let missing = left * (1.0 - ratio[i]);
                // an elastic cold former has no slope: it is moved by the whole of what is missing
                let slope = forming.left_slope(former.max(1.0 + 1e-9)).max(0.1);
                (former + missing / slope).max(0.0) / left
            })
            .collect();
        scaled(wanted, &factor)
    }

    /// Steps in the workshop, in order.
    pub fn steps(&self) -> Vec<String> {
        let row = &self.row;
        let mut steps = vec![format!("order: {}", row.order)];
        if row.growth != 0.0 {
            steps.push(format!(
                "the heat changes lengths by {:+.2} %: cut the outline {:.5} times as large",
                100.0 * row.growth,
                1.0 / (1.0 + row.growth)
            ));
        }
        steps.push("deburr the blank, burrs to the compression side; guide hub and rim so that the arms follow the former's shape; do not pull by the hub alone".to_owned());
        steps.push(format!(
            "form over the former to make, {:.2} mm at the hub ({:.2} times the {:.2} mm to be left), behind a shield",
            self.former_mm(),
            self.former_mm() / self.left_mm,
            self.left_mm
        ));
        steps.push(format!("heat: {}", row.heat));
        steps.push("press flat 5 times with a captive bolt through the hub, then measure".to_owned());
        steps.push(format!(
            "trial: expect ±{:.0} % height on the first former; measure the height at three radii of 3 blanks and change \
             the former by what is missing; after that ±{:.0} to {:.0} %",
            100.0 * self.first_trial_band,
            row.height_percent[0],
            row.height_percent[1]
        ));
        steps.push(format!("heed: {}", row.hazard));
        steps
    }

    /// Where the numbers come from.
    pub fn source(&self) -> String {
        let [low, high] = self.row.relaxed;
        format!("{}; share relaxed {low:.2} to {high:.2} ({})", self.row.source, self.row.mark.words())
    }
}

/// Surface measure at every node of an arm at `heights`: twist of level sections and bending along the arm.
fn measures(arm: &ArmPath, heights: &[f64], sheet: &SheetProperties, proof: f64) -> Vec<f64> {
    let last = arm.angle.len() - 1;
    let slope = |values: &[f64], i: usize| {
        let (a, b) = (i.saturating_sub(1), (i + 1).min(last));
        (values[b] - values[a]) / (arm.angle[b] - arm.angle[a])
    };
    let rise: Vec<f64> = (0..=last).map(|i| slope(heights, i)).collect();
    let poisson = sheet.poisson();
    // a strip wider than about eight thicknesses cannot contract across
    let plate = 1.0 / (1.0 - poisson * poisson);
    (0..=last)
        .map(|i| {
            let (width, radius) = (arm.width[i], arm.radius[i]);
            let shear = flat_shear(sheet.shear_modulus, width, sheet.thickness, rise[i], radius);
            let modulus = sheet.youngs_modulus * if width > 8.0 * sheet.thickness { plate } else { 1.0 };
            let bending = modulus * 0.5 * sheet.thickness * slope(&rise, i) / (radius * radius);
            surface_measure(shear, bending, proof)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Spring;
    use crate::setting::ways_for;
    use crate::spec::SpringFile;
    use approx::assert_relative_eq;

    const TEXT: &str = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\narms = 2\nslot = 1.4\n\
        outer_diameter = 78\nbore_diameter = 10\narm_outer_diameter = 66\narm_inner_diameter = 24\n[arm]\nradius = [12, 33]\n\
        width = [3.2, 5.4]\n[former]\nfree_height = 7.0\n";

    fn spring() -> (Spring, ArmPath) {
        let file = SpringFile::parse(TEXT, "spring.toml").unwrap();
        let spring = Spring::from_file(&file, None).unwrap();
        let arm = spring.arm(120).unwrap();
        (spring, arm)
    }

    #[test]
    fn a_trial_at_three_radii_leads_to_the_wanted_height() {
        let (spring, arm) = spring();
        let mut row = ways_for(Some("1.4310+C1300"), 1.0)[0].clone();
        let plan = Plan::of(&row, &arm, &arm.height, &spring.sheet, 1100.0);
        // the workshop's furnace relaxes less than the middle of the range
        row.relaxed = [0.28, 0.28];
        let furnace = Forming { relaxed: 0.28, hardening: 0.0 };
        let let_go = |heights: &[f64]| {
            let mut left = vec![0.0];
            for i in 1..heights.len() {
                let wanted = arm.height[i] - arm.height[i - 1];
                let measure = 0.5 * (plan.left[i - 1] + plan.left[i]);
                let on_former = measure * (heights[i] - heights[i - 1]) / wanted.max(1e-12);
                left.push(left[i - 1] + wanted * furnace.left(on_former) / measure.max(1e-9));
            }
            left
        };
        let end = arm.height.len() - 1;
        let first = let_go(&plan.heights);
        let places = [end / 3, 2 * end / 3, end];
        let readings: Vec<(f64, f64)> = places.iter().map(|i| (arm.radius[*i], first[*i])).collect();
        let second = let_go(&plan.next_former(&arm, &arm.height, &readings));
        let missing = |heights: &[f64]| (heights[end] / arm.height[end] - 1.0).abs();
        assert!(missing(&first) > 0.05, "{}", first[end]);
        assert!(missing(&second) < 0.25 * missing(&first), "{} after {}", second[end], first[end]);
    }

    #[test]
    fn full_relaxation_needs_a_former_as_high_as_the_spring() {
        let (spring, arm) = spring();
        let mut row = ways_for(Some("1.4310+C1300"), 1.0)[0].clone();
        row.relaxed = [1.0, 1.0];
        let plan = Plan::of(&row, &arm, &arm.height, &spring.sheet, 1100.0);
        assert_relative_eq!(plan.former_mm(), 7.0, max_relative = 1e-9);
        row.relaxed = [0.5, 0.5];
        // elastic on the former: what is left is the share relaxed; so soft a load needs twice the height
        let elastic = Plan::of(&row, &arm, &arm.height, &spring.sheet, 1e5);
        assert_relative_eq!(elastic.former_mm(), 14.0, max_relative = 1e-9);
    }
}
