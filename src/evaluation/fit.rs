//! The fit: the predicted curve at the target's points, and its errors.

use serde::Serialize;

use super::asked::Asked;
use crate::curve::{BandBreach, Reach, TargetCurve, nearest_reachable};
use crate::model::{Model, ModelError};
use crate::numeric::{evenly_spread, straight_between};
use crate::response::Response;

/// Points of a target at which the curve is predicted and written; between them it is straight.
pub const MOST_POINTS: usize = 400;

/// Errors of the curve over the target's own points.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct FitSummary {
    /// root mean square force error, each relative to the larger of the target force and one tenth of its maximum
    pub rms_percent: f64,
    /// largest of these errors
    pub max_percent: f64,
    /// largest error relative to the target force there; points of no force left out
    pub largest_relative_percent: f64,
    /// deflection of that error from the free height (mm)
    pub largest_relative_at_mm: f64,
    /// whether one seating disc can follow the curve
    pub reachable: bool,
    /// reason of a miss; empty where the curve is met
    pub reason: String,
    /// largest rms error that counts as met
    pub tolerance_percent: f64,
}

/// The predicted curve beside the target.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CurveTable {
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// force asked for (N)
    pub target: Vec<f64>,
    /// prediction at the same places, deflection from the free height
    pub response: Response,
}

impl CurveTable {
    /// Deflection as the target counts it (mm).
    pub fn travel(&self) -> Vec<f64> {
        self.response.deflection.iter().map(|x| x - self.installed).collect()
    }
}

/// A spring's curve against a target.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// errors
    pub summary: FitSummary,
    /// the curve at the target's points within the travel
    pub table: CurveTable,
    /// whether one seating disc can follow the target, and the nearest curve that one can follow
    pub reach: Reach,
    /// largest departure from the band asked for
    pub breach: Option<BandBreach>,
    /// travel missing behind the last deflection asked for (mm); 0 where the travel suffices
    pub travel_missing: f64,
    /// whether the curve is met
    pub met: bool,
}

impl Fit {
    /// Of a spring's model.
    pub(super) fn of(model: &Model, target: &TargetCurve, asked: &Asked) -> Result<Self, ModelError> {
        let installed = asked.installed();
        let travel = model.travel();
        let reach = nearest_reachable(target, installed);
        let kept = evenly_spread(target.len(), MOST_POINTS);
        // a target that asks for more than the travel meets the plate there
        let mut stops: Vec<f64> =
            kept.iter().map(|&i| (target.deflection[i] + installed).min(travel)).collect();
        stops.dedup();
        let response = model.response(&stops)?;
        let force: Vec<f64> = target
            .deflection
            .iter()
            .map(|x| straight_between(&response.deflection, &response.force, (x + installed).min(travel)))
            .collect();
        let (rms_percent, max_percent) = target.errors_percent(&force);
        let (largest_relative_percent, at) = largest_relative(target, &force);
        let within: Vec<usize> =
            kept.into_iter().filter(|&i| target.deflection[i] + installed <= travel).collect();
        let table = CurveTable {
            installed,
            target: within.iter().map(|&i| target.force[i]).collect(),
            response: first_points(response, within.len()),
        };
        let breach = target.band_breach(&table.travel(), &table.response.force);
        let travel_missing = (target.max_deflection() + installed - travel).max(0.0);
        let tolerance_percent = asked.tolerance_percent();
        let has_band = target.force_min.is_some() || target.force_max.is_some();
        let close = rms_percent <= tolerance_percent;
        // a band is the requirement; an rms tolerance counts beside it only where one is given
        let met = travel_missing <= 1e-9 * travel
            && if has_band { breach.is_none() && (close || !asked.names_tolerance()) } else { close };
        let reachable = reach.can_be_followed(rms_percent, max_percent);
        let reason = if met {
            String::new()
        } else if travel_missing > 1e-9 * travel {
            format!("the travel ends {travel_missing:.2} mm before the last deflection asked for")
        } else if let Some(finding) = reach.findings.first().filter(|_| !reachable) {
            finding.reason.clone()
        } else if let Some(breach) = &breach {
            breach.said()
        } else {
            "the widths that follow the curve are outside the limits of cutting, size and stress".to_owned()
        };
        let summary = FitSummary {
            rms_percent,
            max_percent,
            largest_relative_percent,
            largest_relative_at_mm: at + installed,
            reachable,
            reason,
            tolerance_percent,
        };
        Ok(Self { summary, table, reach, breach, travel_missing, met })
    }
}

/// Largest error relative to the target's force (percent) and its place as the target counts it (mm).
pub(super) fn largest_relative(target: &TargetCurve, force: &[f64]) -> (f64, f64) {
    let points = target.deflection.iter().zip(&target.force).zip(force);
    points.filter(|((_, wanted), _)| **wanted > 0.0).fold((0.0, 0.0), |worst, ((x, wanted), found)| {
        let error = 100.0 * (found / wanted - 1.0).abs();
        if error > worst.0 { (error, *x) } else { worst }
    })
}

fn first_points(mut response: Response, count: usize) -> Response {
    for column in [
        &mut response.deflection,
        &mut response.force,
        &mut response.rate,
        &mut response.seated_share,
        &mut response.peak_stress,
        &mut response.peak_station,
    ] {
        column.truncate(count);
    }
    response
}
