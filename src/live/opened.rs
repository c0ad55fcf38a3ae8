//! A file dropped on the page: read as the commands read it, or refused by what it is.

use serde::Serialize;

use super::LiveError;
use super::asked::CurveGiven;
use crate::curve::{self, is_bench_sheet};
use crate::layout::Spring;
use crate::spec::{AssemblyFile, Brief, SpringFile};

/// Content of a file that the page can show.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Opened {
    /// a force-deflection curve
    Curve {
        /// its points
        curve: CurveGiven,
    },
    /// a brief
    Brief {
        /// its keys
        brief: Box<Brief>,
    },
    /// a spring
    Spring {
        /// the spring
        spring: Box<SpringFile>,
        /// the curve in its file; none where the file holds none
        curve: Option<CurveGiven>,
        /// the brief that allows this spring
        brief: Box<Brief>,
    },
    /// an assembly; its members' files come along with the folder alone
    Assembly {
        /// folders of its members
        folders: Vec<String>,
    },
}

/// First bytes of files that are no text, their name and the way to what the page takes.
const SIGNATURES: [(&[u8], &str, &str); 7] = [
    (b"\x89PNG", "a picture (PNG)", PICTURE),
    (b"\xff\xd8\xff", "a picture (JPEG)", PICTURE),
    (b"GIF8", "a picture (GIF)", PICTURE),
    (b"RIFF", "a picture or a recording (RIFF)", PICTURE),
    (b"%PDF", "a sheet (PDF)", "drop the spring.toml of the same package"),
    (b"PK\x03\x04", "an archive (ZIP)", "unpack it and drop the spring.toml or the folder in it"),
    (b"\x1f\x8b", "an archive (gzip)", "unpack it and drop the file in it"),
];
const PICTURE: &str = "read the curve off the picture and give it as a table of deflection and force, \
                       or sketch it on the chart";

impl Opened {
    /// Of a file's bytes; `name` stands in messages.
    pub fn read(bytes: &[u8], name: &str) -> Result<Self, LiveError> {
        let refuse = |found: &'static str, remedy: &'static str| {
            Err(LiveError::OtherKind { file: name.to_owned(), found, remedy })
        };
        if let Some((_, found, remedy)) = SIGNATURES.iter().find(|(first, ..)| bytes.starts_with(first)) {
            return refuse(found, remedy);
        }
        if bytes.iter().all(u8::is_ascii_whitespace) {
            return refuse("an empty file", "save it again from the program it comes from");
        }
        let extension = name.rsplit_once('.').map(|(_, end)| end.to_ascii_lowercase()).unwrap_or_default();
        let start = String::from_utf8_lossy(&bytes[..bytes.len().min(4096)]);
        let start = start.trim_start_matches('\u{feff}').trim_start();
        match extension.as_str() {
            "toml" => return Self::toml(bytes, name),
            "svg" => return refuse("a drawing or a picture (SVG)", PICTURE),
            "stl" | "step" | "stp" => {
                return refuse("a solid", "drop the spring.toml of the same package");
            }
            "json" => {
                return refuse(
                    "a JSON file that is no saved page",
                    "drop the spring.toml of the same package, or a page saved by \"Save this page\"",
                );
            }
            _ => {}
        }
        if extension == "dxf" || is_dxf(start) {
            return refuse(
                "a drawing (DXF)",
                "a drawing says nothing of sheet and height: flatspire flat DRAWING.dxf --like SPRING.toml judges it",
            );
        }
        if start.starts_with('<') {
            return refuse(
                "a page or a picture in marked-up text",
                "drop the spring.toml of the same package",
            );
        }
        if is_bench_sheet(bytes) {
            return refuse(
                "a bench sheet with readings of cut parts",
                "flatspire correct SPRING.toml BENCH.csv explains it and cuts the spring again",
            );
        }
        Ok(Self::Curve { curve: CurveGiven::of(&curve::read(bytes, name)?) })
    }

    fn toml(bytes: &[u8], name: &str) -> Result<Self, LiveError> {
        let Ok(text) = std::str::from_utf8(bytes) else {
            return Err(LiveError::OtherKind {
                file: name.to_owned(),
                found: "no text in UTF-8",
                remedy: "save it as UTF-8",
            });
        };
        let text = text.trim_start_matches('\u{feff}');
        let has = |table: &str| text.lines().any(|line| line.trim() == table);
        // what a file means to be shows in its tables, so that the message is about that
        if has("[[member]]") {
            let file = AssemblyFile::parse(text, name)?;
            return Ok(Self::Assembly {
                folders: file.member.iter().map(|member| member.folder.clone()).collect(),
            });
        }
        if !has("[disc]") {
            return Ok(Self::Brief { brief: Box::new(Brief::parse(text, name)?) });
        }
        let file = SpringFile::parse(text, name)?;
        if file.arm.stations.is_some() {
            return Err(LiveError::OtherKind {
                file: name.to_owned(),
                found: "a spring whose arm stands in a second file (arm.stations)",
                remedy: "give arm.radius and arm.width instead, or use flatspire flat SPRING.toml",
            });
        }
        let spring = Spring::from_file(&file, None)
            .map_err(|source| LiveError::Saved { place: name.to_owned(), source: Box::new(source.into()) })?;
        let target = file.target.as_ref().map(|target| target.curve(name)).transpose()?.flatten();
        Ok(Self::Spring {
            curve: target.as_ref().map(CurveGiven::of),
            brief: Box::new(brief_of(&file, &spring)),
            spring: Box::new(spring.to_file()),
        })
    }
}

/// The brief that allows a spring: what its file repeats, its sheet, its number of arms and its slot.
fn brief_of(file: &SpringFile, spring: &Spring) -> Brief {
    let mut brief = file.brief();
    let sheet = &file.sheet;
    brief.sheet.material.clone_from(&sheet.material);
    brief.sheet.thickness = Some(vec![sheet.thickness]);
    brief.sheet.youngs_modulus = sheet.youngs_modulus;
    brief.sheet.shear_modulus = sheet.shear_modulus;
    brief.sheet.tensile_strength = sheet.tensile_strength;
    brief.sheet.yield_strength = sheet.yield_strength;
    brief.sheet.density = sheet.density;
    brief.arms.count = Some(vec![spring.arms]);
    brief.process.kind = Some(brief.process.kind());
    brief.process.slot = Some(spring.slot);
    brief.former.law = Some(file.former.law);
    brief
}

/// Whether a text begins as an ASCII drawing does (DXF reference: group 0, SECTION).
fn is_dxf(start: &str) -> bool {
    let mut lines = start.lines().map(str::trim);
    (lines.next(), lines.next()) == (Some("0"), Some("SECTION"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPRING: &str = include_str!("../../examples/brake_cut.toml");

    fn refusal(bytes: &[u8], name: &str) -> String {
        Opened::read(bytes, name).unwrap_err().to_string()
    }

    #[test]
    fn a_spring_comes_with_its_curve_and_a_brief_that_allows_it() {
        let Opened::Spring { spring, curve, brief } = Opened::read(SPRING.as_bytes(), "mine.toml").unwrap()
        else {
            panic!("a spring is no spring")
        };
        let file = SpringFile::parse(SPRING, "mine.toml").unwrap();
        assert_eq!((spring.disc.arms, spring.sheet.thickness), (file.disc.arms, file.sheet.thickness));
        assert_eq!(
            curve.map(|curve| curve.deflection_mm),
            file.target.as_ref().and_then(|target| target.deflection.clone())
        );
        assert_eq!(brief.sheet.thickness, Some(vec![file.sheet.thickness]));
        brief.check("brief.toml").unwrap();
    }

    #[test]
    fn files_of_other_kinds_are_refused_by_what_they_are() {
        for (bytes, name, words) in [
            (&b"\x89PNG\r\n\x1a\n"[..], "photo.csv", "a picture (PNG)"),
            (b"  \n", "curve.csv", "an empty file"),
            (b"  0\nSECTION\n  2\nHEADER\n", "part", "flatspire flat DRAWING.dxf --like"),
            (b"quantity,at_mm,branch,part 1\n", "bench.csv", "flatspire correct SPRING.toml"),
            (b"PK\x03\x04rest", "spring.zip", "unpack it"),
            (b"<html>", "report.html", "spring.toml"),
            (b"{}", "summary.json", "no saved page"),
            (b"[disc]\narms = 2\n", "spring.toml", "spring.toml: "),
            (b"[sheet]\nthicknes = 2\n", "brief.toml", "thicknes"),
        ] {
            let said = refusal(bytes, name);
            assert!(said.starts_with(name) && said.contains(words), "{said}");
        }
    }
}
