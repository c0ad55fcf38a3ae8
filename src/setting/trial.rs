//! A trial: heights measured on a spring that was set, and the next former from them.

use super::plan::{LEAST_SLOPE, NO_TWIST, Plan, scaled};
use crate::layout::ArmPath;

/// Highest former in units of the free height, and widest angle of an arm (degrees): far beyond what is cut, and what any
/// way of setting needs.
const MOST_RISES: f64 = 30.0;
const MOST_DEGREES: f64 = 1e6;

/// Height measured at one radius of an arm, above the rim's level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// radius of the arm centre (mm)
    pub radius: f64,
    /// height (mm)
    pub height: f64,
}

/// Errors of a file of heights or of a former.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TrialError {
    /// A column is not there.
    #[error(
        "{file}, row 1: found no column {column:?}, expected {expected}; name the columns in the first row"
    )]
    Header {
        /// file as the user named it
        file: String,
        /// column missed
        column: &'static str,
        /// columns that are read
        expected: String,
    },
    /// A cell that is no sensible number.
    #[error("{file}, row {row}, column {column}: found {found:?}, expected {expected}; correct that cell")]
    Cell {
        /// file as the user named it
        file: String,
        /// row, the header being row 1
        row: usize,
        /// column
        column: &'static str,
        /// content of the cell
        found: String,
        /// content that is meant
        expected: String,
    },
    /// No rows.
    #[error("{file}: found {rows} rows, expected at least {least}; measure the height at three radii")]
    TooFew {
        /// file as the user named it
        file: String,
        /// rows found
        rows: usize,
        /// rows needed
        least: usize,
    },
}

/// Rows of two columns of a CSV file, with their row numbers; comma, or semicolon with decimal commas.
fn columns(text: &str, file: &str, names: [&'static str; 2]) -> Result<Vec<(usize, [f64; 2])>, TrialError> {
    let rows = text.trim_start_matches('\u{feff}').lines().enumerate();
    let mut rows =
        rows.map(|(i, row)| (i + 1, row.trim())).filter(|(_, row)| !row.is_empty() && !row.starts_with('#'));
    let header = rows.next().map_or("", |(_, row)| row);
    let separator = if header.contains(';') { ';' } else { ',' };
    let named: Vec<&str> = header.split(separator).map(str::trim).collect();
    let mut places = [0; 2];
    for (place, column) in places.iter_mut().zip(names) {
        *place = named.iter().position(|name| *name == column).ok_or_else(|| TrialError::Header {
            file: file.to_owned(),
            column,
            expected: names.join(","),
        })?;
    }
    rows.map(|(row, line)| {
        let cells: Vec<&str> = line.split(separator).map(str::trim).collect();
        let mut values = [0.0; 2];
        for ((value, place), column) in values.iter_mut().zip(places).zip(names) {
            let cell = cells.get(place).copied().unwrap_or_default();
            let plain = if separator == ';' { cell.replace(',', ".") } else { cell.to_owned() };
            *value = plain.parse().ok().filter(|number: &f64| number.is_finite()).ok_or_else(|| {
                TrialError::Cell {
                    file: file.to_owned(),
                    row,
                    column,
                    found: cell.to_owned(),
                    expected: "a number".to_owned(),
                }
            })?;
        }
        Ok((row, values))
    })
    .collect()
}

/// Reads the heights of a trial, columns `radius_mm,height_mm`, on an arm; `file` is the name to use in messages.
pub fn read_readings(text: &str, file: &str, arm: &ArmPath) -> Result<Vec<Reading>, TrialError> {
    let names = ["radius_mm", "height_mm"];
    let rows = columns(text, file, names)?;
    if rows.is_empty() {
        return Err(TrialError::TooFew { file: file.to_owned(), rows: 0, least: 1 });
    }
    let highest = 3.0 * arm.free_height();
    let wrong = |row, column: usize, found: f64, expected: String| {
        Err(TrialError::Cell {
            file: file.to_owned(),
            row,
            column: names[column],
            found: found.to_string(),
            expected,
        })
    };
    let mut readings: Vec<(usize, Reading)> = Vec::new();
    for (row, [radius, height]) in rows {
        if !(0.0..arm.radius[0]).contains(&radius) {
            let expected = format!(
                "a radius of the arm's middle below {:.2} mm, where the arm leaves the rim",
                arm.radius[0]
            );
            return wrong(row, 0, radius, expected);
        }
        if !(0.0..=highest).contains(&height) {
            let expected = format!("a height above the rim from 0 to {highest:.2} mm");
            return wrong(row, 1, height, expected);
        }
        readings.push((row, Reading { radius, height }));
    }
    readings.sort_by(|a, b| b.1.radius.total_cmp(&a.1.radius));
    for [outer, inner] in readings.array_windows() {
        if inner.1.height < outer.1.height {
            let expected = format!("at least {} mm, the height further out", outer.1.height);
            return wrong(inner.0, 1, inner.1.height, expected);
        }
    }
    Ok(readings.into_iter().map(|(_, reading)| reading).collect())
}

/// Reads the heights of a former, columns `angle_deg,height_mm` as in `former.csv`, at the nodes of an arm (mm).
pub fn read_former(text: &str, file: &str, arm: &ArmPath) -> Result<Vec<f64>, TrialError> {
    let rows = columns(text, file, ["angle_deg", "height_mm"])?;
    if rows.len() < 2 {
        return Err(TrialError::TooFew { file: file.to_owned(), rows: rows.len(), least: 2 });
    }
    let highest = MOST_RISES * arm.free_height();
    for (row, [angle, height]) in &rows {
        let wrong = |column, found: f64, expected| {
            Err(TrialError::Cell {
                file: file.to_owned(),
                row: *row,
                column,
                found: found.to_string(),
                expected,
            })
        };
        if angle.abs() > MOST_DEGREES {
            return wrong("angle_deg", *angle, format!("an angle within {MOST_DEGREES} degrees"));
        }
        if height.abs() > highest {
            return wrong("height_mm", *height, format!("a height of the former within {highest:.2} mm"));
        }
    }
    for [(_, before), (row, after)] in rows.array_windows() {
        if after[0] <= before[0] {
            return Err(TrialError::Cell {
                file: file.to_owned(),
                row: *row,
                column: "angle_deg",
                found: after[0].to_string(),
                expected: format!("more than {}", before[0]),
            });
        }
    }
    let at = |angle: f64| {
        let i = rows.partition_point(|(_, row)| row[0] <= angle).clamp(1, rows.len() - 1);
        let ([from, low], [to, high]) = (rows[i - 1].1, rows[i].1);
        low + ((angle - from) / (to - from)).clamp(0.0, 1.0) * (high - low)
    };
    Ok(arm.angle.iter().map(|angle| at(angle.to_degrees())).collect())
}

/// Height at a radius (mm) of an arm at `heights` (mm at its nodes), straight between the nodes.
pub fn height_at(arm: &ArmPath, heights: &[f64], radius: f64) -> f64 {
    let i = arm.radius.partition_point(|node| *node > radius).clamp(1, heights.len() - 1);
    let (outer, inner) = (arm.radius[i - 1], arm.radius[i]);
    let share = if outer > inner { ((outer - radius) / (outer - inner)).clamp(0.0, 1.0) } else { 1.0 };
    heights[i - 1] + share * (heights[i] - heights[i - 1])
}

impl Plan {
    /// Heights of the next former (mm at the nodes of `arm`) from a trial that was set on a former at `on` heights and
    /// measured at `readings`, after pressing flat.
    ///
    /// Between readings the ratio of measured to free rise holds; each node is moved by what is missing there over the
    /// slope of the spring-back, so that the strength and the relaxation need not be known.
    pub fn next_former(&self, arm: &ArmPath, on: &[f64], readings: &[Reading]) -> Vec<f64> {
        let mut sorted = readings.to_vec();
        sorted.sort_by(|a, b| b.radius.total_cmp(&a.radius));
        let free = &arm.height;
        let mut ratio = vec![1.0; free.len()];
        let (mut begin, mut expected, mut measured) = (0, free[0], free[0]);
        for reading in sorted {
            let end = arm.radius.partition_point(|node| *node > reading.radius).min(free.len() - 1);
            let wanted = height_at(arm, free, reading.radius);
            if end > begin && wanted > expected {
                ratio[begin..=end].fill((reading.height - measured) / (wanted - expected));
                (begin, expected, measured) = (end, wanted, reading.height);
            }
        }
        let innermost = ratio[begin];
        ratio[begin..].fill(innermost);
        let last = free.len() - 1;
        let factor: Vec<f64> = (0..=last)
            .map(|i| {
                let left = self.left[i];
                let (a, b) = (i.saturating_sub(1), (i + 1).min(last));
                let wanted = self.wanted[b] - self.wanted[a];
                if left <= NO_TWIST || wanted.abs() < 1e-12 {
                    return 1.0;
                }
                let used = left * (on[b] - on[a]) / wanted;
                let missing = left * (1.0 - ratio[i]);
                let slope = self.forming[i].left_slope(used).max(LEAST_SLOPE);
                (used + missing / slope).max(0.0) / left
            })
            .collect();
        scaled(&self.wanted, &factor)
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::tests::spring;
    use super::super::strip::Forming;
    use super::*;
    use crate::setting::ways_for;

    #[test]
    fn trials_at_three_radii_lead_to_the_wanted_height() {
        let (spring, arm) = spring();
        for (name, relaxed, strength) in
            [("clamped-relief", 0.27, 1.05), ("cold", 0.0, 1.06), ("cold", 0.0, 0.94)]
        {
            let rows = ways_for(Some("1.4310+C1300"), 1.0);
            let row = rows.into_iter().find(|row| row.way.name() == name).unwrap();
            let plan = Plan::of(row, &arm, 2, &arm.height, &spring.sheet, 1131.0);
            // the workshop's strip and furnace are not the middle of their ranges
            let shop = Forming { relaxed, ..plan.forming[arm.angle.len() / 2] };
            let let_go = |on: &[f64]| {
                let mut left = vec![0.0];
                for i in 1..on.len() {
                    let wanted = arm.height[i] - arm.height[i - 1];
                    let measure = 0.5 * (plan.left[i - 1] + plan.left[i]);
                    let used = measure * (on[i] - on[i - 1]) / wanted.max(1e-12);
                    let kept = strength * shop.left(used / strength);
                    left.push(left[i - 1] + wanted * kept / measure.max(1e-9));
                }
                left
            };
            let end = arm.height.len() - 1;
            let missing = |heights: &[f64]| (heights[end] / arm.height[end] - 1.0).abs();
            let mut former = plan.heights.clone();
            let first = missing(&let_go(&former));
            for _ in 0..2 {
                let set = let_go(&former);
                let readings: Vec<Reading> = [end / 3, 2 * end / 3, end]
                    .map(|i| Reading { radius: arm.radius[i], height: set[i] })
                    .to_vec();
                former = plan.next_former(&arm, &former, &readings);
            }
            let second = missing(&let_go(&former));
            assert!(first > 0.04, "{name}: {first}");
            assert!(second < 0.012, "{name}: {second} after {first}");
        }
    }

    #[test]
    fn files_of_a_trial_are_read_and_refused_by_row() {
        let (_, arm) = spring();
        let read = |text: &str| read_readings(text, "heights.csv", &arm);
        let outside = arm.radius[0] + 1.0;
        assert_eq!(
            read("radius_mm;height_mm\n12,5;6,9\n24;2,1\n").unwrap(),
            [Reading { radius: 24.0, height: 2.1 }, Reading { radius: 12.5, height: 6.9 }]
        );
        for (text, words) in [
            ("radius,height_mm\n1,2\n", "row 1: found no column \"radius_mm\", expected radius_mm,height_mm"),
            ("radius_mm,height_mm\n20,high\n", "row 2, column height_mm: found \"high\", expected a number"),
            (
                "radius_mm,height_mm\n20,5\n15,4\n",
                "row 3, column height_mm: found \"4\", expected at least 5 mm",
            ),
            ("radius_mm,height_mm\n20,500\n", "expected a height above the rim"),
            ("radius_mm,height_mm\n", "found 0 rows, expected at least 1"),
            (&format!("radius_mm,height_mm\n{outside},1\n"), "where the arm leaves the rim"),
        ] {
            let message = read(text).unwrap_err().to_string();
            assert!(message.contains(words), "{message}");
        }
        let former = read_former("angle_deg,height_mm\n0,0\n10000,100\n", "former.csv", &arm).unwrap();
        assert!((former[3] - arm.angle[3].to_degrees() / 100.0).abs() < 1e-9);
        assert!(read_former("angle_deg,height_mm\n5,0\n5,1\n", "former.csv", &arm).is_err());
    }

    #[test]
    fn a_correct_trial_leaves_the_former_unchanged() {
        let (spring, arm) = spring();
        let plan =
            Plan::of(ways_for(Some("1.4310+C1300"), 1.0)[0], &arm, 2, &arm.height, &spring.sheet, 1131.0);
        let readings: Vec<Reading> = plan
            .places
            .iter()
            .map(|place| Reading { radius: place.radius_mm, height: place.height_mm })
            .collect();
        let next = plan.next_former(&arm, &plan.heights, &readings);
        for (next, former) in next.iter().zip(&plan.heights) {
            assert!((next - former).abs() < 0.02 * plan.former_mm(), "{next} {former}");
        }
    }
}
