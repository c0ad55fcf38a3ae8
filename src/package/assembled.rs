//! The files of an assembly: those of the whole, and a folder for each of its discs.

use serde::Serialize;

use super::files::{PackageError, files};
use crate::assembly::{PLATE_MM, SHOULDER_MM, Spacers, outer_plate_mm};
use crate::evaluation::{AssembledCurve, AssembledEvaluation, SharedSheet};
use crate::export::{DrawingNotes, NamedFile, NestedPart, dxf_sets, svg_sets};
use crate::numeric::{cell, decimal, joules};
use crate::outline::part_diameter;
use crate::pipeline::AssemblyAnswer;
use crate::plot::{Band, CurvePlot, LineChart, PlotError, Shade, Units, line_chart_png, line_chart_svg};
use crate::spec::{AssemblyKind, AssemblyMember, Pressing, Side, Stacking};

/// Points of the line in the curve's picture.
const LINE_POINTS: usize = 160;
/// Clearance of hub pieces and plates in diameter on their bolt or rod (mm). Common practice.
const HOLE_CLEARANCE: f64 = 0.3;

/// One line of the parts list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AssemblyPart {
    /// name
    pub part: String,
    /// number of pieces
    pub count: usize,
    /// outside diameter (mm)
    pub outer_diameter_mm: f64,
    /// bore (mm); 0 without
    pub bore_mm: f64,
    /// thickness (mm)
    pub thickness_mm: f64,
    /// note
    pub note: String,
}

/// Radius of the smallest hub (mm): a hub piece as large meets no arm.
pub fn hub_radius(evaluation: &AssembledEvaluation) -> f64 {
    let springs = evaluation.members.iter().map(|member| &member.evaluation.spring);
    springs.map(|spring| spring.disc.slot_inner_radius - 0.5 * spring.slot).fold(f64::INFINITY, f64::min)
}

/// The parts of an assembly: discs, pieces between them, plates.
pub fn parts(evaluation: &AssembledEvaluation) -> Vec<AssemblyPart> {
    let kind = evaluation.file.kind;
    let members = &evaluation.members;
    let widest =
        members.iter().map(|member| 2.0 * member.evaluation.spring.disc.outer_radius).fold(0.0, f64::max);
    let thickest = members.iter().map(|member| member.evaluation.spring.sheet.thickness).fold(0.0, f64::max);
    let bore = members
        .iter()
        .map(|member| 2.0 * member.evaluation.spring.disc.bore_radius)
        .fold(f64::INFINITY, f64::min);
    let hub = 2.0 * hub_radius(evaluation);
    let mut parts: Vec<AssemblyPart> = Vec::new();
    for member in members {
        let spring = &member.evaluation.spring;
        let note = format!("folder {}", member.member.folder);
        if let Some(part) = parts.iter_mut().find(|part| part.note == note) {
            part.count += member.member.count;
            continue;
        }
        parts.push(AssemblyPart {
            part: "disc".to_owned(),
            count: member.member.count,
            outer_diameter_mm: 2.0 * spring.disc.outer_radius,
            bore_mm: 2.0 * spring.disc.bore_radius,
            thickness_mm: spring.sheet.thickness,
            note,
        });
    }
    for (k, member) in members.iter().enumerate() {
        let spacers = Spacers::read(kind, k, members.len(), &member.member);
        let spring = &member.evaluation.spring;
        let covering = spring.seat.pressing == Pressing::Plates;
        if spacers.hub_pieces > 0 {
            parts.push(AssemblyPart {
                part: if covering { "plate between hubs" } else { "hub piece" }.to_owned(),
                count: spacers.hub_pieces,
                outer_diameter_mm: if covering { widest } else { hub },
                bore_mm: bore,
                thickness_mm: spacers.hub_piece_mm,
                note: if kind.has_pair() {
                    "fixed to the rod that carries the load; hubs lie on both faces".to_owned()
                } else {
                    "hubs lie on both faces".to_owned()
                },
            });
        }
        if spacers.plates > 0 {
            parts.push(AssemblyPart {
                part: "plate between rims".to_owned(),
                count: spacers.plates,
                outer_diameter_mm: widest,
                bore_mm: bore,
                thickness_mm: PLATE_MM,
                note: "flat to 0.05 mm, rims lie on both faces".to_owned(),
            });
        }
    }
    parts.push(AssemblyPart {
        part: "outer plate".to_owned(),
        count: 2,
        outer_diameter_mm: widest + 4.0,
        bore_mm: if kind.has_pair() { bore + HOLE_CLEARANCE } else { bore },
        thickness_mm: outer_plate_mm(thickest),
        note: format!(
            "flat to 0.05 mm; {} mm apart at rest, held by columns or a tube outside the discs",
            decimal(plates_apart(evaluation), 2)
        ),
    });
    if let Some(third) = third_disc(evaluation) {
        parts.push(AssemblyPart {
            part: "shoulder on the rod".to_owned(),
            count: 1,
            outer_diameter_mm: hub,
            bore_mm: 0.0,
            thickness_mm: SHOULDER_MM,
            note: format!(
                "carries the hub of {}; its upper face {} mm over the underside of the upper outer plate at rest",
                third.folder,
                decimal(third.spacer, 2)
            ),
        });
        parts.push(AssemblyPart {
            part: "loaded plate".to_owned(),
            count: 1,
            outer_diameter_mm: widest + 4.0,
            bore_mm: 0.0,
            thickness_mm: outer_plate_mm(thickest),
            note: format!(
                "flat to 0.05 mm; on the rim of {}, guided along the axis, the load presses it",
                third.folder
            ),
        });
    }
    parts
}

/// The disc between the load and the hub of a pair.
fn third_disc(evaluation: &AssembledEvaluation) -> Option<&AssemblyMember> {
    evaluation.members.iter().map(|member| &member.member).find(|member| member.side == Some(Side::C))
}

/// Distance (mm) of the outer plates at rest: those of the pair where there is a third disc above them.
fn plates_apart(evaluation: &AssembledEvaluation) -> f64 {
    height_of_plates(evaluation, |installed| installed)
}

fn height_of_plates(evaluation: &AssembledEvaluation, deflection: impl Fn(f64) -> f64) -> f64 {
    let placed = evaluation.arrangement.members().iter().zip(&evaluation.members);
    placed
        .filter(|(_, member)| member.member.side != Some(Side::C))
        .map(|(placed, _)| placed.height(deflection(placed.installed)))
        .sum()
}

/// Steps of putting the assembly together.
pub fn steps(evaluation: &AssembledEvaluation) -> Vec<String> {
    let arrangement = &evaluation.arrangement;
    let kind = evaluation.file.kind;
    let height = |value: f64| format!("{} mm", decimal(value, 2));
    let preload = arrangement.preloads().into_iter().fold(0.0, f64::max);
    let mut steps = vec![
        "Deburr every disc, set it to its height (setting.txt in its folder) and measure height and force of each before \
         assembly (inspection.pdf)."
            .to_owned(),
        "Put the lower plate on the bench, a guide rod through its hole.".to_owned(),
    ];
    for (k, member) in evaluation.members.iter().enumerate().filter(|(_, of)| of.member.side != Some(Side::C))
    {
        steps.extend(stack_steps(kind, k, evaluation.members.len(), &member.member));
    }
    steps.push(format!(
        "Put the upper plate on. Unloaded, the plates are {} apart.",
        height(height_of_plates(evaluation, |_| 0.0))
    ));
    if preload > 0.0 {
        steps.push(format!(
            "Draw the plates together with at least three long screws, evenly, half a turn each in turn, until they are {} \
             apart: the last of it needs {preload:.0} N. Keep the screws in until the columns hold.",
            height(plates_apart(evaluation))
        ));
    }
    if let Some(third) = third_disc(evaluation) {
        steps.push(format!(
            "Screw the shoulder on the rod above the upper plate, its upper face {} over the underside of that plate: it sinks \
             by up to {}, where it meets its stop.",
            height(third.spacer),
            height(arrangement.hub_travel())
        ));
        steps.push(format!(
            "Lay one disc (folder {}) on the shoulder, hub down, rim up, and the loaded plate on its rim, guided along the axis, \
             {} over the lower plate. Nothing but the load presses this disc: keep the plate from falling off, and leave it \
             without preload.",
            third.folder,
            height(arrangement.height_at_rest())
        ));
    }
    steps.push(format!(
        "Press to {:.2} mm and measure the force at five deflections; compare with curve.csv.",
        evaluation.curve.deflection.last().copied().unwrap_or(0.0)
    ));
    if kind.has_pair() {
        steps.push(
            "Force too low or too high: \"flatspire correct\" with this folder and the measured curve proposes a shim to try \
             before any disc is cut again."
                .to_owned(),
        );
    }
    steps
}

fn stack_steps(kind: AssemblyKind, k: usize, members: usize, member: &AssemblyMember) -> Vec<String> {
    let spacers = Spacers::read(kind, k, members, member);
    let (count, folder) = (member.count, &member.folder);
    let stacked = member.stacked.unwrap_or_default();
    let upright = k == 0;
    let mut steps = Vec::new();
    match (count, stacked) {
        (1, _) if upright => steps.push(format!("Lay one disc (folder {folder}) on it, rim down, hub up.")),
        (1, _) => steps.push(format!("Lay one disc (folder {folder}) on it, hub down, rim up.")),
        (_, Stacking::Parallel) => steps.push(format!(
            "Nest {count} discs (folder {folder}) in each other, arms on arms, rim {}; a little grease between them.",
            if upright { "down" } else { "up" }
        )),
        (_, Stacking::Series) => steps.push(format!(
            "Stack {count} discs (folder {folder}) back to back, the first with its {} down: hub on hub with a hub piece of {} mm \
             between, rim on rim with a plate of {} mm between.",
            if upright { "rim" } else { "hub" },
            decimal(spacers.hub_piece_mm, 2),
            decimal(PLATE_MM, 2)
        )),
    }
    if k == 0 && members > 1 && kind != AssemblyKind::Parallel {
        let piece = if kind.has_pair() { "hub piece with the rod of the load" } else { "hub piece" };
        steps.push(format!("Put the {piece} on its hub."));
    }
    steps
}

/// Cautions of the assembly and of its discs.
pub fn cautions(evaluation: &AssembledEvaluation) -> Vec<String> {
    let energy = 1e-3 * evaluation.arrangement.energy_at_rest();
    let mut cautions = Vec::new();
    if energy > 0.0 {
        cautions.push(format!(
            "At rest this assembly stores about {} J and pushes its plates apart with {} N. Never take the columns or the last \
             screws out before long screws hold the plates; turn them back evenly; stand beside the axis, never on it.",
            joules(energy),
            decimal(evaluation.arrangement.preloads().into_iter().fold(0.0, f64::max), 0)
        ));
        cautions.push("A label \"preloaded spring, do not open\" belongs on the outside.".to_owned());
    }
    for member in &evaluation.members {
        for caution in &member.evaluation.checks.cautions {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
    }
    cautions
}

/// `curve.csv` of an assembly, deflection from where it rests: usual columns for the whole, then the deflection of one disc
/// of each member.
pub fn assembled_csv(evaluation: &AssembledEvaluation, curve: &AssembledCurve, with_target: bool) -> String {
    let target = evaluation.target.as_ref().filter(|_| with_target);
    let names = member_names(evaluation);
    let mut text = String::from("deflection_mm,");
    if target.is_some() {
        text.push_str("target_n,");
    }
    text.push_str("force_n,rate_n_per_mm,seated_share,peak_stress_mpa");
    for name in &names {
        text.push_str(&format!(",{name}_deflection_mm"));
    }
    text.push('\n');
    for (i, x) in curve.deflection.iter().enumerate() {
        let mut cells = vec![cell(*x, 5)];
        cells.extend(target.map(|target| cell(target.force_at(*x), 5)));
        cells.extend([
            cell(curve.force[i], 5),
            cell(curve.rate[i], 5),
            decimal(curve.seated_share[i], 4),
            cell(curve.peak_stress[i], 2),
        ]);
        cells.extend(curve.discs.iter().map(|discs| cell(discs[i], 5)));
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

/// Names of the members in tables: their folders, with the side where both have one folder.
pub fn member_names(evaluation: &AssembledEvaluation) -> Vec<String> {
    let folders: Vec<&String> = evaluation.members.iter().map(|member| &member.member.folder).collect();
    folders
        .iter()
        .enumerate()
        .map(|(k, folder)| {
            let twice = folders.iter().filter(|other| other == &folder).count() > 1;
            if twice { format!("{folder}_{}", ["a", "b", "c"][k.min(2)]) } else { (*folder).clone() }
        })
        .collect()
}

/// The curve of the whole as a chart, with the band of friction.
pub fn assembled_chart(evaluation: &AssembledEvaluation) -> Result<LineChart, PlotError> {
    let arrangement = &evaluation.arrangement;
    let (from, to) = match &evaluation.target {
        Some(target) => (target.deflection[0], target.max_deflection()),
        None => (0.99 * arrangement.travel_back(), 0.99 * arrangement.travel()),
    };
    let (from, to) = (from.max(arrangement.travel_back()), to.min(arrangement.travel()));
    let x: Vec<f64> = (0..=LINE_POINTS).map(|k| from + (to - from) * k as f64 / LINE_POINTS as f64).collect();
    let force: Vec<f64> = x.iter().map(|x| arrangement.force(*x)).collect();
    let rubbed = |sign: f64| -> Vec<f64> {
        x.iter().zip(&force).map(|(x, force)| force + sign * arrangement.friction(*x)[1]).collect()
    };
    let friction = Band {
        label: "friction".to_owned(),
        x: x.clone(),
        low: rubbed(-1.0),
        high: rubbed(1.0),
        shade: Shade::Tinted,
    };
    let target = evaluation.target.clone().unwrap_or_default();
    let mut chart = CurvePlot {
        title: "Force over deflection of the assembly".to_owned(),
        target_deflection: target.deflection,
        target_force: target.force,
        force_min: target.force_min.unwrap_or_default(),
        force_max: target.force_max.unwrap_or_default(),
        predicted_deflection: x,
        predicted_force: force,
        ..CurvePlot::default()
    }
    .chart()?;
    chart.bands.push(friction);
    Ok(chart)
}

/// The files of the whole but its report and section, in the order in which they are written.
pub fn assembly_files(answer: &AssemblyAnswer, units: Units) -> Result<Vec<NamedFile>, PackageError> {
    let evaluation = &answer.evaluation;
    let chart = assembled_chart(evaluation)?;
    let mut list = vec![
        NamedFile::new("assembly.toml", evaluation.file.to_toml().into_bytes()),
        NamedFile::new("curve.csv", assembled_csv(evaluation, &evaluation.curve, true).into_bytes()),
        NamedFile::new("curve.svg", line_chart_svg(&chart, units)?),
        NamedFile::new("curve.png", line_chart_png(&chart, units)?),
        NamedFile::new("parts.csv", parts_csv(evaluation).into_bytes()),
        NamedFile::new("assembly.txt", assembly_text(answer).into_bytes()),
        NamedFile::new("summary.json", answer.summary.to_json()),
    ];
    if let Some(Ok(sheet)) = SharedSheet::of(evaluation) {
        list.extend(shared_sheet_files(&sheet)?);
    }
    Ok(list)
}

/// The sheet from which the discs of an assembly are cut together.
pub fn shared_sheet_files(sheet: &SharedSheet<'_>) -> Result<[NamedFile; 2], PackageError> {
    let parts: Vec<NestedPart<'_>> =
        sheet.drawings.iter().map(|(_, drawing)| (&drawing.outline, &drawing.marks)).collect();
    let mut lines = sheet.words();
    for (folder, drawing) in &sheet.drawings {
        let diameter = part_diameter(&drawing.outline);
        lines.push(format!("{folder}: dia {diameter:.2}, {folder}/outline_mm.dxf"));
    }
    let notes = DrawingNotes::on_shared_sheet(lines);
    Ok([
        NamedFile::new("sheet_mm.dxf", dxf_sets(&sheet.nest, &parts, &notes)?),
        NamedFile::new("sheet.svg", svg_sets(&sheet.nest, &parts)),
    ])
}

/// The files of each disc, by folder.
pub fn disc_files(answer: &AssemblyAnswer) -> Result<Vec<(String, Vec<NamedFile>)>, PackageError> {
    answer.discs.iter().map(|(folder, disc)| Ok((folder.clone(), files(disc)?))).collect()
}

fn parts_csv(evaluation: &AssembledEvaluation) -> String {
    let mut text = String::from("part,count,outer_diameter_mm,bore_mm,thickness_mm,note\n");
    for part in parts(evaluation) {
        text.push_str(&format!(
            "{},{},{},{},{},\"{}\"\n",
            part.part,
            part.count,
            decimal(part.outer_diameter_mm, 2),
            decimal(part.bore_mm, 2),
            decimal(part.thickness_mm, 3),
            part.note
        ));
    }
    text
}

fn assembly_text(answer: &AssemblyAnswer) -> String {
    let evaluation = &answer.evaluation;
    let arrangement = &evaluation.arrangement;
    let mut text = format!("The assembly: {}\n\n", answer.summary.choice);
    text.push_str(&format!(
        "Height between the plates: {} mm free, {} mm at rest, {} mm closed\n",
        decimal(arrangement.free_height(), 2),
        decimal(arrangement.height_at_rest(), 2),
        decimal(arrangement.closed_height(), 2)
    ));
    text.push_str("\nParts\n");
    for part in parts(evaluation) {
        text.push_str(&format!(
            "  {} x {}: outside {} mm, bore {} mm, {} mm thick; {}\n",
            part.count,
            part.part,
            decimal(part.outer_diameter_mm, 2),
            decimal(part.bore_mm, 2),
            decimal(part.thickness_mm, 3),
            part.note
        ));
    }
    match SharedSheet::of(evaluation) {
        Some(Ok(sheet)) => {
            text.push_str("\nDiscs cut from one sheet, sheet_mm.dxf\n");
            text.extend(sheet.words().iter().map(|line| format!("  {line}\n")));
        }
        Some(Err(error)) => text.push_str(&format!("\nDiscs cut from one sheet: {error}\n")),
        None => {}
    }
    text.push_str("\nOrder of assembly\n");
    for (k, step) in steps(evaluation).iter().enumerate() {
        text.push_str(&format!("  {}. {step}\n", k + 1));
    }
    text.push_str("\nCautions\n");
    for caution in cautions(evaluation) {
        text.push_str(&format!("  - {caution}\n"));
    }
    text
}
