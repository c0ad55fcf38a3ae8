//! How far parts may be off, each with where the number comes from.

use serde::Serialize;

use super::deviation::Cause;
use crate::layout::Spring;
use crate::material::{self, ToleranceClass, thickness_tolerance};
use crate::outline::CutRules;
use crate::spec::{Process, ThicknessClass, Tolerance};

/// ± on both moduli (percent): melt, rolling and heat treatment. Judgement, no source.
const MODULUS_PERCENT: f64 = 3.0;
/// ± on the thickness where no table reaches, over the thickness. Judgement, no source.
const THICKNESS_SHARE: f64 = 0.03;
/// ± on the free height over the height, and the least of it (mm): setting springs back unevenly. Judgement, no source.
const HEIGHT_SHARE: f64 = 0.02;
const HEIGHT_LEAST: f64 = 0.1;

/// The ± of one cause. A ± is taken as two standard deviations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// what may be off
    pub cause: Cause,
    /// by how much either way, in `unit`
    pub plus_minus: f64,
    /// mm or %
    pub unit: &'static str,
    /// where the number comes from
    pub source: String,
}

impl Spread {
    /// One standard deviation, in the spread's unit.
    pub fn deviation(&self) -> f64 {
        0.5 * self.plus_minus
    }
}

/// The ± of every cause, in the order of [`Cause::ALL`].
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Tolerances(pub [Spread; 4]);

impl Tolerances {
    /// What was given, and tables and judgement for the rest.
    pub fn of(spring: &Spring, given: &Tolerance, process: &Process) -> Self {
        let thickness = spring.sheet.thickness;
        let rules = CutRules::of(process, thickness);
        let kerf = given.kerf.map_or_else(
            || (rules.tolerance, format!("everyday tolerance of a width, {}", rules.process)),
            |value| (value, "as given".to_owned()),
        );
        let height = spring.former.free_height;
        let free_height = match given.free_height {
            Some(value) => (value, "as given".to_owned()),
            None => (
                (HEIGHT_SHARE * height).max(HEIGHT_LEAST),
                format!(
                    "{} % of the free height, {HEIGHT_LEAST} mm or more; judgement",
                    100.0 * HEIGHT_SHARE
                ),
            ),
        };
        let modulus = match given.modulus_percent {
            Some(value) => (value, "as given".to_owned()),
            None => (MODULUS_PERCENT, "judgement".to_owned()),
        };
        let spread = |cause, unit, (plus_minus, source)| Spread { cause, plus_minus, unit, source };
        Self([
            spread(Cause::Thickness, "mm", of_thickness(spring, given)),
            spread(Cause::Modulus, "%", modulus),
            spread(Cause::Kerf, "mm", kerf),
            spread(Cause::FreeHeight, "mm", free_height),
        ])
    }

    /// Standard deviations, in the order of [`Cause::ALL`] and in the units of a
    /// [`Deviation`](super::Deviation).
    pub fn deviations(&self) -> [f64; 4] {
        [0, 1, 2, 3].map(|k| self.0[k].deviation())
    }
}

fn of_thickness(spring: &Spring, given: &Tolerance) -> (f64, String) {
    let thickness = spring.sheet.thickness;
    let class = match given.thickness_class.unwrap_or_default() {
        ThicknessClass::Normal => ToleranceClass::Normal,
        ThicknessClass::Fine => ToleranceClass::Fine,
        ThicknessClass::Precision => ToleranceClass::Precision,
    };
    // the disc has to come out of the strip
    let strip = given.strip_width.unwrap_or(2.0 * spring.disc.outer_radius);
    let sheet = spring.sheet.material.as_deref().and_then(|name| material::find(name).ok());
    let found = sheet.and_then(|sheet| thickness_tolerance(sheet, thickness, strip, class));
    found.map_or_else(
        || {
            let share = 100.0 * THICKNESS_SHARE;
            (THICKNESS_SHARE * thickness, format!("{share} % of the thickness, no table reaches; judgement"))
        },
        |sourced| (sourced.value, format!("{}, {class:?} class, strip {strip:.0} mm wide", sourced.source)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::SpringFile;

    const TEXT: &str = "[sheet]\nthickness = 1.2\nmaterial = \"1.4310+C1300\"\n[disc]\narms = 2\nslot = 1.4\n\
        outer_diameter = 75\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\n\
        width = [2.4, 5.6]\n[former]\nfree_height = 9.0\n";

    #[test]
    fn tables_fill_in_what_is_not_given() {
        let spring = Spring::from_file(&SpringFile::parse(TEXT, "spring.toml").unwrap(), None).unwrap();
        let found = Tolerances::of(&spring, &Tolerance::default(), &Process::default());
        let value = |k: usize| found.0[k].plus_minus;
        // strip under 125 mm, 1.2 mm thick, normal class: ISO 9445-1
        assert_eq!([value(0), value(1), value(2), value(3)], [0.040, 3.0, 0.1, 0.18]);
        let given = Tolerance {
            thickness_class: Some(ThicknessClass::Precision),
            kerf: Some(0.02),
            modulus_percent: Some(1.0),
            ..Tolerance::default()
        };
        let found = Tolerances::of(&spring, &given, &Process::default());
        assert_eq!([0, 1, 2].map(|k| found.0[k].plus_minus), [0.020, 1.0, 0.02]);
        assert!(found.0[0].source.contains("Precision"), "{}", found.0[0].source);
    }

    #[test]
    fn a_sheet_without_a_table_says_so() {
        let own =
            TEXT.replace("material = \"1.4310+C1300\"", "youngs_modulus = 206000\nshear_modulus = 79000");
        let spring = Spring::from_file(&SpringFile::parse(&own, "spring.toml").unwrap(), None).unwrap();
        let found = Tolerances::of(&spring, &Tolerance::default(), &Process::default());
        assert!((found.0[0].plus_minus - 0.036).abs() < 1e-12);
        assert!(found.0[0].source.contains("no table reaches"));
    }
}
