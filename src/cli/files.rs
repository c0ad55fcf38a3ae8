//! Reading: bytes, text, and springs with what they name.

use std::fs;
use std::path::Path;

use super::failure::Failure;
use crate::curve::{self, TargetCurve};
use crate::layout::{Spring, read_stations};
use crate::package::SheetsToTry;
use crate::spec::{Brief, SpringFile};

/// The bytes of a file.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|source| Failure::Read { path: path.to_owned(), source })
}

/// The text of a file.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    String::from_utf8(read(path)?).map_err(|error| Failure::NotText {
        path: path.to_owned(),
        position: error.utf8_error().valid_up_to(),
    })
}

/// The name of a file as messages give it.
pub fn name(path: &Path) -> String {
    path.display().to_string()
}

/// A spring file with everything it names.
pub fn read_spring(path: &Path) -> Result<(SpringFile, Spring), Failure> {
    let file = SpringFile::parse(&read_text(path)?, &name(path))?;
    let stations = match &file.arm.stations {
        Some(stations) => {
            let beside = path.parent().unwrap_or_else(|| Path::new("")).join(stations);
            Some(read_stations(&read_text(&beside)?, &name(&beside))?)
        }
        None => None,
    };
    let spring =
        Spring::from_file(&file, stations).map_err(|source| Failure::Spring { file: name(path), source })?;
    Ok((file, spring))
}

/// A brief, its sheet looked up.
pub fn read_brief(path: &Path) -> Result<Brief, Failure> {
    let brief = Brief::parse(&read_text(path)?, &name(path))?;
    SheetsToTry::of(&brief).map_err(|source| Failure::Spring { file: name(path), source })?;
    Ok(brief)
}

/// The target a spring file carries: its points, or the curve file it names.
pub fn read_target(path: &Path, file: &SpringFile) -> Result<Option<TargetCurve>, Failure> {
    let Some(target) = &file.target else { return Ok(None) };
    if let (Some(deflection), Some(force)) = (&target.deflection, &target.force) {
        let source = format!("{}: [target]", name(path));
        return Ok(Some(TargetCurve::from_points(
            deflection,
            force,
            target.force_min.as_deref(),
            target.force_max.as_deref(),
            None,
            &source,
        )?));
    }
    let Some(named) = &target.file else { return Ok(None) };
    let beside = path.parent().unwrap_or_else(|| Path::new("")).join(named);
    Ok(Some(curve::read(&read(&beside)?, &name(&beside))?))
}
