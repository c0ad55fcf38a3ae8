use super::*;
use crate::curve::TargetCurve;
use crate::pipeline::{Question, answer};

const CURVE: [[f64; 4]; 2] = [[0.0, 1.0, 2.0, 3.0], [0.0, 8.0, 17.0, 27.0]];

fn target() -> TargetCurve {
    TargetCurve::points(&CURVE[0], &CURVE[1]).curve("clutch pedal").unwrap()
}

fn brief(text: &str) -> Brief {
    Brief::parse(text, "brief.toml").unwrap()
}

#[test]
fn only_what_the_brief_limits_is_loosened_and_one_limit_at_a_time() {
    assert!(loosened(&Brief::default()).is_empty());
    let given = brief(
        "[envelope]\nouter_diameter_max = 30\nfree_height_max = 6\n[sheet]\nthickness = 0.5\n[arms]\ncount = [2]\n",
    );
    let all = loosened(&given);
    assert_eq!(all.len(), 4);
    for (words, looser) in all.iter().flatten() {
        let changed = [
            looser.envelope.outer_diameter_max != given.envelope.outer_diameter_max,
            looser.envelope.free_height_max != given.envelope.free_height_max,
            looser.sheet.thickness != given.sheet.thickness,
            looser.arms.count != given.arms.count,
        ];
        assert_eq!(changed.iter().filter(|is| **is).count(), 1, "{words}");
    }
    assert_eq!(all[0][0].0, "envelope.outer_diameter_max 33.0 instead of 30.0 mm");
}

/// A disc of 24 mm is too small for 27 N over 3 mm in 1 mm sheet; the space is what binds.
#[test]
fn the_limit_that_binds_is_found_by_trying_it() {
    let given = brief(
        "[envelope]\nouter_diameter_max = 24\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[arms]\ncount = [2]\n\
         [process]\nkind = \"waterjet\"\n",
    );
    let question = Question { target: target(), brief: given };
    let answer = answer(question, &|_| ()).unwrap();
    assert!(!answer.evaluation.passed());
    let changes = &answer.summary.single_changes;
    let first = changes.first().unwrap_or_else(|| panic!("{:?}", answer.summary.evaluation.warnings));
    assert!(
        first.failing < answer.outcome.designs[0].merits.failing
            || first.rms_percent < answer.outcome.designs[0].merits.rms_percent
    );
    assert!(changes.windows(2).all(|pair| pair[0].failing <= pair[1].failing));
    let told =
        answer.summary.evaluation.warnings.iter().find(|warning| warning.starts_with("which limit binds"));
    assert!(told.is_some_and(|told| told.contains(&first.change)), "{told:?}");
}
