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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::nominal_target;

    const SPRING: &str = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.5\n[disc]\narms = 2\nslot = 1.4\n\
        outer_diameter = 75\narm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\n\
        width = [3.2, 5.2]\n[former]\nfree_height = 5\n";

    /// Torsion of a thin strip goes with the cube of its thickness (Roark's Formulas for Stress and Strain, torsion of
    /// rectangles): a sheet 3 % thinner takes almost 9 % of the force, and the widths give it back.
    #[test]
    fn widths_compensate_for_a_thinner_sheet() {
        let file = SpringFile::parse(SPRING, "spring.toml").unwrap();
        let spring = Spring::from_file(&file, None).unwrap();
        let nominal = nominal_target(&spring).unwrap();
        let kept = nominal.len() * 4 / 5;
        let (x, f) = (&nominal.deflection[..kept], &nominal.force[..kept]);
        let target = TargetCurve::points(x, f).curve("target").unwrap();
        let thickness = 0.97 * 1.5;
        let mut thinner = spring.clone();
        thinner.sheet.thickness = thickness;
        let softer = nominal_target(&thinner).unwrap();
        let lost = 1.0 - softer.force_at(x[kept / 2]) / f[kept / 2];
        assert!((0.06..0.10).contains(&lost), "{lost}");

        let answer = answer_for_sheet(&spring, &file, &target, thickness).unwrap();
        let found = answer.spring();
        let rms = answer.evaluation.fit.as_ref().unwrap().summary.rms_percent;
        assert!(rms < 0.5, "{rms}");
        assert_eq!((found.sheet.thickness, found.arms), (thickness, 2));
        assert_eq!((&found.disc, &found.former), (&spring.disc, &spring.former));
        let width = answer.file.arm.width.as_ref().unwrap();
        assert!(width[0] > 3.2 && width[width.len() - 1] > 5.2, "{width:?}");
        assert!(!answer.summary.choice.contains("three points"), "{}", answer.summary.choice);
    }
}
