//! The spring on the page as files to take along: the bytes that the command line writes for the same spring.

use serde::Deserialize;

use super::LiveError;
use super::archive;
use super::asked::Asked;
use super::draft::{Depth, draft};
use super::picture::Picture;
use super::replies::{parse, sound};
use crate::evaluation::{Asked as Question, Evaluation};
use crate::layout::Spring;
use crate::package::{NamedFile, files};
use crate::pipeline::{Answer, spring_file, take};
use crate::plot::Units;
use crate::report::{self, spring_package};
use crate::spec::SpringFile;
use crate::synthesis::wanted;

/// Longest name of a folder in an archive.
const LONGEST_NAME: usize = 40;

/// A spring on the page that is asked for as files.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenAsked {
    /// the question
    pub asked: Asked,
    /// the spring on the page
    pub spring: SpringFile,
}

/// Files of one spring.
#[derive(Debug, Clone)]
pub struct Taken(Vec<NamedFile>);

impl TakenAsked {
    /// From the body of a request.
    pub fn parse(body: &[u8]) -> Result<Self, LiveError> {
        parse(body)
    }

    /// The spring as the page draws it, judged as the commands judge it.
    pub fn picture(&self) -> Result<Picture, LiveError> {
        let question = self.asked.question()?;
        let spring = sound(&self.spring, "the spring to show")?;
        Ok(Picture::of(&draft(&question, Some(&spring), Depth::AsIs)?))
    }

    /// Place (from 1) of the spring among those that a search found for the same question.
    pub fn place(&self, answer: &Answer) -> Option<usize> {
        answer.outcome.designs.iter().position(|design| design.spring.to_file() == self.spring).map(|k| k + 1)
    }

    /// The files that `design --take` writes of the spring at a place of an answer.
    pub fn found(answer: &Answer, place: usize, units: Units) -> Result<Taken, LiveError> {
        let taken;
        let answer = if place == 1 {
            answer
        } else {
            taken = take(answer, place)?;
            &taken
        };
        let mut package = report::files(answer, units)?;
        package.extend(files(answer)?);
        Ok(Taken(package))
    }

    /// The files that `flat --package` writes of the spring's own file.
    pub fn as_it_stands(&self, units: Units) -> Result<Taken, LiveError> {
        let question = self.asked.question()?;
        self.spring.check("the spring on the page")?;
        let drawn = Spring::from_file(&self.spring, None)?;
        let (reach, _) = wanted(&question.target, &question.brief)?;
        let file = spring_file(&drawn, &question, reach.installed, &mut Vec::new());
        // what is written is what is read again: the command has nothing but the file
        let spring = Spring::from_file(&file, None)?;
        let target = file.target.as_ref().map(|target| target.curve("[target]")).transpose()?.flatten();
        let evaluation = Evaluation::of(&spring, Question::of(&file, target.as_ref()))?;
        Ok(Taken(spring_package(&file, &evaluation, units)?))
    }
}

impl Taken {
    /// All of them in an archive, in a folder.
    pub fn archive(&self, folder: &str) -> Result<Vec<u8>, LiveError> {
        let plain: String =
            folder.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').take(LONGEST_NAME).collect();
        archive(if plain.is_empty() { "spring" } else { &plain }, &self.0)
    }

    /// The bytes of one of them.
    pub fn file(&self, name: &str) -> Option<&[u8]> {
        self.0.iter().find(|file| file.name == name).map(|file| file.bytes.as_slice())
    }
}
