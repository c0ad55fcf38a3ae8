//! Share of the fatigue strength that a cut edge keeps.

use serde::{Deserialize, Serialize};

use super::sheet::Confidence;

/// Finish of a cut edge.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum EdgeFinish {
    /// nothing after the cut
    #[default]
    AsCut,
    /// tumbled with abrasive media
    Tumbled,
    /// tempered, then tumbled
    TemperedAndTumbled,
    /// two skim cuts after the main cut
    TwoSkims,
    /// shot-peened on both faces and the edges
    Peened,
}

/// Factor on the fatigue strength of a good surface, as a range. Rough guidance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EdgeFactor {
    /// cutting process, named as in a brief
    pub process: String,
    /// what was done to the edge
    pub finish: EdgeFinish,
    /// lower end, to calculate with
    pub low: f64,
    /// upper end
    pub high: f64,
    /// where it comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{edge_factor, edge_factors};

    #[test]
    fn factors_lie_between_a_half_and_one() {
        for factor in edge_factors() {
            assert!(
                0.5 <= factor.low && factor.low <= factor.high && factor.high <= 1.0,
                "{} {:?}: {} to {}",
                factor.process,
                factor.finish,
                factor.low,
                factor.high
            );
        }
    }

    #[test]
    fn tumbling_betters_a_waterjet_edge_and_no_process_is_invented() {
        let as_cut = edge_factor("waterjet", EdgeFinish::AsCut).unwrap();
        let tumbled = edge_factor("waterjet", EdgeFinish::Tumbled).unwrap();
        assert!(tumbled.low >= as_cut.high, "{} against {}", tumbled.low, as_cut.high);
        assert!(edge_factor("waterjet", EdgeFinish::TwoSkims).is_none());
        assert!(edge_factor("scissors", EdgeFinish::AsCut).is_none());
    }
}
