//! Reading as the user asks for it: columns by name or number, and one branch of a measurement.

use super::column::{listed, shortened};
use super::error::CurveError;

/// Branch of a measurement that is aimed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BranchChoice {
    /// middle between loading and unloading, where both were measured: friction cancels
    #[default]
    Mean,
    /// loading alone
    Loading,
    /// unloading alone
    Unloading,
}

/// Choice of the reader; the default finds the columns by their words, and takes the middle of both branches where
/// both were measured.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReadChoice {
    /// branch asked for; none: the middle of a long measurement, the rise of a short table
    pub branch: Option<BranchChoice>,
    /// columns asked for; none: by the words of the header
    pub columns: Option<ColumnChoice>,
}

/// Columns of deflection and force, each by its name in the header or by its number, from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnChoice {
    /// deflection
    pub deflection: String,
    /// force
    pub force: String,
}

/// Errors of a choice of columns.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ColumnChoiceError {
    /// Not two names.
    #[error(
        "found {found} names, expected two, deflection and force, as in \"Kanal 1,Kanal 2\" or 2,3; a name with a comma \
         needs its number instead"
    )]
    TwoNames {
        /// names found
        found: usize,
    },
    /// No name, or the same one twice.
    #[error(
        "found {deflection:?} and {force:?}, expected two different columns, deflection and force, as in 2,3"
    )]
    Same {
        /// deflection as given
        deflection: String,
        /// force as given
        force: String,
    },
}

impl ColumnChoice {
    /// From `deflection,force`; a comma within a name needs the column's number instead.
    pub fn parse(text: &str) -> Result<Self, ColumnChoiceError> {
        let parts: Vec<&str> = text.split(',').map(str::trim).collect();
        let [deflection, force] = parts[..] else {
            return Err(ColumnChoiceError::TwoNames { found: parts.len() });
        };
        let (same, deflection, force) = (deflection == force, deflection.to_owned(), force.to_owned());
        if same || deflection.is_empty() || force.is_empty() {
            return Err(ColumnChoiceError::Same { deflection, force });
        }
        Ok(Self { deflection, force })
    }

    /// Indices of both columns in a header, from 0; none where one is not in it.
    pub(super) fn indices(&self, cells: &[String]) -> Option<[usize; 2]> {
        Some([index_of(&self.deflection, cells)?, index_of(&self.force, cells)?])
    }

    /// As [`indices`](Self::indices), with the column that is missing named.
    pub(super) fn found(&self, cells: &[String], row: usize, file: &str) -> Result<[usize; 2], CurveError> {
        let one = |wanted: &str| {
            index_of(wanted, cells).ok_or_else(|| CurveError::NoSuchColumn {
                file: file.to_owned(),
                row,
                wanted: shortened(wanted),
                found: listed(cells),
            })
        };
        Ok([one(&self.deflection)?, one(&self.force)?])
    }
}

/// A name goes before a number: a column may be called "2". A name may leave out the unit in brackets.
fn index_of(wanted: &str, cells: &[String]) -> Option<usize> {
    let same = |cell: &str| cell.trim().to_lowercase() == wanted.to_lowercase();
    let bare = |cell: &String| cell.split(['(', '[']).next().is_some_and(same);
    let only = |mut found: Box<dyn Iterator<Item = usize> + '_>| match (found.next(), found.next()) {
        (Some(index), None) => Some(index),
        _ => None,
    };
    only(Box::new((0..cells.len()).filter(|&i| same(&cells[i]))))
        .or_else(|| only(Box::new((0..cells.len()).filter(|&i| bare(&cells[i])))))
        .or_else(|| wanted.parse::<usize>().ok()?.checked_sub(1).filter(|index| *index < cells.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{read_measured_with, read_with};

    fn choice(columns: &str) -> ReadChoice {
        ReadChoice { branch: None, columns: Some(ColumnChoice::parse(columns).unwrap()) }
    }

    const TWO_GAUGES: &str =
        "Rig 3;;\nZeit;Kanal 1 [mm];Kanal 2 [N];Kanal 3 [kN]\n0;0;0;0\n1;1;5;0,1\n2;2;11;0,2\n";

    #[test]
    fn columns_are_taken_by_name_with_or_without_unit_and_by_number() {
        for (columns, last) in [
            ("Kanal 1,Kanal 2", 11.0),
            ("kanal 1 [mm],KANAL 3 [kN]", 200.0),
            ("2,3", 11.0),
            ("Kanal 1,4", 200.0),
        ] {
            let curve = read_with(TWO_GAUGES.as_bytes(), &choice(columns), "rig.csv").unwrap();
            assert_eq!((curve.deflection[2], curve.force[2]), (2.0, last), "{columns}");
            let measured = read_measured_with(TWO_GAUGES.as_bytes(), &choice(columns), "rig.csv").unwrap();
            assert_eq!(measured.force[2], last, "{columns}");
        }
    }

    #[test]
    fn a_choice_goes_before_the_words_of_the_header() {
        let text = b"travel_mm,travel sensor 2 (mm),force_n\n0,0,0\n1,1.1,5\n2,2.2,9\n";
        let curve = read_with(text, &choice("2,force_n"), "rig.csv").unwrap();
        assert_eq!(curve.deflection, [0.0, 1.1, 2.2]);
    }

    #[test]
    fn a_column_that_is_not_there_is_refused_with_those_that_are() {
        for columns in ["Kanal 1,Kanal 9", "2,9"] {
            let message =
                read_with(TWO_GAUGES.as_bytes(), &choice(columns), "rig.csv").unwrap_err().to_string();
            assert!(message.starts_with("rig.csv: row 1 has no column"), "{message}");
            assert!(message.contains("--columns"), "{message}");
        }
        assert_eq!(ColumnChoice::parse("2"), Err(ColumnChoiceError::TwoNames { found: 1 }));
        for same in ["2,2", "2,", ",force"] {
            assert!(matches!(ColumnChoice::parse(same), Err(ColumnChoiceError::Same { .. })), "{same}");
        }
    }
}
