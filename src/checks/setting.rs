//! Setting: what to form to so that the height stays, and how to do it.

use serde::Serialize;

use super::closing::{Closing, Place};
use super::finding::{Finding, Severity, short};
use super::presetting::{cold_twist, kept_share, over_height, residual_surface_shear, yield_depth};
use crate::material::{self, SET_REMOVAL_LARGEST_STRESS_RATIO};
use crate::model::stress::flat_shear;
use crate::setting::{Plan, ways_for};

/// Closings before the height is measured. Common practice, no source.
const CLOSINGS: usize = 5;

/// Largest cold pull over the arm's length: beyond it the arm is stretched rather than twisted. Judgement, no source.
const LONGEST_PULL: f64 = 0.25;

/// One way to set the spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettingWay {
    /// its name
    pub name: &'static str,
    /// height to form to (mm); none where no height holds
    pub former_height_mm: Option<f64>,
    /// what to do, in order
    pub steps: Vec<String>,
    /// where the temperatures come from
    pub source: String,
}

/// Whether the spring keeps its height, and how to set it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettingCheck {
    /// shear yield stress Rp0.2/√3 (MPa)
    pub shear_yield_mpa: f64,
    /// largest elastic shear at flat over the shear yield stress
    pub stress_ratio: f64,
    /// where: arc length from the outer root over arm length
    pub arc_share: f64,
    /// where: radius of the arm centre (mm)
    pub radius_mm: f64,
    /// depth that yields there at the first closing, from either face (mm)
    pub yield_depth_mm: f64,
    /// shear that stays at the surface there (MPa), against the twist
    pub residual_shear_mpa: f64,
    /// height that is left when the spring is formed to its free height and pressed flat for the first time (mm)
    pub height_after_first_closing_mm: f64,
    /// height to form to, so that the free height is left (mm); none where it cannot hold
    pub former_height_mm: Option<f64>,
    /// height to form to over the free height; none where it cannot hold
    pub over_height: Option<f64>,
    /// height to pull the flat blank to cold, so that the height to form to is left (mm); none where the spring cannot
    /// hold its height, or where the arms are too short for such a pull
    pub cold_height_mm: Option<f64>,
    /// height of every node of the arm on the former (mm), outer root to inner root; free heights where none holds
    pub former_heights: Vec<f64>,
    /// height of every node of the arm on the former to make (mm), for the first of the ways; free heights where none
    /// holds
    pub heights_to_make: Vec<f64>,
    /// ways to set it, the one to take first
    pub ways: Vec<SettingWay>,
}

/// Integrates a rise over the nodes, and scales so that the free rise comes out as the free height.
struct Rises<'a> {
    closing: &'a Closing,
    scale: f64,
}

impl<'a> Rises<'a> {
    fn of(closing: &'a Closing) -> Self {
        let raw = Self { closing, scale: 1.0 }.heights(&vec![1.0; closing.arm.angle.len()]);
        let top = raw[raw.len() - 1];
        Self { closing, scale: if top > 0.0 { closing.arm.free_height() / top } else { 1.0 } }
    }

    /// Heights at the nodes with the free rise multiplied by `factor` at each of them.
    fn heights(&self, factor: &[f64]) -> Vec<f64> {
        let arm = &self.closing.arm;
        let mut heights = vec![arm.height[0]];
        for i in 1..arm.angle.len() {
            let mean = 0.5 * (factor[i - 1] * arm.rise[i - 1] + factor[i] * arm.rise[i]);
            heights.push(heights[i - 1] + self.scale * mean * (arm.angle[i] - arm.angle[i - 1]));
        }
        heights
    }

    fn top(&self, factor: &[f64]) -> f64 {
        self.heights(factor).last().copied().unwrap_or(0.0)
    }
}

impl SettingCheck {
    /// For a sheet of proof strength `proof` (MPa).
    ///
    /// The strip's centre counts: shear at flat is `kt G t p/r²` (Timoshenko & Goodier; twist rate of a helicoid), its
    /// inner edge yields a little earlier. Yield in shear by von Mises, Rp0.2/√3.
    pub fn of(closing: &Closing, proof: f64) -> Self {
        let (arm, sheet) = (&closing.arm, &closing.sheet);
        let shear_yield_mpa = proof / 3f64.sqrt();
        let ratios: Vec<f64> = (0..arm.angle.len())
            .map(|i| {
                flat_shear(sheet.shear_modulus, arm.width[i], sheet.thickness, arm.rise[i], arm.radius[i])
                    / shear_yield_mpa
            })
            .collect();
        let worst = (0..ratios.len()).fold(0, |worst, i| if ratios[i] > ratios[worst] { i } else { worst });
        let stress_ratio = ratios[worst];
        let rises = Rises::of(closing);
        let over: Option<Vec<f64>> = ratios.iter().map(|m0| over_height(*m0).ok()).collect();
        let heights = over.as_ref().map(|over| rises.heights(over));
        let former_height_mm = heights.as_ref().and_then(|heights| heights.last().copied());
        let longest_pull = LONGEST_PULL * arm.length();
        let cold = over.as_ref().map(|over| {
            let cold: Vec<f64> = ratios
                .iter()
                .zip(over)
                .map(|(m0, over)| if *m0 > 1e-9 { cold_twist(m0 * over) / m0 } else { 0.0 })
                .collect();
            rises.top(&cold)
        });
        let cold_height_mm = cold.filter(|height| *height <= longest_pull);
        let kept: Vec<f64> = ratios.iter().map(|m| kept_share(*m)).collect();
        let place = Self::place(closing, worst);
        // names that the stock does not know are sheets of their own
        let name = sheet.material.as_deref().filter(|name| material::find(name).is_ok());
        let plans: Vec<Plan> = heights.as_ref().map_or_else(Vec::new, |heights| {
            let rows = ways_for(name, sheet.thickness).into_iter();
            rows.map(|row| Plan::of(row, arm, heights, sheet, proof)).collect()
        });
        let heights_hold = heights.is_some();
        let heights_to_make = plans.first().map(|plan| plan.heights.clone());
        let free = closing.arm.free_height();
        Self {
            shear_yield_mpa,
            stress_ratio,
            arc_share: place.arc_share,
            radius_mm: place.radius,
            yield_depth_mm: 0.5 * sheet.thickness * yield_depth(stress_ratio),
            residual_shear_mpa: shear_yield_mpa * residual_surface_shear(stress_ratio),
            height_after_first_closing_mm: rises.top(&kept),
            former_height_mm,
            over_height: former_height_mm.map(|height| height / free),
            cold_height_mm,
            former_heights: heights.unwrap_or_else(|| arm.height.clone()),
            heights_to_make: heights_to_make.unwrap_or_else(|| arm.height.clone()),
            ways: if heights_hold {
                plans.iter().map(SettingWay::of).collect()
            } else {
                vec![SettingWay::none()]
            },
        }
    }

    fn place(closing: &Closing, node: usize) -> Place {
        closing.places[node.min(closing.places.len() - 1)]
    }

    /// Findings on setting.
    pub fn findings(&self, closing: &Closing) -> Vec<Finding> {
        let place = Place { arc_share: self.arc_share, radius: self.radius_mm }.words();
        let free = closing.arm.free_height();
        let lower = |ratio: f64| short(free * ratio / self.stress_ratio);
        let finding = |severity, limit, rule: &str, remedy: String| {
            vec![Finding::new(
                "setting",
                severity,
                place.clone(),
                [self.stress_ratio, limit],
                "",
                rule,
                remedy,
            )]
        };
        if self.former_height_mm.is_none() {
            return finding(
                Severity::Failed,
                1.5,
                "elastic shear at flat over shear yield stress; from 1.5 on the section is plastic throughout and keeps \
                 no more height however high it is formed (Nadai, fully plastic torsion of a thin strip)",
                format!(
                    "pressed flat once, {} mm of {} mm are left; lower former.free_height to {} mm or less, make the arms longer (more \
                     turns), or take thinner or stronger sheet",
                    short(self.height_after_first_closing_mm),
                    short(free),
                    lower(SET_REMOVAL_LARGEST_STRESS_RATIO)
                ),
            );
        }
        let over = self.over_height.unwrap_or(1.0);
        if self.stress_ratio > SET_REMOVAL_LARGEST_STRESS_RATIO {
            return finding(
                Severity::Warning,
                SET_REMOVAL_LARGEST_STRESS_RATIO,
                "elastic shear at flat over shear yield stress; above 1.3 presetting mostly distorts \
                 (manufacturers' handbook tables)",
                format!(
                    "the over-height of {} % changes steeply with the sheet's strength: lower former.free_height to {} mm, \
                     or expect to sort the springs",
                    short(100.0 * (over - 1.0)),
                    lower(SET_REMOVAL_LARGEST_STRESS_RATIO)
                ),
            );
        }
        if self.stress_ratio > 1.0 {
            return finding(
                Severity::Remark,
                1.0,
                "elastic shear at flat over shear yield stress; above 1 the surface yields at the first closing",
                format!(
                    "form so that {} mm instead of {} mm are left, and press flat {CLOSINGS} times before use",
                    short(free * over),
                    short(free)
                ),
            );
        }
        Vec::new()
    }
}

impl SettingWay {
    fn of(plan: &Plan) -> Self {
        Self {
            name: plan.row.way.name(),
            former_height_mm: Some(plan.former_mm()),
            steps: plan.steps(),
            source: plan.source(),
        }
    }

    fn none() -> Self {
        Self {
            name: "none",
            former_height_mm: None,
            steps: vec!["no former height holds the free height: change the spring first".to_owned()],
            source: "Nadai, fully plastic torsion of a thin strip".to_owned(),
        }
    }
}
