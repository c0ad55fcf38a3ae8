//! Outline of the cut: flanks, biarcs, slot ends, contours, validity, measuring back.
//!
//! The centre line of one slot is fitted with tangent arcs; its flanks are the exact parallels of those arcs, so a slot
//! has the same width everywhere and every arm edge is a chain of tangent arcs. The drawing is of the finished part:
//! widths are meant at mid-thickness and no kerf is compensated.

mod arc;
mod biarc;
mod chain;
mod contour;
mod cut_summary;
mod disc;
mod drawn;
mod engraving;
mod finding;
mod flank;
#[cfg(test)]
mod hand_cases;
mod marks;
mod measure;
mod measured_spring;
mod nesting;
mod read;
mod rules;
mod set_nest;
mod sheet_layout;
mod slot;
mod station_slot;
mod stroke_letters;
mod tabs;
mod tool_path;
mod validity;
mod web;

pub use arc::Arc;
pub use biarc::{BiarcError, BiarcFit, CurvePoint, PlaneCurve, biarc, fit};
pub use chain::{ArcChain, Vertex};
pub use contour::{Contour, Role};
pub use cut_summary::CutSummary;
pub use disc::{Outline, OutlineError, contours_extents};
pub use finding::{DrawingRule, Grade, OutlineFinding};
pub use marks::{ENGRAVING, MARK_LAYERS, Marks, PLACES, SHEET_EDGE, TABS};
pub use measure::{MeasureError, MeasuredArm, MeasuredDisc, MeasuredSlot, measure};
pub use nesting::{Nest, NestError, NestPattern, part_diameter, part_spacing};
pub use read::{ReadDrawing, ReadError, from_dxf};
pub use rules::{CutRules, FaceWidths};
pub use set_nest::{DiscKind, SetNest};
pub use sheet_layout::{SheetLayout, SheetLayoutError};
pub use slot::SlotCentre;
pub use station_slot::StationSlotError;
pub use tabs::Tab;
pub use tool_path::{Pass, ToolPath, ToolPathError};
pub use validity::{findings, worst};
pub use web::{NarrowPlace, least_slot, least_web};

/// A place in the plane of the disc (mm), the origin at its centre.
pub type Point = [f64; 2];
