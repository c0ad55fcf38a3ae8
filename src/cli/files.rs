//! Reading: bytes, text, and springs with what they name.

use std::fs;
use std::io::Read as _;
use std::path::Path;

use super::failure::Failure;
use super::kind::Kind;
use crate::curve::{self, MeasuredCurve, ReadChoice, TargetCurve};
use crate::layout::{Spring, read_stations};
use crate::pipeline::SheetsToTry;
use crate::spec::{Brief, SpringFile};

/// Most bytes of an input: 100 000 rows of 600 letters.
const MOST_BYTES: u64 = 64 << 20;

/// The bytes of a file, no more read than an input may have.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let failed = |source| Failure::Read { path: path.to_owned(), source };
    let mut bytes = Vec::new();
    fs::File::open(path).map_err(failed)?.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(Failure::TooLong { path: path.to_owned(), most: MOST_BYTES >> 20 });
    }
    Ok(bytes)
}

/// The text of a file.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    text(path, read(path)?)
}

fn text(path: &Path, bytes: Vec<u8>) -> Result<String, Failure> {
    String::from_utf8(bytes).map_err(|error| Failure::NotText {
        path: path.to_owned(),
        position: error.utf8_error().valid_up_to(),
    })
}

/// A file of one kind; where it is of another, that is what is said.
fn read_kind<T>(
    path: &Path,
    wanted: Kind,
    parse: impl FnOnce(Vec<u8>) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let bytes = read(path)?;
    parse(bytes.clone()).map_err(|failure| Kind::mistaken(path, &bytes, wanted).unwrap_or(failure))
}

/// A wanted curve.
pub fn read_curve(path: &Path, choice: &ReadChoice) -> Result<TargetCurve, Failure> {
    read_kind(path, Kind::Curve, |bytes| Ok(curve::read_with(&bytes, choice, &name(path))?))
}

/// A measured curve.
pub fn read_measured(path: &Path, choice: &ReadChoice) -> Result<MeasuredCurve, Failure> {
    read_kind(path, Kind::Curve, |bytes| Ok(curve::read_measured_with(&bytes, choice, &name(path))?))
}

/// The deflections of a curve file.
pub fn read_deflections(path: &Path) -> Result<Vec<f64>, Failure> {
    read_kind(path, Kind::Curve, |bytes| Ok(curve::read_deflections(&bytes, &name(path))?))
}

/// The name of a file as messages give it.
pub fn name(path: &Path) -> String {
    path.display().to_string()
}

/// A spring file with everything it names.
pub fn read_spring(path: &Path) -> Result<(SpringFile, Spring), Failure> {
    let file =
        read_kind(path, Kind::Spring, |bytes| Ok(SpringFile::parse(&text(path, bytes)?, &name(path))?))?;
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
    let brief = read_kind(path, Kind::Brief, |bytes| Ok(Brief::parse(&text(path, bytes)?, &name(path))?))?;
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
