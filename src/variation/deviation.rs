//! Deviations of one part from its drawing, and the spring with these deviations.

use serde::Serialize;

use super::VariationError;
use crate::layout::{ArmPath, LayoutError, Spring, pitch_cosines};
use crate::model::root::RootLaw;
use crate::model::sensitivity::Direction;
use crate::model::{Model, ModelSettings};

/// Deviations of one part.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Deviation {
    /// thickness more than nominal (mm)
    pub thickness_mm: f64,
    /// both moduli more than nominal (percent)
    pub modulus_percent: f64,
    /// kerf wider than nominal (mm): arms are narrower by as much, slots wider
    pub kerf_mm: f64,
    /// free height more than nominal (mm)
    pub free_height_mm: f64,
    /// halfway up, the former's shape higher than nominal (mm): a parabola over the height, nothing at rim and hub
    pub cone_mm: f64,
    /// root compliance more than in the model (percent): rim, hub and their clamps
    pub end_compliance_percent: f64,
}

/// Numbers in a [`Deviation`].
pub const DEVIATIONS: usize = 6;

impl Deviation {
    /// From values in the order of the fields.
    pub fn from_values(values: [f64; DEVIATIONS]) -> Self {
        let [thickness_mm, modulus_percent, kerf_mm, free_height_mm, cone_mm, end_compliance_percent] =
            values;
        Self { thickness_mm, modulus_percent, kerf_mm, free_height_mm, cone_mm, end_compliance_percent }
    }

    /// In the order of the fields.
    pub fn values(&self) -> [f64; DEVIATIONS] {
        [
            self.thickness_mm,
            self.modulus_percent,
            self.kerf_mm,
            self.free_height_mm,
            self.cone_mm,
            self.end_compliance_percent,
        ]
    }

    /// Factor on both moduli.
    pub fn modulus_factor(&self) -> f64 {
        1.0 + 0.01 * self.modulus_percent
    }

    /// Settings of a model with the root compliance of this part.
    pub fn settings(&self, base: &ModelSettings) -> ModelSettings {
        let factor = (1.0 + 0.01 * self.end_compliance_percent).max(0.0);
        let law = base.roots;
        // twist and slope go with these lengths, height with the cube of its own
        let roots = RootLaw {
            twist: factor * law.twist,
            slope: factor * law.slope,
            height: factor.cbrt() * law.height,
            curved: factor * law.curved,
            ring: factor * law.ring,
            roll: factor * law.roll,
            loose: factor * law.loose,
            support: law.support,
        };
        ModelSettings { roots, ..*base }
    }
}

/// A spring whose parts may deviate, its arm placed once.
///
/// A wider kerf moves both flanks of an arm, normal to it, by half the change; the slot's centre line, and with it the
/// arm's to first order, stays where it is. The former's shape is scaled with the free height.
#[derive(Debug, Clone)]
pub struct VariedSpring {
    /// the spring as drawn
    pub spring: Spring,
    /// its arm
    pub arm: ArmPath,
    /// radial width lost per mm of kerf, at every node
    radial: Vec<f64>,
    /// height gained per mm of a bowed cone, at every node
    bow: Vec<f64>,
}

impl VariedSpring {
    /// A spring with its arm in `segments` pieces.
    pub fn new(spring: &Spring, segments: usize) -> Result<Self, LayoutError> {
        let arm = spring.arm(segments)?;
        let radial = pitch_cosines(&arm.angle, &arm.radius).iter().map(|cosine| 1.0 / cosine).collect();
        let height = arm.free_height();
        let bow = arm.height.iter().map(|z| 4.0 * z / height * (1.0 - z / height)).collect();
        Ok(Self { spring: spring.clone(), arm, radial, bow })
    }

    /// Radial width per width normal to the arm, at every node.
    pub(super) fn radial(&self) -> &[f64] {
        &self.radial
    }

    /// The fast model's settings: small slopes, the arm's own resolution.
    pub(super) fn fast(&self) -> ModelSettings {
        ModelSettings { segments: self.arm.segments(), in_plane: false, ..ModelSettings::default() }
    }

    /// The whole model's settings at the arm's own resolution.
    pub(super) fn whole(&self) -> ModelSettings {
        ModelSettings { segments: self.arm.segments(), ..ModelSettings::default() }
    }

    /// The model of the part with these deviations.
    pub fn model(&self, deviation: &Deviation, settings: &ModelSettings) -> Result<Model, VariationError> {
        let (spring, arm) = self.part(deviation)?;
        Ok(Model::of_arm(&spring, &arm, &deviation.settings(settings)))
    }

    /// The part with these deviations: its spring, for everything but the arm's places, and its arm.
    pub fn part(&self, deviation: &Deviation) -> Result<(Spring, ArmPath), VariationError> {
        let impossible = |cause: &'static str, found: f64, unit: &str, reason| VariationError::Impossible {
            cause,
            found: format!("{found:.4} {unit}"),
            reason,
        };
        let (mut spring, mut arm) = (self.spring.clone(), self.arm.clone());
        spring.sheet.thickness += deviation.thickness_mm;
        if spring.sheet.thickness <= 0.0 {
            return Err(impossible("thickness", deviation.thickness_mm, "mm", "no thickness is left"));
        }
        let factor = deviation.modulus_factor();
        if factor <= 0.0 {
            return Err(impossible("modulus", deviation.modulus_percent, "%", "no stiffness is left"));
        }
        if deviation.end_compliance_percent <= -100.0 {
            let found = deviation.end_compliance_percent;
            return Err(impossible("root compliance", found, "%", "a negative root compliance"));
        }
        spring.sheet.youngs_modulus *= factor;
        spring.sheet.shear_modulus *= factor;
        spring.slot += deviation.kerf_mm;
        for (width, radial) in arm.width.iter_mut().zip(&self.radial) {
            *width -= radial * deviation.kerf_mm;
        }
        if spring.slot <= 0.0 || arm.width.iter().any(|width| *width <= 0.0) {
            return Err(impossible("kerf", deviation.kerf_mm, "mm", "an arm or a slot is gone"));
        }
        let height = self.arm.free_height();
        let scale = (height + deviation.free_height_mm) / height;
        if scale <= 0.0 {
            return Err(impossible(
                "free height",
                deviation.free_height_mm,
                "mm",
                "the spring would be flat",
            ));
        }
        let cone = deviation.cone_mm;
        if 4.0 * cone.abs() >= scale * height {
            return Err(impossible("cone", cone, "mm", "the former falls towards the hub"));
        }
        for i in 0..arm.height.len() {
            let share = self.arm.height[i] / height;
            arm.height[i] = scale * self.arm.height[i] + cone * self.bow[i];
            arm.rise[i] = (scale + 4.0 * cone * (1.0 - 2.0 * share) / height) * self.arm.rise[i];
        }
        spring.former.free_height *= scale;
        Ok((spring, arm))
    }

    /// How thickness, arm and heights move per mm of thickness, kerf, free height and cone. The modulus has no direction:
    /// force is proportional to it.
    pub fn directions(&self) -> [Direction; 4] {
        let height = self.arm.free_height();
        [
            Direction { thickness: 1.0, ..Direction::default() },
            Direction { width: self.radial.iter().map(|radial| -radial).collect(), ..Direction::default() },
            Direction {
                height: self.arm.height.iter().map(|z| z / height).collect(),
                ..Direction::default()
            },
            Direction { height: self.bow.clone(), ..Direction::default() },
        ]
    }
}
