//! `flatspire correct --heights`: the next former from the heights of a spring that was set.

use serde::Serialize;

use super::arguments::{CorrectOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::{Verdict, files, folder, terminal};
use crate::checks::{CheckOptions, Checks, FormerShape};
use crate::model::ModelSettings;
use crate::package::{former_files, rings_text};
use crate::plot::{Quantity, Units};
use crate::setting::{Reading, height_at, read_former, read_readings};

/// JSON output.
#[derive(Serialize)]
struct Shown<'a> {
    /// way of setting
    way: &'static str,
    /// height at the hub of the former it was set on (mm)
    former_before_mm: f64,
    /// height at the hub of the next former (mm)
    former_mm: f64,
    /// the next former
    former: &'a FormerShape,
}

/// Reads the heights and writes the next former.
pub fn run(options: &CorrectOptions, general: &General) -> Result<Verdict, Failure> {
    let (file, spring) = files::read_spring(&options.spring)?;
    let name = files::name(&options.spring);
    let check_options = CheckOptions::of_file(&file, files::read_target(&options.spring, &file)?.as_ref());
    let checks = Checks::of(&spring, &check_options)
        .map_err(|source| Failure::Model { file: name.clone(), source })?;
    let plan = checks.setting.as_ref().and_then(|setting| setting.plans.first());
    let Some(plan) = plan else {
        return Err(Failure::NoFormer {
            file: name,
            remedy: "give sheet.yield_strength, or lower former.free_height as `flatspire flat` suggests",
        });
    };
    let arm = spring
        .arm(ModelSettings::default().segments)
        .map_err(|source| Failure::Spring { file: name, source })?;
    let readings = match &options.heights {
        Some(path) => read_readings(&files::read_text(path)?, &files::name(path), &arm)?,
        None => Vec::new(),
    };
    let used = match &options.former {
        Some(path) => read_former(&files::read_text(path)?, &files::name(path), &arm)?,
        None => plan.heights.clone(),
    };
    let next = plan.next_former(&arm, &used, &readings);
    let shims = check_options.shop.shims.as_deref();
    let former = FormerShape::of(&spring, &arm, &next, shims);
    if let Some(out) = &options.out {
        let contents = Contents::part_of(&options.spring, options.force)?.made_from(&options.spring)?;
        folder::hold(out)?.write_all(&former_files(&spring, &arm, &next, shims)?, &contents)?;
    }
    let last = next.len() - 1;
    if general.json {
        terminal::print_json(&Shown {
            way: plan.row.way.name(),
            former_before_mm: used[last],
            former_mm: next[last],
            former: &former,
        })?;
        return Ok(Verdict::of(true));
    }
    let units: Units = general.units.into();
    let length = |value: f64| crate::numeric::with_unit(value, Quantity::Length, units);
    let mut text = format!("{:<20}{} ({})\n", "way of setting", plan.row.way.words(), plan.row.way.name());
    for Reading { radius, height } in &readings {
        let at = |heights: &[f64]| length(height_at(&arm, heights, *radius));
        text.push_str(&format!(
            "{:<20}measured {}, wanted {}; former {}, next {}\n",
            format!("radius {radius:.2} mm"),
            length(*height),
            at(&arm.height),
            at(&used),
            at(&next)
        ));
    }
    text.push_str(&format!(
        "{:<20}{} instead of {} at the hub\n\n",
        "next former",
        length(next[last]),
        length(used[last])
    ));
    text.push_str(&rings_text(&former, units));
    text.push('\n');
    text.push_str(terminal::CAUTION);
    if let Some(out) = &options.out {
        text.push_str(&format!("{:<20}next former; files in {}\n", "result", out.display()));
    }
    terminal::print(&text)?;
    Ok(Verdict::of(true))
}
