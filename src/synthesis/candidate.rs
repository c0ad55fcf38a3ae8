//! Candidates: every choice the brief leaves open, rated by the closed form in some ten microseconds each.

use std::f64::consts::{SQRT_2, TAU};

use rayon::prelude::*;

use super::closed_form::Annulus;
use super::limits::CuttingLimits;
use super::own_weight::{NOTICEABLE, own_weight_share};
use super::target_points::TargetPoints;
use super::task::bore_radius;
use crate::layout::{ArmShape, Disc, FormerProfile, LayoutError, SheetProperties, SlotLine, Spring};
use crate::model::stress::flat_edge_stress;
use crate::numeric::MonotoneCubic;
use crate::spec::{Brief, Roots, Tolerance};
use crate::variation::{Cause, Tolerances};

/// Radii at which the closed form is evaluated.
const SAMPLES: usize = 40;
/// Widest arm in units of its radius; a wider one is a plate, to which arm theory does not apply.
const WIDEST: f64 = 0.55;
/// Width of the rings in units of the root width next to them. A ring 1.5 widths wide is stiff; narrower ones cost a
/// little stiffness and save much space.
const RING_WIDTHS: f64 = 1.2;
/// Largest inner end of the slots over their outer end.
const MOST_HUB_SHARE: f64 = 0.75;
/// Smallest diameter tried (mm), ratio from one to the next, and how many, where the brief names none: 6 to 400 mm.
const SMALLEST: f64 = 6.0;
/// See [`SMALLEST`].
const SIZE_STEP: f64 = 1.25;
/// See [`SMALLEST`].
const SIZES: i32 = 20;
/// Penalty of an e-fold excess of own weight, as much as 25 % of curve error.
const OWN_WEIGHT_PENALTY: f64 = 3.0;
/// Penalty of a spring none of whose parts would be good; of every part good, none. A disc of twice the diameter is worth
/// some fifteen points of good parts.
const BAD_PARTS_PENALTY: f64 = 5.0;
/// Share of the tolerance that the curve is taken to use up where the closed form follows it: what shaping leaves.
const SHAPED_ERROR: f64 = 0.4;
/// Relative change of force over that of the free height at the same deflections, on average over springs that seat.
const HEIGHT_EFFECT: f64 = 0.6;
/// Easing of the former that shaping starts with, in arm widths of arc.
const FIRST_EASE: f64 = 6.0;
/// Turns of an arm from which on its seating resolves the curve well.
const FULL_TURNS: f64 = 2.5;
/// Least winding of the arm, in turns over the number of arms.
const LEAST_OVERLAP: f64 = 0.7;

/// A size, a sheet and a number of arms, rated by the closed form.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// sheet thickness (mm)
    pub thickness: f64,
    /// number of arms
    pub arms: usize,
    /// outside diameter (mm)
    pub outer_diameter: f64,
    /// hub-side slot radius over rim-side slot radius, before the bore limits it
    pub ratio: f64,
    /// slot radii, rim side and hub side (mm)
    pub slot_radius: (f64, f64),
    /// bore radius (mm)
    pub bore_radius: f64,
    /// free height (mm)
    pub free_height: f64,
    /// control radii (mm), increasing, and widths there (mm)
    pub width: (Vec<f64>, Vec<f64>),
    /// expected rms force error after clipping the widths (percent)
    pub expected_error: f64,
    /// expected von Mises stress when flat over the allowable
    pub stress_ratio: f64,
    /// penalty: lower is better
    pub penalty: f64,
}

/// Conditions shared by all candidates of a search.
pub struct CandidateSpace<'a> {
    /// the curve
    pub points: &'a TargetPoints,
    /// the brief
    pub brief: &'a Brief,
    /// the sheet; its thickness is the candidate's
    pub sheet: &'a SheetProperties,
    /// what cutting allows, by thickness
    pub limits: &'a (dyn Fn(f64) -> CuttingLimits + Sync),
    /// allowable von Mises stress (MPa)
    pub allowable: Option<f64>,
    /// numbers of arms to try
    pub arms: &'a [usize],
    /// clearance between the last deflection asked for and flat, in units of that deflection
    pub reserve: f64,
    /// rms error that counts as met (percent)
    pub tolerance: f64,
}

/// The open choices of one candidate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// sheet thickness (mm)
    pub thickness: f64,
    /// number of arms
    pub arms: usize,
    /// outside diameter (mm)
    pub outer_diameter: f64,
    /// hub-side slot radius over rim-side slot radius
    pub ratio: f64,
    /// free height over the largest deflection
    pub height_ratio: f64,
}

impl CandidateSpace<'_> {
    /// All choices that the brief leaves open.
    pub fn choices(&self, thicknesses: &[f64]) -> Vec<Choice> {
        let envelope = &self.brief.envelope;
        // a series of sizes, or shares of the space there is; shaping finds the size itself
        let diameters: Vec<f64> = match envelope.outer_diameter_max {
            Some(most) => [1.0, 0.9, 0.8, 0.7, 0.6].map(|share| share * most).to_vec(),
            None => (0..SIZES).map(|k| SMALLEST * SIZE_STEP.powi(k)).collect(),
        };
        let reach = self.points.reach();
        let least = 1.0 + self.reserve;
        let mut heights: Vec<f64> = [1.01, 1.08, 1.2, 1.45, 1.9].map(|ratio| ratio * least).to_vec();
        if let Some(most) = envelope.free_height_max {
            heights.retain(|ratio| ratio * reach <= most);
            heights.push(most / reach);
        }
        heights.retain(|ratio| *ratio >= least);
        let mut choices = Vec::new();
        for &thickness in thicknesses {
            for &arms in self.arms {
                for &outer_diameter in &diameters {
                    for ratio in [0.22, 0.3, 0.38, 0.46, 0.56] {
                        for &height_ratio in &heights {
                            choices.push(Choice { thickness, arms, outer_diameter, ratio, height_ratio });
                        }
                    }
                }
            }
        }
        choices
    }

    /// The candidates of choices, best first.
    pub fn ranked<'c>(&self, choices: impl ParallelIterator<Item = &'c Choice>) -> Vec<Candidate> {
        let mut candidates: Vec<Candidate> = choices.filter_map(|choice| self.candidate(choice)).collect();
        // the sort is stable: equals stay in the order of the choices
        candidates.sort_by(|a, b| a.penalty.total_cmp(&b.penalty));
        candidates
    }

    /// Whether the narrowest arms with their rings would fit a choice's disc.
    pub fn has_room(&self, choice: &Choice) -> bool {
        let limits = (self.limits)(choice.thickness);
        let bore = 0.5 * self.brief.envelope.bore_diameter_min.unwrap_or(0.0);
        let ring = RING_WIDTHS * limits.arm_min;
        let outer = 0.5 * choice.outer_diameter - 0.5 * limits.slot - ring;
        let inner = (choice.ratio * outer).max(bore + 0.5 * limits.slot + ring);
        // each arm needs its pitch twice between the slots' ends
        outer > 0.0 && inner <= MOST_HUB_SHARE * outer && outer - inner > 2.0 * (limits.arm_min + limits.slot)
    }

    /// The candidate of a choice; `None` where nothing fits.
    pub fn candidate(&self, choice: &Choice) -> Option<Candidate> {
        let limits = (self.limits)(choice.thickness);
        let half = 0.5 * choice.outer_diameter;
        let bore_min = 0.5 * self.brief.envelope.bore_diameter_min.unwrap_or(0.0);
        let free_height = choice.height_ratio * self.points.reach();
        // rim and hub widths follow from the root widths: two passes converge
        let (mut rim, mut hub) = (0.16 * half, limits.arm_min);
        let mut found = None;
        for _ in 0..3 {
            let outer = half - 0.5 * limits.slot - rim;
            let inner = (choice.ratio * outer).max(bore_min + 0.5 * limits.slot + hub);
            if inner > MOST_HUB_SHARE * outer || outer <= 0.0 {
                return None;
            }
            let (candidate, roots) = self.shape(choice, &limits, (outer, inner), free_height)?;
            rim = RING_WIDTHS * roots.1;
            hub = RING_WIDTHS * roots.0;
            found = Some((candidate, outer, inner));
        }
        let (mut candidate, outer, inner) = found?;
        candidate.slot_radius = (outer, inner);
        // the rim's last width may be a little more than the space there is
        let most = self.brief.envelope.outer_diameter_max.unwrap_or(f64::INFINITY);
        candidate.outer_diameter = (2.0 * (outer + 0.5 * limits.slot + rim)).min(most);
        let radius = 0.5 * candidate.outer_diameter;
        let force = self.points.largest_force();
        let own_weight = own_weight_share(radius, choice.thickness, self.sheet.density, force);
        candidate.penalty += BAD_PARTS_PENALTY * (1.0 - self.good_share(&candidate));
        candidate.penalty += OWN_WEIGHT_PENALTY * (own_weight / NOTICEABLE).ln().max(0.0);
        let hub_edge = inner - 0.5 * limits.slot;
        candidate.bore_radius = bore_radius(hub_edge, hub, self.brief.envelope.bore_diameter_min);
        Some(candidate)
    }

    /// Estimate of the share of good parts (0 to 1), the mean of as bought and with the sheet measured: force goes with the
    /// cube of the thickness, with the torsion constant of the arms, and with the height.
    fn good_share(&self, candidate: &Candidate) -> f64 {
        let tolerance = 0.01 * self.tolerance;
        let own = (0.01 * candidate.expected_error).max(SHAPED_ERROR * tolerance);
        if own >= tolerance {
            return 0.0;
        }
        let sheet = SheetProperties { thickness: candidate.thickness, ..self.sheet.clone() };
        let (given, process) = (Tolerance::default(), &self.brief.process);
        let (size, height) = (candidate.outer_diameter, candidate.free_height);
        let tolerances = Tolerances::of_sizes(&sheet, size, height, &given, process);
        let off = |cause: Cause| tolerances.of_cause(cause).deviation();
        let widths = &candidate.width.1;
        // a rectangular section's torsion constant is about w t³/3 − 0.21 t⁴
        let per_width = |w: &f64| 1.0 / (w - 0.63 * candidate.thickness).max(0.1 * w);
        let per_width = widths.iter().map(per_width).sum::<f64>() / widths.len() as f64;
        let cut = per_width * (off(Cause::Kerf).powi(2) + off(Cause::EdgeSlope).powi(2)).sqrt();
        let set = HEIGHT_EFFECT * off(Cause::FreeHeight) / height;
        let bought = (3.0 * off(Cause::Thickness) / candidate.thickness).hypot(0.01 * off(Cause::Modulus));
        let room = (tolerance.powi(2) - own.powi(2)).sqrt();
        let within = |deviation: f64| within_normal(room / deviation);
        0.5 * (within(cut.hypot(set)) + within(cut.hypot(set).hypot(bought)))
    }

    fn shape(
        &self,
        choice: &Choice,
        limits: &CuttingLimits,
        (outer, inner): (f64, f64),
        free_height: f64,
    ) -> Option<(Candidate, (f64, f64))> {
        let (x, f) = &self.points.from_free;
        let widest = WIDEST * outer;
        // arm centres run half a pitch inside the slots' ends
        let mut pitch = (limits.arm_min + limits.slot, 0.2 * outer);
        let mut result = None;
        for _ in 0..2 {
            let annulus = Annulus {
                arms: choice.arms,
                slot: limits.slot,
                thickness: choice.thickness,
                shear_modulus: self.sheet.shear_modulus,
                outer: outer - 0.5 * pitch.1,
                inner: inner + 0.5 * pitch.0,
                free_height,
            };
            if annulus.outer <= annulus.inner * 1.05 {
                return None;
            }
            let inverse = annulus.inverse(x, f, SAMPLES, limits.arm_min, widest)?;
            let last = inverse.width.len() - 1;
            pitch = (inverse.width[0] + limits.slot, inverse.width[last] + limits.slot);
            result = Some((annulus, inverse));
        }
        let (annulus, inverse) = result?;
        let expected_error = self.expected_error(&annulus, &inverse.closing_load);
        // neighbouring slots have to overlap
        let turns: f64 = {
            let step = (annulus.outer - annulus.inner) / SAMPLES as f64;
            inverse.width.iter().map(|w| step / (choice.arms as f64 * (w + limits.slot))).sum()
        };
        let too_short = (LEAST_OVERLAP / choice.arms as f64 - turns).max(0.0) * choice.arms as f64;
        let stress = inverse
            .radius
            .iter()
            .zip(&inverse.width)
            .map(|(r, w)| {
                let rise = choice.arms as f64 * (w + limits.slot) / TAU * annulus.steepness();
                flat_edge_stress(self.sheet.shear_modulus, *w, choice.thickness, rise, *r)
            })
            .fold(0.0, f64::max);
        let stress_ratio = self.allowable.map_or(0.0, |allowable| stress / allowable);
        let wide = inverse
            .radius
            .iter()
            .zip(&inverse.width)
            .map(|(r, w)| (w / r - 0.45).max(0.0))
            .fold(0.0, f64::max);
        // seating spreads over about a radian of arm: what has few turns cannot follow the curve in detail
        let few = (FULL_TURNS - turns).max(0.0);
        let turned = (turns - 6.0).max(0.0);
        let penalty = 0.12 * expected_error.min(200.0)
            + 12.0 * (stress_ratio - 0.85).max(0.0)
            + 0.4 * stress_ratio
            + 4.0 * too_short
            + 6.0 * wide
            + 1.0 * few
            + 0.15 * turned
            + choice.outer_diameter.ln()
            + 0.25 * choice.height_ratio
            + 0.08 * choice.arms as f64;
        let roots = (inverse.width[0], inverse.width[inverse.width.len() - 1]);
        let width = spread_over_slots(&inverse.radius, &inverse.width, (inner, outer));
        let candidate = Candidate {
            thickness: choice.thickness,
            arms: choice.arms,
            outer_diameter: choice.outer_diameter,
            ratio: choice.ratio,
            slot_radius: (outer, inner),
            bore_radius: 0.0,
            free_height,
            width,
            expected_error,
            stress_ratio,
            penalty,
        };
        Some((candidate, roots))
    }

    /// Expected rms force error of clipped widths (percent): the error in deflection times the rate.
    fn expected_error(&self, annulus: &Annulus, closing_load: &[f64]) -> f64 {
        let points = self.points;
        let count = points.force.len();
        let mut sum = 0.0;
        for i in 0..count {
            let off = annulus.deflection(closing_load, points.force[i]) - points.deflection[i];
            let (a, b) = (i.saturating_sub(1), (i + 1).min(count - 1));
            let rate =
                (points.force[b] - points.force[a]) / (points.deflection[b] - points.deflection[a]).max(1e-9);
            sum += (off * rate / points.base[i]).powi(2);
        }
        100.0 * (sum / count as f64).sqrt()
    }

    /// The candidate as a spring.
    pub fn spring(&self, candidate: &Candidate) -> Result<Spring, LayoutError> {
        let limits = (self.limits)(candidate.thickness);
        let (outer, inner) = candidate.slot_radius;
        let (radius, width) = &candidate.width;
        let profile = MonotoneCubic::through(radius, width).ok_or_else(|| LayoutError::Profile {
            what: "arm.width",
            found: format!("{} widths", width.len()),
        })?;
        let line = SlotLine::wind(candidate.arms, limits.slot, outer, inner, profile)?;
        Ok(Spring {
            sheet: SheetProperties { thickness: candidate.thickness, ..self.sheet.clone() },
            arms: candidate.arms,
            slot: limits.slot,
            disc: Disc {
                outer_radius: 0.5 * candidate.outer_diameter,
                bore_radius: candidate.bore_radius,
                slot_outer_radius: outer,
                slot_inner_radius: inner,
                rim_clamp_radius: None,
                hub_clamp_radius: None,
            },
            shape: ArmShape::Slots(line),
            roots: Roots::Disc,
            former: FormerProfile::cone(candidate.free_height, self.brief.former.ease.unwrap_or(FIRST_EASE)),
            seat: self.brief.seat,
        })
    }
}

/// Share of a normal distribution within so many standard deviations of its mean.
fn within_normal(deviations: f64) -> f64 {
    libm::erf(deviations / SQRT_2)
}

/// Widths at radii from slot end to slot end, the closed form's continued evenly to both ends.
fn spread_over_slots(radius: &[f64], width: &[f64], (inner, outer): (f64, f64)) -> (Vec<f64>, Vec<f64>) {
    const CONTROLS: usize = 9;
    let controls: Vec<f64> =
        (0..CONTROLS).map(|k| inner + (outer - inner) * k as f64 / (CONTROLS - 1) as f64).collect();
    let last = radius.len() - 1;
    let widths = controls
        .iter()
        .map(|r| {
            let after = radius.partition_point(|knot| knot < r).clamp(1, last);
            let share = ((r - radius[after - 1]) / (radius[after] - radius[after - 1])).clamp(0.0, 1.0);
            width[after - 1] + share * (width[after] - width[after - 1])
        })
        .collect();
    (controls, widths)
}
