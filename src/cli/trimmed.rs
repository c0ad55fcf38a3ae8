//! `flatspire correct` of an assembly: the shim that trims its measured curve before any disc is cut again.

use std::path::Path;

use serde::Serialize;

use super::arguments::{CorrectOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, files, folder, terminal, verdict_table};
use crate::evaluation::{Extent, varied};
use crate::export::NamedFile;
use crate::plot::{Quantity, Units, curve_png, curve_svg};
use crate::variation::{Readings, Trimmed, trim, trim_plot};

#[derive(Serialize)]
struct Said<'a> {
    trim: &'a Trimmed,
    warnings: &'a [String],
}

/// Explains the measured curve of an assembly and finds the shims that trim it.
pub fn run(path: &Path, options: &CorrectOptions, general: &General) -> Result<Verdict, Failure> {
    let name = files::name(path);
    let of_one = |found: &'static str| Failure::OfOneDisc { file: name.clone(), found };
    let of_parts = [
        (!options.thickness.is_empty(), "--thickness"),
        (options.heights.is_some(), "--heights"),
        (options.bench_sheet.is_some(), "--bench-sheet"),
        (options.measured.len() != 1, "other than one measured curve"),
    ];
    if let Some((_, found)) = of_parts.into_iter().find(|(given, _)| *given) {
        return Err(of_one(found));
    }
    let measured_path = &options.measured[0];
    let evaluation = assembled::read(path, Extent::WithoutParts)?;
    let Some(target) = &evaluation.target else { return Err(Failure::NoCurveAsked { file: name }) };
    let (readings, warnings) =
        readings(options, target.deflection.first().is_some_and(|x| *x < 0.0), of_one)?;
    if let Some(out) = &options.out {
        folder::probe(out)?;
    }
    let members = varied(&evaluation.members);
    let found = trim(&members, &evaluation.arrangement, target, evaluation.tolerance_percent(), &readings)
        .map_err(|source| Failure::Variation { file: files::name(measured_path), source })?;
    let units: Units = general.units.into();
    if let Some(out) = &options.out {
        let plot = trim_plot(&found);
        let pictures = vec![
            NamedFile::new("measured.svg", curve_svg(&plot, units)?),
            NamedFile::new("measured.png", curve_png(&plot, units)?),
        ];
        let contents = Contents::part_of(path, options.force)?;
        folder::hold(out)?.write_all(&pictures, &contents)?;
    }
    for warning in &warnings {
        terminal::warn(warning);
    }
    if general.json {
        terminal::print_json(&Said { trim: &found, warnings: &warnings })?;
    } else {
        terminal::print(&estimates_table(&found, units))?;
        let files =
            options.out.as_ref().map_or_else(String::new, |out| format!("; files in {}", out.display()));
        terminal::print(&verdict_table::row("result", &format!("{}{files}", outcome(&found))))?;
    }
    Ok(Verdict::of(found.met))
}

/// Readings of a measured assembly, to one side or to both.
fn readings(
    options: &CorrectOptions,
    both: bool,
    of_one: impl Fn(&'static str) -> Failure,
) -> Result<(Readings, Vec<String>), Failure> {
    let (path, choice) = (&options.measured[0], options.reading.choice());
    if both {
        let curve = files::read_curve_both_sides(path, &choice)?;
        let (deflection, force) = (curve.deflection, curve.force);
        return Ok((Readings { deflection, force, hysteresis: None, friction_left: true }, curve.notes));
    }
    let parts = files::read_bench(path, &choice)?;
    let [(_, curves)] = &parts[..] else { return Err(of_one("a bench sheet of several parts")) };
    let [measured] = &curves[..] else { return Err(of_one("other than one measured curve")) };
    let branch = options.reading.branch.map_or_else(Default::default, Into::into);
    Ok((Readings::of_branch(measured, branch), measured.notes.clone()))
}

fn estimates_table(found: &Trimmed, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let force = |value| crate::numeric::with_unit(value, Quantity::Force, units);
    let signed = |value: f64| format!("{}{}", if value < 0.0 { "" } else { "+" }, length(value));
    let mut text =
        format!("{:<20}{:>16}{:>16}{:>16}{:>16}\n", "", "height", "expected ±", "stiffness", "expected ±");
    for estimate in &found.estimates {
        text.push_str(&format!(
            "{:<20}{:>16}{:>16}{:>16}{:>16}\n",
            estimate.member,
            signed(estimate.height_mm),
            length(estimate.height_expected_mm),
            format!("{:+.1} %", estimate.stiffness_percent),
            format!("{:.1} %", estimate.stiffness_expected_percent),
        ));
    }
    for apart in &found.plates_apart_mm {
        text.push_str(&format!("{:<22}{:>14}\n", "plates, further apart", signed(*apart)));
    }
    text.push('\n');
    let mut line = |name: &str, value: String| text.push_str(&verdict_table::row(name, &value));
    if let Some(hysteresis) = &found.hysteresis {
        line(
            "hysteresis",
            format!(
                "{} between loading and unloading, {:.1} % of the largest force; the middle is used",
                force(hysteresis.mean_n),
                hysteresis.mean_percent
            ),
        );
    }
    line("curve error, rms", format!("{:.2} % as measured", found.rms_measured_percent));
    line(
        "explained",
        if found.explained {
            format!("yes, but for {:.2} % rms", found.misfit_percent)
        } else {
            format!("NO: {}", found.reason)
        },
    );
    for shim in &found.shims {
        line("shim", format!("{} {}", length(shim.thickness_mm.abs()), shim.place));
    }
    if found.explained && found.shims.is_empty() {
        line("shim", "none betters the curve".to_owned());
    }
    if found.explained {
        line(
            "curve expected",
            format!("{:.2} % rms; {} % asked", found.rms_trimmed_percent, found.tolerance_percent),
        );
        line("plates at rest", format!("{} apart", length(found.height_mm)));
    }
    if !found.met {
        line(
            "next",
            format!("measure {} alone, and correct it by the spring.toml in its folder", found.suspect),
        );
    }
    text.push_str(
        "caution: a preloaded assembly pushes its plates apart; long screws hold them before columns or shims are changed\n",
    );
    text
}

fn outcome(found: &Trimmed) -> &'static str {
    match (found.explained, found.met, found.shims.is_empty()) {
        (false, ..) => "not explained, no shim is proposed",
        (_, true, true) => "passed as it is, no shim is needed",
        (_, true, false) => "passed with the shims, nothing is cut again",
        (_, false, _) => "failed: no shim brings the curve within its tolerance",
    }
}
