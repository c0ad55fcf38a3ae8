//! Stations: one arm as a table, outer root to inner root.

use super::arm::ArmPath;
use crate::numeric::decimal;

/// The columns of a stations file.
const COLUMNS: [&str; 4] = ["angle_deg", "radius_mm", "width_mm", "free_height_mm"];

/// Largest number accepted (mm, °).
const LARGEST: f64 = 1e6;
/// Smallest length (mm) and step of angle (rad).
const SMALLEST: f64 = 1e-6;

/// One place along the arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// winding angle from the outer root (rad)
    pub angle: f64,
    /// radius of the arm centre (mm)
    pub radius: f64,
    /// width along the radius, at mid-thickness (mm)
    pub width: f64,
    /// free height of the centre line above its flat position (mm)
    pub height: f64,
}

/// Errors of a stations file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StationsError {
    /// A column is not there.
    #[error(
        "{file}, row 1: no column {column:?}; the header has to be angle_deg,radius_mm,width_mm,free_height_mm"
    )]
    Header {
        /// file as the user named it
        file: String,
        /// column missed
        column: &'static str,
    },
    /// A cell that is no number, or no sensible one.
    #[error("{file}, row {row}, column {column}: found {found:?}, expected {expected}; correct that cell")]
    Cell {
        /// file as the user named it
        file: String,
        /// row, the header being row 1
        row: usize,
        /// column
        column: &'static str,
        /// value found
        found: String,
        /// accepted content
        expected: &'static str,
    },
    /// Not enough rows for an arm.
    #[error("{file}: {rows} stations, expected at least 3; give the arm from outer root to inner root")]
    TooFew {
        /// file as the user named it
        file: String,
        /// rows found
        rows: usize,
    },
}

/// Reads a stations file; `file` is the name to use in messages.
pub fn read_stations(text: &str, file: &str) -> Result<Vec<Station>, StationsError> {
    let mut lines = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'));
    let header: Vec<&str> =
        lines.next().map_or_else(Vec::new, |(_, line)| line.split(',').map(str::trim).collect());
    let mut places = [0; 4];
    for (place, column) in places.iter_mut().zip(COLUMNS) {
        *place = header
            .iter()
            .position(|name| *name == column)
            .ok_or_else(|| StationsError::Header { file: file.to_owned(), column })?;
    }
    let mut stations: Vec<Station> = Vec::new();
    for (row, line) in lines {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let mut value = [0.0; 4];
        for k in 0..4 {
            let found = cells.get(places[k]).copied().unwrap_or("");
            let cell = |expected| StationsError::Cell {
                file: file.to_owned(),
                row,
                column: COLUMNS[k],
                found: found.to_owned(),
                expected,
            };
            value[k] = found
                .parse()
                .ok()
                .filter(|v: &f64| v.abs() <= LARGEST)
                .ok_or_else(|| cell("a number of at most a million"))?;
            let previous = stations.last();
            let (sound, expected) = match k {
                0 => (
                    previous.is_none_or(|p| value[0].to_radians() > p.angle + SMALLEST),
                    "angles that increase",
                ),
                1 | 2 => (value[k] > SMALLEST, "a number above zero, of a nanometre at least"),
                _ => {
                    (previous.is_none_or(|p| value[3] >= p.height - 1e-9), "heights that do not fall inwards")
                }
            };
            if !sound {
                return Err(cell(expected));
            }
        }
        stations.push(Station {
            angle: value[0].to_radians(),
            radius: value[1],
            width: value[2],
            height: value[3],
        });
    }
    if stations.len() < 3 {
        return Err(StationsError::TooFew { file: file.to_owned(), rows: stations.len() });
    }
    Ok(stations)
}

/// The stations of an arm as a file, at written precision.
pub fn write_stations(arm: &ArmPath) -> String {
    let mut text = COLUMNS.join(",");
    text.push('\n');
    for station in arm.stations() {
        text.push_str(&format!(
            "{},{},{},{}\n",
            decimal(station.angle.to_degrees(), 6),
            decimal(station.radius, 6),
            decimal(station.width, 6),
            decimal(station.height, 6)
        ));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_cell_is_named_by_row_and_column() {
        let text = "angle_deg,radius_mm,width_mm,free_height_mm\n0,30,4,0\n10,x,4,0.5\n20,28,4,1\n";
        let message = read_stations(text, "stations.csv").unwrap_err().to_string();
        assert!(message.contains("row 3, column radius_mm") && message.contains("\"x\""), "{message}");
    }

    #[test]
    fn angles_out_of_order_are_refused() {
        let text = "angle_deg,radius_mm,width_mm,free_height_mm\n0,30,4,0\n10,29,4,0.5\n5,28,4,1\n";
        let message = read_stations(text, "stations.csv").unwrap_err().to_string();
        assert!(message.contains("row 4, column angle_deg"), "{message}");
    }
}
