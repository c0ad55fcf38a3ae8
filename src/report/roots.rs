//! The ends of a slot close up, with the stress there.

use super::blank::Blank;
use super::shown::Shown;
use super::subject::Subject;
use crate::layout::ArmShape;
use crate::plot::{Picture, PlotError, RootEnd, RootView};
use crate::spec::SlotEnds;

/// Place of the peak on the round in finite elements, from the arm's flank (0) over the tip (90) to the ring's (degrees).
const PEAK_DEGREES: [f64; 2] = [50.0, 95.0];

/// Half the width of a window, over the root's width.
const REACH: f64 = 1.6;

/// Draws both ends of the slot that starts on the positive x axis; none where the arm is given by stations alone or its
/// ends are ideal clamps.
pub(super) fn picture(
    subject: &Subject,
    blank: &Blank,
    width: f64,
    shown: Shown,
) -> Result<Option<Picture>, PlotError> {
    let spring = subject.spring;
    let (ArmShape::Slots(line), Some(first), Some(last)) = (
        &spring.shape,
        subject.evaluation.closing.model.chain.sections.first(),
        subject.evaluation.closing.model.chain.sections.last(),
    ) else {
        return Ok(None);
    };
    let stress = &subject.checks.stress;
    let (slot, ends) = (spring.slot, blank.rules.ends);
    let round = match ends {
        SlotEnds::Round => 0.5 * slot,
        SlotEnds::Keyhole | SlotEnds::Bulb => 0.5 * blank.rules.keyhole_diameter(slot),
    };
    let places = [(0.0, first.radial_width), (line.total_angle(), last.radial_width)];
    let list = places
        .into_iter()
        .zip(&stress.slot_ends)
        .enumerate()
        .map(|(k, ((angle, root_width), found))| {
            let (rho, slope) = (line.radius_at(angle), line.slope_at(angle));
            let (sin, cos) = angle.sin_cos();
            let speed = rho.hypot(slope);
            let tangent = [(slope * cos - rho * sin) / speed, (slope * sin + rho * cos) / speed];
            // the arm lies inside the slot's end at the rim, outside it at the hub
            let hub = k == 1;
            let outwards = if hub { tangent } else { tangent.map(|part| -part) };
            let inwards = [-tangent[1], tangent[0]];
            let to_arm = if hub { inwards.map(|part| -part) } else { inwards };
            let end = line.point_at(angle);
            let shift = if ends == SlotEnds::Keyhole { 0.5 * slot - round } else { 0.0 };
            let mut notes =
                vec![shown.stress(found.stress_mpa), format!("at {} deflection", shown.length(found.at_mm))];
            if let Some(allowable) = found.allowable_mpa {
                let share = 100.0 * found.stress_mpa / allowable;
                notes.push(format!("{share:.0} % of {} allowed", shown.stress(allowable)));
            }
            RootEnd {
                centre: [0, 1].map(|i| end[i] + shift * to_arm[i]),
                radius: round,
                to_arm,
                outwards,
                reach: REACH * root_width.max(2.0 * round),
                title: format!("Slot end at the {}", found.root),
                notes,
            }
        })
        .collect::<Vec<_>>();
    if list.is_empty() {
        return Ok(None);
    }
    RootView { plan: &blank.plan, ends: list, peak_degrees: PEAK_DEGREES }.picture(width).map(Some)
}
