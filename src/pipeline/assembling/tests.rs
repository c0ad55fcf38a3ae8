use std::sync::atomic::{AtomicUsize, Ordering};

use super::member::Disc;
use super::plan::PlannedMember;
use super::*;
use crate::assembly::MemberTarget;
use crate::curve::TargetCurve;
use crate::spec::{Brief, Stacking};

/// Steps of a search, counted while it runs.
fn counted<T>(wishes: &Wishes, run: impl FnOnce(&Wishes) -> T) -> (T, usize) {
    let steps = AtomicUsize::new(0);
    let progress = |_| _ = steps.fetch_add(1, Ordering::Relaxed);
    let found = run(&Wishes { progress: &progress, ..*wishes });
    (found, steps.load(Ordering::Relaxed))
}

/// Throttle whose rate falls from 6 to 2 N/mm: a pair of discs.
fn falling_rate() -> Question {
    let x: Vec<f64> = (0..=24).map(|k| 0.25 * f64::from(k)).collect();
    let force: Vec<f64> = x.iter().map(|x| 6.0 * x - x * x / 3.0).collect();
    let text = "[envelope]\nouter_diameter_max = 90\n[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = [1.0, 1.2]\n\
                [arms]\ncount = [2, 3]\n[process]\nkind = \"waterjet\"\n";
    let target = TargetCurve::points(&x, &force).curve("throttle").unwrap();
    Question { target, brief: Brief::parse(text, "brief.toml").unwrap() }
}

/// The time is up from the start: each disc is the first candidate, shaped and finished once, and nothing is tried beside it.
#[test]
fn an_assembly_keeps_to_the_time_and_says_that_it_was_cut_short() {
    let wishes = Wishes { time_is_up: &|| true, ..Wishes::default() };
    let (solution, steps) = counted(&wishes, |wishes| solve(wishes, falling_rate()).unwrap());
    let Solution::Assembly(answer) = solution else { panic!("one disc") };
    assert_eq!(answer.discs.len(), 2);
    assert_eq!(steps, 4, "two discs, two steps each");
    assert!(answer.summary.cut_short);
    assert!(answer.summary.evaluation.warnings.iter().any(|warning| warning.contains("--time-limit")));
    assert!(answer.summary.single_changes.is_empty(), "{:?}", answer.summary.single_changes);
}

/// 160 N over 6 mm from a disc of 20 mm.
fn hopeless() -> (MemberTarget, Brief) {
    let target = MemberTarget {
        installed: 0.0,
        deflection: vec![0.0, 1.5, 3.0, 4.5, 6.0],
        force: vec![0.0, 40.0, 80.0, 120.0, 160.0],
        closes: false,
    };
    (target, Brief::parse("[envelope]\nouter_diameter_max = 20\n", "brief.toml").unwrap())
}

#[test]
fn a_disc_that_cannot_hold_ends_its_assembly_before_anything_is_shaped() {
    let (target, brief) = hopeless();
    let member = PlannedMember { target, count: 1, stacking: Stacking::Series };
    let search = |wishes: &Wishes| Disc::search(wishes, &member, &brief, 0.0, Effort::WithinReach);
    let (found, steps) = counted(&Wishes::default(), search);
    let error = found.unwrap_err();
    let AnswerError::Search(SearchError::OutOfReach { times, .. }) = error else { panic!("{error}") };
    assert!(times > 3.0, "{times}");
    assert_eq!(steps, 0);
}
