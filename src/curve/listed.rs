//! Curves from lists in memory.

use super::column::ColumnQuantity;
use super::error::CurveError;
use super::table::{self, Points};
use super::target::{Sides, TargetCurve};

/// Points of a curve (mm, N) and what else is asked of it; [`Self::curve`] checks them under the same rules as a file.
///
/// ```
/// use flatspire::curve::TargetCurve;
///
/// let curve = TargetCurve::points(&[0.0, 1.0, 2.0], &[0.0, 4.0, 9.0]).tolerance_percent(Some(2.0)).curve("pedal")?;
/// assert_eq!(curve.force_at(1.0), 4.0);
/// # Ok::<(), flatspire::curve::CurveError>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[must_use]
pub struct CurvePoints<'a> {
    deflection: &'a [f64],
    force: &'a [f64],
    band: [Option<&'a [f64]>; 2],
    tolerance_percent: Option<f64>,
    sides: Sides,
}

impl TargetCurve {
    /// A curve through deflections (mm) and forces (N) of equal number, still to be checked.
    pub fn points<'a>(deflection: &'a [f64], force: &'a [f64]) -> CurvePoints<'a> {
        CurvePoints { deflection, force, band: [None, None], tolerance_percent: None, sides: Sides::One }
    }
}

impl<'a> CurvePoints<'a> {
    /// Least and largest force allowed at each point (N).
    pub fn band(self, least: Option<&'a [f64]>, largest: Option<&'a [f64]>) -> Self {
        Self { band: [least, largest], ..self }
    }

    /// Largest rms error that counts as met (percent).
    pub fn tolerance_percent(self, tolerance_percent: Option<f64>) -> Self {
        Self { tolerance_percent, ..self }
    }

    /// A curve that may go through zero to negative deflections and forces.
    pub fn through_zero(self) -> Self {
        Self { sides: Sides::Both, ..self }
    }

    /// The curve; `source` is its name in messages. Errors name the point, what was found and what was expected.
    pub fn curve(self, source: &str) -> Result<TargetCurve, CurveError> {
        let Self { deflection, force, band: [force_min, force_max], tolerance_percent, sides } = self;
        let lists = [
            (ColumnQuantity::Deflection, Some(deflection)),
            (ColumnQuantity::Force, Some(force)),
            (ColumnQuantity::ForceMin, force_min),
            (ColumnQuantity::ForceMax, force_max),
        ];
        let points = Points {
            deflection: deflection.to_vec(),
            force: force.to_vec(),
            force_min: force_min.map(<[f64]>::to_vec),
            force_max: force_max.map(<[f64]>::to_vec),
            tolerance: tolerance_percent.map(|value| vec![Some(value)]),
            ..Points::default()
        };
        for (quantity, list) in lists {
            let Some(list) = list else { continue };
            if list.len() != deflection.len() {
                return Err(CurveError::UnequalLists {
                    file: source.to_owned(),
                    quantity,
                    found: list.len(),
                    expected: deflection.len(),
                });
            }
            if let Some(index) = list.iter().position(|value| !value.is_finite()) {
                let (file, place) = (source.to_owned(), points.place(index, quantity));
                return Err(if list[index].is_nan() {
                    CurveError::Undefined { file, place }
                } else {
                    CurveError::Infinite { file, place, text: list[index].to_string() }
                });
            }
        }
        if deflection.len() > table::MOST_ROWS {
            return Err(CurveError::TooManyRows {
                file: source.to_owned(),
                row: table::MOST_ROWS + 1,
                most: table::MOST_ROWS,
            });
        }
        TargetCurve::assemble(points, None, sides, source)
    }
}
