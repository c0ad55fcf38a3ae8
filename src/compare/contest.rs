//! The best of each kind, from several starts.

use rayon::prelude::*;
use serde::Serialize;

use super::contender::{Contender, Kind};
use crate::curve::{CurveError, TargetCurve, nearest_reachable};
use crate::layout::{ArmShape, LayoutError, SlotLine, Spring};
use crate::model::{Model, ModelError, ModelSettings};
use crate::numeric::MonotoneCubic;
use crate::outline::CutRules;
use crate::spec::{Brief, Duty, Envelope, Process, SettingChoice, Shop};
use crate::synthesis::{
    ShapeError, ShapeFreedom, ShapeSettings, Shaped, TargetPoints, easing_range, free_height_range, reserve,
    shape, width_range,
};

/// Widths tried as starts, over those of the spring compared: the error has more than one minimum.
const STARTS: [f64; 3] = [0.7, 1.0, 1.4];
/// Segments while shaping.
const SEGMENTS: usize = 40;
/// Most iterations of one shaping.
const ITERATIONS: u64 = 12;
/// Points and last share of the travel of a curve taken from the spring itself.
const NOMINAL_POINTS: usize = 40;
const NOMINAL_SHARE: f64 = 0.95;

/// Conditions under which the simpler widths are shaped, and why their numbers differ from those of the ladder of a design,
/// whose arms are named alike.
const CONDITIONS: &str = "constant width and linear taper are shaped for the curve and the stress of the arms alone; the \
                          arms of the same names that design lists keep slot ends, rings and flatness within their \
                          limits, too, and so mostly come less near";

/// Common conditions of the springs compared.
#[derive(Debug, Clone, PartialEq)]
pub struct CompareSettings {
    /// least and largest width (mm)
    pub width: (f64, f64),
    /// least and largest free height (mm)
    pub free_height: (f64, f64),
    /// least and largest easing at the roots (arm widths of arc); `None` leaves it as it is
    pub ease: Option<(f64, f64)>,
    /// numbers of arms a rival may have, besides those of the spring compared
    pub arms: Vec<usize>,
    /// how the blank is cut
    pub process: Process,
    /// von Mises stress not to exceed (MPa)
    pub allowable: Option<f64>,
    /// loads, stroke and cycles
    pub duty: Duty,
    /// way of setting
    pub setting: SettingChoice,
    /// space allowed
    pub envelope: Envelope,
    /// shims, sheets and rates of the shop
    pub shop: Shop,
    /// largest rms error that counts as met (percent)
    pub tolerance_percent: f64,
}

impl CompareSettings {
    /// Conditions for a spring and its rivals under a brief, as in the search that finds springs. No other numbers
    /// of arms are tried.
    pub fn of(spring: &Spring, target: &TargetCurve, brief: &Brief) -> Self {
        let thickness = spring.sheet.thickness;
        let usual = CutRules::of(&brief.process, thickness).arm_min;
        // an arm thicker than wide only where the brief asks for one
        let arm_min = brief.arms.width_min.unwrap_or_else(|| usual.max(thickness));
        let reach = target.max_deflection() + brief.duty.installed.unwrap_or(0.0);
        Self {
            width: width_range(arm_min, &spring.disc),
            free_height: free_height_range(reach, reserve(brief), &brief.envelope),
            ease: easing_range(&brief.former),
            arms: Vec::new(),
            process: brief.process.clone(),
            allowable: spring.sheet.allowable().map(|found| found.limit),
            duty: brief.duty.clone(),
            setting: brief.setting,
            envelope: brief.envelope.clone(),
            shop: brief.shop.clone(),
            tolerance_percent: brief.fit.tolerance(target.tolerance_percent),
        }
    }

    /// Deflection of the spring where the target counts zero (mm).
    pub(super) fn installed(&self) -> f64 {
        self.duty.installed.unwrap_or(0.0)
    }
}

/// Errors of a comparison.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CompareError {
    /// The arm is given by stations.
    #[error(
        "the arm is given by stations, which do not say where its slots end; give [arm] radius and width to compare it"
    )]
    Stations,
    /// No other spring fits the circles.
    #[error("no spring of {kind} winds between the same circles; widen the ring between hub and rim")]
    NoRival {
        /// which kind
        kind: &'static str,
    },
    /// The spring itself cannot be evaluated.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The spring has no curve.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// Its curve cannot be compared.
    #[error(transparent)]
    Curve(#[from] CurveError),
}

/// Springs side by side: as designed, constant width, linear taper.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// the springs
    pub springs: Vec<Contender>,
    /// findings, a sentence each
    pub findings: Vec<String>,
}

/// The spring's own curve, where no other was asked for.
pub fn nominal_target(spring: &Spring) -> Result<TargetCurve, CompareError> {
    let model = Model::of(spring, &ModelSettings::default())?;
    let end = NOMINAL_SHARE * model.travel();
    let stops: Vec<f64> = (0..=NOMINAL_POINTS).map(|k| end * k as f64 / NOMINAL_POINTS as f64).collect();
    let response = model.response(&stops)?;
    let force: Vec<f64> = response.force.iter().map(|force| force.max(0.0)).collect();
    let source = "the spring's own curve";
    Ok(TargetCurve::points(&response.deflection, &force).curve(source)?)
}

/// Puts a spring beside the best of constant width and the best linear taper. Sheet, slot and circles stay; number of arms,
/// width and with it the turns, free height and, where allowed, the easing at the roots are each one's own, shaped for the
/// curve and the stress of the arms alone. The result depends on nothing but the arguments.
pub fn compare(
    tapered: &Spring,
    target: &TargetCurve,
    settings: &CompareSettings,
) -> Result<Comparison, CompareError> {
    let ArmShape::Slots(line) = &tapered.shape else { return Err(CompareError::Stations) };
    let reach = nearest_reachable(target, settings.installed());
    let points = TargetPoints::of(target, &reach);
    let ends = [line.inner_radius(), line.outer_radius()];
    let widths = ends.map(|radius| line.nominal_width().value(radius));
    let middle = line.nominal_width().value(0.5 * (ends[0] + ends[1]));
    let mut arms = settings.arms.clone();
    arms.push(tapered.arms);
    arms.sort_unstable();
    arms.dedup();
    let starts: Vec<(usize, f64)> =
        arms.iter().flat_map(|&arms| STARTS.map(|factor| (arms, factor))).collect();
    let mut springs = vec![Contender::of(Kind::Tapered, tapered, target, settings)?];
    for (kind, freedom, start) in [
        (Kind::ConstantWidth, ShapeFreedom::Constant, [middle; 2]),
        (Kind::LinearTaper, ShapeFreedom::LinearTaper, widths),
    ] {
        let shaping = ShapeSettings {
            freedom,
            width: settings.width,
            free_height: settings.free_height,
            ease: settings.ease,
            profile: false,
            width_ratio: f64::INFINITY,
            closed: None,
            allowable: settings.allowable,
            smoothness: 1.0,
            iterations: ITERATIONS,
            model: ModelSettings { segments: SEGMENTS, ..ModelSettings::default() },
        };
        let tried: Vec<Shaped> = starts
            .par_iter()
            .map(|&(arms, factor)| {
                let start = start.map(|w| (factor * w).clamp(settings.width.0, settings.width.1));
                let start = with_widths(tapered, arms, ends, start).ok()?;
                shape(&start, &points, &shaping).ok()
            })
            .collect::<Vec<_>>()
            .into_iter()
            .flatten()
            .collect();
        let best = tried
            .iter()
            .min_by(|a, b| penalty(a, settings).total_cmp(&penalty(b, settings)))
            .ok_or(CompareError::NoRival { kind: kind.name() })?;
        springs.push(Contender::of(kind, &best.spring, target, settings)?);
    }
    let findings = findings(&springs);
    Ok(Comparison { springs, findings })
}

/// The comparison in words.
fn findings(springs: &[Contender]) -> Vec<String> {
    let Some((tapered, rivals)) = springs.split_first() else { return Vec::new() };
    let mut found: Vec<String> = rivals
        .iter()
        .map(|rival| {
            let (own, other) = (tapered.fit.rms_percent, rival.fit.rms_percent);
            let name = rival.kind.name();
            if rival.fit.rms_percent <= rival.fit.tolerance_percent {
                format!("{name} would do as well: it meets the curve within {other:.2} % rms ({own:.2} % as designed)")
            } else {
                format!(
                    "{name} misses the curve by {other:.2} % rms at its best ({own:.2} % as designed): its rate goes from \
                     {:.2} to {:.2} N/mm between {:.0} and {:.0} % of its travel",
                    rival.rate_at(0.1),
                    rival.rate_at(0.9),
                    10.0,
                    90.0
                )
            }
        })
        .collect();
    found.push(CONDITIONS.to_owned());
    found
}

/// Lower is better: the curve's error, and stress above the allowable as the search counts it.
fn penalty(shaped: &Shaped, settings: &CompareSettings) -> f64 {
    let excess = settings.allowable.map_or(0.0, |allowable| (shaped.flat_stress / allowable - 1.0).max(0.0));
    shaped.rms_percent + 30.0 * excess
}

/// The spring with other arms, their widths linear between the slots' ends.
fn with_widths(
    spring: &Spring,
    arms: usize,
    radius: [f64; 2],
    width: [f64; 2],
) -> Result<Spring, LayoutError> {
    let profile = MonotoneCubic::through(&radius, &width).ok_or_else(|| LayoutError::Profile {
        what: "arm.width",
        found: format!("{width:?} at {radius:?}"),
    })?;
    let mut changed = spring.clone();
    changed.arms = arms;
    let line = SlotLine::wind(arms, spring.slot, radius[1], radius[0], profile)?;
    changed.shape = ArmShape::Slots(line);
    // whether an arm is left between the slots shows here
    changed.arm(SEGMENTS)?;
    Ok(changed)
}
