//! Fatigue: a stroke between two deflections, by Goodman in shear on Zimmerli's data.
//!
//! Zimmerli's torsion tests of steel springs, unpeened, infinite life: amplitude 241 MPa with mean 379 MPa, whatever
//! the strength; torsional modulus of rupture 0.67 Rm (both as given in Shigley's Mechanical Engineering Design,
//! fatigue loading of helical compression springs). Goodman: `S_se = S_sa/(1 − S_sm/S_su)`. The surface factor of the
//! cut edge multiplies S_se. Below some Rm = 1400 MPa that line would make softer steels the better ones: there the
//! endurance limit of steels, half of Rm (Shigley, on Mischke's collection), by distortion energy 0.577 of it in shear,
//! is less and counts. Bending counts with the shear by distortion energy: equivalent shear σ_vM/√3.
//! Residual stress of presetting is left out: closing flat leaves a favourable one.

use serde::Serialize;

use super::closing::{Closing, Place};
use super::finding::{Finding, Severity, short};
use super::strength::slot_end_stress;
use crate::layout::Spring;
use crate::material::{self, EdgeFinish, Family, edge_factor, edge_factors};
use crate::spec::{ProcessKind, Roots};

/// Amplitude that unpeened steel springs bear for ever (MPa). Zimmerli.
const ZIMMERLI_AMPLITUDE: f64 = 241.0;

/// Mean stress of those tests (MPa). Zimmerli.
const ZIMMERLI_MEAN: f64 = 379.0;

/// Torsional modulus of rupture over Rm. Shigley.
const RUPTURE_SHARE: f64 = 0.67;

/// Endurance limit of steels in bending over Rm. Shigley.
const ENDURANCE_SHARE: f64 = 0.5;

/// Shear over normal stress of equal distortion energy.
const DISTORTION_ENERGY: f64 = 0.577;

/// Fully reversed strength at a thousand cycles over the modulus of rupture. Shigley gives 0.77 to 0.9 for the share
/// f over this range of strength; the lower part is taken. From memory.
const SHARE_AT_THOUSAND: f64 = 0.8;

/// Uncertainty of a finite life, times and divided by. Judgement from the scatter of spring lives, no source.
pub const LIFE_UNCERTAINTY: f64 = 10.0;

/// Endurance factor below which it is worth a warning. Judgement, no source.
const COMFORTABLE: f64 = 1.2;

/// The stroke and the edge that fatigue is judged for.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Stroke {
    /// cycles wanted; 0 is static
    pub cycles: f64,
    /// lower end of the stroke (mm); the upper end is the closed spring
    pub start: f64,
    /// how the edges were cut
    pub process: ProcessKind,
    /// what was done to them
    pub finish: EdgeFinish,
}

/// Fatigue strength of the sheet's cut edge in shear (MPa).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EnduranceLimit {
    /// modulus of rupture S_su
    pub rupture_mpa: f64,
    /// fully reversed endurance S_se of a good surface
    pub reversed_mpa: f64,
    /// factor of the cut edge
    pub edge_factor: f64,
}

impl EnduranceLimit {
    /// For a steel of tensile strength `tensile` (MPa) with an edge factor; none where the mean stress of the tests
    /// already exceeds the modulus of rupture.
    pub fn of(tensile: f64, edge_factor: f64) -> Option<Self> {
        let rupture = RUPTURE_SHARE * tensile;
        let reversed = ZIMMERLI_AMPLITUDE / (1.0 - ZIMMERLI_MEAN / rupture);
        let reversed = reversed.min(DISTORTION_ENERGY * ENDURANCE_SHARE * tensile);
        (rupture > ZIMMERLI_MEAN && reversed.is_finite()).then_some(Self {
            rupture_mpa: rupture,
            reversed_mpa: reversed,
            edge_factor,
        })
    }

    /// Endurance of the cut edge (MPa).
    fn edge(&self) -> f64 {
        self.reversed_mpa * self.edge_factor
    }

    /// Factor by which amplitude and mean can rise together before the Goodman line.
    pub fn factor(&self, amplitude: f64, mean: f64) -> f64 {
        1.0 / (amplitude / self.edge() + mean / self.rupture_mpa)
    }

    /// Cycles to failure by a straight line in logarithms from `0.8 S_su` at 10³ to S_se at 10⁶ for the fully reversed
    /// stress that Goodman's line makes of amplitude and mean; none for an infinite life (Basquin; Shigley).
    pub fn life(&self, amplitude: f64, mean: f64) -> Option<f64> {
        if self.factor(amplitude, mean) >= 1.0 {
            return None;
        }
        let room = 1.0 - mean / self.rupture_mpa;
        if room <= 0.0 {
            return Some(1.0);
        }
        let reversed = amplitude / room;
        let (low, high) = (SHARE_AT_THOUSAND * self.rupture_mpa, self.edge());
        let exponent = -(low / high).log10() / 3.0;
        Some((1e3 * (reversed / low).powf(1.0 / exponent)).max(1.0))
    }
}

/// What the stroke asks of the arm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FatigueCheck {
    /// cycles wanted
    pub cycles: f64,
    /// lower end of the stroke (mm)
    pub stroke_start_mm: f64,
    /// upper end of the stroke (mm)
    pub stroke_end_mm: f64,
    /// shear amplitude at the worst station (MPa)
    pub amplitude_mpa: f64,
    /// mean shear there (MPa)
    pub mean_mpa: f64,
    /// where: arc length from the outer root over arm length
    pub arc_share: f64,
    /// where: radius of the arm centre (mm)
    pub radius_mm: f64,
    /// strength of the edge
    pub endurance: EnduranceLimit,
    /// what was done to the edge
    pub finish: EdgeFinish,
    /// whether the edge factor stands in the table for this process and finish
    pub edge_known: bool,
    /// factor against infinite life
    pub factor: f64,
    /// estimated cycles to failure; none for an infinite life
    pub life_cycles: Option<f64>,
    /// the life may be this many times shorter or longer
    pub life_uncertainty: f64,
    /// estimated factor at the slot ends, the smaller of rim and hub; none where the arms end in ideal clamps
    pub slot_end_factor: Option<f64>,
    /// whether the cycles wanted are reached; a finite life counts at its estimate over its uncertainty
    pub ok: bool,
    /// lowest stroke start from which the life would be infinite (mm); none where even a short stroke is too much
    pub stroke_start_needed_mm: Option<f64>,
}

/// A stress that goes back and forth: amplitude and mean (MPa).
fn swing(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values.fold((f64::INFINITY, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
    (0.5 * (high - low), 0.5 * (high + low))
}

impl FatigueCheck {
    /// Judges a stroke; none for static use, where the stroke does not end below closed, or where the data do not hold for
    /// the sheet.
    pub fn of(spring: &Spring, closing: &Closing, stroke: Stroke) -> Option<Self> {
        if stroke.cycles <= 0.0 || !is_steel(spring) || stroke.start >= closing.closed().deflection {
            return None;
        }
        let known = edge_factor(stroke.process.name(), stroke.finish);
        // without a factor for this edge the worst one of the table
        let edge = known.map_or_else(
            || edge_factors().iter().map(|factor| factor.low).fold(1.0, f64::min),
            |factor| factor.low,
        );
        let endurance = EnduranceLimit::of(spring.sheet.tensile_strength?, edge)?;
        let start = stroke.start.max(0.0);
        let (factor, segment, (amplitude, mean)) = Self::worst(closing, &endurance, start);
        let life_cycles = endurance.life(amplitude, mean);
        let place = closing.places[segment];
        Some(Self {
            cycles: stroke.cycles,
            stroke_start_mm: start,
            stroke_end_mm: closing.closed().deflection,
            amplitude_mpa: amplitude,
            mean_mpa: mean,
            arc_share: place.arc_share,
            radius_mm: place.radius,
            endurance,
            finish: stroke.finish,
            edge_known: known.is_some(),
            factor,
            life_cycles,
            life_uncertainty: LIFE_UNCERTAINTY,
            slot_end_factor: slot_end_factor(spring, closing, &endurance, start),
            ok: life_cycles.is_none_or(|life| life >= LIFE_UNCERTAINTY * stroke.cycles),
            stroke_start_needed_mm: closing
                .states
                .iter()
                .map(|state| state.deflection)
                .filter(|deflection| *deflection >= start)
                .find(|deflection| Self::worst(closing, &endurance, *deflection).0 >= 1.0),
        })
    }

    /// Smallest factor over the stations for a stroke from `start`, with its segment, amplitude and mean.
    fn worst(closing: &Closing, endurance: &EnduranceLimit, start: f64) -> (f64, usize, (f64, f64)) {
        let states = || closing.states.iter().filter(|state| state.deflection >= start - 1e-9);
        (0..closing.places.len()).fold((f64::INFINITY, 0, (0.0, 0.0)), |worst, i| {
            let shear = states().map(|state| state.stress[i].edge / 3f64.sqrt());
            let (amplitude, mean) = swing(shear);
            let factor = endurance.factor(amplitude, mean);
            if factor < worst.0 { (factor, i, (amplitude, mean)) } else { worst }
        })
    }

    /// What is to be said.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        let place = format!(
            "{}, stroke {} to {} mm",
            Place { arc_share: self.arc_share, radius: self.radius_mm }.words(),
            short(self.stroke_start_mm),
            short(self.stroke_end_mm)
        );
        let rule = format!(
            "Goodman in shear on Zimmerli's data, edge factor {}{}: amplitude {} and mean {} MPa",
            self.endurance.edge_factor,
            if self.edge_known { "" } else { " (none known for this edge, worst of the table)" },
            short(self.amplitude_mpa),
            short(self.mean_mpa)
        );
        let edges = if self.finish == EdgeFinish::AsCut { ", tumble the edges" } else { "" };
        let remedy = self.stroke_start_needed_mm.map_or_else(
            || format!("lower former.free_height, wind longer arms{edges}, or take thinner sheet"),
            |start| {
                format!(
                    "start the stroke at {} mm or later{edges}, lower former.free_height, or wind longer arms",
                    short(start)
                )
            },
        );
        if let Some(life) = self.life_cycles {
            let severity = if self.ok {
                Severity::Remark
            } else if life >= self.cycles {
                Severity::Warning
            } else {
                Severity::Failed
            };
            findings.push(Finding::new(
                "fatigue",
                severity,
                place,
                [life, self.cycles],
                "cycles",
                format!("{rule}; the life is an estimate, 10 times less or more is usual"),
                remedy,
            ));
        } else if self.factor < COMFORTABLE {
            findings.push(Finding::new(
                "fatigue",
                Severity::Warning,
                place,
                [self.factor, COMFORTABLE],
                "",
                format!("{rule}; factor against infinite life"),
                remedy,
            ));
        }
        if let Some(factor) = self.slot_end_factor
            && factor < 1.0
        {
            findings.push(Finding::new(
                "fatigue at slot ends",
                Severity::Warning,
                "slot ends at rim and hub",
                [factor, 1.0],
                "",
                "estimate: the same Goodman line with the stress at the round of the slot (Reissner 1945)",
                "ease the former more at the roots (former.ease), polish the slot ends, or start the stroke later",
            ));
        }
        findings
    }

    /// What is to be said where a stroke was asked for and could not be judged.
    pub fn not_judged(spring: &Spring, closing: &Closing, stroke: Stroke) -> Option<Finding> {
        let closed = closing.closed().deflection;
        if stroke.cycles > 0.0 && stroke.start >= closed {
            return Some(Finding::new(
                "fatigue",
                Severity::Failed,
                "stroke",
                [stroke.start, closed],
                "mm",
                "the stroke begins where the spring is closed already",
                "lower duty.stroke_start (or duty.installed)",
            ));
        }
        (stroke.cycles > 0.0).then(|| {
            let (why, remedy) = if !is_steel(spring) {
                ("the fatigue data are for steel springs", "test the spring to the cycles wanted")
            } else if spring.sheet.tensile_strength.is_none() {
                ("the tensile strength is not known", "give sheet.tensile_strength")
            } else {
                ("the tensile strength is too low for the fatigue data", "take spring sheet")
            };
            Finding::new(
                "fatigue",
                Severity::Warning,
                "whole arm",
                [f64::NAN, stroke.cycles],
                "cycles",
                why,
                remedy,
            )
        })
    }
}

/// Whether the sheet is a steel: by its family, or by its modulus where it is not named.
fn is_steel(spring: &Spring) -> bool {
    match spring.sheet.material.as_deref().map(material::find) {
        Some(Ok(sheet)) => matches!(sheet.family, Family::CarbonSteel | Family::StainlessSteel),
        _ => (170_000.0..=220_000.0).contains(&spring.sheet.youngs_modulus),
    }
}

fn slot_end_factor(
    spring: &Spring,
    closing: &Closing,
    endurance: &EnduranceLimit,
    start: f64,
) -> Option<f64> {
    if spring.roots == Roots::Rigid {
        return None;
    }
    let ends = [0, 1].map(|end| {
        let states = closing.states.iter().filter(|state| state.deflection >= start - 1e-9);
        let (amplitude, mean) = swing(states.map(|state| slot_end_stress(spring, state)[end] / 3f64.sqrt()));
        endurance.factor(amplitude, mean)
    });
    Some(ends[0].min(ends[1]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_stress_that_was_tested_lies_on_the_line() {
        let limit = EnduranceLimit::of(1500.0, 1.0).unwrap();
        assert_relative_eq!(limit.factor(241.0, 379.0), 1.0, max_relative = 1e-12);
    }

    #[test]
    fn the_life_line_runs_through_both_its_ends() {
        let limit = EnduranceLimit::of(1500.0, 0.8).unwrap();
        let endurance = 0.8 * limit.reversed_mpa;
        assert_eq!(limit.life(0.999 * endurance, 0.0), None);
        assert_relative_eq!(limit.life(1.000_001 * endurance, 0.0).unwrap(), 1e6, max_relative = 1e-3);
        assert_relative_eq!(limit.life(0.8 * limit.rupture_mpa, 0.0).unwrap(), 1e3, max_relative = 1e-9);
        assert!(limit.life(300.0, 700.0).unwrap() < limit.life(300.0, 500.0).unwrap());
    }

    #[test]
    fn a_softer_sheet_is_never_the_better_one() {
        let limits: Vec<EnduranceLimit> =
            (0..=14).filter_map(|k| EnduranceLimit::of(600.0 + 100.0 * f64::from(k), 1.0)).collect();
        assert_eq!(limits.len(), 15);
        for pair in limits.windows(2) {
            assert!(pair[1].factor(100.0, 200.0) > 0.98 * pair[0].factor(100.0, 200.0));
            assert!(pair[0].edge() < SHARE_AT_THOUSAND * pair[0].rupture_mpa);
        }
    }

    #[test]
    fn a_worse_edge_lowers_the_factor() {
        let good = EnduranceLimit::of(1300.0, 0.9).unwrap();
        let laser = EnduranceLimit::of(1300.0, 0.6).unwrap();
        assert!(laser.factor(200.0, 300.0) < good.factor(200.0, 300.0));
        assert_eq!(EnduranceLimit::of(500.0, 1.0), None);
    }
}
