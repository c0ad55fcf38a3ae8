//! `flatspire outline`: the drawings alone.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Serialize;

use super::arguments::{General, OutlineOptions};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, files, folder, terminal};
use crate::evaluation::{Drawing, DrawingSummary, SharedDisc, SharedSheet};
use crate::export::{
    DrawingNotes, dxf_marked, dxf_nest, dxf_sheet, dxf_tool_path, svg_marked, svg_nest, svg_sheet,
};
use crate::layout::SheetProperties;
use crate::outline::{Outline, SheetLayout, SheetLayoutError, ToolPath};
use crate::package::{NamedFile, shared_sheet_files};
use crate::plot::{Quantity, Units};
use crate::spec::{AssemblyFile, Shop, SpringFile};

#[derive(Serialize)]
struct Drawn<'a> {
    files: Vec<&'a str>,
    drawing: DrawingSummary,
    discs_on_sheet: Option<usize>,
    warnings: Vec<String>,
}

/// A spring drawn, its files with it.
struct DrawnSpring {
    sheet: SheetProperties,
    drawing: Drawing,
    files: Vec<NamedFile>,
    grid: Option<SheetLayout>,
    discs_on_sheet: Option<usize>,
    shop: Shop,
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
        terminal::print_json(&drawn.output())?;
    } else {
        terminal::print(&table(&drawn.drawing, drawn.grid.as_ref(), &drawn.shop, general.units.into()))?;
        terminal::print(&written(&drawn.files, options))?;
    }
    Ok(Verdict::of(drawn.drawing.passed()))
}

/// Draws the discs of an assembly, each into its folder.
fn of_assembly(path: &Path, options: &OutlineOptions, general: &General) -> Result<Verdict, Failure> {
    let file = AssemblyFile::parse(&files::read_text(path)?, &files::name(path))?;
    let above = path.parent().unwrap_or_else(|| Path::new(""));
    let mut discs: BTreeMap<&str, DrawnSpring> = BTreeMap::new();
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for member in &file.member {
        *counts.entry(&member.folder).or_default() += member.count;
        if !discs.contains_key(member.folder.as_str()) {
            let inside = above.join(&member.folder).join("spring.toml");
            discs.insert(&member.folder, drawn(&inside, options)?);
        }
    }
    let mut all: Vec<NamedFile> = discs
        .iter()
        .flat_map(|(folder, disc)| {
            disc.files.iter().map(move |file| NamedFile {
                name: format!("{folder}/{}", file.name),
                bytes: file.bytes.clone(),
            })
        })
        .collect();
    let kinds: Vec<SharedDisc> = discs
        .iter()
        .map(|(folder, disc)| SharedDisc {
            folder,
            count: counts[folder],
            sheet: &disc.sheet,
            drawing: &disc.drawing,
        })
        .collect();
    let shop = discs.values().next().map(|disc| disc.shop.clone()).unwrap_or_default();
    let shared = if options.columns.is_some() || options.rows.is_some() {
        None
    } else {
        SharedSheet::among(&kinds, &shop)
    };
    match &shared {
        Some(Ok(sheet)) => all.extend(shared_sheet_files(sheet)?),
        Some(Err(error)) => terminal::warn(&error.to_string()),
        None => {}
    }
    let sheet = shared.and_then(Result::ok);
    let contents = Contents::part_of(path, options.force)?;
    folder::hold(&options.out)?.write_all(&all, &contents)?;
    for (folder, disc) in &discs {
        for warning in &disc.drawing.warnings() {
            terminal::warn(&format!("{folder}: {warning}"));
        }
    }
    if general.json {
        let said: BTreeMap<&str, Drawn> =
            discs.iter().map(|(folder, disc)| (*folder, disc.output())).collect();
        let sheet = sheet.as_ref().map(SharedSheet::summary);
        terminal::print_json(&serde_json::json!({ "discs": said, "shared_sheet": sheet }))?;
    } else {
        for (folder, disc) in &discs {
            let own = table(&disc.drawing, disc.grid.as_ref(), &disc.shop, general.units.into());
            terminal::print(&format!("{folder}\n{own}\n"))?;
        }
        for line in sheet.iter().flat_map(SharedSheet::words) {
            terminal::print(&format!("{line}\n"))?;
        }
        terminal::print(&written(&all, options))?;
    }
    Ok(Verdict::of(discs.values().all(|disc| disc.drawing.passed())))
}

impl DrawnSpring {
    fn output(&self) -> Drawn<'_> {
        Drawn {
            files: self.files.iter().map(|file| file.name.as_str()).collect(),
            drawing: DrawingSummary::of(&self.drawing),
            discs_on_sheet: self.discs_on_sheet,
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
    let shop = shop(options, &file)?;
    let drawing = Drawing::of(&given, &file.process.clone().unwrap_or_default(), &shop)
        .map_err(|source| Failure::Drawing { file: files::name(spring), source })?;
    let (outline, rules) = (&drawing.outline, &drawing.rules);
    let notes = if options.without_notes { DrawingNotes::none() } else { drawing.notes.clone() };
    let named = |name: String, bytes: Vec<u8>| NamedFile { name, bytes };
    let mut drawings = vec![
        named("outline_mm.dxf".to_owned(), dxf_marked(outline, &drawing.marks, &notes)?),
        named("outline.svg".to_owned(), svg_marked(outline, &drawing.marks)),
    ];
    let grid = grid(options, outline)?;
    let nest = match (&options.sheet, &drawing.nest) {
        (Some(size), Some(Err(_))) => {
            return Err(wrong_sheet(size, "a sheet on which at least one disc fits, its margins included"));
        }
        _ if grid.is_some() => None,
        (_, Some(Ok(nest))) => Some(nest),
        _ => None,
    };
    if let Some(sheet) = &grid {
        drawings.push(named("sheet_mm.dxf".to_owned(), dxf_sheet(sheet, &notes)?));
        drawings.push(named("sheet.svg".to_owned(), svg_sheet(sheet)));
    }
    if let Some(nest) = nest {
        let marks = &drawing.marks;
        let notes = if options.without_notes {
            DrawingNotes::none()
        } else {
            notes.on_sheet(nest, drawing.cut.part_area_mm2)
        };
        drawings.push(named("sheet_mm.dxf".to_owned(), dxf_nest(nest, outline, marks, &notes)?));
        drawings.push(named("sheet.svg".to_owned(), svg_nest(nest, outline, marks)));
    }
    if options.tool_path {
        let path = ToolPath::of(outline, rules)?;
        // it must not be mistaken for the drawing of the part
        let name = format!("KERF_{:.2}_COMPENSATED_path_mm.dxf", path.kerf);
        drawings.push(named(name, dxf_tool_path(&path, &DrawingNotes::none())?));
    }
    let discs_on_sheet = grid.as_ref().map(SheetLayout::discs).or(nest.map(|nest| nest.centres.len()));
    Ok(DrawnSpring { sheet: given.sheet.clone(), files: drawings, grid, discs_on_sheet, shop, drawing })
}

/// Metal between neighbours of a grid where none is given (mm).
const GRID_SPACING: f64 = 5.0;

/// Shop section of the file, with sheet and spacing of the options.
fn shop(options: &OutlineOptions, file: &SpringFile) -> Result<Shop, Failure> {
    let mut shop = file.shop.clone().unwrap_or_default();
    if let Some(size) = &options.sheet {
        let sides: Vec<f64> = size
            .split(['x', 'X', '×'])
            .filter_map(|side| side.trim().parse().ok())
            .filter(|side: &f64| side.is_finite() && *side > 0.0)
            .collect();
        let [along, across] = sides[..] else {
            return Err(wrong_sheet(size, "width and height in mm, as in 500x300"));
        };
        shop.sheet = Some([along, across]);
    }
    if let Some(spacing) = options.spacing {
        if !(spacing.is_finite() && spacing > 0.0) {
            return Err(SheetLayoutError::Spacing { spacing_mm: spacing }.into());
        }
        shop.spacing = Some(spacing);
    }
    Ok(shop)
}

fn wrong_sheet(size: &str, expected: &'static str) -> Failure {
    Failure::Option { option: "--sheet", found: size.to_owned(), expected }
}

/// A grid of discs, where one was asked for.
fn grid(options: &OutlineOptions, outline: &Outline) -> Result<Option<SheetLayout>, Failure> {
    if options.columns.is_none() && options.rows.is_none() {
        return Ok(None);
    }
    let (columns, rows) = (options.columns.unwrap_or(1), options.rows.unwrap_or(1));
    Ok(Some(SheetLayout::grid(outline, columns, rows, options.spacing.unwrap_or(GRID_SPACING))?))
}

/// Table for the terminal.
fn table(drawing: &Drawing, grid: Option<&SheetLayout>, shop: &Shop, units: Units) -> String {
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
    if let Some(grid) = grid {
        line("on one sheet", format!("{} discs, {} by {}", grid.discs(), grid.columns, grid.rows));
    } else if let Some(nest) = drawing.placed() {
        line(
            "on one sheet",
            format!(
                "{} discs in {} rows, {:.0} % of it becomes part",
                nest.centres.len(),
                nest.pattern.word(),
                100.0 * nest.sheet_use(cut.part_area_mm2)
            ),
        );
    }
    if let Some(price) = drawing.cost.price(shop) {
        line("price of a part", price);
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
