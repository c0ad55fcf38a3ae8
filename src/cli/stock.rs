//! `flatspire stock`: the sheets known.

use super::arguments::{General, StockOptions};
use super::failure::Failure;
use super::{Verdict, terminal};
use crate::material::{Confidence, Material, Sourced, find, stock};
use crate::numeric::{Quantity, Units, significant};

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
            terminal::print(&full(sheet, general.units.into()))?;
        }
        return Ok(Verdict::Passed);
    }
    if general.json {
        terminal::print_json(&Sheets { sheets: stock() })?;
        return Ok(Verdict::Passed);
    }
    let units: Units = general.units.into();
    let (stress, length) = (Quantity::Stress, Quantity::Length);
    let mut text = format!("{:<20}", "sheet");
    for (name, width) in [("E", 9), ("G", 9), ("Rm", 8), ("Rp", 8)] {
        text.push_str(&format!("{:>width$}", format!("{name} {}", stress.unit(units))));
    }
    text.push_str(&format!("  thicknesses {}\n", length.unit(units)));
    for sheet in stock() {
        let stress = |value: Option<&Sourced>| {
            value.map_or("-".to_owned(), |v| significant(v.value * stress.factor(units), 4).to_string())
        };
        let thicknesses: Vec<String> = sheet
            .thicknesses
            .iter()
            .map(|thickness| significant(thickness * length.factor(units), 3).to_string())
            .collect();
        text.push_str(&format!(
            "{:<20}{:>9}{:>9}{:>8}{:>8}  {}\n",
            sheet.name,
            stress(Some(&sheet.youngs_modulus)),
            stress(Some(&sheet.shear_modulus)),
            stress(sheet.tensile_strength.as_ref()),
            stress(sheet.yield_strength.as_ref()),
            thicknesses.join(" ")
        ));
    }
    text.push_str(
        "\nSources of one sheet: flatspire stock NAME. The supplier's certificate overrides these values.\n",
    );
    terminal::print(&text)?;
    Ok(Verdict::Passed)
}

fn full(sheet: &Material, units: Units) -> String {
    let mut text = format!("{}: {}\n", sheet.name, sheet.description);
    let mut line = |name: &str, value: Option<&Sourced>, quantity: Quantity| {
        let Some(value) = value else { return };
        let sure = if value.confidence == Confidence::Read { "read" } else { "from memory" };
        let shown = significant(value.value * quantity.factor(units), 4);
        let unit = quantity.unit(units);
        text.push_str(&format!("  {name:<20}{shown:>10} {unit:<8}{} ({sure})\n", value.source));
    };
    line("Young's modulus", Some(&sheet.youngs_modulus), Quantity::Stress);
    line("shear modulus", Some(&sheet.shear_modulus), Quantity::Stress);
    line("density", Some(&sheet.density), Quantity::Density);
    line("tensile strength", sheet.tensile_strength.as_ref(), Quantity::Stress);
    line("proof strength", sheet.yield_strength.as_ref(), Quantity::Stress);
    for caution in sheet.cautions() {
        text.push_str(&format!("  caution: {}\n", caution.text));
    }
    text
}
