//! Setting: ways of giving a spring its height, and the former to make for each.

mod choice;
mod place;
mod plan;
mod steps;
mod strip;
mod trial;
mod way;

pub use choice::{Choice, NotForSheet};
pub use place::TrialPlace;
pub use plan::{Plan, forming_strength};
pub use steps::{CLOSINGS, captive};
pub use strip::{Flow, Forming, STRAIGHT, WIDE, plastic_limit, surface_measure, twist_across};
pub use trial::{Reading, TrialError, height_at, read_former, read_readings};
pub use way::{SettingCaution, WayRow, setting_cautions, ways_for};
