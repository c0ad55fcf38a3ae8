//! A finished search: its package, its texts for the terminal, and the place where it is kept if its folder cannot be
//! written.
//!
//! The place is named after the question. A later run with the same question finds it there and only writes.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::arguments::{DesignOptions, General};
use super::failure::Failure;
use super::folder::{self, Contents, fingerprint};
use super::{files, terminal};
use crate::export::NamedFile;

/// File of a saved package that holds its texts.
const SAID: &str = ".flatspire-answer.json";

/// Words on a finished search besides its files.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Said {
    /// warnings, a sentence each
    pub warnings: Vec<String>,
    /// table for the terminal
    pub table: String,
    /// result in words
    pub outcome: String,
    /// whether every verdict asked for is yes
    pub passed: bool,
}

/// A finished search.
#[derive(Debug, Clone, PartialEq)]
pub struct Finished {
    /// files of the package
    pub package: Vec<NamedFile>,
    /// texts for the terminal
    pub said: Said,
}

/// Fingerprint of all that decides the answer of a search; `None` where it cannot be read twice.
pub fn question(options: &DesignOptions, general: &General) -> Result<Option<String>, Failure> {
    let Some(curve) = options.curve.as_deref().filter(|_| options.like.is_none()) else { return Ok(None) };
    // a stream is read once, and that by the search
    if [Some(curve), options.brief.as_deref()].into_iter().flatten().any(|path| !path.is_file()) {
        return Ok(None);
    }
    // every option that decides the answer; a new one has to be looked at here
    let DesignOptions {
        curve: _,
        reading,
        brief,
        out: _,
        force: _,
        prefer,
        take,
        time_limit,
        like: _,
        thickness: _,
    } = options;
    let version = env!("CARGO_PKG_VERSION");
    let asked = (version, curve, reading, brief, prefer, take, time_limit, general.units);
    let asked = format!("{asked:?}");
    let mut bytes = asked.into_bytes();
    for path in [Some(curve), brief.as_deref()].into_iter().flatten() {
        bytes.extend(fingerprint(&files::read(path)?).into_bytes());
    }
    Ok(Some(fingerprint(&bytes)))
}

/// The finished search that an earlier run with the same question could not write, as long as nobody has changed it.
pub fn saved(out: &Path, question: &str) -> Option<Finished> {
    let mut package = folder::saved(out, question)?;
    let place = package.iter().position(|file| file.name == SAID)?;
    let said = serde_json::from_slice(&package.remove(place).bytes).ok()?;
    Some(Finished { package, said })
}

impl Finished {
    /// Keeps the search where a later run with the same question finds it; the message names the place.
    pub fn save(&self, out: &Path, contents: &Contents, question: Option<&str>, failure: Failure) -> Failure {
        let mut package = self.package.clone();
        if let (Some(_), Ok(bytes)) = (question, serde_json::to_vec(&self.said)) {
            package.push(NamedFile { name: SAID.to_owned(), bytes });
        }
        folder::saved_elsewhere(out, question.unwrap_or(&contents.spring), &package, contents, failure)
    }

    /// The summary as it is printed with `--json`.
    pub fn print_summary(&self) -> Result<(), Failure> {
        let summary = self.package.iter().find(|file| file.name == "summary.json");
        summary.map_or(Ok(()), |file| terminal::print_bytes(&file.bytes))
    }
}
