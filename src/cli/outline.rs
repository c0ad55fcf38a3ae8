//! `flatspire outline`: the drawings alone.

use serde::Serialize;

use super::arguments::{General, OutlineOptions};
use super::failure::Failure;
use super::{Verdict, files, terminal};
use crate::export::{DrawingNotes, dxf, svg};
use crate::outline::{CutRules, Outline};
use crate::package::NamedFile;

#[derive(Serialize)]
struct Drawn<'a> {
    files: Vec<&'a str>,
}

/// Draws a spring.
pub fn run(options: &OutlineOptions, general: &General) -> Result<Verdict, Failure> {
    let (file, spring) = files::read_spring(&options.spring)?;
    let rules = CutRules::of(&file.process.clone().unwrap_or_default(), spring.sheet.thickness);
    let outline = Outline::of(&spring, &rules)
        .map_err(|source| Failure::Outline { file: files::name(&options.spring), source })?;
    let notes = DrawingNotes {
        lines: vec![
            "Unit: mm. Finished size, kerf not compensated".to_owned(),
            format!("Sheet {} thick, {} slots alike", spring.sheet.thickness, spring.arms),
        ],
    };
    let drawings = [
        NamedFile { name: "outline_mm.dxf".to_owned(), bytes: dxf(&outline, &notes)? },
        NamedFile { name: "outline.svg".to_owned(), bytes: svg(&outline) },
    ];
    files::write_all(&options.out, &drawings)?;
    let names: Vec<&str> = drawings.iter().map(|drawing| drawing.name.as_str()).collect();
    if general.json {
        let text = serde_json::to_string_pretty(&Drawn { files: names }).unwrap_or_default();
        terminal::print(&format!("{text}\n"));
    } else {
        terminal::print(&format!("{} written to {}\n", names.join(" and "), options.out.display()));
    }
    Ok(Verdict::Passed)
}
