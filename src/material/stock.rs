//! The table in `data/sheets.toml`, and the look-up of a name in it.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};
use strsim::levenshtein;

use super::allowable::Allowable;
use super::edge::{EdgeFactor, EdgeFinish};
use super::error::MaterialError;
use super::sheet::{Caution, Confidence, Material, Sourced};

/// Number of names suggested for an unknown one.
const SUGGESTIONS: usize = 3;

/// Thicknesses that sheet is commonly sold in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StockThicknesses {
    /// thicknesses (mm), increasing
    pub values: Vec<f64>,
    /// where the list comes from
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

/// A sheet that the linear model cannot describe.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refused {
    /// its name
    pub name: String,
    /// other names for it
    pub also: Vec<String>,
    /// why it is refused
    pub reason: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    stock_thicknesses: StockThicknesses,
    sheet: Vec<Material>,
    refused: Vec<Refused>,
    caution: Vec<Caution>,
    edge_factor: Vec<EdgeFactor>,
}

impl Table {
    fn read(text: &str) -> Result<Self, toml::de::Error> {
        let mut table: Self = toml::from_str(text)?;
        for sheet in &mut table.sheet {
            if sheet.thicknesses.is_empty() {
                sheet.thicknesses.clone_from(&table.stock_thicknesses.values);
            }
        }
        Ok(table)
    }

    fn empty() -> Self {
        Self {
            stock_thicknesses: StockThicknesses {
                values: Vec::new(),
                source: String::new(),
                confidence: Confidence::Memory,
            },
            sheet: Vec::new(),
            refused: Vec::new(),
            caution: Vec::new(),
            edge_factor: Vec::new(),
        }
    }
}

fn table() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(|| {
        // the file is part of the program and a test reads it: an empty stock cannot be released
        Table::read(include_str!("../../data/sheets.toml")).unwrap_or_else(|_| Table::empty())
    })
}

/// All sheets known, in the order of the data file.
pub fn stock() -> &'static [Material] {
    &table().sheet
}

/// The thicknesses offered where a sheet has no list of its own.
pub fn stock_thicknesses() -> &'static StockThicknesses {
    &table().stock_thicknesses
}

/// Sheets that are known and refused.
pub fn refused() -> &'static [Refused] {
    &table().refused
}

/// Factors on the fatigue strength for the cut edge, in the order of the data file.
pub fn edge_factors() -> &'static [EdgeFactor] {
    &table().edge_factor
}

/// The factor for one process, named as in a brief (`waterjet`, `laser`, `etch`, `wire-edm`), and one finish.
pub fn edge_factor(process: &str, finish: EdgeFinish) -> Option<&'static EdgeFactor> {
    edge_factors().iter().find(|factor| factor.process == process && factor.finish == finish)
}

/// The sheet of that name.
///
/// Names are exact; a name that is not in the stock is answered with the nearest ones, a sheet that a linear model
/// cannot describe with the reason.
pub fn find(name: &str) -> Result<&'static Material, MaterialError> {
    if let Some(sheet) = stock().iter().find(|sheet| sheet.name == name) {
        return Ok(sheet);
    }
    let plain = plain_letters(name);
    for entry in refused() {
        if std::iter::once(&entry.name).chain(&entry.also).any(|known| plain_letters(known) == plain) {
            return Err(MaterialError::Refused { name: name.to_owned(), reason: entry.reason.clone() });
        }
    }
    Err(MaterialError::UnknownSheet { name: name.to_owned(), nearest: nearest_names(&plain) })
}

/// The largest stress that a sheet of the stock allows (MPa).
pub fn strongest_allowable() -> f64 {
    let value = |strength: &Option<Sourced>| strength.as_ref().map(|sourced| sourced.value);
    stock()
        .iter()
        .filter_map(|sheet| Allowable::of(value(&sheet.yield_strength), value(&sheet.tensile_strength)))
        .fold(0.0, |most, allowable| most.max(allowable.limit))
}

impl Material {
    /// Cautions about its surface.
    pub fn cautions(&self) -> Vec<&'static Caution> {
        let strongest = self.tensile_strength_max.as_ref().or(self.tensile_strength.as_ref());
        table()
            .caution
            .iter()
            .filter(|caution| caution.families.contains(&self.family))
            .filter(|caution| match (caution.tensile_strength_above, strongest) {
                (Some(above), Some(strongest)) => strongest.value > above,
                (Some(_), None) => false,
                (None, _) => true,
            })
            .collect()
    }
}

/// Lower-case letters and digits alone: what is left of a name however it is punctuated.
fn plain_letters(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Stock names by edit distance; a part of a name or of its description counts as near.
fn nearest_names(plain: &str) -> Vec<String> {
    let mut ranked: Vec<(usize, &str)> = stock()
        .iter()
        .map(|sheet| {
            let known = plain_letters(&sheet.name);
            let part = plain.len() >= 3
                && (known.contains(plain) || plain_letters(&sheet.description).contains(plain));
            (if part { 0 } else { levenshtein(plain, &known) }, sheet.name.as_str())
        })
        .collect();
    // the sort is stable: what is equally near stays in the order of the data file
    ranked.sort_by_key(|(distance, _)| *distance);
    ranked.into_iter().take(SUGGESTIONS).map(|(_, name)| name.to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::{Family, ToleranceStandard};
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_data_file_parses() {
        let table = Table::read(include_str!("../../data/sheets.toml")).unwrap();
        assert_eq!(table.sheet.len(), 18);
        assert_eq!(table.edge_factor.len(), 6);
        assert_eq!(table.refused.len(), 1);
    }

    #[test]
    fn every_sheet_is_plausible() {
        for sheet in stock() {
            let name = &sheet.name;
            // rounded handbook moduli of 17-7PH give 0.41; every other sheet lies between 0.28 and 0.34
            let poisson_max = if name.starts_with("1.4568") { 0.42 } else { 0.4 };
            assert!(
                (0.2..poisson_max).contains(&sheet.poisson()),
                "{name}: Poisson ratio {}",
                sheet.poisson()
            );
            assert!((2.0..10.0).contains(&sheet.density.value), "{name}: density {}", sheet.density.value);
            let strengths = [&sheet.yield_strength, &sheet.tensile_strength, &sheet.tensile_strength_max]
                .map(Option::as_ref);
            let known: Vec<f64> = strengths.into_iter().flatten().map(|strength| strength.value).collect();
            assert!(!known.is_empty(), "{name}: no strength at all");
            assert!(
                known.windows(2).all(|pair| pair[0] < pair[1]),
                "{name}: Rp0.2, Rm, largest Rm: {known:?}"
            );
            assert!(known.iter().all(|value| (300.0..2500.0).contains(value)), "{name}: {known:?} MPa");
            assert!(!sheet.thicknesses.is_empty(), "{name}: no thickness");
            assert!(
                sheet.thicknesses.windows(2).all(|pair| pair[0] < pair[1]),
                "{name}: thicknesses in disorder"
            );
            for sourced in [&sheet.youngs_modulus, &sheet.shear_modulus, &sheet.density] {
                assert!(!sourced.source.is_empty(), "{name}: a value without source");
            }
            if let Some(setting) = &sheet.setting {
                assert!(setting.temperature_min <= setting.temperature_max, "{name}: setting range reversed");
                assert!(
                    setting.temperature_max < 600.0 && setting.minutes > 0.0,
                    "{name}: setting {setting:?} would anneal"
                );
            }
        }
    }

    #[test]
    fn names_are_unique() {
        let mut names: Vec<String> = stock().iter().map(|sheet| plain_letters(&sheet.name)).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), stock().len());
    }

    #[test]
    fn classes_of_1_4310_are_those_of_en_10151() {
        for (name, least, largest) in [
            ("1.4310+C1150", 1150.0, 1300.0),
            ("1.4310+C1300", 1300.0, 1500.0),
            ("1.4310+C1500", 1500.0, 1700.0),
            ("1.4310+C1700", 1700.0, 1900.0),
        ] {
            let sheet = find(name).unwrap();
            let strength = sheet.tensile_strength.as_ref().unwrap();
            assert_eq!((strength.value, strength.confidence), (least, Confidence::Read), "{name}");
            assert_eq!(sheet.tensile_strength_max.as_ref().unwrap().value, largest, "{name}");
            assert_eq!(sheet.youngs_modulus.value, 185_000.0, "{name}");
            assert_eq!(sheet.tolerance_standard, Some(ToleranceStandard::StainlessNarrowStrip), "{name}");
        }
    }

    #[test]
    fn handbook_moduli_of_17_7_ph_convert_from_psi() {
        // Machinery's Handbook: E 29.5 Mpsi, G 10.5 Mpsi; 1 Mpsi = 6894.757 MPa
        let sheet = find("1.4568+CH900").unwrap();
        assert_abs_diff_eq!(sheet.youngs_modulus.value, 29.5 * 6_894.757, epsilon = 1_000.0);
        assert_abs_diff_eq!(sheet.shear_modulus.value, 10.5 * 6_894.757, epsilon = 100.0);
    }

    #[test]
    fn phosphor_bronze_is_as_read() {
        let sheet = find("CuSn8+spring").unwrap();
        assert_eq!(sheet.family, Family::CopperAlloy);
        assert_eq!(sheet.tensile_strength.as_ref().unwrap().value, 720.0);
        assert_eq!(sheet.yield_strength.as_ref().unwrap().value, 700.0);
        assert_eq!(sheet.tolerance_standard, None);
    }

    #[test]
    fn an_unknown_name_is_answered_with_near_ones() {
        let nearest = |name: &str| match find(name) {
            Err(MaterialError::UnknownSheet { nearest, .. }) => nearest,
            other => panic!("{name}: {other:?}"),
        };
        assert_eq!(nearest("1.4310+c1300")[0], "1.4310+C1300");
        assert_eq!(nearest("C75S")[0], "C75S+QT");
        assert_eq!(nearest("17-7PH")[0], "1.4568+CH900");
        assert_eq!(nearest("51CrV4+TQ")[0], "51CrV4+QT");
        assert_eq!(nearest("").len(), SUGGESTIONS);
    }

    #[test]
    fn superelastic_sheet_is_refused_with_the_reason() {
        for name in ["NiTi", "nickel-titanium", "Nickel Titanium (superelastic)", "Nitinol"] {
            let message = find(name).unwrap_err().to_string();
            assert!(message.contains("does not follow a linear model"), "{name}: {message}");
        }
    }

    #[test]
    fn zinc_is_warned_of_on_strong_carbon_strip_only() {
        let warned = |name: &str| find(name).unwrap().cautions().iter().any(|c| c.text.contains("zinc"));
        assert!(warned("C100S+QT"));
        assert!(!warned("C75S+CR"));
        assert!(!warned("1.4310+C1700"));
    }
}
