//! Springs with load cycles: life is yes, or an honest no whose remedy works when followed.

use flatspire::checks::remedies::Remedy;
use flatspire::curve::read;
use flatspire::evaluation::{Asked, Evaluation, Extent, VerdictState};
use flatspire::pipeline::{Question, answer};
use flatspire::spec::Brief;

/// Designs a job, follows the first remedy where life or strength is no, and returns what was said.
fn job(curve: &str, brief: &str) -> String {
    let target = read(curve.as_bytes(), "job.csv").unwrap();
    let brief = Brief::parse(brief, "job.toml").unwrap();
    let answer = answer(Question { target, brief }, &|_| ()).unwrap();
    let evaluation = &answer.evaluation;
    let state = |evaluation: &Evaluation, name: &str| evaluation.verdicts.get(name).unwrap().state;
    let all_yes = |evaluation: &Evaluation| {
        ["life", "strength"].iter().all(|name| state(evaluation, name) == VerdictState::Yes)
    };
    let life = evaluation.verdicts.get("life").unwrap();
    if all_yes(evaluation) {
        return life.reason.clone();
    }
    assert_ne!(life.state, VerdictState::NotJudged, "{life:?}");
    let remedy = evaluation.remedies.first().expect("a remedy was tried");
    assert!(remedy.helps, "{:?}", evaluation.remedies.iter().map(Remedy::words).collect::<Vec<_>>());
    // followed: the changed spring put to the same question
    let asked = Asked { checks: remedy.options.clone(), ..evaluation.asked.clone() };
    let followed = Evaluation::of(&remedy.spring, asked.to_extent(Extent::Draft)).unwrap();
    assert!(all_yes(&followed), "{}: {:?}", remedy.words(), followed.verdicts);
    assert_eq!(state(&followed, "curve"), VerdictState::Yes, "{}", remedy.words());
    remedy.words()
}

#[test]
fn a_valve_spring_cut_by_laser_lasts_two_million_cycles_or_says_what_helps() {
    let said = job(
        "deflection_mm,force_n\n0,0\n0.5,7.5\n1.0,15\n1.5,22.5\n2.0,30\n",
        "[envelope]\nouter_diameter_max = 70\nbore_diameter_min = 6\n[sheet]\nmaterial = \"1.4310+C1500\"\n[process]\n\
         kind = \"laser\"\n[duty]\ncycles = 2e6\n",
    );
    println!("valve: {said}");
}

#[test]
fn life_steers_the_search() {
    // a small disc in which the best curve alone leaves slot ends that do not last
    let said = job(
        "deflection_mm,force_n\n0,0\n1,5\n2,10\n3,15\n4,20\n",
        "[envelope]\nouter_diameter_max = 46\nbore_diameter_min = 5\n[sheet]\nmaterial = \"1.4310+C1500\"\n[process]\n\
         kind = \"laser\"\n[duty]\ncycles = 1e6\n",
    );
    assert!(said.contains("infinite life predicted"), "{said}");
}

#[test]
fn a_pedal_spring_cut_by_waterjet_lasts_a_hundred_thousand_cycles_or_says_what_helps() {
    let curve = include_str!("../../examples/gentle.csv");
    let brief = include_str!("../../examples/pedal.toml");
    println!("pedal: {}", job(curve, &format!("{brief}\n[duty]\ncycles = 1e5\n")));
}

#[test]
fn a_shutter_spring_etched_from_a_tenth_of_a_millimetre_lasts_a_million_cycles_or_says_what_helps() {
    let said = job(
        "deflection_mm,force_n\n0,0\n0.2,0.04\n0.4,0.08\n0.6,0.12\n0.8,0.16\n",
        "[envelope]\nouter_diameter_max = 12\nbore_diameter_min = 1.5\n[sheet]\nmaterial = \"1.4310+C1500\"\nthickness = \
         [0.1]\n[process]\nkind = \"etch\"\n[duty]\ncycles = 1e6\n",
    );
    println!("shutter: {said}");
}
