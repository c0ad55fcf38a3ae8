//! Where an assembly does not pass: which limit of the brief binds. What one disc reaches with each limit loosened alone is known
//! where one disc was searched for; else the assembly is made again, each limit loosened as far as it is.

use super::AssemblyAnswer;
use super::member::Effort;
use super::plan::Plans;
use super::whole::assemble;
use crate::pipeline::answer::{Question, Wishes};
use crate::pipeline::single_changes::{Loosened, SingleChange, helpful, loosened, try_single_changes};
use crate::spec::Brief;

/// Factor by which the height between the plates is loosened: as far as any length is.
const TALLER: f64 = 1.7;

/// The changes that help, the most helpful first; `of_one_disc` are those tried on one disc. `None` where nothing was tried.
pub(super) fn single_changes(
    wishes: &Wishes,
    answer: &AssemblyAnswer,
    of_one_disc: Option<&[SingleChange]>,
) -> Option<Vec<SingleChange>> {
    let unchanged = of_assembly("", answer);
    let found = (unchanged.failing, unchanged.rms_percent);
    if let Some(changes) = of_one_disc {
        let of_one = |change: &SingleChange| SingleChange {
            change: format!("one disc with {}", change.change),
            ..change.clone()
        };
        return Some(helpful(changes.iter().map(of_one).collect(), found));
    }
    let question = &answer.question;
    let limits = loosened_of_assembly(&question.brief);
    if limits.is_empty() {
        return None;
    }
    let attempt = |words: &str, brief: &Brief| {
        if (wishes.stopped)() || (wishes.time_is_up)() {
            return None;
        }
        let looser = Question { target: question.target.clone(), brief: brief.clone() };
        let plans = Plans::of(&looser.target, brief, looser.tolerance_percent()).tried;
        let same = plans.iter().find(|plan| plan.kind == answer.evaluation.file.kind).or(plans.first())?;
        Some(of_assembly(words, &assemble(wishes, &looser, same, Effort::Glance).ok()?))
    };
    Some(try_single_changes(&limits, found, &attempt))
}

/// A change with which an assembly was found.
fn of_assembly(change: &str, answer: &AssemblyAnswer) -> SingleChange {
    let evaluation = &answer.evaluation;
    let uses = evaluation.members.iter().filter_map(|member| member.evaluation.checks.stress.worst_use());
    SingleChange {
        change: change.to_owned(),
        passes: evaluation.passed(),
        failing: evaluation.verdicts.failing().count(),
        rms_percent: evaluation.fit.as_ref().map_or(f64::INFINITY, |fit| fit.rms_percent),
        good_percent: evaluation.good_parts().map_or(0.0, |parts| parts.good_percent),
        stress_use: uses.map(|(used, _)| used).reduce(f64::max),
    }
}

/// The limits of a brief, of its assembly included, each loosened alone and by the largest step: an assembly takes a while.
fn loosened_of_assembly(brief: &Brief) -> Vec<Loosened> {
    let mut all: Vec<Loosened> =
        loosened(brief).into_iter().map(|mut steps| steps.pop().into_iter().collect()).collect();
    if let Some(most) = brief.assembly.height_max {
        let mut looser = brief.clone();
        let value = (10.0 * TALLER * most).ceil() / 10.0;
        looser.assembly.height_max = Some(value);
        all.insert(0, vec![(format!("assembly.height_max {value:.1} instead of {most:.1} mm"), looser)]);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_of_an_assembly_is_loosened_once() {
        let text = "[envelope]\nouter_diameter_max = 40\n[process]\nkind = \"waterjet\"\n[assembly]\nheight_max = 20\n";
        let brief = Brief::parse(text, "brief.toml").unwrap();
        let all = loosened_of_assembly(&brief);
        let words: Vec<&str> = all.iter().flatten().map(|(words, _)| words.as_str()).collect();
        assert_eq!(
            words,
            [
                "assembly.height_max 34.0 instead of 20.0 mm",
                "envelope.outer_diameter_max 68.0 instead of 40.0 mm",
                "process.kind etch instead of waterjet"
            ]
        );
        assert!(loosened_of_assembly(&Brief::default()).is_empty());
    }
}
