//! One part's departure from its drawing, and the spring it makes.

use serde::Serialize;

use super::VariationError;
use crate::layout::{ArmPath, LayoutError, Spring};
use crate::model::sensitivity::Direction;

/// What may be off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// the sheet's thickness
    Thickness,
    /// both moduli, by one factor
    Modulus,
    /// the kerf, and with it the width of every arm
    Kerf,
    /// the height the spring was set to
    FreeHeight,
}

impl Cause {
    /// All of them, in the order of [`Deviation::values`].
    pub const ALL: [Self; 4] = [Self::Thickness, Self::Modulus, Self::Kerf, Self::FreeHeight];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Thickness => "thickness",
            Self::Modulus => "modulus",
            Self::Kerf => "kerf (arm width)",
            Self::FreeHeight => "free height",
        }
    }
}

/// How far one part is off.
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
}

impl Deviation {
    /// From values in the order of [`Cause::ALL`].
    pub fn from_values([thickness_mm, modulus_percent, kerf_mm, free_height_mm]: [f64; 4]) -> Self {
        Self { thickness_mm, modulus_percent, kerf_mm, free_height_mm }
    }

    /// In the order of [`Cause::ALL`].
    pub fn values(&self) -> [f64; 4] {
        [self.thickness_mm, self.modulus_percent, self.kerf_mm, self.free_height_mm]
    }

    /// What the moduli are multiplied by.
    pub fn modulus_factor(&self) -> f64 {
        1.0 + 0.01 * self.modulus_percent
    }
}

/// A spring whose parts may be off, its arm placed once.
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
}

impl VariedSpring {
    /// A spring with its arm in `segments` pieces.
    pub fn new(spring: &Spring, segments: usize) -> Result<Self, LayoutError> {
        let arm = spring.arm(segments)?;
        let last = arm.angle.len() - 1;
        let radial = (0..=last)
            .map(|i| {
                let (a, b) = (i.saturating_sub(1), (i + 1).min(last));
                let slope = (arm.radius[b] - arm.radius[a]) / (arm.angle[b] - arm.angle[a]);
                1f64.hypot(slope / arm.radius[i])
            })
            .collect();
        Ok(Self { spring: spring.clone(), arm, radial })
    }

    /// The part with these deviations: its spring, for everything but the arm's places, and its arm.
    pub fn part(&self, deviation: &Deviation) -> Result<(Spring, ArmPath), VariationError> {
        let impossible = |cause: Cause, found: f64, unit: &str, reason| VariationError::Impossible {
            cause: cause.name(),
            found: format!("{found:.4} {unit}"),
            reason,
        };
        let (mut spring, mut arm) = (self.spring.clone(), self.arm.clone());
        spring.sheet.thickness += deviation.thickness_mm;
        if spring.sheet.thickness <= 0.0 {
            let reason = "no thickness is left";
            return Err(impossible(Cause::Thickness, deviation.thickness_mm, "mm", reason));
        }
        let factor = deviation.modulus_factor();
        if factor <= 0.0 {
            let reason = "no stiffness is left";
            return Err(impossible(Cause::Modulus, deviation.modulus_percent, "%", reason));
        }
        spring.sheet.youngs_modulus *= factor;
        spring.sheet.shear_modulus *= factor;
        spring.slot += deviation.kerf_mm;
        for (width, radial) in arm.width.iter_mut().zip(&self.radial) {
            *width -= radial * deviation.kerf_mm;
        }
        if spring.slot <= 0.0 || arm.width.iter().any(|width| *width <= 0.0) {
            let reason = "an arm or a slot is gone";
            return Err(impossible(Cause::Kerf, deviation.kerf_mm, "mm", reason));
        }
        let height = self.arm.free_height();
        let scale = (height + deviation.free_height_mm) / height;
        if scale <= 0.0 {
            let reason = "it lies flat";
            return Err(impossible(Cause::FreeHeight, deviation.free_height_mm, "mm", reason));
        }
        for value in arm.height.iter_mut().chain(&mut arm.rise) {
            *value *= scale;
        }
        spring.former.free_height *= scale;
        Ok((spring, arm))
    }

    /// How thickness, arm and heights move per mm of thickness, of kerf and of free height. The modulus has no
    /// direction: force is proportional to it.
    pub fn directions(&self) -> [Direction; 3] {
        let height = self.arm.free_height();
        [
            Direction { thickness: 1.0, ..Direction::default() },
            Direction { width: self.radial.iter().map(|radial| -radial).collect(), ..Direction::default() },
            Direction {
                height: self.arm.height.iter().map(|z| z / height).collect(),
                ..Direction::default()
            },
        ]
    }
}
