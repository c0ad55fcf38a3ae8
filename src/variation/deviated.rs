//! A part as a spring of its own.

use super::VariationError;
use super::deviation::Deviation;
use crate::layout::{ArmShape, LayoutError, SlotLine, Spring};
use crate::numeric::MonotoneCubic;

/// A spring with another sheet, kerf and free height, as a spring of its own: the slots' centre lines stay, arms lose what
/// the slots gain. Cone and ends are not part of a spring's file and are left out.
pub fn deviated(spring: &Spring, deviation: &Deviation) -> Result<Spring, VariationError> {
    let ArmShape::Slots(line) = &spring.shape else {
        return Err(VariationError::Layout(LayoutError::Profile {
            what: "the arm",
            found: "stations, which do not say how its slots run".to_owned(),
        }));
    };
    let mut part = spring.clone();
    part.sheet.thickness += deviation.thickness_mm;
    part.sheet.youngs_modulus *= deviation.modulus_factor();
    part.sheet.shear_modulus *= deviation.modulus_factor();
    part.former.free_height += deviation.free_height_mm;
    part.slot += deviation.kerf_mm;
    let width = line.nominal_width();
    let values: Vec<f64> = width.values().iter().map(|w| w - deviation.kerf_mm).collect();
    let profile = MonotoneCubic::through(width.arguments(), &values)
        .ok_or_else(|| LayoutError::Profile { what: "arm.width", found: format!("{values:?}") })?;
    let (outer, inner) = (line.outer_radius(), line.inner_radius());
    part.shape = ArmShape::Slots(SlotLine::wind(part.arms, part.slot, outer, inner, profile)?);
    Ok(part)
}
