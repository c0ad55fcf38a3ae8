//! Sheets and limits of cutting that a brief leaves to choose from.

use crate::layout::{LayoutError, SheetProperties, sheet_properties};
use crate::material::find;
use crate::outline::CutRules;
use crate::spec::{Brief, Sheet, SlotEnds};
use crate::synthesis::CuttingLimits;

/// Sheet used where the brief names none.
pub(super) const DEFAULT_SHEET: &str = "1.4310+C1300";

/// The sheets that a brief leaves to choose from.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetsToTry {
    /// what all of them share; its thickness is the first one's
    pub sheet: SheetProperties,
    /// thicknesses to try (mm)
    pub thicknesses: Vec<f64>,
    /// von Mises stress not to exceed (MPa); none where no strength is known
    pub allowable: Option<f64>,
    /// what was chosen for the user, a sentence each
    pub warnings: Vec<String>,
}

impl SheetsToTry {
    /// From the brief and, where that says nothing, the stock.
    pub fn of(brief: &Brief) -> Result<Self, LayoutError> {
        let name = brief.sheet.material.as_deref().unwrap_or(DEFAULT_SHEET);
        let mut warnings = Vec::new();
        if brief.sheet.material.is_none() {
            warnings.push(format!("no sheet named: {DEFAULT_SHEET} taken"));
        }
        let thicknesses = match &brief.sheet.thickness {
            Some(list) => list.clone(),
            None => find(name).map_err(LayoutError::from)?.thicknesses.clone(),
        };
        let given = &brief.sheet;
        let sheet = sheet_properties(&Sheet {
            material: Some(name.to_owned()),
            thickness: thicknesses.first().copied().unwrap_or(1.0),
            youngs_modulus: given.youngs_modulus,
            shear_modulus: given.shear_modulus,
            tensile_strength: given.tensile_strength,
            yield_strength: given.yield_strength,
            density: given.density,
        })?;
        let in_range = |thickness: &f64| {
            CutRules::of(&brief.process, *thickness)
                .sheet
                .is_none_or(|[from, to]| *thickness >= from && *thickness <= to)
        };
        let usable: Vec<f64> = thicknesses.iter().copied().filter(in_range).collect();
        if usable.is_empty() {
            warnings
                .push("none of the thicknesses is usual for this cutting process: all were tried".to_owned());
        }
        let thicknesses = if usable.is_empty() { thicknesses } else { usable };
        let allowable = sheet.allowable().map(|allowable| allowable.limit);
        Ok(Self { sheet, thicknesses, allowable, warnings })
    }
}

/// Limits of cutting under a brief, for a sheet of `thickness` (mm): least width of an arm and of a slot.
pub fn cutting_limits(brief: &Brief, thickness: f64) -> CuttingLimits {
    let rules = CutRules::of(&brief.process, thickness);
    // a closed outline, to the next tenth of a millimetre
    let ends_round = brief.process.ends.unwrap_or_default() == SlotEnds::Round;
    // the round of a slot is an inside corner
    let corner = if ends_round { 2.0 * rules.inside_radius_min } else { 0.0 };
    let least = rules.closed_slot_min.max(rules.slot_min).max(corner);
    let slot = brief.process.slot.unwrap_or((10.0 * least - 1e-9).ceil() / 10.0);
    let limits = CuttingLimits { slot, arm_min: rules.arm_min }.with_brief(brief);
    // an arm thicker than wide bends sideways first: taken only where the brief asks for one
    let least = brief.arms.width_min.unwrap_or_else(|| limits.arm_min.max(thickness));
    CuttingLimits { arm_min: least, ..limits }
}
