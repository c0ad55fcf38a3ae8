//! A disc of an assembly shaped again for the force that the other discs leave to it.

use super::closed_use::ClosedRequirement;
use super::limits::width_range;
use super::rung::Arm;
use super::shape_settings::{ShapeError, ShapeFreedom, ShapeSettings};
use super::shaping::shape;
use super::target_points::TargetPoints;
use super::task::rounded;
use crate::evaluation::Asked;
use crate::layout::Spring;
use crate::model::ModelSettings;

/// Segments while shaping.
const SEGMENTS: usize = 64;
/// Most iterations.
const ITERATIONS: u64 = 8;
/// Largest width over the narrowest that costs nothing, as in the search.
const WIDTH_RATIO: f64 = 4.0;

/// The spring for other `points`, with the same circles, arms and former law; free height from `height` (least and
/// largest, mm), arms at least `arm_min` mm wide, widths at `controls` radii, at the spring's own freedom with none. The
/// errors are measured by the bases of `points`.
pub fn shape_in_assembly(
    spring: &Spring,
    points: &TargetPoints,
    asked: &Asked,
    arm_min: f64,
    height: (f64, f64),
    controls: Option<usize>,
) -> Result<Spring, ShapeError> {
    let allowable = spring.sheet.allowable().map(|found| found.limit);
    let checks = &asked.checks;
    let settings = ShapeSettings {
        freedom: controls.map_or_else(|| Arm::of(spring).freedom_of(spring), ShapeFreedom::Free),
        width: width_range(arm_min, &spring.disc),
        free_height: height,
        ease: None,
        profile: !spring.former.is_cone(),
        allowable,
        width_ratio: WIDTH_RATIO,
        closed: Some(ClosedRequirement {
            process: checks.process.clone(),
            solid_height_max: checks.envelope.solid_height_max,
            allowable,
            life: (checks.duty.cycles > 0.0).then(|| checks.clone()),
        }),
        smoothness: 1.0,
        iterations: ITERATIONS,
        model: ModelSettings { segments: SEGMENTS, ..ModelSettings::default() },
    };
    Ok(rounded(shape(spring, points, &settings)?.spring)?)
}
