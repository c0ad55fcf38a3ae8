//! Setting: what to form to so that the height stays, and how to do it.

use serde::Serialize;

use super::closing::{Closing, Place};
use super::finding::{Finding, Severity};
use super::presetting::{cold_twist, kept_share, over_height, residual_surface_shear, yield_depth};
use crate::material::{
    self, Confidence, SET_REMOVAL_LARGEST_STRESS_RATIO, SET_REMOVAL_LEAST_HEIGHT_LOSS, Setting,
};
use crate::model::stress::flat_shear;
use crate::numeric::short;

/// Closings before the height is measured. Common practice, no source.
const CLOSINGS: usize = 5;

/// Blanks to try a setting on. Common practice, no source.
const TRIALS: usize = 3;

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
    /// ways to set it
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
        let setting = sheet
            .material
            .as_deref()
            .and_then(|name| material::find(name).ok())
            .and_then(|material| material.setting.as_ref());
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
            ways: vec![
                on_a_former(former_height_mm, free, setting),
                by_over_travel(former_height_mm, cold, longest_pull, free, setting),
            ],
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
                    "form to {} mm instead of {} mm and press flat {CLOSINGS} times before use",
                    short(free * over),
                    short(free)
                ),
            );
        }
        Vec::new()
    }
}

fn heat(setting: Option<&Setting>) -> (String, String) {
    setting.map_or_else(
        || {
            (
                "relieve stresses as the sheet's maker says; no default is known for this sheet".to_owned(),
                "no default known".to_owned(),
            )
        },
        |setting| {
            let how = match setting.confidence {
                Confidence::Read => "",
                Confidence::Memory => ", recalled, to be confirmed",
            };
            let temperatures = if setting.temperature_min < setting.temperature_max {
                format!("{} to {} °C", setting.temperature_min, setting.temperature_max)
            } else {
                format!("{} °C", setting.temperature_max)
            };
            let note = if setting.note.is_empty() { String::new() } else { format!(" ({})", setting.note) };
            (
                format!("heat to {temperatures} and hold for {} min{note}", setting.minutes),
                format!("{}{how}", setting.source),
            )
        },
    )
}

fn trial(correction: &str) -> Vec<String> {
    vec![
        format!(
            "press flat {CLOSINGS} times with a captive bolt through the hub; presetting needs at least {:.0} % \
             extra free height",
            100.0 * SET_REMOVAL_LEAST_HEIGHT_LOSS
        ),
        format!(
            "try {TRIALS} blanks first and measure the height left: spring-back is not known beforehand; {correction}"
        ),
    ]
}

fn on_a_former(height: Option<f64>, free: f64, setting: Option<&Setting>) -> SettingWay {
    let (heating, source) = heat(setting);
    let name = "heat on a former";
    let Some(height) = height else {
        let steps = vec!["no former height holds the free height: change the spring first".to_owned()];
        return SettingWay { name, former_height_mm: None, steps, source };
    };
    let mut steps = vec![
        "deburr the blank; lay it on the former, rim down, every arm level on its step".to_owned(),
        format!("clamp hub and rim to the former, {} mm of height", short(height)),
        format!("{heating}, clamped"),
        "let it cool on the former, then unclamp".to_owned(),
    ];
    steps.extend(trial(&format!(
        "new former height = {} mm × {} mm / height measured",
        short(height),
        short(free)
    )));
    SettingWay { name, former_height_mm: Some(height), steps, source }
}

fn by_over_travel(
    height: Option<f64>,
    cold: Option<f64>,
    longest: f64,
    free: f64,
    setting: Option<&Setting>,
) -> SettingWay {
    let (heating, source) = heat(setting);
    let name = "cold by over-travel";
    let (Some(height), Some(cold)) = (height, cold) else {
        let steps = vec!["no over-travel holds the free height: change the spring first".to_owned()];
        return SettingWay { name, former_height_mm: None, steps, source };
    };
    if cold > longest {
        let steps = vec![format!(
            "not for this spring: it would have to be pulled to {} mm before enough of it yields, more than a quarter of \
             its arms' length; heat it on a former",
            short(cold)
        )];
        return SettingWay { name, former_height_mm: None, steps, source };
    }
    let mut steps = vec![
        "deburr the blank; hold the rim flat, guide the hub on the axis".to_owned(),
        format!(
            "pull it over a former of {} mm, slowly, behind a shield; it springs back to about {} mm",
            short(cold),
            short(height)
        ),
        format!(
            "{heating}, before it is pressed flat: what pulling leaves would add to the stress of closing"
        ),
    ];
    steps
        .extend(trial(&format!("pull further by what is missing to {} mm, a little at a time", short(free))));
    SettingWay { name, former_height_mm: Some(cold), steps, source }
}
