//! Assemblies of discs: how the curves of members add, and how a wanted curve is split into theirs.
//!
//! One disc that seats can only get stiffer. Two in series follow a sharper corner or a wider range of rates
//! ([`split::in_series`]), two set against each other follow a rate that falls, a force from the start and a curve through
//! zero to both sides ([`split::opposed`]). A third disc in series with such a pair follows a rate that rises before it falls
//! ([`third::splits`]). Pure functions on curves; the search for the members is the pipeline's.

mod arrangement;
mod force_curve;
mod spacers;
pub mod split;
pub mod third;

pub use arrangement::{Arrangement, FRICTION_PER_FACE, PlacedMember};
pub use force_curve::ForceCurve;
pub use spacers::{PLATE_MM, SHOULDER_MM, Spacers, outer_plate_mm};
pub use split::{MemberTarget, OpposedLimit};
