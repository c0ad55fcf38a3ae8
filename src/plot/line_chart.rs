//! A chart of lines, points and bands over one axis.

use super::error::{PlotError, check_length, check_values};
use crate::numeric::Quantity;

/// Title, quantity and range of one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// name, as "deflection"; the unit is added
    pub label: String,
    /// quantity, which gives the unit
    pub quantity: Quantity,
    /// whether the axis takes zero in
    pub from_zero: bool,
}

/// A line through points, in the order given.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Line {
    /// written on the line; may be empty
    pub label: String,
    /// along the axis (mm, or the axis's own quantity)
    pub x: Vec<f64>,
    /// values (N, N/mm, MPa, mm, or the axis's own quantity)
    pub y: Vec<f64>,
}

/// Points without a line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Marks {
    /// written beside the points; may be empty
    pub label: String,
    /// along the axis
    pub x: Vec<f64>,
    /// values
    pub y: Vec<f64>,
}

/// Shade of a band.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Shade {
    /// light grey
    #[default]
    Neutral,
    /// the first line's colour, light
    Tinted,
}

/// A band between two curves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Band {
    /// written at the band; may be empty
    pub label: String,
    /// along the axis
    pub x: Vec<f64>,
    /// lower curve
    pub low: Vec<f64>,
    /// upper curve
    pub high: Vec<f64>,
    /// shade
    pub shade: Shade,
}

/// Places on the horizontal axis.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ticks {
    /// written beside the ticks; may be empty
    pub label: String,
    /// along the axis; what lies outside the chart is left out
    pub x: Vec<f64>,
}

/// A chart. Values in mm, N, N/mm, MPa, degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct LineChart {
    /// short title
    pub title: String,
    /// horizontal axis
    pub x_axis: Axis,
    /// vertical axis
    pub y_axis: Axis,
    /// bands, drawn first
    pub bands: Vec<Band>,
    /// lines: the first solid, each further one dashed in its own way
    pub lines: Vec<Line>,
    /// points, drawn last
    pub marks: Vec<Marks>,
    /// places on the horizontal axis
    pub ticks: Ticks,
}

impl LineChart {
    /// Refuses a chart without a point, lists of different length and numbers that have no place.
    pub(super) fn check(&self) -> Result<(), PlotError> {
        for band in &self.bands {
            let name = format!("band {:?}", band.label);
            check_length(&format!("{name}, lower curve"), band.low.len(), band.x.len())?;
            check_length(&format!("{name}, upper curve"), band.high.len(), band.x.len())?;
            for values in [&band.x, &band.low, &band.high] {
                check_values(&name, values)?;
            }
        }
        let lines = self.lines.iter().map(|line| ("line", &line.label, &line.x, &line.y));
        let marks = self.marks.iter().map(|marks| ("points", &marks.label, &marks.x, &marks.y));
        for (kind, label, x, y) in lines.chain(marks) {
            let name = format!("{kind} {label:?}");
            check_length(&name, y.len(), x.len())?;
            check_values(&name, x)?;
            check_values(&name, y)?;
        }
        check_values(&format!("ticks {:?}", self.ticks.label), &self.ticks.x)?;
        let points = self.bands.iter().map(|band| band.x.len()).sum::<usize>()
            + self.lines.iter().map(|line| line.x.len()).sum::<usize>()
            + self.marks.iter().map(|marks| marks.x.len()).sum::<usize>();
        if points == 0 { Err(PlotError::Empty { title: self.title.clone() }) } else { Ok(()) }
    }
}
