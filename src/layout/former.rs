//! The shape the spring is set to: height of the arm centre line over the radius.

use super::LayoutError;
use crate::numeric::MonotoneCubic;

/// Former: how the free height runs over the arm centre's radius, and how it is eased at the roots.
#[derive(Debug, Clone, PartialEq)]
pub struct FormerProfile {
    /// rise of the hub above its flat position (mm)
    pub free_height: f64,
    /// arm widths of arc over which the rise per angle falls linearly to zero at each root
    pub ease: f64,
    /// height over radius before easing, any scale; `None` is a straight cone
    profile: Option<MonotoneCubic>,
}

impl FormerProfile {
    /// A straight cone: rise of the hub `free_height` (mm), its slope faded out at the roots over `ease` arm widths of arc.
    pub fn cone(free_height: f64, ease: f64) -> Self {
        Self { free_height, ease, profile: None }
    }

    /// Any profile that falls from the hub outwards, `height` over `radius` (mm); only its shape counts, the hub's
    /// rise is `free_height`.
    pub fn profile(free_height: f64, ease: f64, radius: &[f64], height: &[f64]) -> Result<Self, LayoutError> {
        let profile = MonotoneCubic::through(radius, height).ok_or_else(|| LayoutError::Profile {
            what: "former.height",
            found: format!("{} radii and {} heights", radius.len(), height.len()),
        })?;
        Ok(Self { free_height, ease, profile: Some(profile) })
    }

    /// Whether the former is a straight cone.
    pub fn is_cone(&self) -> bool {
        self.profile.is_none()
    }

    /// Slope −dz/dr of the former at a radius, before easing and scaling; 1 for a cone.
    pub fn steepness(&self, radius: f64) -> f64 {
        self.profile.as_ref().map_or(1.0, |profile| -profile.value_and_slope(radius).1)
    }

    /// The profile's points, where it is not a cone: radii and heights (mm).
    pub fn points(&self) -> Option<(&[f64], &[f64])> {
        self.profile.as_ref().map(|profile| (profile.arguments(), profile.values()))
    }
}
