//! The table of sheets in `data/sheets.toml`, each value with its source and how sure it is.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

/// How a value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// seen in a document
    Read,
    /// recalled, to be confirmed against the standard named
    Memory,
}

/// A value with where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sourced {
    /// the value, in the unit its field names
    pub value: f64,
    /// standard, handbook or maker's table
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
}

/// One sheet in one temper.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// name to give in a brief or a spring file
    pub name: String,
    /// what it is, in words
    pub description: String,
    /// Young's modulus (MPa)
    pub youngs_modulus: Sourced,
    /// shear modulus (MPa)
    pub shear_modulus: Sourced,
    /// density (g/cm³)
    pub density: Sourced,
    /// least tensile strength Rm (MPa)
    pub tensile_strength: Option<Sourced>,
    /// least 0.2 % proof strength (MPa)
    pub yield_strength: Option<Sourced>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    sheet: Vec<Material>,
}

/// All sheets known, in the order of the data file.
pub fn stock() -> &'static [Material] {
    static STOCK: OnceLock<Vec<Material>> = OnceLock::new();
    STOCK.get_or_init(|| {
        // the file is part of the program and a test reads it: an empty stock cannot leave the workshop
        toml::from_str::<Table>(include_str!("../../data/sheets.toml"))
            .map_or_else(|_| Vec::new(), |table| table.sheet)
    })
}
