//! One spring of a comparison, with the numbers it is compared by.

use serde::Serialize;

use super::contest::CompareSettings;
use super::turn_seats::{TurnSeat, turn_seats};
use crate::curve::TargetCurve;
use crate::evaluation::{
    Asked, Cost, CurveSummary, Evaluation, Extent, FitSummary, FlatSummary, StressSummary, Verdicts,
};
use crate::layout::Spring;
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::straight_between;
use crate::outline::CutSummary;
use crate::spec::{Fit, Shop, SpringFile};

/// Shares of the travel at which the seated share is given.
pub const SEATED_AT: [f64; 5] = [0.1, 0.25, 0.5, 0.75, 0.95];
/// Shares of the travel at which the rate is given: from before anything but a root seats to where the force begins to
/// rise without bound.
pub const RATES_AT: [f64; 11] = [0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.96];
/// Rates are taken over so much of the travel either way: between single nodes that seat the tangent jumps.
const RATE_REACH: f64 = 0.015;

/// Course of a spring's width over the radius.
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

/// One spring of a comparison. Keys as in a design's summary for the same numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contender {
    /// course of its width
    pub kind: Kind,
    /// whether everything asked is yes
    pub passed: bool,
    /// the verdicts
    pub verdicts: Verdicts,
    /// errors of the curve
    pub fit: FitSummary,
    /// the closed spring
    pub flat: FlatSummary,
    /// stress
    pub stress: StressSummary,
    /// rate at [`RATES_AT`] of its travel (N/mm)
    pub rate_n_per_mm: Vec<f64>,
    /// arc length touching a plate over arm length, at [`SEATED_AT`] of its travel
    pub seated_share: Vec<f64>,
    /// deflection at which each turn of an arm seats, from the rim
    pub turns: Vec<TurnSeat>,
    /// number of arms
    pub arms: usize,
    /// travel to flat (mm)
    pub free_height_mm: f64,
    /// length of cut and time; none where it cannot be drawn
    pub cut: Option<CutSummary>,
    /// weight, time and price of a part; none where it cannot be drawn
    pub cost: Option<Cost>,
    /// mass (g); none without a density
    pub mass_g: Option<f64>,
    /// width of the arm along the radius at the roots of hub and rim (mm)
    pub width_mm: Option<[f64; 2]>,
    /// the spring, as in its file
    pub spring: SpringFile,
    /// its curve at the target's points
    pub curve: CurveSummary,
}

impl Contender {
    /// Rate at one of [`RATES_AT`], the nearest to `share` of its travel (N/mm).
    pub fn rate_at(&self, share: f64) -> f64 {
        let nearest = (0..RATES_AT.len())
            .min_by(|a, b| (RATES_AT[*a] - share).abs().total_cmp(&(RATES_AT[*b] - share).abs()));
        nearest.and_then(|k| self.rate_n_per_mm.get(k)).copied().unwrap_or_default()
    }

    /// Number of turns of one arm.
    pub fn turn_count(&self) -> f64 {
        self.turns.last().map_or(0.0, |turn| turn.turns[1])
    }

    /// Evaluates a spring.
    pub(super) fn of(
        kind: Kind,
        spring: &Spring,
        target: &TargetCurve,
        settings: &CompareSettings,
    ) -> Result<Self, ModelError> {
        let width_mm = spring.arm(ModelSettings::default().segments).ok().map(|arm| arm.root_widths());
        let mut file = spring.to_file();
        file.process = Some(settings.process.clone());
        file.duty = Some(settings.duty.clone());
        file.setting = settings.setting.given();
        file.envelope = Some(settings.envelope.clone());
        file.shop = Some(settings.shop.clone()).filter(|shop| *shop != Shop::default());
        file.fit = Some(Fit { tolerance_percent: Some(settings.tolerance_percent), ..Fit::default() });
        let asked = Asked::of(&file, Some(target)).to_extent(Extent::WithoutParts);
        let evaluation = Evaluation::of(spring, asked)?;
        let (checks, fit) = (&evaluation.checks, evaluation.fit.as_ref());
        Ok(Self {
            kind,
            passed: evaluation.passed(),
            verdicts: evaluation.verdicts.clone(),
            fit: fit.map(|fit| fit.summary.clone()).unwrap_or_default(),
            flat: FlatSummary::of(checks),
            stress: StressSummary::of(checks),
            rate_n_per_mm: rates(spring)?,
            seated_share: seated(spring)?,
            turns: turn_seats(spring)?,
            arms: spring.arms,
            free_height_mm: checks.flat.travel_mm,
            cut: evaluation.drawing.as_ref().ok().map(|drawing| drawing.cut),
            cost: evaluation.drawing.as_ref().ok().map(|drawing| drawing.cost),
            mass_g: checks.mass.mass_g,
            width_mm,
            spring: file,
            curve: fit.map(|fit| CurveSummary::of(&fit.table)).unwrap_or_default(),
        })
    }
}

fn model(spring: &Spring) -> Result<Model, ModelError> {
    Model::of(spring, &ModelSettings::default())
}

/// Chord rates at [`RATES_AT`] (N/mm).
fn rates(spring: &Spring) -> Result<Vec<f64>, ModelError> {
    let model = model(spring)?;
    let reach = RATE_REACH * model.travel();
    let places = RATES_AT.map(|share| share * model.travel());
    let mut stops: Vec<f64> = places.iter().flat_map(|x| [x - reach, x + reach]).collect();
    stops.sort_by(f64::total_cmp);
    let response = model.response(&stops)?;
    let force = |x: f64| straight_between(&response.deflection, &response.force, x);
    Ok(places.iter().map(|x| (force(x + reach) - force(x - reach)) / (2.0 * reach)).collect())
}

fn seated(spring: &Spring) -> Result<Vec<f64>, ModelError> {
    let model = model(spring)?;
    let travel = model.travel();
    let shares = model.response(&SEATED_AT.map(|share| share * travel))?.seated_share;
    // no negative zero where nothing is seated
    Ok(shares.into_iter().map(|share| share + 0.0).collect())
}
