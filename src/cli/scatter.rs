//! `flatspire scatter`: the force band of many parts.

use std::path::Path;

use super::arguments::{General, ScatterOptions};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, assembled, files, folder, terminal};
use crate::evaluation::{Extent, varied};
use crate::plot::{Quantity, Units};
use crate::variation::{
    Asked, CauseShare, Scatter, ScatterSettings, Tolerances, scatter, scatter_assembly, scatter_files,
};

/// Rows of the table for the terminal.
const ROWS: usize = 8;

/// Draws parts and shows the band.
pub fn run(options: &ScatterOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.spring) {
        return of_assembly(&path, options, general);
    }
    let (file, spring) = files::read_spring(&options.spring)?;
    let target = files::read_target(&options.spring, &file)?;
    let tolerances = Tolerances::of(
        &spring,
        &file.tolerance.clone().unwrap_or_default(),
        &file.process.clone().unwrap_or_default(),
    );
    let from_target = target.as_ref().and_then(|target| target.tolerance_percent);
    let asked = Asked {
        target: target.as_ref(),
        installed: file.duty.as_ref().and_then(|duty| duty.installed).unwrap_or(0.0),
        tolerance_percent: file.fit.clone().unwrap_or_default().tolerance(from_target),
    };
    let settings = ScatterSettings { runs: options.runs, seed: options.seed };
    let found = scatter(&spring, &tolerances, &asked, &settings)
        .map_err(|source| Failure::Variation { file: files::name(&options.spring), source })?;
    show(&found, &options.spring, options, general)
}

/// Draws assemblies: discs of one sheet come from one coil, all else differs from disc to disc.
fn of_assembly(path: &Path, options: &ScatterOptions, general: &General) -> Result<Verdict, Failure> {
    let evaluation = assembled::read(path, Extent::WithoutParts)?;
    let settings = ScatterSettings { runs: options.runs, seed: options.seed };
    let (kind, target) = (evaluation.file.kind, evaluation.target.as_ref());
    let members = varied(&evaluation.members);
    let found = scatter_assembly(kind, &members, target, evaluation.tolerance_percent(), &settings)
        .map_err(|source| Failure::Variation { file: files::name(path), source })?;
    show(&found, path, options, general)
}

/// Writes and says what was found of the spring, or of the assembly, in the file `input`.
fn show(
    found: &Scatter,
    input: &Path,
    options: &ScatterOptions,
    general: &General,
) -> Result<Verdict, Failure> {
    if let Some(out) = &options.out {
        let contents = Contents::part_of(input, options.force)?;
        folder::hold(out)?.write_all(&scatter_files(found, general.units.into())?, &contents)?;
    }
    for warning in &found.warnings {
        terminal::warn(warning);
    }
    if general.json {
        terminal::print_json(found)?;
    } else {
        terminal::print(&report(found, general.units.into()))?;
    }
    Ok(Verdict::Passed)
}

/// Table for the terminal.
fn report(found: &Scatter, units: Units) -> String {
    let length = |value: f64| crate::numeric::with_unit(value, Quantity::Length, units);
    let force = |value: f64| crate::numeric::with_unit(value, Quantity::Force, units);
    let mut text = format!(
        "{:<12}{:>12}{:>12}{:>12}{:>26}\n",
        "deflection", "nominal", "5 %", "95 %", "5 % .. 95 %, first order"
    );
    let band = &found.curve;
    let step = band.deflection_mm.len().div_ceil(ROWS);
    for i in (step - 1..band.deflection_mm.len()).step_by(step) {
        text.push_str(&format!(
            "{:<12}{:>12}{:>12}{:>12}{:>26}\n",
            length(band.deflection_mm[i]),
            force(band.force_n[i]),
            force(band.low_n[i]),
            band.high_n[i].map_or_else(|| "flat".to_owned(), force),
            format!("{} .. {}", force(band.first_order_low_n[i]), force(band.first_order_high_n[i]))
        ));
    }
    let name = |cause: &CauseShare| {
        let of = cause.member.as_ref().map_or_else(String::new, |member| format!(" of {member}"));
        format!("{}{of}", cause.cause.name())
    };
    let wide = found.causes.iter().map(|cause| name(cause).len() + 2).fold(20, usize::max);
    text.push_str(&format!(
        "\n{:<wide$}{:>12}{:>12}{:>12}  {}\n",
        "cause", "±", "force ±", "variance", "from"
    ));
    for cause in &found.causes {
        let plus_minus = if cause.unit == "mm" {
            length(cause.plus_minus)
        } else {
            format!("{} {}", cause.plus_minus, cause.unit)
        };
        text.push_str(&format!(
            "{:<wide$}{:>12}{:>10.1} %{:>10.0} %  {}\n",
            name(cause),
            plus_minus,
            cause.force_percent,
            cause.share_percent,
            cause.source
        ));
    }
    text.push_str(&format!(
        "\n{} parts, seed {}; each ± is two standard deviations of a normal distribution cut off at 1.5 times the ±\n",
        found.runs, found.seed
    ));
    text.push_str(&format!(
        "as wanted           {:.1} % of parts: {}\n",
        100.0 * found.yield_share,
        found.judged_by
    ));
    if found.scrap_share > 0.0 {
        text.push_str(&format!(
            "scrap               {:.1} % of parts: an arm, a slot or the height is gone\n",
            100.0 * found.scrap_share
        ));
    }
    text.push_str(&match found.rms_of_95_percent {
        Some(error) => format!("95 % of parts keep  {error:.1} % rms\n"),
        None => "95 % of parts keep  no limit: too many are scrap or flat too early\n".to_owned(),
    });
    text.push_str(&format!("tighten first       {}\n", found.tighten_first));
    text
}
