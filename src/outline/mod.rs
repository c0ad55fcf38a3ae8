//! What is cut: flanks, biarcs, slot ends, contours, validity, measuring back.
//!
//! The centre line of one slot is fitted with tangent arcs; its flanks are the exact parallels of those arcs, so a slot
//! has the same width everywhere and every arm edge is a chain of tangent arcs. The drawing is of the finished part:
//! widths are meant at mid-thickness and no kerf is compensated.

mod arc;
mod biarc;
mod chain;
mod contour;
mod disc;
mod flank;
mod measure;
mod rules;
mod slot;

pub use arc::Arc;
pub use biarc::{BiarcError, BiarcFit, CurvePoint, PlaneCurve, biarc, fit};
pub use chain::{ArcChain, Vertex};
pub use contour::{Contour, Role};
pub use disc::{Outline, OutlineError};
pub use measure::{MeasureError, MeasuredArm, MeasuredDisc, MeasuredSlot, measure};
pub use rules::{CutRules, FaceWidths};
pub use slot::SlotCentre;

/// A place in the plane of the disc (mm), the origin at its centre.
pub type Point = [f64; 2];
