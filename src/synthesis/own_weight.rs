//! Own weight of a disc against the force asked of it.

use std::f64::consts::PI;

use crate::layout::Spring;
use crate::numeric::exact_units::STANDARD_GRAVITY;

/// Share from which on the weight is reported, and a lighter disc is preferred among candidates.
pub const NOTICEABLE: f64 = 0.05;
/// Share from which on a spring ranks behind lighter ones: the moving parts, arms and hub, weigh about a third of the disc, so that
/// a tenth of the force depends on the orientation of the spring. Judgement, no source.
pub const HEAVY: f64 = 0.3;

/// Weight of a full disc over a force (N): outer radius (mm), sheet thickness (mm), density (g/cm³). 0 where the density or
/// the force is unknown.
pub fn own_weight_share(outer_radius: f64, thickness: f64, density: Option<f64>, force: f64) -> f64 {
    let grams = 1e-3 * density.unwrap_or(0.0) * PI * outer_radius.powi(2) * thickness;
    if force > 0.0 { 1e-3 * grams * STANDARD_GRAVITY / force } else { 0.0 }
}

/// As [`own_weight_share`], of a spring.
pub fn of_spring(spring: &Spring, force: f64) -> f64 {
    own_weight_share(spring.disc.outer_radius, spring.sheet.thickness, spring.sheet.density, force)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: π · 10² mm² · 1 mm · 7.9 g/cm³ is 2.482 g or 24.34 mN, 48.7 % of 0.05 N.
    #[test]
    fn weight_of_a_disc_is_volume_times_density_times_gravity() {
        let share = own_weight_share(10.0, 1.0, Some(7.9), 0.05);
        assert!((share - 0.4868).abs() < 5e-4, "{share}");
        assert_eq!(own_weight_share(10.0, 1.0, None, 0.05), 0.0);
        assert_eq!(own_weight_share(10.0, 1.0, Some(7.9), 0.0), 0.0);
    }
}
