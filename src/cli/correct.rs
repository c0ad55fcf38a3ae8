//! `flatspire correct`: the deviations of a measured part, and the spring cut again.

use std::path::Path;

use serde::Serialize;

use super::arguments::{CorrectOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::{
    Verdict, assembled, bench_sheet, files, folder, measured_parts, next_former, remedies, terminal, trimmed,
    verdict_table,
};
use crate::compare::nominal_target;
use crate::evaluation::Asked;
use crate::layout::{ArmShape, Spring};
use crate::model::ModelSettings;
use crate::numeric::signed as with_sign;
use crate::package::{corrected_files, measured_plot};
use crate::pipeline::{Corrected, Trim, TrimKind, advised, correct, trims_of};
use crate::plot::{Quantity as Shown, Units, curve_png, curve_svg};
use crate::variation::{Estimate, Identified, IdentifySettings, Tolerances, identify_parts};

/// JSON output where no new cut is drawn.
#[derive(Serialize)]
struct Undrawn<'a> {
    correction: Explained<'a>,
    warnings: &'a [String],
}

#[derive(Serialize)]
struct Explained<'a> {
    #[serde(flatten)]
    found: &'a Identified,
    trims: &'a [Trim],
    advised: Option<TrimKind>,
}

/// Explains a measurement and cuts the spring again.
pub fn run(options: &CorrectOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.spring) {
        return trimmed::run(&path, options, general);
    }
    if let Some(path) = &options.bench_sheet {
        return bench_sheet::run(options, path, general);
    }
    if options.heights.is_some() {
        return next_former::run(options, general);
    }
    let (file, spring) = files::read_spring(&options.spring)?;
    let name = files::name(&options.spring);
    let (parts, mut warnings) = measured_parts::read(options)?;
    let measured_name = options.measured.iter().map(|path| files::name(path)).collect::<Vec<_>>().join(", ");
    if let Some(out) = &options.out {
        refuse(out, &options.spring, options.force)?;
        folder::probe(out)?;
    }
    let given = file.tolerance.clone().unwrap_or_default();
    let tolerances = Tolerances::of(&spring, &given, &file.process.clone().unwrap_or_default());
    let found = identify_parts(&spring, &tolerances, &parts, IdentifySettings::default())
        .map_err(|source| Failure::Variation { file: measured_name.clone(), source })?;
    warnings.extend(found.notes.iter().cloned());
    // without enough readings nothing was fitted: the reason says so
    let judged = !found.estimates.is_empty();
    if judged && found.left_out > 0 {
        warnings.push(format!(
            "{} readings near flat are not used: beyond 95 % of the travel the force rises without bound",
            found.left_out
        ));
    }
    let target = if let Some(target) = files::read_target(&options.spring, &file)? {
        target
    } else {
        warnings.push("the spring file has no [target]: its own nominal curve is the target".to_owned());
        nominal_target(&spring)
            .map_err(|source| Failure::Compare { file: name.clone(), source: source.into() })?
    };
    let drawable = matches!(spring.shape, ArmShape::Slots(_));
    if !drawable {
        warnings.push(
            "the arm is given by stations: give [arm] radius and width to have it cut again".to_owned(),
        );
    }
    let units: Units = general.units.into();
    let corrected = if found.explained && drawable {
        // the part is explained whether or not a new cut can be drawn for it
        match correct(&spring, &file, &target, found.clone()) {
            Ok(new) => Some(new),
            Err(source) => {
                warnings.push(format!("nothing is cut again: {source}"));
                None
            }
        }
    } else {
        None
    };
    let cut_failed = found.explained && drawable && corrected.is_none();
    // remedies stand also where nothing is drawn; where none can be computed the warning above says why
    let trims = match &corrected {
        Some(new) => new.summary.correction.trims.clone(),
        None if found.explained => trims_of(&spring, &file, &target, &found).unwrap_or_default(),
        None => Vec::new(),
    };
    let asked = Asked::of(&file, Some(&target)).tolerance_percent();
    if let Some(out) = &options.out {
        let files = package(&found, corrected.as_ref(), units)?;
        let contents = match &corrected {
            Some(_) => Contents::package(&files, options.force),
            None => Contents::part_of(&options.spring, options.force)?,
        };
        let contents = contents.made_from(&options.spring)?;
        folder::write_or_save(out, &files, &contents)?;
    }
    for warning in warnings.iter().chain(corrected.iter().flat_map(|new| &new.part.warnings)) {
        terminal::warn(warning);
    }
    match (&corrected, general.json) {
        (Some(new), true) => terminal::print_json(&new.summary)?,
        (None, true) => {
            let advised = advised(&trims).map(|trim| trim.kind);
            let correction = Explained { found: &found, trims: &trims, advised };
            terminal::print_json(&Undrawn { correction, warnings: &warnings })?;
        }
        (_, false) => {
            let first = if found.explained {
                remedies::headline(&trims, asked)
            } else {
                remedies::unexplained(&found.reason, judged)
            };
            terminal::print(&first)?;
            if judged {
                terminal::print(&estimates_table(&found, units))?;
            }
            terminal::print(&remedies::parts(&found.parts))?;
            if !trims.is_empty() {
                terminal::print(&remedies::table(&trims))?;
            }
            if let Some(new) = &corrected {
                terminal::print(&cut_again(&spring, new, units))?;
            }
            let place = options.out.as_deref();
            match &corrected {
                Some(new) => terminal::print(&verdict_table::result(&new.part.verdicts, place))?,
                None => terminal::print(&unexplained(&found, place))?,
            }
        }
    }
    Ok(Verdict::of(found.explained && !cut_failed && corrected.is_none_or(|new| new.part.passed())))
}

/// Refuses the folder of the spring that was measured: it is the record of the part that was cut.
fn refuse(out: &Path, spring: &Path, force: bool) -> Result<(), Failure> {
    let path = out.join("spring.toml");
    let same = path.canonicalize().ok().zip(spring.canonicalize().ok()).is_some_and(|(a, b)| a == b);
    if same && !force { Err(Failure::MeasuredSpring { path }) } else { Ok(()) }
}

/// The files: all of the new cut, or the measurement alone.
fn package(
    found: &Identified,
    corrected: Option<&Corrected>,
    units: Units,
) -> Result<Vec<crate::export::NamedFile>, Failure> {
    if let Some(new) = corrected {
        return Ok(corrected_files(new, units)?);
    }
    let plot = measured_plot(found);
    Ok(vec![
        crate::export::NamedFile::new("measured.svg", curve_svg(&plot, units)?),
        crate::export::NamedFile::new("measured.png", curve_png(&plot, units)?),
    ])
}

/// A value in its own unit, shown with its sign.
fn signed(value: f64, estimate: &Estimate, units: Units) -> String {
    let shown = match estimate.unit {
        "mm" => Shown::Length,
        "N" => Shown::Force,
        other => return format!("{} {other}", with_sign(value, 1)),
    };
    let digits = if shown.unit(units) == "in" { 5 } else { 3 };
    format!("{} {}", with_sign(value * shown.factor(units), digits), shown.unit(units))
}

/// Table of the estimates and of the fit.
fn estimates_table(found: &Identified, units: Units) -> String {
    let mut text =
        format!("\n{:<20}{:>14}{:>28}{:>16}\n", "", "deviation", "with 95 % confidence", "expected ±");
    for estimate in &found.estimates {
        let show = |value: f64| signed(value, estimate, units);
        text.push_str(&format!(
            "{:<20}{:>14}{:>28}{:>16}{}\n",
            estimate.quantity.name(),
            show(estimate.value),
            format!("{} .. {}", show(estimate.low), show(estimate.high)),
            show(estimate.expected).trim_start_matches('+'),
            if estimate.given { "  measured" } else { "" }
        ));
    }
    let force = |value: f64| crate::numeric::with_unit(value, Shown::Force, units);
    text.push_str(&format!("\nreadings            {}, scatter {}\n", found.readings, force(found.noise_n)));
    if let Some(hysteresis) = &found.hysteresis {
        text.push_str(&format!(
            "hysteresis          {} between loading and unloading, {:.1} % of the largest force; the middle is used\n",
            force(hysteresis.mean_n),
            hysteresis.mean_percent
        ));
    }
    text.push_str(&format!(
        "curve error, rms    {:.2} % as drawn, {:.2} % as corrected\n",
        found.rms_before_percent, found.rms_after_percent
    ));
    text.push_str(&if found.explained {
        "explained           yes\n".to_owned()
    } else {
        format!("explained           NO: {}; nothing is cut again\n", found.reason)
    });
    for words in &found.open {
        text.push_str(&format!("not identifiable    {words}\n"));
    }
    text
}

/// The last line where nothing is cut again.
fn unexplained(found: &Identified, place: Option<&Path>) -> String {
    let files = place.map_or_else(String::new, |folder| format!("; files in {}", folder.display()));
    let outcome =
        if found.explained { "explained, not drawn again" } else { "not explained, nothing is cut again" };
    verdict_table::row("result", &format!("{outcome}{files}"))
}

/// Table of the new cut's dimensions.
fn cut_again(spring: &Spring, new: &Corrected, units: Units) -> String {
    let length = |value: f64| crate::numeric::with_unit(value, Shown::Length, units);
    let drawn = &new.recut.drawn;
    if new.summary.correction.kept {
        let mut text = String::from(
            "\ndrawing             kept as it is: a new cut would come no nearer to the target\n",
        );
        text.push_str(&verdict_table::rows(&new.part.verdicts));
        text.push_str(terminal::CAUTION);
        return text;
    }
    let mut text = String::from("\ncut again           as drawn before     to draw now\n");
    let mut row = |name: &str, before: String, now: String| {
        text.push_str(&format!("{name:<20}{before:<20}{now}\n"));
    };
    row("free height", length(spring.former.free_height), length(drawn.former.free_height));
    let segments = ModelSettings::default().segments;
    if let (Ok(before), Ok(now)) = (spring.arm(segments), drawn.arm(segments)) {
        let (before, now) = (before.root_widths(), now.root_widths());
        for (k, name) in ["radial width at hub", "radial width at rim"].into_iter().enumerate() {
            row(name, length(before[k]), length(now[k]));
        }
    }
    row("sheet thickness", length(spring.sheet.thickness), length(drawn.sheet.thickness));
    text.push_str(&verdict_table::rows(&new.part.verdicts));
    text.push_str(terminal::CAUTION);
    text
}
