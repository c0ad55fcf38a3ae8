//! Ways of setting, from `data/setting.toml`.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

/// A way of giving a spring its height; the names are those of `[setting] way`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// formed over cold, stresses relieved afterwards
    Cold,
    /// clamped over-formed and heated to the stress-relief temperature
    ClampedRelief,
    /// tempered again on the former
    ReTemper,
    /// formed soft, hardened, tempered in a fixture
    HardenAfterForming,
    /// formed before ageing, aged on the former
    AgeOnFormer,
    /// transformed on the former from the soft state
    TransformOnFormer,
    /// formed by creep at high temperature
    CreepForm,
}

impl Way {
    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cold => "cold",
            Self::ClampedRelief => "clamped-relief",
            Self::ReTemper => "re-temper",
            Self::HardenAfterForming => "harden-after-forming",
            Self::AgeOnFormer => "age-on-former",
            Self::TransformOnFormer => "transform-on-former",
            Self::CreepForm => "creep-form",
        }
    }
}

/// How sure a row is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mark {
    /// seen in a document
    Read,
    /// recalled, to be confirmed
    Memory,
    /// recalled, order of magnitude only
    Weak,
}

impl Mark {
    /// In words, for texts.
    pub fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Memory => "from memory",
            Self::Weak => "from memory, order of magnitude only",
        }
    }
}

/// One way for some sheets and thicknesses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WayRow {
    /// the way
    pub way: Way,
    /// beginnings of the names of sheets it suits; empty for a sheet that is not in the stock
    pub sheets: Vec<String>,
    /// thinnest and thickest sheet (mm)
    pub thickness: [f64; 2],
    /// share R of the stress that relaxes on the former, low and high
    pub relaxed: [f64; 2],
    /// proof strength while it is formed (MPa); that of the finished sheet when left out
    pub forming_proof: Option<f64>,
    /// state to order
    pub order: String,
    /// heat treatment in words, with temperatures (°C) and times
    pub heat: String,
    /// growth of lengths by the heat treatment; below zero it shrinks
    #[serde(default)]
    pub growth: f64,
    /// expected height of a batch after the trial, ± percent
    pub height_percent: [f64; 2],
    /// what endangers people or the part
    pub hazard: String,
    /// where the row comes from
    pub source: String,
    /// how sure it is
    pub mark: Mark,
}

impl WayRow {
    /// Middle of the range of R.
    pub fn relaxed_middle(&self) -> f64 {
        0.5 * (self.relaxed[0] + self.relaxed[1])
    }

    fn suits(&self, sheet: Option<&str>, thickness: f64) -> bool {
        let named = match sheet {
            None => self.sheets.is_empty(),
            Some(name) => self.sheets.iter().any(|beginning| name.starts_with(beginning.as_str())),
        };
        named && (self.thickness[0]..=self.thickness[1]).contains(&thickness)
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    way: Vec<WayRow>,
}

fn rows() -> &'static [WayRow] {
    static ROWS: OnceLock<Vec<WayRow>> = OnceLock::new();
    ROWS.get_or_init(|| {
        // part of the program, read by a test: it cannot leave the workshop empty
        toml::from_str::<Table>(include_str!("../../data/setting.toml"))
            .map_or_else(|_| Vec::new(), |table| table.way)
    })
}

/// Ways that suit a sheet of the stock (none: a sheet of its own) and a thickness (mm), the one to take first.
pub fn ways_for(sheet: Option<&str>, thickness: f64) -> Vec<&'static WayRow> {
    rows().iter().filter(|row| row.suits(sheet, thickness)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::stock;

    #[test]
    fn every_row_is_plausible() {
        let table: Table = toml::from_str(include_str!("../../data/setting.toml")).unwrap();
        for row in &table.way {
            let [low, high] = row.relaxed;
            assert!((0.0..=1.0).contains(&low) && low <= high && high <= 1.0, "{row:?}");
            assert!((row.way == Way::Cold) == (high == 0.0), "only cold forming relaxes nothing: {row:?}");
            assert!(row.thickness[0] < row.thickness[1] && row.growth.abs() < 0.01, "{row:?}");
            assert!(!row.source.is_empty() && !row.heat.is_empty() && !row.order.is_empty(), "{row:?}");
        }
    }

    #[test]
    fn every_sheet_of_the_stock_has_a_way() {
        for sheet in stock() {
            for thickness in &sheet.thicknesses {
                assert!(
                    !ways_for(Some(&sheet.name), *thickness).is_empty(),
                    "{}, {thickness} mm",
                    sheet.name
                );
            }
        }
        assert_eq!(ways_for(None, 1.0)[0].way, Way::Cold);
    }

    #[test]
    fn ways_are_those_of_the_trade() {
        for (sheet, thickness, way) in [
            ("1.4310+C1500", 0.8, Way::ClampedRelief),
            ("1.4568+CH900", 0.8, Way::AgeOnFormer),
            ("1.4568+TH1050", 0.8, Way::TransformOnFormer),
            ("C17200+TH02", 0.5, Way::AgeOnFormer),
            ("51CrV4+QT", 6.0, Way::HardenAfterForming),
            ("Ti-6Al-4V+annealed", 1.0, Way::CreepForm),
            ("7075-T6", 1.0, Way::Cold),
        ] {
            assert_eq!(ways_for(Some(sheet), thickness)[0].way, way, "{sheet}, {thickness} mm");
        }
    }
}
