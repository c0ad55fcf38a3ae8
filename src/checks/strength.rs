//! Strength: the largest stress of arms, slot ends and rings over the whole travel, each against its allowable.

use serde::Serialize;

use super::CheckOptions;
use super::closing::{ArmPlace, Closing};
use super::finding::{Finding, Severity};
use super::ring::{Ring, ring_stress};
use super::slot_end::{Root, SlotEnd, root_stress};
use crate::layout::Spring;
use crate::material::{self, Allowable, Family, strongest_allowable};
use crate::model::stress::SurfaceStress;
use crate::numeric::short;

/// Elastic peak over the allowable up to which a slot end may yield locally. Half of the way to twice the proof
/// strength, at which yielding would not stop after the first closing (shakedown: local plus primary stress range within
/// 2 Rp0.2, as in pressure-vessel codes); from memory.
pub const LOCAL_YIELDING_SHARE: f64 = 1.5;

/// Largest tensile strength (MPa) of a steel sheet whose slot ends may yield locally: harder strip has little elongation
/// left. Judgement, no source.
pub const LOCAL_YIELDING_TENSILE_MAX: f64 = 1500.0;

/// The largest stress at one station over the travel.
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

/// The largest stress at a slot end or in a ring over the travel, against its allowable.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RootStress {
    /// `rim` or `hub`
    pub root: &'static str,
    /// largest stress over the travel, elastic (MPa)
    pub stress_mpa: f64,
    /// the allowable (MPa); none where no strength is known
    pub allowable_mpa: Option<f64>,
    /// whether the stress stays within it; none where no strength is known
    pub ok: Option<bool>,
    /// deflection at which it is largest (mm)
    pub at_mm: f64,
    /// whether it yields locally at the first closings, within the limit of `duty.local_yielding`
    pub yields_locally: bool,
}

/// Stress over the whole travel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthCheck {
    /// largest von Mises stress at the surface of the arms (MPa)
    pub peak_mpa: f64,
    /// the allowable (MPa); none where no strength is known
    pub allowable_mpa: Option<f64>,
    /// whether arms, slot ends and rings stay within their allowables; none where no strength is known
    pub ok: Option<bool>,
    /// allowable over the peak of the arms
    pub margin: Option<f64>,
    /// station of the peak: arc length from the outer root over arm length
    pub arc_share: f64,
    /// radius of the arm centre there (mm)
    pub radius_mm: f64,
    /// deflection of the peak (mm)
    pub at_mm: f64,
    /// travel over which the arms stay within the allowable (mm); none where no strength is known
    pub travel_within_mm: Option<f64>,
    /// basis of the allowable
    pub allowable: Option<Allowable>,
    /// envelope over the stations, outer root to inner root
    pub stations: Vec<StationStress>,
    /// slot ends at rim and hub; none where the arms end in ideal clamps
    pub slot_ends: Vec<RootStress>,
    /// rings of rim and hub; none where the arms end in ideal clamps
    pub rings: Vec<RootStress>,
}

impl StrengthCheck {
    /// Of a pressed spring.
    pub fn of(spring: &Spring, closing: &Closing, options: &CheckOptions) -> Self {
        let allowable = spring.sheet.allowable();
        let stations: Vec<StationStress> =
            closing.places.iter().enumerate().map(|(i, place)| envelope(closing, i, *place)).collect();
        let worst = stations.iter().enumerate().fold((0, (0.0, 0.0)), |worst, (i, station)| {
            let found = (station.von_mises_mpa, station.von_mises_at_mm);
            if found.0 > worst.1.0 { (i, found) } else { worst }
        });
        let (place, (peak_mpa, at_mm)) = (closing.places[worst.0], worst.1);
        let limit = allowable.as_ref().map(|allowable| allowable.limit);
        let yielding = if may_yield_locally(spring, options) { LOCAL_YIELDING_SHARE } else { 1.0 };
        let model = &closing.model;
        let slot_ends = SlotEnd::of(spring, &options.process, model).map_or_else(Vec::new, |ends| {
            let over_travel = largest(closing, |state| root_stress(&ends, model, state));
            Root::BOTH
                .iter()
                .zip(over_travel)
                .map(|(root, found)| judged(*root, found, limit, yielding))
                .collect()
        });
        let rings = Ring::of(spring, model).map_or_else(Vec::new, |rings| {
            let over_travel = largest(closing, |state| ring_stress(&rings, model, state));
            Root::BOTH.iter().zip(over_travel).map(|(root, found)| judged(*root, found, limit, 1.0)).collect()
        });
        let roots_ok = slot_ends.iter().chain(&rings).all(|part: &RootStress| part.ok != Some(false));
        Self {
            peak_mpa,
            allowable_mpa: limit,
            ok: limit.map(|limit| peak_mpa <= limit && roots_ok),
            margin: limit.map(|limit| limit / peak_mpa),
            arc_share: place.arc_share,
            radius_mm: place.radius,
            at_mm,
            travel_within_mm: limit.map(|limit| travel_within(closing, limit)),
            allowable,
            stations,
            slot_ends,
            rings,
        }
    }

    /// Whether the surface of the arms stays within the allowable, slot ends and rings apart; none where no strength is
    /// known.
    pub fn arms_ok(&self) -> Option<bool> {
        self.allowable_mpa.map(|limit| self.peak_mpa <= limit)
    }

    /// Largest stress over allowable of arms, slot ends and rings, with its place in words; none where no strength is known.
    pub fn worst_use(&self) -> Option<(f64, String)> {
        let limit = self.allowable_mpa?;
        let place = ArmPlace { arc_share: self.arc_share, radius: self.radius_mm };
        let parts = [("slot end", &self.slot_ends), ("ring", &self.rings)];
        let parts = parts.into_iter().flat_map(|(part, list)| {
            list.iter().filter_map(move |found| {
                Some((found.stress_mpa / found.allowable_mpa?, format!("{part} at the {}", found.root)))
            })
        });
        let arms = (self.peak_mpa / limit, place.words());
        Some(parts.fold(arms, |worst, part| if part.0 > worst.0 { part } else { worst }))
    }

    /// Findings for the reader.
    pub fn findings(&self, closing: &Closing) -> Vec<Finding> {
        let mut findings = Vec::new();
        let place = ArmPlace { arc_share: self.arc_share, radius: self.radius_mm };
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
        if self.arms_ok() == Some(false) {
            let height = closing.arm.free_height() * allowable.limit / self.peak_mpa;
            // a strength above that of every known sheet is not suggested
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
                    "it would yield: lower former.free_height to about {} mm, make the arms longer (more turns), take \
                     thinner sheet{stronger}; up to {} mm of travel it stays elastic",
                    short(height),
                    short(self.travel_within_mm.unwrap_or(0.0))
                ),
            ));
        }
        findings.extend(self.slot_ends.iter().filter_map(|end| slot_end_finding(end, allowable)));
        findings.extend(self.rings.iter().filter(|ring| ring.ok == Some(false)).map(|ring| {
            let (edge, remedy) = match ring.root {
                "rim" => (
                    "inner edge",
                    "make the rim wider (disc.outer_diameter) or hold it (seat.rim = \"held\")",
                ),
                _ => ("bore", "make the hub wider (a smaller disc.bore_diameter) or clamp it further out"),
            };
            Finding::new(
                "ring",
                Severity::Failed,
                format!("{} of the {} ring, at {} mm of travel", edge, ring.root, short(ring.at_mm)),
                [ring.stress_mpa, allowable.limit],
                "MPa",
                "bending and twist by the arm roots: circular ring or annular plate (Timoshenko; Roark)",
                format!("{remedy}, or lower the free height"),
            )
        }));
        findings
    }
}

fn slot_end_finding(end: &RootStress, allowable: &Allowable) -> Option<Finding> {
    let place = format!("slot end at the {}, at {} mm of travel", end.root, short(end.at_mm));
    let basis =
        "stress at the round of the slot from the signed forces at the root, fitted to 3-D finite elements";
    if end.ok == Some(false) {
        let limit = end.allowable_mpa.unwrap_or(allowable.limit);
        return Some(Finding::new(
            "slot end",
            Severity::Failed,
            place,
            [end.stress_mpa, limit],
            "MPa",
            format!("{basis}; {}", allowable.rule),
            "ease the former more at the roots (former.ease), end the slots in larger rounds (process.ends = \"keyhole\"), or \
             lower the free height",
        ));
    }
    end.yields_locally.then(|| {
        Finding::new(
            "slot end",
            Severity::Remark,
            place,
            [end.stress_mpa, allowable.limit * LOCAL_YIELDING_SHARE],
            "MPa",
            format!(
                "local yielding expected at the first closings, elastic peak up to {LOCAL_YIELDING_SHARE} of the proof \
                 strength allowed by duty.local_yielding without cycles; from memory"
            ),
            "press it flat three times before use; no cycles",
        )
    })
}

/// Whether slot ends may yield locally: asked for, no cycles, and a steel that is not too hard.
fn may_yield_locally(spring: &Spring, options: &CheckOptions) -> bool {
    let ductile = match spring.sheet.material.as_deref().map(material::find) {
        Some(Ok(sheet)) => matches!(sheet.family, Family::CarbonSteel | Family::StainlessSteel),
        _ => false,
    };
    let soft = spring.sheet.tensile_strength.is_some_and(|tensile| tensile <= LOCAL_YIELDING_TENSILE_MAX);
    options.duty.local_yielding && options.duty.cycles <= 0.0 && ductile && soft
}

fn judged(root: Root, (stress_mpa, at_mm): (f64, f64), limit: Option<f64>, yielding: f64) -> RootStress {
    RootStress {
        root: root.name(),
        stress_mpa,
        allowable_mpa: limit.map(|limit| yielding * limit),
        ok: limit.map(|limit| stress_mpa <= yielding * limit),
        at_mm,
        yields_locally: limit.is_some_and(|limit| stress_mpa > limit && stress_mpa <= yielding * limit),
    }
}

/// Largest stress at rim and hub over the states, with its deflection.
fn largest(closing: &Closing, stress: impl Fn(&crate::model::ArmState) -> [f64; 2]) -> [(f64, f64); 2] {
    closing.states.iter().fold([(0.0, 0.0); 2], |mut worst, state| {
        for (worst, found) in worst.iter_mut().zip(stress(state)) {
            if found > worst.0 {
                *worst = (found, state.deflection);
            }
        }
        worst
    })
}

fn envelope(closing: &Closing, i: usize, place: ArmPlace) -> StationStress {
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

/// Deflection up to which the peak of the arms stays within `limit` (MPa), linear between the states (mm).
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
