//! The numbers other programs rely on: the same keys wherever the same thing is said.

use serde::Serialize;

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
    /// names of the checks that failed
    pub failed: Vec<String>,
    /// the spring, as in its file
    pub spring: SpringFile,
    /// the other candidates, best first
    pub shortlist: Vec<Merits>,
    /// what a person should know
    pub warnings: Vec<String>,
    /// the curve
    pub curve: CurveSummary,
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
pub(super) fn json_bytes<T: Serialize>(value: &T) -> Vec<u8> {
    // numbers, strings and lists: writing cannot fail
    let mut text = serde_json::to_vec_pretty(&rounded(value)).unwrap_or_default();
    text.push(b'\n');
    text
}

/// As JSON with numbers at written precision: seven significant digits.
fn rounded<T: Serialize>(summary: &T) -> serde_json::Value {
    fn round(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Number(number) if number.is_f64() => {
                let digits =
                    number.as_f64().map(|v| format!("{v:.6e}")).and_then(|text| text.parse::<f64>().ok());
                if let Some(short) = digits.and_then(serde_json::Number::from_f64) {
                    *number = short;
                }
            }
            serde_json::Value::Array(list) => list.iter_mut().for_each(round),
            serde_json::Value::Object(map) => map.values_mut().for_each(round),
            _ => {}
        }
    }
    let mut value = serde_json::to_value(summary).unwrap_or_default();
    round(&mut value);
    value
}
