//! The four verdicts with the numbers behind them.

use serde::Serialize;

use super::blank::Blank;
use super::shown::{Shown, figures};
use super::subject::Subject;
use crate::checks::FatigueCheck;
use crate::outline::{Grade, worst};

/// How a verdict came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum State {
    /// as wanted
    Met,
    /// as wanted, but look at it
    Heed,
    /// not as wanted
    Failed,
    /// not judged
    Open,
}

/// One verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Tile {
    pub name: &'static str,
    pub state: State,
    /// the verdict in words
    pub word: &'static str,
    /// the number that counts
    pub figure: String,
    /// what it is and what else there is to know
    pub lines: Vec<String>,
}

fn state(ok: Option<bool>) -> State {
    match ok {
        Some(true) => State::Met,
        Some(false) => State::Failed,
        None => State::Open,
    }
}

fn word(state: State, words: [&'static str; 3]) -> &'static str {
    match state {
        State::Met | State::Heed => words[0],
        State::Failed => words[1],
        State::Open => words[2],
    }
}

/// Fit, flat, stress, cut.
pub(super) fn tiles(subject: &Subject, blank: Result<&Blank, &str>, shown: Shown) -> Vec<Tile> {
    vec![fit(subject), flat(subject, shown), stress(subject, shown), cut(subject, blank, shown)]
}

fn fit(subject: &Subject) -> Tile {
    let Some(fit) = subject.fit else {
        return Tile {
            name: "curve",
            state: State::Open,
            word: "no curve asked for",
            figure: "–".to_owned(),
            lines: vec!["the predicted curve stands alone".to_owned()],
        };
    };
    let state = state(subject.fits());
    let mut lines = vec![
        format!("rms force error, {}\u{a0}% allowed", figures_short(fit.tolerance_percent)),
        format!("{:.2}\u{a0}% at the worst point", fit.max_percent),
    ];
    if !fit.reachable {
        lines.push("no spring of this kind can follow it: see what comes nearest".to_owned());
    }
    let missed = if fit.reachable { "curve not met" } else { "cannot be followed" };
    Tile {
        name: "curve",
        state,
        word: word(state, ["curve met", missed, "curve"]),
        figure: format!("{:.2}\u{a0}%", fit.rms_percent),
        lines,
    }
}

fn flat(subject: &Subject, shown: Shown) -> Tile {
    let flat = &subject.verdicts.flat;
    let touching = flat.least_gap_mm <= 0.0 || flat.least_gap_on_the_way_mm.is_some_and(|gap| gap <= 0.0);
    let state = state(Some(flat.closes && !touching));
    let mut lines = vec![
        format!("solid height; {} closes it to 1\u{a0}%", shown.force(flat.closing_force_n)),
        format!("least gap between turns {}", shown.sized(flat.least_gap_mm)),
    ];
    lines.extend(flat.in_the_way.iter().cloned());
    if touching {
        lines.push("neighbouring turns could touch".to_owned());
    }
    Tile {
        name: "flat",
        state,
        word: word(state, ["closes flat", if touching { "turns touch" } else { "does not close" }, "flat"]),
        figure: shown.sized(flat.solid_height_mm),
        lines,
    }
}

fn stress(subject: &Subject, shown: Shown) -> Tile {
    let verdicts = subject.verdicts;
    let stress = &verdicts.stress;
    let others: Vec<&str> = verdicts
        .failed()
        .map(|finding| finding.check)
        .filter(|check| matches!(*check, "setting" | "fatigue"))
        .collect();
    let state = match (stress.ok, others.is_empty()) {
        (_, false) => State::Failed,
        (ok, true) => state(ok),
    };
    let mut lines = vec![match (stress.allowable_mpa, stress.margin) {
        (Some(allowable), Some(margin)) => {
            format!("of {} allowed; margin {}", shown.stress(allowable), figures(margin))
        }
        _ => "no strength of the sheet is known".to_owned(),
    }];
    lines.push(format!(
        "worst {} from free, at radius {}",
        shown.length(stress.at_mm),
        shown.length(stress.radius_mm)
    ));
    if let Some(end) = stress.slot_ends.iter().max_by(|a, b| a.stress_mpa.total_cmp(&b.stress_mpa)) {
        lines.push(format!("slot ends about {} (estimate)", shown.stress(end.stress_mpa)));
    }
    lines.extend(verdicts.fatigue.as_ref().map(life));
    let word = match (stress.ok, others.first()) {
        (Some(false), _) => "would yield",
        (_, Some(&"fatigue")) => "life too short",
        (_, Some(_)) => "would not keep its height",
        (Some(true), None) => "stress held",
        (None, None) => "stress not judged",
    };
    Tile { name: "stress", state, word, figure: shown.stress(stress.peak_mpa), lines }
}

fn life(fatigue: &FatigueCheck) -> String {
    match fatigue.life_cycles {
        None => format!(
            "{} cycles asked: endures, factor {} (estimate)",
            figures_short(fatigue.cycles),
            figures(fatigue.factor)
        ),
        Some(cycles) => format!(
            "{} cycles asked: about {} expected, {} times more or less",
            figures_short(fatigue.cycles),
            figures_short(cycles),
            figures_short(fatigue.life_uncertainty)
        ),
    }
}

fn cut(subject: &Subject, blank: Result<&Blank, &str>, shown: Shown) -> Tile {
    let blank = match blank {
        Ok(blank) => blank,
        Err(reason) => {
            return Tile {
                name: "cut",
                state: State::Open,
                word: "not drawn",
                figure: "–".to_owned(),
                lines: vec![reason.to_owned()],
            };
        }
    };
    // the process table holds everyday values: what goes beyond them is for the shop to say
    let (state, word) = match worst(&blank.findings) {
        Some(Grade::Fault) => (State::Failed, "no drawing of a part"),
        Some(Grade::Limit) => (State::Heed, "ask the shop"),
        _ => (State::Met, "can be cut"),
    };
    let mut lines = vec![format!("length of cut, {} pierces, {}", blank.cut.pierces, blank.rules.process)];
    if let Some(merits) = subject.merits {
        lines.push(format!(
            "narrowest arm {}, usual least {}",
            shown.sized(merits.narrowest_mm),
            shown.sized(blank.rules.arm_min)
        ));
    }
    lines.extend(blank.cut.machine_seconds.map(|[from, to]| format!("{} on the machine", minutes(from, to))));
    if state != State::Met {
        lines.push("what is beyond the usual stands under “For the cutting shop”".to_owned());
    }
    Tile { name: "cut", state, word, figure: shown.length(blank.cut.cut_length_mm), lines }
}

/// A span of time in words.
pub(super) fn minutes(from: f64, to: f64) -> String {
    let [a, b] = [from / 60.0, to / 60.0];
    if b < 2.0 { format!("{from:.0} to {to:.0}\u{a0}s") } else { format!("{a:.1} to {b:.1}\u{a0}min") }
}

/// A plain number without idle decimals; thousands with gaps.
pub(super) fn figures_short(value: f64) -> String {
    if value >= 1000.0 {
        let digits = format!("{:.0}", crate::report::shown::significant(value, 3));
        let mut text = String::new();
        for (index, digit) in digits.chars().enumerate() {
            if index > 0 && (digits.len() - index).is_multiple_of(3) {
                text.push('\u{a0}');
            }
            text.push(digit);
        }
        return text;
    }
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_of_time_and_large_numbers_read_well() {
        assert_eq!(minutes(30.0, 100.0), "30 to 100\u{a0}s");
        assert_eq!(minutes(120.0, 480.0), "2.0 to 8.0\u{a0}min");
        let read = [3.0, 2.5, 1234.0, 1_000_000.0].map(figures_short);
        assert_eq!(read, ["3", "2.5", "1\u{a0}230", "1\u{a0}000\u{a0}000"]);
    }
}
