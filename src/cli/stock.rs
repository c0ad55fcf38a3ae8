//! `flatspire stock`: the sheets known.

use super::arguments::{General, StockOptions};
use super::failure::Failure;
use super::{Verdict, terminal};
use crate::material::{Confidence, Material, Sourced, find, stock};

#[derive(serde::Serialize)]
struct Sheets<'a> {
    sheets: &'a [Material],
}

/// Lists sheets, or one in full.
pub fn run(options: &StockOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(name) = &options.name {
        let sheet = find(name)?;
        if general.json {
            terminal::print_json(sheet)?;
        } else {
            terminal::print(&full(sheet))?;
        }
        return Ok(Verdict::Passed);
    }
    if general.json {
        terminal::print_json(&Sheets { sheets: stock() })?;
        return Ok(Verdict::Passed);
    }
    let mut text = format!(
        "{:<20}{:>9}{:>9}{:>8}{:>8}  {}\n",
        "sheet", "E MPa", "G MPa", "Rm MPa", "Rp MPa", "thicknesses mm"
    );
    for sheet in stock() {
        let strength =
            |value: &Option<Sourced>| value.as_ref().map_or("-".to_owned(), |v| format!("{:.0}", v.value));
        let thicknesses: Vec<String> = sheet.thicknesses.iter().map(f64::to_string).collect();
        text.push_str(&format!(
            "{:<20}{:>9.0}{:>9.0}{:>8}{:>8}  {}\n",
            sheet.name,
            sheet.youngs_modulus.value,
            sheet.shear_modulus.value,
            strength(&sheet.tensile_strength),
            strength(&sheet.yield_strength),
            thicknesses.join(" ")
        ));
    }
    text.push_str(
        "\nSources of one sheet: flatspire stock NAME. The supplier's certificate overrides these values.\n",
    );
    terminal::print(&text)?;
    Ok(Verdict::Passed)
}

fn full(sheet: &Material) -> String {
    let mut text = format!("{}: {}\n", sheet.name, sheet.description);
    let mut line = |name: &str, value: &Sourced, unit: &str| {
        let sure = if value.confidence == Confidence::Read { "read" } else { "from memory" };
        text.push_str(&format!("  {name:<20}{:>10} {unit:<8}{} ({sure})\n", value.value, value.source));
    };
    line("Young's modulus", &sheet.youngs_modulus, "MPa");
    line("shear modulus", &sheet.shear_modulus, "MPa");
    line("density", &sheet.density, "g/cm³");
    if let Some(value) = &sheet.tensile_strength {
        line("tensile strength", value, "MPa");
    }
    if let Some(value) = &sheet.yield_strength {
        line("proof strength", value, "MPa");
    }
    for caution in sheet.cautions() {
        text.push_str(&format!("  caution: {}\n", caution.text));
    }
    text
}
