//! Designs the jobs of `tests/study/assembly_targets.rs` and writes what was reached as a table to standard output.
//!
//! `cargo run --release --example assemblies`; a job by its name alone:
//! `cargo run --release --example assemblies -- corner`.

// an example speaks on the terminal
#![allow(clippy::print_stdout, clippy::print_stderr)]

#[path = "../tests/study/assembly_targets.rs"]
mod assembly_targets;

use std::time::Instant;

use flatspire::pipeline::{Question, Solution, Wishes, solve};

fn main() {
    let wanted = std::env::args().nth(1);
    println!("job,answer,discs,height_mm,rms_percent,failed,one_disc_rms_percent,notes");
    for job in assembly_targets::jobs() {
        if wanted.as_ref().is_some_and(|wanted| wanted != job.name) {
            continue;
        }
        let begun = Instant::now();
        let question = Question { target: job.target, brief: job.brief };
        let row = match solve(&Wishes::default(), question) {
            Ok(Solution::Single(answer)) => {
                let fit = answer.evaluation.fit.as_ref().map_or(f64::NAN, |fit| fit.summary.rms_percent);
                format!(
                    "single,1,{:.2},{fit:.2},{},,\"{}\"",
                    answer.spring().former.free_height,
                    answer.evaluation.verdicts.failed().join(" "),
                    answer.summary.evaluation.warnings.join("; ").replace('"', "'")
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
                    "{},{},{:.2},{:.2},{},{},\"{}\"",
                    evaluation.file.kind.name(),
                    evaluation.file.discs(),
                    evaluation.arrangement.height_at_rest(),
                    evaluation.fit.as_ref().map_or(f64::NAN, |fit| fit.rms_percent),
                    evaluation.verdicts.failed().join(" "),
                    one.map_or_else(String::new, |rms| format!("{rms:.2}")),
                    answer.summary.choice
                )
            }
            Err(error) => format!("none,,,,,,\"{}\"", error.to_string().replace('"', "'")),
        };
        println!("{},{row}", job.name.replace(',', ""));
        eprintln!("{}: {:.1} s", job.name, begun.elapsed().as_secs_f64());
    }
}
