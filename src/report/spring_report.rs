//! The report on a spring as its file gives it, however it was made.

use super::{Report, ReportError, Subject};
use crate::checks::Verdicts;
use crate::curve::{Reach, TargetCurve, nearest_reachable};
use crate::layout::Spring;
use crate::package::{FitSummary, check_options};
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
    target: TargetCurve,
    reach: Reach,
    fit: FitSummary,
    merits: Merits,
}

impl SpringReport {
    /// Checks a spring and reports on it; the curve it is held against is the one in the file's own `[target]`.
    pub fn of(file: &SpringFile, spring: &Spring, units: Units) -> Result<Self, ReportError> {
        let options = check_options(file);
        let verdicts = Verdicts::of(spring, &options)?;
        let installed = options.duty.installed.unwrap_or(0.0);
        let mut warnings: Vec<String> = verdicts.findings.iter().map(ToString::to_string).collect();
        let asked = asked(file, spring, installed, verdicts.stress.allowable_mpa);
        if asked.is_none() {
            warnings.push("the spring file holds no curve: nothing is said about the fit".to_owned());
        }
        let subject = Subject {
            file,
            spring,
            target: asked.as_ref().map(|asked| &asked.target),
            installed,
            fit: asked.as_ref().map(|asked| &asked.fit),
            reach: asked.as_ref().map(|asked| &asked.reach),
            verdicts: &verdicts,
            merits: asked.as_ref().map(|asked| &asked.merits),
            shortlist: &[],
            considered: None,
            width_min: None,
            warnings: &warnings,
        };
        Ok(Self { report: Report::of(&subject, units)?, passed: subject.passed() })
    }
}

fn asked(file: &SpringFile, spring: &Spring, installed: f64, allowable: Option<f64>) -> Option<Asked> {
    let given = file.target.as_ref()?;
    let target = TargetCurve::from_points(
        given.deflection.as_deref()?,
        given.force.as_deref()?,
        given.force_min.as_deref(),
        given.force_max.as_deref(),
        None,
        "[target]",
    )
    .ok()?;
    let tolerance_percent = file.fit.clone().unwrap_or_default().tolerance();
    let reach = nearest_reachable(&target, installed);
    let merits = Design::judge(spring.clone(), &target, installed, allowable, tolerance_percent).ok()?.merits;
    let reason = match reach.findings.first() {
        Some(finding) if !reach.reachable => finding.reason.clone(),
        _ => String::new(),
    };
    let fit = FitSummary {
        rms_percent: merits.rms_percent,
        max_percent: merits.max_percent,
        reachable: reach.reachable,
        reason,
        tolerance_percent,
    };
    Some(Asked { target, reach, fit, merits })
}
