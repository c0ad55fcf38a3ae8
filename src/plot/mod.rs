//! Pictures, as SVG and PNG bytes.
//!
//! Two kinds of charts: [`CurvePlot`], the force over deflection against the target, and [`LineChart`] for anything else that
//! runs along one axis. Both share one look: a light grid one way, names on the curves instead of a legend, the
//! target as points and the prediction as a line; shapes and shades differ, not colours alone, so that a grey print
//! and a colour-blind reader lose nothing. Same input, same bytes.
//!
//! Besides the charts: the blank in plan ([`PlanView`]), sections through the axis ([`SectionView`]), the formed spring
//! seen obliquely ([`Relief`]), the rings of a stepped former ([`RingStack`]), sections of assemblies ([`AssemblyView`]) and
//! sketches of terms ([`term_pictures`]).
//!
//! As PNG, plotters draws the same shapes on the anti-aliased pixels of tiny-skia.

mod assembly_view;
mod axis;
mod curve_plot;
mod depth_order;
mod error;
mod font;
mod labels;
mod line_chart;
mod page;
mod paint;
mod picture;
mod plan_view;
mod raster;
mod relief;
mod ring_stack;
mod root_view;
mod scene;
mod section_view;
mod share_bars;
mod shortlist_view;
mod term_view;

pub use crate::numeric::{Quantity, Units};
pub use assembly_view::{AssemblyState, AssemblyView, Block, PlacedDisc};
pub use curve_plot::{CurvePlot, curve_png, curve_svg};
pub use error::PlotError;
pub use line_chart::{Axis, Band, Line, LineChart, Marks, Shade, Ticks};
pub use page::PageSize;
pub use picture::{ChartPicture, Picture, line_chart_png, line_chart_svg};
pub use plan_view::{PlanPicture, PlanView};
pub use relief::{Relief, ReliefState, ReliefView};
pub use ring_stack::{RingStack, StackRing};
pub use root_view::{RootEnd, RootView};
pub use section_view::{CutPiece, Section, SectionView};
pub use share_bars::{ShareBar, share_bars};
pub use shortlist_view::{ListedSpring, shortlist_view};
pub use term_view::term_pictures;

/// Script of the spring to turn and press, for pages: an ECMAScript module without requests.
pub const SOLID_SCRIPT: &str = include_str!("solid.js");
