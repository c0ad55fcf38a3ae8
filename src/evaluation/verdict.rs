//! A verdict: one question about a spring, answered.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::checks::Finding;

/// State of a verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum VerdictState {
    /// as asked
    #[serde(rename = "yes")]
    Yes,
    /// not as asked
    #[serde(rename = "no")]
    No,
    /// asked, but the data do not suffice
    #[serde(rename = "not judged")]
    NotJudged,
    /// not asked
    #[serde(rename = "not asked")]
    NotAsked,
}

impl VerdictState {
    /// The state in words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::No => "no",
            Self::NotJudged => "not judged",
            Self::NotAsked => "not asked",
        }
    }

    /// Whether a spring in this state is not to be used as asked.
    pub fn fails(self) -> bool {
        matches!(self, Self::No | Self::NotJudged)
    }
}

/// One verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// state
    pub state: VerdictState,
    /// reason, short
    pub reason: String,
    /// value judged, in `unit`; none where it is no number
    pub value: Option<f64>,
    /// limit of the value, in `unit`, if there is one
    pub limit: Option<f64>,
    /// unit of value and limit
    pub unit: &'static str,
    /// place on the spring, or deflection
    #[serde(rename = "where")]
    pub place: String,
    /// change that helps; empty where none is needed
    pub remedy: String,
}

impl Verdict {
    /// Without numbers.
    pub(super) fn new(state: VerdictState, reason: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            state,
            reason: reason.into(),
            value: None,
            limit: None,
            unit: "",
            place: String::new(),
            remedy: remedy.into(),
        }
    }

    pub(super) fn yes(reason: impl Into<String>) -> Self {
        Self::new(VerdictState::Yes, reason, "")
    }

    pub(super) fn not_asked(reason: impl Into<String>) -> Self {
        Self::new(VerdictState::NotAsked, reason, "")
    }

    /// From the finding of a failed check.
    pub(super) fn failed(finding: &Finding) -> Self {
        Self {
            state: VerdictState::No,
            reason: finding.headline(),
            value: finding.value,
            limit: finding.limit,
            unit: finding.unit,
            place: finding.place.clone(),
            remedy: finding.remedy.clone(),
        }
    }

    /// With the value judged and its limit.
    #[must_use]
    pub(super) fn with(self, value: f64, limit: Option<f64>, unit: &'static str) -> Self {
        let finite = |value: f64| value.is_finite().then_some(value);
        Self { value: finite(value), limit: limit.and_then(finite), unit, ..self }
    }

    /// With the place.
    #[must_use]
    pub(super) fn at(self, place: impl Into<String>) -> Self {
        Self { place: place.into(), ..self }
    }
}

/// A verdict with its name in files and on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedVerdict {
    /// key in files: `keeps_height`
    pub name: &'static str,
    /// name in texts: "keeps height"
    pub label: &'static str,
    /// the verdict
    pub verdict: Verdict,
}

/// All verdicts on one spring, in a fixed order. Serialized as a map from name to verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdicts(pub Vec<NamedVerdict>);

impl Verdicts {
    /// Whether everything asked is yes.
    pub fn passed(&self) -> bool {
        !self.0.iter().any(|named| named.verdict.state.fails())
    }

    /// Verdicts that are no or not judged.
    pub fn failing(&self) -> impl Iterator<Item = &NamedVerdict> {
        self.0.iter().filter(|named| named.verdict.state.fails())
    }

    /// Names of the verdicts that are no or not judged.
    pub fn failed(&self) -> Vec<&'static str> {
        self.failing().map(|named| named.name).collect()
    }

    /// Replaces the remedy of those named verdicts that are no.
    pub(super) fn set_remedy(&mut self, names: &[&str], remedy: &str) {
        for named in self.0.iter_mut().filter(|named| names.contains(&named.name)) {
            if named.verdict.state == VerdictState::No {
                remedy.clone_into(&mut named.verdict.remedy);
            }
        }
    }

    /// The verdict of a name.
    pub fn get(&self, name: &str) -> Option<&Verdict> {
        self.0.iter().find(|named| named.name == name).map(|named| &named.verdict)
    }

    /// The result in words, the same in terminal, report, page and files.
    pub fn outcome(&self) -> String {
        let listed = |list: Vec<String>| list.join(", ");
        if self.passed() {
            let yes = self.0.iter().filter(|named| named.verdict.state == VerdictState::Yes);
            return format!(
                "passed, every verdict asked for is yes ({})",
                listed(yes.map(|named| named.label.to_owned()).collect())
            );
        }
        let no = self.failing().map(|named| format!("{} {}", named.label, named.verdict.state.word()));
        format!("not passed: {}", listed(no.collect()))
    }
}

impl Serialize for Verdicts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for named in &self.0 {
            map.serialize_entry(named.name, &named.verdict)?;
        }
        map.end()
    }
}
