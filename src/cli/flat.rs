//! `flatspire flat`: will it close, survive and keep its height.

use serde::Serialize;

use super::arguments::{FlatOptions, General};
use super::failure::Failure;
use super::{Verdict, files, folder, given_spring, terminal};
use crate::checks::{FatigueCheck, Severity, Verdicts};
use crate::package::{FlatSummary, StressSummary, check_options};
use crate::plot::{Quantity, Units};
use crate::report::SpringReport;

#[derive(Serialize)]
struct FlatReport<'a> {
    flat: FlatSummary,
    stress: StressSummary,
    checks: &'a Verdicts,
    warnings: Vec<String>,
}

/// Checks a spring.
pub fn run(options: &FlatOptions, general: &General) -> Result<Verdict, Failure> {
    let (file, spring) = given_spring::read(&options.spring, &options.drawn)?;
    let verdicts = Verdicts::of(&spring, &check_options(&file))
        .map_err(|source| Failure::Model { file: files::name(&options.spring), source })?;
    if let Some(into) = &options.out {
        let target = files::read_target(&options.spring, &file)?;
        let report = SpringReport::of(&file, &spring, target.as_ref(), general.units.into())?;
        folder::hold(into)?.write_all(&report.report.files()?)?;
        terminal::note(&format!("report written to {}", into.join("report.html").display()));
    }
    if general.json {
        let report = FlatReport {
            flat: FlatSummary::of(&verdicts),
            stress: StressSummary::of(&verdicts),
            checks: &verdicts,
            warnings: verdicts.findings.iter().map(ToString::to_string).collect(),
        };
        terminal::print_json(&report)?;
    } else {
        terminal::print(&table(&verdicts, general.units.into()))?;
    }
    for finding in verdicts.findings.iter().filter(|finding| finding.severity != Severity::Remark) {
        terminal::warn(&finding.to_string());
    }
    Ok(Verdict::of(verdicts.passed()))
}

/// How long it lives, in words.
fn life(fatigue: &FatigueCheck) -> String {
    let yes = if fatigue.ok { "yes" } else { "NO" };
    let asked = fatigue.cycles;
    match fatigue.life_cycles {
        None => {
            format!(
                "{yes}: {asked} cycles asked, no end foreseen, {:.2} times the stress borne",
                fatigue.factor
            )
        }
        Some(cycles) => format!(
            "{yes}: {asked} cycles asked, about {:.0} foreseen, {} times less or more is usual",
            cycles, fatigue.life_uncertainty
        ),
    }
}

fn table(verdicts: &Verdicts, units: Units) -> String {
    let length = |value| terminal::shown(value, Quantity::Length, units);
    let force = |value| terminal::shown(value, Quantity::Force, units);
    let stress = |value| terminal::shown(value, Quantity::Stress, units);
    let (flat, strength) = (&verdicts.flat, &verdicts.stress);
    let mut text = String::new();
    let mut line = |name: &str, value: String| text.push_str(&format!("{name:<26}{value}\n"));
    line("closes flat", if flat.closes { "yes".to_owned() } else { "NO".to_owned() });
    line(
        "solid height",
        format!(
            "{} (sheet {}, burr {}, flatness {})",
            length(flat.solid_height_mm),
            length(flat.sheet_mm),
            length(flat.burr_mm),
            length(flat.flatness_mm)
        ),
    );
    line("travel to flat", length(flat.travel_mm));
    line("force to close to 1 %", force(flat.closing_force_n));
    line("force to hold there", force(flat.holding_force_n));
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
    line("stress held", strength.ok.map_or("not judged", |ok| if ok { "yes" } else { "NO" }).to_owned());
    for end in &strength.slot_ends {
        line("slot end, estimate", format!("{} at the {} root", stress(end.stress_mpa), end.root));
    }
    if let Some(fatigue) = &verdicts.fatigue {
        line("life", life(fatigue));
        line(
            "stroke judged",
            format!(
                "{} to {}, shear {} about {}",
                length(fatigue.stroke_start_mm),
                length(fatigue.stroke_end_mm),
                stress(fatigue.amplitude_mpa),
                stress(fatigue.mean_mpa)
            ),
        );
    }
    if let Some(setting) = &verdicts.setting {
        line("height after closing", length(setting.height_after_first_closing_mm));
        if let Some(height) = setting.former_height_mm {
            line("form to", length(height));
        }
    }
    if let Some(mass) = verdicts.mass.mass_g {
        line("mass of the part", format!("{mass:.1} g"));
    }
    if let Some(swing) = verdicts.mass.swing {
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
    line("stored energy when flat", format!("{:.2} J", verdicts.mass.energy_j));
    text.push('\n');
    for caution in &verdicts.cautions {
        text.push_str(&format!("caution: {caution}\n"));
    }
    text
}
