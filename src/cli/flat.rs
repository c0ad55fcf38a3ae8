//! `flatspire flat`: the evaluation of a spring as its file stands.

use serde::Serialize;

use super::arguments::{FlatOptions, General};
use super::failure::Failure;
use super::folder::Contents;
use super::verdict_table::{result, row, rows};
use super::{Verdict, assembled, files, folder, given_spring, terminal};
use crate::checks::Checks;
use crate::evaluation::{Asked, Evaluation, EvaluationSummary, Extent};
use crate::plot::{Quantity, Units};
use crate::report::{self, Report};

#[derive(Serialize)]
struct FlatReport<'a> {
    #[serde(flatten)]
    summary: EvaluationSummary,
    checks: &'a Checks,
}

/// Evaluates a spring.
pub fn run(options: &FlatOptions, general: &General) -> Result<Verdict, Failure> {
    if let Some(path) = assembled::path_of(&options.spring) {
        if options.package {
            let expected = "the spring file of one disc: an assembly has a folder for each";
            return Err(Failure::Option { option: "--package", found: files::name(&path), expected });
        }
        return assembled::flat(&path, options, general);
    }
    let (file, spring) = given_spring::read(&options.spring, &options.drawn)?;
    let target = files::read_target(&options.spring, &file)?;
    let extent = if options.out.is_some() { Extent::Whole } else { Extent::WithoutParts };
    let asked = Asked::of(&file, target.as_ref()).to_extent(extent);
    let evaluation = Evaluation::of(&spring, asked)
        .map_err(|source| Failure::Model { file: files::name(&options.spring), source })?;
    let units: Units = general.units.into();
    if let Some(into) = &options.out {
        let (written, contents) = if options.package {
            let package = report::spring_package(&file, &evaluation, units)?;
            let contents = Contents::package(&package, options.force);
            (package, contents)
        } else {
            let report = Report::of_spring(&file, &evaluation, units)?;
            (report.files()?, Contents::part_of(&options.spring, options.force)?)
        };
        folder::hold(into)?.write_all(&written, &contents)?;
        terminal::note(&format!("report written to {}", into.join("report.html").display()));
    }
    for warning in &evaluation.warnings {
        terminal::warn(warning);
    }
    if general.json {
        let summary = EvaluationSummary::of(&evaluation);
        terminal::print_json(&FlatReport { summary, checks: &evaluation.checks })?;
    } else {
        terminal::print(&table(&evaluation, units))?;
        terminal::print(&result(&evaluation.verdicts, options.out.as_deref()))?;
    }
    Ok(Verdict::of(evaluation.passed()))
}

fn table(evaluation: &Evaluation, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let force = |value| crate::numeric::with_unit(value, Quantity::Force, units);
    let stress = |value| crate::numeric::with_unit(value, Quantity::Stress, units);
    let checks = &evaluation.checks;
    let (flat, strength) = (&checks.flat, &checks.stress);
    let mut text = rows(&evaluation.verdicts);
    text.push('\n');
    let mut line = |name: &str, value: String| text.push_str(&row(name, &value));
    line(
        "solid height",
        format!(
            "{}, highest point: the {} (sheet {}, burr {})",
            length(flat.solid_height_mm),
            flat.highest,
            length(flat.sheet_mm),
            length(flat.burr_mm)
        ),
    );
    line(
        "arms proud by",
        format!("{} at radius {}, hub down", length(flat.proud_mm), length(flat.proud_radius_mm)),
    );
    line("travel to flat", length(flat.travel_mm));
    line("closing force", format!("{} with 1 % of the travel left", force(flat.closing_force_n)));
    line("flattening force", format!("{} of a flat plate over everything", force(flat.flattening_force_n)));
    line("least gap when flat", length(flat.least_gap_mm));
    for obstacle in &flat.in_the_way {
        line("in the way", obstacle.clone());
    }
    line(
        "peak stress",
        format!(
            "{} at {} deflection, radius {}",
            stress(strength.peak_mpa),
            length(strength.at_mm),
            length(strength.radius_mm)
        ),
    );
    line("allowable", strength.allowable_mpa.map_or("no strength known".to_owned(), stress));
    for end in &strength.slot_ends {
        line(&format!("slot end at the {}", end.root), stress(end.stress_mpa));
    }
    for ring in &strength.rings {
        line(&format!("ring of the {}", ring.root), stress(ring.stress_mpa));
    }
    if let Some(fatigue) = &checks.fatigue {
        line(
            "stroke",
            format!(
                "{} to {}, shear {} about a mean of {} at the weakest place: {}",
                length(fatigue.stroke_start_mm),
                length(fatigue.stroke_end_mm),
                stress(fatigue.amplitude_mpa),
                stress(fatigue.mean_mpa),
                fatigue.place
            ),
        );
    }
    if let Some(fatigue) = &checks.fatigue {
        line("life", fatigue.life_in_words());
    }
    if let Some(setting) = &checks.setting {
        if let Some(height) = setting.former_height_mm {
            line("height set to", length(height));
        }
        line("height after closing", length(setting.height_after_first_closing_mm));
        if let Some((way, height)) = setting.ways.first().and_then(|way| Some((way, way.former_height_mm?))) {
            line("setting", format!("{} ({}): {}", way.words, way.name, setting.why));
            line("former to make", length(height));
            if let Some([low, high]) = way.left_band_mm {
                line("first trial", format!("{} to {}", length(low), length(high)));
            }
        }
    }
    if let Some(service) = &checks.service {
        line("in service", service.words());
    }
    if let Some(mass) = checks.mass.mass_g {
        line("mass of the part", crate::numeric::with_unit(mass, Quantity::Mass, units));
    }
    if let Some(swing) = checks.mass.swing {
        line(
            "natural frequency",
            format!(
                "{:.1} Hz with {} kg about {}",
                swing.frequency_hz,
                swing.mass_kg,
                length(swing.deflection_mm)
            ),
        );
    }
    line("stored energy when flat", crate::numeric::with_unit(checks.mass.energy_j, Quantity::Energy, units));
    text.push('\n');
    for caution in &checks.cautions {
        text.push_str(&format!("caution: {caution}\n"));
    }
    text
}
