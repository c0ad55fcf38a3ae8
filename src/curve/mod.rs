//! Wanted curves: reading the curve file, units, bands, and whether a spring that seats can follow them.
//!
//! [`read`] turns the bytes of a curve file into a [`TargetCurve`]: deflections in mm, strictly increasing, with
//! one force in N each. [`read_measured`] keeps the rows of a measured curve in order, both branches.
//! [`nearest_reachable`] says whether a seating spring can follow a target and, if not, which curve comes
//! closest and why.

mod bench_sheet;
mod branch;
mod choice;
mod column;
mod convex;
mod decoding;
mod dialect;
mod error;
mod findings;
#[cfg(test)]
mod hand_cases;
mod header;
mod listed;
mod measured;
mod measurement;
mod noise;
mod number;
mod reach;
mod rounding;
mod table;
mod target;
mod units;

pub use bench_sheet::{BenchPart, is_bench_sheet, read_bench_sheet};
pub use choice::{BranchChoice, ColumnChoice, ColumnChoiceError, ReadChoice};
pub use column::ColumnQuantity;
pub use error::{CurveError, FilePlace};
pub use findings::{ReachFinding, ReachKind};
pub use listed::CurvePoints;
pub use measured::{Branch, MeasuredCurve, read_measured, read_measured_with};
pub use reach::{MAX_TOLERANCE_PERCENT, RMS_TOLERANCE_PERCENT, Reach, nearest_reachable};
pub use table::{DeflectionList, MOST_ROWS, read_deflections};
pub use target::{BandBreach, TargetCurve, read, read_both_sides, read_branch, read_with};
