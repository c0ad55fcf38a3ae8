//! Geometry: slot lines, the arms between them, and the former's profile.

mod arm;
mod former;
#[cfg(test)]
mod hand_cases;
mod slot_line;
mod spring;
mod stations;

pub use arm::{ArmPath, pitch_cosines};
pub use former::FormerProfile;
pub use slot_line::SlotLine;
pub use spring::{ArmShape, Disc, SheetProperties, Spring, sheet_properties};
pub use stations::{Station, StationsError, read_stations, write_stations};

use crate::material::MaterialError;

/// Reasons why numbers give no valid spring geometry.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LayoutError {
    /// The slots do not overlap: no arm is bounded on both sides.
    #[error(
        "the {arms} slots wind {slot_degrees:.1}° each and need more than {needed_degrees:.1}° to bound an arm on \
         both sides; use narrower arms, more arms or a larger ring between hub and rim"
    )]
    NoArm {
        /// number of arms
        arms: usize,
        /// winding of one slot (°)
        slot_degrees: f64,
        /// 360°/N
        needed_degrees: f64,
    },
    /// No width left between two slots.
    #[error(
        "the arm is {width_mm:.3} mm wide at radius {radius_mm:.3} mm once its slots are cut; widen the arm or narrow \
         the slot"
    )]
    ArmVanishes {
        /// radius of the arm centre (mm)
        radius_mm: f64,
        /// width along the radius (mm)
        width_mm: f64,
    },
    /// A list that is not a profile over the radius.
    #[error("{what} is not a profile over the radius: {found}; give increasing radii and finite values")]
    Profile {
        /// which list
        what: &'static str,
        /// value found
        found: String,
    },
    /// The sheet named is not in the stock, or is refused.
    #[error(transparent)]
    Material(#[from] MaterialError),
    /// A sheet with these moduli is not isotropic and linear.
    #[error(
        "E = {youngs_modulus} MPa and G = {shear_modulus} MPa give a Poisson ratio of {poisson:.3}; it has to lie \
         between 0 and 0.5: check both moduli"
    )]
    Moduli {
        /// Young's modulus (MPa)
        youngs_modulus: f64,
        /// shear modulus (MPa)
        shear_modulus: f64,
        /// E/2G − 1
        poisson: f64,
    },
    /// A rim or hub without width.
    #[error("the {ring} would be {width_mm:.3} mm wide outside the slots; {remedy}")]
    Ring {
        /// rim or hub
        ring: &'static str,
        /// its width (mm)
        width_mm: f64,
        /// remedy
        remedy: &'static str,
    },
}
