//! The numbers other programs rely on: the same keys wherever the same thing is said.

use serde::Serialize;

use super::answer::FormerGain;
use super::drawing::{Drawing, ReadBack};
use super::stacking::Stack;
use crate::outline::CutSummary;
use crate::spec::SpringFile;
use crate::summary::{CurveSummary, FitSummary, FlatSummary, StressSummary};
use crate::synthesis::Merits;

/// All of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// how well the curve is met
    pub fit: FitSummary,
    /// whether it closes
    pub flat: FlatSummary,
    /// whether it holds
    pub stress: StressSummary,
    /// what was drawn
    pub drawing: DrawingSummary,
    /// names of the checks that failed
    pub failed: Vec<String>,
    /// the spring, as in its file
    pub spring: SpringFile,
    /// equal springs that would meet the curve together, where one cannot
    pub stack: Option<Stack>,
    /// what shaping the former gained, where it was shaped
    pub former_gain: Option<FormerGain>,
    /// the other candidates, best first
    pub shortlist: Vec<Merits>,
    /// what a person should know
    pub warnings: Vec<String>,
    /// the curve
    pub curve: CurveSummary,
}

/// What was drawn and what cutting it takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawingSummary {
    /// length, pierces, time, sheet
    pub cut: CutSummary,
    /// the drawing measured again
    pub read_back: ReadBack,
    /// what the process has against it, in words
    pub findings: Vec<String>,
}

impl DrawingSummary {
    /// From the drawing.
    pub fn of(drawing: &Drawing) -> Self {
        Self {
            cut: drawing.cut,
            read_back: drawing.read_back,
            findings: drawing.findings.iter().map(ToString::to_string).collect(),
        }
    }
}

impl Summary {
    /// Whether every check passed.
    pub fn passed(&self) -> bool {
        self.fit.reachable
            && self.fit.rms_percent <= self.fit.tolerance_percent
            && self.flat.closes
            && self.stress.ok != Some(false)
            && self.failed.is_empty()
    }

    /// The file's bytes.
    pub fn to_json(&self) -> Vec<u8> {
        json_bytes(self)
    }
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
