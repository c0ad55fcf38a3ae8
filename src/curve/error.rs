//! Errors of a curve file. Each names the file, the place, the text found there, the text expected
//! and what to do.

use super::column::ColumnQuantity;

/// Where a number stands.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FilePlace {
    /// In a file.
    #[error("row {row}, column {column} (\"{name}\")")]
    Cell {
        /// line of the file, the first is 1
        row: usize,
        /// column, the first is 1
        column: usize,
        /// name of the column in the header
        name: String,
    },
    /// In a list of points.
    #[error("point {number}, {quantity}")]
    Point {
        /// which point, the first is 1
        number: usize,
        /// which of its numbers
        quantity: ColumnQuantity,
    },
}

/// Why a curve was refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CurveError {
    /// A file of two-byte or four-byte characters.
    #[error(
        "{file}: the text is coded in {coding}, expected UTF-8; save the file as CSV in UTF-8 and try again"
    )]
    WideCoding {
        /// name of the file as the user gave it
        file: String,
        /// the coding found
        coding: &'static str,
    },
    /// Bytes that are no UTF-8 text.
    #[error(
        "{file}: row {row} holds the byte 0x{byte:02X}, which is no UTF-8 text; save the file as CSV in UTF-8 and \
         try again"
    )]
    NotUtf8 {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// the first byte that does not fit
        byte: u8,
    },
    /// The table reader gave up.
    #[error("{file}: row {row} cannot be split into cells ({message}); correct the quotes in that row")]
    Unreadable {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// message of the table reader
        message: String,
    },
    /// Nothing but blank lines and comments.
    #[error(
        "{file}: no row at all, expected a header such as deflection_mm,force_n and at least 2 rows below it; write them and try again"
    )]
    Empty {
        /// name of the file as the user gave it
        file: String,
    },
    /// The first row is a row of numbers.
    #[error(
        "{file}: row {row} holds numbers ({found}), expected a header; write a line such as deflection_mm,force_n \
         above it"
    )]
    NoHeader {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// the row as it stands
        found: String,
    },
    /// A column that has to be there and is not.
    #[error(
        "{file}: row {row} has no column for the {quantity} (found {found}), expected one named {}; name it and \
         separate the columns by comma, semicolon or tab",
        quantity.keywords()
    )]
    MissingColumn {
        /// name of the file as the user gave it
        file: String,
        /// line of the header
        row: usize,
        /// what is missing
        quantity: ColumnQuantity,
        /// the header as it stands
        found: String,
    },
    /// A column asked for that is not there.
    #[error(
        "{file}: row {row} has no column \"{wanted}\" (found {found}); give --columns the names of two columns of the \
         header, or their numbers from 1"
    )]
    NoSuchColumn {
        /// name of the file as the user gave it
        file: String,
        /// line of the header
        row: usize,
        /// the column asked for
        wanted: String,
        /// the header as it stands
        found: String,
    },
    /// An invalid cell of a bench sheet.
    #[error(
        "{file}: row {row}: found {found}, expected {expected}; the sheet that `design` writes shows how"
    )]
    BenchSheet {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// value found
        found: String,
        /// accepted content
        expected: String,
    },
    /// Two columns for the same quantity.
    #[error(
        "{file}: row {row} has two columns for the {quantity}: column {first} (\"{first_name}\") and column {second} \
         (\"{second_name}\"), expected one; rename or remove the one that is not meant"
    )]
    TwoColumns {
        /// name of the file as the user gave it
        file: String,
        /// line of the header
        row: usize,
        /// quantity of both
        quantity: ColumnQuantity,
        /// the first of them
        first: usize,
        /// its name
        first_name: String,
        /// the second of them
        second: usize,
        /// its name
        second_name: String,
    },
    /// A unit that is not known, or not one of this quantity.
    #[error(
        "{file}: row {row}, column {column} (\"{name}\"): found the unit \"{unit}\", expected {} for the {quantity}; \
         convert the column or correct its unit",
        quantity.units()
    )]
    UnknownUnit {
        /// name of the file as the user gave it
        file: String,
        /// line of the header
        row: usize,
        /// column of the header
        column: usize,
        /// name of the column in the header
        name: String,
        /// the unit as it stands
        unit: String,
        /// quantity of the column
        quantity: ColumnQuantity,
    },
    /// A row with more or fewer cells than the header.
    #[error(
        "{file}: row {row}: number of cells is {found}, expected {expected} as in the header; correct that row"
    )]
    Ragged {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// cells in the row
        found: usize,
        /// cells in the header
        expected: usize,
    },
    /// A row whose columns are separated by another sign than those of the header.
    #[error(
        "{file}: row {row}: found columns separated by {found}, expected {expected} as in the header; separate all rows, the \
         header as well, by {found}"
    )]
    OtherSeparator {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// separator of the row, a word
        found: &'static str,
        /// separator of the header, a word
        expected: &'static str,
    },
    /// Too many cells where the comma separates columns: probably decimal commas.
    #[error(
        "{file}: row {row}: number of cells is {found}, expected {expected} as in the header; if the comma is the decimal \
         mark here, separate the columns by semicolon or tab, or put the numbers in quotes"
    )]
    AmbiguousComma {
        /// name of the file as the user gave it
        file: String,
        /// line of the file
        row: usize,
        /// cells in the row
        found: usize,
        /// cells in the header
        expected: usize,
    },
    /// Decimal commas and decimal points in one file.
    #[error(
        "{file}: {place}: found \"{text}\" after numbers with a decimal {earlier}, expected one decimal mark \
         throughout; write all numbers in one form and without thousands separators"
    )]
    MixedDecimalMarks {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// the cell as it stands
        text: String,
        /// the mark used before
        earlier: &'static str,
    },
    /// A cell without anything in it.
    #[error("{file}: {place}: found an empty cell, expected a number; fill it in or remove the row")]
    EmptyCell {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
    },
    /// Something that is not a number.
    #[error(
        "{file}: {place}: found \"{text}\", expected a number such as 12.5; write the number alone, without unit or \
         thousands separator"
    )]
    NotANumber {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// the cell as it stands
        text: String,
    },
    /// NaN.
    #[error("{file}: {place}: found NaN, expected a number; fill it in or remove the row")]
    Undefined {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
    },
    /// Infinity, or a number too large to hold.
    #[error(
        "{file}: {place}: found \"{text}\", which is infinite, expected a finite number; correct or remove the row"
    )]
    Infinite {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// the cell as it stands
        text: String,
    },
    /// A number out of every plausible range.
    #[error(
        "{file}: {place}: found {value:e} {unit}, expected no more than {most:e} {unit}; check the number and the \
         column's unit"
    )]
    TooLarge {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// value found, in `unit`
        value: f64,
        /// the most that may stand there, in `unit`
        most: f64,
        /// mm, N or %
        unit: &'static str,
    },
    /// A column whose largest value is implausibly small.
    #[error(
        "{file}: the largest value for the {quantity} is {largest:e} {unit}, expected at least {least:e} {unit}; check its \
         unit"
    )]
    TooSmall {
        /// name of the file as the user gave it
        file: String,
        /// which column
        quantity: ColumnQuantity,
        /// the largest value, in `unit`
        largest: f64,
        /// the least it may be, in `unit`
        least: f64,
        /// mm or N
        unit: &'static str,
    },
    /// Travel below zero.
    #[error(
        "{file}: {place}: found a deflection of {value_mm} mm, expected {least_mm} mm or more; count the travel from \
         where it begins, pressing in as positive"
    )]
    NegativeDeflection {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// value found (mm)
        value_mm: f64,
        /// the least that may stand there (mm)
        least_mm: f64,
    },
    /// A force that pulls.
    #[error(
        "{file}: {place}: found a force of {value_n} N, expected {least_n} N or more; a pressed spring pushes back, \
         count that as positive"
    )]
    NegativeForce {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// value found (N)
        value_n: f64,
        /// the least that may stand there (N)
        least_n: f64,
    },
    /// Pull and push in one curve.
    #[error(
        "{file}: {place}: found a deflection of {value_mm} mm and a force below zero, expected both at or above zero; a curve \
         through zero to both sides needs two springs set against each other: `flatspire design` answers it with an \
         assembly of kind \"opposed\""
    )]
    TwoSided {
        /// name of the file as the user gave it
        file: String,
        /// where the lowest deflection stands
        place: FilePlace,
        /// the lowest deflection (mm)
        value_mm: f64,
    },
    /// A tolerance that is not above zero.
    #[error(
        "{file}: {place}: found a tolerance of {value} %, expected more than 0; give it in percent of the force"
    )]
    BadTolerance {
        /// name of the file as the user gave it
        file: String,
        /// where it stands
        place: FilePlace,
        /// value found (percent)
        value: f64,
    },
    /// A band whose lower edge lies above its upper one.
    #[error(
        "{file}: {place}: found force_min {minimum_n} N above force_max {maximum_n} N, expected it at or below; \
         exchange the two"
    )]
    BandReversed {
        /// name of the file as the user gave it
        file: String,
        /// where force_min stands
        place: FilePlace,
        /// lower edge (N)
        minimum_n: f64,
        /// upper edge (N)
        maximum_n: f64,
    },
    /// A band and a tolerance that changes from row to row.
    #[error(
        "{file}: {place}: found a tolerance of {value} % after {earlier} % beside force_min or force_max, expected a \
         band or a changing tolerance, not both; keep one of the two"
    )]
    TwoBands {
        /// name of the file as the user gave it
        file: String,
        /// where the tolerance changes
        place: FilePlace,
        /// value found (percent)
        value: f64,
        /// earlier value (percent)
        earlier: f64,
    },
    /// Lists of points that differ in length.
    #[error(
        "{file}: number of values for the {quantity} is {found}, expected {expected}, one for each deflection; correct the list"
    )]
    UnequalLists {
        /// name of the file as the user gave it
        file: String,
        /// which list
        quantity: ColumnQuantity,
        /// values in it
        found: usize,
        /// deflections
        expected: usize,
    },
    /// Too few points to make a curve.
    #[error(
        "{file}: number of points at different deflections is {found}, expected at least {least}; add points"
    )]
    TooFewPoints {
        /// name of the file as the user gave it
        file: String,
        /// points at different deflections
        found: usize,
        /// points needed
        least: usize,
    },
    /// A file with too many rows.
    #[error("{file}: more than {most} rows (row {row} is one too many), expected at most that; thin it out")]
    TooManyRows {
        /// name of the file as the user gave it
        file: String,
        /// line of the first row too many
        row: usize,
        /// most rows
        most: usize,
    },
    /// No force anywhere.
    #[error(
        "{file}: every force is zero, expected a force above zero somewhere; check the force column and its unit"
    )]
    NoForce {
        /// name of the file as the user gave it
        file: String,
    },
}
