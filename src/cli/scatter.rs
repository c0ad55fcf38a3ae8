//! `flatspire scatter`: the force band of many parts.

use super::arguments::{General, ScatterOptions};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, files, folder, terminal};
use crate::plot::{Quantity, Units};
use crate::variation::{Asked, Scatter, ScatterSettings, Tolerances, scatter, scatter_files};

/// Rows of the table for a person.
const ROWS: usize = 8;

/// Draws parts and shows the band.
pub fn run(options: &ScatterOptions, general: &General) -> Result<Verdict, Failure> {
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
    if let Some(out) = &options.out {
        let contents = Contents::part_of(&options.spring, options.force)?;
        folder::hold(out)?.write_all(&scatter_files(&found, general.units.into())?, &contents)?;
    }
    for warning in &found.warnings {
        terminal::warn(warning);
    }
    if general.json {
        terminal::print_json(&found)?;
    } else {
        terminal::print(&report(&found, general.units.into()))?;
    }
    Ok(Verdict::Passed)
}

/// A short table a person can read.
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
    text.push_str(&format!("\n{:<20}{:>12}{:>12}{:>12}  {}\n", "cause", "±", "force ±", "variance", "from"));
    for cause in &found.causes {
        let plus_minus = if cause.unit == "mm" {
            length(cause.plus_minus)
        } else {
            format!("{} {}", cause.plus_minus, cause.unit)
        };
        text.push_str(&format!(
            "{:<20}{:>12}{:>10.1} %{:>10.0} %  {}\n",
            cause.cause.name(),
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
            "scrap               {:.1} % of parts: sizes that leave no spring\n",
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
