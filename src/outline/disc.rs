//! The outline of the whole disc: bore, slots, outside.

use std::f64::consts::TAU;

use super::slot::{EndClosing, contour};
use super::station_slot::{StationSlot, StationSlotError};
use super::validity::geometry;
use super::{
    ArcChain, BiarcError, Contour, CutRules, Grade, OutlineFinding, Point, Role, SlotCentre, findings, fit,
};
use crate::layout::{ArmShape, LayoutError, Spring};
use crate::spec::SlotEnds;

/// Everything that is cut, finished size, the origin at the disc's centre.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// the contours in the order in which they are cut: bore, slots far apart in turn, outside last
    pub contours: Vec<Contour>,
    /// number of slots
    pub arms: usize,
    /// slot width (mm)
    pub slot: f64,
    /// the slot's centre line that starts on the positive x axis, as arcs
    pub centre_line: ArcChain,
    /// largest distance measured between the true centre line and its arcs (mm)
    pub fit_error: f64,
}

/// Reasons why a spring cannot be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum OutlineError {
    /// The spring is given by stations that no pair of slots leaves.
    #[error("the stations alone do not say how the slots run: {0}; give [arm] radius and width instead")]
    NoSlots(#[from] StationSlotError),
    /// Rim or hub is gone.
    #[error(transparent)]
    Ring(#[from] LayoutError),
    /// Arcs do not follow the slot.
    #[error("the slot cannot be drawn with arcs: {0}")]
    Fit(#[from] BiarcError),
    /// The slot is bent tighter than it is wide.
    #[error(
        "the slot, {slot_mm} mm wide, is bent to a radius of {radius_mm:.3} mm near {place:.3?}; make the slot \
         narrower or the hub larger"
    )]
    TooTight {
        /// slot width (mm)
        slot_mm: f64,
        /// least radius of its centre line (mm)
        radius_mm: f64,
        /// where (mm)
        place: Point,
    },
    /// Contours that do not make a part.
    #[error("the drawing would not be one of a part: {first}; {count} such findings in all")]
    Faults {
        /// the first finding
        first: OutlineFinding,
        /// how many there are
        count: usize,
    },
    /// The slot is too short for its keyholes.
    #[error(
        "the slot is {length_mm:.3} mm long, too short for end holes of {diameter_mm:.3} mm; use ends = \"round\""
    )]
    TooShort {
        /// length of the centre line (mm)
        length_mm: f64,
        /// hole diameter (mm)
        diameter_mm: f64,
    },
}

impl Outline {
    /// Draws a spring by the rules of a cutting process.
    pub fn of(spring: &Spring, rules: &CutRules) -> Result<Self, OutlineError> {
        let slot = spring.slot;
        spring.disc.check_rings(slot)?;
        let fitted = match &spring.shape {
            ArmShape::Slots(line) => fit(&SlotCentre(line), rules.accuracy, rules.segment_min)?,
            ArmShape::Stations(stations) => {
                let slot_behind = StationSlot::of(stations, spring.arms, slot)?;
                fit(&slot_behind, rules.accuracy, rules.segment_min)?
            }
        };
        let centre_line = fitted.chain;
        let (role, chain) = if rules.cuts_on_line(slot) {
            (Role::CutOnLine, centre_line.clone())
        } else {
            (Role::Slot, closed_slot(&centre_line, slot, rules)?)
        };
        let chain = chain.straightened();
        let mut contours = Vec::with_capacity(spring.arms + 2);
        if spring.disc.is_bored() {
            contours.push(Contour {
                role: Role::Bore,
                chain: ArcChain::circle([0.0; 2], spring.disc.bore_radius),
            });
        }
        for k in star_order(spring.arms) {
            let turned = chain.turned(TAU * k as f64 / spring.arms as f64);
            contours.push(Contour { role, chain: turned });
        }
        contours.push(Contour {
            role: Role::Outside,
            chain: ArcChain::circle([0.0; 2], spring.disc.outer_radius),
        });
        let outline = Self { contours, arms: spring.arms, slot, centre_line, fit_error: fitted.error };
        let findings = geometry(&outline.contours, rules);
        let faults: Vec<&OutlineFinding> =
            findings.iter().filter(|found| found.grade == Grade::Fault).collect();
        match faults.first() {
            Some(first) => Err(OutlineError::Faults { first: **first, count: faults.len() }),
            None => Ok(outline),
        }
    }

    /// Findings of the geometry rules and the process on this outline; the geometry of a drawn outline has none.
    pub fn findings(&self, rules: &CutRules) -> Vec<OutlineFinding> {
        findings(&self.contours, rules)
    }

    /// Diameter of the holes at the slots' ends (mm); the slot's own width where they are round.
    pub fn end_diameter(&self) -> f64 {
        self.role(Role::Slot).next().map_or(self.slot, |contour| {
            let last = contour.chain.arc(contour.chain.len() - 1);
            2.0 * last.radius()
        })
    }

    /// The contours of one role.
    pub fn role(&self, role: Role) -> impl Iterator<Item = &Contour> {
        self.contours.iter().filter(move |contour| contour.role == role)
    }

    /// Smallest upright box around everything: least and largest corner (mm).
    pub fn extents(&self) -> [Point; 2] {
        contours_extents(&self.contours)
    }
}

/// Smallest upright box around contours: least and largest corner (mm).
pub fn contours_extents(contours: &[Contour]) -> [Point; 2] {
    contours
        .iter()
        .map(|contour| contour.chain.extents())
        .fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], [l, h]| {
            [[low[0].min(l[0]), low[1].min(l[1])], [high[0].max(h[0]), high[1].max(h[1])]]
        })
}

/// Share by which a hole has to exceed the slot to be drawn.
const BULB_LEAST: f64 = 0.02;

fn closed_slot(centre: &ArcChain, slot: f64, rules: &CutRules) -> Result<ArcChain, OutlineError> {
    if let Some(arc) = centre.arcs().find(|arc| arc.radius() <= 0.5 * slot) {
        return Err(OutlineError::TooTight { slot_mm: slot, radius_mm: arc.radius(), place: arc.start });
    }
    let (closing, diameter) = match rules.ends {
        SlotEnds::Round => (EndClosing::Round, slot),
        SlotEnds::Keyhole => {
            let diameter = rules.keyhole_diameter(slot);
            (EndClosing::Keyhole(diameter), diameter)
        }
        SlotEnds::Bulb => {
            let diameter = rules.keyhole_diameter(slot);
            // a hole no wider than the slot is the round
            let closing = if diameter > (1.0 + BULB_LEAST) * slot {
                EndClosing::Bulb(diameter)
            } else {
                EndClosing::Round
            };
            (closing, diameter)
        }
    };
    contour(centre, slot, closing, rules.segment_min)
        .ok_or_else(|| OutlineError::TooShort { length_mm: centre.length(), diameter_mm: diameter })
}

/// Slots in an order in which each lies far from the one cut before, so that heat and stress spread evenly.
fn star_order(count: usize) -> Vec<usize> {
    let apart = |a: usize, b: usize| {
        let d = a.abs_diff(b);
        d.min(count - d)
    };
    let mut order: Vec<usize> = Vec::with_capacity(count);
    let mut left: Vec<usize> = (0..count).collect();
    while !left.is_empty() {
        let mut best = 0;
        for i in 1..left.len() {
            // farthest from the last one, then from the one before it
            let rank = |slot: usize| {
                let mut back = order.iter().rev().map(|&cut| apart(cut, slot));
                (back.next(), back.next())
            };
            if rank(left[i]) > rank(left[best]) {
                best = i;
            }
        }
        order.push(left.remove(best));
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_slot_is_cut_far_from_the_one_before() {
        assert_eq!(star_order(1), [0]);
        assert_eq!(star_order(3), [0, 1, 2]);
        assert_eq!(star_order(4), [0, 2, 1, 3]);
        assert_eq!(star_order(6), [0, 3, 1, 4, 2, 5]);
    }
}
