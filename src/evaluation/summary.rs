//! Numbers of an evaluation, under the same keys in every command.

use serde::Serialize;

use super::cost::Cost;
use super::drawing::{Drawing, ReadBack};
use super::fit::FitSummary;
use super::parts::Parts;
use super::verdict::Verdicts;
use super::{CurveTable, Evaluation};
use crate::checks::remedies::Remedy;
use crate::checks::{Checks, RootStress};
use crate::outline::{CutSummary, NestPattern};

/// The keys that every command that judges a spring writes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EvaluationSummary {
    /// whether everything asked is yes
    pub passed: bool,
    /// names of the verdicts that are no or not judged
    pub failed: Vec<&'static str>,
    /// the verdicts by name
    pub verdicts: Verdicts,
    /// errors of the curve; null where none is asked for
    pub fit: Option<FitSummary>,
    /// the closed spring
    pub flat: FlatSummary,
    /// stress
    pub stress: StressSummary,
    /// parts as wanted; null where they were not computed
    pub parts: Option<Parts>,
    /// the curve at the target's points; null where none is asked for
    pub curve: Option<CurveSummary>,
    /// the drawing; null where it could not be made
    pub drawing: Option<DrawingSummary>,
    /// remedies tried where strength or life is no
    pub remedies: Vec<Remedy>,
    /// warnings, a sentence each
    pub warnings: Vec<String>,
}

impl EvaluationSummary {
    /// Of an evaluation.
    pub fn of(evaluation: &Evaluation) -> Self {
        let (checks, verdicts) = (&evaluation.checks, &evaluation.verdicts);
        Self {
            passed: verdicts.passed(),
            failed: verdicts.failed(),
            verdicts: verdicts.clone(),
            fit: evaluation.fit.as_ref().map(|fit| fit.summary.clone()),
            flat: FlatSummary::of(checks),
            stress: StressSummary::of(checks),
            parts: evaluation.good_parts().cloned(),
            curve: evaluation.fit.as_ref().map(|fit| CurveSummary::of(&fit.table)),
            drawing: evaluation.drawing.as_ref().ok().map(DrawingSummary::of),
            remedies: evaluation.remedies.clone(),
            warnings: evaluation.warnings.clone(),
        }
    }
}

/// The drawing with length of cut, time and cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawingSummary {
    /// length, pierces, time, sheet
    pub cut: CutSummary,
    /// weight, time and price of a part
    pub cost: Cost,
    /// parts on the shop's sheet; null where no sheet is given or none fits
    pub nest: Option<NestSummary>,
    /// tabs drawn
    pub tabs: usize,
    /// part number as engraved; null where none is
    pub engraved: Option<String>,
    /// the drawing measured again
    pub read_back: Option<ReadBack>,
    /// findings of the process, in words
    pub findings: Vec<String>,
}

impl DrawingSummary {
    /// From the drawing.
    pub fn of(drawing: &Drawing) -> Self {
        Self {
            cut: drawing.cut,
            cost: drawing.cost,
            nest: drawing.placed().map(|nest| NestSummary {
                sheet_mm: nest.sheet,
                parts: nest.centres.len(),
                pattern: nest.pattern,
                spacing_mm: nest.spacing,
                margin_mm: nest.margin,
                sheet_use: nest.sheet_use(drawing.cut.part_area_mm2),
            }),
            tabs: drawing.marks.tabs.len(),
            engraved: drawing.marks.part_number.clone().filter(|_| !drawing.marks.engraving.is_empty()),
            read_back: drawing.read_back,
            findings: drawing.findings.iter().map(ToString::to_string).collect(),
        }
    }
}

/// Parts on the shop's sheet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NestSummary {
    /// sheet (mm): along the rolling direction, across it
    pub sheet_mm: [f64; 2],
    /// parts on it
    pub parts: usize,
    /// pattern of the rows
    pub pattern: NestPattern,
    /// distance of neighbouring parts (mm)
    pub spacing_mm: f64,
    /// border that stays free (mm)
    pub margin_mm: f64,
    /// share of the sheet that becomes part
    pub sheet_use: f64,
}

/// The closed spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlatSummary {
    /// 99 % of the travel reached with the stress of the arms within the allowable
    pub closes: bool,
    /// highest point over everything with 1 % of the travel left (mm)
    pub solid_height_mm: f64,
    /// height of the highest arm point above its flat place there (mm)
    pub proud_mm: f64,
    /// force of a flat plate that lays every arm down (N)
    pub flattening_force_n: f64,
    /// force with 1 % of the free height left (N)
    pub closing_force_n: f64,
    /// least gap between neighbouring turns when flat, cutting tolerance subtracted (mm)
    pub least_gap_mm: f64,
}

/// Stress.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StressSummary {
    /// largest surface von Mises stress of the arms (MPa)
    pub peak_mpa: f64,
    /// allowable (MPa)
    pub allowable_mpa: Option<f64>,
    /// whether arms, slot ends and rings stay within their allowables; null without a strength
    pub ok: Option<bool>,
    /// slot ends of rim and hub at their worst deflection
    pub slot_ends: Vec<RootStress>,
    /// rings of rim and hub at their worst deflection
    pub rings: Vec<RootStress>,
}

/// The curve at the target's points.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CurveSummary {
    /// deflection from the free height (mm)
    pub deflection_mm: Vec<f64>,
    /// deflection from where the target starts (mm); left out where that is the free height
    #[serde(skip_serializing_if = "Option::is_none")]
    pub travel_mm: Option<Vec<f64>>,
    /// predicted force (N)
    pub force_n: Vec<f64>,
    /// force asked for (N)
    pub target_n: Vec<f64>,
}

impl CurveSummary {
    /// From the table.
    pub fn of(table: &CurveTable) -> Self {
        Self {
            deflection_mm: table.response.deflection.clone(),
            travel_mm: (table.installed > 0.0).then(|| table.travel()),
            force_n: table.response.force.clone(),
            target_n: table.target.clone(),
        }
    }
}

impl FlatSummary {
    /// From the checks.
    pub fn of(checks: &Checks) -> Self {
        let flat = &checks.flat;
        Self {
            closes: flat.closes,
            solid_height_mm: flat.solid_height_mm,
            proud_mm: flat.proud_mm,
            flattening_force_n: flat.flattening_force_n,
            closing_force_n: flat.closing_force_n,
            least_gap_mm: flat.least_gap_mm,
        }
    }
}

impl StressSummary {
    /// Largest stress at the slot ends (MPa); none where the arms end in ideal clamps.
    pub fn slot_end_mpa(&self) -> Option<f64> {
        largest(&self.slot_ends)
    }

    /// Largest stress in the rings (MPa); none where the arms end in ideal clamps.
    pub fn ring_mpa(&self) -> Option<f64> {
        largest(&self.rings)
    }

    /// From the checks.
    pub fn of(checks: &Checks) -> Self {
        let stress = &checks.stress;
        Self {
            peak_mpa: stress.peak_mpa,
            allowable_mpa: stress.allowable_mpa,
            ok: stress.ok,
            slot_ends: stress.slot_ends.clone(),
            rings: stress.rings.clone(),
        }
    }
}

fn largest(parts: &[RootStress]) -> Option<f64> {
    parts.iter().map(|part| part.stress_mpa).max_by(f64::total_cmp)
}

/// A JSON file's bytes, numbers at written precision.
pub fn json_bytes(value: &impl Serialize) -> Vec<u8> {
    // numbers, strings and lists: writing cannot fail
    let mut text = serde_json::to_vec_pretty(&rounded(value)).unwrap_or_default();
    text.push(b'\n');
    text
}

/// As JSON with numbers at written precision: seven significant digits, no negative zero.
fn rounded(said: &impl Serialize) -> serde_json::Value {
    fn round(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Number(number) if number.is_f64() => {
                let digits = number
                    .as_f64()
                    .map(|v| format!("{:.6e}", v + 0.0))
                    .and_then(|text| text.parse::<f64>().ok());
                if let Some(short) = digits.and_then(serde_json::Number::from_f64) {
                    *number = short;
                }
            }
            serde_json::Value::Array(list) => list.iter_mut().for_each(round),
            serde_json::Value::Object(map) => map.values_mut().for_each(round),
            _ => {}
        }
    }
    let mut value = serde_json::to_value(said).unwrap_or_default();
    round(&mut value);
    value
}
