//! `flatspire outline`: the drawings alone.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Serialize;

use super::arguments::{General, OutlineOptions};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, files, folder, terminal};
use crate::evaluation::{Drawing, DrawingSummary};
use crate::export::{DrawingNotes, dxf, dxf_sheet, dxf_tool_path, svg, svg_sheet};
use crate::outline::{Outline, SheetLayout, ToolPath};
use crate::package::NamedFile;
use crate::plot::{Quantity, Units};
use crate::spec::AssemblyFile;

#[derive(Serialize)]
struct Drawn<'a> {
    files: Vec<&'a str>,
    drawing: DrawingSummary,
    discs_on_sheet: Option<usize>,
    warnings: Vec<String>,
}

/// A spring drawn, its files with it.
struct DrawnSpring {
    drawing: Drawing,
    files: Vec<NamedFile>,
    sheet: Option<SheetLayout>,
}

/// Draws a spring, or each disc of an assembly.
pub fn run(options: &OutlineOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.spring) {
        return of_assembly(&path, options, general);
    }
    let drawn = drawn(&options.spring, options)?;
    let contents = Contents::part_of(&options.spring, options.force)?;
    folder::hold(&options.out)?.write_all(&drawn.files, &contents)?;
    for warning in &drawn.drawing.warnings() {
        terminal::warn(warning);
    }
    if general.json {
        terminal::print_json(&drawn.said())?;
    } else {
        terminal::print(&table(&drawn.drawing, drawn.sheet.as_ref(), general.units.into()))?;
        terminal::print(&written(&drawn.files, options))?;
    }
    Ok(Verdict::of(drawn.drawing.passed()))
}

/// Draws the discs of an assembly, each into its folder.
fn of_assembly(path: &Path, options: &OutlineOptions, general: &General) -> Result<Verdict, Failure> {
    let file = AssemblyFile::parse(&files::read_text(path)?, &files::name(path))?;
    let above = path.parent().unwrap_or_else(|| Path::new(""));
    let mut discs: BTreeMap<&str, DrawnSpring> = BTreeMap::new();
    for member in &file.member {
        if !discs.contains_key(member.folder.as_str()) {
            let inside = above.join(&member.folder).join("spring.toml");
            discs.insert(&member.folder, drawn(&inside, options)?);
        }
    }
    let all: Vec<NamedFile> = discs
        .iter()
        .flat_map(|(folder, disc)| {
            disc.files.iter().map(move |file| NamedFile {
                name: format!("{folder}/{}", file.name),
                bytes: file.bytes.clone(),
            })
        })
        .collect();
    let contents = Contents::part_of(path, options.force)?;
    folder::hold(&options.out)?.write_all(&all, &contents)?;
    for (folder, disc) in &discs {
        for warning in &disc.drawing.warnings() {
            terminal::warn(&format!("{folder}: {warning}"));
        }
    }
    if general.json {
        let said: BTreeMap<&str, Drawn> = discs.iter().map(|(folder, disc)| (*folder, disc.said())).collect();
        terminal::print_json(&serde_json::json!({ "discs": said }))?;
    } else {
        for (folder, disc) in &discs {
            let own = table(&disc.drawing, disc.sheet.as_ref(), general.units.into());
            terminal::print(&format!("{folder}\n{own}\n"))?;
        }
        terminal::print(&written(&all, options))?;
    }
    Ok(Verdict::of(discs.values().all(|disc| disc.drawing.passed())))
}

impl DrawnSpring {
    fn said(&self) -> Drawn<'_> {
        Drawn {
            files: self.files.iter().map(|file| file.name.as_str()).collect(),
            drawing: DrawingSummary::of(&self.drawing),
            discs_on_sheet: self.sheet.as_ref().map(SheetLayout::discs),
            warnings: self.drawing.warnings(),
        }
    }
}

fn written(drawings: &[NamedFile], options: &OutlineOptions) -> String {
    let names: Vec<&str> = drawings.iter().map(|drawing| drawing.name.as_str()).collect();
    format!("{} written to {}\n", names.join(", "), options.out.display())
}

/// A spring and its drawings.
fn drawn(spring: &Path, options: &OutlineOptions) -> Result<DrawnSpring, Failure> {
    let (file, given) = files::read_spring(spring)?;
    let drawing = Drawing::of(&given, &file.process.clone().unwrap_or_default())
        .map_err(|source| Failure::Drawing { file: files::name(spring), source })?;
    let (outline, rules) = (&drawing.outline, &drawing.rules);
    let notes = if options.without_notes { DrawingNotes::none() } else { drawing.notes.clone() };
    let named = |name: String, bytes: Vec<u8>| NamedFile { name, bytes };
    let mut drawings = vec![
        named("outline_mm.dxf".to_owned(), dxf(outline, &notes)?),
        named("outline.svg".to_owned(), svg(outline)),
    ];
    let sheet = sheet_layout(options, outline)?;
    if let Some(sheet) = &sheet {
        drawings.push(named("sheet_mm.dxf".to_owned(), dxf_sheet(sheet, &notes)?));
        drawings.push(named("sheet.svg".to_owned(), svg_sheet(sheet)));
    }
    if options.tool_path {
        let path = ToolPath::of(outline, rules)?;
        // nobody shall take it for the part
        let name = format!("KERF_{:.2}_COMPENSATED_path_mm.dxf", path.kerf);
        drawings.push(named(name, dxf_tool_path(&path, &DrawingNotes::none())?));
    }
    Ok(DrawnSpring { files: drawings, sheet, drawing })
}

/// Several on one sheet, where that was asked for.
fn sheet_layout(options: &OutlineOptions, outline: &Outline) -> Result<Option<SheetLayout>, Failure> {
    let [columns, rows] = match (&options.sheet, options.columns, options.rows) {
        (None, None, None) => return Ok(None),
        (None, columns, rows) => [columns.unwrap_or(1), rows.unwrap_or(1)],
        (Some(size), _, _) => {
            let wrong = |expected| Failure::Option { option: "--sheet", found: size.clone(), expected };
            let sides: Vec<f64> = size
                .split(['x', 'X', '×'])
                .filter_map(|side| side.trim().parse().ok())
                .filter(|side: &f64| side.is_finite() && *side > 0.0)
                .collect();
            let [width, height] = sides[..] else {
                return Err(wrong("width and height in mm, as in 500x300"));
            };
            let fitting = SheetLayout::fitting(outline, width, height, options.spacing);
            if fitting.contains(&0) {
                return Err(wrong("a sheet on which at least one disc fits, spacing round it included"));
            }
            fitting
        }
    };
    Ok(Some(SheetLayout::grid(outline, columns, rows, options.spacing)?))
}

/// A short table a person can read.
fn table(drawing: &Drawing, sheet: Option<&SheetLayout>, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let cut = &drawing.cut;
    let mut text = String::new();
    let mut line = |name: &str, value: String| text.push_str(&format!("{name:<22}{value}\n"));
    line("process", drawing.rules.process.clone());
    line(
        "cut",
        format!(
            "{} in {} pierces{}",
            length(cut.cut_length_mm),
            cut.pierces,
            cut.machine_seconds.map_or(String::new(), |[from, to]| format!(
                ", {:.1} to {:.1} minutes of machine time",
                from / 60.0,
                to / 60.0
            ))
        ),
    );
    line(
        "sheet",
        format!(
            "a square of {} each, {:.0} % of it becomes part",
            length(cut.square_mm),
            100.0 * cut.sheet_use
        ),
    );
    if let Some(sheet) = sheet {
        line("on one sheet", format!("{} discs, {} by {}", sheet.discs(), sheet.columns, sheet.rows));
    }
    if let Some(read) = drawing.read_back {
        line("narrowest arm", length(read.least_arm_mm));
        line("measured again", format!("force within {:.3} % of the design's", read.force_percent));
    }
    for finding in &drawing.findings {
        line("look at", finding.to_string());
    }
    text.push_str("caution: cut edges are sharp until they are deburred\n");
    text
}
