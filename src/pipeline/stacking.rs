//! Several equal springs where one does not suffice: back to back (series) each takes a share of the travel, side by
//! side or nested (parallel) each takes a share of the force.

use serde::Serialize;

use crate::curve::TargetCurve;
use crate::spec::Brief;
use crate::synthesis::{Merits, Outcome, SearchError};

/// Arrangements tried, fewest springs first.
const TRIED: [(Arrangement, usize); 4] = [
    (Arrangement::Series, 2),
    (Arrangement::Parallel, 2),
    (Arrangement::Series, 3),
    (Arrangement::Parallel, 3),
];

/// Arrangement of equal springs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Arrangement {
    /// back to back: the same force in each, the travel shared
    Series,
    /// the same travel in each, the force shared
    Parallel,
}

/// Equal springs that meet the curve together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stack {
    /// arrangement
    pub arrangement: Arrangement,
    /// number of springs
    pub count: usize,
    /// one of them
    pub each: Merits,
}

impl Arrangement {
    /// Target and space of one of `count` springs: springs back to back share the height.
    fn share(self, target: &TargetCurve, brief: &Brief, count: usize) -> (TargetCurve, Brief) {
        let (mut target, mut brief) = (target.clone(), brief.clone());
        let parts = count as f64;
        match self {
            Self::Series => {
                target.deflection.iter_mut().for_each(|x| *x /= parts);
                let (envelope, duty) = (&mut brief.envelope, &mut brief.duty);
                let lengths = [
                    envelope.free_height_max.as_mut(),
                    envelope.solid_height_max.as_mut(),
                    duty.installed.as_mut(),
                    duty.stroke_start.as_mut(),
                    duty.stroke_end.as_mut(),
                    duty.working_deflection.as_mut(),
                ];
                lengths.into_iter().flatten().for_each(|length| *length /= parts);
            }
            Self::Parallel => {
                target.force.iter_mut().for_each(|f| *f /= parts);
                brief.duty.carried_mass.iter_mut().for_each(|mass| *mass /= parts);
                for list in [&mut target.force_min, &mut target.force_max].into_iter().flatten() {
                    for f in list.iter_mut() {
                        *f /= parts;
                    }
                }
            }
        }
        (target, brief)
    }
}

impl Stack {
    /// The fewest equal springs that meet the curve within `tolerance` (percent rms) and hold, if there are any; `search`
    /// finds springs for a curve and a brief.
    pub fn find(
        target: &TargetCurve,
        brief: &Brief,
        tolerance: f64,
        search: &dyn Fn(&TargetCurve, &Brief) -> Result<Outcome, SearchError>,
    ) -> Option<Self> {
        TRIED.iter().find_map(|&(arrangement, count)| {
            let (share, room) = arrangement.share(target, brief, count);
            let each = search(&share, &room).ok()?.designs.first()?.merits;
            (each.fits(tolerance) && each.holds() != Some(false)).then_some(Self { arrangement, count, each })
        })
    }

    /// The advice in words.
    pub fn advice(&self) -> String {
        let how = match self.arrangement {
            Arrangement::Series => "in series (back to back, each taking its share of the travel)",
            Arrangement::Parallel => "in parallel (each taking its share of the force)",
        };
        format!(
            "{} equal springs {how} would meet the curve within {:.2} % rms: each {}, sheet {} mm, outside {:.1} mm, \
             free height {:.2} mm, peak stress {:.0} MPa; design one with the curve's {} divided by {}",
            self.count,
            self.each.rms_percent,
            if self.each.arms == 1 { "one arm".to_owned() } else { format!("{} arms", self.each.arms) },
            self.each.thickness_mm,
            self.each.outer_diameter_mm,
            self.each.free_height_mm,
            self.each.peak_stress_mpa,
            match self.arrangement {
                Arrangement::Series => "deflections",
                Arrangement::Parallel => "forces",
            },
            self.count
        )
    }
}

#[cfg(test)]
#[path = "stacking_tests.rs"]
mod tests;
