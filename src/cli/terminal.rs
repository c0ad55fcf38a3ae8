//! Terminal output: notes and warnings on standard error, short tables on standard output.

use std::io::{ErrorKind, IsTerminal, Write};
use std::sync::OnceLock;

use indicatif::{ProgressBar, ProgressStyle};

use super::failure::Failure;
use crate::evaluation::json_bytes;
use crate::numeric::{Units, in_units};

/// Units of every sentence and table that is printed; mm and N by default.
static UNITS: OnceLock<Units> = OnceLock::new();

/// Sets the units of the output, once for a run.
pub fn set_units(units: Units) {
    let _ = UNITS.set(units);
}

/// A text of the program in the reader's units.
fn in_shown_units(text: &str) -> String {
    in_units(text, UNITS.get().copied().unwrap_or_default())
}

/// Longest message (characters).
const LONGEST_MESSAGE: usize = 2000;

/// A note on standard error.
pub fn note(text: &str) {
    write_line(&format!("note: {}", plain(text)));
}

/// A warning on standard error.
pub fn warn(text: &str) {
    let text = plain(text);
    let bold = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
    if bold {
        write_line(&format!("\u{1b}[1mwarning:\u{1b}[0m {text}"));
    } else {
        write_line(&format!("warning: {text}"));
    }
}

/// Why a command ended early, on standard error.
pub fn error(text: &str) {
    write_line(&format!("error: {}", plain(text)));
}

/// A message on one line. What it quotes of a file may hold characters that a terminal obeys: they are shown as such.
///
/// Of a very long quote only beginning and end are shown: the end says what to do.
pub fn plain(text: &str) -> String {
    let clean = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    let count = text.chars().count();
    if count <= LONGEST_MESSAGE {
        return text.chars().map(clean).collect();
    }
    let half = LONGEST_MESSAGE / 2;
    let (begin, end) = (text.chars().take(half), text.chars().skip(count - half));
    begin.chain(['…']).chain(end).map(clean).collect()
}

/// A line on standard error; a closed standard error is ignored.
fn write_line(line: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{}", in_shown_units(line));
}

/// Prints to standard output. A closed pipe is no error; a full disk is one.
pub fn print(text: &str) -> Result<(), Failure> {
    write_out(in_shown_units(text).as_bytes())
}

/// Prints bytes that are JSON already.
pub fn print_bytes(bytes: &[u8]) -> Result<(), Failure> {
    write_out(bytes)
}

fn write_out(bytes: &[u8]) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(source) if source.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::Write { path: "standard output".into(), source })
        }
        _ => Ok(()),
    }
}

/// Prints one JSON object, its numbers at the precision of a package's files.
pub fn print_json(value: &impl serde::Serialize) -> Result<(), Failure> {
    write_out(&json_bytes(value))
}

/// Caution for everybody who handles a new spring.
pub const CAUTION: &str = "caution: a compressed spring stores energy and its cut edges are sharp; wear a face shield, load in steps\n";

/// A bar on a terminal, nothing elsewhere.
pub fn progress(message: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{msg} [{bar:30}] {pos}/{len}")
        .unwrap_or_else(|_| ProgressStyle::default_bar());
    ProgressBar::new(0).with_style(style).with_message(message.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_is_one_line_that_ends() {
        assert_eq!(plain("a\u{1b}b\nc"), "a\u{fffd}b\u{fffd}c");
        let long = plain(&format!("begin{}; do this", "x".repeat(100_000)));
        assert!(long.chars().count() <= LONGEST_MESSAGE + 1);
        assert!(long.starts_with("begin") && long.ends_with("; do this"));
    }
}
