//! Reading: bytes, text, and springs with what they name.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::failure::Failure;
use super::kind::Kind;
use super::terminal;
use crate::curve::{
    self, BenchPart, MeasuredCurve, ReadChoice, TargetCurve, is_bench_sheet, read_bench_sheet,
};
use crate::layout::{Spring, read_stations};
use crate::pipeline::SheetsToTry;
use crate::spec::{AssemblyFile, Brief, SpringFile};

/// Largest drawing and largest file of any other kind (bytes). A drawing of a spring takes some hundred kilobytes, a
/// curve of a testing machine some megabytes at most.
const LARGEST_DRAWING: u64 = 20_000_000;
const LARGEST: u64 = 10_000_000;

/// Longest wait for a writer of a pipe.
const PIPE_PATIENCE: Duration = Duration::from_secs(10);

/// The bytes of a file, of standard input where the path is `-`.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let drawing = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("dxf"));
    let (limit, remedy) = if drawing {
        (LARGEST_DRAWING, "leave out all but the outline of the part")
    } else {
        (LARGEST, "give fewer rows, some hundred describe a curve")
    };
    let too_large = || Failure::TooLarge { path: path.to_owned(), limit, remedy };
    let failed = |source| Failure::Read { path: path.to_owned(), source };
    if path == Path::new("-") {
        return read_at_most(std::io::stdin().lock(), limit).map_err(failed)?.ok_or_else(too_large);
    }
    let found = fs::metadata(path).map_err(failed)?;
    if found.is_dir() {
        return Err(failed(ErrorKind::IsADirectory.into()));
    }
    if found.is_file() && found.len() > limit {
        return Err(too_large());
    }
    // a device or a pipe tells no size
    let file = if found.is_file() { File::open(path) } else { opened_in_time(path) };
    read_at_most(file.map_err(failed)?, limit).map_err(failed)?.ok_or_else(too_large)
}

/// Opens a device or a pipe. A pipe that nobody writes to would be waited for without end.
fn opened_in_time(path: &Path) -> io::Result<File> {
    let (sender, opened) = std::sync::mpsc::channel();
    let owned = path.to_owned();
    std::thread::spawn(move || sender.send(File::open(owned)));
    opened
        .recv_timeout(PIPE_PATIENCE)
        .unwrap_or_else(|_| Err(io::Error::new(ErrorKind::TimedOut, "nobody writes to this pipe")))
}

/// All bytes of a stream; `None` where there are more than `limit`.
fn read_at_most(stream: impl Read, limit: u64) -> io::Result<Option<Vec<u8>>> {
    let mut bytes = Vec::new();
    stream.take(limit + 1).read_to_end(&mut bytes)?;
    Ok((bytes.len() as u64 <= limit).then_some(bytes))
}

/// The spring file that a path names: in a package folder the one it holds.
pub fn spring_path(path: &Path) -> PathBuf {
    let inside = path.join("spring.toml");
    if inside.is_file() { inside } else { path.to_owned() }
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

/// A wanted curve, to one side or through zero to both.
pub fn read_curve_both_sides(path: &Path, choice: &ReadChoice) -> Result<TargetCurve, Failure> {
    read_kind(path, Kind::Curve, |bytes| Ok(curve::read_both_sides(&bytes, choice, &name(path))?))
}

/// Measured parts: those of a bench sheet, with the curve files that it names, or the one of a measured curve.
pub fn read_bench(path: &Path, choice: &ReadChoice) -> Result<Vec<(BenchPart, Vec<MeasuredCurve>)>, Failure> {
    let curve = |path: &Path| {
        read_kind(path, Kind::Curve, |bytes| Ok(curve::read_measured_with(&bytes, choice, &name(path))?))
    };
    read_kind(path, Kind::Curve, |bytes| {
        if !is_bench_sheet(&bytes) {
            let measured = curve::read_measured_with(&bytes, choice, &name(path))?;
            let stem =
                path.file_stem().map_or_else(|| name(path), |stem| stem.to_string_lossy().into_owned());
            return Ok(vec![(BenchPart { name: stem, ..BenchPart::default() }, vec![measured])]);
        }
        let beside = path.parent().unwrap_or_else(|| Path::new(""));
        let parts = read_bench_sheet(&bytes, &name(path))?;
        parts
            .into_iter()
            .map(|part| {
                let files = part.curve_files.iter().map(|file| curve(&beside.join(file)));
                let curves = part.measured.iter().cloned().map(Ok).chain(files).collect::<Result<_, _>>()?;
                Ok((part, curves))
            })
            .collect()
    })
}

/// The deflections (mm) of a curve file, increasing; what was assumed while reading is said on standard error.
pub fn read_deflections(path: &Path) -> Result<Vec<f64>, Failure> {
    let list = read_kind(path, Kind::Curve, |bytes| Ok(curve::read_deflections(&bytes, &name(path))?))?;
    for note in &list.notes {
        terminal::note(&format!("{}: {note}", name(path)));
    }
    Ok(list.deflection)
}

/// The name of a file as messages give it.
pub fn name(path: &Path) -> String {
    path.display().to_string()
}

/// The name of a file that was written as messages give it.
pub fn output_name(path: &Path) -> String {
    if path == Path::new("-") { "standard output".to_owned() } else { name(path) }
}

/// A spring file with everything it names.
pub fn read_spring(path: &Path) -> Result<(SpringFile, Spring), Failure> {
    let path = &spring_path(path);
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
    let path = &spring_path(path);
    let Some(target) = &file.target else { return Ok(None) };
    if let Some(curve) = target.curve(&format!("{}: [target]", name(path)))? {
        return Ok(Some(curve));
    }
    let Some(named) = &target.file else { return Ok(None) };
    let beside = path.parent().unwrap_or_else(|| Path::new("")).join(named);
    Ok(Some(curve::read(&read(&beside)?, &name(&beside))?))
}

/// The target an assembly file carries: its points, or the curve file it names.
pub fn read_assembly_target(path: &Path, file: &AssemblyFile) -> Result<Option<TargetCurve>, Failure> {
    let Some(target) = &file.target else { return Ok(None) };
    if let Some(curve) = target.curve_both_sides(&format!("{}: [target]", name(path)))? {
        return Ok(Some(curve));
    }
    let Some(named) = &target.file else { return Ok(None) };
    let beside = path.parent().unwrap_or_else(|| Path::new("")).join(named);
    Ok(Some(curve::read_both_sides(&read(&beside)?, &ReadChoice::default(), &name(&beside))?))
}
