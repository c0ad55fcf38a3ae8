//! Ways of setting and their cautions, from `data/setting.toml`.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use crate::material::Mark;
use crate::spec::Way;

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
    /// Rp0.01 over Rp0.2 while it is formed, low and high; perfectly plastic when left out
    pub elastic_share: Option<[f64; 2]>,
    /// state to order, in words
    pub order: String,
    /// heat treatment in words, with temperatures (°C) and times
    pub heat: String,
    /// growth of lengths by the heat treatment; below zero it shrinks
    #[serde(default)]
    pub growth: f64,
    /// scatter of the height within a batch after the trial, ± percent
    pub height_percent: [f64; 2],
    /// reason for taking it
    pub why: String,
    /// changes that come with it: strength, moduli, size, surface
    pub effect: String,
    /// dangers to people or the part
    pub hazard: String,
    /// source of the row
    pub source: String,
    /// confidence
    pub mark: Mark,
}

impl WayRow {
    /// Middle of the range of R.
    pub fn relaxed_middle(&self) -> f64 {
        0.5 * (self.relaxed[0] + self.relaxed[1])
    }

    /// Whether the sheet is ordered in one state and finished in another.
    pub fn changes_state(&self) -> bool {
        self.forming_proof.is_some() || self.way == Way::ReTemper
    }

    fn suits(&self, sheet: Option<&str>, thickness: f64) -> bool {
        let named = match sheet {
            None => self.sheets.is_empty(),
            Some(name) => begins(&self.sheets, name),
        };
        named && (self.thickness[0]..=self.thickness[1]).contains(&thickness)
    }
}

fn begins(beginnings: &[String], name: &str) -> bool {
    beginnings.iter().any(|beginning| name.starts_with(beginning.as_str()))
}

/// Caution by sheet, cutting process and way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingCaution {
    /// beginnings of the names of sheets; empty for every sheet
    pub sheets: Vec<String>,
    /// cutting processes, named as in a brief; empty for every process
    pub processes: Vec<String>,
    /// ways of setting; empty for every way
    pub ways: Vec<Way>,
    /// the caution, a sentence
    pub text: String,
    /// its source
    pub source: String,
    /// confidence
    pub mark: Mark,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    way: Vec<WayRow>,
    caution: Vec<SettingCaution>,
}

fn table() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(|| {
        // part of the program, and a test reads it: an empty table cannot be released
        toml::from_str(include_str!("../../data/setting.toml"))
            .unwrap_or_else(|_| Table { way: Vec::new(), caution: Vec::new() })
    })
}

/// Ways that suit a sheet of the stock (none: a sheet of its own) and a thickness (mm), the one to take first.
pub fn ways_for(sheet: Option<&str>, thickness: f64) -> Vec<&'static WayRow> {
    table().way.iter().filter(|row| row.suits(sheet, thickness)).collect()
}

/// Cautions for a sheet cut by a process and set in a way.
pub fn setting_cautions(
    sheet: Option<&str>,
    process: &str,
    way: Option<Way>,
) -> impl Iterator<Item = &'static SettingCaution> {
    table().caution.iter().filter(move |caution| {
        (caution.sheets.is_empty() || sheet.is_some_and(|name| begins(&caution.sheets, name)))
            && (caution.processes.is_empty() || caution.processes.iter().any(|known| known == process))
            && (caution.ways.is_empty() || way.is_some_and(|way| caution.ways.contains(&way)))
    })
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
            for text in [&row.order, &row.heat, &row.why, &row.effect, &row.hazard, &row.source] {
                assert!(text.len() > 8, "{row:?}");
            }
            for share in row.elastic_share.iter().flatten() {
                assert!((0.5..1.0).contains(share), "{row:?}");
            }
        }
        for caution in &table.caution {
            assert!(caution.text.ends_with('.') && !caution.source.is_empty(), "{caution:?}");
        }
    }

    #[test]
    fn every_table_of_numbers_has_its_mark_and_source() {
        for text in [include_str!("../../data/setting.toml"), include_str!("../../data/service.toml")] {
            let table: toml::Table = toml::from_str(text).unwrap();
            for row in table.values().flat_map(|rows| rows.as_array().unwrap()) {
                let row = row.as_table().unwrap();
                // a row has its mark, or each of its tables has
                let parts = row.values().filter_map(toml::Value::as_table);
                let marked: Vec<&toml::Table> =
                    if row.contains_key("mark") { vec![row] } else { parts.collect() };
                assert!(!marked.is_empty(), "{row:?}");
                for part in marked {
                    for key in ["mark", "source"] {
                        assert!(part.get(key).is_some_and(toml::Value::is_str), "{key}: {part:?}");
                    }
                }
                if !row.contains_key("mark") {
                    let loose = row.values().any(|value| value.is_float() || value.is_integer());
                    assert!(!loose, "a number beside the marked ones: {row:?}");
                }
            }
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
            ("C100S+QT", 0.4, Way::Cold),
            ("51CrV4+QT", 6.0, Way::HardenAfterForming),
            ("52CrMoV4+QT", 8.0, Way::HardenAfterForming),
            ("Ti-6Al-4V+annealed", 1.0, Way::CreepForm),
            ("7075-T6", 1.0, Way::Cold),
        ] {
            assert_eq!(ways_for(Some(sheet), thickness)[0].way, way, "{sheet}, {thickness} mm");
        }
    }

    #[test]
    fn cautions_follow_sheet_process_and_way() {
        let said = |sheet, process, way, word: &str| {
            setting_cautions(Some(sheet), process, Some(way)).any(|caution| caution.text.contains(word))
        };
        assert!(said("C17200+TH02", "waterjet", Way::AgeOnFormer, "eryllium"));
        assert!(said("C17200+TH02", "laser", Way::AgeOnFormer, "laser"));
        assert!(said("52CrMoV4+QT", "waterjet", Way::HardenAfterForming, "flash point"));
        assert!(said("51CrV4+QT", "laser", Way::Cold, "martensite"));
        assert!(said("Ti-6Al-4V+annealed", "waterjet", Way::CreepForm, "chips"));
        assert!(said("1.4568+TH1050", "waterjet", Way::TransformOnFormer, "face shield"));
        assert!(!said("1.4310+C1300", "laser", Way::ClampedRelief, "eryllium"));
        assert!(!said("C75S+QT", "laser", Way::Cold, "flash point"));
    }
}
