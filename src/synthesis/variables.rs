//! Design variables of the search and the spring they give.

use nalgebra::DVector;

use super::shape_settings::ShapeFreedom;
use crate::layout::{ArmShape, FormerProfile, LayoutError, SlotLine, Spring};
use crate::numeric::MonotoneCubic;

/// The variables: logarithms of widths, of the free height, of the former's steepness.
pub(super) struct Variables {
    pub template: Spring,
    pub radius: Vec<f64>,
    pub start_width: Vec<f64>,
    pub freedom: ShapeFreedom,
    pub height_free: bool,
    pub ease_free: bool,
    pub profile: bool,
    /// least width (mm)
    pub narrowest: f64,
}

impl Variables {
    pub fn widths(&self) -> usize {
        match self.freedom {
            ShapeFreedom::Constant => 1,
            ShapeFreedom::LinearTaper => 2,
            ShapeFreedom::Monotone { .. } | ShapeFreedom::Free(_) => self.radius.len(),
        }
    }

    pub fn len(&self) -> usize {
        self.before_profile() + if self.profile { self.radius.len() } else { 0 }
    }

    /// Variables before the former's steepness.
    pub fn before_profile(&self) -> usize {
        self.widths() + usize::from(self.height_free) + usize::from(self.ease_free)
    }

    fn ease(&self, p: &DVector<f64>) -> f64 {
        if self.ease_free { p[self.before_profile() - 1].exp() } else { self.template.former.ease }
    }

    fn width_at_controls(&self, p: &DVector<f64>) -> Vec<f64> {
        match self.freedom {
            ShapeFreedom::Constant => vec![p[0].exp(); self.radius.len()],
            ShapeFreedom::LinearTaper => {
                let (inner, outer) = (p[0].exp(), p[1].exp());
                let (from, to) = (self.radius[0], self.radius[self.radius.len() - 1]);
                self.radius.iter().map(|r| inner + (outer - inner) * (r - from) / (to - from)).collect()
            }
            ShapeFreedom::Monotone { .. } | ShapeFreedom::Free(_) => {
                (0..self.radius.len()).map(|k| self.log_width(p, k).exp().max(self.narrowest)).collect()
            }
        }
    }

    /// Logarithm of the width at control `k` of a free or monotone arm.
    pub fn log_width(&self, p: &DVector<f64>, k: usize) -> f64 {
        match self.freedom {
            // the first width, then what each control adds
            ShapeFreedom::Monotone { .. } => p.rows(0, k + 1).sum(),
            _ => p[k],
        }
    }

    /// Slopes of [`log_width`](Self::log_width) over the variables.
    pub fn log_width_slope(&self, k: usize, count: usize) -> DVector<f64> {
        let mut slope = DVector::zeros(count);
        match self.freedom {
            ShapeFreedom::Monotone { .. } => slope.rows_mut(0, k + 1).fill(1.0),
            _ => slope[k] = 1.0,
        }
        slope
    }

    fn free_height(&self, p: &DVector<f64>) -> f64 {
        if self.height_free { p[self.widths()].exp() } else { self.template.former.free_height }
    }

    fn steepness(&self, p: &DVector<f64>) -> Option<Vec<f64>> {
        let from = self.before_profile();
        self.profile.then(|| (0..self.radius.len()).map(|k| p[from + k].exp()).collect())
    }

    pub fn spring(&self, p: &DVector<f64>) -> Result<Spring, LayoutError> {
        let width = self.width_at_controls(p);
        let profile = MonotoneCubic::through(&self.radius, &width).ok_or_else(|| LayoutError::Profile {
            what: "arm.width",
            found: format!("{} widths", width.len()),
        })?;
        let mut spring = self.template.clone();
        let disc = &spring.disc;
        let line = SlotLine::wind(
            spring.arms,
            spring.slot,
            disc.slot_outer_radius,
            disc.slot_inner_radius,
            profile,
        )?;
        spring.shape = ArmShape::Slots(line);
        let (height, ease) = (self.free_height(p), self.ease(p));
        spring.former = match self.steepness(p) {
            None => match self.template.former.points() {
                Some((radius, profile)) => FormerProfile::profile(height, ease, radius, profile)?,
                None => FormerProfile::cone(height, ease),
            },
            Some(slopes) => {
                let heights = heights_from(&self.radius, &slopes, height);
                FormerProfile::profile(height, ease, &self.radius, &heights)?
            }
        };
        Ok(spring)
    }
}

/// Heights over increasing radii that fall with the given slopes, scaled to a rise.
fn heights_from(radius: &[f64], slopes: &[f64], rise: f64) -> Vec<f64> {
    let mut height = vec![0.0; radius.len()];
    for k in (0..radius.len() - 1).rev() {
        height[k] = height[k + 1] + 0.5 * (slopes[k] + slopes[k + 1]) * (radius[k + 1] - radius[k]);
    }
    let scale = rise / height[0];
    height.iter().map(|z| z * scale).collect()
}
