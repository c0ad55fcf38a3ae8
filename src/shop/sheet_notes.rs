//! Texts of the drawing sheet: work notes and the data block of a spring drawing.

use super::characteristic::{force_places, preloaded, test_forces};
use super::sheet_units::SheetUnits;
use crate::checks::cycles_in_words;
use crate::evaluation::{Drawing, Evaluation};
use crate::material::{EdgeFinish, Material, find};
use crate::numeric::{Quantity, decimal, figures};
use crate::setting::setting_cautions;
use crate::spec::{HubGuide, Pressing, Rim, SlotEnds};

/// Strokes to flat before the test force is read (common practice: one to three).
const STROKES_BEFORE_TEST: usize = 3;

/// Parts whose forces are measured: the first of a lot, then one in so many (common practice).
const SAMPLES: [usize; 2] = [5, 100];

/// Name and standard of the sheet's material, from the stock where it is known there.
pub(super) fn material(evaluation: &Evaluation) -> Option<&'static Material> {
    evaluation.spring.sheet.material.as_deref().and_then(|name| find(name).ok())
}

/// Notes for cutting, finishing and setting, in the order of the work.
pub(super) fn work_notes(evaluation: &Evaluation, drawing: &Drawing) -> Vec<String> {
    let (spring, rules) = (&evaluation.spring, &drawing.rules);
    let sheet = &spring.sheet;
    let units = SheetUnits::of(evaluation);
    let length = |mm: f64| units.with_unit(mm, 2);
    let mut notes = Vec::new();
    let name = sheet.material.as_deref().unwrap_or("material as ordered");
    let way = evaluation.checks.setting.as_ref().and_then(|setting| setting.ways.first());
    let changing = way.filter(|way| way.changes_state);
    let mut text = format!("Material: {name}");
    if let Some(material) = material(evaluation) {
        text.push_str(&format!(", {}", material.description));
    }
    if let Some(strength) = sheet.tensile_strength {
        let state = if changing.is_some() { "finished" } else { "as delivered" };
        text.push_str(&format!("; Rm at least {} MPa {state}", decimal(strength, 0)));
    }
    text.push_str("; certificate with the delivery.");
    if let Some(way) = changing {
        // the steel's name without its state, unless the order names it
        let steel = name.split('+').next().unwrap_or(name);
        let steel = if way.order.contains(steel) { String::new() } else { format!("{steel}, ") };
        text = format!(
            "Material to order: {steel}{}; certificate with the delivery. Finished state: {}.",
            way.order,
            &text["Material: ".len()..text.len() - "; certificate with the delivery.".len()]
        );
    }
    notes.push(text);
    notes.push("Rolling direction along the arrow, the same for all parts of a batch.".to_owned());
    let kerf = match rules.kerf {
        kerf if kerf > 0.0 => format!(", kerf {}", length(kerf)),
        _ => String::new(),
    };
    let order = if rules.pierce_hole > 0.0 { "; bore and slots before the outside" } else { "" };
    let slots = match spring.arms {
        1 => "One slot".to_owned(),
        arms => format!("{arms} equal slots"),
    };
    notes.push(format!(
        "Cut by {}{kerf}. Geometry: outline_mm.dxf, in millimetres, finished size at mid-thickness, kerf not compensated. \
         {slots}{order}.",
        rules.process
    ));
    let start = if rules.pierce_hole > 0.0 {
        "; pierce and close the cut there, on the ring side, without a nick"
    } else {
        ""
    };
    notes.push(match (rules.cuts_on_line(spring.slot), rules.ends) {
        (true, _) => "Slots: one pass on the line of layer cut_on_line.".to_owned(),
        (false, SlotEnds::Round) => format!("Slot ends: full round{start}."),
        (false, _) => {
            format!("Slot ends: round holes as drawn{start}.")
        }
    });
    // what cutting, deburring and plating this sheet may do to people and parts
    let process = evaluation.asked.checks.process.kind().name();
    let hazards: Vec<_> = setting_cautions(sheet.material.as_deref(), process, None).collect();
    let hard_edges = hazards.iter().any(|caution| caution.processes == ["laser"]);
    let burr = evaluation.checks.flat.burr_mm;
    let edges = match evaluation.asked.checks.process.finish.unwrap_or_default() {
        EdgeFinish::AsCut if hard_edges => {
            "hard skin of the laser cut ground off, or the blank annealed, before it is formed (caution below); no burr \
             across the arms"
        }
        EdgeFinish::AsCut if burr == 0.0 => "as cut",
        EdgeFinish::AsCut => "as cut; remove loose burr along the arms, never across",
        EdgeFinish::Tumbled => "tumbled with abrasive media, all edges",
        EdgeFinish::TemperedAndTumbled => "tempered, then tumbled with abrasive media, all edges",
        EdgeFinish::TwoSkims => "two skim cuts after the main cut",
        EdgeFinish::Peened => "shot-peened on both faces and the edges",
    };
    let left = if burr > 0.0 {
        format!("burr of both faces together at most {}", length(burr))
    } else {
        "no burr".to_owned()
    };
    notes.push(format!("Edges: {edges}; {left}. No scratches across the arms."));
    if let Some(way) = way.filter(|way| way.growth != 0.0) {
        notes.push(format!(
            "Lengths change by {:+.2} % in the heat treatment: drawn is the finished size; scale the geometry by {:.5} before cutting.",
            100.0 * way.growth,
            1.0 / (1.0 + way.growth)
        ));
    }
    match way {
        Some(way) => notes.push(match way.former_height_mm {
            Some(height) => format!(
                "Setting: {}, former {} high at the hub; steps and heat treatment in setting.txt.",
                way.words,
                length(height)
            ),
            None => format!("Setting: {}; change the spring before it is cut.", way.words),
        }),
        None => notes.push("Setting: to be agreed; no strength of the sheet is known.".to_owned()),
    }
    if let [first, ..] = drawing.marks.tabs.as_slice() {
        notes.push(format!(
            "{} {} wide on layer tabs hold the part; cut off and dress flush with the outside.",
            if drawing.marks.tabs.len() == 1 {
                "A tab".to_owned()
            } else {
                format!("{} tabs", drawing.marks.tabs.len())
            },
            length(first.width)
        ));
    }
    notes.push(match &drawing.marks.part_number {
        Some(number) if drawing.marks.engraving.is_empty() => {
            format!("Marking: {number} on the bag; nothing stamped or engraved on the part.")
        }
        Some(number) => format!(
            "Marking: {number} engraved on the rim, shallow, layer engraving; nothing on arms and slot ends."
        ),
        None => "Marking: on the rim or the bag only; nothing stamped or engraved on arms and slot ends."
            .to_owned(),
    });
    let bolt = if spring.disc.is_bored() { " and a captive bolt through the hub" } else { "" };
    let joules = evaluation.checks.mass.energy_j;
    let energy = joules * units.factor(Quantity::Energy);
    let unit = units.unit(Quantity::Energy);
    let stored = if energy < 0.001 {
        format!("less than 0.001 {unit}")
    } else {
        format!("up to {} {unit}", figures(energy))
    };
    notes.push(format!(
        "Caution: stores {stored} when closed; edges are sharp. Face shield{bolt} while setting and \
         testing; scrap any part with a visible crack."
    ));
    notes.extend(hazards.iter().map(|caution| format!("Caution: {}", caution.text)));
    notes
}

/// Rows of the data block: what, value.
pub(super) fn data_block(evaluation: &Evaluation) -> Vec<Vec<String>> {
    let spring = &evaluation.spring;
    let units = SheetUnits::of(evaluation);
    let row = |what: &str, value: String| vec![what.to_owned(), value];
    let rim = match spring.seat.rim {
        Rim::Resting => "rim rests on a flat plate",
        Rim::Held => "rim clamped flat",
    };
    let hub = match spring.seat.hub {
        HubGuide::Guided => "hub guided",
        HubGuide::Tilting => "hub free to tilt",
    };
    let pressing = match spring.seat.pressing {
        Pressing::Plates => "upper plate",
        Pressing::Hub => "load on the hub",
    };
    let mut rows = vec![row("Load and support", format!("along the axis, {pressing}; {rim}; {hub}"))];
    let tests = test_forces(evaluation);
    if let [first, second] = tests.as_slice()
        && second.deflection > first.deflection
    {
        let rate = (second.force - first.force) / (second.deflection - first.deflection)
            * units.factor(Quantity::Rate);
        let places = force_places(rate);
        let unit = units.unit(Quantity::Rate);
        rows.push(row("Mean rate F1 to F2", format!("{} {unit}, for information", decimal(rate, places))));
    }
    if let [first, _] = tests.as_slice()
        && preloaded(evaluation)
    {
        let at = if spring.seat.pressing == Pressing::Plates { "at height" } else { "hub at height" };
        let fine = if evaluation.checks.flat.travel_mm < 3.0 { 3 } else { 2 };
        rows.push(row("Installed", format!("{at} {}, with F1", units.with_unit(first.height, fine))));
    }
    let flat = &evaluation.checks.flat;
    rows.push(row("Travel to flat", units.with_unit(flat.travel_mm, 2)));
    let closing = flat.closing_force_n * units.factor(Quantity::Force);
    rows.push(row(
        "Closing force",
        format!(
            "about {} {}, 1 % of the travel left, for information",
            decimal(closing, force_places(closing)),
            units.unit(Quantity::Force)
        ),
    ));
    rows.push(row(
        "Before the test",
        format!("press flat {STROKES_BEFORE_TEST} times, then read F while loading"),
    ));
    rows.push(row(
        "Samples",
        format!("first {} of a batch, then 1 in {}; both forces", SAMPLES[0], SAMPLES[1]),
    ));
    let duty = &evaluation.asked.checks.duty;
    let service = if duty.cycles > 0.0 {
        let stroke = evaluation.checks.fatigue.as_ref().map_or_else(String::new, |fatigue| {
            format!(
                ", {} to {} from free",
                units.with_unit(fatigue.stroke_start_mm, 2),
                units.with_unit(fatigue.stroke_end_mm, 2)
            )
        });
        format!("{} cycles{stroke}", cycles_in_words(duty.cycles))
    } else {
        "static, seldom loaded".to_owned()
    };
    let heat = evaluation
        .checks
        .service
        .as_ref()
        .map_or_else(String::new, |service| format!("; {}", service.words()));
    rows.push(row("Service", format!("{service}{heat}")));
    rows.push(row("Maker may adjust", "free height within its tolerance, to reach F1 and F2".to_owned()));
    rows
}
