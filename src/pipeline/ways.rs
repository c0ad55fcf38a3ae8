//! Sheets and cutting processes that a brief leaves open, the usual one first.

use super::sheets::{DEFAULT_SHEET, SheetsToTry};
use crate::layout::LayoutError;
use crate::spec::{Brief, Process, ProcessKind};

/// Processes tried where the brief names none, in this order: what a workshop has, then what cuts finer.
pub(super) const PROCESSES: [ProcessKind; 3] = [ProcessKind::Waterjet, ProcessKind::Laser, ProcessKind::Etch];

/// The usual sheet in a harder temper.
pub(super) const HARDER_SHEET: &str = "1.4310+C1700";

/// Sheets tried after the usual one where the brief names none: a harder temper, then plate for large forces.
const SHEETS: [&str; 3] = [DEFAULT_SHEET, HARDER_SHEET, "52CrMoV4+QT"];

/// One way to make the spring.
#[derive(Debug, Clone)]
pub(super) struct Way {
    /// the brief with sheet and process filled in
    pub brief: Brief,
    /// the sheets
    pub sheets: SheetsToTry,
    /// whether the sheet is another than the usual one
    pub other_sheet: bool,
}

/// The ways that a brief leaves open: the usual sheet by every process, then other sheets by the first process.
pub(super) fn ways(brief: &Brief) -> Result<Vec<Way>, LayoutError> {
    let open_process = brief.process == Process::default();
    // properties that the brief gives belong to a sheet that the user has
    let sheet = &brief.sheet;
    let open_sheet = sheet.material.is_none()
        && sheet.youngs_modulus.is_none()
        && sheet.shear_modulus.is_none()
        && sheet.tensile_strength.is_none()
        && sheet.yield_strength.is_none();
    let mut combinations = vec![(None, None)];
    if open_process {
        combinations.extend(PROCESSES[1..].iter().map(|kind| (None, Some(*kind))));
    }
    if open_sheet && sheet.thickness.is_none() {
        combinations.extend(SHEETS[1..].iter().map(|name| (Some(*name), None)));
    }
    combinations
        .into_iter()
        .map(|(name, kind)| {
            let mut brief = brief.clone();
            if let Some(kind) = kind {
                brief.process.kind = Some(kind);
            }
            if let Some(name) = name {
                brief.sheet.material = Some(name.to_owned());
            }
            Ok(Way { sheets: SheetsToTry::of(&brief)?, brief, other_sheet: name.is_some() })
        })
        .collect()
}
