//! A measured curve: noisy, loaded and unloaded again, with an offset at zero. Its rows stay in order.

use serde::Serialize;

use super::branch::{last_of_largest, mean, runs_of_equal, turning_point};
use super::choice::ReadChoice;
use super::column::ColumnQuantity;
use super::error::CurveError;
use super::header::Origin;
use super::measurement;
use super::table;

/// How far below zero a reading may lie, over the largest one: an offset at zero and noise stay within a
/// twentieth of the range, a reversed sign does not.
const LARGEST_OFFSET: f64 = 0.05;

/// Rows a measurement needs.
const FEWEST_ROWS: usize = 3;

/// Force and deflection as measured, in the order they were taken.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct MeasuredCurve {
    /// deflection (mm) in the order of the file; may tremble, may lie a little below zero
    pub deflection: Vec<f64>,
    /// force (N), one for each deflection; may lie a little below zero
    pub force: Vec<f64>,
    /// index of the largest deflection, the last of equal ones: the end of the loading branch
    pub peak: usize,
    /// what was assumed while reading, a sentence each
    pub notes: Vec<String>,
}

/// One branch of a measured curve, in the order it was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch<'a> {
    /// deflection (mm)
    pub deflection: &'a [f64],
    /// force (N)
    pub force: &'a [f64],
}

/// Reads a measured curve; `file` is the name to use in messages.
///
/// The same files as [`read`](super::read) takes, but nothing is sorted, averaged or dropped, and readings up to
/// a twentieth of the largest one below zero are let stand. A band or tolerance in the file is not used.
pub fn read_measured(bytes: &[u8], file: &str) -> Result<MeasuredCurve, CurveError> {
    read_measured_with(bytes, &ReadChoice::default(), file)
}

/// As [`read_measured`], with the columns asked for. Both branches stay.
pub fn read_measured_with(
    bytes: &[u8],
    choice: &ReadChoice,
    file: &str,
) -> Result<MeasuredCurve, CurveError> {
    let mut points = table::read_columns(bytes, Origin::FreeHeight, choice.columns.as_ref(), file)?;
    points.check_size(file)?;
    let mut notes = std::mem::take(&mut points.notes);
    for (quantity, _, name) in &points.columns {
        if !matches!(quantity, ColumnQuantity::Deflection | ColumnQuantity::Force) {
            notes.push(format!("the column \"{name}\" is ignored in a measured curve"));
        }
    }
    let (least_mm, least_n) = (least(&points.deflection), least(&points.force));
    for index in 0..points.len() {
        let (value_mm, value_n) = (points.deflection[index], points.force[index]);
        if value_mm < least_mm {
            let place = points.place(index, ColumnQuantity::Deflection);
            return Err(CurveError::NegativeDeflection { file: file.to_owned(), place, value_mm, least_mm });
        }
        if value_n < least_n {
            let place = points.place(index, ColumnQuantity::Force);
            return Err(CurveError::NegativeForce { file: file.to_owned(), place, value_n, least_n });
        }
    }
    let peak = last_of_largest(&points.deflection).unwrap_or(0);
    let curve = MeasuredCurve { deflection: points.deflection, force: points.force, peak, notes };
    let distinct = curve.loading().ordered().0.len().max(curve.unloading().ordered().0.len());
    if distinct < FEWEST_ROWS {
        return Err(CurveError::TooFewPoints { file: file.to_owned(), found: distinct, least: FEWEST_ROWS });
    }
    if curve.force.iter().all(|&force| force <= 0.0) {
        return Err(CurveError::NoForce { file: file.to_owned() });
    }
    Ok(curve)
}

fn least(values: &[f64]) -> f64 {
    let largest = values.iter().copied().fold(0.0, f64::max);
    if largest > 0.0 { -LARGEST_OFFSET * largest } else { 0.0 }
}

impl MeasuredCurve {
    /// The rows up to the largest deflection, that one included.
    pub fn loading(&self) -> Branch<'_> {
        let end = (self.peak + 1).min(self.deflection.len());
        Branch { deflection: &self.deflection[..end], force: &self.force[..end] }
    }

    /// The rows from the largest deflection on, that one included; a single row where nothing was unloaded.
    pub fn unloading(&self) -> Branch<'_> {
        let start = self.peak.min(self.deflection.len());
        Branch { deflection: &self.deflection[start..], force: &self.force[start..] }
    }

    /// Readings of loading and of unloading, each in increasing deflection as [`Branch::ordered`] gives them. Long files are
    /// told apart row by row, whatever the number of cycles and dwells; short ones at the largest deflection.
    pub fn branches(&self) -> [(Vec<f64>, Vec<f64>); 2] {
        let least = self.deflection.iter().copied().fold(f64::INFINITY, f64::min);
        let one_cycle = turning_point(&self.deflection).is_some();
        if !one_cycle && self.deflection.len() >= measurement::FEWEST_ROWS {
            let (up, down) = measurement::branches(&self.deflection, self.max_deflection() - least);
            if up.len() >= measurement::FEWEST_OF_BRANCH {
                return [up, down].map(|rows| {
                    let pick = |list: &[f64]| rows.iter().map(|&i| list[i]).collect::<Vec<f64>>();
                    let (deflection, force) = (pick(&self.deflection), pick(&self.force));
                    Branch { deflection: &deflection, force: &force }.ordered()
                });
            }
        }
        [self.loading().ordered(), self.unloading().ordered()]
    }

    /// The largest deflection (mm).
    pub fn max_deflection(&self) -> f64 {
        self.deflection.get(self.peak).copied().unwrap_or(0.0)
    }
}

impl Branch<'_> {
    /// Deflections (mm), strictly increasing, and the force (N) at each, averaged where a deflection repeats.
    pub fn ordered(&self) -> (Vec<f64>, Vec<f64>) {
        let mut order: Vec<usize> = (0..self.deflection.len()).collect();
        order.sort_by(|&a, &b| self.deflection[a].total_cmp(&self.deflection[b]));
        let deflection: Vec<f64> = order.iter().map(|&index| self.deflection[index] + 0.0).collect();
        let force: Vec<f64> = order.iter().map(|&index| self.force[index]).collect();
        let runs = runs_of_equal(&deflection);
        (
            runs.iter().map(|run| deflection[run.start]).collect(),
            runs.iter().map(|run| mean(&force[run.clone()])).collect(),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOADED_AND_UNLOADED: &[u8] =
        b"Time (s);Travel (mm);Load (N)\n0;-0,01;0,4\n1;1;5,1\n2;0,98;5,0\n3;2;11\n4;1;4,2\n5;0;-0,3\n";

    #[test]
    fn both_branches_stay_in_the_order_they_were_taken() {
        let curve = read_measured(LOADED_AND_UNLOADED, "cut.csv").unwrap();
        assert_eq!(curve.peak, 3);
        assert_eq!(curve.loading().deflection, [-0.01, 1.0, 0.98, 2.0]);
        assert_eq!(curve.unloading().deflection, [2.0, 1.0, 0.0]);
        assert_eq!(curve.unloading().force, [11.0, 4.2, -0.3]);
        assert_eq!(curve.loading().ordered().0, [-0.01, 0.98, 1.0, 2.0]);
        assert_eq!(curve.unloading().ordered(), (vec![0.0, 1.0, 2.0], vec![-0.3, 4.2, 11.0]));
    }

    #[test]
    fn repeated_readings_are_averaged_only_when_a_branch_is_ordered() {
        let curve = read_measured(b"x,f\n0,0\n1,4\n1,6\n2,9\n", "cut.csv").unwrap();
        assert_eq!(curve.force, [0.0, 4.0, 6.0, 9.0]);
        assert_eq!(curve.loading().ordered(), (vec![0.0, 1.0, 2.0], vec![0.0, 5.0, 9.0]));
        assert_eq!(curve.unloading().force, [9.0]);
    }

    #[test]
    fn a_reversed_sign_is_refused_where_an_offset_is_not() {
        let message = read_measured(b"x,f\n0,0\n1,-4\n2,-9\n", "cut.csv").unwrap_err().to_string();
        assert!(message.starts_with("cut.csv: row 3, column 2 (\"f\"): found a force of -4 N"), "{message}");
        let message = read_measured(b"x,f\n-0.2,0\n1,4\n2,9\n", "cut.csv").unwrap_err().to_string();
        assert!(message.contains("deflection of -0.2 mm, expected -0.1 mm or more"), "{message}");
    }

    #[test]
    fn a_measurement_needs_points_and_force() {
        let message = read_measured(b"x,f\n0,0\n1,4\n", "cut.csv").unwrap_err().to_string();
        assert!(message.contains("different deflections is 2"), "{message}");
        let message = read_measured(b"x,f\n0,0\n1,0\n2,0\n", "cut.csv").unwrap_err().to_string();
        assert!(message.contains("every force is zero"), "{message}");
    }
}
