//! One cell, one number: decimal point or decimal comma, the same throughout a file.

use super::column::shortened;
use super::error::{CurveError, FilePlace};

/// The decimal mark of a file, learned from its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum DecimalMark {
    /// only whole numbers so far
    #[default]
    Unknown,
    Point,
    Comma,
}

impl DecimalMark {
    pub fn name(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Point | Self::Unknown => "point",
        }
    }
}

/// Why a cell holds no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum CellFault {
    Empty,
    NotANumber,
    Undefined,
    Infinite,
    /// the other decimal mark was used before
    OtherMark,
}

impl CellFault {
    /// The fault of a cell of a file, with its text; `earlier` names the decimal mark used before.
    pub fn at(self, file: &str, place: FilePlace, cell: &str, earlier: &'static str) -> CurveError {
        let (file, text) = (file.to_owned(), shortened(cell));
        match self {
            Self::Empty => CurveError::EmptyCell { file, place },
            Self::NotANumber => CurveError::NotANumber { file, place, text },
            Self::Undefined => CurveError::Undefined { file, place },
            Self::Infinite => CurveError::Infinite { file, place, text },
            Self::OtherMark => CurveError::MixedDecimalMarks { file, place, text, earlier },
        }
    }
}

/// The number in `cell`; `mark` is what the cells before it used.
pub(super) fn parse(cell: &str, mark: &mut DecimalMark) -> Result<f64, CellFault> {
    let text = unquoted(cell.trim());
    if text.is_empty() {
        return Err(CellFault::Empty);
    }
    // the typographic minus sign comes with text copied from documents
    let text = text.replace('\u{2212}', "-");
    match text.trim_start_matches(['+', '-']).to_ascii_lowercase().as_str() {
        "nan" => return Err(CellFault::Undefined),
        "inf" | "infinity" | "∞" => return Err(CellFault::Infinite),
        _ => {}
    }
    if !text.chars().all(|c| c.is_ascii_digit() || "+-.,eE".contains(c)) {
        return Err(CellFault::NotANumber);
    }
    let found = match (text.matches('.').count(), text.matches(',').count()) {
        (0, 0) => None,
        (1, 0) => Some(DecimalMark::Point),
        (0, 1) => Some(DecimalMark::Comma),
        // a thousands separator, or two numbers in one cell
        _ => return Err(CellFault::NotANumber),
    };
    let value: f64 = text.replace(',', ".").parse().map_err(|_| CellFault::NotANumber)?;
    if !value.is_finite() {
        return Err(CellFault::Infinite);
    }
    if let Some(found) = found {
        if *mark != DecimalMark::Unknown && *mark != found {
            return Err(CellFault::OtherMark);
        }
        *mark = found;
    }
    Ok(value)
}

/// The text without quotes, which the table reader leaves where they follow a blank.
fn unquoted(text: &str) -> &str {
    text.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).map_or(text, str::trim)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alone(cell: &str) -> Result<f64, CellFault> {
        parse(cell, &mut DecimalMark::default())
    }

    #[test]
    fn numbers_are_read_as_people_write_them() {
        for (cell, value) in [
            ("12.5", 12.5),
            (" 12,5 ", 12.5),
            ("+3", 3.0),
            ("\u{2212}0.5", -0.5),
            (".5", 0.5),
            ("1,5e-3", 0.0015),
            ("2E2", 200.0),
            (" \"7,25\"", 7.25),
            ("\u{a0}4", 4.0),
        ] {
            assert_eq!(alone(cell), Ok(value), "{cell:?}");
        }
    }

    #[test]
    fn what_is_no_number_is_told_apart() {
        for (cell, fault) in [
            ("", CellFault::Empty),
            ("\"\"", CellFault::Empty),
            ("abc", CellFault::NotANumber),
            ("5 N", CellFault::NotANumber),
            ("1.234,5", CellFault::NotANumber),
            ("1,2,3", CellFault::NotANumber),
            ("0x10", CellFault::NotANumber),
            ("-", CellFault::NotANumber),
            ("#N/A", CellFault::NotANumber),
            ("NaN", CellFault::Undefined),
            ("-nan", CellFault::Undefined),
            ("inf", CellFault::Infinite),
            ("-Infinity", CellFault::Infinite),
            ("1e999", CellFault::Infinite),
        ] {
            assert_eq!(alone(cell), Err(fault), "{cell:?}");
        }
    }

    #[test]
    fn one_file_has_one_decimal_mark() {
        let mut mark = DecimalMark::default();
        assert_eq!(parse("3", &mut mark), Ok(3.0));
        assert_eq!(parse("3,5", &mut mark), Ok(3.5));
        assert_eq!(parse("3.5", &mut mark), Err(CellFault::OtherMark));
    }
}
