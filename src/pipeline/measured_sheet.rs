//! A chosen spring shaped again for the sheet that was bought.

use super::answer::{Answer, Question, evaluate};
use super::corrected::CorrectError;
use crate::curve::{TargetCurve, nearest_reachable};
use crate::evaluation::Asked;
use crate::layout::Spring;
use crate::outline::CutRules;
use crate::spec::SpringFile;
use crate::synthesis::{Outcome, shape_for_sheet, width_range};

/// The answer with a spring of the same circles, arms and former for a sheet of measured `thickness` (mm), shaped for
/// `target`. `file` is the spring's own, with process, duty and limits.
pub fn answer_for_sheet(
    spring: &Spring,
    file: &SpringFile,
    target: &TargetCurve,
    thickness: f64,
) -> Result<Answer, CorrectError> {
    let mut brief = file.brief();
    brief.sheet.thickness = Some(vec![thickness]);
    let rules = CutRules::of(&brief.process, thickness);
    // widths that the spring has are no narrower for another sheet than its process allowed before
    let narrowest = file.arm.width.iter().flatten().copied().fold(f64::INFINITY, f64::min);
    let width = width_range(rules.arm_min.min(narrowest), &spring.disc);
    let design = shape_for_sheet(spring, &Asked::of(file, Some(target)), thickness, width)?;
    let reach = nearest_reachable(target, brief.duty.installed.unwrap_or(0.0));
    let outcome = Outcome { designs: vec![design], reach, considered: 1, shaped: 1 };
    let notes = vec![format!(
        "shaped again for sheet {thickness} mm thick, drawn for {} mm: circles, arms and former stay",
        spring.sheet.thickness
    )];
    let mut answer = evaluate(Question { target: target.clone(), brief }, outcome, notes)?;
    answer.file.tolerance.clone_from(&file.tolerance);
    answer.summary.spring = answer.file.clone();
    Ok(answer)
}
