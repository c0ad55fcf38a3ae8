//! Numbers at written precision.

use super::{Asked, Evaluation, json_bytes};
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::spec::SpringFile;

#[test]
fn numbers_of_a_summary_have_seven_digits_and_no_signed_zero() {
    let text = String::from_utf8(json_bytes(&[1.234_567_89, -0.0, 9_876_543.21, 1e-9 / 3.0])).unwrap();
    let numbers: Vec<&str> =
        text.lines().map(|line| line.trim().trim_end_matches(',')).filter(|line| line.len() > 1).collect();
    assert_eq!(numbers, ["1.234568", "0.0", "9876543.0", "3.333333e-10"]);
}

/// A stiff plate of few turns whose curve bends near flat: met as drawn, hardly met by a part.
const LUCKY: &str = "[sheet]\nmaterial = \"51CrV4+QT\"\nthickness = 6.0\n[disc]\nouter_diameter = 150.0\n\
    arm_outer_diameter = 128.38\narm_inner_diameter = 59.06\nbore_diameter = 17.0\narms = 6\nslot = 3.6\n[arm]\n\
    radius = [29.528, 36.461, 43.394, 50.326, 57.259, 64.192]\nwidth = [8.792, 11.493, 6.486, 7.712, 9.383, 9.217]\n\
    [former]\nfree_height = 2.1\nlaw = \"profile\"\nradius = [29.528, 36.461, 43.394, 50.326, 57.259, 64.192]\n\
    height = [2.1, 1.11, 1.015, 0.964, 0.917, 0.0]\nease = 25.0\n[process]\nkind = \"laser\"\n[envelope]\nsolid_height_max = 6.5\n";

#[test]
fn a_spring_that_hardly_a_part_will_be_is_told_though_it_passes() {
    let file = SpringFile::parse(LUCKY, "spring.toml").unwrap();
    let spring = Spring::from_file(&file, None).unwrap();
    let points = [0.0, 0.5, 1.0, 1.5, 2.0];
    let target = TargetCurve::points(&points, &[0.0, 860.0, 1810.0, 3360.0, 5450.0]).curve("target").unwrap();
    let found = Evaluation::of(&spring, Asked::of(&file, Some(&target))).unwrap();
    assert!(found.passed(), "{:?}", found.verdicts.failed());
    let parts = found.good_parts().unwrap();
    assert!(parts.good_percent_sheet_measured < 10.0, "{parts:?}");
    let told = |found: &Evaluation| found.warnings.iter().any(|warning| warning.starts_with("good parts: "));
    assert!(told(&found), "{:?}", found.warnings);
    // where the tolerance is wide most parts are good, and nothing is told
    let wide = format!("{LUCKY}[fit]\ntolerance_percent = 15\n");
    let file = SpringFile::parse(&wide, "spring.toml").unwrap();
    let found = Evaluation::of(&spring, Asked::of(&file, Some(&target))).unwrap();
    assert!(!told(&found), "{:?}", found.good_parts());
}
