//! Requirements on the closed spring that shaping keeps: arms that lie flat, slot ends and rings within the allowable, and
//! the life over the stroke where cycles are asked for.

use crate::checks::{CheckOptions, Ring, SlotEnd, life_use, proud_allowed, ring_stress, root_stress};
use crate::layout::Spring;
use crate::model::{Model, ModelError};
use crate::response::CLOSED_SHARE;
use crate::spec::Process;

/// Requirements on the closed spring.
#[derive(Debug, Clone, PartialEq)]
pub struct ClosedRequirement {
    /// cutting process, with the shape of the slot ends
    pub process: Process,
    /// largest solid height (mm); none limits how far arms stand proud instead
    pub solid_height_max: Option<f64>,
    /// allowable stress (MPa); none where no strength is known
    pub allowable: Option<f64>,
    /// stroke and cycles asked for; none for static use
    pub life: Option<CheckOptions>,
}

/// Share of each limit that the closed spring uses; 1 is the limit.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ClosedUse {
    /// height of the highest arm point above its flat place, over the height allowed
    pub proud: f64,
    /// stress of the slot ends at rim and hub over the allowable
    pub slot_ends: [f64; 2],
    /// stress of the rings of rim and hub over the allowable
    pub rings: [f64; 2],
    /// share of the fatigue strength that the cycles asked for use up; 0 for static use or without data
    pub life: f64,
}

impl ClosedUse {
    /// Number of limits.
    pub(super) const COUNT: usize = 6;

    /// The shares in one list.
    pub(super) fn list(&self) -> [f64; Self::COUNT] {
        [self.proud, self.slot_ends[0], self.slot_ends[1], self.rings[0], self.rings[1], self.life]
    }

    /// Largest stress share of slot ends and rings.
    pub fn stress(&self) -> f64 {
        self.slot_ends.iter().chain(&self.rings).copied().fold(0.0, f64::max)
    }

    /// Largest share of all.
    pub fn largest(&self) -> f64 {
        self.stress().max(self.proud).max(self.life)
    }
}

impl ClosedRequirement {
    /// The share of each limit that a spring uses with 1 % of its travel left.
    pub fn used(&self, spring: &Spring, model: &Model) -> Result<ClosedUse, ModelError> {
        let travel = model.travel();
        let closed = CLOSED_SHARE * travel;
        let mut stops = vec![closed];
        if let Some(options) = &self.life {
            // a trial lower than the start of the stroke has no life; its curve residuals are large already
            let stroke = options.stroke(travel);
            let inside = [stroke.start, 0.5 * (stroke.start + stroke.end), stroke.end];
            if stroke.start < stroke.end {
                stops.splice(0..0, inside.into_iter().filter(|x| *x < closed));
            }
        }
        let states = model.states(&stops)?;
        let Some(state) = states.last() else { return Ok(ClosedUse::default()) };
        let highest = state.height.iter().copied().fold(0.0, f64::max);
        let allowed = match self.solid_height_max {
            Some(most) => (most - spring.sheet.thickness).max(0.01 * spring.sheet.thickness),
            None => proud_allowed(travel),
        };
        let share = |stress: [f64; 2]| match self.allowable {
            Some(allowable) => stress.map(|stress| stress / allowable),
            None => [0.0; 2],
        };
        let life = self.life.as_ref().and_then(|options| {
            let end = options.stroke(travel).end;
            let within = states.iter().take_while(|state| state.deflection <= end).count();
            life_use(spring, model, &states[..within], options)
        });
        Ok(ClosedUse {
            life: life.unwrap_or(0.0),
            proud: highest / allowed,
            slot_ends: SlotEnd::of(spring, &self.process, model)
                .map_or([0.0; 2], |ends| share(root_stress(&ends, model, state))),
            rings: Ring::of(spring, model).map_or([0.0; 2], |rings| share(ring_stress(&rings, model, state))),
        })
    }
}
