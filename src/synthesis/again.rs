//! A spring shaped again for a sheet whose thickness was measured: circles, arms and former stay, the widths
//! compensate.

use super::closed_use::ClosedRequirement;
use super::ranking::Design;
use super::rung::Arm;
use super::shape_settings::{ShapeError, ShapeSettings};
use super::shaping::shape;
use super::target_points::TargetPoints;
use super::task::rounded;
use crate::curve::nearest_reachable;
use crate::evaluation::Asked;
use crate::layout::Spring;
use crate::model::{Model, ModelSettings};

/// Segments of the first pass of shaping; the second uses the model's own number.
const COARSE_SEGMENTS: usize = 48;
/// Most iterations of either pass.
const ITERATIONS: [u64; 2] = [16, 6];

/// The spring for a sheet `thickness` thick, evaluated with the spring's own question; `width` are the least and largest
/// width (all mm). The shape of the arm stays on its rung of the ladder. Limits of the closed spring are kept where the
/// spring as drawn keeps them: where the drawn spring stands proud, its curve has priority and the verdict reports it.
pub fn shape_for_sheet(
    spring: &Spring,
    asked: &Asked,
    thickness: f64,
    width: (f64, f64),
) -> Result<Design, ShapeError> {
    let arm = Arm::of(spring);
    let mut shaped = spring.clone();
    shaped.sheet.thickness = thickness;
    if let Some(target) = &asked.target {
        let points = TargetPoints::of(target, &nearest_reachable(target, asked.installed()));
        let allowable = shaped.sheet.allowable().map(|found| found.limit);
        let height = spring.former.free_height;
        let checks = &asked.checks;
        let required = ClosedRequirement {
            process: checks.process.clone(),
            solid_height_max: checks.envelope.solid_height_max,
            allowable,
            life: (checks.duty.cycles > 0.0).then(|| checks.clone()),
        };
        let drawn = required.used(spring, &Model::of(spring, &ModelSettings::default())?)?;
        let closed = (drawn.largest() <= 1.0).then_some(required);
        for (segments, iterations) in
            [COARSE_SEGMENTS, ModelSettings::default().segments].into_iter().zip(ITERATIONS)
        {
            let settings = ShapeSettings {
                freedom: arm.freedom_of(spring),
                width,
                free_height: (height, height),
                ease: None,
                profile: false,
                allowable,
                closed: closed.clone(),
                smoothness: 1.0,
                width_ratio: f64::INFINITY,
                iterations,
                model: ModelSettings { segments, ..ModelSettings::default() },
            };
            shaped = shape(&shaped, &points, &settings)?.spring;
        }
    }
    Ok(Design::of(rounded(shaped)?, asked, arm)?)
}
