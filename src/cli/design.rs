//! `flatspire design`: the main job.

use std::path::Path;
use std::time::Instant;

use super::arguments::{DesignOptions, General};
use super::failure::Failure;
use super::finished::{self, Finished, Said};
use super::folder::Contents;
use super::small_curve::small_curve;
use super::{Verdict, design_assembly, files, folder, terminal, verdict_table};
use crate::compare::nominal_target;
use crate::curve::TargetCurve;
use crate::evaluation::Drawing;
use crate::package::{self, NamedFile};
use crate::pipeline::{self, Answer, Question, Solution, Wishes};
use crate::plot::{Quantity, Units};
use crate::report;
use crate::spec::{AssemblyFile, Brief, SpringFile, Target};
use crate::synthesis::{FormerShape, Rung};
use crate::variation::FARTHEST_THICKNESS;

/// Reads curve and brief, finds a spring, writes the package.
pub fn run(options: &DesignOptions, general: &General) -> Result<Verdict, Failure> {
    let question = finished::question(options, general)?;
    if let Some(found) = question.as_deref().and_then(|question| finished::saved(&options.out, question)) {
        terminal::note(
            "an earlier run finished this search and could not write it: nothing is searched again",
        );
        return written(options, general, &found, question.as_deref());
    }
    let units = general.units.into();
    let found = match (&options.like, options.thickness) {
        (Some(like), Some(thickness)) => single(&shaped_again(options, like, thickness)?, units)?,
        _ => match searched(options)? {
            Solution::Single(answer) => single(&answer, units)?,
            Solution::Assembly(answer) => design_assembly::finished(&answer, units)?,
        },
    };
    written(options, general, &found, question.as_deref())
}

/// The package of one spring and its texts for the terminal.
fn single(answer: &Answer, units: Units) -> Result<Finished, Failure> {
    let mut package = report::files(answer, units)?;
    package.extend(package::files(answer)?);
    let said = Said {
        warnings: answer.summary.evaluation.warnings.clone(),
        table: table(answer, units),
        outcome: answer.evaluation.verdicts.outcome(),
        passed: answer.evaluation.passed(),
    };
    Ok(Finished { package, said })
}

/// Writes a package, or saves it elsewhere, and prints warnings, table and result.
fn written(
    options: &DesignOptions,
    general: &General,
    found: &Finished,
    question: Option<&str>,
) -> Result<Verdict, Failure> {
    let Finished { package, said } = found;
    let contents = Contents { succeeds: true, ..Contents::package(package, options.force) };
    let written = folder::hold(&options.out).and_then(|held| {
        let own = target_of(package);
        refuse_unless(options, |standing| Some(standing) == own.as_ref())?;
        held.write_all(package, &contents)
    });
    if let Err(failure) = written {
        return Err(found.save(&options.out, &contents, question, failure));
    }
    for warning in &said.warnings {
        terminal::warn(warning);
    }
    if general.json {
        found.print_summary()?;
    } else {
        terminal::print(&said.table)?;
        terminal::print(&format!(
            "{} files; begin with {}\n",
            package.len(),
            options.out.join("report.html").display()
        ))?;
        terminal::print(&verdict_table::outcome(&said.outcome, Some(&options.out)))?;
    }
    Ok(Verdict::of(said.passed))
}

/// Target of the spring, or of the assembly, of a package.
fn target_of(package: &[NamedFile]) -> Option<Target> {
    let file = folder::main_file(package)?;
    target_in(std::str::from_utf8(&file.bytes).ok()?, &file.name)
}

/// Target in the text of a spring file or an assembly file.
fn target_in(text: &str, name: &str) -> Option<Target> {
    match AssemblyFile::parse(text, name) {
        Ok(assembly) => assembly.target,
        Err(_) => SpringFile::parse(text, name).ok()?.target,
    }
}

/// The spring, or the assembly, that the search finds.
fn searched(options: &DesignOptions) -> Result<Solution, Failure> {
    let target = files::read_curve_both_sides(
        options.curve.as_deref().unwrap_or(Path::new("-")),
        &options.reading.choice(),
    )?;
    let brief = match &options.brief {
        Some(path) => files::read_brief(path)?,
        None => Brief::default(),
    };
    folder::probe(&options.out)?;
    refuse_unrelated(options, &target)?;
    let question = Question { target, brief };
    let bar = terminal::progress("shaping springs");
    let started = Instant::now();
    let limit = options.time_limit.filter(|limit| limit.is_finite() && *limit >= 0.0);
    let wishes = Wishes {
        preference: options.prefer.into(),
        take: options.take,
        time_is_up: &|| limit.is_some_and(|limit| started.elapsed().as_secs_f64() >= limit),
        progress: &|progress| {
            bar.set_length(progress.of as u64);
            bar.set_position(progress.done as u64);
        },
        ..Wishes::default()
    };
    let answer = pipeline::solve(&wishes, question);
    bar.finish_and_clear();
    Ok(answer?)
}

/// The spring of a file shaped again for a sheet of measured `thickness` (mm).
fn shaped_again(options: &DesignOptions, like: &Path, thickness: f64) -> Result<Answer, Failure> {
    let (file, spring) = files::read_spring(like)?;
    let name = files::name(like);
    let drawn = spring.sheet.thickness;
    // NaN is not within, either
    let near = (thickness / drawn - 1.0).abs() <= FARTHEST_THICKNESS;
    if !near {
        return Err(Failure::OtherSheet { thickness, drawn, file: name });
    }
    let target = match &options.curve {
        Some(path) => files::read_curve(path, &options.reading.choice())?,
        None => match files::read_target(like, &file)? {
            Some(target) => target,
            None => nominal_target(&spring)
                .map_err(|source| Failure::Compare { file: name.clone(), source: source.into() })?,
        },
    };
    folder::probe(&options.out)?;
    refuse_unrelated(options, &target)?;
    pipeline::answer_for_sheet(&spring, &file, &target, thickness)
        .map_err(|source| Failure::ShapedAgain { file: name, source: source.into() })
}

/// As [`refuse_unless`], before the search: the curve in the way has points that this one has not.
fn refuse_unrelated(options: &DesignOptions, target: &TargetCurve) -> Result<(), Failure> {
    refuse_unless(options, |found| {
        let (deflection, force) =
            (found.deflection.as_deref().unwrap_or_default(), found.force.as_deref().unwrap_or_default());
        deflection.iter().zip(force).all(|(x, f)| {
            let place = target.deflection.partition_point(|other| other < x);
            target.deflection.get(place) == Some(x) && target.force.get(place) == Some(f)
        })
    })
}

/// Refuses to overwrite a spring or an assembly that was designed for another curve.
fn refuse_unless(options: &DesignOptions, same: impl Fn(&Target) -> bool) -> Result<(), Failure> {
    let standing = folder::MAIN_FILES.map(|name| options.out.join(name));
    for path in standing.into_iter().filter(|path| !options.force && path.exists()) {
        let text = files::read_text(&path).ok();
        let found = text.and_then(|text| target_in(&text, &files::name(&path)));
        if !found.is_some_and(|target| same(&target)) {
            return Err(Failure::OtherTarget { path });
        }
    }
    Ok(())
}

/// The rungs that are told: of one shape tried more than once the one taken, else the nearest.
fn best_of_each(ladder: &[Rung]) -> Vec<&Rung> {
    let mut told: Vec<&Rung> = Vec::new();
    for rung in ladder {
        let same = told.iter_mut().find(|other| (other.arm, other.former) == (rung.arm, rung.former));
        match same {
            Some(other) if rung.taken || !other.taken && rung.rms_percent < other.rms_percent => {
                *other = rung;
            }
            Some(_) => {}
            None => told.push(rung),
        }
    }
    told
}

/// Table for the terminal.
fn table(answer: &Answer, units: Units) -> String {
    let (evaluation, spring) = (&answer.evaluation, answer.spring());
    let shop = &evaluation.asked.checks.shop;
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let stress = |value| crate::numeric::with_unit(value, Quantity::Stress, units);
    let arms = if spring.arms == 1 { "one arm".to_owned() } else { format!("{} arms", spring.arms) };
    let mut text = verdict_table::row(
        "spring",
        &format!(
            "{arms}, outside {}, sheet {} {}, travel to flat {}",
            length(2.0 * spring.disc.outer_radius),
            answer.file.sheet.material.as_deref().unwrap_or(""),
            length(spring.sheet.thickness),
            length(evaluation.checks.flat.travel_mm)
        ),
    );
    text.push_str(&verdict_table::rows(&evaluation.verdicts));
    if let Some(parts) = evaluation.good_parts() {
        text.push_str(&verdict_table::row(
            "good parts",
            &format!(
                "{:.0} % as bought, {:.0} % with the sheet measured",
                parts.good_percent, parts.good_percent_sheet_measured
            ),
        ));
    }
    text.push_str(&verdict_table::row("chosen", &answer.summary.choice));
    let drawing = evaluation.drawing.as_ref().ok();
    if let Some([from, to]) = drawing.and_then(|drawing| drawing.cut.machine_seconds) {
        text.push_str(&verdict_table::row(
            "machine time",
            &format!("{from:.0} to {to:.0} s a part, an estimate"),
        ));
    }
    if let Some(nest) = drawing.and_then(Drawing::placed) {
        let [along, across] = nest.sheet;
        let parts = nest.centres.len();
        text.push_str(&verdict_table::row(
            "on one sheet",
            &format!("{parts} parts in {} rows on {along} × {across} mm", nest.pattern.word()),
        ));
    }
    if let Some(price) = drawing.and_then(|drawing| drawing.cost.price(shop)) {
        text.push_str(&verdict_table::row("price of a part", &price));
    }
    let rungs = best_of_each(&answer.summary.ladder);
    if !rungs.is_empty() {
        text.push_str(&verdict_table::row(
            "arms tried",
            "same sheet, number of arms and circles; each kept within the limits of stress, slot ends, rings and flatness",
        ));
    }
    for rung in rungs {
        let taken = if rung.taken { ", taken" } else { "" };
        let former = if rung.former == FormerShape::Profile { ", shaped former" } else { "" };
        text.push_str(&verdict_table::row(
            &format!("  {}{former}", rung.arm.name()),
            &format!(
                "{:.2} % rms, {:.0} % good parts as bought, {:.0} % measured{taken}",
                rung.rms_percent, rung.good_percent, rung.good_percent_sheet_measured
            ),
        ));
    }
    text.push_str(&verdict_table::row(
        "combinations",
        &format!("{} evaluated, {} shaped", answer.outcome.considered, answer.outcome.shaped),
    ));
    let target = &answer.question.target;
    if let Some(fit) = &evaluation.fit {
        text.push('\n');
        text.push_str(&small_curve(
            [&fit.table.travel(), &fit.table.response.force],
            [&target.deflection, &target.force],
            units,
        ));
    }
    if !answer.summary.shortlist.is_empty() {
        text.push_str("\nalso possible  verdicts  arms  sheet      outside     travel     good parts   arm             rms     peak       machine time");
        let priced = answer.summary.shortlist.iter().any(|other| other.part_price.is_some());
        text.push_str(if priced { "  price of a part\n" } else { "\n" });
        for (k, other) in answer.summary.shortlist.iter().enumerate() {
            text.push_str(&format!(
                "  {:<12} {:<8}  {:>4}  {:<9}  {:<10}  {:<9}  {:>3.0}, {:>3.0} %   {:<14} {:>5.2} %  {:<9}  {}{}\n",
                k + 2,
                if other.passed { "all yes".to_owned() } else { format!("{} fail", other.failing) },
                other.arms,
                length(other.thickness_mm),
                length(other.outer_diameter_mm),
                length(other.free_height_mm),
                other.good_percent,
                other.good_percent_sheet_measured,
                other.arm.name(),
                other.rms_percent,
                stress(other.peak_stress_mpa),
                other
                    .cut_seconds_range()
                    .map_or_else(|| "-".to_owned(), |[a, b]| format!("{a:.0} to {b:.0} s")),
                other.part_price.map_or_else(String::new, |price| format!("   {}", shop.money_range(price)))
            ));
        }
    }
    text.push('\n');
    text.push_str(terminal::CAUTION);
    text
}
