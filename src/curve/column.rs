//! Columns of a curve file: what one holds, and how a message shows names and cells.

use std::fmt;

use serde::Serialize;

/// Content of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ColumnQuantity {
    /// travel of the spring
    Deflection,
    /// force at that travel
    Force,
    /// lower edge of the band
    ForceMin,
    /// upper edge of the band
    ForceMax,
    /// allowed error of the force in percent
    Tolerance,
}

impl ColumnQuantity {
    /// Every quantity.
    pub(super) const ALL: [Self; 5] =
        [Self::Deflection, Self::Force, Self::ForceMin, Self::ForceMax, Self::Tolerance];

    /// Quantities that a curve needs.
    pub(super) const OF_A_CURVE: [Self; 2] = [Self::Deflection, Self::Force];

    /// The names a header may use for it, as a message lists them.
    pub(super) fn keywords(self) -> &'static str {
        match self {
            Self::Deflection => "deflection, travel, displacement, stroke or x",
            Self::Force => "force, load or f",
            Self::ForceMin => "force_min",
            Self::ForceMax => "force_max",
            Self::Tolerance => "tolerance_percent",
        }
    }

    /// The units a header may use for it, as a message lists them.
    pub(super) fn units(self) -> &'static str {
        match self {
            Self::Deflection => "mm, cm, m, µm, in, thou or mil",
            Self::Force | Self::ForceMin | Self::ForceMax => "N, kN, kgf, gf, g, lbf, ozf or oz",
            Self::Tolerance => "percent",
        }
    }

    pub(super) fn base_unit(self) -> &'static str {
        match self {
            Self::Deflection => "mm",
            Self::Force | Self::ForceMin | Self::ForceMax => "N",
            Self::Tolerance => "percent",
        }
    }
}

impl fmt::Display for ColumnQuantity {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::Deflection => "deflection",
            Self::Force => "force",
            Self::ForceMin => "force_min",
            Self::ForceMax => "force_max",
            Self::Tolerance => "tolerance_percent",
        })
    }
}

/// A text from the file as a message shows it: on one line, shortened.
pub(super) fn shortened(text: &str) -> String {
    const LONGEST: usize = 40;
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= LONGEST {
        line
    } else {
        line.chars().take(LONGEST).chain("…".chars()).collect()
    }
}

/// Names of columns as a message shows them.
pub(super) fn listed(cells: &[String]) -> String {
    shortened(&cells.iter().map(|cell| format!("\"{}\"", cell.trim())).collect::<Vec<_>>().join(", "))
}
