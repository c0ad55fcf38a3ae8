//! The report on an assembly: curve of the whole, section in four states, verdicts, parts, order of assembly.

use serde::Serialize;

use super::formed::{CutPlace, cut_pieces, cut_places};
use super::page;
use super::rivals::bars;
use super::shown::{Shown, sentence};
use super::stroke::{Shape, Stroke};
use super::tables::Table;
use super::tiles::{Tile, tile};
use super::{Report, ReportError, Subject};
use crate::assembly::{PLATE_MM, SHOULDER_MM, Spacers, outer_plate_mm};
use crate::evaluation::{AssembledEvaluation, VerdictState};
use crate::export::NamedFile;
use crate::package::{assembled_chart, cautions, hub_radius, parts, steps};
use crate::pipeline::AssemblyAnswer;
use crate::plot::{
    AssemblyState, AssemblyView, Block, ChartPicture, PageSize, Picture, PlacedDisc, Quantity, Units,
    share_bars,
};
use crate::spec::{AssemblyKind, Pressing, Stacking};

const CURVE: PageSize = PageSize { width: 460.0, height: 330.0 };
const SECTION_WIDTH: f64 = 560.0;
const BARS_WIDTH: f64 = 900.0;
/// Radius of the rod of an opposed pair in the section, over that of the bore.
const ROD: f64 = 0.8;

#[derive(Serialize)]
struct AssembledFacts {
    title: String,
    subtitle: String,
    passed: bool,
    outcome: String,
    choice: String,
    curve: String,
    sections: String,
    tiles: Vec<Tile>,
    cautions: Vec<String>,
    members: Table,
    folders: Vec<String>,
    parts: Table,
    steps: Vec<String>,
    tried: Table,
    good: String,
    scatter: String,
    notes: Vec<String>,
    file: String,
}

/// The report on an assembly and its section as files.
pub fn assembly_report(answer: &AssemblyAnswer, units: Units) -> Result<Vec<NamedFile>, ReportError> {
    let section = section(&answer.evaluation, units)?;
    let html = page(answer, &section, units)?;
    Ok(vec![
        NamedFile::new("report.html", html.into_bytes()),
        NamedFile::new("pictures/sections.svg", section.svg_file()),
        NamedFile::new("pictures/sections.png", section.png_file()?),
    ])
}

/// The reports on the discs of an assembly as files, by folder.
pub fn disc_reports(
    answer: &AssemblyAnswer,
    units: Units,
) -> Result<Vec<(String, Vec<NamedFile>)>, ReportError> {
    answer
        .discs
        .iter()
        .map(|(folder, disc)| Ok((folder.clone(), Report::of(&Subject::of(disc), units)?.files()?)))
        .collect()
}

/// A disc of a stack: member, orientation, place in the stack.
struct InStack {
    member: usize,
    upside_down: bool,
    named: bool,
}

/// Piece between two discs.
enum Between {
    /// a hub piece or, where plates cover the arms, a plate (mm)
    Hubs(f64),
    /// a plate
    Rims,
    /// nothing: nested
    Nested,
    /// the fixed plate over an opposed pair and the rod with a shoulder that reaches through it (mm)
    Fixed(f64),
    /// the moving piece of an opposed pair, or the end of a stack
    Nothing,
}

/// Discs and pieces from the lower plate up.
fn order(evaluation: &AssembledEvaluation) -> Vec<(InStack, Between)> {
    let kind = evaluation.file.kind;
    let count = evaluation.members.len();
    let mut stack: Vec<(InStack, Between)> = Vec::new();
    for (k, member) in evaluation.members.iter().enumerate() {
        let spacers = Spacers::read(kind, k, count, &member.member);
        let hubs = || Between::Hubs(spacers.hub_piece_mm);
        let discs = member.member.count;
        let nested = member.member.stacked == Some(Stacking::Parallel);
        // a stack under the upper plate begins with its rim there
        let first_down = if kind != AssemblyKind::Parallel && k > 0 && !nested {
            discs % 2 == 1
        } else {
            kind != AssemblyKind::Parallel && k > 0
        };
        for place in 0..discs {
            let upside_down = if nested { first_down } else { (place % 2 == 1) != first_down };
            let last = place + 1 == discs;
            let between = match (last, nested) {
                (true, _) if k == 0 && count > 1 && kind != AssemblyKind::Parallel => {
                    if upside_down && !nested { Between::Rims } else { hubs() }
                }
                (true, _) if kind == AssemblyKind::OpposedSeries && k == 1 => {
                    Between::Fixed(evaluation.members[2].member.spacer)
                }
                (true, _) => Between::Nothing,
                (false, true) => Between::Nested,
                (false, false) => {
                    if upside_down {
                        Between::Rims
                    } else {
                        hubs()
                    }
                }
            };
            stack.push((InStack { member: k, upside_down, named: place == 0 }, between));
        }
    }
    stack
}

/// A disc ready to be cut at any deflection.
struct Cut {
    stroke: Stroke,
    places: Vec<CutPlace>,
}

/// The assembly free, at rest, halfway and closed.
pub fn section(evaluation: &AssembledEvaluation, units: Units) -> Result<Picture, ReportError> {
    let arrangement = &evaluation.arrangement;
    let shown = Shown { units };
    let cuts: Vec<Cut> = evaluation
        .members
        .iter()
        .map(|member| {
            let spring = &member.evaluation.spring;
            let stroke = Stroke::of(spring)?;
            let places = cut_places(spring, &stroke);
            Ok(Cut { stroke, places })
        })
        .collect::<Result<_, ReportError>>()?;
    let last = evaluation
        .target
        .as_ref()
        .map_or(0.99 * arrangement.travel(), crate::curve::TargetCurve::max_deflection);
    let down = arrangement.travel();
    let rest: Vec<f64> = arrangement.members().iter().map(|member| member.installed).collect();
    let free: Vec<f64> = rest.iter().map(|_| 0.0).collect();
    let preloaded = rest.iter().any(|installed| *installed > 0.0);
    let pressed = |x: f64, words: &str| {
        format!("{words}, deflected by {}: {}", shown.sized(x), shown.force(arrangement.force(x)))
    };
    let free_title = if preloaded {
        format!(
            "Before it is drawn together, every disc free: {} between the plates",
            shown.sized(arrangement.free_height())
        )
    } else {
        format!("Free: {} between the plates", shown.sized(arrangement.free_height()))
    };
    let mut states = vec![(free_title, free, false)];
    if preloaded {
        let title = format!("At rest: {} between the plates", shown.sized(arrangement.height_at_rest()));
        states.push((title, rest, false));
    }
    let half = 0.5 * last;
    states.push((pressed(half, "Halfway through the curve"), arrangement.disc_deflections(half), true));
    let loose = arrangement.loose_from().filter(|loose| *loose < down);
    let closed_title = format!(
        "{}, deflected by {}{}",
        if evaluation.file.kind == AssemblyKind::OpposedSeries {
            "At the end of its travel"
        } else {
            "Closed"
        },
        shown.sized(down),
        loose.map_or_else(String::new, |loose| format!(", disc b loose from {} on", shown.sized(loose)))
    );
    states.push((closed_title, arrangement.disc_deflections(down), true));
    let radius = evaluation
        .members
        .iter()
        .map(|member| member.evaluation.spring.disc.outer_radius)
        .fold(0.0, f64::max);
    let states = states
        .into_iter()
        .enumerate()
        .map(|(k, (title, deflections, loaded))| {
            // the plates of an opposed pair stay where they are, a loose disc or not
            let apart = match evaluation.file.kind {
                AssemblyKind::Opposed if k > 0 => arrangement.height_at_rest(),
                AssemblyKind::OpposedSeries if k > 0 => pair_height(evaluation),
                _ => 0.0,
            };
            state(evaluation, &cuts, title, &deflections, loaded, k == 0, apart)
        })
        .collect::<Result<_, ReportError>>()?;
    Ok(AssemblyView { states, radius }.picture(SECTION_WIDTH, units)?)
}

/// Height (mm) between the plates of a pair behind a third disc, drawn together.
fn pair_height(evaluation: &AssembledEvaluation) -> f64 {
    evaluation.arrangement.members().iter().take(2).map(|member| member.height(member.installed)).sum()
}

/// Pieces of one state from below, with the height that is reached so far.
#[derive(Default)]
struct Stacked {
    discs: Vec<PlacedDisc>,
    blocks: Vec<Block>,
    level: f64,
    /// upper face of the piece on the first stack, which moves in an opposed pair (mm)
    hub_piece: Option<f64>,
}

impl Stacked {
    fn piece(&mut self, radius: [f64; 2], thick: f64, name: &str) {
        let height = [self.level, self.level + thick];
        self.blocks.push(Block { radius, height, name: name.to_owned() });
        self.level += thick;
    }

    /// The fixed plate over the pair, `apart` (mm) over the lower one at least, and the rod from its hub piece: `spacer` (mm)
    /// from the underside of the plate to the hub of the third disc at rest, less what the hub has sunk.
    fn fixed_plate(
        &mut self,
        evaluation: &AssembledEvaluation,
        [spacer, sunk, apart]: [f64; 3],
        names: [&str; 2],
    ) {
        let springs = evaluation.members.iter().map(|member| &member.evaluation.spring);
        let widest = springs.clone().map(|spring| spring.disc.outer_radius).fold(0.0, f64::max);
        let bore = springs.clone().map(|spring| spring.disc.bore_radius).fold(f64::INFINITY, f64::min);
        let thickest = springs.map(|spring| spring.sheet.thickness).fold(0.0, f64::max);
        self.level = self.level.max(apart);
        let underside = self.level;
        self.piece([bore, widest], outer_plate_mm(thickest), names[0]);
        let shoulder = underside + spacer - sunk;
        let rod = [self.hub_piece.unwrap_or(0.0), shoulder - SHOULDER_MM];
        self.blocks.push(Block { radius: [0.0, ROD * bore], height: rod, name: String::new() });
        self.level = shoulder - SHOULDER_MM;
        self.piece([0.0, hub_radius(evaluation)], SHOULDER_MM, names[1]);
    }
}

fn state(
    evaluation: &AssembledEvaluation,
    cuts: &[Cut],
    title: String,
    deflections: &[f64],
    loaded: bool,
    named: bool,
    apart: f64,
) -> Result<AssemblyState, ReportError> {
    let kind = evaluation.file.kind;
    let opposed = kind == AssemblyKind::Opposed;
    let mut shapes = Vec::new();
    for (k, cut) in cuts.iter().enumerate() {
        let spring = &evaluation.members[k].evaluation.spring;
        let at = deflections[k].clamp(0.0, cut.stroke.travel);
        let shape = Shape::at(spring, &cut.stroke, at)?.unwrap_or_else(|| cut.stroke.shape_at(0.0).clone());
        shapes.push(shape);
    }
    let name = |name: &'static str| if named { name } else { "" };
    let mut stack = Stacked::default();
    for (disc, between) in order(evaluation) {
        let member = &evaluation.members[disc.member];
        let spring = &member.evaluation.spring;
        let tall = spring.former.free_height - deflections[disc.member] + spring.sheet.thickness;
        stack.discs.push(PlacedDisc {
            pieces: cut_pieces(&cuts[disc.member].places, &shapes[disc.member]),
            thickness: spring.sheet.thickness,
            base: if disc.upside_down { stack.level + tall } else { stack.level },
            upside_down: disc.upside_down,
            name: if named && disc.named {
                match member.member.side {
                    Some(side) => format!("{} (side {})", member.member.folder, side.letter()),
                    None => member.member.folder.clone(),
                }
            } else {
                String::new()
            },
        });
        let inner = if kind.has_pair() { 0.0 } else { spring.disc.bore_radius };
        stack.level += if matches!(between, Between::Nested) { spring.sheet.thickness } else { tall };
        match between {
            Between::Rims => {
                stack.piece([inner, spring.disc.outer_radius], PLATE_MM, name("plate"));
                if disc.member == 0 {
                    stack.hub_piece = Some(stack.level);
                }
            }
            Between::Fixed(spacer) => {
                let stacked = evaluation.arrangement.members();
                let sunk = if apart > 0.0 {
                    stacked[0].height(stacked[0].installed) - stacked[0].height(deflections[0])
                } else {
                    0.0
                };
                let names = [name("fixed plate"), name("rod")];
                stack.fixed_plate(evaluation, [spacer, sunk, apart], names);
            }
            Between::Hubs(thick) if thick > 0.0 => {
                let (outer, text) = if spring.seat.pressing == Pressing::Plates {
                    (spring.disc.outer_radius, "plate")
                } else {
                    (hub_radius(evaluation), "hub piece")
                };
                stack.piece([inner, outer], thick, name(text));
                if disc.member == 0 {
                    stack.hub_piece = Some(stack.level);
                }
            }
            Between::Hubs(_) | Between::Nested | Between::Nothing => {}
        }
    }
    let bore = evaluation.members.last().map_or(0.0, |member| member.evaluation.spring.disc.bore_radius);
    let load = stack.hub_piece.filter(|_| opposed).unwrap_or(stack.level);
    Ok(AssemblyState {
        title,
        discs: stack.discs,
        blocks: stack.blocks,
        height: if opposed { stack.level.max(apart) } else { stack.level },
        load: loaded.then_some(load),
        hole: if opposed { bore } else { 0.0 },
    })
}

/// The share of good assemblies in a sentence; empty where none was computed.
fn good(evaluation: &AssembledEvaluation) -> String {
    evaluation.good_parts().map_or_else(String::new, |parts| {
        format!(
            "{:.0} % of assemblies are as wanted as bought, {:.0} % with the sheet measured ({}). Discs of one sheet are taken to \
             come from one coil and share its thickness and modulus, all else differs from disc to disc, and the plates are as \
             far apart as drawn. To tighten first: {}.",
            parts.good_percent,
            parts.good_percent_sheet_measured,
            parts.judged_by,
            parts.as_bought.tighten_first
        )
    })
}

fn page(answer: &AssemblyAnswer, section: &Picture, units: Units) -> Result<String, ReportError> {
    let evaluation = &answer.evaluation;
    let shown = Shown { units };
    let summary = &answer.summary.evaluation.assembly;
    let words = |list: &[&str]| list.iter().map(|word| (*word).to_owned()).collect::<Vec<String>>();
    let length = Quantity::Length.unit(units);
    let members = Table {
        head: words(&[
            "member",
            "discs",
            "outside",
            "sheet",
            "travel to flat",
            "deflection at rest",
            "force at rest",
            "sees",
        ]),
        rows: summary
            .members
            .iter()
            .map(|member| {
                vec![
                    member.side.map_or_else(
                        || member.folder.clone(),
                        |side| format!("{} (side {})", member.folder, side.letter()),
                    ),
                    match member.stacked {
                        Some(Stacking::Parallel) => format!("{}, nested", member.count),
                        Some(Stacking::Series) => format!("{}, back to back", member.count),
                        None => "1".to_owned(),
                    },
                    shown.sized(member.outer_diameter_mm),
                    shown.sized(member.thickness_mm),
                    shown.sized(member.free_height_mm),
                    shown.sized(member.installed_mm),
                    shown.force(member.preload_n),
                    format!(
                        "{} to {}",
                        shown.size(member.deflection_mm[0]),
                        shown.sized(member.deflection_mm[1])
                    ),
                ]
            })
            .collect(),
    };
    let listed = Table {
        head: vec![
            "part".to_owned(),
            "count".to_owned(),
            format!("outside, {length}"),
            format!("bore, {length}"),
            format!("thickness, {length}"),
            "note".to_owned(),
        ],
        rows: parts(evaluation)
            .into_iter()
            .map(|part| {
                vec![
                    part.part,
                    part.count.to_string(),
                    shown.size(part.outer_diameter_mm),
                    shown.size(part.bore_mm),
                    shown.size(part.thickness_mm),
                    part.note,
                ]
            })
            .collect(),
    };
    let tried = Table {
        head: words(&["assembly", "rms error", "height at rest", "failed"]),
        rows: answer
            .summary
            .tried
            .iter()
            .map(|tried| {
                vec![
                    tried.assembly.clone(),
                    tried.rms_percent.map_or_else(|| tried.reason.clone(), |rms| format!("{rms:.2} %")),
                    tried.height_mm.map_or_else(String::new, |height| shown.sized(height)),
                    if tried.failed.is_empty() { "none".to_owned() } else { tried.failed.join(", ") },
                ]
            })
            .collect(),
    };
    let asked = evaluation.verdicts.0.iter();
    let asked = asked.filter(|named| named.verdict.state != VerdictState::NotAsked);
    let facts = AssembledFacts {
        title: format!(
            "{} of {} discs",
            sentence(evaluation.file.kind.name()).trim_end_matches('.'),
            summary.discs
        ),
        subtitle: format!(
            "{} between the plates at rest, {} closed",
            shown.sized(summary.height_mm),
            shown.sized(summary.closed_height_mm)
        ),
        passed: evaluation.passed(),
        outcome: sentence(&evaluation.verdicts.outcome()),
        choice: sentence(&answer.summary.choice),
        curve: ChartPicture::of(&assembled_chart(evaluation)?, units, CURVE)?.picture.svg(),
        sections: section.svg(),
        tiles: asked.map(|named| tile(named, shown)).collect(),
        cautions: cautions(evaluation),
        members,
        folders: answer.discs.iter().map(|(folder, _)| folder.clone()).collect(),
        parts: listed,
        steps: steps(evaluation),
        tried,
        good: good(evaluation),
        scatter: match evaluation.good_parts() {
            Some(parts) => {
                share_bars("What makes the force scatter", &bars(&parts.as_bought, shown), BARS_WIDTH)?.svg()
            }
            None => String::new(),
        },
        notes: answer.summary.evaluation.warnings.iter().map(|note| sentence(note)).collect(),
        file: evaluation.file.to_toml(),
    };
    Ok(page::set_assembly(&facts, units)?)
}
