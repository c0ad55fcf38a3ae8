//! Lower edges of arms whose sections roll: how far they would sink into the base.
//!
//! The model takes contact on the arm's centre line. A section that rolls by β about the arm has its lower edge half its
//! width times β lower, and rests on that. Where the free shape is nearly flat at the rim and the rim lies loose, the whole
//! rim rises and the spring stands on these edges: it is stiffer than predicted, and its closed arms stand higher.

use super::closing::Closing;
use super::finding::{Finding, Severity};
use crate::model::ArmState;
use crate::numeric::short;

/// Share of the travel that lower edges may sink at half of the travel before it is told. Springs pressed in solids
/// (`tests/data/whole_chain`) with less have forces within 2.1 % rms of the model's, three with more are 3.5 to 6.8 % off.
const TOLD_SHARE: f64 = 0.01;

/// Deepest lower edge at half of the travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct EdgeCheck {
    /// how far below the base it would be (mm); zero where none is
    sinking: f64,
    /// radius of the arm centre there (mm)
    radius: f64,
    /// travel to flat (mm)
    travel: f64,
}

impl EdgeCheck {
    pub(super) fn of(closing: &Closing) -> Self {
        let half = closing.states.iter().min_by(|a, b| {
            let off = |state: &ArmState| (state.deflection - 0.5 * closing.travel).abs();
            off(a).total_cmp(&off(b))
        });
        let none = Self { sinking: 0.0, radius: closing.arm.radius[0], travel: closing.travel };
        let Some(state) = half else { return none };
        (0..closing.arm.angle.len()).fold(none, |deepest, i| {
            let (sine, cosine) = closing.arm.angle[i].sin_cos();
            let [about_x, about_y] = state.rotation[i];
            let roll = about_x * sine - about_y * cosine;
            let sinking = 0.5 * closing.arm.width[i] * roll.abs() - state.height[i];
            if sinking > deepest.sinking {
                Self { sinking, radius: closing.arm.radius[i], ..deepest }
            } else {
                deepest
            }
        })
    }

    /// A warning where edges sink more than a model of the centre line bears.
    pub(super) fn findings(&self) -> Vec<Finding> {
        let limit = TOLD_SHARE * self.travel;
        if self.sinking <= limit {
            return Vec::new();
        }
        vec![Finding::new(
            "edges",
            Severity::Warning,
            format!("lower edges of the arms at radius {:.1} mm, half of the travel", self.radius),
            [self.sinking, limit],
            "mm",
            "edges below the base that the model, with its contact on the arm's centre line, does not see; in solids such \
             springs were up to 10 % stiffer on a loose rim and their closed arms up to 3 % of the travel higher",
            format!(
                "hold the rim, take a former that rises more steeply at the rim (cone, ease 1), narrower arms there, or count \
                 on a trial part: arms may stand {} mm higher when closed",
                short(0.03 * self.travel)
            ),
        )]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Spring;
    use crate::model::ModelSettings;
    use crate::spec::SpringFile;

    /// A spring that was pressed in solids (`tests/data/whole_chain/shaped_four_arms`), on a given former.
    fn found(former: &str) -> Vec<Finding> {
        let text = format!(
            "[sheet]\nthickness = 1.2\nyoungs_modulus = 185000\nshear_modulus = 70000\n[disc]\nouter_diameter = 70\n\
             arm_outer_diameter = 62.75\narm_inner_diameter = 18.82\nbore_diameter = 10\narms = 4\nslot = 0.9\n[arm]\n\
             radius = [9.412, 16.733, 24.053, 31.374]\nwidth = [2.787, 3.566, 4.344, 5.123]\n[former]\n\
             free_height = 4.902\n{former}\n"
        );
        let spring = Spring::from_file(&SpringFile::parse(&text, "spring.toml").unwrap(), None).unwrap();
        let settings = ModelSettings { segments: 120, ..ModelSettings::default() };
        EdgeCheck::of(&Closing::of(&spring, &settings, &[]).unwrap()).findings()
    }

    #[test]
    fn arms_nearly_flat_at_a_loose_rim_stand_on_their_edges_and_steep_ones_do_not() {
        let flat = "law = \"profile\"\nradius = [9.412, 16.733, 24.053, 31.374]\n\
                    height = [4.902, 1.829, 0.455, 0.0]\nease = 25";
        let findings = found(flat);
        assert_eq!(findings.len(), 1);
        // solids: at half of the travel the centre line stands 0.055 to 0.08 mm higher than the model's there
        let sinking = findings[0].value.unwrap();
        assert!((0.049..0.1).contains(&sinking), "{sinking}");
        assert_eq!(findings[0].severity, Severity::Warning);
        assert!(found("law = \"cone\"\nease = 1").is_empty());
    }
}
