//! A spring as the user gives it: its file, or a drawing with the data that it does not contain.

use std::path::Path;

use super::arguments::DrawnSpringOptions;
use super::failure::Failure;
use super::{files, terminal};
use crate::layout::{FormerProfile, Spring, sheet_properties};
use crate::outline::{CutRules, from_dxf, measure};
use crate::spec::{Seat, Sheet, SpringFile};

/// Arms that differ by more than this share of the mean arm's least width are said to differ.
const EVEN: f64 = 0.005;

/// Reads a spring file with everything it names, or a drawing.
pub fn read(path: &Path, drawn: &DrawnSpringOptions) -> Result<(SpringFile, Spring), Failure> {
    if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("dxf")) {
        read_drawing(path, drawn)
    } else {
        refuse_options(path, drawn)?;
        files::read_spring(path)
    }
}

/// Error where options are given that have no effect beside a spring file.
fn refuse_options(path: &Path, drawn: &DrawnSpringOptions) -> Result<(), Failure> {
    let given = [
        ("--like", drawn.like.is_some()),
        ("--material", drawn.material.is_some()),
        ("--thickness", drawn.thickness.is_some()),
        ("--free-height", drawn.free_height.is_some()),
        ("--ease", drawn.ease.is_some()),
        ("--pressing", drawn.pressing.is_some()),
        ("--rim", drawn.rim.is_some()),
        ("--kerf", drawn.kerf.is_some()),
    ];
    match given.iter().find(|(_, given)| *given) {
        Some((option, _)) => Err(Failure::OnlyForDrawings { file: files::name(path), option }),
        None => Ok(()),
    }
}

fn read_drawing(path: &Path, drawn: &DrawnSpringOptions) -> Result<(SpringFile, Spring), Failure> {
    let file = files::name(path);
    let positive = [
        ("--thickness", drawn.thickness, false),
        ("--free-height", drawn.free_height, false),
        ("--kerf", drawn.kerf, false),
        ("--ease", drawn.ease, true),
    ];
    for (option, value, zero) in positive {
        if let Some(value) = value
            && !(value.is_finite() && (value > 0.0 || (zero && value == 0.0)))
        {
            let expected = if zero { "zero or a number above it" } else { "a length in mm above zero" };
            return Err(Failure::Option { option, found: value.to_string(), expected });
        }
    }
    let like = drawn.like.as_deref().map(files::read_spring).transpose()?;
    let missing = |what, remedy| Failure::NotInDrawing { file: file.clone(), what, remedy };
    let mut sheet = match &like {
        Some((like, _)) => like.sheet.clone(),
        None => Sheet {
            material: drawn.material.clone(),
            thickness: drawn.thickness.ok_or_else(|| {
                missing("how thick the sheet is", "--thickness MM, or --like with a spring file")
            })?,
            ..Sheet::default()
        },
    };
    sheet.thickness = drawn.thickness.unwrap_or(sheet.thickness);
    if drawn.material.is_some() && drawn.material != sheet.material {
        // another sheet brings its own values
        sheet = Sheet { material: drawn.material.clone(), thickness: sheet.thickness, ..Sheet::default() };
    }
    if sheet.material.is_none() && (sheet.youngs_modulus.is_none() || sheet.shear_modulus.is_none()) {
        return Err(missing("which sheet it is", "--material NAME, or --like with a spring file"));
    }
    let former = match &like {
        Some((_, spring)) => {
            let mut former = spring.former.clone();
            former.free_height = drawn.free_height.unwrap_or(former.free_height);
            former.ease = drawn.ease.unwrap_or(former.ease);
            former
        }
        None => FormerProfile::cone(
            drawn.free_height.ok_or_else(|| {
                missing("how high the spring is set", "--free-height MM, or --like with a spring file")
            })?,
            drawn.ease.unwrap_or(1.0),
        ),
    };
    let seat = like.as_ref().map_or_else(Seat::default, |(like, _)| like.seat);
    let seat = Seat {
        pressing: drawn.pressing.map_or(seat.pressing, Into::into),
        rim: drawn.rim.map_or(seat.rim, Into::into),
        ..seat
    };
    let process = like.as_ref().and_then(|(like, _)| like.process.clone()).unwrap_or_default();
    let kerf = drawn.kerf.unwrap_or(CutRules::of(&process, sheet.thickness).kerf);
    let properties =
        sheet_properties(&sheet).map_err(|source| Failure::Spring { file: file.clone(), source })?;

    let drawing = from_dxf(&files::read(path)?, &file)?;
    for (kind, count) in &drawing.passed_over {
        terminal::note(&format!(
            "{file}: {count} of {kind} ignored, only lines, arcs and polylines are read"
        ));
    }
    let disc =
        measure(&drawing.contours, kerf).map_err(|source| Failure::Measure { file: file.clone(), source })?;
    let mut spring = disc
        .spring(properties, former, seat)
        .map_err(|source| Failure::Spring { file: file.clone(), source })?;
    let least = disc.arms.iter().map(|arm| arm.width_least).fold(f64::INFINITY, f64::min);
    terminal::note(&format!(
        "{file}: {} arms, outside {:.2} mm, bore {:.2} mm, slots {:.3} mm wide, arms at least {least:.3} mm wide",
        disc.arms.len(),
        2.0 * disc.outer_radius,
        2.0 * disc.bore_radius,
        disc.slot_width(),
    ));
    let unevenness = disc.unevenness();
    if unevenness > EVEN * least {
        terminal::warn(&format!(
            "{file}: the arms differ by up to {unevenness:.3} mm in width; the mean arm is used; make all arms equal"
        ));
    }
    if let Some((_, like)) = &like {
        spring.roots = like.roots;
        spring.disc.rim_clamp_radius = like.disc.rim_clamp_radius;
        spring.disc.hub_clamp_radius = like.disc.hub_clamp_radius;
    }
    let own = spring.to_file();
    let described = match like {
        Some((like, _)) => {
            SpringFile { sheet, disc: own.disc, arm: own.arm, former: own.former, seat, ..like }
        }
        None => SpringFile { sheet, ..own },
    };
    Ok((described, spring))
}
