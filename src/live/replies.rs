//! Requests of the page and their answers.

use serde::{Deserialize, Serialize};

use super::asked::{Asked, CurveGiven};
use super::assembled::AssemblyGiven;
use super::draft::{Depth, draft_unless};
use super::picture::Picture;
use super::{LiveError, archive};
use crate::curve;
use crate::layout::Spring;
use crate::material::{processes, stock};
use crate::package::NamedFile;
use crate::pipeline::Answer;
use crate::plot::Units;
use crate::spec::{Brief, SpringFile};
use crate::synthesis::Merits;

/// The curve and the brief that a page opens with where none are given.
const EXAMPLE_CURVE: &str = include_str!("../../examples/gentle.csv");
const EXAMPLE_BRIEF: &str = include_str!("../../examples/pedal.toml");

/// A sheet to choose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetOffered {
    /// its name
    pub name: &'static str,
    /// what it is
    pub description: &'static str,
    /// thicknesses it is offered in (mm)
    pub thicknesses: &'static [f64],
}

/// A process to choose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProcessOffered {
    /// its name
    pub name: &'static str,
    /// what it is
    pub description: &'static str,
}

/// Content that a page opens with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Opening {
    /// the question to begin with
    pub asked: Asked,
    /// whether it is the example that comes with the program
    pub example: bool,
    /// sheets known
    pub sheets: Vec<SheetOffered>,
    /// processes known
    pub processes: Vec<ProcessOffered>,
    /// units to begin with: `mm-n` or `in-lbf`
    pub units: &'static str,
    /// assembly to show first; none where none was given
    pub assembly: Option<AssemblyGiven>,
}

impl Opening {
    /// With a question of the user's, or with the example.
    pub fn of(given: Option<Asked>, units: Units) -> Result<Self, LiveError> {
        let example = given.is_none();
        let mut asked = match given {
            Some(asked) => asked,
            None => Asked {
                curve: CurveGiven::of(&curve::read(EXAMPLE_CURVE.as_bytes(), "the example")?),
                brief: Brief::parse(EXAMPLE_BRIEF, "the example")?,
            },
        };
        // the page shows the process that is taken
        asked.brief.process.kind = Some(asked.brief.process.kind());
        Ok(Self {
            asked,
            example,
            sheets: stock()
                .iter()
                .map(|sheet| SheetOffered {
                    name: &sheet.name,
                    description: &sheet.description,
                    thicknesses: &sheet.thicknesses,
                })
                .collect(),
            processes: processes()
                .iter()
                .map(|process| ProcessOffered { name: &process.name, description: &process.description })
                .collect(),
            units: match units {
                Units::MillimetreNewton => "mm-n",
                Units::InchPound => "in-lbf",
            },
            assembly: None,
        })
    }
}

/// A draft that is asked for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DraftAsked {
    /// number of the page
    pub tab: String,
    /// its number among the page's requests, increasing
    pub number: u64,
    /// the question
    pub asked: Asked,
    /// the spring drawn last
    #[serde(default)]
    pub spring: Option<SpringFile>,
    /// the spring that a fine draft starts from, whatever was drawn meanwhile; none chooses sheet and size anew
    #[serde(default)]
    pub start: Option<SpringFile>,
    /// depth of the work
    #[serde(default)]
    pub depth: Depth,
}

impl DraftAsked {
    /// From the body of a request.
    pub fn parse(body: &[u8]) -> Result<Self, LiveError> {
        parse(body)
    }

    /// The draft as the page draws it, unless it comes too `late`.
    pub fn picture(&self, late: &dyn Fn() -> bool) -> Result<Picture, LiveError> {
        let question = self.asked.question()?;
        // the path of the hand leaves no trace in what it rests on: the same curve gives the same spring
        let from = if self.depth == Depth::Fine { &self.start } else { &self.spring };
        let previous = from.as_ref().map(|file| sound(file, "the spring drawn last")).transpose()?;
        let found = draft_unless(late, &question, previous.as_ref(), self.depth)?;
        Ok(Picture::of(&found))
    }
}

/// The spring of a file, checked; `name` stands in messages.
pub(super) fn sound(file: &SpringFile, name: &str) -> Result<Spring, LiveError> {
    file.check(name)?;
    Ok(Spring::from_file(file, None)?)
}

impl Asked {
    /// From the body of a request.
    pub fn parse(body: &[u8]) -> Result<Self, LiveError> {
        parse(body)
    }

    /// The question as files that `design` reads, in an archive.
    pub fn as_files(&self) -> Result<Vec<u8>, LiveError> {
        let named = |name: &str, text: String| NamedFile { name: name.to_owned(), bytes: text.into_bytes() };
        archive(
            "question",
            &[named("curve.csv", self.curve.to_csv()), named("brief.toml", self.brief_toml())],
        )
    }
}

/// The body of a request.
pub fn parse<T: for<'a> Deserialize<'a>>(body: &[u8]) -> Result<T, LiveError> {
    serde_json::from_slice(body).map_err(|error| LiveError::Request { message: error.to_string() })
}

/// One design of a search.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// numbers to compare it by
    pub merits: Merits,
    /// the spring, as in its file
    pub spring: SpringFile,
}

/// Result of a search of the stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Found {
    /// designs, best first
    pub designs: Vec<Candidate>,
    /// combinations evaluated
    pub considered: usize,
    /// whether the best one meets the curve and passes every check
    pub passed: bool,
    /// notes, a sentence each
    pub warnings: Vec<String>,
}

impl Found {
    /// From an answer.
    pub fn of(answer: &Answer) -> Self {
        let designs = answer
            .outcome
            .designs
            .iter()
            .map(|design| Candidate { merits: design.merits, spring: design.spring.to_file() })
            .collect();
        Self {
            designs,
            considered: answer.outcome.considered,
            passed: answer.evaluation.passed(),
            warnings: answer.summary.evaluation.warnings.clone(),
        }
    }
}
