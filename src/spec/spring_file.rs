//! The spring file: one spring, whole.

use serde::{Deserialize, Serialize};

use super::error::Reader;
use super::sections::{Duty, Envelope, Fit, FormerLaw, Process, Roots, Seat, Tolerance};
use super::shop::Shop;
use super::way::SettingChoice;
use super::{Brief, SpecError};
use crate::curve::{CurveError, CurvePoints, TargetCurve};

/// The format this program writes.
const FORMAT: u32 = 1;

/// A spring as it stands in its file. Lengths in mm, moduli and strengths in MPa.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpringFile {
    /// format number of the file
    #[serde(default = "format_one")]
    pub format: u32,
    /// the sheet
    pub sheet: Sheet,
    /// the disc and its slots
    pub disc: Disc,
    /// one arm
    pub arm: Arm,
    /// the shape it is set to
    pub former: Former,
    /// boundary conditions: seat, hub, rim and pressing
    #[serde(default)]
    pub seat: Seat,
    /// how it is cut
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub process: Option<Process>,
    /// how it is set
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setting: Option<SettingChoice>,
    /// loads, stroke and cycles
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duty: Option<Duty>,
    /// the space there is
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub envelope: Option<Envelope>,
    /// tolerance of the fit
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fit: Option<Fit>,
    /// shims, sheets and rates of the shop
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<Shop>,
    /// tolerances of the part
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Tolerance>,
    /// the curve that was asked for
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<Target>,
}

fn format_one() -> u32 {
    FORMAT
}

/// The sheet. A property given here overrides the material's.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// a name from the stock table
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// thickness (mm)
    pub thickness: f64,
    /// Young's modulus (MPa)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub youngs_modulus: Option<f64>,
    /// shear modulus (MPa)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shear_modulus: Option<f64>,
    /// tensile strength Rm (MPa)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tensile_strength: Option<f64>,
    /// 0.2 % proof strength (MPa)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yield_strength: Option<f64>,
    /// density (g/cm³)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
}

/// The disc and its slots. Diameters in mm.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disc {
    /// outside of the rim; left out: a ring 1.5 root widths wide
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outer_diameter: Option<f64>,
    /// where the slot centre lines end on the rim side
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arm_outer_diameter: Option<f64>,
    /// where the slot centre lines end on the hub side
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arm_inner_diameter: Option<f64>,
    /// bore of the hub; left out: a ring 1.5 root widths wide
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bore_diameter: Option<f64>,
    /// inside of what holds the rim rigid; left out: the ring has the compliance of the model
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rim_clamp_diameter: Option<f64>,
    /// outside of what holds the hub rigid; left out: the ring has the compliance of the model
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hub_clamp_diameter: Option<f64>,
    /// number of arms
    pub arms: usize,
    /// slot width, normal to its centre line (mm)
    pub slot: f64,
}

/// One arm: its width over the radius, or its stations.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Arm {
    /// radii on the slot centre line (mm), increasing
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius: Option<Vec<f64>>,
    /// nominal width at those radii: radial slot pitch minus slot (mm)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Vec<f64>>,
    /// name of the stations file, beside the spring file
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stations: Option<String>,
    /// how the arms end
    #[serde(default)]
    pub roots: Roots,
}

/// The shape the spring is set to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Former {
    /// rise of the hub above its flat position: the travel to flat (mm)
    pub free_height: f64,
    /// straight cone or profile
    #[serde(default)]
    pub law: FormerLaw,
    /// radii of the profile (mm), increasing
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius: Option<Vec<f64>>,
    /// height of the profile at those radii (mm)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Vec<f64>>,
    /// arm widths of arc over which the rise falls to zero at each root
    #[serde(default = "ease_one")]
    pub ease: f64,
}

fn ease_one() -> f64 {
    1.0
}

/// The curve that was asked for: a file, or the points themselves.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// name of the curve file, beside the spring file
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// deflections (mm)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deflection: Option<Vec<f64>>,
    /// forces (N)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force: Option<Vec<f64>>,
    /// lower edge of the band (N)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force_min: Option<Vec<f64>>,
    /// upper edge of the band (N)
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force_max: Option<Vec<f64>>,
}

impl Target {
    /// The curve of the points it holds; none where it names a file. `source` is its name in messages.
    pub fn curve(&self, source: &str) -> Result<Option<TargetCurve>, CurveError> {
        self.points().map(|points| points.curve(source)).transpose()
    }

    /// As [`Self::curve`], of a curve that may go through zero to both sides.
    pub fn curve_both_sides(&self, source: &str) -> Result<Option<TargetCurve>, CurveError> {
        self.points().map(|points| points.through_zero().curve(source)).transpose()
    }

    fn points(&self) -> Option<CurvePoints<'_>> {
        let points = TargetCurve::points(self.deflection.as_ref()?, self.force.as_ref()?);
        Some(points.band(self.force_min.as_deref(), self.force_max.as_deref()))
    }

    pub(super) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        let lists = [&self.force, &self.force_min, &self.force_max];
        match (&self.deflection, &self.force) {
            (Some(deflection), Some(_)) => {
                let keys = ["target.force", "target.force_min", "target.force_max"];
                for (key, list) in keys.into_iter().zip(lists) {
                    if let Some(list) = list
                        && list.len() != deflection.len()
                    {
                        return Err(SpecError::value(
                            reader.file,
                            key,
                            format!("{} values", list.len()),
                            format!("as many values as target.deflection has ({})", deflection.len()),
                            "give one value for each deflection",
                        ));
                    }
                }
                Ok(())
            }
            (None, None) if self.file.is_some() && lists.iter().all(|list| list.is_none()) => Ok(()),
            _ => Err(SpecError::missing(
                reader.file,
                "target.deflection and target.force",
                "both lists, or target.file alone",
                "give the curve in one of the two ways, or take [target] out",
            )),
        }
    }
}

impl SpringFile {
    /// The parts of the brief that the spring file repeats.
    pub fn brief(&self) -> Brief {
        Brief {
            envelope: self.envelope.clone().unwrap_or_default(),
            process: self.process.clone().unwrap_or_default(),
            seat: self.seat,
            duty: self.duty.clone().unwrap_or_default(),
            fit: self.fit.clone().unwrap_or_default(),
            shop: self.shop.clone().unwrap_or_default(),
            setting: self.setting.unwrap_or_default(),
            ..Brief::default()
        }
    }

    /// Reads and checks a spring file; `file` is the name to use in messages.
    pub fn parse(text: &str, file: &str) -> Result<Self, SpecError> {
        let spring: Self = toml::from_str(text).map_err(|error| SpecError::syntax(file, &error, text))?;
        spring.check(file)?;
        Ok(spring)
    }

    /// The file's text, the same bytes for the same spring.
    pub fn to_toml(&self) -> String {
        // every field is a number, a string, a list or a table of those: writing cannot fail
        toml::to_string(self).unwrap_or_default()
    }

    /// The first invalid value, if any.
    pub fn check(&self, file: &str) -> Result<(), SpecError> {
        let reader = Reader { file };
        reader.format(self.format, FORMAT)?;
        let sheet = &self.sheet;
        reader.positive("sheet.thickness", sheet.thickness, "give it in mm")?;
        reader.positive_if_given("sheet.youngs_modulus", sheet.youngs_modulus, "give it in MPa")?;
        reader.positive_if_given("sheet.shear_modulus", sheet.shear_modulus, "give it in MPa")?;
        reader.positive_if_given("sheet.tensile_strength", sheet.tensile_strength, "give it in MPa")?;
        reader.positive_if_given("sheet.yield_strength", sheet.yield_strength, "give it in MPa")?;
        reader.positive_if_given("sheet.density", sheet.density, "give it in g/cm³")?;
        if sheet.material.is_none() && (sheet.youngs_modulus.is_none() || sheet.shear_modulus.is_none()) {
            return Err(SpecError::missing(
                file,
                "sheet.material",
                "a name from the stock, or youngs_modulus and shear_modulus in MPa",
                "name the sheet",
            ));
        }
        self.check_disc(&reader)?;
        self.check_arm(&reader)?;
        self.check_former(&reader)?;
        self.seat.check(&reader)?;
        self.process.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.duty.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.shop.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.envelope.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.fit.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.target.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.tolerance.as_ref().map_or(Ok(()), |part| part.check(&reader))
    }

    fn check_disc(&self, reader: &Reader) -> Result<(), SpecError> {
        let disc = &self.disc;
        if !(1..=12).contains(&disc.arms) {
            return Err(SpecError::value(
                reader.file,
                "disc.arms",
                disc.arms,
                "1 to 12",
                "change the number",
            ));
        }
        reader.positive("disc.slot", disc.slot, "give the slot width in mm")?;
        // from the bore outwards, each circle has to lie outside the one before it
        let circles = [
            ("disc.bore_diameter", disc.bore_diameter),
            ("disc.hub_clamp_diameter", disc.hub_clamp_diameter),
            ("disc.arm_inner_diameter", disc.arm_inner_diameter),
            ("disc.arm_outer_diameter", disc.arm_outer_diameter),
            ("disc.rim_clamp_diameter", disc.rim_clamp_diameter),
            ("disc.outer_diameter", disc.outer_diameter),
        ];
        let mut inside: Option<(&str, f64)> = None;
        for (key, diameter) in circles {
            let Some(diameter) = diameter else { continue };
            let bare_bore = key == "disc.bore_diameter" && diameter == 0.0;
            if !bare_bore {
                reader.positive(key, diameter, "give the diameter in mm")?;
            }
            if let Some((inner_key, inner)) = inside
                && diameter <= inner
            {
                return Err(SpecError::value(
                    reader.file,
                    key,
                    diameter,
                    format!("more than {inner_key}, {inner}"),
                    "order the circles bore, hub clamp, arm inner, arm outer, rim clamp, outside",
                ));
            }
            inside = Some((key, diameter));
        }
        if self.arm.stations.is_none() {
            for (key, diameter) in [
                ("disc.arm_outer_diameter", disc.arm_outer_diameter),
                ("disc.arm_inner_diameter", disc.arm_inner_diameter),
            ] {
                if diameter.is_none() {
                    return Err(SpecError::missing(
                        reader.file,
                        key,
                        "a diameter in mm",
                        "give it, or give the arm by stations",
                    ));
                }
            }
        }
        Ok(())
    }

    fn check_arm(&self, reader: &Reader) -> Result<(), SpecError> {
        match (&self.arm.stations, &self.arm.radius, &self.arm.width) {
            (Some(_), None, None) => Ok(()),
            (None, Some(radius), Some(width)) => {
                profile(reader, "arm.radius", radius, "arm.width", width)?;
                if let Some(bad) = width.iter().find(|width| **width <= 0.0) {
                    return Err(SpecError::value(
                        reader.file,
                        "arm.width",
                        bad,
                        "widths above zero",
                        "widen the arm there",
                    ));
                }
                Ok(())
            }
            _ => Err(SpecError::missing(
                reader.file,
                "arm.radius and arm.width",
                "both lists, or arm.stations alone",
                "give the arm in one of the two ways",
            )),
        }
    }

    fn check_former(&self, reader: &Reader) -> Result<(), SpecError> {
        let former = &self.former;
        reader.positive("former.free_height", former.free_height, "give the hub's rise in mm")?;
        reader.not_negative("former.ease", Some(former.ease), "give it in arm widths")?;
        if former.law == FormerLaw::Cone && (former.radius.is_some() || former.height.is_some()) {
            return Err(SpecError::value(
                reader.file,
                "former.law",
                "\"cone\" beside lists of radius and height",
                "\"profile\" where there are lists",
                "set law = \"profile\", or take the lists out",
            ));
        }
        match (&former.radius, &former.height) {
            (None, None) if former.law == FormerLaw::Cone => Ok(()),
            (None, None) => Err(SpecError::missing(
                reader.file,
                "former.radius and former.height",
                "both lists where law is \"profile\"",
                "give the profile or set law = \"cone\"",
            )),
            (Some(radius), Some(height)) => {
                profile(reader, "former.radius", radius, "former.height", height)?;
                if let Some([before, after]) = height.array_windows().find(|[before, after]| after > before) {
                    return Err(SpecError::value(
                        reader.file,
                        "former.height",
                        format!("{after} after {before}"),
                        "heights that fall, or stay, from the hub outwards",
                        "a former rises from rim to hub",
                    ));
                }
                Ok(())
            }
            _ => Err(SpecError::missing(
                reader.file,
                "former.radius and former.height",
                "both lists or neither",
                "give the other one too",
            )),
        }
    }
}

/// Two lists that make a function of the radius.
fn profile(reader: &Reader, x_key: &str, x: &[f64], y_key: &str, y: &[f64]) -> Result<(), SpecError> {
    if x.len() < 2 || x.len() != y.len() {
        return Err(SpecError::value(
            reader.file,
            y_key,
            format!("{} values", y.len()),
            format!("as many values as {x_key} has ({}), at least two", x.len()),
            "give one value for each radius",
        ));
    }
    for (key, list) in [(x_key, x), (y_key, y)] {
        if let Some(bad) = list.iter().find(|value| !Reader::sensible(**value)) {
            let found = format!("{bad:e}");
            return Err(SpecError::value(
                reader.file,
                key,
                found,
                "sizes in mm, 1e9 at most",
                "correct the list",
            ));
        }
    }
    if let Some([before, after]) = x.array_windows().find(|[before, after]| after <= before) {
        return Err(SpecError::value(
            reader.file,
            x_key,
            format!("{after} after {before}"),
            "radii that increase",
            "order the list from the hub outwards",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
format = 1
[sheet]
material = "1.4310+C1300"
thickness = 1.2
[disc]
outer_diameter = 70
arm_outer_diameter = 60
arm_inner_diameter = 20
bore_diameter = 8
arms = 2
slot = 1.4
[arm]
radius = [10, 15, 20, 25, 30]
width = [2.4, 3.4, 4.4, 5.0, 5.6]
[former]
free_height = 9.0
"#;

    #[test]
    fn what_is_written_reads_back_the_same() {
        let spring = SpringFile::parse(TEXT, "spring.toml").unwrap();
        assert_eq!(spring.former.ease, 1.0);
        assert_eq!(SpringFile::parse(&spring.to_toml(), "again.toml").unwrap(), spring);
    }

    #[test]
    fn circles_out_of_order_are_refused_by_name() {
        let text = TEXT.replace("arm_inner_diameter = 20", "arm_inner_diameter = 64");
        let message = SpringFile::parse(&text, "spring.toml").unwrap_err().to_string();
        assert!(message.contains("disc.arm_outer_diameter") && message.contains("64"), "{message}");
    }

    #[test]
    fn a_sheet_without_moduli_or_name_is_refused() {
        let text = TEXT.replace("material = \"1.4310+C1300\"", "youngs_modulus = 200000");
        let message = SpringFile::parse(&text, "spring.toml").unwrap_err().to_string();
        assert!(message.contains("sheet.material"), "{message}");
    }
}
