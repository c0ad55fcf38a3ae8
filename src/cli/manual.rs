//! `flatspire manual`: the manual page, made from what `--help` says.

use clap::CommandFactory;

use super::arguments::{Arguments, ManualOptions};
use super::failure::Failure;
use super::{Verdict, terminal};

/// Prints a manual page in roff.
pub fn run(options: &ManualOptions) -> Result<Verdict, Failure> {
    let mut program = Arguments::command();
    program.build();
    let page = match &options.command {
        None => program,
        Some(name) => program.find_subcommand(name).cloned().ok_or_else(|| Failure::Option {
            option: "command",
            found: name.clone(),
            expected: "one of the commands that flatspire --help lists",
        })?,
    };
    let mut roff = Vec::new();
    // writing to memory cannot fail
    let _ = clap_mangen::Man::new(page).render(&mut roff);
    terminal::print(&String::from_utf8_lossy(&roff))?;
    Ok(Verdict::Passed)
}
