//! Checks: closing, strength, life and height of a spring.
//!
//! Every check takes a spring that was pressed once ([`Closing`]) and returns numbers, with findings that name place,
//! value, limit, rule and remedy. [`Checks`] collects them all.

mod cautions;
mod closing;
mod endurance;
mod fatigue;
mod finding;
mod flat;
mod former;
mod guide;
#[cfg(test)]
mod hand_cases;
mod mass;
mod notch;
pub mod presetting;
pub mod remedies;
mod ring;
mod ring_stack;
mod service;
mod setting;
mod slot_end;
mod strength;
mod stress_points;
#[cfg(test)]
mod tests;
mod turns;

pub use cautions::cautions;
pub use closing::{ArmPlace, Closing, along_in_words};
pub use endurance::{EnduranceLimit, LIFE_SAFETY, cycles_in_words};
pub use fatigue::{FatigueCheck, Stroke, life_use};
pub use finding::{Finding, Severity};
pub use flat::{ArmSection, BURR_MM, FLATNESS_MM, FlatCheck, cutting_tolerance, proud_allowed};
use former::former_table;
pub use former::{FormerRow, FormerShape};
pub use guide::{GuideCheck, TILT_MAX_DEGREES};
pub use mass::{MassCheck, Swing, natural_frequency};
pub use notch::HoleFactors;
pub use ring::{Ring, RingHold, RingMoments, clamped_plate_factor, ring_moments, ring_stress};
pub use ring_stack::FormerRing;
pub use service::ServiceCheck;
pub use setting::{SettingCheck, SettingWay};
pub use slot_end::{Root, RootLoads, SlotEnd, base_share, root_stress};
pub use strength::{
    LOCAL_YIELDING_SHARE, LOCAL_YIELDING_TENSILE_MAX, RootStress, StationStress, StrengthCheck,
};
pub use turns::{Gap, least_gap_flat, least_gap_on_the_way, slot_length};

use serde::Serialize;

use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::model::{ModelError, ModelSettings};
use crate::response::CLOSED_SHARE;
use crate::spec::{Duty, Envelope, Process, Shop, SpringFile, Way};

/// Settings of the checks, besides the spring.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CheckOptions {
    /// settings of the model
    pub model: ModelSettings,
    /// cutting process; waterjet when left alone
    pub process: Process,
    /// duty; static when left alone
    pub duty: Duty,
    /// space allowed
    pub envelope: Envelope,
    /// way of setting asked for; the one that suits the sheet when left alone
    pub way: Option<Way>,
    /// first and last deflection asked for, from the free height (mm); none where no curve is asked for
    pub asked: Option<[f64; 2]>,
    /// shims, sheets and rates of the shop
    pub shop: Shop,
}

impl CheckOptions {
    /// The options that a spring file asks for, with the curve asked for.
    pub fn of_file(file: &SpringFile, target: Option<&TargetCurve>) -> Self {
        let duty = file.duty.clone().unwrap_or_default();
        let installed = duty.installed.unwrap_or(0.0);
        Self {
            model: ModelSettings::default(),
            process: file.process.clone().unwrap_or_default(),
            envelope: file.envelope.clone().unwrap_or_default(),
            way: file.setting.and_then(|setting| setting.way),
            asked: target.and_then(|target| {
                Some([target.deflection.first()? + installed, target.deflection.last()? + installed])
            }),
            shop: file.shop.clone().unwrap_or_default(),
            duty,
        }
    }

    /// Deflections, besides those of every spring, at which its states are needed (mm).
    pub fn stops(&self, spring: &Spring) -> Vec<f64> {
        let travel = spring.former.free_height;
        let stroke = self.stroke(travel);
        let mut stops = vec![stroke.start, stroke.end, flat::flat_deflection(travel, &spring.seat)];
        stops.extend(self.asked.into_iter().flatten());
        stops
    }

    /// The working stroke of a spring with this travel to flat (mm): from `duty.stroke_start` to `duty.stroke_end`, left
    /// out from the first to the last deflection asked for; without a curve from the installed position to closed.
    pub fn stroke(&self, travel: f64) -> Stroke {
        let installed = self.duty.installed.unwrap_or(0.0);
        let closed = CLOSED_SHARE * travel;
        let start = self.duty.stroke_start.or(self.asked.map(|asked| asked[0])).unwrap_or(0.0);
        let end = self.duty.stroke_end.or(self.asked.map(|asked| asked[1])).unwrap_or(closed);
        Stroke {
            cycles: self.duty.cycles,
            start: start.max(installed),
            end: end.min(closed),
            process: self.process.kind(),
            finish: self.process.finish.unwrap_or_default(),
        }
    }
}

/// All checks of one spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Checks {
    /// closed spring
    pub flat: FlatCheck,
    /// strength
    pub stress: StrengthCheck,
    /// life; none for static use or where it could not be judged
    pub fatigue: Option<FatigueCheck>,
    /// height after setting and first closings; none without a strength
    pub setting: Option<SettingCheck>,
    /// force at temperature and loss over time; none where neither is asked or nothing is known of the sheet
    pub service: Option<ServiceCheck>,
    /// hub tilt and moment
    pub guide: GuideCheck,
    /// the former to make for the way of setting to take first
    pub former: FormerShape,
    /// the shape to be left before the first closing: the free one, higher where that closing takes height
    pub shape: Vec<FormerRow>,
    /// mass and energy
    pub mass: MassCheck,
    /// cautions to print
    pub cautions: Vec<String>,
    /// all findings, the most severe first
    pub findings: Vec<Finding>,
}

impl Checks {
    /// Presses a spring and checks it.
    pub fn of(spring: &Spring, options: &CheckOptions) -> Result<Self, ModelError> {
        let closing = Closing::of(spring, &options.model, &options.stops(spring))?;
        Self::of_closing(spring, &closing, options)
    }

    /// Checks a spring that is pressed already.
    pub fn of_closing(
        spring: &Spring,
        closing: &Closing,
        options: &CheckOptions,
    ) -> Result<Self, ModelError> {
        let stroke = options.stroke(closing.travel);
        let stress = StrengthCheck::of(spring, closing, options);
        let flat = FlatCheck::of(spring, closing, &stress, options)?;
        let fatigue = FatigueCheck::of(spring, closing, stroke, options);
        let setting = stress.allowable_mpa.map(|proof| SettingCheck::of(spring, closing, proof, options.way));
        let heights = setting.as_ref().map_or(&closing.arm.height, |setting| &setting.heights_to_make);
        let former = FormerShape::of(spring, &closing.arm, heights, options.shop.shims.as_deref());
        let left = setting.as_ref().map_or(&closing.arm.height, |setting| &setting.former_heights);
        let shape = former_table(&closing.arm, left);
        let service = ServiceCheck::of(&options.duty, &stress, &spring.sheet);
        let guide = GuideCheck::of(spring, closing);
        let mass = MassCheck::of(spring, closing, &options.duty);
        let mut findings = flat.findings();
        findings.extend(stress.findings(closing));
        match &fatigue {
            Some(fatigue) => findings.extend(fatigue.findings()),
            None => findings.extend(FatigueCheck::not_judged(spring, stroke)),
        }
        findings.extend(falling_force(closing));
        findings.extend(guide.findings());
        findings.extend(service.iter().flat_map(ServiceCheck::findings));
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
                "the spring closes under this weight, or the working deflection is outside its travel",
                "carry less or take a stiffer spring",
            ));
        }
        // the sort is stable: findings of equal severity stay in the order of the checks
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let plan = setting.as_ref().and_then(|setting| setting.plans.first());
        let cautions = cautions(spring, &mass, flat.closing_force_n, options.process.kind(), plan);
        Ok(Self { flat, stress, fatigue, setting, service, guide, former, shape, mass, cautions, findings })
    }

    /// The findings of failed checks.
    pub fn failed(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.severity == Severity::Failed)
    }
}

/// Share of the closing force by which the force has to fall to be reported.
const FALL: f64 = 1e-3;

/// Finding of a force that falls during closing.
fn falling_force(closing: &Closing) -> Option<Finding> {
    let least = FALL * closing.closed().force;
    let fall = closing.states.windows(2).find(|pair| pair[1].force < pair[0].force - least)?;
    Some(Finding::new(
        "falling force",
        Severity::Warning,
        format!("from {:.2} mm of travel", fall[0].deflection),
        [fall[1].force, fall[0].force],
        "N",
        "the tall slender arms are unstable in-plane: under a dead weight the spring snaps through there",
        "lower former.free_height, take thicker sheet, or press it by a screw",
    ))
}
