//! The flat-compressed check: does the spring close, to what height, at what force, and what is in the way.

use serde::Serialize;

use super::closing::Closing;
use super::finding::{Finding, Severity, short};
use super::strength::StrengthCheck;
use super::turns::{Gap, least_gap_flat, least_gap_on_the_way, lengthening};
use crate::layout::Spring;
use crate::model::ModelError;
use crate::response::CLOSED_SHARE;
use crate::spec::{Pressing, Process};

/// Burr that deburring leaves, both faces together (mm), where `process.burr` does not say. Common practice, no source.
pub const BURR_MM: f64 = 0.05;

/// What a set spring is out of flat when pressed (mm). Common practice, no source.
pub const FLATNESS_MM: f64 = 0.05;

/// ± on the width of a slot (mm) in sheet of a thickness (mm): as given, else the everyday one of the process table.
pub fn cutting_tolerance(process: &Process, thickness: f64) -> f64 {
    let known = process.kind.known();
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

/// What was found about the closed spring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlatCheck {
    /// whether 99 % of the travel is reached, nothing in the way, with stress within the allowable
    pub closes: bool,
    /// height between plates when closed: sheet, burr, flatness, and hardware that stands above the hub (mm)
    pub solid_height_mm: f64,
    /// thickness of the sheet in it (mm)
    pub sheet_mm: f64,
    /// burr in it (mm)
    pub burr_mm: f64,
    /// flatness in it (mm)
    pub flatness_mm: f64,
    /// travel from the free height to flat (mm)
    pub travel_mm: f64,
    /// travel that can be used: what is in the way and the allowable stress taken off (mm)
    pub usable_travel_mm: f64,
    /// force with one per cent of the free height left (N)
    pub closing_force_n: f64,
    /// force to hold it flat (N): the closing force, or the closing load of the last piece by torsion alone where that
    /// is larger
    pub holding_force_n: f64,
    /// narrowest gap between neighbouring turns lying flat, less the cutting tolerance (mm); the slot less the tolerance
    /// where no two turns face each other
    pub least_gap_mm: f64,
    /// the same on the way from free to closed, arms shifting in their own plane (mm); none where the slot is so wide
    /// that twice what the arms lengthen by leaves it open
    pub least_gap_on_the_way_mm: Option<f64>,
    /// cutting tolerance taken off both (mm)
    pub cutting_tolerance_mm: f64,
    /// what keeps the spring from closing, in words
    pub in_the_way: Vec<String>,
    /// the arm at free height, half closed, closed
    pub sections: Vec<ArmSection>,
    #[serde(skip)]
    narrowest: Gap,
    #[serde(skip)]
    lost_travel: f64,
    #[serde(skip)]
    settled: bool,
}

impl FlatCheck {
    /// Looks at a spring that was pressed, with the verdict on its strength.
    pub fn of(
        spring: &Spring,
        closing: &Closing,
        strength: &StrengthCheck,
        process: &Process,
    ) -> Result<Self, ModelError> {
        let tolerance = cutting_tolerance(process, spring.sheet.thickness);
        let slot = Gap { width: spring.slot, radius: closing.arm.radius[0], deflection: closing.travel };
        let flat = least_gap_flat(&closing.arm, spring.arms, closing.travel).unwrap_or(slot);
        let clear = flat.width - tolerance > 2.0 * lengthening(&closing.arm);
        let on_the_way = if clear { None } else { least_gap_on_the_way(closing)? };
        let narrowest = on_the_way.filter(|gap| gap.width < flat.width).unwrap_or(flat);
        let seat = &spring.seat;
        let [hub_below, hub_above, rim_above] =
            [seat.hub_hardware_below, seat.hub_hardware_above, seat.rim_hardware_above]
                .map(|height| height.unwrap_or(0.0));
        let burr = process.burr.unwrap_or(BURR_MM);
        let plates = seat.pressing == Pressing::Plates;
        let mut in_the_way = Vec::new();
        let mut lost_travel: f64 = 0.0;
        if hub_below > 0.0 {
            lost_travel = lost_travel.max(hub_below);
            in_the_way.push(format!(
                "hardware below the hub stands out {} mm and meets the base first",
                short(hub_below)
            ));
        }
        if plates && rim_above > 0.0 {
            lost_travel = lost_travel.max(rim_above);
            in_the_way.push(format!(
                "what lies on the rim stands {} mm above the sheet and meets the upper plate first",
                short(rim_above)
            ));
        }
        if strength.ok == Some(false) {
            in_the_way.push(format!(
                "stress passes the allowable at {} mm",
                short(strength.travel_within_mm.unwrap_or(0.0))
            ));
        }
        let settled = closing.states.iter().all(|state| state.settled);
        let travel = closing.travel;
        let reached = lost_travel <= (1.0 - CLOSED_SHARE) * travel;
        let within = strength.travel_within_mm.filter(|_| strength.ok == Some(false));
        Ok(Self {
            closes: reached && strength.ok != Some(false),
            solid_height_mm: spring.sheet.thickness
                + burr
                + FLATNESS_MM
                + hub_above.max(if plates { rim_above } else { 0.0 })
                + hub_below,
            sheet_mm: spring.sheet.thickness,
            burr_mm: burr,
            flatness_mm: FLATNESS_MM,
            travel_mm: travel,
            usable_travel_mm: (travel - lost_travel).min(within.unwrap_or(travel)).max(0.0),
            closing_force_n: closing.closed().force,
            holding_force_n: closing.closed().force.max(last_closing_load(closing)),
            least_gap_mm: flat.width - tolerance,
            least_gap_on_the_way_mm: on_the_way.map(|gap| gap.width - tolerance),
            cutting_tolerance_mm: tolerance,
            in_the_way,
            sections: sections(closing),
            narrowest,
            lost_travel,
            settled,
        })
    }

    /// What is to be said.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        if self.lost_travel > (1.0 - CLOSED_SHARE) * self.travel_mm {
            findings.push(Finding::new(
                "flat",
                Severity::Failed,
                self.in_the_way.join("; "),
                [self.travel_mm - self.lost_travel, CLOSED_SHARE * self.travel_mm],
                "mm",
                "closed is 99 % of the travel",
                format!(
                    "it cannot close: sink or shorten what stands out by {} mm, or put a recess of that depth into the \
                     plate",
                    short(self.lost_travel)
                ),
            ));
        }
        let least = self.narrowest.width - self.cutting_tolerance_mm;
        if least <= 0.0 {
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
        if !self.settled {
            findings.push(Finding::in_words(
                "flat",
                Severity::Warning,
                "predicted curve",
                "the model's states did not all settle to its tolerance",
                "trust the forces near flat less; try another number of segments",
            ));
        }
        findings
    }
}

/// Load that keeps the last piece of every arm flat (N): N times the largest `G J p/r³`.
///
/// A torque f·r holds the twist p/r² (torsion-only law of progressive bottoming: Wahl, Mechanical Springs; Rodriguez,
/// Paredes & Sartor, J. Mech. Des. 128 (2006)). The model itself climbs without bound over the last per cent.
fn last_closing_load(closing: &Closing) -> f64 {
    let segments = &closing.model.chain.segments;
    let arm = &closing.arm;
    let largest = segments.iter().enumerate().map(|(i, segment)| {
        let rise = (arm.height[i + 1] - arm.height[i]) / (arm.angle[i + 1] - arm.angle[i]);
        segment.torsion * rise / segment.radius.powi(3)
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
