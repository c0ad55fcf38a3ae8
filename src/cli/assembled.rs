//! Commands that take an assembly: reading it with its members, predicting and checking it.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::arguments::{FlatOptions, General, PredictOptions};
use super::failure::Failure;
use super::{Verdict, files, folder, terminal, verdict_table};
use crate::evaluation::{
    Asked, AssembledCurve, AssembledEvaluation, AssembledMember, AssembledSummary, AssemblySummary,
    Evaluation, Extent, free_points,
};
use crate::layout::Spring;
use crate::package::assembled_csv;
use crate::plot::{Quantity, Units};
use crate::spec::AssemblyFile;

/// The assembly file of a path: the file itself, or the one in a package folder. None where it is something else.
pub fn path_of(path: &Path) -> Option<PathBuf> {
    if path.is_dir() {
        return Some(path.join("assembly.toml")).filter(|inside| inside.is_file());
    }
    let name = path.file_name()?.to_str()?;
    let toml = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"));
    let named = name.eq_ignore_ascii_case("assembly.toml");
    let holds =
        || files::read_text(path).is_ok_and(|text| text.contains("[[member]]") && text.contains("kind"));
    (named || toml && holds()).then(|| path.to_owned())
}

/// Reads an assembly with its members and evaluates it to some extent.
pub fn read(path: &Path, extent: Extent) -> Result<AssembledEvaluation, Failure> {
    let name = files::name(path);
    let file = AssemblyFile::parse(&files::read_text(path)?, &name)?;
    let above = path.parent().unwrap_or_else(|| Path::new(""));
    let mut members = Vec::new();
    for member in &file.member {
        let inside = above.join(&member.folder).join("spring.toml");
        let (spring_file, spring) = files::read_spring(&inside)?;
        let target = files::read_target(&inside, &spring_file)?;
        let asked = Asked::of(&spring_file, target.as_ref()).to_extent(Extent::WithoutParts);
        let evaluation = Evaluation::of(&spring, asked)
            .map_err(|source| Failure::Model { file: files::name(&inside), source })?;
        members.push(AssembledMember { member: member.clone(), evaluation });
    }
    let target = files::read_assembly_target(path, &file)?;
    AssembledEvaluation::of(&file, members, target, extent)
        .map_err(|source| Failure::Assembled { file: name, source })
}

#[derive(Serialize)]
struct Prediction {
    assembly: AssemblySummary,
    curve: Columns,
}

#[derive(Serialize)]
struct Columns {
    deflection_mm: Vec<f64>,
    force_n: Vec<f64>,
    rate_n_per_mm: Vec<f64>,
    seated_share: Vec<f64>,
    peak_stress_mpa: Vec<f64>,
    friction_n: Vec<[f64; 2]>,
    members_deflection_mm: Vec<Vec<f64>>,
}

/// `predict` of an assembly.
pub fn predict(path: &Path, options: &PredictOptions, general: &General) -> Result<Verdict, Failure> {
    let evaluation = read(path, Extent::WithoutParts)?;
    let arrangement = &evaluation.arrangement;
    let deflections = match &options.at {
        Some(at) => files::read_deflections(at)?,
        None => free_points(arrangement),
    };
    let (low, high) = (arrangement.travel_back(), arrangement.travel());
    if let Some(outside) = deflections.iter().find(|x| !(low..=high).contains(*x)) {
        return Err(Failure::AssemblyTravel { file: files::name(path), found: *outside, low, high });
    }
    let springs: Vec<&Spring> = evaluation.members.iter().map(|member| &member.evaluation.spring).collect();
    let curve = AssembledCurve::of(&springs, arrangement, &deflections)
        .map_err(|source| Failure::Model { file: files::name(path), source })?;
    let table = assembled_csv(&evaluation, &curve, false);
    if let Some(out) = &options.out {
        let header = table.lines().next().unwrap_or_default();
        folder::write(out, table.as_bytes(), |found| found.starts_with(header.as_bytes()), options.force)?;
        terminal::note(&format!(
            "{} deflections written to {}",
            curve.deflection.len(),
            files::output_name(out)
        ));
    }
    if general.json {
        terminal::print_json(&Prediction {
            assembly: AssemblySummary::of(&evaluation),
            curve: Columns {
                deflection_mm: curve.deflection,
                force_n: curve.force,
                rate_n_per_mm: curve.rate,
                seated_share: curve.seated_share,
                peak_stress_mpa: curve.peak_stress,
                friction_n: curve.friction,
                members_deflection_mm: curve.discs,
            },
        })?;
    } else if options.out.is_none() {
        terminal::print(&table)?;
    }
    Ok(Verdict::Passed)
}

/// `flat` of an assembly.
pub fn flat(path: &Path, options: &FlatOptions, general: &General) -> Result<Verdict, Failure> {
    let evaluation = read(path, Extent::WithoutParts)?;
    if options.out.is_some() {
        terminal::note("--out writes the report of a single spring; the package of an assembly has its own");
    }
    for warning in &evaluation.warnings {
        terminal::warn(warning);
    }
    let units = general.units.into();
    if general.json {
        terminal::print_json(&AssembledSummary::of(&evaluation, &[]))?;
    } else {
        terminal::print(&table(&evaluation, units))?;
        terminal::print(&verdict_table::result(&evaluation.verdicts, None))?;
    }
    Ok(Verdict::of(evaluation.passed()))
}

fn table(evaluation: &AssembledEvaluation, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let arrangement = &evaluation.arrangement;
    let summary = AssemblySummary::of(evaluation);
    let mut text = verdict_table::rows(&evaluation.verdicts);
    text.push('\n');
    text.push_str(&member_rows(&summary, units));
    let mut line = |name: &str, value: String| text.push_str(&verdict_table::row(name, &value));
    line("height, every disc free", length(arrangement.free_height()));
    line("height at rest", length(arrangement.height_at_rest()));
    line("height, closed", length(arrangement.closed_height()));
    line("travel from rest", length(arrangement.travel()));
    line(
        "stored energy at rest",
        crate::numeric::with_unit(summary.energy_at_rest_j, Quantity::Energy, units),
    );
    text.push('\n');
    for caution in crate::package::cautions(evaluation) {
        text.push_str(&format!("caution: {caution}\n"));
    }
    text
}

/// A line for each member.
pub fn member_rows(summary: &AssemblySummary, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    summary
        .members
        .iter()
        .map(|member| {
            let discs =
                if member.count == 1 { "one disc".to_owned() } else { format!("{} discs", member.count) };
            let side = member.side.map_or_else(String::new, |side| format!(", side {}", side.letter()));
            verdict_table::row(
                &format!("  {}{side}", member.folder),
                &format!(
                    "{discs}, outside {}, sheet {}, travel to flat {}, deflected by {} at rest ({})",
                    length(member.outer_diameter_mm),
                    length(member.thickness_mm),
                    length(member.free_height_mm),
                    length(member.installed_mm),
                    crate::numeric::with_unit(member.preload_n, Quantity::Force, units)
                ),
            )
        })
        .collect()
}
