//! The usual cautions of the trade, with this spring's energy in them. Wording: common practice, no source, save where
//! the sheet's own cautions name one.

use super::mass::MassCheck;
use crate::layout::Spring;
use crate::material;
use crate::numeric::{joules, short};
use crate::setting::{Plan, captive, setting_cautions};
use crate::spec::ProcessKind;

/// Energy (J) and force (N) from which a pressed spring has to be captive. Common practice, from memory.
const CAPTIVE: (f64, f64) = (5.0, 500.0);

/// Cautions for a spring of this mass and energy, closing under `force` (N), cut by `process` and set by `plan`.
pub fn cautions(
    spring: &Spring,
    mass: &MassCheck,
    force: f64,
    process: ProcessKind,
    plan: Option<&Plan>,
) -> Vec<String> {
    let energy = mass.energy_j;
    let captive = captive(spring.disc.is_bored());
    let mut texts = vec![
        format!(
            "Pressed flat this spring stores about {} J. A cracked or over-pulled hardened spring can throw fragments: \
             wear a face shield and never stand on its axis.",
            joules(energy)
        ),
        format!("While setting and testing keep {captive}, load in steps, and scrap any part with a visible crack."),
        "Cut edges are sharp: wear gloves until they are deburred.".to_owned(),
        "No torch on a spring under clamp.".to_owned(),
        "Not for lifting, holding people, or any safety function without a qualified engineer's check and a load test."
            .to_owned(),
        "Local codes and the sheet supplier's data override the defaults used here.".to_owned(),
    ];
    if energy > CAPTIVE.0 || force > CAPTIVE.1 {
        texts.push(format!(
            "{} J and {} N throw a part through a room: never press this spring loose, only with {captive}, behind a \
             screen.",
            joules(energy),
            short(force)
        ));
    }
    texts.extend(plan.map(Plan::caution));
    let name = spring.sheet.material.as_deref();
    let way = plan.map(|plan| plan.row.way);
    texts.extend(
        setting_cautions(name, process.name(), way)
            .map(|caution| format!("{} ({}, {})", caution.text, caution.source, caution.mark.words())),
    );
    let sheet = name.and_then(|name| material::find(name).ok());
    texts.extend(sheet.iter().flat_map(|sheet| sheet.cautions()).map(|caution| {
        let mut letters = caution.text.chars();
        let first: String = letters.next().map_or_else(String::new, |c| c.to_uppercase().collect());
        format!("{first}{} ({}).", letters.as_str(), caution.source)
    }));
    if sheet.is_none() {
        texts.push(
            "A plated or pickled part of high-strength steel needs a bake against hydrogen; ask the plater."
                .to_owned(),
        );
    }
    texts
}
