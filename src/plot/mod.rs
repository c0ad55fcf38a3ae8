//! Curve pictures, as SVG and PNG bytes.
//!
//! Two kinds: [`CurvePlot`], the force over deflection against the target, and [`LineChart`] for anything else that
//! runs along one axis. Both share one look: a light grid one way, names on the curves instead of a legend, the
//! target as points and the prediction as a line; shapes and shades differ, not colours alone, so that a grey print
//! and a colour-blind reader lose nothing. Same input, same bytes.

mod axis;
mod curve_plot;
mod error;
mod font;
mod labels;
mod line_chart;
mod page;
mod paint;
mod png;
mod scene;
mod units;

pub use curve_plot::{CurvePlot, curve_png, curve_svg};
pub use error::PlotError;
pub use line_chart::{Axis, Band, Line, LineChart, Marks, Shade, Ticks, line_chart_png, line_chart_svg};
pub use units::{Quantity, Units};
