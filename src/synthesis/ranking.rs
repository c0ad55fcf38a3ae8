//! A finished design and what it is worth.

use serde::Serialize;

use super::shaping::ShapeError;
use crate::curve::TargetCurve;
use crate::layout::Spring;
use crate::model::{Model, ModelSettings};
use crate::numeric::straight_between;
use crate::response::CLOSED_SHARE;

/// Deflections at which a target of many points is evaluated; between them the predicted curve is straight enough.
const MOST_EVALUATED: usize = 160;

/// One spring that answers the target.
#[derive(Debug, Clone)]
pub struct Design {
    /// the spring
    pub spring: Spring,
    /// force at the target's own points (N)
    pub force: Vec<f64>,
    /// the numbers to compare it by
    pub merits: Merits,
    /// lower is better
    pub score: f64,
}

/// What a design is compared by.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Merits {
    /// root mean square force error over the target's own points (percent of the error base)
    pub rms_percent: f64,
    /// largest force error (percent of the error base)
    pub max_percent: f64,
    /// outside diameter (mm)
    pub outer_diameter_mm: f64,
    /// sheet thickness (mm)
    pub thickness_mm: f64,
    /// number of arms
    pub arms: usize,
    /// travel to flat (mm)
    pub free_height_mm: f64,
    /// largest von Mises stress up to 99 % of the travel (MPa)
    pub peak_stress_mpa: f64,
    /// the allowable (MPa); none where no strength is known
    pub allowable_mpa: Option<f64>,
    /// force with 1 % of the free height left (N)
    pub closing_force_n: f64,
    /// narrowest arm, along the radius (mm)
    pub narrowest_mm: f64,
    /// length of all slots, both sides (mm)
    pub slot_cut_mm: f64,
}

impl Design {
    /// Predicts a spring against a target and judges it: pressed in by `installed` (mm) where the target begins, held to
    /// `allowable` (MPa, von Mises; none where no strength is known). `tolerance` is the largest rms error that counts as
    /// met (percent).
    pub fn judge(
        spring: Spring,
        target: &TargetCurve,
        installed: f64,
        allowable: Option<f64>,
        tolerance: f64,
    ) -> Result<Self, ShapeError> {
        let settings = ModelSettings::default();
        let arm = spring.arm(settings.segments)?;
        let model = Model::of_arm(&spring, &arm, &settings);
        let travel = model.travel();
        // a target that asks for more than the travel meets the plate there
        let wanted: Vec<f64> = target.deflection.iter().map(|x| (x + installed).min(travel)).collect();
        let mut stops = evaluated(&wanted);
        stops.extend([0.25, 0.5, 0.75, 0.9, 0.95, CLOSED_SHARE].map(|share| share * travel));
        stops.sort_by(f64::total_cmp);
        stops.dedup();
        let response = model.response(&stops)?;
        let force: Vec<f64> =
            wanted.iter().map(|x| straight_between(&response.deflection, &response.force, *x)).collect();
        let (rms_percent, max_percent) = target.errors_percent(&force);
        let closed = CLOSED_SHARE * travel;
        let peak = response
            .deflection
            .iter()
            .zip(&response.peak_stress)
            .filter(|(x, _)| **x <= closed)
            .fold(0.0f64, |peak, (_, stress)| peak.max(*stress));
        let merits = Merits {
            rms_percent,
            max_percent,
            outer_diameter_mm: 2.0 * spring.disc.outer_radius,
            thickness_mm: spring.sheet.thickness,
            arms: spring.arms,
            free_height_mm: travel,
            peak_stress_mpa: peak,
            allowable_mpa: allowable,
            closing_force_n: straight_between(&response.deflection, &response.force, closed),
            narrowest_mm: arm.width.iter().copied().fold(f64::INFINITY, f64::min),
            slot_cut_mm: 2.0 * spring.arms as f64 * (arm.length() + arm.width[0] + spring.slot),
        };
        let score = merits.score(tolerance);
        Ok(Self { spring, force, merits, score })
    }
}

impl Merits {
    /// Whether the curve is met: rms error within `tolerance` (percent).
    pub fn fits(&self, tolerance: f64) -> bool {
        self.rms_percent <= tolerance
    }

    /// Whether the stress stays within the allowable; `None` without a strength.
    pub fn holds(&self) -> Option<bool> {
        self.allowable_mpa.map(|allowable| self.peak_stress_mpa <= allowable)
    }

    /// A miss of curve or stress costs more than any size; among springs that do, small, low-stressed and quickly cut
    /// ones come first.
    fn score(&self, tolerance: f64) -> f64 {
        let fit = self.rms_percent / tolerance;
        let stress = self.allowable_mpa.map_or(0.0, |allowable| self.peak_stress_mpa / allowable);
        10.0 * (fit - 1.0).max(0.0)
            + 4.0 * (fit.min(1.0) - WELL_MET).max(0.0)
            + 0.6 * fit.min(WELL_MET)
            + 20.0 * (stress - 1.0).max(0.0)
            + 0.4 * stress.min(1.0)
            + 0.8 * self.outer_diameter_mm.ln()
            + 0.02 * self.free_height_mm
            + 0.1 * self.slot_cut_mm.ln()
    }
}

/// Share of the tolerated error up to which a fit is as good as any.
const WELL_MET: f64 = 0.3;

/// At most [`MOST_EVALUATED`] of increasing deflections, first and last kept.
fn evaluated(wanted: &[f64]) -> Vec<f64> {
    if wanted.len() <= MOST_EVALUATED {
        return wanted.to_vec();
    }
    let (from, to) = (wanted[0], wanted[wanted.len() - 1]);
    (0..MOST_EVALUATED).map(|k| from + (to - from) * k as f64 / (MOST_EVALUATED - 1) as f64).collect()
}
