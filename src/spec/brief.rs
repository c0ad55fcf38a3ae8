//! The brief: requirements besides the curve. Everything in it is optional.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{self, IntoDeserializer, SeqAccess, Visitor};
use serde::{Deserialize, Serialize};

use super::SpecError;
use super::assembly::AssemblyChoice;
use super::error::Reader;
use super::sections::{Duty, Envelope, Fit, FormerLaw, Process, Seat};
use super::shop::Shop;
use super::way::SettingChoice;

/// Longest list to choose from. Stock tables hold some twenty thicknesses; every entry multiplies the search.
const LONGEST_LIST: usize = 64;

/// Largest deflection at which a curve may begin where the brief gives no space (mm): more than any disc of the stock
/// rises (from memory).
const FARTHEST_INSTALLED: f64 = 300.0;

/// Requirements on the spring besides its curve.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Brief {
    /// the space there is
    pub envelope: Envelope,
    /// sheets to choose from
    pub sheet: SheetChoice,
    /// numbers of arms to choose from
    pub arms: ArmChoice,
    /// how the blank is cut
    pub process: Process,
    /// boundary conditions: seat, hub, rim and pressing
    pub seat: Seat,
    /// loads, stroke and cycles
    pub duty: Duty,
    /// shape it is set to
    pub former: FormerChoice,
    /// how it is set
    pub setting: SettingChoice,
    /// tolerance of the fit
    pub fit: Fit,
    /// shims, sheets and rates of the shop
    pub shop: Shop,
    /// assemblies of several discs that are allowed
    pub assembly: AssemblyChoice,
}

/// Sheets to choose from. A property given here overrides the material's.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SheetChoice {
    /// a name from the stock table
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// thicknesses to choose from (mm); the stock list when left out
    #[serde(skip_serializing_if = "Option::is_none", deserialize_with = "one_or_many")]
    pub thickness: Option<Vec<f64>>,
    /// Young's modulus (MPa)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub youngs_modulus: Option<f64>,
    /// shear modulus (MPa)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shear_modulus: Option<f64>,
    /// tensile strength Rm (MPa)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tensile_strength: Option<f64>,
    /// 0.2 % proof strength (MPa)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub yield_strength: Option<f64>,
    /// density (g/cm³)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
}

/// Numbers of arms to choose from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ArmChoice {
    /// how many arms there may be
    #[serde(skip_serializing_if = "Option::is_none", deserialize_with = "one_or_many")]
    pub count: Option<Vec<usize>>,
    /// least arm width, normal to the arm (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub width_min: Option<f64>,
}

/// Shape the spring may be set to.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FormerChoice {
    /// straight cone, or the profile is shaped too; the simplest that suffices when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub law: Option<FormerLaw>,
    /// arm widths of arc over which the rise falls to zero at each root; the search chooses when left out
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ease: Option<f64>,
}

impl Brief {
    /// Reads and checks a brief; `file` is the name to use in messages.
    pub fn parse(text: &str, file: &str) -> Result<Self, SpecError> {
        let brief: Self = toml::from_str(text).map_err(|error| SpecError::syntax(file, &error, text))?;
        brief.check(file)?;
        Ok(brief)
    }

    /// The first invalid value, if any.
    pub fn check(&self, file: &str) -> Result<(), SpecError> {
        let reader = Reader { file };
        self.envelope.check(&reader)?;
        if let Some(list) = &self.sheet.thickness {
            if list.is_empty() {
                return Err(SpecError::value(
                    file,
                    "sheet.thickness",
                    "an empty list",
                    "at least one thickness in mm",
                    "name one or leave the key out",
                ));
            }
            for &thickness in list {
                reader.positive("sheet.thickness", thickness, "give thicknesses in mm")?;
            }
        }
        reader.positive_if_given("sheet.youngs_modulus", self.sheet.youngs_modulus, "give it in MPa")?;
        reader.positive_if_given("sheet.shear_modulus", self.sheet.shear_modulus, "give it in MPa")?;
        reader.positive_if_given("sheet.tensile_strength", self.sheet.tensile_strength, "give it in MPa")?;
        reader.positive_if_given("sheet.yield_strength", self.sheet.yield_strength, "give it in MPa")?;
        reader.positive_if_given("sheet.density", self.sheet.density, "give it in g/cm³")?;
        if let Some(list) = &self.arms.count
            && (list.is_empty() || list.iter().any(|&count| count == 0 || count > 12))
        {
            return Err(SpecError::value(
                file,
                "arms.count",
                format!(
                    "{:?}",
                    list.iter()
                        .find(|&&count| count == 0 || count > 12)
                        .map_or_else(Vec::new, |&count| vec![count])
                ),
                "numbers from 1 to 12",
                "name at least one or leave the key out",
            ));
        }
        reader.positive_if_given("arms.width_min", self.arms.width_min, "give it in mm")?;
        self.process.check(&reader)?;
        self.seat.check(&reader)?;
        self.duty.check(&reader)?;
        self.check_installed(file)?;
        reader.not_negative("former.ease", self.former.ease, "give it in arm widths")?;
        self.shop.check(&reader)?;
        self.fit.check(&reader)?;
        self.assembly.check(&reader)
    }

    /// The curve begins above flat, within the space there is.
    fn check_installed(&self, file: &str) -> Result<(), SpecError> {
        let Some(installed) = self.duty.installed else { return Ok(()) };
        let envelope = &self.envelope;
        let (limit, expected) = match (envelope.free_height_max, envelope.outer_diameter_max) {
            (Some(height), _) => (height, "less than envelope.free_height_max"),
            (None, Some(diameter)) => (diameter, "less than envelope.outer_diameter_max"),
            (None, None) => (FARTHEST_INSTALLED, "less than 300 mm"),
        };
        if installed < limit {
            return Ok(());
        }
        Err(SpecError::value(
            file,
            "duty.installed",
            format!("{installed}"),
            expected,
            "give the deflection in mm at which the curve begins",
        ))
    }
}

/// One value, or a list.
fn one_or_many<'de, D, T>(deserializer: D) -> Result<Option<Vec<T>>, D::Error>
where
    D: serde::Deserializer<'de>,
    T: Deserialize<'de> + PartialEq,
{
    deserializer.deserialize_any(OneOrMany(PhantomData)).map(Some)
}

struct OneOrMany<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de> + PartialEq> Visitor<'de> for OneOrMany<T> {
    type Value = Vec<T>;

    fn expecting(&self, out: &mut fmt::Formatter) -> fmt::Result {
        out.write_str("a number without quotes, or a list of such numbers")
    }

    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Vec<T>, E> {
        T::deserialize(value.into_deserializer()).map(|value| vec![value])
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Vec<T>, E> {
        T::deserialize(value.into_deserializer()).map(|value| vec![value])
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Vec<T>, E> {
        T::deserialize(value.into_deserializer()).map(|value| vec![value])
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Vec<T>, A::Error> {
        let mut values = Vec::new();
        // the same entry twice would be searched twice
        while let Some(value) = list.next_element()? {
            if values.contains(&value) {
                continue;
            }
            if values.len() == LONGEST_LIST {
                return Err(de::Error::custom(format!(
                    "found more than {LONGEST_LIST} entries, expected at most that"
                )));
            }
            values.push(value);
        }
        Ok(values)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_brief_is_a_brief() {
        assert_eq!(Brief::parse("", "brief.toml").unwrap(), Brief::default());
    }

    #[test]
    fn one_thickness_is_as_good_as_a_list() {
        let brief = Brief::parse("[sheet]\nthickness = 1.2\n[arms]\ncount = [1, 2]\n", "brief.toml").unwrap();
        assert_eq!(brief.sheet.thickness, Some(vec![1.2]));
        assert_eq!(brief.arms.count, Some(vec![1, 2]));
    }

    #[test]
    fn lists_hold_every_entry_once_and_end_somewhere() {
        let brief = Brief::parse("[arms]\ncount = [1, 2, 1, 1]\n", "brief.toml").unwrap();
        assert_eq!(brief.arms.count, Some(vec![1, 2]));
        let list: Vec<String> = (1..=65).map(|k| format!("{k}.5")).collect();
        let text = format!("[sheet]\nthickness = [{}]\n", list.join(","));
        let message = Brief::parse(&text, "brief.toml").unwrap_err().to_string();
        assert!(message.contains("found more than 64 entries"), "{message}");
    }

    #[test]
    fn a_curve_that_begins_beyond_the_space_is_refused() {
        let cases = [
            ("[duty]\ninstalled = 1000\n", "300 mm"),
            ("[duty]\ninstalled = 14\n[envelope]\nfree_height_max = 14\n", "free_height_max"),
            ("[duty]\ninstalled = 90\n[envelope]\nouter_diameter_max = 80\n", "outer_diameter_max"),
        ];
        for (text, words) in cases {
            let message = Brief::parse(text, "brief.toml").unwrap_err().to_string();
            assert!(message.contains("duty.installed") && message.contains(words), "{message}");
        }
        assert!(Brief::parse("[duty]\ninstalled = 5\n", "brief.toml").is_ok());
    }

    #[test]
    fn what_is_no_number_is_refused_with_what_was_expected() {
        let cases = [
            ("[sheet]\nthickness = \"1\"\n", "string \"1\", expected a number without quotes"),
            ("[sheet]\nthickness = [1.0, \"1.2\"]\n", "string \"1.2\", expected a number"),
            ("[sheet]\nthickness = true\n", "boolean `true`, expected a number without quotes, or a list"),
            ("[arms]\ncount = \"two\"\n", "string \"two\", expected a number without quotes"),
            ("[arms]\ncount = 1.5\n", "floating point `1.5`, expected a whole number"),
            ("[arms]\ncount = -1\n", "integer `-1`, expected a whole number"),
            ("[sheet]\nmaterial = [\"a\", \"b\"]\n", "found a list, expected one text in quotes"),
            ("[sheet]\nthickness = 1 mm\n", "expected a number alone, without its unit"),
        ];
        for (text, words) in cases {
            let message = Brief::parse(text, "brief.toml").unwrap_err().to_string();
            assert!(message.starts_with("brief.toml: line 2") && message.contains(words), "{message}");
        }
    }

    #[test]
    fn an_unknown_key_is_refused_with_its_place() {
        let message = Brief::parse("[seat]\nhup = \"guided\"\n", "brief.toml").unwrap_err().to_string();
        assert!(message.starts_with("brief.toml: line 2, column 1"), "{message}");
        assert!(message.contains("hup"), "{message}");
    }

    #[test]
    fn a_bore_larger_than_the_outside_is_refused() {
        let text = "[envelope]\nouter_diameter_max = 20\nbore_diameter_min = 30\n";
        let message = Brief::parse(text, "brief.toml").unwrap_err().to_string();
        assert!(message.contains("envelope.bore_diameter_min"), "{message}");
    }
}
