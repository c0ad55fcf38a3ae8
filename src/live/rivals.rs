//! The spring on the page beside the best of constant width and the best linear taper in its circles.

use serde::{Deserialize, Serialize};

use super::LiveError;
use super::asked::Asked;
use super::draft::{Depth, draft};
use super::picture::Picture;
use super::replies::parse;
use crate::compare::{CompareSettings, Kind, compare};
use crate::layout::Spring;
use crate::spec::SpringFile;
use crate::synthesis::wanted;

/// A comparison that is asked for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RivalsAsked {
    /// the question
    pub asked: Asked,
    /// the spring on the page
    pub spring: SpringFile,
}

/// The other springs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rivals {
    /// each as the page draws it
    pub springs: Vec<Rival>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rival {
    /// kind, in words
    pub title: &'static str,
    /// the spring
    pub picture: Picture,
}

impl RivalsAsked {
    /// From the body of a request.
    pub fn parse(body: &[u8]) -> Result<Self, LiveError> {
        parse(body)
    }

    /// Finds them.
    pub fn rivals(&self) -> Result<Rivals, LiveError> {
        let question = self.asked.question()?;
        self.spring.check("the spring drawn last")?;
        let spring = Spring::from_file(&self.spring, None)?;
        // a curve without a force cannot be compared
        wanted(&question.target, &question.brief)?;
        let settings = CompareSettings::of(&spring, &question.target, &question.brief);
        let comparison = compare(&spring, &question.target, &settings)?;
        let mut springs = Vec::new();
        for contender in comparison.springs.iter().filter(|contender| contender.kind != Kind::Tapered) {
            let other = Spring::from_file(&contender.spring, None)?;
            let judged = draft(&question, Some(&other), Depth::AsIs)?;
            springs.push(Rival { title: contender.kind.name(), picture: Picture::of(&judged) });
        }
        Ok(Rivals { springs })
    }
}
