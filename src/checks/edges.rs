//! Lower edges of arms whose sections roll: how far they would sink into the base.
//!
//! The model takes contact on the arm's centre line. A section that rolls by β about the arm has its lower edge half its
//! width times β lower, and rests on that. Where wide arms are nearly flat at the rim to begin with, the spring stands on
//! these edges (a loose rim rises with them): it is stiffer than predicted, and its closed arms stand higher.

use super::closing::Closing;
use super::finding::{Finding, Severity};
use crate::model::ArmState;
use crate::numeric::short;

/// Name of the check in its findings.
pub const EDGES: &str = "edges";

/// Share of the arm over which lower edges count: less is the root, which yields.
const ARM_SHARE: f64 = 0.1;

/// Share of the travel that they may sink there at half of the travel before it is reported. Springs pressed in solids
/// (`tests/data/whole_chain`, `tests/data/discs`) with less, at most 0.64 %, have forces within 2.1 % rms of the model's; those
/// with 0.95 to 1.4 % are 3.5 to 7.7 % off.
const TOLD_SHARE: f64 = 0.008;

/// Depth of lower edges below the base at half of the travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct EdgeCheck {
    /// depth reached over a tenth of the arm (mm); not above zero where edges stay clear
    sinking: f64,
    /// travel to flat (mm)
    travel: f64,
}

impl EdgeCheck {
    pub(super) fn of(closing: &Closing) -> Self {
        let off = |state: &&ArmState| (state.deflection - 0.5 * closing.travel).abs();
        let half = closing.states.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        let mut depths: Vec<f64> = half
            .map(|state| {
                let arm = closing.arm.angle.iter().zip(&closing.arm.width);
                arm.zip(state.rotation.iter().zip(&state.height))
                    .map(|((angle, width), ([about_x, about_y], height))| {
                        let roll = about_x * angle.sin() - about_y * angle.cos();
                        0.5 * width * roll.abs() - height
                    })
                    .collect()
            })
            .unwrap_or_default();
        depths.sort_by(|a, b| b.total_cmp(a));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a share of a count
        let place = (ARM_SHARE * depths.len() as f64) as usize;
        Self { sinking: depths.get(place).copied().unwrap_or(0.0), travel: closing.travel }
    }

    /// A warning where edges sink more than a model of the centre line bears.
    pub(super) fn findings(&self) -> Vec<Finding> {
        let limit = TOLD_SHARE * self.travel;
        if self.sinking <= limit {
            return Vec::new();
        }
        vec![Finding::new(
            EDGES,
            Severity::Warning,
            "lower edges of the arms over a tenth of their length, half of the travel",
            [self.sinking, limit],
            "mm",
            "edges below the base that the model, with its contact on the arm's centre line, leaves out; in solids such \
             springs were up to 10 % stiffer and their closed arms up to 3 % of the travel higher",
            format!(
                "take a former that rises more steeply at the rim (cone, ease 1) or narrower arms there, or make a trial part; \
                 closed arms may stand {} mm higher",
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
    fn wide_arms_nearly_flat_at_the_rim_stand_on_their_edges_and_steep_ones_do_not() {
        let flat = "law = \"profile\"\nradius = [9.412, 16.733, 24.053, 31.374]\n\
                    height = [4.902, 1.829, 0.455, 0.0]\nease = 25";
        let findings = found(flat);
        assert_eq!(findings.len(), 1);
        // at half of the travel the solids' centre line stands up to 0.056 mm higher than the model's
        let sinking = findings[0].value.unwrap();
        assert!((0.04..0.06).contains(&sinking), "{sinking}");
        assert_eq!(findings[0].severity, Severity::Warning);
        assert!(found("law = \"cone\"\nease = 1").is_empty());
    }
}
