//! `flatspire correct`: what a measured part tells, and the spring cut again.

use std::path::Path;

use serde::Serialize;

use super::arguments::{CorrectOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, files, folder, next_former, terminal, trimmed, verdict_table};
use crate::compare::nominal_target;
use crate::layout::{ArmShape, Spring};
use crate::package::{corrected_files, measured_plot};
use crate::pipeline::{Corrected, correct};
use crate::plot::{Quantity as Shown, Units, curve_png, curve_svg};
use crate::variation::{Estimate, Identified, IdentifySettings, Readings, Tolerances, identify};

/// A measured thickness that differs from the drawn one by more than this share is no scatter but another sheet, or a slip.
/// The widest class of strip keeps within a tenth.
pub(super) const FARTHEST_THICKNESS: f64 = 0.25;

/// JSON output where no new cut is drawn.
#[derive(Serialize)]
struct Unexplained<'a> {
    correction: &'a Identified,
    warnings: &'a [String],
}

/// Explains a measurement and cuts the spring again.
pub fn run(options: &CorrectOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.spring) {
        return trimmed::run(&path, options, general);
    }
    let Some(measured_path) = &options.measured else {
        return next_former::run(options, general);
    };
    let (file, spring) = files::read_spring(&options.spring)?;
    let name = files::name(&options.spring);
    if let Some(thickness) = options.thickness
        && (thickness / spring.sheet.thickness - 1.0).abs() > FARTHEST_THICKNESS
    {
        return Err(Failure::OtherSheet { thickness, drawn: spring.sheet.thickness, file: name });
    }
    let measured_name = files::name(measured_path);
    let measured = files::read_measured(measured_path)?;
    if let Some(out) = &options.out {
        refuse(out, &options.spring, options.force)?;
        folder::probe(out)?;
    }
    let mut warnings = measured.notes.clone();
    let given = file.tolerance.clone().unwrap_or_default();
    let tolerances = Tolerances::of(&spring, &given, &file.process.clone().unwrap_or_default());
    let explain = |source| Failure::Variation { file: measured_name.clone(), source };
    let readings = Readings::of(&measured).map_err(explain)?;
    let found = identify(&spring, &tolerances, &readings, options.thickness, IdentifySettings::default())
        .map_err(explain)?;
    if found.left_out > 0 {
        warnings.push(format!(
            "{} readings near flat are not used: beyond 95 % of the travel the force rises without bound",
            found.left_out
        ));
    }
    let target = if let Some(target) = files::read_target(&options.spring, &file)? {
        target
    } else {
        warnings.push("the spring file has no [target]: its own nominal curve is aimed at".to_owned());
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
    if let Some(out) = &options.out {
        let files = package(&found, corrected.as_ref(), units)?;
        let contents = match &corrected {
            Some(_) => Contents::package(&files, options.force),
            None => Contents::part_of(&options.spring, options.force)?,
        };
        let contents = contents.made_from(&options.spring)?;
        folder::hold(out)?.write_all(&files, &contents)?;
    }
    for warning in warnings.iter().chain(corrected.iter().flat_map(|new| &new.part.warnings)) {
        terminal::warn(warning);
    }
    match (&corrected, general.json) {
        (Some(new), true) => terminal::print_json(&new.summary)?,
        (None, true) => terminal::print_json(&Unexplained { correction: &found, warnings: &warnings })?,
        (_, false) => {
            terminal::print(&told(&found, units))?;
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

/// The folder of the spring that was measured is somebody's record of what was cut.
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
        other => return format!("{value:+.1} {other}"),
    };
    let digits = if shown.unit(units) == "in" { 5 } else { 3 };
    format!("{:+.digits$} {}", value * shown.factor(units), shown.unit(units))
}

/// Table of the estimates and of the fit.
fn told(found: &Identified, units: Units) -> String {
    let mut text =
        format!("{:<20}{:>14}{:>28}{:>16}\n", "", "deviation", "with 95 % confidence", "expected ±");
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
    let mut text = String::from("\ncut again           as drawn before     to draw now\n");
    let mut row = |name: &str, before: String, now: String| {
        text.push_str(&format!("{name:<20}{before:<20}{now}\n"));
    };
    row("free height", length(spring.former.free_height), length(drawn.former.free_height));
    if let (ArmShape::Slots(before), ArmShape::Slots(now)) = (&spring.shape, &drawn.shape) {
        for (name, radius) in
            [("width at hub", before.inner_radius()), ("width at rim", before.outer_radius())]
        {
            row(
                name,
                length(before.nominal_width().value(radius)),
                length(now.nominal_width().value(radius)),
            );
        }
    }
    row("sheet thickness", length(spring.sheet.thickness), length(drawn.sheet.thickness));
    let (asked, expected) = (&new.part.asked, new.summary.correction.expected);
    text.push_str(&format!(
        "curve expected      {:.2} % rms, with 95 % confidence within {:.2} %; {} % asked\n",
        expected.rms_percent,
        expected.within_percent,
        asked.tolerance_percent()
    ));
    text.push_str(&verdict_table::rows(&new.part.verdicts));
    text.push_str(terminal::CAUTION);
    text
}
