//! The allowable stress: von Mises at the surface against the proof strength, static, after presetting. A file
//! overrides it by the sheet's `yield_strength`.

use serde::Serialize;

use super::sheet::Confidence;

/// Rp0.2 over Rm where only Rm is known. Common practice for hard strip, no source.
pub const PROOF_SHARE_OF_TENSILE: f64 = 0.87;

/// Least share of the free height lost by presetting. Manufacturers' handbook tables (read).
pub const SET_REMOVAL_LEAST_HEIGHT_LOSS: f64 = 0.10;

/// Elastic stress at the overload over proof stress above which presetting only distorts. Manufacturers' handbook
/// tables (read).
pub const SET_REMOVAL_LARGEST_STRESS_RATIO: f64 = 1.3;

/// A limit on the von Mises stress at the surface, with its rule and source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Allowable {
    /// the limit (MPa)
    pub limit: f64,
    /// the rule in words, with numbers
    pub rule: String,
    /// standard, handbook or practice
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

impl Allowable {
    /// The limit of a sheet by its least 0.2 % proof strength Rp0.2, else by its least tensile strength Rm (MPa); none
    /// where neither is known.
    pub fn of(proof: Option<f64>, tensile: Option<f64>) -> Option<Self> {
        let known = |strength: Option<f64>| strength.filter(|value| value.is_finite() && *value > 0.0);
        if let Some(proof) = known(proof) {
            return Some(Self {
                limit: proof,
                rule: format!("von Mises at the surface ≤ Rp0.2 = {proof} MPa"),
                source: "yield by the von Mises criterion".to_owned(),
                confidence: Confidence::Read,
            });
        }
        let tensile = known(tensile)?;
        Some(Self {
            limit: PROOF_SHARE_OF_TENSILE * tensile,
            rule: format!("von Mises at the surface ≤ {PROOF_SHARE_OF_TENSILE} of Rm = {tensile} MPa"),
            source: "common practice for hard strip, no source".to_owned(),
            confidence: Confidence::Memory,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn limit(proof: Option<f64>, tensile: Option<f64>) -> Option<f64> {
        Allowable::of(proof, tensile).map(|allowable| allowable.limit)
    }

    #[test]
    fn the_proof_strength_counts_before_its_estimate() {
        assert_eq!(limit(Some(1590.0), Some(1655.0)), Some(1590.0));
        assert_abs_diff_eq!(limit(None, Some(1300.0)).unwrap(), 1131.0, epsilon = 1e-9);
    }

    #[test]
    fn without_strength_there_is_no_limit() {
        assert_eq!(limit(None, None), None);
        assert_eq!(limit(Some(-1.0), Some(f64::NAN)), None);
    }
}
