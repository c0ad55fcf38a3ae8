//! The design cut again: the original target, with the deviations of the measured part taken into account.

use crate::curve::{TargetCurve, nearest_reachable};
use crate::layout::{ArmShape, Spring};
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::{evenly_spread, straight_between};
use crate::response::Response;
use crate::synthesis::{ShapeError, ShapeFreedom, ShapeSettings, TargetPoints, least_free_height, shape};
use crate::variation::{Deviation, VariationError, deviated};

/// How far the free height may be moved: the former can be shimmed or turned down by so much of it.
const HEIGHT_SHARE: f64 = 0.08;
/// Error up to which the free height is left as it is (percent rms): a new former costs more.
const KEPT_PERCENT: f64 = 0.5;
/// Least clearance to flat behind the last deflection asked for, in units of it: the former that is there sets the height.
const LEAST_RESERVE: f64 = 0.01;
/// Fewest control radii of the width.
const LEAST_CONTROLS: usize = 6;
/// Most iterations of the shaping.
const ITERATIONS: u64 = 14;
/// Most points of the target at which the part's curve is given; between them it is straight enough.
const MOST_POINTS: usize = 400;

/// Limits that the new cut has to keep.
#[derive(Debug, Clone, PartialEq)]
pub struct RecutSettings {
    /// least and largest width (mm)
    pub width: (f64, f64),
    /// largest free height (mm)
    pub free_height_max: Option<f64>,
    /// von Mises stress not to exceed (MPa)
    pub allowable: Option<f64>,
    /// deflection of the spring where the target counts zero (mm)
    pub installed: f64,
    /// the model used
    pub model: ModelSettings,
}

/// Errors of shaping a spring again.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RecutError {
    /// Deviations without a valid spring.
    #[error(transparent)]
    Variation(#[from] VariationError),
    /// The spring could not be shaped.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The new spring has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// The design cut again.
#[derive(Debug, Clone)]
pub struct Recut {
    /// what to draw and set: cut the same way, from the same sheet, it comes out as `part`
    pub drawn: Spring,
    /// what is expected to come out
    pub part: Spring,
    /// settings of a model with the root compliance of the measured part
    pub model: ModelSettings,
    /// deflection at the target's points, thinned, as the target counts it and as far as the part goes (mm)
    pub deflection: Vec<f64>,
    /// force asked for there (N)
    pub target_force: Vec<f64>,
    /// the part's curve there
    pub response: Response,
    /// root mean square error against the target (percent of the error base)
    pub rms_percent: f64,
    /// largest error (percent of the error base)
    pub max_percent: f64,
}

impl Recut {
    /// The drawing as it stands, for parts that are as drawn.
    pub(super) fn kept(
        spring: &Spring,
        target: &TargetCurve,
        settings: &RecutSettings,
    ) -> Result<Self, RecutError> {
        Self::of(spring.clone(), spring.clone(), settings.model, target, settings.installed)
    }

    fn of(
        drawn: Spring,
        part: Spring,
        model: ModelSettings,
        target: &TargetCurve,
        installed: f64,
    ) -> Result<Self, RecutError> {
        let whole = Model::of(&part, &model)?;
        let travel = whole.travel();
        let kept: Vec<usize> = evenly_spread(target.len(), MOST_POINTS)
            .into_iter()
            .filter(|&i| target.deflection[i] + installed <= travel)
            .collect();
        let deflection: Vec<f64> = kept.iter().map(|&i| target.deflection[i]).collect();
        let stops: Vec<f64> = deflection.iter().map(|x| x + installed).collect();
        let response = whole.response(&stops)?;
        // what the travel does not reach meets the plate there
        let force: Vec<f64> =
            target.deflection.iter().map(|x| straight_between(&deflection, &response.force, *x)).collect();
        let (rms_percent, max_percent) = target.errors_percent(&force);
        let target_force = kept.iter().map(|&i| target.force[i]).collect();
        Ok(Self { drawn, part, model, deflection, target_force, response, rms_percent, max_percent })
    }
}

/// Shapes the spring again for `target`, as a part that departs from its drawing by `found`.
pub fn recut(
    spring: &Spring,
    target: &TargetCurve,
    found: &Deviation,
    settings: &RecutSettings,
) -> Result<Recut, RecutError> {
    let start = deviated(spring, found)?;
    let controls = match &spring.shape {
        ArmShape::Slots(line) => line.nominal_width().arguments().len().max(LEAST_CONTROLS),
        ArmShape::Stations(_) => LEAST_CONTROLS,
    };
    let points = TargetPoints::of(target, &nearest_reachable(target, settings.installed));
    let height = start.former.free_height;
    let most = settings.free_height_max.unwrap_or(f64::INFINITY).min((1.0 + HEIGHT_SHARE) * height);
    let least = least_free_height(points.reach(), LEAST_RESERVE).max((1.0 - HEIGHT_SHARE) * height).min(most);
    let model = found.settings(&settings.model);
    let shaping = |free_height| ShapeSettings {
        smoothness: 1.0,
        freedom: ShapeFreedom::Free(controls),
        width: (settings.width.0 - found.kerf_mm, settings.width.1),
        free_height,
        ease: None,
        profile: false,
        width_ratio: f64::INFINITY,
        closed: None,
        allowable: settings.allowable,
        iterations: ITERATIONS,
        model,
    };
    // the former that is there serves again where widths alone do
    let kept = height >= least && height <= most;
    let same = if kept { Some(shape(&start, &points, &shaping((height, height)))?) } else { None };
    let part = match same.filter(|shaped| shaped.rms_percent <= KEPT_PERCENT) {
        Some(shaped) => shaped.spring,
        None => shape(&start, &points, &shaping((least, most)))?.spring,
    };
    let back =
        Deviation { kerf_mm: -found.kerf_mm, free_height_mm: -found.free_height_mm, ..Deviation::default() };
    let drawn = deviated(&part, &back)?;
    Recut::of(drawn, part, model, target, settings.installed)
}
