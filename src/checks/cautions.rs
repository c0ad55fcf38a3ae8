//! The usual cautions of the trade, with this spring's energy in them. Wording: common practice, no source, save where
//! the sheet's own cautions name one.

use crate::layout::Spring;
use crate::material;
use crate::numeric::short;

/// Cautions for a spring that stores `energy` (J) when pressed flat.
pub fn cautions(spring: &Spring, energy: f64) -> Vec<String> {
    let mut texts = vec![
        format!(
            "Pressed flat this spring stores about {} J. A cracked or over-pulled hardened spring can throw fragments: \
             wear a face shield and never stand on its axis.",
            short(energy)
        ),
        "While setting and testing keep a captive bolt through the hub, load in steps, and scrap any part with a visible \
         crack."
            .to_owned(),
        "Cut edges are sharp: wear gloves until they are deburred.".to_owned(),
        "No torch on a spring under clamp.".to_owned(),
        "Not for lifting, holding people, or any safety function without a qualified engineer's check and a load test."
            .to_owned(),
        "Local codes and the sheet supplier's data override the defaults used here.".to_owned(),
    ];
    let sheet = spring.sheet.material.as_deref().and_then(|name| material::find(name).ok());
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
