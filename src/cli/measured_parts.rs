//! Measured parts of the command line: curve files and bench sheets as evidence.

use super::arguments::CorrectOptions;
use super::failure::Failure;
use super::files;
use crate::curve::BranchChoice;
use crate::variation::{MeasuredPart, Readings};

/// The measured parts, and notes on how their files were read.
pub fn read(options: &CorrectOptions) -> Result<(Vec<MeasuredPart>, Vec<String>), Failure> {
    let branch: BranchChoice = options.reading.branch.map_or_else(Default::default, Into::into);
    let several = options.measured.len() > 1;
    let (mut parts, mut notes): (Vec<MeasuredPart>, Vec<String>) = Default::default();
    for path in &options.measured {
        let file = files::name(path);
        for (part, curves) in files::read_bench(path, &options.reading.choice())? {
            let mut readings = Vec::new();
            for curve in &curves {
                let told = curve.notes.iter();
                notes.extend(told.map(|note| if several { format!("{file}: {note}") } else { note.clone() }));
                readings.push(Readings::of_branch(curve, branch));
            }
            parts.push(MeasuredPart {
                name: part.name,
                thickness: part.thickness,
                arm_width: part.arm_width,
                free_height: part.free_height,
                curves: readings,
            });
        }
    }
    if options.same_part && parts.len() > 1 {
        parts = vec![joined(parts)];
    }
    let (found, count) = (options.thickness.len(), parts.len());
    if count == 1 {
        parts[0].thickness.extend(&options.thickness);
    } else if found == count {
        for (part, thickness) in parts.iter_mut().zip(&options.thickness) {
            part.thickness.push(*thickness);
        }
    } else if found > 0 {
        return Err(Failure::ThicknessCount { found, parts: count });
    }
    Ok((parts, notes))
}

/// Measurements of one part as such.
fn joined(parts: Vec<MeasuredPart>) -> MeasuredPart {
    parts
        .into_iter()
        .reduce(|mut one, other| {
            one.thickness.extend(other.thickness);
            one.arm_width.extend(other.arm_width);
            one.free_height.extend(other.free_height);
            one.curves.extend(other.curves);
            one
        })
        .unwrap_or_default()
}
