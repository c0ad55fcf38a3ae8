//! An assembly dropped on the page: judged and drawn as the commands do, its discs' packages to take along.

use serde::{Deserialize, Serialize};

use super::LiveError;
use super::archive;
use crate::curve::TargetCurve;
use crate::evaluation::{Asked, AssembledEvaluation, AssembledMember, AssembledSummary, Evaluation, Extent};
use crate::layout::Spring;
use crate::package::{NamedFile, assembled_chart, cautions};
use crate::plot::{ChartPicture, PageSize, Units};
use crate::report::{section, spring_package};
use crate::spec::{AssemblyFile, SpringFile};

/// Size of the force-deflection picture (points).
const CHART: PageSize = PageSize { width: 460.0, height: 330.0 };
/// Most members of an assembly on the page.
const MOST_MEMBERS: usize = 12;

/// An assembly and its members as texts of their files.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AssemblyGiven {
    /// name of the assembly file
    name: String,
    /// its text
    text: String,
    /// its members' spring files
    members: Vec<MemberGiven>,
}

/// One member.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct MemberGiven {
    /// its folder
    folder: String,
    /// the text of its spring file
    text: String,
}

/// An assembly as the page shows it. Keys as in a summary wherever the same is said.
#[derive(Debug, Clone, Serialize)]
pub struct AssemblyShown {
    /// verdicts and numbers
    #[serde(flatten)]
    pub summary: AssembledSummary,
    /// result in words
    pub outcome: String,
    /// section free, at rest, halfway and closed, as SVG
    pub sections: String,
    /// force over deflection, as SVG
    pub chart: String,
    /// cautions to heed
    pub cautions: Vec<String>,
}

/// Refusal of a target that is named and not given.
fn elsewhere(file: &str) -> LiveError {
    LiveError::OtherKind {
        file: file.to_owned(),
        found: "a file whose target stands in a second file (target.file)",
        remedy: "give target.deflection and target.force in it, or use flatspire flat FOLDER",
    }
}

impl AssemblyGiven {
    /// From the name and the text of an assembly file, and the texts of its members' spring files by folder.
    pub fn new(name: String, text: String, springs: Vec<(String, String)>) -> Self {
        let members = springs.into_iter().map(|(folder, text)| MemberGiven { folder, text }).collect();
        Self { name, text, members }
    }

    fn file(&self) -> Result<AssemblyFile, LiveError> {
        Ok(AssemblyFile::parse(&self.text, &self.name)?)
    }

    /// The spring file of a folder.
    fn member(&self, folder: &str) -> Result<(SpringFile, Option<TargetCurve>), LiveError> {
        let name = format!("{folder}/spring.toml");
        let given =
            self.members.iter().find(|member| member.folder == folder).ok_or_else(|| {
                LiveError::MemberMissing { file: self.name.clone(), folder: folder.to_owned() }
            })?;
        let file = SpringFile::parse(&given.text, &name)?;
        let target = file.target.as_ref().map(|target| target.curve(&name)).transpose()?.flatten();
        if file.target.is_some() && target.is_none() {
            return Err(elsewhere(&name));
        }
        Ok((file, target))
    }

    /// The evaluation that `flat` makes of the assembly.
    fn evaluation(&self) -> Result<AssembledEvaluation, LiveError> {
        let file = self.file()?;
        if file.member.len() > MOST_MEMBERS {
            return Err(LiveError::ManyMembers {
                file: self.name.clone(),
                found: file.member.len(),
                most: MOST_MEMBERS,
            });
        }
        let mut members = Vec::new();
        for member in &file.member {
            let (spring_file, target) = self.member(&member.folder)?;
            let spring = Spring::from_file(&spring_file, None)?;
            let asked = Asked::of(&spring_file, target.as_ref()).to_extent(Extent::WithoutParts);
            members.push(AssembledMember {
                member: member.clone(),
                evaluation: Evaluation::of(&spring, asked)?,
            });
        }
        let target =
            file.target.as_ref().map(|target| target.curve_both_sides(&self.name)).transpose()?.flatten();
        if file.target.is_some() && target.is_none() {
            return Err(elsewhere(&self.name));
        }
        Ok(AssembledEvaluation::of(&file, members, target, Extent::WithoutParts)?)
    }

    /// The assembly as the page shows it.
    pub fn shown(&self, units: Units) -> Result<AssemblyShown, LiveError> {
        let evaluation = self.evaluation()?;
        let chart = ChartPicture::of(&assembled_chart(&evaluation)?, units, CHART)?;
        Ok(AssemblyShown {
            outcome: evaluation.verdicts.outcome(),
            sections: section(&evaluation, units)?.svg(),
            chart: chart.picture.svg(),
            cautions: cautions(&evaluation),
            summary: AssembledSummary::of(&evaluation, &[]),
        })
    }

    /// The assembly file, and for each disc the files that `flat --package` writes of its spring file, in an archive.
    pub fn files(&self, units: Units) -> Result<Vec<u8>, LiveError> {
        let assembly = self.file()?;
        let mut files = vec![NamedFile::new("assembly.toml", self.text.clone().into_bytes())];
        let mut done: Vec<&str> = Vec::new();
        for member in &assembly.member {
            let folder = member.folder.as_str();
            if done.contains(&folder) {
                continue;
            }
            done.push(folder);
            let (file, target) = self.member(folder)?;
            let spring = Spring::from_file(&file, None)?;
            let evaluation = Evaluation::of(&spring, Asked::of(&file, target.as_ref()))?;
            for NamedFile { name, bytes } in spring_package(&file, &evaluation, units)? {
                files.push(NamedFile { name: format!("{folder}/{name}"), bytes });
            }
        }
        archive("assembly", &files)
    }
}
