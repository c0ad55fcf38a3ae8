//! The guide of the hub: tilt of a free hub, moment that a guided one has to resist.
//!
//! Two or more equal arms balance each other. A single arm pushes the hub at one point of its circle and twists it
//! there: a guided hub needs a moment to stay level, a free one tilts until the load's resultant passes the axis.

use serde::Serialize;

use super::closing::Closing;
use super::finding::{Finding, Severity};
use crate::layout::Spring;
use crate::model::ArmState;
use crate::model::element::Deviation;
use crate::numeric::short;
use crate::spec::HubGuide;

/// Largest tilt of a free hub (degrees). Judgement: beyond it a pushing pin slides on the hub.
pub const TILT_MAX_DEGREES: f64 = 2.0;

/// The hub over the travel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GuideCheck {
    /// whether something keeps the hub level
    pub guided: bool,
    /// largest tilt (degrees); 0 for a guided hub
    pub tilt_degrees: f64,
    /// largest moment that the guide resists (N·mm); 0 where arms balance and for a free hub
    pub moment_nmm: f64,
    /// deflection of the largest tilt or moment (mm)
    pub at_mm: f64,
    /// largest moment allowed (N·mm); none where no limit was given
    pub moment_max_nmm: Option<f64>,
}

impl GuideCheck {
    /// Of a pressed spring.
    pub(super) fn of(spring: &Spring, closing: &Closing) -> Self {
        let guided = spring.seat.hub == HubGuide::Guided;
        let measure = |state: &ArmState| {
            if !guided {
                state.hub_tilt.to_degrees()
            } else if spring.arms == 1 {
                hub_moment(closing, state)
            } else {
                0.0
            }
        };
        let (at_mm, largest) = closing.states.iter().fold((0.0, 0.0), |worst: (f64, f64), state| {
            let found = measure(state);
            if found > worst.1 { (state.deflection, found) } else { worst }
        });
        Self {
            guided,
            tilt_degrees: if guided { 0.0 } else { largest },
            moment_nmm: if guided { largest } else { 0.0 },
            at_mm,
            moment_max_nmm: spring.seat.hub_moment_max,
        }
    }

    /// Whether the tilt and the moment on the guide are within their limits.
    pub fn ok(&self) -> bool {
        self.tilt_degrees <= TILT_MAX_DEGREES
            && self.moment_max_nmm.is_none_or(|limit| self.moment_nmm <= limit)
    }

    /// Findings, with what to change.
    pub(super) fn findings(&self) -> Option<Finding> {
        if self.tilt_degrees > TILT_MAX_DEGREES {
            return Some(Finding::new(
                "guide",
                Severity::Failed,
                format!("free hub, at {} mm of travel", short(self.at_mm)),
                [self.tilt_degrees, TILT_MAX_DEGREES],
                "°",
                "a hub that is not guided may tilt by 2° (judgement)",
                "take two or more arms (arms.count), or guide the hub",
            ));
        }
        let limit = self.moment_max_nmm.filter(|limit| self.moment_nmm > *limit)?;
        Some(Finding::new(
            "guide",
            Severity::Failed,
            format!("hub moment of the single arm, at {} mm of travel", short(self.at_mm)),
            [self.moment_nmm, limit],
            "N·mm",
            "seat.hub_moment_max",
            "take two or more arms (arms.count): their moments balance",
        ))
    }
}

/// Moment about the disc's centre by which the hub is kept level against one arm (N·mm).
///
/// Force and moments of the last segment at its inner end (gradient of the stored energy over height and rotations),
/// moved to the axis: a rigid hub that turns by Ω moves that end by `Ωx y − Ωy x`.
fn hub_moment(closing: &Closing, state: &ArmState) -> f64 {
    let chain = &closing.model.chain;
    let count = chain.pieces.len();
    let node = |k: usize| {
        let height = state.height[k] - chain.free_height[chain.first + k];
        Deviation::new(height, state.rotation[k][0], state.rotation[k][1])
    };
    let element = &chain.elements[chain.first + count - 1];
    let [_, end] = element.forces(&node(count - 1), &node(count));
    let [x, y] = chain.position[chain.first + count];
    (end[1] + end[0] * y).hypot(end[2] - end[0] * x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{CheckOptions, Checks};
    use crate::model::ModelSettings;
    use crate::spec::SpringFile;

    fn checked(arms: usize, seat: &str) -> Checks {
        let text = format!(
            "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\narms = {arms}\nslot = 1.4\narm_outer_diameter = 60\n\
             arm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [3, 5]\n[former]\nfree_height = 4\n[seat]\n{seat}\n"
        );
        let file = SpringFile::parse(&text, "spring.toml").unwrap();
        Checks::of(&Spring::from_file(&file, None).unwrap(), &CheckOptions::of_file(&file, None)).unwrap()
    }

    #[test]
    fn one_arm_pushes_the_hub_off_level_and_two_balance() {
        let one = checked(1, "").guide;
        // the load acts at the hub's circle: its lever is no longer than the slot's inner end
        let force = checked(1, "").flat.closing_force_n;
        assert!(one.moment_nmm > 0.0 && one.moment_nmm < force * 30.0, "{one:?} at {force} N");
        assert_eq!(checked(2, "").guide.moment_nmm, 0.0);
        assert!(one.ok());
        assert!(!checked(1, "hub_moment_max = 1").guide.ok());
    }

    #[test]
    fn a_free_hub_tilts_until_no_moment_is_left_about_the_axis() {
        let text = "[sheet]\nmaterial = \"1.4310+C1300\"\nthickness = 1.0\n[disc]\narms = 1\nslot = 1.4\n\
            arm_outer_diameter = 60\narm_inner_diameter = 20\n[arm]\nradius = [10, 30]\nwidth = [3, 5]\n[former]\n\
            free_height = 4\n[seat]\nhub = \"tilting\"\n";
        let spring = Spring::from_file(&SpringFile::parse(text, "spring.toml").unwrap(), None).unwrap();
        let settings = ModelSettings { in_plane: false, segments: 120, ..ModelSettings::default() };
        let closing = Closing::of(&spring, &settings, &[]).unwrap();
        // half of the travel: the arm's end at the hub touches nothing
        for state in &closing.states[2..10] {
            let moment = hub_moment(&closing, state);
            assert!(moment < 1e-4 * state.force * 10.0, "{moment} N·mm under {} N", state.force);
        }
    }

    #[test]
    fn limits_of_the_hub_are_two_degrees_of_tilt_and_the_moment_allowed() {
        let hub = |tilt_degrees, moment_nmm| GuideCheck {
            guided: false,
            tilt_degrees,
            moment_nmm,
            at_mm: 1.0,
            moment_max_nmm: Some(50.0),
        };
        for (tilt, moment, ok) in
            [(1.99, 0.0, true), (2.01, 0.0, false), (0.0, 49.0, true), (0.0, 51.0, false)]
        {
            let hub = hub(tilt, moment);
            assert_eq!((hub.ok(), hub.findings().is_none()), (ok, ok), "{hub:?}");
        }
    }

    #[test]
    fn a_free_hub_on_one_arm_tilts() {
        let free = checked(1, "hub = \"tilting\"").guide;
        assert!(free.tilt_degrees > 0.5 && free.moment_nmm == 0.0, "{free:?}");
        assert_eq!(checked(2, "hub = \"tilting\"").guide.tilt_degrees, 0.0);
    }
}
