//! One sheet in one temper, each value with source and confidence.

use serde::{Deserialize, Serialize};

/// Confidence in a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// seen in a document
    Read,
    /// recalled, to be confirmed against the standard named
    Memory,
}

/// A value with its source.
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

/// Family of a sheet's alloy, as far as handling differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Family {
    /// carbon and low-alloy spring steel
    CarbonSteel,
    /// stainless steel
    StainlessSteel,
    /// bronze and beryllium copper
    CopperAlloy,
    /// titanium alloy
    Titanium,
    /// aluminium alloy
    Aluminium,
}

/// Which table of thickness tolerances a sheet is bought to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ToleranceStandard {
    /// EN 10258 / ISO 9445-1
    StainlessNarrowStrip,
    /// EN 10140
    CarbonNarrowStrip,
    /// EN 10051
    HotStrip,
}

/// Heat treatment after pressing to the former: stress relief, or the ageing that hardens the sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// lowest temperature (°C)
    pub temperature_min: f64,
    /// highest temperature (°C)
    pub temperature_max: f64,
    /// time at temperature (min)
    pub minutes: f64,
    /// standard, handbook or maker's table
    pub source: String,
    /// seen or recalled
    pub confidence: Confidence,
    /// note
    pub note: String,
}

/// Caution about the surface of a family of sheets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// the caution in words
    pub text: String,
    /// families it holds for
    pub families: Vec<Family>,
    /// holds only where the tensile strength can exceed this (MPa)
    pub tensile_strength_above: Option<f64>,
    /// standard, handbook or practice
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
    /// description
    pub description: String,
    /// family of alloys
    pub family: Family,
    /// Young's modulus (MPa)
    pub youngs_modulus: Sourced,
    /// shear modulus (MPa)
    pub shear_modulus: Sourced,
    /// density (g/cm³)
    pub density: Sourced,
    /// least tensile strength Rm (MPa)
    pub tensile_strength: Option<Sourced>,
    /// largest tensile strength of the temper (MPa)
    pub tensile_strength_max: Option<Sourced>,
    /// least 0.2 % proof strength Rp0.2 (MPa)
    pub yield_strength: Option<Sourced>,
    /// thicknesses to offer (mm), increasing; the general list where the sheet has none of its own
    #[serde(default)]
    pub thicknesses: Vec<f64>,
    /// table of thickness tolerances; none where the tables hold nothing for this family
    pub tolerance_standard: Option<ToleranceStandard>,
    /// heat treatment after pressing to the former; none where no default is known
    pub setting: Option<Setting>,
}

impl Material {
    /// Poisson's ratio E/2G − 1.
    pub fn poisson(&self) -> f64 {
        0.5 * self.youngs_modulus.value / self.shear_modulus.value - 1.0
    }
}
