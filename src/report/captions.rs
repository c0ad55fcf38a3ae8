//! The words of a report: title, outcome, captions, notes, the steps of setting.

use serde::Serialize;

use super::shown::{Shown, sentence};
use super::stroke::Stroke;
use super::subject::Subject;
use crate::numeric::signed;
use crate::plot::Units;
use crate::variation::Scatter;

/// One way to set the spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Way {
    pub name: String,
    pub height: String,
    pub steps: Vec<String>,
    pub source: String,
}

pub(super) fn title(subject: &Subject, shown: Shown) -> String {
    let arms = subject.spring.arms;
    let kind = if arms == 1 { "One-arm".to_owned() } else { format!("{arms}-arm") };
    format!("{kind} flat spiral spring, Ø\u{a0}{}", shown.sized(2.0 * subject.spring.disc.outer_radius))
}

pub(super) fn curve_caption(
    subject: &Subject,
    stroke: &Stroke,
    scatter: Option<&Scatter>,
    shown: Shown,
) -> String {
    let mut caption = Vec::new();
    if subject.target.is_none() {
        caption.push("No curve was asked for: the prediction alone.".to_owned());
    }
    let piece = if stroke.by_quarters { "a quarter turn" } else { "a turn" };
    if !stroke.seats.is_empty() {
        caption.push(format!("Marks on the axis: from there on half of {piece} is seated."));
    }
    if scatter.is_some_and(|found| found.curve.high_n.contains(&None)) {
        caption.push("The shade ends where more than 5\u{a0}% of the parts are flat.".to_owned());
    }
    if subject.installed > 0.0 {
        caption.push(format!(
            "Installed at a deflection of {}: the curve asked for starts there.",
            shown.sized(subject.installed)
        ));
    }
    if subject.reach.is_some_and(|reach| !reach.reachable) {
        caption
            .push("The dashed line is the nearest curve that a spring of this kind can follow.".to_owned());
    }
    caption.join(" ")
}

pub(super) fn notes(subject: &Subject) -> Vec<String> {
    // the findings of the checks are in a table of their own
    let found: Vec<String> = subject.checks.findings.iter().map(ToString::to_string).collect();
    subject
        .warnings
        .iter()
        .filter(|warning| !found.contains(warning))
        .map(|warning| sentence(warning))
        .collect()
}

pub(super) fn units_note(units: Units) -> String {
    match units {
        Units::MillimetreNewton => String::new(),
        Units::InchPound => "The spring file and the files of the package keep mm and N.".to_owned(),
    }
}

pub(super) fn height_caption(subject: &Subject, shown: Shown) -> String {
    let way = subject.checks.setting.as_ref().and_then(|setting| setting.ways.first());
    match way.and_then(|way| way.former_height_mm) {
        Some(height) => {
            format!(
                "The former to make stands {} high at the hub; after spring-back and the first closing the free height is left.",
                shown.sized(height)
            )
        }
        None => "Free height of the arm's middle above the rim.".to_owned(),
    }
}

pub(super) fn stress_caption(subject: &Subject, shown: Shown) -> String {
    let ends: Vec<String> = subject
        .checks
        .stress
        .slot_ends
        .iter()
        .map(|end| format!("{} at the {}", shown.stress(end.stress_mpa), end.root))
        .collect();
    let mut caption = "Surface of the arm, inner edge included.".to_owned();
    if !ends.is_empty() {
        caption.push_str(&format!(" Slot ends: {}.", ends.join(", ")));
    }
    let rings: Vec<String> = subject
        .checks
        .stress
        .rings
        .iter()
        .map(|ring| format!("{} at the {}", shown.stress(ring.stress_mpa), ring.root))
        .collect();
    if !rings.is_empty() {
        caption.push_str(&format!(" Rings: {}.", rings.join(", ")));
    }
    caption
}

pub(super) fn body_notes(stroke: &Stroke, missing: Option<&String>, titles: &[String; 3]) -> Vec<String> {
    let mut notes: Vec<String> = match missing {
        Some(reason) => vec![format!("The formed spring cannot be drawn: {reason}.")],
        None => titles.to_vec(),
    };
    let tilt = stroke.shapes.iter().fold(0.0, |tilt: f64, shape| tilt.max(shape.hub_tilt));
    if tilt > 0.0 {
        notes.push(format!("The hub tilts by up to {:.1}°, which is not drawn.", tilt.to_degrees()));
    }
    let turn = stroke.shapes.iter().fold(0.0, |turn: f64, shape| turn.max(shape.hub_turn.abs()));
    if turn.to_degrees() > 0.05 {
        notes.push(format!(
            "Over the stroke the hub turns about its axis by up to {:.1}°.",
            turn.to_degrees()
        ));
    }
    notes
}

pub(super) fn section_caption(subject: &Subject) -> String {
    let arms = subject.spring.arms;
    let bent = if arms > 1 && arms % 2 == 1 {
        " The left half is cut where the arms stand as on the right."
    } else {
        ""
    };
    format!("Cut through the axis, heights to the same scale as widths. Blue: seated on a plate.{bent}")
}

/// Over-height, over the free height, below which none is named: less than a digit of the height.
const LEAST_OVER_HEIGHT: f64 = 1.0005;

pub(super) fn setting_lines(subject: &Subject, shown: Shown) -> Vec<String> {
    let Some(setting) = &subject.checks.setting else {
        return vec!["No strength of the sheet is known: no advice on setting can be given.".to_owned()];
    };
    let chosen = setting.ways.first().filter(|_| !setting.why.is_empty());
    let mut lines: Vec<String> = chosen
        .map(|way| format!("Way to take: {}, because: {}.", way.words, setting.why))
        .into_iter()
        .collect();
    lines.push(format!(
        "Formed to its free height and pressed flat once, the spring keeps {} of {}.",
        shown.sized(setting.height_after_first_closing_mm),
        shown.sized(subject.checks.flat.travel_mm)
    ));
    match (setting.former_height_mm, setting.over_height) {
        (Some(height), Some(over)) if over > LEAST_OVER_HEIGHT => lines.push(format!(
            "Before the first closing it has to stand at {} ({}\u{a0}%), so that the free height is left; the former to make is \
             higher by the spring-back, see the ways.",
            shown.sized(height),
            signed(100.0 * (over - 1.0), 1)
        )),
        (Some(_), Some(_)) => {}
        _ => lines.push("No over-height keeps this height: see the findings.".to_owned()),
    }
    let depth = if setting.stress_ratio > 1.0 {
        format!("yields there to a depth of {}", shown.length(setting.yield_depth_mm))
    } else {
        "no yielding".to_owned()
    };
    lines.push(format!(
        "Largest elastic shear at flat over shear yield stress: {:.2}, at radius {}; {depth}.",
        setting.stress_ratio,
        shown.sized(setting.radius_mm)
    ));
    lines.extend(subject.checks.service.iter().map(|service| format!("In service: {}.", service.words())));
    lines
}

pub(super) fn ways(subject: &Subject, shown: Shown) -> Vec<Way> {
    let ways = subject.checks.setting.iter().flat_map(|setting| &setting.ways);
    ways.map(|way| Way {
        name: format!("{} ({})", way.words, way.name),
        height: way.former_height_mm.map_or_else(
            || "no height holds".to_owned(),
            |height| format!("height at the hub {}", shown.sized(height)),
        ),
        steps: way.steps.clone(),
        source: way.source.clone(),
    })
    .collect()
}

pub(super) fn ring_note(subject: &Subject, shown: Shown) -> String {
    let former = &subject.checks.former;
    if former.rings.is_empty() {
        return format!("{}.", former.no_stack());
    }
    let shim = if former.shim_mm < 0.005 {
        "The stack is as high as the former has to be.".to_owned()
    } else {
        format!(
            "The stack is {} too low: make that up with a shim under the hub.",
            shown.sized(former.shim_mm)
        )
    };
    format!(
        "Rings on a flat base, of shim or of the spring's own sheet, or turned as one piece. {shim} A ring carries the \
         inner edge of the arm above it."
    )
}
