//! `flatspire correct --bench-sheet`: a table to fill in at the bench.

use std::path::Path;

use super::arguments::{CorrectOptions, General};
use super::failure::Failure;
use super::{Verdict, files, folder, terminal};
use crate::package::bench_sheet;

/// JSON output.
#[derive(serde::Serialize)]
struct Written<'a> {
    /// the sheet's text
    bench_sheet: &'a str,
}

/// Writes the sheet. One that was filled in is not overwritten unasked.
pub fn run(options: &CorrectOptions, path: &Path, general: &General) -> Result<Verdict, Failure> {
    let (file, spring) = files::read_spring(&options.spring)?;
    let name = files::name(&options.spring);
    let target = files::read_target(&options.spring, &file)?;
    let installed = file.duty.as_ref().and_then(|duty| duty.installed).unwrap_or(0.0);
    let last = target.map(|target| target.max_deflection() + installed);
    let text = bench_sheet(&spring, &name, last, usize::from(options.parts))
        .map_err(|source| Failure::Spring { file: name, source })?;
    let standard = path == Path::new("-");
    if !(general.json && standard) {
        folder::write(path, text.as_bytes(), |found| found == text.as_bytes(), options.force)?;
    }
    if general.json {
        terminal::print_json(&Written { bench_sheet: &text })?;
    }
    if !standard {
        terminal::note(&format!("bench sheet for {} parts written to {}", options.parts, path.display()));
    }
    Ok(Verdict::of(true))
}
