//! Setting: the height to form to so that the free height is kept, and the ways to form it.

use serde::Serialize;

use super::closing::{ArmPlace, Closing};
use super::finding::{Finding, Severity};
use super::presetting::{kept_share, over_height, residual_surface_shear, yield_depth};
use crate::layout::Spring;
use crate::material::SET_REMOVAL_LARGEST_STRESS_RATIO;
use crate::model::stress::flat_shear;
use crate::numeric::short;
use crate::setting::{CLOSINGS, Choice, NotForSheet, Plan, TrialPlace};
use crate::spec::Way;

/// One way to set the spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettingWay {
    /// its name in files
    pub name: &'static str,
    /// its name in texts
    pub words: &'static str,
    /// height of the former to make (mm); none where no height holds
    pub former_height_mm: Option<f64>,
    /// height left of the first former at the ends of strength and relaxation (mm)
    pub left_band_mm: Option<[f64; 2]>,
    /// relative change of height per relative change of proof strength
    pub strength_gain: Option<f64>,
    /// relative change of height per change of the share of stress relaxed
    pub relaxation_gain: Option<f64>,
    /// change of the former per height missing
    pub correction_gain: Option<f64>,
    /// work of forming (J)
    pub work_j: Option<f64>,
    /// state of the sheet to order
    pub order: String,
    /// whether the finished sheet is in another state than the delivered one
    pub changes_state: bool,
    /// relative change of lengths by the heat
    pub growth: f64,
    /// steps, in order
    pub steps: Vec<String>,
    /// places at which a trial is measured
    pub places: Vec<TrialPlace>,
    /// source of temperatures and shares
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
    /// height of every node of the arm on the former (mm), outer root to inner root; free heights where none holds
    pub former_heights: Vec<f64>,
    /// height of every node of the arm on the former to make (mm), for the first of the ways; free heights where none
    /// holds
    pub heights_to_make: Vec<f64>,
    /// ways to set it, the one to take first
    pub ways: Vec<SettingWay>,
    /// reason for the first
    pub why: String,
    /// the way asked for, where it is not known for the sheet, in words
    pub refused: Option<String>,
    /// the ways with their heights node by node
    #[serde(skip)]
    pub plans: Vec<Plan>,
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
    /// For a sheet of proof strength `proof` (MPa), set in the way `asked`, else in the one that suits.
    ///
    /// The strip's centre counts: shear at flat is `kt G t p/r²` (Timoshenko & Goodier; twist rate of a helicoid), its
    /// inner edge yields a little earlier. Yield in shear by von Mises, Rp0.2/√3.
    pub fn of(spring: &Spring, closing: &Closing, proof: f64, asked: Option<Way>) -> Self {
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
        let kept: Vec<f64> = ratios.iter().map(|m| kept_share(*m)).collect();
        let place = Self::place(closing, worst);
        let choice = heights.as_ref().map_or_else(
            || Choice { plans: Vec::new(), why: String::new(), refused: None },
            |heights| Choice::of(asked, arm, spring.arms, heights, sheet, proof),
        );
        let heights_to_make = choice.plans.first().map(|plan| plan.heights.clone());
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
            former_heights: heights.unwrap_or_else(|| arm.height.clone()),
            heights_to_make: heights_to_make.unwrap_or_else(|| arm.height.clone()),
            ways: if choice.plans.is_empty() {
                vec![SettingWay::none()]
            } else {
                choice.plans.iter().map(|plan| SettingWay::of(plan, spring, arm.length())).collect()
            },
            why: choice.why,
            refused: choice.refused.as_ref().map(NotForSheet::to_string),
            plans: choice.plans,
        }
    }

    fn place(closing: &Closing, node: usize) -> ArmPlace {
        closing.places[node.min(closing.places.len() - 1)]
    }

    /// Findings on setting.
    pub fn findings(&self, closing: &Closing) -> Vec<Finding> {
        let place = ArmPlace { arc_share: self.arc_share, radius: self.radius_mm }.words();
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
        if let Some(refused) = &self.refused {
            return vec![Finding::in_words(
                "setting",
                Severity::Failed,
                "way of setting",
                refused.clone(),
                "name one of these in [setting] way, or leave the key out",
            )];
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
    fn of(plan: &Plan, spring: &Spring, arm_length: f64) -> Self {
        let row = &plan.row;
        Self {
            name: row.way.name(),
            words: row.way.words(),
            former_height_mm: Some(plan.former_mm()),
            left_band_mm: Some(plan.left_band_mm),
            strength_gain: Some(plan.strength_gain),
            relaxation_gain: Some(plan.relaxation_gain),
            correction_gain: Some(plan.correction_gain),
            work_j: Some(plan.work_j),
            order: row.order.clone(),
            changes_state: row.changes_state(),
            growth: row.growth,
            steps: plan.steps(&spring.sheet, arm_length, spring.disc.is_bored()),
            places: plan.places.clone(),
            source: plan.source(),
        }
    }

    fn none() -> Self {
        Self {
            name: "none",
            words: "no way holds this height",
            former_height_mm: None,
            left_band_mm: None,
            strength_gain: None,
            relaxation_gain: None,
            correction_gain: None,
            work_j: None,
            order: String::new(),
            changes_state: false,
            growth: 0.0,
            steps: vec!["no former height holds the free height: change the spring first".to_owned()],
            places: Vec::new(),
            source: "Nadai, fully plastic torsion of a thin strip".to_owned(),
        }
    }
}
