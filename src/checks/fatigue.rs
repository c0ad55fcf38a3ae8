//! Life over the stroke asked for: the weakest point of arms, slot ends and rings, by Goodman in shear.
//!
//! Endurance and life are those of [`EnduranceLimit`]; the points, their amplitudes and means are those of
//! `stress_points`. Bending counts with shear by distortion energy: equivalent shear σ/√3. Residual stress of
//! presetting is left out: closing flat leaves a favourable one.

use serde::Serialize;

use super::CheckOptions;
use super::closing::{ArmPlace, Closing};
use super::endurance::{ENDURANCE_CYCLES, EnduranceLimit, LIFE_SAFETY, cycles_in_words};
use super::finding::{Finding, Severity};
use super::ring::Ring;
use super::slot_end::SlotEnd;
use super::stress_points::{Swing, Weak, swings};
use crate::layout::Spring;
use crate::material::{self, EdgeFinish, Family, edge_range, edge_ranges};
use crate::model::{ArmState, Model};
use crate::numeric::short;
use crate::spec::ProcessKind;

/// The stroke and the cut edge for which life is computed.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Stroke {
    /// cycles wanted; 0 is static
    pub cycles: f64,
    /// lower end of the stroke from the free height (mm)
    pub start: f64,
    /// upper end of the stroke from the free height (mm)
    pub end: f64,
    /// how the edges are cut
    pub process: ProcessKind,
    /// finish of the edges
    pub finish: EdgeFinish,
}

/// Life of the weakest point over the stroke.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FatigueCheck {
    /// cycles wanted
    pub cycles: f64,
    /// lower end of the stroke (mm)
    pub stroke_start_mm: f64,
    /// upper end of the stroke (mm)
    pub stroke_end_mm: f64,
    /// amplitude at the weakest point, as shear of equal distortion energy (MPa)
    pub amplitude_mpa: f64,
    /// mean there (MPa)
    pub mean_mpa: f64,
    /// weakest place in words
    pub place: String,
    /// strength of the edge
    pub endurance: EnduranceLimit,
    /// finish of the edge
    pub finish: EdgeFinish,
    /// whether the table has an edge factor for this process and finish
    pub edge_known: bool,
    /// safety factor against infinite life at the weakest point
    pub factor: f64,
    /// safety factor of the arms alone
    pub arm_factor: f64,
    /// safety factor of the slot ends; none where the arms end in ideal clamps
    pub slot_end_factor: Option<f64>,
    /// safety factor of the rings; none where the arms end in ideal clamps
    pub ring_factor: Option<f64>,
    /// estimated cycles to failure; none for an infinite life
    pub life_cycles: Option<f64>,
    /// the range of that estimate: a safety factor of 1.2 on the stress either way; none for an infinite life
    pub life_range: [Option<f64>; 2],
    /// whether the cycles wanted are reached with the safety factor
    pub ok: bool,
}

impl FatigueCheck {
    /// Judges a stroke; none for static use, where the stroke begins beyond its end, or where the data do not hold for
    /// the sheet.
    pub fn of(spring: &Spring, closing: &Closing, stroke: Stroke, options: &CheckOptions) -> Option<Self> {
        if stroke.cycles <= 0.0 || !is_steel(spring) || stroke.start >= stroke.end {
            return None;
        }
        let (endurance, edge_known) = endurance_of(spring, &stroke)?;
        let within =
            |state: &&ArmState| (stroke.start - 1e-9..=stroke.end + 1e-9).contains(&state.deflection);
        let states: Vec<&ArmState> = closing.states.iter().filter(within).collect();
        let ends = SlotEnd::of(spring, &options.process, &closing.model);
        let rings = Ring::of(spring, &closing.model);
        let found = swings(&closing.model, &spring.sheet, &states, ends.as_ref(), rings.as_ref());
        // the weakest point is the one that uses most of its life
        let used = |swing: &Swing| endurance.share_used(stroke.cycles, swing.amplitude, swing.mean);
        let factor = |swing: &Swing| endurance.factor(swing.amplitude, swing.mean);
        let worst = |part: fn(Weak) -> bool| {
            found.iter().filter(|swing| part(swing.weak)).max_by(|a, b| used(a).total_cmp(&used(b)))
        };
        let weakest = worst(|_| true)?;
        let (amplitude, mean) = (weakest.amplitude, weakest.mean);
        let life_range = endurance.life_range(amplitude, mean);
        let part_factor = |part: fn(Weak) -> bool| worst(part).map(factor);
        Some(Self {
            cycles: stroke.cycles,
            stroke_start_mm: stroke.start,
            stroke_end_mm: stroke.end,
            amplitude_mpa: amplitude,
            mean_mpa: mean,
            place: place(closing, weakest.weak),
            endurance,
            finish: stroke.finish,
            edge_known,
            factor: factor(weakest),
            arm_factor: part_factor(|weak| matches!(weak, Weak::Arm(_))).unwrap_or(f64::INFINITY),
            slot_end_factor: part_factor(|weak| matches!(weak, Weak::SlotEnd(_))),
            ring_factor: part_factor(|weak| matches!(weak, Weak::Ring(_))),
            life_cycles: endurance.life(amplitude, mean),
            life_range,
            ok: endurance.share_used(stroke.cycles, amplitude, mean) <= 1.0,
        })
    }

    /// The life in words, with its range.
    pub fn life_in_words(&self) -> String {
        let Some(life) = self.life_cycles else {
            return format!("infinite life predicted, safety factor {}", short(self.factor));
        };
        let low = self.life_range[0].map_or_else(|| "…".to_owned(), cycles_in_words);
        let high = self.life_range[1].map_or_else(|| "unlimited".to_owned(), cycles_in_words);
        format!("about {} cycles ({low} to {high})", cycles_in_words(life))
    }

    /// Findings for the reader.
    pub fn findings(&self) -> Vec<Finding> {
        let place = format!(
            "{}, stroke {} to {} mm",
            self.place,
            short(self.stroke_start_mm),
            short(self.stroke_end_mm)
        );
        let rule = format!(
            "{}; Goodman in shear on Zimmerli's data, edge factor {:.2}{}: amplitude {} and mean {} MPa",
            self.life_in_words(),
            self.endurance.edge_factor,
            if self.edge_known { "" } else { " (none known for this edge, worst of the table)" },
            short(self.amplitude_mpa),
            short(self.mean_mpa)
        );
        if self.ok {
            return Vec::new();
        }
        let edges =
            if self.finish == EdgeFinish::AsCut { ", finish the cut edges (process.finish)" } else { "" };
        let remedy = format!(
            "ease the former more (former.ease), end the slots in larger rounds (process.ends){edges}, lower \
             former.free_height, or make the arms longer"
        );
        let finding = if let Some(low) = self.life_range[0].filter(|_| self.cycles < ENDURANCE_CYCLES) {
            let place = format!("{place}, safety factor {LIFE_SAFETY} on the stress");
            Finding::new("life", Severity::Failed, place, [low, self.cycles], "cycles", rule, remedy)
        } else {
            let limits = [self.factor, LIFE_SAFETY];
            Finding::new("life", Severity::Failed, place, limits, "safety factor", rule, remedy)
        };
        vec![finding]
    }

    /// Finding where a stroke is asked for and cannot be judged.
    pub fn not_judged(spring: &Spring, stroke: Stroke) -> Option<Finding> {
        if stroke.cycles > 0.0 && stroke.start >= stroke.end {
            return Some(Finding::new(
                "life",
                Severity::Failed,
                "stroke",
                [stroke.start, stroke.end],
                "mm",
                "the stroke begins where it ends, or where the spring is closed already",
                "lower duty.stroke_start (or duty.installed), or raise duty.stroke_end",
            ));
        }
        (stroke.cycles > 0.0).then(|| {
            let (why, first) = if !is_steel(spring) {
                ("the fatigue data are for steel sheet", "")
            } else if spring.sheet.tensile_strength.is_none() {
                ("the tensile strength is not known", "give sheet.tensile_strength, or ")
            } else {
                ("the tensile strength is too low for the fatigue data", "take spring sheet, or ")
            };
            Finding::new(
                "life",
                Severity::Warning,
                "whole spring",
                [f64::NAN, stroke.cycles],
                "cycles",
                why,
                format!(
                    "{first}cycle 6 springs from two sheets between {} and {} mm to {} cycles (twice those asked for), \
                     look at the slot ends under a glass: no crack may be found",
                    short(stroke.start),
                    short(stroke.end),
                    cycles_in_words(2.0 * stroke.cycles)
                ),
            )
        })
    }
}

/// Share of its fatigue strength that the weakest point of a spring uses up over the stroke asked for, safety factor
/// included: 1 where the cycles are just reached. None for static use or where no fatigue data hold.
///
/// `states` are those of the stroke, at least its two ends.
pub fn life_use(spring: &Spring, model: &Model, states: &[ArmState], options: &CheckOptions) -> Option<f64> {
    let stroke = options.stroke(model.travel());
    if stroke.cycles <= 0.0 || !is_steel(spring) {
        return None;
    }
    let (endurance, _) = endurance_of(spring, &stroke)?;
    let ends = SlotEnd::of(spring, &options.process, model);
    let rings = Ring::of(spring, model);
    let states: Vec<&ArmState> = states.iter().collect();
    swings(model, &spring.sheet, &states, ends.as_ref(), rings.as_ref())
        .iter()
        .map(|swing| endurance.share_used(stroke.cycles, swing.amplitude, swing.mean))
        .max_by(f64::total_cmp)
}

/// Endurance of the cut edge, and whether the table has this edge; without it the worst one of the table counts.
fn endurance_of(spring: &Spring, stroke: &Stroke) -> Option<(EnduranceLimit, bool)> {
    let tensile = spring.sheet.tensile_strength?;
    let known = edge_range(stroke.process.name(), stroke.finish);
    let edge = known.map_or_else(
        || edge_ranges().iter().map(|range| range.at(tensile)[0]).fold(1.0, f64::min),
        |range| range.at(tensile)[0],
    );
    Some((EnduranceLimit::of(tensile, edge)?, known.is_some()))
}

fn place(closing: &Closing, weak: Weak) -> String {
    match weak {
        Weak::Arm(i) => closing.places.get(i).map_or_else(String::new, ArmPlace::words),
        Weak::SlotEnd(root) => format!("slot end at the {}", root.name()),
        Weak::Ring(root) => format!("{} ring", root.name()),
    }
}

/// Whether the sheet is a steel: by its family, or by its modulus where it is not named.
fn is_steel(spring: &Spring) -> bool {
    match spring.sheet.material.as_deref().map(material::find) {
        Some(Ok(sheet)) => matches!(sheet.family, Family::CarbonSteel | Family::StainlessSteel),
        _ => (170_000.0..=220_000.0).contains(&spring.sheet.youngs_modulus),
    }
}
