//! Checks: will the spring close, survive, and keep its height.
//!
//! Every check takes a spring that was pressed once ([`Closing`]) and returns what it found as values, with findings
//! that name place, value, limit, rule and remedy. [`Verdicts`] collects them all.

mod cautions;
mod closing;
mod fatigue;
mod finding;
mod flat;
mod former;
mod mass;
mod notch;
pub mod presetting;
mod setting;
mod strength;
#[cfg(test)]
mod tests;
mod turns;

pub use cautions::cautions;
pub use closing::{Closing, Place};
pub use fatigue::{EnduranceLimit, FatigueCheck, LIFE_UNCERTAINTY, Stroke};
pub use finding::{Finding, Severity};
pub use flat::{ArmSection, BURR_MM, FLATNESS_MM, FlatCheck, cutting_tolerance};
pub use former::{FormerRing, FormerRow, FormerShape};
pub use mass::{MassCheck, Swing, natural_frequency};
pub use notch::HoleFactors;
pub use setting::{SettingCheck, SettingWay};
pub use strength::{SlotEndStress, StationStress, StrengthCheck, slot_end_stress};
pub use turns::{Gap, least_gap_flat, least_gap_on_the_way, slot_length};

use serde::Serialize;

use crate::layout::Spring;
use crate::model::{ModelError, ModelSettings};
use crate::spec::{Duty, Process};

/// What the checks need besides the spring.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CheckOptions {
    /// settings of the model
    pub model: ModelSettings,
    /// how the blank is cut; waterjet when left alone
    pub process: Process,
    /// what it has to endure; static when left alone
    pub duty: Duty,
}

impl CheckOptions {
    /// Lower end of the working stroke from the free height (mm): where the spring is built in, or beyond.
    fn stroke_start(&self) -> f64 {
        self.duty.stroke_start.unwrap_or(0.0).max(self.duty.installed.unwrap_or(0.0))
    }
}

/// All checks of one spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdicts {
    /// does it close
    pub flat: FlatCheck,
    /// does it survive
    pub stress: StrengthCheck,
    /// how long; none for static use or where it could not be judged
    pub fatigue: Option<FatigueCheck>,
    /// does it keep its height, and how to set it; none without a strength
    pub setting: Option<SettingCheck>,
    /// the former to set it on
    pub former: FormerShape,
    /// mass and energy
    pub mass: MassCheck,
    /// cautions to print
    pub cautions: Vec<String>,
    /// all findings, the gravest first
    pub findings: Vec<Finding>,
}

impl Verdicts {
    /// Presses a spring and checks it.
    pub fn of(spring: &Spring, options: &CheckOptions) -> Result<Self, ModelError> {
        let closing = Closing::of(spring, &options.model, &[options.stroke_start()])?;
        Self::of_closing(spring, &closing, options)
    }

    /// Checks a spring that was pressed already.
    pub fn of_closing(
        spring: &Spring,
        closing: &Closing,
        options: &CheckOptions,
    ) -> Result<Self, ModelError> {
        let stroke = Stroke {
            cycles: options.duty.cycles,
            start: options.stroke_start(),
            process: options.process.kind,
            finish: options.process.finish.unwrap_or_default(),
        };
        let stress = StrengthCheck::of(spring, closing);
        let flat = FlatCheck::of(spring, closing, &stress, &options.process)?;
        let fatigue = FatigueCheck::of(spring, closing, stroke);
        let setting = stress.allowable_mpa.map(|proof| SettingCheck::of(closing, proof));
        let heights = setting.as_ref().map_or(&closing.arm.height, |setting| &setting.former_heights);
        let former = FormerShape::of(spring, &closing.arm, heights);
        let mass = MassCheck::of(spring, closing, &options.duty);
        let mut findings = flat.findings();
        findings.extend(stress.findings(closing));
        match &fatigue {
            Some(fatigue) => findings.extend(fatigue.findings()),
            None => findings.extend(FatigueCheck::not_judged(spring, closing, stroke)),
        }
        findings.extend(falling_force(closing));
        findings.extend(setting.iter().flat_map(|setting| setting.findings(closing)));
        if let Some(carried) = options.duty.carried_mass
            && mass.swing.is_none()
        {
            findings.push(Finding::new(
                "mass",
                Severity::Warning,
                "carried mass",
                [carried, f64::NAN],
                "kg",
                "the spring closes under this weight, or the working deflection lies outside its travel",
                "carry less or take a stiffer spring",
            ));
        }
        // the sort is stable: equally grave findings stay in the order of the checks
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let cautions = cautions(spring, mass.energy_j);
        Ok(Self { flat, stress, fatigue, setting, former, mass, cautions, findings })
    }

    /// The findings that failed.
    pub fn failed(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.severity == Severity::Failed)
    }

    /// Whether no check failed.
    pub fn passed(&self) -> bool {
        self.failed().next().is_none()
    }
}

/// Share of the closing force by which the force has to fall to be worth a word.
const FALL: f64 = 1e-3;

/// What is to be said where the force falls on the way down.
fn falling_force(closing: &Closing) -> Option<Finding> {
    let least = FALL * closing.closed().force;
    let fall = closing.states.windows(2).find(|pair| pair[1].force < pair[0].force - least)?;
    Some(Finding::new(
        "falling force",
        Severity::Warning,
        format!("from {:.2} mm of travel", fall[0].deflection),
        [fall[1].force, fall[0].force],
        "N",
        "tall slender arms give way in their own plane: pressed by a weight the spring snaps through there",
        "lower former.free_height, take thicker sheet, or press it by a screw",
    ))
}
