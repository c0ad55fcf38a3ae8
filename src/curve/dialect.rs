//! Dialect of a file: separator, comment lines, line ends.

use csv::{ReaderBuilder, StringRecord};

use super::choice::ColumnChoice;
use super::decoding::LineCount;
use super::error::CurveError;
use super::header;
use super::number::{self, DecimalMark};

/// Separators to choose from; where two name equally many quantities, the earlier is taken: a comma may also be a
/// decimal mark or stand in a name.
const SEPARATORS: [u8; 3] = [b'\t', b';', b','];

/// Rows among which the header is looked for.
const ROWS_ABOVE: usize = 60;

/// Cell contents that a spreadsheet writes for a failed formula: no comment, although they begin with `#`.
const SPREADSHEET_ERRORS: [&str; 7] = ["#N/A", "#NAME?", "#DIV/0!", "#VALUE!", "#REF!", "#NUM!", "#NULL!"];

/// A text ready to be split into rows.
#[derive(Debug)]
pub(super) struct Dialect {
    /// the text with comments overwritten by blanks, byte for byte as long
    text: String,
    /// what separates the cells
    pub separator: u8,
    /// line of the header where it is not the first row
    pub header_line: Option<usize>,
}

/// One row that is neither blank nor comment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Row {
    /// line of the file, from 1
    pub line: usize,
    pub cells: Vec<String>,
}

impl Dialect {
    /// Dialect of `text`: its separator is the one under which the header names most quantities.
    pub fn of(text: &str, file: &str) -> Result<Self, CurveError> {
        let (text, told) = without_comments(text);
        let mut best: Option<(usize, usize, u8)> = None;
        for separator in told.map_or(SEPARATORS.to_vec(), |told| vec![told]) {
            let first = rows(&text, separator, file).next();
            let Some(first) = first else {
                return Err(CurveError::Empty { file: file.to_owned() });
            };
            let cells = first?.cells;
            let score = (header::quantities_named(&cells), cells.len());
            if best.is_none_or(|(named, width, _)| score > (named, width)) {
                best = Some((score.0, score.1, separator));
            }
        }
        let mut separator = best.map_or(b',', |(_, _, separator)| separator);
        let mut header_line = None;
        if best.is_none_or(|(named, _, _)| named < 2) {
            let found = told
                .map_or(SEPARATORS.to_vec(), |told| vec![told])
                .into_iter()
                .filter_map(|separator| {
                    let line = rows(&text, separator, file)
                        .map_while(Result::ok)
                        .take(ROWS_ABOVE)
                        .find(|row| header::names_both(&row.cells))?
                        .line;
                    Some((line, separator))
                })
                .min_by_key(|(line, _)| *line);
            if let Some((line, by)) = found {
                (separator, header_line) = (by, Some(line));
            }
        }
        Ok(Self { text, separator, header_line })
    }

    /// As [`of`](Self::of), where two columns were asked for: the header is the first row that has them above numbers.
    pub fn chosen(text: &str, choice: &ColumnChoice, file: &str) -> Result<Self, CurveError> {
        let mut dialect = Self::of(text, file)?;
        let (_, told) = without_comments(text);
        let found = told.map_or(SEPARATORS.to_vec(), |told| vec![told]).into_iter().filter_map(|separator| {
            let list: Vec<Row> =
                rows(&dialect.text, separator, file).map_while(Result::ok).take(ROWS_ABOVE).collect();
            let number = |row: usize, index: usize| {
                let cell = list.get(row).and_then(|row| row.cells.get(index));
                cell.is_some_and(|cell| number::parse(cell, &mut DecimalMark::default()).is_ok())
            };
            let above = (0..list.len()).find(|&i| {
                choice.indices(&list[i].cells).is_some_and(|both| {
                    let numbers = |row: usize| both.iter().all(|&index| number(row, index));
                    // a row of units may stand between
                    let named = both.iter().all(|&index| !list[i].cells[index].trim().is_empty());
                    named && !numbers(i) && (numbers(i + 1) || numbers(i + 2))
                })
            })?;
            Some((list[above].line, separator))
        });
        if let Some((line, separator)) = found.min_by_key(|(line, _)| *line) {
            (dialect.separator, dialect.header_line) = (separator, Some(line).filter(|line| *line > 1));
        }
        Ok(dialect)
    }

    /// The rows in the order of the file.
    pub fn rows<'a>(&'a self, file: &'a str) -> impl Iterator<Item = Result<Row, CurveError>> + 'a {
        rows(&self.text, self.separator, file)
    }
}

pub(super) fn rows<'a>(
    text: &'a str,
    separator: u8,
    file: &'a str,
) -> impl Iterator<Item = Result<Row, CurveError>> + 'a {
    let mut reader = ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut lines = LineCount::new(text.as_bytes());
    let mut record = StringRecord::new();
    let mut failed = false;
    std::iter::from_fn(move || {
        while !failed {
            // the reader's own line numbers go wrong after CRLF and blank lines; its byte offset is where the
            // search for the row began, before the line ends it skipped
            let line = lines.line_of_text_after(offset(reader.position()));
            match reader.read_record(&mut record) {
                Ok(false) => return None,
                Ok(true) if record.iter().all(|cell| cell.trim().is_empty()) => {}
                Ok(true) => return Some(Ok(Row { line, cells: record.iter().map(str::to_owned).collect() })),
                Err(error) => {
                    failed = true;
                    let message = error.to_string();
                    return Some(Err(CurveError::Unreadable { file: file.to_owned(), row: line, message }));
                }
            }
        }
        None
    })
}

fn offset(position: &csv::Position) -> usize {
    usize::try_from(position.byte()).unwrap_or(usize::MAX)
}

/// The text with its comment lines blanked, and the separator given by a first line `sep=;`.
pub(super) fn without_comments(text: &str) -> (String, Option<u8>) {
    let mut blanked = String::with_capacity(text.len());
    let mut told = None;
    let mut first = true;
    for line in text.split_inclusive(['\n', '\r']) {
        let content = line.trim();
        let separator = separator_line(content).filter(|_| first);
        let comment =
            content.starts_with('#') && !SPREADSHEET_ERRORS.iter().any(|word| content.starts_with(word));
        if comment || separator.is_some() {
            told = told.or(separator);
            let end = line.trim_end_matches(['\n', '\r']).len();
            blanked.extend(std::iter::repeat_n(' ', end));
            blanked.push_str(&line[end..]);
        } else {
            blanked.push_str(line);
            first = first && content.is_empty();
        }
    }
    (blanked, told)
}

/// Separator given in a line of its own, as spreadsheets write it.
fn separator_line(content: &str) -> Option<u8> {
    let told = content.to_ascii_lowercase();
    match told.strip_prefix("sep=")?.as_bytes() {
        [separator] if SEPARATORS.contains(separator) => Some(*separator),
        [] => Some(b'\t'), // the tab is trimmed away with the line's end
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str) -> Vec<(usize, usize)> {
        let dialect = Dialect::of(text, "c.csv").unwrap();
        dialect.rows("c.csv").map(|row| row.map(|row| (row.line, row.cells.len())).unwrap()).collect()
    }

    #[test]
    fn the_separator_is_the_one_that_makes_sense_of_the_header() {
        for (text, separator) in [
            ("x_mm,f_N\n1,2\n", b','),
            ("x (mm);f (N)\n1,5;2,5\n", b';'),
            ("x\tf, mean value\n1,5\t2,5\n", b'\t'),
            ("sep=;\nx;f\n1;2\n", b';'),
            ("note, x;f;load, set\n", b';'),
        ] {
            assert_eq!(Dialect::of(text, "c.csv").unwrap().separator, separator, "{text:?}");
        }
    }

    #[test]
    fn line_numbers_hold_after_comments_blank_lines_and_every_line_end() {
        assert_eq!(
            lines("# top\n\nx,f\n\n  # in between, \"open\n1,2\n;\n3,4"),
            [(3, 2), (6, 2), (7, 1), (8, 2)]
        );
        assert_eq!(lines("# top\r\n\r\nx,f\r\n\r\n1,2\r\n,,\r\n3,4\r\n"), [(3, 2), (5, 2), (7, 2)]);
        assert_eq!(lines("# top\r\rx,f\r1,2\r# end\r3,4"), [(3, 2), (4, 2), (6, 2)]);
    }

    #[test]
    fn a_quoted_line_end_does_not_shift_the_rows_below() {
        assert_eq!(lines("x,\"f\n(N)\"\n1,2\n\n3,4\n"), [(1, 2), (3, 2), (5, 2)]);
    }

    #[test]
    fn a_spreadsheet_error_is_no_comment() {
        assert_eq!(lines("x,f\n#N/A,3\n#note\n"), [(1, 2), (2, 2)]);
    }

    #[test]
    fn a_file_of_comments_is_empty() {
        for text in ["", "\n\r\n", "# only\n  #this\n"] {
            let message = Dialect::of(text, "c.csv").unwrap_err().to_string();
            assert!(message.starts_with("c.csv: no row at all"), "{message}");
        }
    }
}
