//! The only place with files, clock, terminal and environment.

mod arguments;
mod assembled;
mod bench_sheet;
mod compare;
mod compare_assembly;
mod correct;
mod design;
mod design_assembly;
mod error_report;
mod failure;
mod files;
mod finished;
mod flat;
mod folder;
mod given_spring;
mod kind;
mod manual;
mod measured_parts;
mod next_former;
mod outline;
mod predict;
mod remedies;
mod scatter;
mod serve;
mod small_curve;
mod stock;
mod stop;
mod terminal;
mod trimmed;
mod verdict_table;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use arguments::{Arguments, Command};
use error_report::ErrorReport;
use failure::Failure;

/// Runs the program with the process's own arguments.
pub fn main() -> ExitCode {
    stop::watch();
    ExitCode::from(run_with(std::env::args_os()))
}

/// Runs the program with a command line, the program's name first; gives the exit code.
pub fn run_with<T: Into<OsString>>(line: impl IntoIterator<Item = T>) -> u8 {
    let line: Vec<OsString> = line.into_iter().map(Into::into).collect();
    let arguments = match Arguments::try_parse_from(&line) {
        Ok(arguments) => arguments,
        Err(error) => {
            // help and version are not errors
            let code = if error.use_stderr() { 2 } else { 0 };
            if code == 2 && line.iter().any(|argument| argument == "--json") {
                let _ = terminal::print_json(&ErrorReport::of_usage(&error.to_string()));
            }
            let _ = error.print();
            return code;
        }
    };
    match run(&arguments) {
        Ok(Verdict::Passed) => 0,
        Ok(Verdict::Failed) => 3,
        Err(failure) => {
            if arguments.general.json {
                // standard output may be what failed: the exit code says so all the same
                let _ = terminal::print_json(&ErrorReport::of(&failure));
            }
            terminal::error(&failure.to_string());
            failure.exit_code()
        }
    }
}

/// Result of a command that ran to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Verdict {
    /// every check passed
    Passed,
    /// files written, but the target is not met or a check failed
    Failed,
}

impl Verdict {
    fn of(passed: bool) -> Self {
        if passed { Self::Passed } else { Self::Failed }
    }
}

fn run(arguments: &Arguments) -> Result<Verdict, Failure> {
    let general = &arguments.general;
    terminal::set_units(general.units.into());
    match &arguments.command {
        Command::Design(options) => design::run(options, general),
        Command::Predict(options) => predict::run(options, general),
        Command::Flat(options) => flat::run(options, general),
        Command::Compare(options) => compare::run(options, general),
        Command::Correct(options) => correct::run(options, general),
        Command::Outline(options) => outline::run(options, general),
        Command::Scatter(options) => scatter::run(options, general),
        Command::Stock(options) => stock::run(options, general),
        Command::Serve(options) => serve::run(options, general),
        Command::Manual(options) => manual::run(options),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut Arguments::command(), "flatspire", &mut script);
            terminal::print(&String::from_utf8_lossy(&script))?;
            Ok(Verdict::Passed)
        }
    }
}
