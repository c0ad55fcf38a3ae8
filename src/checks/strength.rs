//! Strength: the largest stress at every station over the whole travel, against the allowable.

use serde::Serialize;

use super::closing::{Closing, Place};
use super::finding::{Finding, Severity, short};
use super::notch::HoleFactors;
use crate::layout::Spring;
use crate::material::{Allowable, strongest_allowable};
use crate::model::ArmState;
use crate::model::stress::SurfaceStress;
use crate::spec::Roots;

/// The largest stress at one station, wherever on the travel it comes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StationStress {
    /// arc length from the outer root over arm length
    pub arc_share: f64,
    /// radius of the arm centre (mm)
    pub radius_mm: f64,
    /// von Mises stress at the surface, inner edge included (MPa)
    pub von_mises_mpa: f64,
    /// deflection at which it is largest (mm)
    pub von_mises_at_mm: f64,
    /// shear at the surface, inner edge included (MPa)
    pub shear_mpa: f64,
    /// deflection at which it is largest (mm)
    pub shear_at_mm: f64,
}

/// The stress at the round of one slot end: an estimate, not part of the verdict.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SlotEndStress {
    /// `rim` or `hub`
    pub root: &'static str,
    /// factor on the shear of twisting
    pub twist_factor: f64,
    /// factor on the bending stress
    pub bending_factor: f64,
    /// largest stress over the travel (MPa); one-directional, so that it is its own von Mises stress
    pub stress_mpa: f64,
    /// deflection at which it is largest (mm)
    pub at_mm: f64,
}

/// Stress over the whole travel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthCheck {
    /// largest von Mises stress at the surface (MPa)
    pub peak_mpa: f64,
    /// the allowable (MPa); none where no strength is known
    pub allowable_mpa: Option<f64>,
    /// whether the peak stays within it; none where no strength is known
    pub ok: Option<bool>,
    /// allowable over peak
    pub margin: Option<f64>,
    /// station of the peak: arc length from the outer root over arm length
    pub arc_share: f64,
    /// radius of the arm centre there (mm)
    pub radius_mm: f64,
    /// deflection of the peak (mm)
    pub at_mm: f64,
    /// travel that stays within the allowable (mm); none where no strength is known
    pub travel_within_mm: Option<f64>,
    /// what the allowable rests on
    pub allowable: Option<Allowable>,
    /// envelope over the stations, outer root to inner root
    pub stations: Vec<StationStress>,
    /// slot ends at rim and hub; none where the arms end in ideal clamps
    pub slot_ends: Vec<SlotEndStress>,
}

impl StrengthCheck {
    /// Looks through the states of a spring.
    pub fn of(spring: &Spring, closing: &Closing) -> Self {
        let allowable = spring.sheet.allowable();
        let stations: Vec<StationStress> =
            closing.places.iter().enumerate().map(|(i, place)| envelope(closing, i, *place)).collect();
        let worst = stations.iter().enumerate().fold((0, (0.0, 0.0)), |worst, (i, station)| {
            let found = (station.von_mises_mpa, station.von_mises_at_mm);
            if found.0 > worst.1.0 { (i, found) } else { worst }
        });
        let (place, (peak_mpa, at_mm)) = (closing.places[worst.0], worst.1);
        let limit = allowable.as_ref().map(|allowable| allowable.limit);
        Self {
            peak_mpa,
            allowable_mpa: limit,
            ok: limit.map(|limit| peak_mpa <= limit),
            margin: limit.map(|limit| limit / peak_mpa),
            arc_share: place.arc_share,
            radius_mm: place.radius,
            at_mm,
            travel_within_mm: limit.map(|limit| travel_within(closing, limit)),
            allowable,
            stations,
            slot_ends: slot_ends(spring, closing),
        }
    }

    /// Whether the surface of the arms stays within the allowable, slot ends apart; none where no strength is known.
    pub fn arms_ok(&self) -> Option<bool> {
        self.allowable_mpa.map(|limit| self.peak_mpa <= limit)
    }

    /// What is to be said.
    pub fn findings(&self, closing: &Closing) -> Vec<Finding> {
        let mut findings = Vec::new();
        let place = Place { arc_share: self.arc_share, radius: self.radius_mm };
        let Some(allowable) = &self.allowable else {
            findings.push(Finding::new(
                "strength",
                Severity::Warning,
                place.words(),
                [self.peak_mpa, f64::NAN],
                "MPa",
                "no strength of the sheet is known, so no verdict",
                "name a sheet from the stock or give sheet.tensile_strength",
            ));
            return findings;
        };
        let rule = format!("{}; {}", allowable.rule, allowable.source);
        if self.ok == Some(false) {
            let height = closing.arm.free_height() * allowable.limit / self.peak_mpa;
            // a sheet that nobody makes is no advice
            let most = strongest_allowable();
            let stronger = if most >= self.peak_mpa {
                format!(", or a sheet of at least {} MPa", short(self.peak_mpa))
            } else {
                format!(", no sheet known allows more than {} MPa", short(most))
            };
            findings.push(Finding::new(
                "strength",
                Severity::Failed,
                format!("{}, at {} mm of travel", place.words(), short(self.at_mm)),
                [self.peak_mpa, allowable.limit],
                "MPa",
                rule,
                format!(
                    "it would yield: lower former.free_height to about {} mm, wind longer arms, take thinner \
                     sheet{stronger}; up to {} mm of travel it holds",
                    short(height),
                    short(self.travel_within_mm.unwrap_or(0.0))
                ),
            ));
        }
        for end in &self.slot_ends {
            if end.stress_mpa > allowable.limit {
                findings.push(Finding::new(
                    "slot end",
                    Severity::Warning,
                    format!("slot ends at the {}, at {} mm of travel", end.root, short(end.at_mm)),
                    [end.stress_mpa, allowable.limit],
                    "MPa",
                    "estimate: round of the slot as a hole in a plate under twist and bending (Reissner 1945); yields in a \
                     spot first, which static use bears and cyclic use does not",
                    "ease the former more at the roots (former.ease), make the slot ends rounder, or lower the free height",
                ));
            }
        }
        findings
    }
}

fn envelope(closing: &Closing, i: usize, place: Place) -> StationStress {
    let largest = |pick: fn(&SurfaceStress) -> f64| {
        closing.states.iter().fold((0.0, 0.0), |worst: (f64, f64), state| {
            let stress = pick(&state.stress[i]);
            if stress > worst.0 { (stress, state.deflection) } else { worst }
        })
    };
    let (von_mises_mpa, von_mises_at_mm) = largest(|stress| stress.edge);
    let (shear_mpa, shear_at_mm) = largest(|stress| stress.edge_shear);
    StationStress {
        arc_share: place.arc_share,
        radius_mm: place.radius,
        von_mises_mpa,
        von_mises_at_mm,
        shear_mpa,
        shear_at_mm,
    }
}

/// Deflection up to which the peak stays within `limit` (MPa), linear between the states (mm).
fn travel_within(closing: &Closing, limit: f64) -> f64 {
    let mut before = (0.0, 0.0);
    for state in &closing.states {
        let peak = state.stress.iter().map(|stress| stress.edge).fold(0.0, f64::max);
        if peak > limit {
            return before.0 + (state.deflection - before.0) * (limit - before.1) / (peak - before.1);
        }
        before = (state.deflection, peak);
    }
    closing.closed().deflection
}

/// Stress at the rounds of the slot ends at rim and hub in a state (MPa), an estimate from the arm's stress at its
/// roots: twist and bending with the factors of a hole of the slot's width; what acts in the plane with the factor 3
/// of a hole in tension (Kirsch).
///
/// Against the slot ends of a disc of 3-D finite elements (three arms, 1.5 mm sheet) it came out 5 to 50 % too high.
pub fn slot_end_stress(spring: &Spring, state: &ArmState) -> [f64; 2] {
    let factors = slot_end_factors(spring);
    let at = |segment: usize| {
        state.stress.get(segment).map_or(0.0, |stress| {
            factors.largest_stress(stress.bending, stress.shear)
                + 3.0 * (stress.axial + stress.in_plane_bending)
        })
    };
    [at(0), at(state.stress.len().saturating_sub(1))]
}

fn slot_end_factors(spring: &Spring) -> HoleFactors {
    HoleFactors::of(0.5 * spring.slot, spring.sheet.thickness, spring.sheet.poisson())
}

fn slot_ends(spring: &Spring, closing: &Closing) -> Vec<SlotEndStress> {
    if spring.roots == Roots::Rigid {
        return Vec::new();
    }
    let factors = slot_end_factors(spring);
    ["rim", "hub"]
        .into_iter()
        .enumerate()
        .map(|(end, root)| {
            let (stress_mpa, at_mm) = closing.states.iter().fold((0.0, 0.0), |worst, state| {
                let stress = slot_end_stress(spring, state)[end];
                if stress > worst.0 { (stress, state.deflection) } else { worst }
            });
            SlotEndStress {
                root,
                twist_factor: factors.twist,
                bending_factor: factors.bending,
                stress_mpa,
                at_mm,
            }
        })
        .collect()
}
