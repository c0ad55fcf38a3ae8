//! Assemblies of discs: the requirements in a brief, and the file that names the members.

use serde::{Deserialize, Serialize};

use super::SpecError;
use super::error::Reader;
use super::sections::Fit;
use super::spring_file::Target;

/// Format of the assembly file.
const FORMAT: u32 = 1;
/// Most equal discs of one member.
const MOST_DISCS: usize = 20;

/// Kind of assembly that a brief allows.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AssemblyWish {
    /// one disc where one suffices, else the simplest assembly that suffices
    #[default]
    Any,
    /// one disc
    Single,
    /// discs back to back: deflections add at equal force
    Series,
    /// equal discs nested in each other: forces add at equal deflection
    Parallel,
    /// one hub between two plates, a disc on each side
    Opposed,
    /// an opposed pair with a third disc in series
    #[serde(rename = "opposed-series")]
    OpposedSeries,
}

/// Most discs in all where a brief does not say.
const DISCS_MAX: usize = 2;
/// Discs of an opposed pair with a third one in series.
const OPPOSED_SERIES_DISCS: usize = 3;

/// Assemblies that a brief allows.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct AssemblyChoice {
    /// kind of assembly; when left out one disc where one suffices
    pub kind: AssemblyWish,
    /// most discs in all; when left out 2, and 3 where no pair has the wanted curve
    #[serde(skip_serializing_if = "Option::is_none")]
    pub discs_max: Option<usize>,
    /// largest height between the plates at rest, everything included (mm)
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height_max: Option<f64>,
}

impl AssemblyChoice {
    /// Most discs in all.
    pub fn discs_max(&self) -> usize {
        self.discs_max.unwrap_or(DISCS_MAX)
    }

    /// Whether an opposed pair may have a third disc in series.
    pub fn third_disc(&self) -> bool {
        matches!(self.kind, AssemblyWish::Any | AssemblyWish::OpposedSeries)
            && self.discs_max.is_none_or(|most| most >= OPPOSED_SERIES_DISCS)
    }

    pub(crate) fn check(&self, reader: &Reader) -> Result<(), SpecError> {
        reader.positive_if_given("assembly.height_max", self.height_max, "give it in mm")?;
        match self.discs_max {
            Some(count) if self.kind == AssemblyWish::OpposedSeries && count < OPPOSED_SERIES_DISCS => {
                Err(SpecError::value(
                    reader.file,
                    "assembly.discs_max",
                    count,
                    "3 or more with kind \"opposed-series\"",
                    "allow three discs, or choose another kind",
                ))
            }
            Some(count) if !(1..=MOST_DISCS).contains(&count) => Err(SpecError::value(
                reader.file,
                "assembly.discs_max",
                count,
                format!("1 to {MOST_DISCS}"),
                "give the number of discs that may be stacked",
            )),
            _ => Ok(()),
        }
    }
}

/// Kind of an assembly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AssemblyKind {
    /// deflections add at equal force
    Series,
    /// forces add at equal deflection
    Parallel,
    /// one hub between two plates, a disc on each side
    Opposed,
    /// an opposed pair with a third disc in series: the deflection of its hub and that of the third disc add at equal
    /// force
    #[serde(rename = "opposed-series")]
    OpposedSeries,
}

impl AssemblyKind {
    /// The kind in words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Series => "series",
            Self::Parallel => "parallel",
            Self::Opposed => "opposed",
            Self::OpposedSeries => "opposed-series",
        }
    }

    /// Whether two of its discs are set against each other on one hub.
    pub fn has_pair(self) -> bool {
        matches!(self, Self::Opposed | Self::OpposedSeries)
    }

    /// Sides of its members in their order; empty where they have none.
    pub fn sides(self) -> &'static [Side] {
        match self {
            Self::Series | Self::Parallel => &[],
            Self::Opposed => &[Side::A, Side::B],
            Self::OpposedSeries => &[Side::A, Side::B, Side::C],
        }
    }
}

/// Arrangement of equal discs in one member.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Stacking {
    /// back to back: deflections add
    #[default]
    Series,
    /// nested: forces add
    Parallel,
}

/// Place in an assembly with an opposed pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// resists the load
    A,
    /// pushes with the load
    B,
    /// between the load and the hub of the pair
    C,
}

impl Side {
    /// The letter in the file.
    pub fn letter(self) -> &'static str {
        match self {
            Self::A => "a",
            Self::B => "b",
            Self::C => "c",
        }
    }
}

/// One member: a disc or a stack of equal discs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AssemblyMember {
    /// folder with the member's `spring.toml`, beside the assembly file
    pub folder: String,
    /// side of an opposed pair, or the third disc
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// number of equal discs
    #[serde(default = "one")]
    pub count: usize,
    /// arrangement of the equal discs; left out with one disc
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stacked: Option<Stacking>,
    /// deflection of one disc at rest (mm)
    #[serde(default)]
    pub installed: f64,
    /// thickness of the spacers of this member in all (mm)
    #[serde(default)]
    pub spacer: f64,
}

fn one() -> usize {
    1
}

/// An assembly, as `assembly.toml` has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AssemblyFile {
    /// version of the format
    #[serde(default = "format")]
    pub format: u32,
    /// kind
    pub kind: AssemblyKind,
    /// height between the plates at rest, everything included (mm)
    pub height: f64,
    /// members
    pub member: Vec<AssemblyMember>,
    /// limits that the brief set
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assembly: Option<AssemblyChoice>,
    /// fit asked for
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fit: Option<Fit>,
    /// curve asked for, deflection from where the assembly rests
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<Target>,
}

fn format() -> u32 {
    FORMAT
}

impl AssemblyFile {
    /// Number of discs in all.
    pub fn discs(&self) -> usize {
        self.member.iter().map(|member| member.count).sum()
    }

    /// Reads and checks an assembly file; `file` is the name to use in messages.
    pub fn parse(text: &str, file: &str) -> Result<Self, SpecError> {
        let assembly: Self = toml::from_str(text).map_err(|error| SpecError::syntax(file, &error, text))?;
        assembly.check(file)?;
        Ok(assembly)
    }

    /// The file's text, the same bytes for the same assembly.
    pub fn to_toml(&self) -> String {
        // every field is a number, a string, a list or a table of those: writing cannot fail
        toml::to_string(self).unwrap_or_default()
    }

    /// The first invalid value, if any.
    pub fn check(&self, file: &str) -> Result<(), SpecError> {
        let reader = Reader { file };
        reader.format(self.format, FORMAT)?;
        reader.positive("height", self.height, "give the height between the plates at rest in mm")?;
        for member in &self.member {
            if !(1..=MOST_DISCS).contains(&member.count) {
                let expected = format!("1 to {MOST_DISCS}");
                return Err(SpecError::value(
                    file,
                    "member.count",
                    member.count,
                    expected,
                    "change the number",
                ));
            }
            reader.not_negative("member.installed", Some(member.installed), "give it in mm")?;
            reader.not_negative("member.spacer", Some(member.spacer), "give it in mm")?;
            if member.folder.is_empty() || member.folder.starts_with('/') || member.folder.contains("..") {
                return Err(SpecError::value(
                    file,
                    "member.folder",
                    format!("\"{}\"", member.folder),
                    "the name of a folder beside this file",
                    "name the folder that holds the member's spring.toml",
                ));
            }
        }
        self.check_sides(file)?;
        self.assembly.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.fit.as_ref().map_or(Ok(()), |part| part.check(&reader))?;
        self.target.as_ref().map_or(Ok(()), |part| part.check(&reader))
    }

    fn check_sides(&self, file: &str) -> Result<(), SpecError> {
        let sides: Vec<Option<Side>> = self.member.iter().map(|member| member.side).collect();
        let expected = self.kind.sides();
        let fits = match expected {
            [] => !sides.is_empty() && sides.iter().all(Option::is_none),
            _ => sides.iter().copied().eq(expected.iter().map(|side| Some(*side))),
        };
        if !fits {
            return Err(SpecError::value(
                file,
                "member.side",
                format!("{} members of kind \"{}\"", sides.len(), self.kind.name()),
                "an \"a\" and a \"b\", in this order, in an opposed pair; an \"a\", a \"b\" and a \"c\" in kind \
                 \"opposed-series\"; no side in series and parallel",
                "correct kind or sides",
            ));
        }
        let Some(third) = self.member.iter().find(|member| member.side == Some(Side::C)) else {
            return Ok(());
        };
        if let Some(stack) = self.member.iter().find(|member| member.count != 1) {
            return Err(SpecError::value(
                file,
                "member.count",
                format!("{} in folder \"{}\"", stack.count, stack.folder),
                "1 for each member of kind \"opposed-series\"",
                "take single discs, or kind \"opposed\" without the third disc",
            ));
        }
        if third.installed > 0.0 {
            return Err(SpecError::value(
                file,
                "member.installed",
                format!("{} on side \"c\"", third.installed),
                "0 on side \"c\": only the load presses this disc",
                "remove it, and preload the pair by its own discs",
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
format = 1
kind = "opposed"
height = 14.2
[[member]]
folder = "disc-a"
side = "a"
installed = 9.98
[[member]]
folder = "disc-b"
side = "b"
count = 2
stacked = "series"
installed = 3.1
spacer = 1.5
"#;

    #[test]
    fn an_assembly_reads_back_the_same() {
        let assembly = AssemblyFile::parse(TEXT, "assembly.toml").unwrap();
        assert_eq!(assembly.discs(), 3);
        assert_eq!(AssemblyFile::parse(&assembly.to_toml(), "again.toml").unwrap(), assembly);
    }

    #[test]
    fn a_third_disc_is_single_and_loose_at_rest() {
        let pair = TEXT.replace("count = 2\nstacked = \"series\"\n", "");
        let third = "[[member]]\nfolder = \"disc-c\"\nside = \"c\"\nspacer = 9.0\n";
        let text = pair.replace("kind = \"opposed\"", "kind = \"opposed-series\"") + third;
        let assembly = AssemblyFile::parse(&text, "assembly.toml").unwrap();
        assert_eq!((assembly.kind, assembly.discs()), (AssemblyKind::OpposedSeries, 3));
        assert_eq!(AssemblyFile::parse(&assembly.to_toml(), "again.toml").unwrap(), assembly);
        for (more, key) in [("installed = 0.5\n", "member.installed"), ("count = 2\n", "member.count")] {
            let message =
                AssemblyFile::parse(&format!("{text}{more}"), "assembly.toml").unwrap_err().to_string();
            assert!(message.contains(key) && message.contains("c\""), "{message}");
        }
        let message =
            AssemblyFile::parse(&format!("{pair}{third}"), "assembly.toml").unwrap_err().to_string();
        assert!(message.contains("member.side") && message.contains("3 members"), "{message}");
    }

    #[test]
    fn sides_that_do_not_fit_the_kind_are_refused_by_name() {
        for (found, other) in [("kind = \"opposed\"", "kind = \"series\""), ("side = \"b\"", "side = \"a\"")]
        {
            let message = AssemblyFile::parse(&TEXT.replace(found, other), "assembly.toml").unwrap_err();
            assert!(message.to_string().contains("member.side"), "{message}");
        }
    }
}
