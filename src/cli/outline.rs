//! `flatspire outline`: the drawings alone.

use super::arguments::{General, OutlineOptions};
use super::failure::Failure;
use super::{Verdict, files, terminal};
use crate::export::{DrawingNotes, dxf, svg};
use crate::outline::{CutRules, Outline};
use crate::package::NamedFile;

/// Draws a spring.
pub fn run(options: &OutlineOptions, _general: &General) -> Result<Verdict, Failure> {
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
    terminal::note(&format!("{} drawings written to {}", drawings.len(), options.out.display()));
    Ok(Verdict::Passed)
}
