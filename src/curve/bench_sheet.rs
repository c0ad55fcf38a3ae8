//! A bench sheet filled in: readings of several parts in one table, a column a part.
//!
//! ```text
//! quantity,at_mm,branch,part 1,part 2
//! thickness_mm,,,1.49,1.48
//! arm_width_mm,22.5,,5.31,
//! free_height_mm,hub,,8.02,8.10
//! force_n,0.5,loading,3.1,3.0
//! force_n,0.5,unloading,3.0,2.9
//! curve_file,,,first.csv,second.csv
//! ```
//! Empty cells were not measured.

use super::column::{ColumnQuantity, shortened};
use super::dialect::without_comments;
use super::error::{CurveError, FilePlace};
use super::measured::MeasuredCurve;
use super::number::{self, DecimalMark};
use super::table::MOST_ROWS;
use super::{decoding, units};

/// Word of the first cell, by which a sheet is known.
const FIRST_WORD: &str = "quantity";
/// Columns before those of the parts.
const FIXED: usize = 3;

/// One part of a sheet. Lengths in mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BenchPart {
    /// heading of its column
    pub name: String,
    /// thickness at several places
    pub thickness: Vec<f64>,
    /// radius, and width of an arm normal to itself
    pub arm_width: Vec<(f64, f64)>,
    /// radius, none at the hub, and free height above the flat position
    pub free_height: Vec<(Option<f64>, f64)>,
    /// the curve of its forces; none where none was read
    pub measured: Option<MeasuredCurve>,
    /// files with its curves, as the sheet names them
    pub curve_files: Vec<String>,
}

/// Whether a file is a bench sheet.
pub fn is_bench_sheet(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(4096)]);
    let first = text.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with('#'));
    first.is_some_and(|line| {
        let cell = line.trim_start_matches('\u{feff}').split([',', ';', '\t']).next().unwrap_or_default();
        cell.trim_matches('"').trim().eq_ignore_ascii_case(FIRST_WORD)
    })
}

/// Reads a bench sheet; `file` is the name to use in messages. Parts without any reading are left out.
pub fn read_bench_sheet(bytes: &[u8], file: &str) -> Result<Vec<BenchPart>, CurveError> {
    let text = decoding::text(bytes, file)?;
    let (text, _) = without_comments(&text);
    let head = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let separator =
        [b'\t', b';', b','].into_iter().find(|mark| head.bytes().any(|b| b == *mark)).unwrap_or(b',');
    let mut rows = super::dialect::rows(&text, separator, file);
    let Some(header) = rows.next().transpose()? else {
        return Err(CurveError::Empty { file: file.to_owned() });
    };
    let names: Vec<String> = header
        .cells
        .iter()
        .skip(FIXED)
        .map(|cell| cell.trim().to_owned())
        .take_while(|n| !n.is_empty())
        .collect();
    if names.is_empty() {
        return Err(CurveError::BenchSheet {
            file: file.to_owned(),
            row: header.line,
            found: shortened(&header.cells.join(", ")),
            expected: "quantity, at_mm, branch and a column for each part".to_owned(),
        });
    }
    let mut parts: Vec<BenchPart> =
        names.iter().map(|name| BenchPart { name: name.clone(), ..BenchPart::default() }).collect();
    let mut forces: Vec<Vec<(bool, f64, f64)>> = vec![Vec::new(); parts.len()];
    let mut mark = DecimalMark::default();
    for (count, row) in rows.enumerate() {
        let row = row?;
        if count == MOST_ROWS {
            return Err(CurveError::TooManyRows { file: file.to_owned(), row: row.line, most: MOST_ROWS });
        }
        let cell = |column: usize| row.cells.get(column).map_or("", |cell| cell.trim());
        let filled = (0..parts.len()).any(|k| !cell(FIXED + k).is_empty());
        if !filled {
            continue;
        }
        let refuse = |found: &str, expected: &str| CurveError::BenchSheet {
            file: file.to_owned(),
            row: row.line,
            found: format!("\"{}\"", shortened(found)),
            expected: expected.to_owned(),
        };
        let mut number =
            |column: usize| number_in(cell(column), row.line, column, &header.cells, &mut mark, file);
        let quantity = cell(0).to_lowercase();
        if quantity == "curve_file" {
            for (k, part) in parts.iter_mut().enumerate() {
                part.curve_files.extend(Some(cell(FIXED + k).to_owned()).filter(|name| !name.is_empty()));
            }
            continue;
        }
        let (name, unit) = quantity.rsplit_once('_').unwrap_or((&quantity, ""));
        let of = if name == "force" { ColumnQuantity::Force } else { ColumnQuantity::Deflection };
        let known = matches!(name, "thickness" | "arm_width" | "free_height" | "force");
        let Some(factor) = units::factor(of, unit).filter(|_| known) else {
            return Err(refuse(
                cell(0),
                "thickness_mm, arm_width_mm, free_height_mm, force_n or curve_file, with another unit where need be",
            ));
        };
        let at = match (name, cell(1)) {
            ("thickness", _) | ("free_height", "" | "hub") => None,
            ("arm_width" | "force", "") => {
                return Err(refuse(
                    "",
                    "in the column at_mm the radius of a width, or the deflection of a force, in mm",
                ));
            }
            _ => Some(number(1)?),
        };
        let unloading = match cell(2).to_lowercase().as_str() {
            "" | "loading" => false,
            "unloading" => true,
            _ => return Err(refuse(cell(2), "loading or unloading in the column branch")),
        };
        for k in 0..parts.len() {
            if cell(FIXED + k).is_empty() {
                continue;
            }
            let value = factor * number(FIXED + k)?;
            let size = name != "force";
            if size && (value <= 0.0 || value > 1e4) || value.abs() > 1e9 {
                return Err(refuse(cell(FIXED + k), "a size above zero, in the unit of its row"));
            }
            match name {
                "thickness" => parts[k].thickness.push(value),
                "arm_width" => parts[k].arm_width.push((at.unwrap_or(0.0), value)),
                "free_height" => parts[k].free_height.push((at, value)),
                _ => forces[k].push((unloading, at.unwrap_or(0.0), value)),
            }
        }
    }
    for (part, forces) in parts.iter_mut().zip(forces) {
        part.measured = curve_of(forces);
    }
    parts.retain(|part| {
        part.measured.is_some()
            || !(part.thickness.is_empty() && part.arm_width.is_empty() && part.free_height.is_empty())
            || !part.curve_files.is_empty()
    });
    if parts.is_empty() {
        return Err(CurveError::BenchSheet {
            file: file.to_owned(),
            row: header.line,
            found: "no reading in any column".to_owned(),
            expected: "readings in the columns of the parts".to_owned(),
        });
    }
    Ok(parts)
}

/// Loading in rising order, then unloading in falling order: as they were taken.
fn curve_of(mut forces: Vec<(bool, f64, f64)>) -> Option<MeasuredCurve> {
    if forces.is_empty() {
        return None;
    }
    forces.sort_by(|a, b| a.0.cmp(&b.0).then(if a.0 { b.1.total_cmp(&a.1) } else { a.1.total_cmp(&b.1) }));
    let peak = forces.iter().filter(|row| !row.0).count().saturating_sub(1);
    Some(MeasuredCurve {
        deflection: forces.iter().map(|row| row.1).collect(),
        force: forces.iter().map(|row| row.2).collect(),
        peak,
        notes: Vec::new(),
    })
}

fn number_in(
    cell: &str,
    row: usize,
    column: usize,
    header: &[String],
    mark: &mut DecimalMark,
    file: &str,
) -> Result<f64, CurveError> {
    let earlier = mark.name();
    number::parse(cell, mark).map_err(|fault| {
        let name = header.get(column).map(|name| shortened(name)).unwrap_or_default();
        let place = FilePlace::Cell { row, column: column + 1, name };
        fault.at(file, place, cell, earlier)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILLED: &str = "# brake return\nquantity;at_mm;branch;A;B;C\nthickness_mm;;;1,49;1,48;\nthickness_mm;;;1,50;;\n\
        arm_width_mm;22,5;;5,31;;\nfree_height_mm;hub;;8,02;;\nfree_height_mm;20;;3,1;;\nforce_n;0,5;loading;3,1;3,0;\n\
        force_n;1;loading;6,2;6,1;\nforce_n;0,5;unloading;2,9;;\ncurve_file;;;;b.csv;\n";

    #[test]
    fn every_part_gets_its_readings_and_empty_cells_are_left_out() {
        assert!(is_bench_sheet(FILLED.as_bytes()) && !is_bench_sheet(b"x,f\n1,2\n"));
        let parts = read_bench_sheet(FILLED.as_bytes(), "bench.csv").unwrap();
        assert_eq!(parts.len(), 2);
        assert_eq!((parts[0].name.as_str(), &parts[0].thickness[..]), ("A", &[1.49, 1.50][..]));
        assert_eq!(parts[0].arm_width, [(22.5, 5.31)]);
        assert_eq!(parts[0].free_height, [(None, 8.02), (Some(20.0), 3.1)]);
        let curve = parts[0].measured.as_ref().unwrap();
        assert_eq!((&curve.deflection[..], &curve.force[..]), (&[0.5, 1.0, 0.5][..], &[3.1, 6.2, 2.9][..]));
        assert_eq!(curve.peak, 1);
        assert_eq!(parts[1].curve_files, ["b.csv"]);
    }

    #[test]
    fn what_is_wrong_is_refused_with_its_row() {
        let refusal = |text: &str| read_bench_sheet(text.as_bytes(), "bench.csv").unwrap_err().to_string();
        let head = "quantity,at_mm,branch,A\n";
        for (row, words) in [
            ("weight_g,,,3\n", "row 2: found \"weight_g\""),
            ("thickness_mm,,,thin\n", "row 2, column 4 (\"A\"): found \"thin\""),
            ("thickness_mm,,,-1\n", "a size above zero"),
            ("force_n,,loading,3\n", "deflection of a force"),
            ("force_n,1,up,3\n", "loading or unloading"),
            ("", "no reading in any column"),
        ] {
            let message = refusal(&format!("{head}{row}"));
            assert!(message.starts_with("bench.csv: ") && message.contains(words), "{message}");
        }
        assert!(refusal("quantity\nthickness_mm\n").contains("a column for each part"));
    }
}
