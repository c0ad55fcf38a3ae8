//! `flatspire design` where the answer is an assembly: its package and what the terminal says.

use super::failure::Failure;
use super::finished::{Finished, Said};
use super::{terminal, verdict_table};
use crate::package::{self, NamedFile};
use crate::pipeline::AssemblyAnswer;
use crate::plot::{Quantity, Units};
use crate::report;

/// The package of an assembly, each disc in its folder and the whole above them, and its texts for the terminal.
pub fn finished(answer: &AssemblyAnswer, units: Units) -> Result<Finished, Failure> {
    let said = Said {
        warnings: answer.summary.evaluation.warnings.clone(),
        table: table(answer, units),
        outcome: answer.evaluation.verdicts.outcome(),
        passed: answer.evaluation.passed(),
    };
    Ok(Finished { package: whole(answer, units)?, said })
}

/// The files of the whole, and those of each disc in a folder of its own.
fn whole(answer: &AssemblyAnswer, units: Units) -> Result<Vec<NamedFile>, Failure> {
    let mut all = report::assembly_report(answer, units)?;
    all.extend(package::assembly_files(answer, units)?);
    let discs = report::disc_reports(answer, units)?.into_iter().chain(package::disc_files(answer)?);
    for (folder, files) in discs {
        all.extend(
            files.into_iter().map(|file| NamedFile { name: format!("{folder}/{}", file.name), ..file }),
        );
    }
    Ok(all)
}

fn table(answer: &AssemblyAnswer, units: Units) -> String {
    let length = |value| crate::numeric::with_unit(value, Quantity::Length, units);
    let force = |value| crate::numeric::with_unit(value, Quantity::Force, units);
    let mut text = verdict_table::row("assembly", &answer.summary.choice);
    text.push_str(&super::assembled::member_rows(&answer.summary.evaluation.assembly, units));
    text.push_str(&verdict_table::rows(&answer.evaluation.verdicts));
    if let Some(parts) = answer.evaluation.good_parts() {
        text.push_str(&verdict_table::row(
            "good assemblies",
            &format!(
                "{:.0} % as bought, {:.0} % with the sheet measured",
                parts.good_percent, parts.good_percent_sheet_measured
            ),
        ));
    }
    if let Some(one) = &answer.summary.one_disc {
        let rms = one.rms_percent.map_or_else(|| "no spring".to_owned(), |rms| format!("{rms:.2} % rms"));
        text.push_str(&verdict_table::row("one disc", &format!("{rms}; {}", one.reason)));
    }
    let arrangement = &answer.evaluation.arrangement;
    text.push_str(&verdict_table::row(
        "height",
        &format!(
            "{} free, {} at rest, {} closed",
            length(arrangement.free_height()),
            length(arrangement.height_at_rest()),
            length(arrangement.closed_height())
        ),
    ));
    if let (Some([least, most]), Some(x)) =
        (answer.evaluation.curve.friction.last(), answer.evaluation.curve.deflection.last())
    {
        text.push_str(&verdict_table::row(
            "friction",
            &format!("{} to {} each way at {} (common practice)", force(*least), force(*most), length(*x)),
        ));
    }
    text.push('\n');
    for caution in package::cautions(&answer.evaluation).iter().take(2) {
        text.push_str(&format!("caution: {caution}\n"));
    }
    text.push_str(terminal::CAUTION);
    text
}
