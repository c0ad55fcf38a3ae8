//! The closed spring: solid height over everything, arms that stand proud, closing and flattening force, clearances.

use serde::Serialize;

use super::CheckOptions;
use super::closing::Closing;
use super::finding::{Finding, Severity};
use super::strength::StrengthCheck;
use super::turns::{Gap, least_gap_flat, least_gap_on_the_way, lengthening};
use crate::layout::Spring;
use crate::model::{Model, ModelError};
use crate::numeric::short;
use crate::response::CLOSED_SHARE;
use crate::spec::{Pressing, Process, ProcessKind, Seat};

/// Burr that deburring leaves, both faces together (mm), where `process.burr` does not say. Common practice, no source.
pub const BURR_MM: f64 = 0.05;

/// Flatness of a set spring when pressed (mm). Common practice, no source.
pub const FLATNESS_MM: f64 = 0.05;

/// ± on the width of a slot (mm) in sheet of a thickness (mm): as given, else the everyday one of the process table.
pub fn cutting_tolerance(process: &Process, thickness: f64) -> f64 {
    let known = process.kind().known();
    process
        .tolerance
        .or(known.map(|known| {
            let kerf = process.kerf.unwrap_or_else(|| known.kerf.value(thickness, 0.0));
            known.tolerance.value(thickness, kerf)
        }))
        .unwrap_or_default()
}

/// Height of an arm over its radius at one deflection: a section for a picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ArmSection {
    /// `free`, `half` or `closed`
    pub name: &'static str,
    /// deflection (mm)
    pub deflection_mm: f64,
    /// radius of the arm centre (mm), outer root to inner root
    pub radius_mm: Vec<f64>,
    /// height of the arm above its flat place (mm)
    pub height_mm: Vec<f64>,
    /// width of the arm along the radius (mm)
    pub width_mm: Vec<f64>,
}

/// Least height that arms may stand proud of the flat sheet (mm) where the envelope names no solid height. Judgement:
/// twice the flatness of a set spring.
const PROUD_ALLOWED_MM: f64 = 0.1;

/// Share of the travel that arms may stand proud of the flat sheet where the envelope names no solid height. Judgement.
const PROUD_ALLOWED_SHARE: f64 = 0.02;

/// Height that the arms of a spring with this travel (mm) may stand proud of the flat sheet (mm), where the envelope
/// names no solid height.
pub fn proud_allowed(travel: f64) -> f64 {
    PROUD_ALLOWED_MM.max(PROUD_ALLOWED_SHARE * travel)
}

/// Deflection that hardware below the hub, or on the rim under an upper plate, takes from the travel (mm).
pub(super) fn blocked_travel(seat: &Seat) -> f64 {
    let rim = if seat.pressing == Pressing::Plates { seat.rim_hardware_above } else { None };
    seat.hub_hardware_below.unwrap_or(0.0).max(rim.unwrap_or(0.0))
}

/// Deflection at which the spring counts as flat (mm): 1 % of the travel left, or where hardware stops the hub.
pub(super) fn flat_deflection(travel: f64, seat: &Seat) -> f64 {
    (CLOSED_SHARE * travel).min(travel - blocked_travel(seat)).max(0.0)
}

/// The closed spring: heights, forces, clearances.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlatCheck {
    /// whether the hub reaches 99 % of the travel, nothing blocking it, with the stress of the arms within the allowable
    pub closes: bool,
    /// highest point of rim, arms, hub, hardware and burr with 1 % of the travel left (mm above the base)
    pub solid_height_mm: f64,
    /// part that the highest point belongs to: `rim`, `arm` or `hub`
    pub highest: &'static str,
    /// height of the highest arm point above its flat place there (mm)
    pub proud_mm: f64,
    /// radius of that arm point (mm)
    pub proud_radius_mm: f64,
    /// largest height proud that counts as flat (mm); none where the envelope limits the solid height instead
    pub proud_limit_mm: Option<f64>,
    /// largest solid height asked for (mm)
    pub solid_height_limit_mm: Option<f64>,
    /// force of a flat plate that lays hub and every arm down, with 1 % of the travel left (N)
    pub flattening_force_n: f64,
    /// thickness of the sheet (mm)
    pub sheet_mm: f64,
    /// burr of both faces in the solid height (mm)
    pub burr_mm: f64,
    /// flatness of a set spring (mm), not part of the solid height
    pub flatness_mm: f64,
    /// travel from the free height to flat (mm)
    pub travel_mm: f64,
    /// usable travel (mm): less what hardware blocks, up to the allowable stress of the arms
    pub usable_travel_mm: f64,
    /// force with 1 % of the free height left (N)
    pub closing_force_n: f64,
    /// force to hold every arm flat (N): the closing force, or the closing load of the last piece by torsion alone where
    /// that is larger
    pub holding_force_n: f64,
    /// narrowest gap between neighbouring turns when flat, less the cutting tolerance (mm); the slot less the tolerance
    /// where no two turns face each other
    pub least_gap_mm: f64,
    /// narrowest gap over the travel, arms shifting in their own plane (mm); none where the slot is wider than twice
    /// the in-plane lengthening of the arms
    pub least_gap_on_the_way_mm: Option<f64>,
    /// cutting tolerance subtracted from both gaps (mm)
    pub cutting_tolerance_mm: f64,
    /// obstacles to closing, in words
    pub in_the_way: Vec<String>,
    /// the arm at free height, half closed, closed
    pub sections: Vec<ArmSection>,
    #[serde(skip)]
    narrowest: Gap,
    #[serde(skip)]
    lost_travel: f64,
    #[serde(skip)]
    converged: bool,
}

impl FlatCheck {
    /// Of a pressed spring and the stress of its arms.
    pub(super) fn of(
        spring: &Spring,
        closing: &Closing,
        strength: &StrengthCheck,
        options: &CheckOptions,
    ) -> Result<Self, ModelError> {
        let (process, seat) = (&options.process, &spring.seat);
        let tolerance = cutting_tolerance(process, spring.sheet.thickness);
        let slot = Gap { width: spring.slot, radius: closing.arm.radius[0], deflection: closing.travel };
        let gap_flat = least_gap_flat(&closing.arm, spring.arms, closing.travel).unwrap_or(slot);
        let clear = gap_flat.width - tolerance > 2.0 * lengthening(&closing.arm);
        let on_the_way = if clear { None } else { least_gap_on_the_way(closing)? };
        let narrowest = on_the_way.filter(|gap| gap.width < gap_flat.width).unwrap_or(gap_flat);
        let hardware = |height: Option<f64>| height.unwrap_or(0.0);
        // an etched edge has none
        let usual = if process.kind() == ProcessKind::Etch { 0.0 } else { BURR_MM };
        let burr = process.burr.unwrap_or(usual);
        let travel = closing.travel;
        let flat_at = flat_deflection(travel, seat);
        let (proud_mm, proud_radius_mm) = closing.highest_node(flat_at);
        let level = spring.sheet.thickness + burr;
        let parts = [
            ("rim", level + hardware(seat.rim_hardware_above)),
            ("arm", level + proud_mm),
            ("hub", level + (travel - flat_at) + hardware(seat.hub_hardware_above)),
        ];
        // the last of equals: the hub is the highest point of a spring that lies flat
        let (highest, solid_height_mm) =
            parts.into_iter().fold(("rim", 0.0), |top, part| if part.1 >= top.1 { part } else { top });
        let solid_height_limit_mm = options.envelope.solid_height_max;
        let lost_travel = blocked_travel(seat);
        let reached = lost_travel <= (1.0 - CLOSED_SHARE) * travel;
        let converged = closing.states.iter().all(|state| state.converged);
        let within = strength.travel_within_mm.filter(|_| strength.ok == Some(false));
        let closing_force_n = closing.closed().force;
        let flattening_force_n = if seat.pressing == Pressing::Plates {
            closing_force_n
        } else {
            let plates = Seat { pressing: Pressing::Plates, ..*seat };
            let pressed = Spring { seat: plates, ..spring.clone() };
            let response = Model::of(&pressed, &options.model)?.response(&[CLOSED_SHARE * travel])?;
            response.force.first().copied().unwrap_or(closing_force_n).max(closing_force_n)
        };
        Ok(Self {
            closes: reached && strength.arms_ok() != Some(false),
            solid_height_mm,
            highest,
            proud_mm,
            proud_radius_mm,
            proud_limit_mm: solid_height_limit_mm.is_none().then(|| proud_allowed(travel)),
            solid_height_limit_mm,
            flattening_force_n,
            sheet_mm: spring.sheet.thickness,
            burr_mm: burr,
            flatness_mm: FLATNESS_MM,
            travel_mm: travel,
            usable_travel_mm: (travel - lost_travel).min(within.unwrap_or(travel)).max(0.0),
            closing_force_n,
            holding_force_n: closing_force_n.max(last_closing_load(closing)),
            least_gap_mm: gap_flat.width - tolerance,
            least_gap_on_the_way_mm: on_the_way.map(|gap| gap.width - tolerance),
            cutting_tolerance_mm: tolerance,
            in_the_way: in_the_way(seat, strength),
            sections: sections(closing),
            narrowest,
            lost_travel,
            converged,
        })
    }

    /// Whether neighbouring turns stay apart.
    pub fn turns_apart(&self) -> bool {
        self.narrowest.width > self.cutting_tolerance_mm
    }

    /// Whether nothing blocks the last of the travel.
    pub fn reaches_flat(&self) -> bool {
        self.lost_travel <= (1.0 - CLOSED_SHARE) * self.travel_mm
    }

    /// Whether the closed spring is as low as asked: its solid height, or its arms where no solid height is asked for.
    pub fn lies_flat(&self) -> bool {
        self.proud_limit_mm.is_none_or(|limit| self.proud_mm <= limit)
            && self.solid_height_limit_mm.is_none_or(|limit| self.solid_height_mm <= limit)
    }

    /// Findings, with what to change.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        if !self.reaches_flat() {
            findings.push(Finding::new(
                "flat",
                Severity::Failed,
                self.in_the_way.join("; "),
                [self.travel_mm - self.lost_travel, CLOSED_SHARE * self.travel_mm],
                "mm",
                "closed is 99 % of the travel",
                format!(
                    "it cannot close: sink or shorten the hardware by {} mm, or put a recess of that depth into the \
                     plate",
                    short(self.lost_travel)
                ),
            ));
        }
        if let Some(limit) = self.proud_limit_mm.filter(|limit| self.proud_mm > *limit) {
            findings.push(Finding::new(
                "flat",
                Severity::Failed,
                format!(
                    "arms stand proud of the flat sheet at radius {:.1} mm, hub down",
                    self.proud_radius_mm
                ),
                [self.proud_mm, limit],
                "mm",
                "arms may stand proud by 0.1 mm or 2 % of the travel, whichever is larger",
                format!(
                    "narrow the arm there, press it between plates ({} N lays it down), or allow it by \
                     envelope.solid_height_max = {:.2}",
                    short(self.flattening_force_n),
                    self.solid_height_mm + 0.005
                ),
            ));
        }
        if let Some(limit) = self.solid_height_limit_mm.filter(|limit| self.solid_height_mm > *limit) {
            findings.push(Finding::new(
                "flat",
                Severity::Failed,
                format!("highest point of the closed spring: the {}", self.highest),
                [self.solid_height_mm, limit],
                "mm",
                "envelope.solid_height_max",
                "take thinner sheet, lower hardware, or allow more solid height",
            ));
        }
        if !self.turns_apart() {
            let least = self.narrowest.width - self.cutting_tolerance_mm;
            findings.push(Finding::new(
                "turns",
                Severity::Failed,
                format!(
                    "radius {:.1} mm, at {} mm of travel",
                    self.narrowest.radius,
                    short(self.narrowest.deflection)
                ),
                [least, 0.0],
                "mm",
                format!(
                    "neighbouring turns must not touch: gap less a cutting tolerance of {} mm (geometry)",
                    short(self.cutting_tolerance_mm)
                ),
                format!(
                    "turns could touch: make disc.slot wider by at least {} mm, the arms narrower by as much, or cut to a \
                     finer tolerance",
                    short(-least)
                ),
            ));
        }
        if !self.converged {
            findings.push(Finding::in_words(
                "flat",
                Severity::Warning,
                "predicted curve",
                "the equilibrium iteration did not converge to its tolerance at every deflection",
                "trust the forces near flat less; try another number of segments",
            ));
        }
        findings
    }
}

/// Obstacles to closing, in words.
fn in_the_way(seat: &Seat, strength: &StrengthCheck) -> Vec<String> {
    let mut found = Vec::new();
    if let Some(below) = seat.hub_hardware_below.filter(|height| *height > 0.0) {
        found.push(format!("hardware below the hub is {} mm high and meets the base first", short(below)));
    }
    if let Some(above) = seat.rim_hardware_above.filter(|height| *height > 0.0)
        && seat.pressing == Pressing::Plates
    {
        found.push(format!(
            "hardware on the rim is {} mm above the sheet and meets the upper plate first",
            short(above)
        ));
    }
    if strength.arms_ok() == Some(false) {
        found.push(format!(
            "stress exceeds the allowable beyond {} mm of travel",
            short(strength.travel_within_mm.unwrap_or(0.0))
        ));
    }
    found
}

/// Load that keeps the last piece of every arm flat (N): N times the largest `G J p/r³`.
///
/// A torque f·r holds the twist p/r² (torsion-only law of progressive bottoming: Wahl, Mechanical Springs; Rodriguez,
/// Paredes & Sartor, J. Mech. Des. 128 (2006)). The force of the model rises without bound over the last percent.
fn last_closing_load(closing: &Closing) -> f64 {
    let arm = &closing.arm;
    let largest = closing.model.chain.pieces.iter().enumerate().flat_map(|(i, piece)| {
        let rise = (arm.height[i + 1] - arm.height[i]) / (arm.angle[i + 1] - arm.angle[i]);
        piece.sections.map(|section| section.torsion * rise / section.radius.powi(3))
    });
    closing.arms as f64 * largest.fold(0.0, f64::max)
}

fn sections(closing: &Closing) -> Vec<ArmSection> {
    let nearest = |share: f64| {
        let wanted = share * closing.travel;
        closing
            .states
            .iter()
            .min_by(|a, b| (a.deflection - wanted).abs().total_cmp(&(b.deflection - wanted).abs()))
    };
    [("free", 0.0), ("half", 0.5), ("closed", 1.0)]
        .into_iter()
        .filter_map(|(name, share)| nearest(share).map(|state| (name, state)))
        .map(|(name, state)| ArmSection {
            name,
            deflection_mm: state.deflection,
            radius_mm: closing.arm.radius.clone(),
            height_mm: state.height.clone(),
            width_mm: closing.arm.width.clone(),
        })
        .collect()
}
