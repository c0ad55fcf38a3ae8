//! The former to make: its height at every node of the arm, for one way of setting.

use serde::Serialize;

use super::place::TrialPlace;
use super::strip::{Flow, Forming, plastic_limit, surface_measure, twist_across};
use super::way::WayRow;
use crate::layout::{ArmPath, SheetProperties};
use crate::material;
use crate::model::section::{face_shear_per_twist, k2};
use crate::model::stress::flat_shear;
use crate::spec::Way;

/// Band of tensile strength to which hard strip is ordered (MPa, EN 10132, from its low end).
const ORDER_BAND: f64 = 150.0;

/// Scatter of the proof strength where no band is known, ±. Judgement: that of a band of 150 MPa in 1500.
const STRENGTH_SCATTER: f64 = 0.05;

/// Scatter of the proof strength of a delivered state whose value is recalled, ±. Judgement, no source.
const DELIVERED_SCATTER: f64 = 0.10;

/// Surface measure below which the twist of a node is neglected.
pub(super) const NO_TWIST: f64 = 1e-6;

/// One way of setting worked out for one spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// the way and its data
    pub row: WayRow,
    /// height of every arm node on the former to make (mm), outer root to inner root
    pub heights: Vec<f64>,
    /// height to be left when it is released (mm)
    pub left_mm: f64,
    /// height left at the low and the high end of strength and relaxation (mm)
    pub left_band_mm: [f64; 2],
    /// proof strength counted while it is formed (MPa)
    pub forming_proof_mpa: f64,
    /// its scatter, ± share
    pub strength_scatter: f64,
    /// largest surface measure on the former, elastic surface stress over the proof strength while it is formed
    pub measure: f64,
    /// largest equivalent strain of the surface on the former (percent)
    pub strain_percent: f64,
    /// relative change of height per relative change of proof strength
    pub strength_gain: f64,
    /// relative change of height per change of the share relaxed
    pub relaxation_gain: f64,
    /// change of the former per height missing
    pub correction_gain: f64,
    /// height after forming soft, before it is hardened (mm); none where nothing is hardened afterwards
    pub soft_height_mm: Option<f64>,
    /// work of forming all arms (J)
    pub work_j: f64,
    /// work that comes back when it is released (J)
    pub back_j: f64,
    /// places at which a trial is measured, outermost first
    pub places: Vec<TrialPlace>,
    #[serde(skip)]
    pub(super) forming: Vec<Forming>,
    #[serde(skip)]
    pub(super) wanted: Vec<f64>,
    #[serde(skip)]
    pub(super) left: Vec<f64>,
}

/// Proof strength of the sheet as it is likely to come (MPa) and its scatter (± share), for a finished sheet whose least
/// proof strength is `proof` (MPa).
///
/// A sheet of the stock lies between its least strength and an order band above; a strength of the maker's own is taken
/// as measured.
pub fn forming_strength(sheet: &SheetProperties, proof: f64) -> (f64, f64) {
    let stock = sheet.material.as_deref().and_then(|name| material::find(name).ok());
    let band = stock.and_then(|stock| {
        let least = stock.tensile_strength.as_ref()?.value;
        let largest = stock.tensile_strength_max.as_ref()?.value;
        let as_listed = sheet.tensile_strength == Some(least)
            && sheet.yield_strength == stock.yield_strength.as_ref().map(|strength| strength.value);
        as_listed.then_some((least, 0.5 * (largest - least).min(ORDER_BAND)))
    });
    match band {
        Some((least, half)) => (proof * (1.0 + half / least), half / (least + half)),
        None => (proof, STRENGTH_SCATTER),
    }
}

/// Heights at the nodes whose increments are those of `wanted` times the mean `factor` of their ends.
pub(super) fn scaled(wanted: &[f64], factor: &[f64]) -> Vec<f64> {
    let mut heights = vec![wanted[0]];
    for i in 1..wanted.len() {
        heights.push(heights[i - 1] + 0.5 * (factor[i - 1] + factor[i]) * (wanted[i] - wanted[i - 1]));
    }
    heights
}

fn last(list: &[f64]) -> f64 {
    list[list.len() - 1]
}

impl Plan {
    /// For `arms` arms that are to stand at `wanted` heights (mm at the nodes of `arm`, whose own heights are the free
    /// ones) after release, of a finished proof strength `proof` (MPa).
    pub fn of(
        row: &WayRow,
        arm: &ArmPath,
        arms: usize,
        wanted: &[f64],
        sheet: &SheetProperties,
        proof: f64,
    ) -> Self {
        let (forming_proof, scatter) = match row.forming_proof {
            Some(proof) => (proof, DELIVERED_SCATTER),
            None => forming_strength(sheet, proof),
        };
        let flow = row.elastic_share.map_or(Flow::Linear { tangent: 0.0 }, |[low, high]| {
            Flow::through(0.5 * (low + high), forming_proof, sheet.shear_modulus)
        });
        let forming: Vec<Forming> = arm
            .width
            .iter()
            .zip(&arm.radius)
            .map(|(width, radius)| Forming {
                relaxed: row.relaxed_middle(),
                flow,
                limit: plastic_limit(*width, sheet.thickness),
                across: twist_across(*width, *radius).0,
            })
            .collect();
        let left = measures(arm, wanted, sheet, forming_proof);
        let former: Vec<f64> =
            forming.iter().zip(&left).map(|(forming, left)| forming.on_former(*left)).collect();
        let over = |list: &[f64]| -> Vec<f64> {
            let pairs = left.iter().zip(list);
            pairs.map(|(left, other)| if *left > NO_TWIST { other / left } else { 1.0 }).collect()
        };
        let heights = scaled(wanted, &over(&former));
        // height left where strength and relaxation are others
        let left_mm = |strength: f64, relaxed: f64| {
            let pairs = forming.iter().zip(&former);
            let left: Vec<f64> = pairs
                .map(|(forming, m)| strength * Forming { relaxed, ..*forming }.left(m / strength))
                .collect();
            last(&scaled(wanted, &over(&left)))
        };
        let mean = |gain: &dyn Fn(&Forming, f64) -> f64| {
            let (mut sum, mut weights) = (0.0, 0.0);
            for i in (1..wanted.len()).filter(|i| left[*i] > NO_TWIST) {
                let weight = (wanted[i] - wanted[i - 1]).abs();
                sum += weight * gain(&forming[i], former[i]);
                weights += weight;
            }
            if weights > 0.0 { sum / weights } else { 0.0 }
        };
        // twice the work of first yield per length: torque times twist, both of first yield in torsion
        let unit = |width: f64| {
            let thickness = sheet.thickness;
            let shear = forming_proof / 3f64.sqrt();
            let twist = shear / (sheet.shear_modulus * face_shear_per_twist(width, thickness));
            k2(width, thickness) * width * thickness * thickness * shear * twist
        };
        let joule = |work: &dyn Fn(&Forming, f64) -> f64| {
            let sum: f64 = (0..arm.segments())
                .map(|i| {
                    let width = 0.5 * (arm.width[i] + arm.width[i + 1]);
                    arm.chord(i) * unit(width) * work(&forming[i], 0.5 * (former[i] + former[i + 1]))
                })
                .sum();
            1e-3 * arms as f64 * sum
        };
        let measure = former.iter().copied().fold(0.0, f64::max);
        Self {
            row: row.clone(),
            left_mm: last(wanted),
            left_band_mm: [left_mm(1.0 + scatter, row.relaxed[0]), left_mm(1.0 - scatter, row.relaxed[1])],
            forming_proof_mpa: forming_proof,
            strength_scatter: scatter,
            measure,
            strain_percent: 100.0 * measure * forming_proof / (3.0 * sheet.shear_modulus),
            strength_gain: mean(&Forming::strength_gain),
            relaxation_gain: mean(&Forming::relaxation_gain),
            correction_gain: mean(&|forming, m| 1.0 / forming.left_slope(m).max(LEAST_SLOPE)),
            soft_height_mm: (row.way == Way::HardenAfterForming).then(|| left_mm(1.0, 0.0)),
            work_j: joule(&Forming::work),
            back_j: joule(&Forming::work_back),
            places: TrialPlace::of(arm, &heights),
            heights,
            forming,
            wanted: wanted.to_vec(),
            left,
        }
    }

    /// Height of the former to make at the hub (mm).
    pub fn former_mm(&self) -> f64 {
        last(&self.heights)
    }

    /// Source of the numbers.
    pub fn source(&self) -> String {
        let [low, high] = self.row.relaxed;
        let share = if high > 0.0 { format!("; share relaxed {low:.2} to {high:.2}") } else { String::new() };
        format!("{}{share} ({})", self.row.source, self.row.mark.words())
    }
}

/// Least slope of what is left over what is formed: a cold former in the elastic range is moved by no more than this
/// allows at once. Judgement, no source.
pub(super) const LEAST_SLOPE: f64 = 0.25;

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
            surface_measure(shear * twist_across(width, radius).1, bending, proof)
        })
        .collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::layout::Spring;
    use crate::setting::ways_for;
    use crate::spec::SpringFile;
    use approx::assert_relative_eq;

    const TEXT: &str = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\narms = 2\nslot = 1.4\n\
        outer_diameter = 78\nbore_diameter = 10\narm_outer_diameter = 66\narm_inner_diameter = 24\n[arm]\nradius = [12, 33]\n\
        width = [3.2, 5.4]\n[former]\nfree_height = 7.0\n";

    pub(in crate::setting) fn spring() -> (Spring, ArmPath) {
        spring_of(TEXT)
    }

    fn spring_of(text: &str) -> (Spring, ArmPath) {
        let file = SpringFile::parse(text, "spring.toml").unwrap();
        let spring = Spring::from_file(&file, None).unwrap();
        let arm = spring.arm(120).unwrap();
        (spring, arm)
    }

    fn plan(row: &WayRow, proof: f64) -> Plan {
        let (spring, arm) = spring();
        Plan::of(row, &arm, 2, &arm.height, &spring.sheet, proof)
    }

    #[test]
    fn full_relaxation_needs_a_former_as_high_as_the_spring() {
        let mut row = ways_for(Some("1.4310+C1300"), 1.0)[0].clone();
        (row.relaxed, row.elastic_share) = ([1.0, 1.0], None);
        assert_relative_eq!(plan(&row, 1100.0).former_mm(), 7.0, max_relative = 1e-9);
        row.relaxed = [0.5, 0.5];
        // elastic on the former: what is left is the share relaxed; so soft a load needs twice the height
        assert_relative_eq!(plan(&row, 1e5).former_mm(), 14.0, max_relative = 1e-9);
    }

    #[test]
    fn a_sheet_of_the_stock_is_formed_as_the_middle_of_its_order_band() {
        let (spring, _) = spring();
        // C1300: 1300 to 1500 MPa, ordered to a band of 150 from its low end
        let (proof, scatter) = forming_strength(&spring.sheet, 1131.0);
        assert_relative_eq!(proof, 1131.0 * 1375.0 / 1300.0, max_relative = 1e-9);
        assert_relative_eq!(scatter, 75.0 / 1375.0, max_relative = 1e-9);
        // a certificate counts as it is
        let measured = SheetProperties { tensile_strength: Some(1420.0), ..spring.sheet };
        assert_relative_eq!(forming_strength(&measured, 1235.0).0, 1235.0);
    }

    #[test]
    fn the_band_is_what_the_gains_say_where_it_is_narrow() {
        let mut row = ways_for(Some("1.4310+C1300"), 1.0)[0].clone();
        row.relaxed = [0.33, 0.34];
        let found = plan(&row, 1131.0);
        let [low, high] = found.left_band_mm;
        let half = found.strength_gain.abs() * found.strength_scatter + 0.005 * found.relaxation_gain;
        assert!(low < found.left_mm && found.left_mm < high, "{low} {high}");
        assert_relative_eq!(0.5 * (high - low) / found.left_mm, half, max_relative = 0.05);
    }

    #[test]
    fn the_work_of_an_elastic_former_is_that_of_twisted_strips() {
        let mut row = ways_for(Some("1.4310+C1300"), 1.0)[0].clone();
        (row.relaxed, row.elastic_share) = ([0.5, 0.5], None);
        // eased over long roots, so that twist counts for most of it
        let (spring, arm) = spring_of(&TEXT.replace("free_height = 7.0", "free_height = 7.0\nease = 12"));
        let found = Plan::of(&row, &arm, 2, &arm.height, &spring.sheet, 1e6);
        // on the former at twice the height; GJ p'²/2 with J and p' = rise/r², EI k²/2 with I = b t³/12 and k the
        // change of rise along the arc, for two arms of sheet 1 mm thick
        let rise = |i: usize| 2.0 * (arm.height[i + 1] - arm.height[i]) / (arm.angle[i + 1] - arm.angle[i]);
        let energy: f64 = (1..arm.segments())
            .map(|i| {
                let squared = arm.radius[i].powi(2);
                let twist = 0.5 * (rise(i - 1) + rise(i)) / squared;
                let bending = 2.0 * (rise(i) - rise(i - 1)) / (arm.angle[i + 1] - arm.angle[i - 1]) / squared;
                let sheet = &spring.sheet;
                // J/b by Roark: 1/3 − 0.21/b
                let torsion = 1.0 / 3.0 - 0.21 / arm.width[i];
                let stiffness = [sheet.shear_modulus * torsion, sheet.youngs_modulus / 12.0];
                0.5 * arm.width[i]
                    * (stiffness[0] * twist * twist + stiffness[1] * bending * bending)
                    * arm.chord(i)
            })
            .sum();
        assert_relative_eq!(found.work_j, 2e-3 * energy, max_relative = 0.08);
        assert_relative_eq!(found.back_j, 0.25 * found.work_j, max_relative = 0.01);
    }
}
