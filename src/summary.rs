//! Numbers that every command says under the same keys.

use serde::Serialize;

use crate::checks::Verdicts;

/// How well the curve is met: over the target's own points, against the curve that was asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitSummary {
    /// root mean square force error, each relative to the larger of the target force and one tenth of its maximum
    pub rms_percent: f64,
    /// the largest of them
    pub max_percent: f64,
    /// whether a seating spring can follow the curve at all
    pub reachable: bool,
    /// why not, or why the fit is not better
    pub reason: String,
    /// limit of the rms error
    pub tolerance_percent: f64,
}

/// The flat-compressed check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlatSummary {
    /// 99 % of the travel reached with stress within the allowable
    pub closes: bool,
    /// height when flat (mm)
    pub solid_height_mm: f64,
    /// force with 1 % of the free height left (N)
    pub closing_force_n: f64,
    /// least gap between neighbouring turns when flat, cutting tolerance taken off (mm)
    pub least_gap_mm: f64,
}

/// The stress check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StressSummary {
    /// largest surface von Mises stress (MPa)
    pub peak_mpa: f64,
    /// allowable (MPa)
    pub allowable_mpa: Option<f64>,
    /// whether the one stays within the other; none without a strength
    pub ok: Option<bool>,
}

/// The curve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CurveSummary {
    /// deflection (mm)
    pub deflection_mm: Vec<f64>,
    /// predicted force (N)
    pub force_n: Vec<f64>,
    /// force asked for (N)
    pub target_n: Vec<f64>,
}

impl FlatSummary {
    /// From the checks.
    pub fn of(verdicts: &Verdicts) -> Self {
        let flat = &verdicts.flat;
        Self {
            closes: flat.closes,
            solid_height_mm: flat.solid_height_mm,
            closing_force_n: flat.closing_force_n,
            least_gap_mm: flat.least_gap_mm,
        }
    }
}

impl StressSummary {
    /// From the checks.
    pub fn of(verdicts: &Verdicts) -> Self {
        let stress = &verdicts.stress;
        Self { peak_mpa: stress.peak_mpa, allowable_mpa: stress.allowable_mpa, ok: stress.ok }
    }
}
