//! A file of one kind where another is expected, named by its kind.

use std::path::Path;

use super::failure::Failure;
use crate::spec::{AssemblyFile, Brief, SpringFile};

/// Kind of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// a force-deflection curve
    Curve,
    /// requirements besides a curve
    Brief,
    /// a spring
    Spring,
    /// an assembly of springs
    Assembly,
    /// an outline
    Drawing,
    /// something else that a package holds
    Other(&'static str),
}

impl Kind {
    /// By the name of the file and, of TOML, by what it holds; none where neither tells.
    fn of(path: &Path, bytes: &[u8]) -> Option<Self> {
        let extension = path.extension()?.to_str()?.to_ascii_lowercase();
        let text = std::str::from_utf8(bytes).unwrap_or_default();
        match extension.as_str() {
            "csv" | "tsv" => Some(Self::Curve),
            "dxf" => Some(Self::Drawing),
            "svg" | "png" => Some(Self::Other("a picture")),
            "stl" => Some(Self::Other("a solid (STL)")),
            "html" => Some(Self::Other("a page to read in a browser")),
            "json" => Some(Self::Other("a summary (JSON)")),
            "toml" if SpringFile::parse(text, "").is_ok() => Some(Self::Spring),
            "toml" if AssemblyFile::parse(text, "").is_ok() => Some(Self::Assembly),
            "toml" if Brief::parse(text, "").is_ok() => Some(Self::Brief),
            _ => None,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Curve => "a force-deflection curve (CSV)",
            Self::Brief => "a brief (TOML)",
            Self::Spring => "a spring file (TOML)",
            Self::Assembly => "an assembly of springs (TOML)",
            Self::Drawing => "a drawing (DXF)",
            Self::Other(words) => words,
        }
    }

    /// Remedy for a file of this kind where `wanted` is meant.
    fn remedy(self, wanted: Self) -> &'static str {
        match (wanted, self) {
            (Self::Spring, Self::Curve) => {
                "flatspire design CURVE.csv makes a spring for a curve; give the spring.toml it writes"
            }
            (Self::Spring, Self::Brief) => {
                "flatspire design CURVE.csv --brief BRIEF.toml makes a spring; give the spring.toml it writes"
            }
            (Self::Spring, Self::Assembly) => {
                "predict, flat, scatter, correct, compare, outline and serve take assemblies; give the spring.toml in the folder of \
                 one of its members"
            }
            (Self::Spring, Self::Drawing) => {
                "predict and flat take drawings; give the spring.toml that it was drawn from"
            }
            (Self::Curve, Self::Assembly) => {
                "give the curve it was designed for (CSV); predict, flat, scatter, correct, compare, outline and serve take assemblies"
            }
            (Self::Spring, _) => "give the spring.toml of the package",
            (Self::Brief, Self::Spring) => {
                "a spring file is not a brief; leave --brief out, or write a brief"
            }
            (Self::Brief, _) => "leave --brief out, or write a brief",
            _ => "give a table of deflection and force, with a header",
        }
    }

    /// The failure that names what the file is, where it is of another kind than `wanted`.
    pub fn mistaken(path: &Path, bytes: &[u8], wanted: Self) -> Option<Failure> {
        let found = Self::of(path, bytes).filter(|found| *found != wanted)?;
        Some(Failure::OtherKind {
            path: path.to_owned(),
            found: found.words(),
            expected: wanted.words(),
            remedy: found.remedy(wanted),
        })
    }
}
