//! The report on a spring as its file gives it, however it was made.

use super::{Report, ReportError, Subject};
use crate::checks::Verdicts;
use crate::curve::{Reach, TargetCurve, nearest_reachable};
use crate::layout::Spring;
use crate::package::{Drawing, FitSummary, check_options, curve_table, failed};
use crate::plot::Units;
use crate::spec::SpringFile;
use crate::synthesis::{Design, Merits};

/// A report on a spring file.
#[derive(Debug, Clone)]
pub struct SpringReport {
    /// the report
    pub report: Report,
    /// whether every check passed and the curve, where the file holds one, is met
    pub passed: bool,
}

/// The curve a file asks for, with what the spring makes of it.
struct Asked {
    outside_band: bool,
    reach: Reach,
    fit: FitSummary,
    merits: Merits,
}

impl SpringReport {
    /// Checks a spring and reports on it; `target` is the curve it is held against, where there is one.
    pub fn of(
        file: &SpringFile,
        spring: &Spring,
        target: Option<&TargetCurve>,
        units: Units,
    ) -> Result<Self, ReportError> {
        let options = check_options(file);
        let verdicts = Verdicts::of(spring, &options)?;
        let installed = options.duty.installed.unwrap_or(0.0);
        let mut warnings: Vec<String> = verdicts.findings.iter().map(ToString::to_string).collect();
        let allowable = verdicts.stress.allowable_mpa;
        let asked = target.map(|target| Asked::of(file, spring, target, installed, allowable)).transpose()?;
        if asked.is_none() {
            warnings.push("no curve was asked for: nothing is said about the fit".to_owned());
        }
        // an arm given by its stations alone may have nothing to draw
        let drawing = Drawing::of(spring, &options.process);
        match &drawing {
            Ok(drawing) => warnings.extend(drawing.warnings()),
            Err(error) => warnings.push(format!("no drawing: {error}")),
        }
        let failed =
            failed(&verdicts, drawing.as_ref().ok(), asked.as_ref().is_some_and(|asked| asked.outside_band));
        let subject = Subject {
            file,
            spring,
            target,
            installed,
            fit: asked.as_ref().map(|asked| &asked.fit),
            reach: asked.as_ref().map(|asked| &asked.reach),
            verdicts: &verdicts,
            failed: &failed,
            merits: asked.as_ref().map(|asked| &asked.merits),
            shortlist: &[],
            considered: None,
            width_min: None,
            warnings: &warnings,
        };
        Ok(Self { report: Report::of(&subject, units)?, passed: subject.passed() })
    }
}

impl Asked {
    fn of(
        file: &SpringFile,
        spring: &Spring,
        target: &TargetCurve,
        installed: f64,
        allowable: Option<f64>,
    ) -> Result<Self, ReportError> {
        let tolerance_percent = file.fit.clone().unwrap_or_default().tolerance(target.tolerance_percent);
        let reach = nearest_reachable(target, installed);
        let merits = Design::judge(spring.clone(), target, installed, allowable, tolerance_percent)?.merits;
        let table = curve_table(spring, target, installed)?;
        let outside_band = target.band_breach(&table.deflection, &table.response.force).is_some();
        let reachable = reach.can_be_followed(merits.rms_percent, merits.max_percent);
        let reason = match reach.findings.first() {
            Some(finding) if !reachable => finding.reason.clone(),
            _ => String::new(),
        };
        let fit = FitSummary {
            rms_percent: merits.rms_percent,
            max_percent: merits.max_percent,
            reachable,
            reason,
            tolerance_percent,
        };
        Ok(Self { outside_band, reach, fit, merits })
    }
}
