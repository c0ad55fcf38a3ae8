//! The table of cutting processes in `data/processes.toml`: kerf, smallest features, speed.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::Confidence;

/// One part of a rule: `fixed + per_thickness · t + per_kerf · k` (mm).
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct RuleTerm {
    /// fixed share (mm)
    pub fixed: f64,
    /// share of the sheet's thickness
    pub per_thickness: f64,
    /// share of the kerf
    pub per_kerf: f64,
}

/// A length that depends on thickness and kerf: the largest of its terms.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProcessRule {
    /// terms of which the largest counts
    pub terms: Vec<RuleTerm>,
    /// where it comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

impl ProcessRule {
    /// The length for a sheet `thickness` mm thick cut `kerf` mm wide (mm).
    pub fn value(&self, thickness: f64, kerf: f64) -> f64 {
        self.terms
            .iter()
            .map(|term| term.fixed + term.per_thickness * thickness + term.per_kerf * kerf)
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// Tabs that hold small parts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TabRule {
    /// outside diameter below which they are needed (mm)
    pub below: f64,
    /// width of a tab (mm)
    pub width: f64,
    /// number of tabs
    pub count: usize,
}

/// Tabs with their source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SourcedTabs {
    /// the rule
    #[serde(flatten)]
    pub rule: TabRule,
    /// where it comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

/// A range with its source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourcedRange {
    /// lower end
    pub from: f64,
    /// upper end
    pub to: f64,
    /// where it comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

/// Cutting speed over the thickness: `at_one_mm · t^(−exponent)` (mm/min).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CuttingSpeed {
    /// speed in sheet of 1 mm (mm/min)
    pub at_one_mm: f64,
    /// how fast it falls with thickness
    pub exponent: f64,
    /// where it comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

impl CuttingSpeed {
    /// Speed in sheet of a thickness in mm (mm/min).
    pub fn value(&self, thickness: f64) -> f64 {
        self.at_one_mm * thickness.powf(-self.exponent)
    }
}

/// One cutting process.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CuttingProcess {
    /// name as in a brief or a spring file
    pub name: String,
    /// description
    pub description: String,
    /// width the cut takes away
    pub kerf: ProcessRule,
    /// narrowest slot there can be
    pub slot_min: ProcessRule,
    /// narrowest slot that is cut round its outline, not in a single pass
    pub closed_slot_min: ProcessRule,
    /// narrowest arm
    pub arm_min: ProcessRule,
    /// smallest radius of an inside corner
    pub inside_radius_min: ProcessRule,
    /// diameter of the hole that piercing leaves
    pub pierce_hole: ProcessRule,
    /// how far one edge leans over the thickness, above zero where the slot is wider at the entry face
    pub edge_slope: ProcessRule,
    /// ± on a cut width
    pub tolerance: ProcessRule,
    /// sheet it is used on (mm)
    pub sheet: Option<SourcedRange>,
    /// cutting speed; none where time does not follow the length cut
    pub speed: Option<CuttingSpeed>,
    /// time to pierce (s)
    pub pierce_seconds: Option<SourcedRange>,
    /// time to go to the next pierce (s)
    pub move_seconds: Option<SourcedRange>,
    /// tabs that hold small parts; none where the process needs none
    pub tabs: Option<SourcedTabs>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    process: Vec<CuttingProcess>,
}

/// All processes known, in the order of the data file.
pub fn processes() -> &'static [CuttingProcess] {
    static PROCESSES: OnceLock<Vec<CuttingProcess>> = OnceLock::new();
    PROCESSES.get_or_init(|| {
        // the file is part of the program and a test reads it: an empty table cannot be released
        toml::from_str::<Table>(include_str!("../../data/processes.toml"))
            .map_or_else(|_| Vec::new(), |table| table.process)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn find(name: &str) -> &'static CuttingProcess {
        processes().iter().find(|process| process.name == name).unwrap()
    }

    #[test]
    fn the_table_is_read_and_every_value_has_a_source() {
        let names: Vec<&str> = processes().iter().map(|process| process.name.as_str()).collect();
        assert_eq!(names, ["waterjet", "laser", "etch", "wire-edm", "custom"]);
        for process in processes() {
            for rule in [
                &process.kerf,
                &process.slot_min,
                &process.closed_slot_min,
                &process.arm_min,
                &process.inside_radius_min,
                &process.pierce_hole,
                &process.edge_slope,
                &process.tolerance,
            ] {
                assert!(!rule.terms.is_empty() && !rule.source.is_empty(), "{}: {rule:?}", process.name);
            }
        }
    }

    #[test]
    fn the_larger_term_counts() {
        let waterjet = find("waterjet");
        assert_relative_eq!(waterjet.arm_min.value(0.8, 0.9), 1.25);
        assert_relative_eq!(waterjet.arm_min.value(2.0, 0.9), 2.0);
        assert_relative_eq!(find("laser").edge_slope.value(2.0, 0.25), 0.056, max_relative = 1e-12);
    }

    #[test]
    fn waterjet_speed_falls_as_recalled_for_spring_steel() {
        let speed = find("waterjet").speed.as_ref().unwrap();
        for (thickness, expected) in [(1.0, 1300.0), (1.5, 820.0), (2.0, 590.0), (3.0, 370.0)] {
            assert_relative_eq!(speed.value(thickness), expected, max_relative = 0.01);
        }
    }
}
