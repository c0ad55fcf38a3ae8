//! Where no spring passes: which limit of the brief binds. Each limit is loosened alone and the search run again.

use serde::Serialize;

use super::sheets::DEFAULT_SHEET;
use super::ways::{HARDER_SHEET, PROCESSES};
use crate::numeric::short;
use crate::spec::{Brief, FormerLaw};
use crate::synthesis::Merits;

/// Factors by which a length that limits is loosened, smallest first; the first that passes is the answer.
const LOOSER: [f64; 3] = [1.1, 1.3, 1.7];
/// Most limits that are loosened.
const MOST_TRIED: usize = 8;
/// Most changes that are listed.
const MOST_TOLD: usize = 3;
/// Share of the error that a change has to take away before it counts as one that helps.
const WORTH_TELLING: f64 = 0.9;

/// One change of the brief and the best spring, or assembly, found with it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SingleChange {
    /// the change in words
    pub change: String,
    /// whether every verdict is yes with it
    pub passes: bool,
    /// verdicts that are no or not judged
    pub failing: usize,
    /// error of the curve (percent rms)
    pub rms_percent: f64,
    /// share of good parts as bought (percent)
    pub good_percent: f64,
    /// largest stress over its allowable; none where no strength is known
    pub stress_use: Option<f64>,
}

/// A limit of the brief and looser briefs, the least change first.
pub(super) type Loosened = Vec<(String, Brief)>;

impl SingleChange {
    /// A change with which the best spring has these merits.
    pub(super) fn of(change: &str, merits: &Merits) -> Self {
        Self {
            change: change.to_owned(),
            passes: merits.passed,
            failing: merits.failing,
            rms_percent: merits.rms_percent,
            good_percent: merits.good_percent,
            stress_use: merits.stress_use,
        }
    }

    /// Order: fewest failing verdicts, then least error.
    fn rank(&self) -> (usize, f64) {
        (self.failing, self.rms_percent)
    }

    /// The change and its result.
    fn words(&self) -> String {
        let verdicts = match self.failing {
            0 => "every verdict yes".to_owned(),
            1 => "one verdict still fails".to_owned(),
            many => format!("{many} verdicts still fail"),
        };
        let stress = self
            .stress_use
            .map_or_else(String::new, |share| format!(", stress at {:.0} % of the allowable", 100.0 * share));
        format!("{}: {:.2} % rms{stress}, {verdicts}", self.change, self.rms_percent)
    }
}

/// Tries the looser limits one at a time; `attempt` gives what is found with a change, in words, and its brief. Those that help
/// against what was found before (verdicts that fail, error in percent rms), the most helpful first.
pub(super) fn try_single_changes(
    limits: &[Loosened],
    found: (usize, f64),
    attempt: &dyn Fn(&str, &Brief) -> Option<SingleChange>,
) -> Vec<SingleChange> {
    let best_of = |loosened: &Loosened| {
        let mut best: Option<SingleChange> = None;
        for (words, brief) in loosened {
            let Some(tried) = attempt(words, brief) else { continue };
            let passes = tried.passes;
            if best.as_ref().is_none_or(|best| tried.rank() < best.rank()) {
                best = Some(tried);
            }
            if passes {
                break;
            }
        }
        best
    };
    let tried = limits.iter().take(MOST_TRIED).filter_map(best_of).collect();
    helpful(tried, found)
}

/// The changes that help against what was found before (verdicts that fail, error in percent rms), the most helpful first.
pub(super) fn helpful(
    mut tried: Vec<SingleChange>,
    (failing, rms_percent): (usize, f64),
) -> Vec<SingleChange> {
    tried.retain(|tried| {
        tried.failing < failing || tried.failing == failing && tried.rms_percent < WORTH_TELLING * rms_percent
    });
    tried.sort_by(|a, b| a.rank().0.cmp(&b.rank().0).then(a.rank().1.total_cmp(&b.rank().1)));
    tried
}

/// The finding in a sentence.
pub(super) fn finding(changes: &[SingleChange]) -> String {
    if changes.is_empty() {
        return "which limit binds: none alone; each limit of the brief was loosened by itself, and none brings the spring nearer"
            .to_owned();
    }
    let told: Vec<String> = changes.iter().take(MOST_TOLD).map(SingleChange::words).collect();
    format!("which limit binds, each loosened by itself and the search run again: {}", told.join("; "))
}

/// The limits of a brief, each loosened alone.
pub(super) fn loosened(brief: &Brief) -> Vec<Loosened> {
    let mut all = Vec::new();
    let lengths: [(&str, Length); 3] = [
        ("envelope.outer_diameter_max", |brief| &mut brief.envelope.outer_diameter_max),
        ("envelope.free_height_max", |brief| &mut brief.envelope.free_height_max),
        ("envelope.solid_height_max", |brief| &mut brief.envelope.solid_height_max),
    ];
    for (key, length) in lengths {
        let mut looser = brief.clone();
        let Some(given) = *length(&mut looser) else { continue };
        let changed = LOOSER.map(|factor| {
            let mut looser = brief.clone();
            // to the tenth of a millimetre above
            let value = (10.0 * factor * given).ceil() / 10.0;
            *length(&mut looser) = Some(value);
            (format!("{key} {} instead of {} mm", short(value), short(given)), looser)
        });
        all.push(changed.to_vec());
    }
    let mut left_out = |key: &str, is_given: bool, edit: fn(&mut Brief)| {
        if is_given {
            let mut looser = brief.clone();
            edit(&mut looser);
            all.push(vec![(format!("{key} left out"), looser)]);
        }
    };
    let sheet = &brief.sheet;
    left_out("sheet.thickness", sheet.thickness.is_some(), |brief| brief.sheet.thickness = None);
    left_out("arms.count", brief.arms.count.is_some(), |brief| brief.arms.count = None);
    left_out("arms.width_min", brief.arms.width_min.is_some(), |brief| brief.arms.width_min = None);
    left_out("envelope.bore_diameter_min", brief.envelope.bore_diameter_min.is_some(), |brief| {
        brief.envelope.bore_diameter_min = None;
    });
    left_out("former.law cone", brief.former.law == Some(FormerLaw::Cone), |brief| brief.former.law = None);
    left_out("fit.reserve", brief.fit.reserve.is_some(), |brief| brief.fit.reserve = None);
    left_out("process.slot", brief.process.slot.is_some(), |brief| brief.process.slot = None);
    if brief.process.kind.is_some() {
        let finer = PROCESSES[1..].iter().copied().filter(|kind| *kind != brief.process.kind());
        let briefs = finer.map(|kind| {
            let mut looser = brief.clone();
            looser.process.kind = Some(kind);
            (format!("process.kind {} instead of {}", kind.name(), brief.process.kind().name()), looser)
        });
        all.push(briefs.collect());
    }
    // properties that the brief gives belong to a sheet that the user has
    if let Some(name) = sheet.material.as_deref().filter(|_| sheet.tensile_strength.is_none()) {
        let harder = [HARDER_SHEET, DEFAULT_SHEET].into_iter().filter(|other| *other != name);
        let briefs = harder.map(|other| {
            let mut looser = brief.clone();
            looser.sheet.material = Some(other.to_owned());
            (format!("sheet.material {other} instead of {name}"), looser)
        });
        all.push(briefs.collect());
    }
    all
}

/// A length of the brief that may be given.
type Length = fn(&mut Brief) -> &mut Option<f64>;

#[cfg(test)]
#[path = "single_changes_tests.rs"]
mod tests;
