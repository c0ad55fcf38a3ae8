//! The verdicts as tiles: state, value, reason.

use serde::Serialize;

use super::shown::Shown;
use super::subject::Subject;
use crate::evaluation::{NamedVerdict, VerdictState};

/// One verdict as a tile.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Tile {
    pub name: &'static str,
    /// class of the tile's look: `met`, `failed` or `open`
    pub state: &'static str,
    /// the verdict in words
    pub word: &'static str,
    /// the value
    pub figure: String,
    /// its reason and what to change
    pub lines: Vec<String>,
}

/// Every verdict that was asked for.
pub(super) fn tiles(subject: &Subject, shown: Shown) -> Vec<Tile> {
    let asked = subject.evaluation.verdicts.0.iter();
    asked
        .filter(|named| named.verdict.state != VerdictState::NotAsked)
        .map(|named| tile(named, shown))
        .collect()
}

/// One verdict as a tile.
pub(super) fn tile(named: &NamedVerdict, shown: Shown) -> Tile {
    let verdict = &named.verdict;
    let mut lines = vec![verdict.reason.clone()];
    lines.extend(
        Some(verdict.place.clone()).filter(|place| !place.is_empty() && !lines[0].contains(place.as_str())),
    );
    lines.extend(Some(verdict.remedy.clone()).filter(|remedy| !remedy.is_empty()));
    Tile {
        name: named.label,
        state: match verdict.state {
            VerdictState::Yes => "met",
            VerdictState::No => "failed",
            VerdictState::NotJudged | VerdictState::NotAsked => "open",
        },
        word: verdict.state.word(),
        figure: verdict.value.map_or_else(|| "–".to_owned(), |value| shown.in_unit(value, verdict.unit)),
        lines,
    }
}

/// A span of time in words.
pub(super) fn minutes(from: f64, to: f64) -> String {
    let [a, b] = [from / 60.0, to / 60.0];
    if b < 2.0 { format!("{from:.0} to {to:.0}\u{a0}s") } else { format!("{a:.1} to {b:.1}\u{a0}min") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_of_time_read_well() {
        assert_eq!(minutes(30.0, 100.0), "30 to 100\u{a0}s");
        assert_eq!(minutes(120.0, 480.0), "2.0 to 8.0\u{a0}min");
    }
}
