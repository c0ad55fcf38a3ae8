//! Identification of parts from measured curves and readings: departures of sheet, cut, setting and roots, common to all parts
//! and of each, and the zeros of every measurement.

use super::VariationError;
use super::contact::other_zero;
use super::deviation::VariedSpring;
use super::evidence::{FARTHEST_THICKNESS, MeasuredPart};
use super::finding::Identified;
use super::fit::{Fit, LASH_LEAST, LASH_SHARE};
use super::readings::{LEAST_READINGS, Readings};
use super::series::Series;
use super::tolerance::Tolerances;
use crate::layout::Spring;
use crate::numeric::short;

/// Share of the travel up to which readings are used: beyond, the force rises without bound and depends more on
/// flatness and burrs than on the arm.
const LAST_SHARE: f64 = 0.95;
/// Standard deviations of the zero of the deflection beyond which another zero is looked for by the shape of the curve.
const FARTHEST_LASH: f64 = 3.0;

/// Pieces of an arm in the fast model and in the whole one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IdentifySettings {
    /// pieces in the fast model
    pub segments: usize,
    /// pieces in the whole one, which corrects it
    pub whole_segments: usize,
}

impl Default for IdentifySettings {
    fn default() -> Self {
        Self { segments: 40, whole_segments: 100 }
    }
}

/// Fits the departures of one part to readings. A `thickness` measured at the part (mm) overrides the sheet's tolerance.
pub fn identify(
    spring: &Spring,
    tolerances: &Tolerances,
    readings: &Readings,
    thickness: Option<f64>,
    settings: IdentifySettings,
) -> Result<Identified, VariationError> {
    let part = MeasuredPart {
        name: "1".to_owned(),
        thickness: thickness.into_iter().collect(),
        curves: vec![readings.clone()],
        ..MeasuredPart::default()
    };
    identify_parts(spring, tolerances, &[part], settings)
}

/// Reason for which the evidence does not apply to parts of this drawing, if any.
fn no_evidence(spring: &Spring, parts: &[MeasuredPart]) -> Option<String> {
    let drawn = spring.sheet.thickness;
    let other =
        |part: &&MeasuredPart| part.thickness.iter().any(|t| (t / drawn - 1.0).abs() > FARTHEST_THICKNESS);
    if let Some(part) = parts.iter().find(other) {
        return Some(format!(
            "part {}: a measured thickness of {} mm is no scatter of the {drawn} mm drawn: it is another sheet or a slip; \
             check the thickness and its unit, for another sheet shape the spring again (design --like with --thickness)",
            part.name,
            part.thickness.iter().map(|t| short(*t)).collect::<Vec<_>>().join(", ")
        ));
    }
    let most = parts.iter().flat_map(|part| &part.curves).map(|curve| curve.deflection.len()).max();
    if most.unwrap_or(0) >= LEAST_READINGS {
        return None;
    }
    Some(format!(
        "found {} readings of a branch between zero and flat, expected {LEAST_READINGS} or more: measure at more deflections \
         on loading, as the sheet of `correct --bench-sheet` lists them",
        most.unwrap_or(0)
    ))
}

/// Fits departures to the evidence on parts of one drawing, cut from one sheet and set alike.
///
/// A curve that no such part has, too few readings and the thickness of another sheet are results, not errors. Errors:
/// invalid geometry of the drawing.
pub fn identify_parts(
    spring: &Spring,
    tolerances: &Tolerances,
    parts: &[MeasuredPart],
    settings: IdentifySettings,
) -> Result<Identified, VariationError> {
    let varied = VariedSpring::new(spring, settings.segments)?;
    let fine = VariedSpring::new(spring, settings.whole_segments)?;
    if let Some(reason) = no_evidence(spring, parts) {
        return Ok(Identified::without_fit(parts, reason));
    }
    let last = LAST_SHARE * varied.arm.free_height();
    let (mut series, mut notes) = (Vec::new(), Vec::new());
    for (part, measured) in parts.iter().enumerate() {
        for curve in measured.curves.iter().filter(|curve| curve.deflection.len() >= LEAST_READINGS) {
            let end = curve.deflection.last().copied().unwrap_or(0.0);
            let likely = (LASH_SHARE * end.min(last)).max(LASH_LEAST);
            let one = match other_zero(curve, &varied, FARTHEST_LASH * likely)? {
                Some(zero) => {
                    notes.push(format!(
                        "part {}: the deflection counts from {zero:+.2} mm of the measurement, where by its shape the spring \
                         is touched",
                        measured.name
                    ));
                    let deflection = curve.deflection.iter().map(|x| x - zero).collect();
                    let moved = Readings { deflection, ..curve.clone() };
                    Series { lash: FARTHEST_LASH * likely, ..Series::of(part, &moved, last) }
                }
                None => Series::of(part, curve, last),
            };
            if one.x.len() >= LEAST_READINGS {
                series.push(one);
            }
        }
    }
    if series.is_empty() {
        return Ok(Identified::without_fit(
            parts,
            format!(
                "fewer than {LEAST_READINGS} readings lie within {last:.2} mm, 95 % of the travel of the drawn spring: the \
                 deflection counts from another zero, or the readings are of another spring"
            ),
        ));
    }
    let mut fit = Fit::of(varied, fine, tolerances, parts, series);
    match fit.run() {
        Ok((p, before)) => Ok(Identified { notes, ..Identified::of(&fit, &p, &before, parts)? }),
        Err(_) => Ok(Identified::without_fit(
            parts,
            "no part near this drawing has such a curve: check that the spring file is that of the part, and the units and \
             zeros of the measurement"
                .to_owned(),
        )),
    }
}
