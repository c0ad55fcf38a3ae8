//! The verdicts of an evaluation as lines for the terminal, the same for every command that judges.

use std::path::Path;

use crate::evaluation::{Verdict, VerdictState, Verdicts};

/// Columns of the names.
const NAME_WIDTH: usize = 30;

/// A line of a table: name, text.
pub fn row(name: &str, text: &str) -> String {
    format!("{name:<NAME_WIDTH$}{text}\n")
}

/// One line for every verdict asked for.
pub fn rows(verdicts: &Verdicts) -> String {
    let asked = verdicts.0.iter().filter(|named| named.verdict.state != VerdictState::NotAsked);
    asked
        .map(|named| row(named.label, &format!("{}: {}", state_word(&named.verdict), named.verdict.reason)))
        .collect()
}

/// The state, in capitals where it needs attention.
fn state_word(verdict: &Verdict) -> &'static str {
    match verdict.state {
        VerdictState::No => "NO",
        VerdictState::NotJudged => "NOT JUDGED",
        other => other.word(),
    }
}

/// The last line: the result in words, the verdicts that are no or not judged by name, the place of the files.
pub fn result(verdicts: &Verdicts, folder: Option<&Path>) -> String {
    outcome(&verdicts.outcome(), folder)
}

/// The last line from the result in words.
pub fn outcome(words: &str, folder: Option<&Path>) -> String {
    let files = folder.map_or_else(String::new, |folder| format!("; files in {}", folder.display()));
    row("result", &format!("{words}{files}"))
}
