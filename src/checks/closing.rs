//! The spring over its whole travel: the states that every check uses.

use crate::layout::{ArmPath, SheetProperties, Spring};
use crate::model::{ArmState, Model, ModelError, ModelSettings};
use crate::response::CLOSED_SHARE;

/// Deflections over travel of the states; closer together where the last of the arm seats. Longer steps near flat would
/// also change many contacts at once, which slows the model.
pub(super) const SHARES: [f64; 25] = [
    0.0,
    0.05,
    0.1,
    0.15,
    0.2,
    0.25,
    0.3,
    0.35,
    0.4,
    0.45,
    0.5,
    0.55,
    0.6,
    0.65,
    0.7,
    0.75,
    0.8,
    0.85,
    0.9,
    0.925,
    0.95,
    0.96,
    0.97,
    0.98,
    CLOSED_SHARE,
];

/// A place on the arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmPlace {
    /// arc length from the outer root over arm length
    pub arc_share: f64,
    /// radius of the arm centre (mm)
    pub radius: f64,
}

impl ArmPlace {
    /// The place in words.
    pub fn words(&self) -> String {
        format!("{}, radius {:.1} mm", along_in_words(self.arc_share), self.radius)
    }
}

/// A place along the arm in words, from its share of the arm's length from the rim.
pub fn along_in_words(share: f64) -> String {
    match share {
        share if share < 0.005 => "at the rim end of the arm".to_owned(),
        share if share > 0.995 => "at the hub end of the arm".to_owned(),
        share => format!("{:.0} % along the arm from the rim", 100.0 * share),
    }
}

/// One spring pressed from its free height to closed.
#[derive(Debug, Clone)]
pub struct Closing {
    /// the model
    pub model: Model,
    /// one arm
    pub arm: ArmPath,
    /// the sheet
    pub sheet: SheetProperties,
    /// number of arms
    pub arms: usize,
    /// travel to flat (mm)
    pub travel: f64,
    /// states from free to closed, deflection increasing
    pub states: Vec<ArmState>,
    /// nodes of the arm
    pub places: Vec<ArmPlace>,
}

impl Closing {
    /// Presses a spring; `between` are further deflections (mm), those outside the travel are left out.
    pub fn of(spring: &Spring, settings: &ModelSettings, between: &[f64]) -> Result<Self, ModelError> {
        let arm = spring.arm(settings.segments)?;
        let model = Model::of_arm(spring, &arm, settings);
        let travel = model.travel();
        let mut deflections: Vec<f64> = SHARES.iter().map(|share| share * travel).collect();
        deflections.extend(between.iter().filter(|x| **x > 0.0 && **x < CLOSED_SHARE * travel));
        deflections.sort_by(f64::total_cmp);
        deflections.dedup();
        let states = model.states(&deflections)?;
        let length = model.chain.length();
        let places = model
            .chain
            .sections
            .iter()
            .zip(model.chain.arcs())
            .map(|(section, arc)| ArmPlace { arc_share: arc / length, radius: section.radius })
            .collect();
        Ok(Self { model, arm, sheet: spring.sheet.clone(), arms: spring.arms, travel, states, places })
    }

    /// Force at a deflection (N), linear between the states.
    pub fn force_at(&self, deflection: f64) -> f64 {
        let i = self.states.partition_point(|state| state.deflection <= deflection);
        let i = i.clamp(1, self.states.len() - 1);
        let (a, b) = (&self.states[i - 1], &self.states[i]);
        a.force + (b.force - a.force) * (deflection - a.deflection) / (b.deflection - a.deflection)
    }

    /// Height above its flat place (mm) and radius (mm) of the highest arm node at a deflection, linear between the
    /// states.
    pub fn highest_node(&self, deflection: f64) -> (f64, f64) {
        let after = self.states.partition_point(|state| state.deflection < deflection);
        let after = after.clamp(1, self.states.len() - 1);
        let (a, b) = (&self.states[after - 1], &self.states[after]);
        let share = ((deflection - a.deflection) / (b.deflection - a.deflection)).clamp(0.0, 1.0);
        let nodes = a.height.iter().zip(&b.height).zip(&self.arm.radius);
        nodes.fold((0.0, self.arm.radius[0]), |highest, ((low, high), radius)| {
            let height = low + share * (high - low);
            if height > highest.0 { (height, *radius) } else { highest }
        })
    }

    /// The last state: 1 % of the travel left.
    pub fn closed(&self) -> &ArmState {
        &self.states[self.states.len() - 1]
    }
}
