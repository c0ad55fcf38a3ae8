//! Designs the jobs of `tests/study/assembly_targets.rs` and writes what was reached to `tests/study/assemblies.csv`.
//!
//! `cargo run --release --example assemblies`; a job by its name alone, to standard output:
//! `cargo run --release --example assemblies -- corner`.

// an example speaks on the terminal
#![allow(clippy::print_stdout, clippy::print_stderr)]

#[path = "../tests/study/assembly_targets.rs"]
mod assembly_targets;
// the study of single discs draws more than this one does
#[allow(dead_code)]
#[path = "../tests/study/draw.rs"]
mod draw;
#[path = "../tests/study/rising.rs"]
mod rising;

use std::time::Instant;

use flatspire::pipeline::{Question, Solution, Wishes, solve};

/// Heading of the table. `limit`: what keeps a job that is not met from it, or names what it costs.
const HEADING: &str =
    "job,answer,discs,height_mm,rms_percent,tolerance_percent,failed,one_disc_rms_percent,limit";

fn main() -> std::io::Result<()> {
    let wanted = std::env::args().nth(1);
    let mut table = format!("{HEADING}\n");
    for job in assembly_targets::jobs() {
        if wanted.as_ref().is_some_and(|wanted| *wanted != job.name) {
            continue;
        }
        let begun = Instant::now();
        let tolerance = job.brief.fit.tolerance_percent.unwrap_or(3.0);
        let question = Question { target: job.target, brief: job.brief };
        let row = match solve(&Wishes::default(), question) {
            Ok(Solution::Single(answer)) => {
                let fit = answer.evaluation.fit.as_ref().map_or(f64::NAN, |fit| fit.summary.rms_percent);
                format!(
                    "single,1,{:.2},{fit:.2},{tolerance},{},,{}",
                    answer.spring().former.free_height,
                    answer.evaluation.verdicts.failed().join(" "),
                    cell(&answer.summary.evaluation.warnings)
                )
            }
            Ok(Solution::Assembly(answer)) => {
                let evaluation = &answer.evaluation;
                let one = answer.summary.one_disc.as_ref().and_then(|one| one.rms_percent);
                for tried in &answer.summary.tried {
                    eprintln!("  {tried:?}");
                }
                for member in &answer.summary.evaluation.assembly.members {
                    eprintln!("  {member:?}");
                }
                for warning in &answer.summary.evaluation.warnings {
                    eprintln!("  {warning}");
                }
                format!(
                    "{},{},{:.2},{:.2},{tolerance},{},{},{}",
                    evaluation.file.kind.name(),
                    evaluation.file.discs(),
                    evaluation.arrangement.height_at_rest(),
                    evaluation.fit.as_ref().map_or(f64::NAN, |fit| fit.rms_percent),
                    evaluation.verdicts.failed().join(" "),
                    one.map_or_else(String::new, |rms| format!("{rms:.2}")),
                    cell(&answer.summary.evaluation.warnings)
                )
            }
            Err(error) => format!("none,,,,{tolerance},,,{}", cell(&[error.to_string()])),
        };
        table.push_str(&format!("{},{row}\n", job.name.replace(',', "")));
        eprintln!("{}: {:.1} s", job.name, begun.elapsed().as_secs_f64());
    }
    if wanted.is_some() {
        println!("{table}");
        return Ok(());
    }
    std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/study/assemblies.csv"), table)
}

/// The sentences that name a limit, as a cell without commas.
fn cell(warnings: &[String]) -> String {
    let limits = ["limit: ", "the rate asked for", "no assembly", "deflected by"];
    let named = warnings.iter().filter(|said| limits.iter().any(|limit| said.contains(limit)));
    named.map(|said| said.replace([',', '"', '\n'], "")).collect::<Vec<String>>().join("; ")
}
