//! The header: which column holds what, in which unit.

use super::choice::ColumnChoice;
use super::column::{ColumnQuantity, listed, shortened};
use super::error::CurveError;
use super::units;

/// Words for deflection: English, German, French, Spanish, Italian.
const DEFLECTION_WORDS: [&str; 27] = [
    "deflection",
    "travel",
    "displacement",
    "stroke",
    "weg",
    "federweg",
    "durchbiegung",
    "einfederung",
    "verformung",
    "hub",
    "course",
    "déplacement",
    "deplacement",
    "flèche",
    "fleche",
    "enfoncement",
    "déformation",
    "desplazamiento",
    "recorrido",
    "carrera",
    "flecha",
    "deflexión",
    "deflexion",
    "corsa",
    "spostamento",
    "freccia",
    "cedimento",
];
/// Words for force: the same languages.
const FORCE_WORDS: [&str; 14] = [
    "force",
    "load",
    "kraft",
    "federkraft",
    "prüfkraft",
    "pruefkraft",
    "normalkraft",
    "last",
    "effort",
    "charge",
    "fuerza",
    "carga",
    "forza",
    "carico",
];

/// Words of these that mean something else in an English phrase and count only alone.
const ALONE_ONLY: [&str; 4] = ["hub", "course", "last", "charge"];

/// Words that say which of several values a column holds, and so are no unit.
const DESCRIBING_WORDS: [&str; 24] = [
    "actual", "average", "avg", "cell", "channel", "error", "filtered", "max", "mean", "measured", "median",
    "min", "nominal", "raw", "rate", "sd", "set", "smoothed", "std", "target", "total", "value", "wanted",
    "test",
];

/// Origin of the deflections to read where a file holds both `deflection` (from the free height) and `travel` (from
/// where the target starts).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Origin {
    /// the free height
    FreeHeight,
    /// the start of the target
    TargetStart,
}

impl Origin {
    fn name(self) -> &'static str {
        match self {
            Self::FreeHeight => "deflection",
            Self::TargetStart => "travel",
        }
    }
}

/// Meaning of one header cell.
#[derive(Debug, Clone, PartialEq)]
struct HeaderCell {
    quantity: Option<ColumnQuantity>,
    /// the name is the keyword alone, not a phrase with the keyword in it
    exact: bool,
    /// the unit as written, known or not
    unit: Option<String>,
    /// first word of the name, in small letters
    word: String,
}

fn understand(cell: &str) -> HeaderCell {
    let (name, mut unit) = split_bracket(cell);
    let words: Vec<&str> = name
        .split(|c: char| c.is_whitespace() || "_-./".contains(c))
        .filter(|word| !word.is_empty())
        .collect();
    let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
    let mut count = lower.len();
    if unit.is_none() && count >= 2 {
        let last = lower[count - 1].as_str();
        let keyword_alone = quantity_of(&lower[..count - 1]).is_some_and(|(_, exact)| exact);
        // a word in the unit's place that neither is a unit nor describes the value is an unknown unit
        let in_units_place = keyword_alone && !DESCRIBING_WORDS.contains(&last);
        if units::is_unit(last) || in_units_place {
            unit = Some(words[count - 1].to_owned());
            count -= 1;
        }
    }
    let found = quantity_of(&lower[..count]);
    HeaderCell {
        quantity: found.map(|(quantity, _)| quantity),
        exact: found.is_some_and(|(_, exact)| exact),
        unit,
        word: lower.first().cloned().unwrap_or_default(),
    }
}

/// The name before the last bracket, and what stands in the bracket.
fn split_bracket(cell: &str) -> (&str, Option<String>) {
    let cell = cell.trim();
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some(inner) = cell.strip_suffix(close)
            && let Some(at) = inner.rfind(open)
        {
            return (&inner[..at], Some(inner[at + 1..].trim().to_owned()));
        }
    }
    (cell, None)
}

/// Quantity named by a list of words, and whether the words name nothing else.
fn quantity_of(words: &[String]) -> Option<(ColumnQuantity, bool)> {
    let plain: Vec<&str> = words.iter().map(String::as_str).collect();
    match plain.as_slice() {
        [word] if *word == "x" || DEFLECTION_WORDS.contains(word) => {
            return Some((ColumnQuantity::Deflection, true));
        }
        [word] if *word == "f" || FORCE_WORDS.contains(word) => return Some((ColumnQuantity::Force, true)),
        ["force" | "load" | "f", "min"] | ["min", "force" | "load"] => {
            return Some((ColumnQuantity::ForceMin, true));
        }
        ["force" | "load" | "f", "max"] | ["max", "force" | "load"] => {
            return Some((ColumnQuantity::ForceMax, true));
        }
        ["tolerance"] => return Some((ColumnQuantity::Tolerance, true)),
        _ => {}
    }
    let any = |list: &[&str]| plain.iter().any(|word| list.contains(word));
    let within = |list: &[&str]| plain.iter().any(|word| list.contains(word) && !ALONE_ONLY.contains(word));
    let deflection = within(&DEFLECTION_WORDS);
    let force = within(&FORCE_WORDS);
    let edge = any(&["min", "max", "error", "rate", "std", "sd", "tolerance"]);
    match (deflection, force, edge) {
        (true, false, false) => Some((ColumnQuantity::Deflection, false)),
        (false, true, false) => Some((ColumnQuantity::Force, false)),
        _ => None,
    }
}

/// Number of different quantities that the cells name; it is largest under the right separator.
pub(super) fn quantities_named(cells: &[String]) -> usize {
    let understood: Vec<HeaderCell> = cells.iter().map(|cell| understand(cell)).collect();
    ColumnQuantity::ALL
        .iter()
        .filter(|quantity| understood.iter().any(|cell| cell.quantity == Some(**quantity)))
        .count()
}

/// Whether the cells name a deflection and a force, each in a cell of its own.
pub(super) fn names_both(cells: &[String]) -> bool {
    let names = |quantity| cells.iter().any(|cell| understand(cell).quantity == Some(quantity));
    names(ColumnQuantity::Deflection) && names(ColumnQuantity::Force)
}

/// The factor of a cell in a second header row, brackets or none around the unit.
pub(super) fn unit_cell(quantity: ColumnQuantity, cell: &str) -> Option<f64> {
    let unit = cell.trim().trim_matches(|c: char| "()[]".contains(c)).trim();
    units::factor(quantity, unit)
}

/// A column that is read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    pub quantity: ColumnQuantity,
    /// from 0
    pub index: usize,
    /// as the header calls it, shortened
    pub name: String,
    /// one of the column's unit in mm, N or percent
    pub factor: f64,
}

/// The columns that are read, with notes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Header {
    /// cells in the header
    pub width: usize,
    pub columns: Vec<Column>,
    pub notes: Vec<Note>,
}

/// An assumption made while reading the header.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Note {
    pub about: About,
    /// a sentence
    pub text: String,
}

/// Subject of a note; columns count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum About {
    File,
    Column(usize),
    UnitOf(usize),
}

impl Header {
    /// Leaves out the columns of other quantities, and the notes on all columns but those left.
    pub(super) fn leave(&mut self, quantities: &[ColumnQuantity]) {
        self.columns.retain(|column| quantities.contains(&column.quantity));
        let columns = &self.columns;
        self.notes.retain(|note| match note.about {
            About::File => true,
            About::Column(index) | About::UnitOf(index) => columns.iter().any(|column| column.index == index),
        });
    }

    /// Adds a note.
    pub(super) fn note(&mut self, about: About, text: String) {
        self.notes.push(Note { about, text });
    }
}

/// Reads the header `cells` on line `row`; a column is refused as missing where its quantity is among those `needed`.
pub(super) fn recognise(
    cells: &[String],
    row: usize,
    origin: Origin,
    needed: &[ColumnQuantity],
    choice: Option<&ColumnChoice>,
    file: &str,
) -> Result<Header, CurveError> {
    let mut understood: Vec<HeaderCell> = cells.iter().map(|cell| understand(cell)).collect();
    let names = |cells: &[HeaderCell], word: &str| {
        cells
            .iter()
            .any(|cell| cell.exact && cell.quantity == Some(ColumnQuantity::Deflection) && cell.word == word)
    };
    if names(&understood, "deflection") && names(&understood, "travel") {
        for cell in &mut understood {
            if cell.quantity == Some(ColumnQuantity::Deflection) && cell.word != origin.name() {
                cell.quantity = None;
            }
        }
    }
    if let Some(choice) = choice {
        take(&mut understood, choice.found(cells, row, file)?, cells);
    }
    // empty cells at the end of the header are no columns
    let width = cells.iter().rposition(|cell| !cell.trim().is_empty()).map_or(0, |last| last + 1);
    let mut header = Header { width, columns: Vec::new(), notes: Vec::new() };
    let numbers = cells.iter().filter(|cell| cell.trim().replace(',', ".").parse::<f64>().is_ok()).count();
    if numbers == cells.iter().filter(|cell| !cell.trim().is_empty()).count() {
        return Err(CurveError::NoHeader { file: file.to_owned(), row, found: listed(cells) });
    }
    let mut force_unit: Option<(String, f64)> = None;
    for quantity in ColumnQuantity::ALL {
        let Some(index) = column_of(quantity, &understood, cells, row, file)? else {
            if needed.contains(&quantity) {
                return Err(CurveError::MissingColumn {
                    file: file.to_owned(),
                    row,
                    quantity,
                    found: listed(cells),
                });
            }
            continue;
        };
        let cell = &understood[index];
        let name = shortened(&cells[index]);
        if !cell.exact {
            let text = format!("column {} (\"{name}\") is read as the {quantity}", index + 1);
            header.note(About::Column(index), text);
        }
        let factor = match &cell.unit {
            Some(unit) => units::factor(quantity, unit).ok_or_else(|| CurveError::UnknownUnit {
                file: file.to_owned(),
                row,
                column: index + 1,
                name: name.clone(),
                unit: shortened(unit),
                quantity,
            })?,
            None if quantity == ColumnQuantity::Tolerance => 1.0,
            None => {
                // an edge of the band goes with the force beside it
                let of_force =
                    matches!(quantity, ColumnQuantity::ForceMin | ColumnQuantity::ForceMax).then_some(());
                let (unit, factor) = of_force
                    .and(force_unit.clone())
                    .unwrap_or_else(|| (quantity.base_unit().to_owned(), 1.0));
                let text = format!("column {} (\"{name}\") names no unit and is read as {unit}", index + 1);
                header.note(About::UnitOf(index), text);
                factor
            }
        };
        if quantity == ColumnQuantity::Force {
            force_unit = cell.unit.clone().map(|unit| (unit, factor));
        }
        header.columns.push(Column { quantity, index, name, factor });
    }
    for (index, cell) in cells.iter().enumerate() {
        if !cell.trim().is_empty() && !header.columns.iter().any(|column| column.index == index) {
            let text = format!("column {} (\"{}\") is not used", index + 1, shortened(cell));
            header.note(About::Column(index), text);
        }
    }
    Ok(header)
}

/// Assigns the columns asked for, whatever their names. A last word that is no unit is part of the name; what stands in
/// brackets is a unit.
fn take(understood: &mut [HeaderCell], chosen: [usize; 2], cells: &[String]) {
    for cell in understood.iter_mut() {
        if matches!(cell.quantity, Some(ColumnQuantity::Deflection | ColumnQuantity::Force)) {
            cell.quantity = None;
        }
    }
    for (quantity, index) in [ColumnQuantity::Deflection, ColumnQuantity::Force].into_iter().zip(chosen) {
        let cell = &mut understood[index];
        (cell.quantity, cell.exact) = (Some(quantity), true);
        let bracketed = split_bracket(&cells[index]).1.is_some();
        cell.unit = cell.unit.take().filter(|unit| bracketed || units::factor(quantity, unit).is_some());
    }
}

/// The one column for a quantity: one named by the keyword alone goes before phrases with the keyword in them.
fn column_of(
    quantity: ColumnQuantity,
    understood: &[HeaderCell],
    cells: &[String],
    row: usize,
    file: &str,
) -> Result<Option<usize>, CurveError> {
    for exact in [true, false] {
        let mut found = (0..understood.len())
            .filter(|&i| understood[i].quantity == Some(quantity) && understood[i].exact == exact);
        if let Some(first) = found.next() {
            return match found.next() {
                None => Ok(Some(first)),
                Some(second) => Err(CurveError::TwoColumns {
                    file: file.to_owned(),
                    row,
                    quantity,
                    first: first + 1,
                    first_name: shortened(&cells[first]),
                    second: second + 1,
                    second_name: shortened(&cells[second]),
                }),
            };
        }
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header(line: &str) -> Result<Header, CurveError> {
        let cells: Vec<String> = line.split(';').map(str::to_owned).collect();
        recognise(&cells, 1, Origin::FreeHeight, &ColumnQuantity::OF_A_CURVE, None, "curve.csv")
    }

    #[test]
    fn every_keyword_is_known_in_any_case_and_order() {
        for deflection in ["deflection", "Travel", "DISPLACEMENT", "stroke", "X"] {
            for force in ["force", "Load", "F"] {
                let header = header(&format!("{force};{deflection}")).unwrap();
                let found: Vec<_> =
                    header.columns.iter().map(|column| (column.quantity, column.index)).collect();
                assert_eq!(found, [(ColumnQuantity::Deflection, 1), (ColumnQuantity::Force, 0)]);
            }
        }
    }

    #[test]
    fn words_of_other_languages_are_known() {
        for line in [
            "Weg [mm];Kraft [N]",
            "Federweg;Federkraft",
            "Déplacement (mm);Force (N)",
            "course;effort",
            "Desplazamiento [mm];Fuerza [N]",
            "recorrido;carga",
            "Corsa (mm);Forza (N)",
            "Zeit [s];Weg in mm;Kraft in N",
        ] {
            let header = header(line).unwrap();
            let found: Vec<_> = header.columns.iter().map(|column| column.quantity).collect();
            assert_eq!(found, [ColumnQuantity::Deflection, ColumnQuantity::Force], "{line}");
        }
    }

    #[test]
    fn units_stand_after_an_underscore_or_in_brackets() {
        for (line, deflection, force) in [
            ("x_mm;f_n", 1.0, 1.0),
            ("Travel (cm);Load [kN]", 10.0, 1000.0),
            ("stroke_in;force(lbf)", 25.4, 4.448_221_615_260_5),
            ("deflection[m];Force_kgf", 1000.0, 9.806_65),
            ("travel in mm;force in N", 1.0, 1.0),
        ] {
            let header = header(line).unwrap();
            let factors: Vec<f64> = header.columns.iter().map(|column| column.factor).collect();
            assert_eq!(factors, [deflection, force], "{line}");
            assert!(
                !header.notes.iter().any(|note| note.text.contains("no unit")),
                "{line}: {:?}",
                header.notes
            );
        }
    }

    #[test]
    fn a_missing_unit_is_noted() {
        let notes = header("travel;force_kN;force_min").unwrap().notes;
        assert_eq!(notes.len(), 2);
        assert!(notes[0].text.contains("travel") && notes[0].text.ends_with("read as mm"), "{notes:?}");
        assert!(notes[1].text.contains("force_min") && notes[1].text.ends_with("read as kN"), "{notes:?}");
    }

    #[test]
    fn a_band_and_a_tolerance_are_found_beside_other_columns() {
        let header = header("time_s;x_mm;force_max_N;force_min (N);f_N;tolerance_percent;remark").unwrap();
        let found: Vec<_> = header.columns.iter().map(|column| (column.quantity, column.index)).collect();
        assert_eq!(
            found,
            [
                (ColumnQuantity::Deflection, 1),
                (ColumnQuantity::Force, 4),
                (ColumnQuantity::ForceMin, 3),
                (ColumnQuantity::ForceMax, 2),
                (ColumnQuantity::Tolerance, 5)
            ]
        );
        assert_eq!(header.notes.len(), 2, "{:?}", header.notes);
    }

    #[test]
    fn a_phrase_with_the_keyword_in_it_is_taken_and_noted() {
        let header = header("Crosshead travel (mm);Standard force [N];force rate").unwrap();
        assert_eq!(header.columns.len(), 2);
        assert!(header.notes[0].text.contains("Crosshead travel (mm)"), "{:?}", header.notes);
    }

    #[test]
    fn deflection_beside_travel_is_from_the_free_height() {
        let cells = ["deflection_mm", "travel_mm", "force_n"].map(str::to_owned);
        for (origin, index) in [(Origin::FreeHeight, 0), (Origin::TargetStart, 1)] {
            let header =
                recognise(&cells, 1, origin, &ColumnQuantity::OF_A_CURVE, None, "curve.csv").unwrap();
            assert_eq!(header.columns[0].index, index);
        }
    }

    #[test]
    fn what_the_header_lacks_or_doubles_is_named() {
        let message = header("travel;torque").unwrap_err().to_string();
        assert!(message.starts_with("curve.csv: row 1 has no column for the force"), "{message}");
        assert!(message.contains("\"torque\"") && message.contains("force, load or f"), "{message}");
        let message = header("force;load;x").unwrap_err().to_string();
        assert!(message.contains("column 1 (\"force\") and column 2 (\"load\")"), "{message}");
        let message = header("0;1,5").unwrap_err().to_string();
        assert!(message.contains("expected a header"), "{message}");
    }

    #[test]
    fn an_unknown_unit_is_refused_not_guessed() {
        for (line, unit) in [
            ("x_mm;force_kg", "kg"),
            ("deflection_furlong;f_N", "furlong"),
            ("x (ell);f_N", "ell"),
            ("x_mm;f_mm", "mm"),
            ("x_mm;force (mN)", "mN"),
        ] {
            let message = header(line).unwrap_err().to_string();
            assert!(message.contains(&format!("found the unit \"{unit}\"")), "{line}: {message}");
        }
    }
}
