//! `flatspire manual`: the manual page, made from what `--help` says.

use clap::builder::Resettable;
use clap::{Command, CommandFactory};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};

use super::arguments::{Arguments, ManualOptions};
use super::failure::Failure;
use super::{Verdict, terminal};
use crate::report::GLOSSARY;

/// Cautions at the end of every page.
const CAUTIONS: &str = "A compressed spring stores energy, and its cut edges are sharp: wear a face shield and gloves, load in steps. \
                        Not for lifting, holding people, or any safety function without a qualified engineer's check and a load \
                        test; local codes and the sheet supplier's data override the program's defaults.";

/// Name under which the glossary is printed.
const GLOSSARY_NAME: &str = "glossary";
/// Prints a manual page in roff, or the glossary as plain text.
pub fn run(options: &ManualOptions) -> Result<Verdict, Failure> {
    if options.command.as_deref() == Some(GLOSSARY_NAME) {
        terminal::print(&GLOSSARY.replace("**", ""))?;
        return Ok(Verdict::Passed);
    }
    let mut program = Arguments::command();
    program.build();
    let page = match &options.command {
        None => program,
        Some(name) => program.find_subcommand(name).cloned().ok_or_else(|| Failure::Option {
            option: "command",
            found: name.clone(),
            expected: "the name of a command, as in flatspire manual design (flatspire --help lists them)",
        })?,
    };
    terminal::print(&String::from_utf8_lossy(&roff(page)))?;
    Ok(Verdict::Passed)
}

/// The page; headings of the help become sections, whose lines stay as they are.
fn roff(page: Command) -> Vec<u8> {
    let below = page.get_after_help().map(ToString::to_string).unwrap_or_default();
    let mut out = Vec::new();
    // writing to memory cannot fail
    let _ = Man::new(page.after_help(Resettable::Reset)).render(&mut out);
    let mut more = Roff::new();
    let mut inside = false;
    for line in below.lines().filter(|line| !line.trim().is_empty()) {
        match line.strip_suffix(':').filter(|heading| !heading.starts_with(' ')) {
            Some(heading) => {
                if inside {
                    more.control("fi", []);
                }
                more.control("SH", [heading.to_uppercase().as_str()]);
                more.control("nf", []);
                inside = true;
            }
            None => {
                more.text([roman(line.trim_start())]);
            }
        }
    }
    if inside {
        more.control("fi", []);
    }
    more.control("SH", ["CAUTIONS"]);
    more.text([roman(CAUTIONS)]);
    out.extend(more.to_roff().into_bytes());
    out
}
