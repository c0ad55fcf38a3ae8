//! Fixed points of the surface and the stress range there over a stroke.
//!
//! A fatigue crack grows at a fixed point of the metal: amplitude and mean of each stress component there count, signs
//! included. The points of an arm section are the middle of its faces and its inner edge, on either face; those of a
//! slot end lie round its half circle, on either face; a ring has its worst place.

use super::ring::{Ring, ring_stress};
use super::slot_end::{Root, RootLoads, SlotEnd};
use crate::layout::SheetProperties;
use crate::model::stress::{SectionLoads, StressFactors};
use crate::model::{ArmState, Model};

/// Phases of the points round a slot end; the other face has the opposite sign.
const PHASES: usize = 18;

/// A place at which a crack may start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Weak {
    /// a segment of the arm
    Arm(usize),
    /// a slot end
    SlotEnd(Root),
    /// a ring
    Ring(Root),
}

/// Amplitude and mean of the stress at a point, as shear of equal distortion energy (MPa).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Swing {
    pub weak: Weak,
    pub amplitude: f64,
    pub mean: f64,
}

/// Least and largest value of a component.
#[derive(Debug, Clone, Copy)]
struct Range {
    low: f64,
    high: f64,
}

impl Range {
    fn of(values: impl Iterator<Item = f64>) -> Self {
        values.fold(Self { low: f64::INFINITY, high: f64::NEG_INFINITY }, |range, value| Self {
            low: range.low.min(value),
            high: range.high.max(value),
        })
    }

    fn amplitude(self) -> f64 {
        0.5 * (self.high - self.low)
    }

    fn mean(self) -> f64 {
        0.5 * (self.high + self.low)
    }
}

/// Amplitude and mean in shear of a direct and a shear component. Mean compression neither helps nor counts.
fn equal_shear(direct: Range, shear: Range) -> (f64, f64) {
    let in_shear = |direct: f64, shear: f64| (direct * direct / 3.0 + shear * shear).sqrt();
    (in_shear(direct.amplitude(), shear.amplitude()), in_shear(direct.mean().max(0.0), shear.mean()))
}

const NONE: Range = Range { low: 0.0, high: 0.0 };

/// Signed stress of one section (MPa): shear and bending of the upper face, axial, bending in the plane.
#[derive(Debug, Clone, Copy)]
struct Signed {
    shear: f64,
    bending: f64,
    axial: f64,
    in_plane: f64,
}

fn signed(factors: &StressFactors, loads: &SectionLoads) -> Signed {
    Signed {
        shear: factors.shear * loads.twist,
        bending: factors.bending * loads.bending,
        axial: factors.axial * loads.axial,
        in_plane: factors.in_plane * loads.in_plane,
    }
}

/// Amplitudes and means at every point of arms, slot ends and rings over the states of a stroke.
pub(super) fn swings(
    model: &Model,
    sheet: &SheetProperties,
    states: &[&ArmState],
    ends: Option<&[SlotEnd; 2]>,
    rings: Option<&[Ring; 2]>,
) -> Vec<Swing> {
    let mut swings = Vec::new();
    let factors: Vec<StressFactors> = model
        .chain
        .sections
        .iter()
        .map(|section| StressFactors::of(section, sheet.shear_modulus, sheet.thickness))
        .collect();
    for (i, factors) in factors.iter().enumerate() {
        let found: Vec<Signed> = states.iter().map(|state| signed(factors, &state.loads[i])).collect();
        // the edge factor is that of the inner edge; the outer one is counted with it, on the safe side
        for (edge, plane) in [(1.0, 0.0), (factors.edge, 1.0), (factors.edge, -1.0)] {
            for face in [1.0, -1.0] {
                let direct = Range::of(found.iter().map(|s| face * s.bending + s.axial + plane * s.in_plane));
                let shear = Range::of(found.iter().map(|s| edge * s.shear));
                let (amplitude, mean) = equal_shear(direct, shear);
                swings.push(Swing { weak: Weak::Arm(i), amplitude, mean });
            }
        }
    }
    if let Some(ends) = ends {
        let loads: Vec<[RootLoads; 2]> =
            states.iter().map(|state| RootLoads::of_state(model, state)).collect();
        for (k, end) in ends.iter().enumerate() {
            let terms: Vec<[f64; 2]> = loads.iter().map(|loads| end.terms(&loads[k])).collect();
            for phase in 0..2 * PHASES {
                let (sin, cos) = (std::f64::consts::PI * phase as f64 / PHASES as f64).sin_cos();
                let direct = Range::of(terms.iter().map(|[along, across]| along * cos + across * sin));
                let (amplitude, mean) = equal_shear(direct, NONE);
                swings.push(Swing { weak: Weak::SlotEnd(end.root), amplitude, mean });
            }
        }
    }
    if let Some(rings) = rings {
        let found: Vec<[f64; 2]> = states.iter().map(|state| ring_stress(rings, model, state)).collect();
        for (k, ring) in rings.iter().enumerate() {
            let (amplitude, mean) = equal_shear(Range::of(found.iter().map(|stress| stress[k])), NONE);
            swings.push(Swing { weak: Weak::Ring(ring.root), amplitude, mean });
        }
    }
    swings
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn tension_and_shear_count_by_distortion_energy() {
        // direct 0 to 300, shear 100 to 200: amplitudes 150 and 50, means 150 and 150
        let (amplitude, mean) =
            equal_shear(Range { low: 0.0, high: 300.0 }, Range { low: 100.0, high: 200.0 });
        assert_relative_eq!(amplitude, (150f64.powi(2) / 3.0 + 50f64.powi(2)).sqrt(), max_relative = 1e-12);
        assert_relative_eq!(mean, (150f64.powi(2) / 3.0 + 150f64.powi(2)).sqrt(), max_relative = 1e-12);
        // compression on average: only the amplitude counts
        assert_relative_eq!(equal_shear(Range { low: -300.0, high: 0.0 }, NONE).1, 0.0);
    }
}
