//! The path of a small-slope model from event to event: force over deflection as a piecewise-linear curve.

use super::equilibrium::Equilibrium;

/// Deflection at which the slope of the force changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot {
    /// deflection (mm)
    pub deflection: f64,
    /// force of one arm (N)
    pub force: f64,
    /// rate of one arm from here on (N/mm)
    pub rate: f64,
}

/// The exact piecewise-linear curve of one arm in small slopes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Path {
    /// its knots, deflection increasing
    pub knots: Vec<Knot>,
}

impl Path {
    /// Force of one arm at a deflection (N); zero before the path begins.
    pub fn force_at(&self, deflection: f64) -> f64 {
        let after = self.knots.partition_point(|knot| knot.deflection <= deflection);
        let knot = after.checked_sub(1).and_then(|before| self.knots.get(before));
        knot.map_or(0.0, |knot| knot.force + knot.rate * (deflection - knot.deflection))
    }
}

impl Equilibrium<'_> {
    /// The path from the free arm to `x` (mm); none where an event has no direction to go on in, which only rounding causes.
    pub fn path(&mut self, x: f64) -> Option<Path> {
        let mut knots = Vec::new();
        let (mut deflection, mut force) = (0.0, 0.0);
        self.follow_events(x, |run, rise| {
            if run > 0.0 {
                knots.push(Knot { deflection, force, rate: rise / run });
                deflection += run;
                force += rise;
            }
        })?;
        let rate = knots.last().map_or(0.0, |knot: &Knot| knot.rate);
        knots.push(Knot { deflection: x, force, rate });
        Some(Path { knots })
    }
}
