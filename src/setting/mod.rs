//! Setting: ways of giving a spring its height, and the former to make for each.

mod plan;
mod strip;
mod way;

pub use plan::Plan;
pub use strip::{Forming, surface_measure};
pub use way::{Mark, Way, WayRow, ways_for};
