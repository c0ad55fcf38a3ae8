//! Factors of cut edges over the sheet's strength: the table in `data/edge_factors.toml`.

use std::sync::OnceLock;

use serde::Deserialize;

use super::edge::EdgeFinish;
use super::sheet::Confidence;

/// Strengths Rm of the table's columns (MPa).
const STRENGTHS: [f64; 2] = [1200.0, 1800.0];

/// Factor on the fatigue strength of a ground surface for one process and finish.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EdgeRange {
    /// cutting process, named as in a brief
    pub process: String,
    /// finish of the edge
    pub finish: EdgeFinish,
    /// lower and upper end at Rm 1200 MPa
    pub at_1200: [f64; 2],
    /// lower and upper end at Rm 1800 MPa
    pub at_1800: [f64; 2],
    /// where it comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

impl EdgeRange {
    /// Lower and upper end for a tensile strength (MPa): straight between the two strengths of the table, constant beyond.
    pub fn at(&self, tensile: f64) -> [f64; 2] {
        let share = ((tensile - STRENGTHS[0]) / (STRENGTHS[1] - STRENGTHS[0])).clamp(0.0, 1.0);
        [0, 1].map(|k| self.at_1200[k] + share * (self.at_1800[k] - self.at_1200[k]))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    edge: Vec<EdgeRange>,
}

/// All factors known, in the order of the data file.
pub fn edge_ranges() -> &'static [EdgeRange] {
    static RANGES: OnceLock<Vec<EdgeRange>> = OnceLock::new();
    RANGES.get_or_init(|| {
        // the file is part of the program and a test reads it: an empty table cannot be shipped
        toml::from_str::<Table>(include_str!("../../data/edge_factors.toml"))
            .map_or_else(|_| Vec::new(), |table| table.edge)
    })
}

/// The factor of a process and finish; none where the table has none.
pub fn edge_range(process: &str, finish: EdgeFinish) -> Option<&'static EdgeRange> {
    edge_ranges().iter().find(|range| range.process == process && range.finish == finish)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_data_file_parses_and_factors_fall_with_strength() {
        assert_eq!(edge_ranges().len(), 8);
        for range in edge_ranges() {
            let name = (&range.process, range.finish);
            assert!(range.at_1200[0] <= range.at_1200[1] && range.at_1800[0] <= range.at_1800[1], "{name:?}");
            assert!(range.at_1800[0] < range.at_1200[0] && range.at_1800[1] <= range.at_1200[1], "{name:?}");
            assert!(range.at_1800[0] >= 0.3 && range.at_1200[1] <= 1.15, "{name:?}");
        }
    }

    #[test]
    fn the_factor_is_straight_between_the_strengths_of_the_table() {
        let waterjet = edge_range("waterjet", EdgeFinish::AsCut).unwrap();
        assert_eq!(waterjet.at(900.0), [0.70, 0.85]);
        assert!((waterjet.at(1500.0)[0] - 0.625).abs() < 1e-12);
        assert_eq!(waterjet.at(2100.0), [0.55, 0.75]);
        assert!(edge_range("waterjet", EdgeFinish::TwoSkims).is_none());
    }
}
