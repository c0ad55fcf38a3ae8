//! One spring of a comparison, with the numbers it is compared by.

use serde::Serialize;

use super::contest::CompareSettings;
use crate::checks::Verdicts;
use crate::curve::TargetCurve;
use crate::layout::{ArmShape, Spring};
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::straight_between;
use crate::package::{CurveSummary, FitSummary, FlatSummary, StressSummary, check_options};
use crate::spec::{Fit, SpringFile};
use crate::synthesis::{Design, ShapeError};

/// Shares of the travel at which the seated share is told.
pub const SEATED_AT: [f64; 5] = [0.1, 0.25, 0.5, 0.75, 0.95];
/// Share of the travel at which the starting rate is taken: before anything but a root seats.
const START_SHARE: f64 = 0.02;
/// Share of the travel beyond which rates say nothing: force climbs without bound.
const LAST_SHARE: f64 = 0.97;

/// How a spring's width runs over the radius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// as designed
    Tapered,
    /// one width from rim to hub
    ConstantWidth,
    /// linear in the radius: common practice
    LinearTaper,
}

impl Kind {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Tapered => "tapered",
            Self::ConstantWidth => "constant width",
            Self::LinearTaper => "linear taper",
        }
    }
}

/// One spring of a comparison. Keys as in a design's summary wherever the same is said.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contender {
    /// how its width runs
    pub kind: Kind,
    /// how well it meets the curve
    pub fit: FitSummary,
    /// how it closes
    pub flat: FlatSummary,
    /// whether it holds
    pub stress: StressSummary,
    /// rate at the start (N/mm)
    pub rate_start_n_per_mm: f64,
    /// rate at half of its travel (N/mm)
    pub rate_half_n_per_mm: f64,
    /// rate at the end of the target, or near flat if that comes first (N/mm)
    pub rate_end_n_per_mm: f64,
    /// arc length touching a plate over arm length, at [`SEATED_AT`] of its travel
    pub seated_share: Vec<f64>,
    /// travel to flat (mm)
    pub free_height_mm: f64,
    /// length of all slots, both sides (mm)
    pub slot_cut_mm: f64,
    /// nominal width at hub and rim (mm); none for stations
    pub width_mm: Option<[f64; 2]>,
    /// the spring, as in its file
    pub spring: SpringFile,
    /// its curve at the target's points
    pub curve: CurveSummary,
}

impl Contender {
    /// Judges a spring.
    pub(super) fn of(
        kind: Kind,
        spring: &Spring,
        target: &TargetCurve,
        settings: &CompareSettings,
    ) -> Result<Self, ShapeError> {
        let design = Design::judge(
            spring.clone(),
            target,
            settings.installed(),
            settings.allowable,
            settings.tolerance_percent,
        )?;
        let merits = design.merits;
        let travel = merits.free_height_mm;
        let end = (target.max_deflection() + settings.installed()).min(LAST_SHARE * travel);
        let [start, half, last] = rates(spring, [START_SHARE * travel, 0.5 * travel, end])?;
        let width_mm = match &spring.shape {
            ArmShape::Slots(line) => {
                let width = line.nominal_width();
                Some([width.value(line.inner_radius()), width.value(line.outer_radius())])
            }
            ArmShape::Stations(_) => None,
        };
        let mut file = spring.to_file();
        file.process = Some(settings.process.clone());
        file.duty = Some(settings.duty.clone());
        let verdicts = Verdicts::of(spring, &check_options(&file))?;
        file.fit = Some(Fit { tolerance_percent: Some(settings.tolerance_percent) });
        let fits = merits.fits(settings.tolerance_percent);
        Ok(Self {
            kind,
            fit: FitSummary {
                rms_percent: merits.rms_percent,
                max_percent: merits.max_percent,
                reachable: settings.reachable,
                reason: if fits { String::new() } else { "the curve is not met".to_owned() },
                tolerance_percent: settings.tolerance_percent,
            },
            flat: FlatSummary::of(&verdicts),
            stress: StressSummary::of(&verdicts),
            rate_start_n_per_mm: start,
            rate_half_n_per_mm: half,
            rate_end_n_per_mm: last,
            seated_share: seated(spring)?,
            free_height_mm: travel,
            slot_cut_mm: merits.slot_cut_mm,
            width_mm,
            spring: file,
            curve: CurveSummary {
                deflection_mm: target.deflection.clone(),
                force_n: design.force,
                target_n: target.force.clone(),
            },
        })
    }
}

fn model(spring: &Spring) -> Result<Model, ModelError> {
    Model::of(spring, &ModelSettings::default())
}

/// Rates over a few hundredths of the travel about each place (N/mm): between single nodes that seat the tangent jumps.
fn rates(spring: &Spring, places: [f64; 3]) -> Result<[f64; 3], ModelError> {
    let model = model(spring)?;
    let reach = 0.01 * model.travel();
    let mut stops: Vec<f64> = places.iter().flat_map(|x| [x - reach, x + reach]).collect();
    stops.sort_by(f64::total_cmp);
    let response = model.response(&stops)?;
    let force = |x: f64| straight_between(&response.deflection, &response.force, x);
    Ok(places.map(|x| (force(x + reach) - force(x - reach)) / (2.0 * reach)))
}

fn seated(spring: &Spring) -> Result<Vec<f64>, ModelError> {
    let model = model(spring)?;
    let travel = model.travel();
    let shares = model.response(&SEATED_AT.map(|share| share * travel))?.seated_share;
    // nothing seated is 0, not -0
    Ok(shares.into_iter().map(|share| share + 0.0).collect())
}
