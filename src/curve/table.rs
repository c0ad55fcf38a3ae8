//! The table of a curve file: header and rows, in mm and N, with nothing checked but the numbers.

use super::choice::ColumnChoice;
use super::column::{ColumnQuantity, shortened};
use super::decoding;
use super::dialect::Dialect;
use super::error::{CurveError, FilePlace};
use super::header::{self, About, Column, Header, Origin};
use super::number::{self, CellFault, DecimalMark};

/// Largest number of rows of a curve file: a target has tens, a measured curve thousands.
pub const MOST_ROWS: usize = 100_000;

/// Least and most that the largest deflection may be (mm): a nanometre and a kilometre.
const DEFLECTIONS: [f64; 2] = [1e-6, 1e6];
/// Least and most that the largest force may be (N).
const FORCES: [f64; 2] = [1e-9, 1e9];
/// Largest tolerance (percent).
const MOST_TOLERANCE: f64 = 1e6;

/// Points of a curve as they were given, in mm and N, with where each came from.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Points {
    pub deflection: Vec<f64>,
    pub force: Vec<f64>,
    pub force_min: Option<Vec<f64>>,
    pub force_max: Option<Vec<f64>>,
    /// percent; rows may leave it out
    pub tolerance: Option<Vec<Option<f64>>>,
    /// line of each point in its file; empty where the points come from a list
    pub lines: Vec<usize>,
    /// quantity, column from 1 and name
    pub columns: Vec<(ColumnQuantity, usize, String)>,
    pub notes: Vec<String>,
}

impl Points {
    /// Where the number `quantity` of point `index` stands.
    pub fn place(&self, index: usize, quantity: ColumnQuantity) -> FilePlace {
        let column = self.columns.iter().find(|(of, _, _)| *of == quantity);
        match (self.lines.get(index), column) {
            (Some(&row), Some((_, column, name))) => {
                FilePlace::Cell { row, column: *column, name: name.clone() }
            }
            _ => FilePlace::Point { number: index + 1, quantity },
        }
    }

    /// How a note names the point `index`.
    pub fn row_name(&self, index: usize) -> String {
        self.lines.get(index).map_or_else(|| format!("point {}", index + 1), |line| format!("row {line}"))
    }

    pub fn len(&self) -> usize {
        self.deflection.len()
    }

    /// Refuses numbers far from any spring: a wrong unit or a slip, whose square may overflow.
    pub fn check_size(&self, file: &str) -> Result<(), CurveError> {
        let columns = [
            (ColumnQuantity::Deflection, Some(&self.deflection), DEFLECTIONS, "mm"),
            (ColumnQuantity::Force, Some(&self.force), FORCES, "N"),
            (ColumnQuantity::ForceMin, self.force_min.as_ref(), FORCES, "N"),
            (ColumnQuantity::ForceMax, self.force_max.as_ref(), FORCES, "N"),
        ];
        for (quantity, values, [least, most], unit) in columns {
            let Some(values) = values else { continue };
            if let Some(index) = values.iter().position(|value| value.abs() > most) {
                let (place, value) = (self.place(index, quantity), values[index]);
                return Err(CurveError::TooLarge { file: file.to_owned(), place, value, most, unit });
            }
            let largest = values.iter().copied().fold(0.0, f64::max);
            // where nothing is above zero, something else is wrong, and said
            if matches!(quantity, ColumnQuantity::Deflection | ColumnQuantity::Force)
                && largest > 0.0
                && largest < least
            {
                return Err(CurveError::TooSmall { file: file.to_owned(), quantity, largest, least, unit });
            }
        }
        let tolerances = self.tolerance.iter().flatten().enumerate();
        for (index, value) in tolerances.filter_map(|(index, value)| Some((index, (*value)?))) {
            if value > MOST_TOLERANCE {
                let place = self.place(index, ColumnQuantity::Tolerance);
                let (file, most) = (file.to_owned(), MOST_TOLERANCE);
                return Err(CurveError::TooLarge { file, place, value, most, unit: "%" });
            }
        }
        Ok(())
    }
}

/// Reads the table of a curve in `bytes`; `origin` is what its deflections count from.
/// Its columns are those asked for, or found by the words of the header.
pub(super) fn read_columns(
    bytes: &[u8],
    origin: Origin,
    choice: Option<&ColumnChoice>,
    file: &str,
) -> Result<Points, CurveError> {
    read_table(bytes, origin, choice, &ColumnQuantity::OF_A_CURVE, file)
}

/// As [`read_columns`], with the quantities whose columns have to be there. The numbers of a column beside these are read where
/// the table is that of a curve, and left unread in a list of deflections.
fn read_table(
    bytes: &[u8],
    origin: Origin,
    choice: Option<&ColumnChoice>,
    needed: &[ColumnQuantity],
    file: &str,
) -> Result<Points, CurveError> {
    let text = decoding::text(bytes, file)?;
    let dialect = match choice {
        Some(choice) => Dialect::chosen(&text, choice, file)?,
        None => Dialect::of(&text, file)?,
    };
    let mut rows = dialect.rows(file).peekable();
    let mut first = None;
    // testers write the name of the test and of the part above the header
    for row in rows.by_ref() {
        let row = row?;
        let at_header = dialect.header_line.is_none_or(|line| row.line >= line);
        if at_header {
            first = Some(row);
            break;
        }
    }
    let Some(first) = first else {
        return Err(CurveError::Empty { file: file.to_owned() });
    };
    let mut header = header::recognise(&first.cells, first.line, origin, needed, choice, file)?;
    if dialect.header_line.is_some() {
        let text = format!("the header is row {}; the rows above it are not used", first.line);
        header.note(About::File, text);
    }
    let units =
        rows.peek().and_then(|row| row.as_ref().ok()).is_some_and(|row| row_of_units(&row.cells, &header));
    if units && let Some(row) = rows.next() {
        take_units(&row?, &mut header, file)?;
    }
    if !needed.contains(&ColumnQuantity::Force) {
        header.leave(needed);
    }

    let mut values: Vec<Vec<Option<f64>>> = vec![Vec::new(); header.columns.len()];
    let mut lines = Vec::new();
    let mut mark = DecimalMark::default();
    for row in rows {
        let row = row?;
        if lines.len() == MOST_ROWS {
            return Err(CurveError::TooManyRows { file: file.to_owned(), row: row.line, most: MOST_ROWS });
        }
        check_width(&row.cells, row.line, &header, dialect.separator, file)?;
        for (column, values) in header.columns.iter().zip(&mut values) {
            let cell = row.cells.get(column.index).map_or("", String::as_str);
            values.push(number_in(cell, column, row.line, &mut mark, file)?);
        }
        lines.push(row.line);
    }
    let notes = header.notes.into_iter().map(|note| note.text).collect();
    let mut points = Points { lines, notes, ..Points::default() };
    if matches!(text, std::borrow::Cow::Owned(_)) {
        points.notes.push("the text is no UTF-8 and is read as Latin-1".to_owned());
    }
    if mark == DecimalMark::Comma {
        points.notes.push("commas inside numbers are read as decimal commas".to_owned());
    }
    for (column, values) in header.columns.into_iter().zip(values) {
        points.columns.push((column.quantity, column.index + 1, column.name));
        // only a tolerance may be left out, everything else was refused above
        let full = || values.iter().copied().flatten().collect::<Vec<f64>>();
        match column.quantity {
            ColumnQuantity::Deflection => points.deflection = full(),
            ColumnQuantity::Force => points.force = full(),
            ColumnQuantity::ForceMin => points.force_min = Some(full()),
            ColumnQuantity::ForceMax => points.force_max = Some(full()),
            ColumnQuantity::Tolerance => points.tolerance = Some(values),
        }
    }
    Ok(points)
}

/// Whether no cell that is read holds a number and at least one a unit of its column.
fn row_of_units(cells: &[String], header: &Header) -> bool {
    let cell = |column: &Column| cells.get(column.index).map_or("", String::as_str);
    header.columns.iter().any(|column| header::unit_cell(column.quantity, cell(column)).is_some())
        && header.columns.iter().all(|column| {
            matches!(
                number::parse(cell(column), &mut DecimalMark::default()),
                Err(CellFault::NotANumber | CellFault::Empty)
            )
        })
}

/// Takes the units of a second header row.
fn take_units(row: &super::dialect::Row, header: &mut Header, file: &str) -> Result<(), CurveError> {
    for column in &mut header.columns {
        let cell = row.cells.get(column.index).map_or("", |cell| cell.trim());
        if cell.is_empty() {
            continue;
        }
        column.factor = header::unit_cell(column.quantity, cell).ok_or_else(|| CurveError::UnknownUnit {
            file: file.to_owned(),
            row: row.line,
            column: column.index + 1,
            name: column.name.clone(),
            unit: shortened(cell),
            quantity: column.quantity,
        })?;
        let index = column.index;
        header.notes.retain(|note| note.about != About::UnitOf(index));
    }
    Ok(())
}

/// Separators that a row may have instead of the header's.
const OTHERS: [u8; 2] = [b';', b'\t'];

fn separator_name(separator: u8) -> &'static str {
    match separator {
        b';' => "semicolon",
        b'\t' => "tab",
        _ => "comma",
    }
}

/// Empty cells beyond the header are what spreadsheets leave behind; anything else has to match.
fn check_width(
    cells: &[String],
    row: usize,
    header: &Header,
    separator: u8,
    file: &str,
) -> Result<(), CurveError> {
    let (found, expected) = (cells.len(), header.width);
    let surplus = cells.iter().skip(expected).any(|cell| !cell.trim().is_empty());
    if found < expected || surplus {
        let file = file.to_owned();
        let expected_by = separator_name(separator);
        let other = cells.iter().find_map(|cell| {
            OTHERS.iter().find(|other| **other != separator && cell.as_bytes().contains(*other)).copied()
        });
        if let (false, Some(found_by)) = (surplus, other) {
            return Err(CurveError::OtherSeparator {
                file,
                row,
                found: separator_name(found_by),
                expected: expected_by,
            });
        }
        return Err(if surplus && separator == b',' {
            CurveError::AmbiguousComma { file, row, found, expected }
        } else {
            CurveError::Ragged { file, row, found, expected }
        });
    }
    Ok(())
}

/// Deflections at which a curve is wanted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeflectionList {
    /// deflections (mm), increasing, each once
    pub deflection: Vec<f64>,
    /// what was assumed while reading, a sentence each
    pub notes: Vec<String>,
}

/// The deflections of a file with a deflection column; forces may be there or not, and are not read. The same tables as
/// [`read`](super::read) takes: separators, decimal commas, comments, rows above the header, a row of units.
pub fn read_deflections(bytes: &[u8], file: &str) -> Result<DeflectionList, CurveError> {
    let points = read_table(bytes, Origin::FreeHeight, None, &[ColumnQuantity::Deflection], file)?;
    let (mut deflection, notes) = (points.deflection, points.notes);
    if deflection.is_empty() {
        return Err(CurveError::Empty { file: file.to_owned() });
    }
    deflection.sort_by(f64::total_cmp);
    deflection.dedup();
    Ok(DeflectionList { deflection, notes })
}

fn number_in(
    cell: &str,
    column: &Column,
    row: usize,
    mark: &mut DecimalMark,
    file: &str,
) -> Result<Option<f64>, CurveError> {
    let earlier = mark.name();
    let fault = match number::parse(cell, mark) {
        Ok(value) if (value * column.factor).is_finite() => return Ok(Some(value * column.factor)),
        Ok(_) => CellFault::Infinite,
        Err(CellFault::Empty) if column.quantity == ColumnQuantity::Tolerance => return Ok(None),
        Err(fault) => fault,
    };
    let place = FilePlace::Cell { row, column: column.index + 1, name: column.name.clone() };
    Err(fault.at(file, place, cell, earlier))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8], origin: Origin, file: &str) -> Result<Points, CurveError> {
        read_columns(bytes, origin, None, file)
    }

    fn refusal(text: &str) -> String {
        read(text.as_bytes(), Origin::FreeHeight, "curve.csv").unwrap_err().to_string()
    }

    #[test]
    fn numbers_arrive_in_mm_and_n_in_the_order_of_the_file() {
        let points = read(b"f_kN;x_cm\n0,5;1\n0,25;0,5\n", Origin::FreeHeight, "curve.csv").unwrap();
        assert_eq!(points.deflection, [10.0, 5.0]);
        assert_eq!(points.force, [500.0, 250.0]);
        assert_eq!(points.lines, [2, 3]);
        assert_eq!(points.notes, ["commas inside numbers are read as decimal commas"]);
    }

    #[test]
    fn units_may_stand_in_a_second_header_row() {
        let points =
            read(b"Zeit;Weg;Kraft\n[s];[\xC2\xB5m];[gf]\n0;500;100\n", Origin::FreeHeight, "c").unwrap();
        assert_eq!((points.deflection[0], points.force[0]), (0.5, 0.980_665));
        assert!(!points.notes.iter().any(|note| note.contains("names no unit")), "{:?}", points.notes);
        assert!(
            refusal("x;f\nmm;stone\n1;2\n").contains("row 2, column 2 (\"f\"): found the unit \"stone\"")
        );
    }

    #[test]
    fn rows_above_the_header_are_ignored_and_noted() {
        let text = "Test rig 3;bench\nPart;7\n\nTravel [mm];Load [N]\n1;2\n";
        let points = read(text.as_bytes(), Origin::FreeHeight, "c").unwrap();
        assert_eq!((points.force[0], points.lines[0]), (2.0, 5));
        assert!(points.notes[0].contains("the header is row 4"), "{:?}", points.notes);
    }

    #[test]
    fn a_bad_cell_is_refused_with_row_and_column() {
        for (cell, words) in [
            ("abc", "found \"abc\", expected a number"),
            ("", "found an empty cell"),
            ("nan", "found NaN"),
            ("-inf", "found \"-inf\", which is infinite"),
            ("1e308", "found \"1e308\", which is infinite"),
        ] {
            let message = refusal(&format!("# rig\r\nx_m,f_kN\r\n1,2\r\n\r\n3,{cell}\r\n"));
            assert!(message.starts_with("curve.csv: row 5, column 2 (\"f_kN\"): "), "{message}");
            assert!(message.contains(words), "{message}");
        }
    }

    #[test]
    fn a_row_of_another_width_is_refused() {
        assert!(refusal("x;f\n1;2\n3\n").contains("row 3: number of cells is 1, expected 2"));
        assert!(refusal("x;f\n1;2\n3;4;5\n").contains("row 3: number of cells is 3, expected 2"));
        let message = refusal("x,f\n0;0\n1;2,5\n");
        assert!(message.contains("row 2: found columns separated by semicolon, expected comma"), "{message}");
        assert_eq!(read(b"x;f\n1;2;;\n", Origin::FreeHeight, "c").unwrap().force, [2.0]);
    }

    #[test]
    fn a_decimal_comma_between_comma_separated_columns_is_refused_unless_quoted() {
        let message = refusal("x,f\n0,5,1,5\n");
        assert!(message.contains("row 2: number of cells is 4, expected 2"), "{message}");
        assert!(message.contains("separate the columns by semicolon or tab"), "{message}");
        assert_eq!(read(b"x,f\n\"0,5\",\"1,5\"\n", Origin::FreeHeight, "c").unwrap().force, [1.5]);
    }

    #[test]
    fn deflections_are_read_with_and_without_forces_beside_them() {
        for header in
            ["x_mm,force_n", "x(mm),F(N)", "x_mm,f[N]", "travel,load_lbf", "x_mm,note", "x_mm,force_min_n"]
        {
            let text = format!("{header}\n2,5\n1,4\n2,6\n");
            let read = read_deflections(text.as_bytes(), "points.csv").unwrap();
            assert_eq!(read.deflection, [1.0, 2.0], "{header}");
            assert!(!read.notes.iter().any(|note| note.contains("column 2")), "{header}: {:?}", read.notes);
        }
        assert_eq!(read_deflections(b"x_mm\n3\n1\n", "points.csv").unwrap().deflection, [1.0, 3.0]);
        let read = read_deflections(b"x,force_n\n2,\n1,hand\n", "points.csv").unwrap();
        assert_eq!((read.deflection, read.notes.len()), (vec![1.0, 2.0], 1), "{:?}", read.notes);
    }

    /// Every table that the curve reader takes, with the same deflections in millimetres.
    #[test]
    fn deflections_are_read_from_the_tables_that_curves_are_read_from() {
        for text in [
            "Weg;Kraft\n[cm];[N]\n0,1;3\n0,25;5\n",
            "travel,force\nmm,N\n1,3\n2.5,5\n",
            "time,travel,force\ns,,N\n0,1,3\n1,2.5,5\n",
            "Test rig 3;bench\nPart;7\n\nTravel [mm];Load [N]\n1;2\n2.5;4\n",
            "# rig\r\nx_mm\tf_n\r\n1\t2\r\n\r\n2.5\t3\r\n",
            "sep=;\nx;f;;\n1;2;;\n2,5;3;;\n",
        ] {
            let curve = read(text.as_bytes(), Origin::FreeHeight, "points.csv").unwrap();
            let list = read_deflections(text.as_bytes(), "points.csv").unwrap();
            assert_eq!(list.deflection, [1.0, 2.5], "{text:?}");
            assert_eq!(list.deflection, curve.deflection, "{text:?}");
        }
        assert_eq!(read_deflections(b"travel\ncm\n0.1\n", "points.csv").unwrap().deflection, [1.0]);
        for text in ["x;f\nmm;stone\n1;2\n", "x;f\n1;2\n3\n", "x;f\nmm;N\n1;2\nabc;3\n"] {
            let list = read_deflections(text.as_bytes(), "curve.csv").unwrap_err().to_string();
            assert_eq!(list, refusal(text), "{text:?}");
        }
    }

    #[test]
    fn two_decimal_marks_in_one_file_are_refused() {
        let message = refusal("x;f\n0,5;1\n1;1.000\n");
        assert!(message.contains("row 3, column 2 (\"f\"): found \"1.000\""), "{message}");
        assert!(message.contains("after numbers with a decimal comma"), "{message}");
    }

    #[test]
    fn an_endless_file_is_refused_at_the_first_row_too_many() {
        let text = format!("x,f\n{}", "1,2\n".repeat(MOST_ROWS));
        assert_eq!(read(text.as_bytes(), Origin::FreeHeight, "c").unwrap().len(), MOST_ROWS);
        let message = refusal(&format!("{text}1,2\n"));
        assert!(message.contains("more than 100000 rows (row 100002 is one too many)"), "{message}");
    }
}
