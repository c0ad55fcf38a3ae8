//! Where a section touches the base: at its inner edge, near the roots on its centre line.
//!
//! A load on the axis rolls every section inwards, so that its inner edge comes down first. Sections are level when free; the
//! line that touches then rises like that of a rigid section,
//!
//! ```text
//! z + ωx dy − ωy dx,      (dx, dy) from the centre line to the touching line
//! ```
//!
//! and the force of the plate acts on the node along the same row `(1, dy, −dx)`. At its outer root an arm is part of the rim, whose
//! own roll is not that of its section: the line leaves the centre there and reaches the edge within a few thicknesses. Towards the
//! hub it comes back over the last quarter of the arm's angle. The first length is fitted together with those of the roots. With
//! contact at both edges instead of the inner one alone the force differs by less than 0.6 % rms up to 85 % of the travel
//! (`tests/data/whole_chain/tools/edges.py`); beyond, plate of 8 to 12 mm comes down with its outer edges too, and without them the
//! force is up to 6 % too low at 90 % and 10 % at 99 %. Between two plates, where a section may touch with either edge, both touch the
//! centre line: the inner edge would make the force 6 to 12 % too high where outer turns lie nearly flat.

use crate::layout::ArmPath;

/// Distance from the outer root, in thicknesses, over which the line comes within 1/e of the edge.
const ONSET: f64 = 1.0;
/// Share of the arm's angle, from the hub, over which it comes back to the centre.
const RETURN: f64 = 0.25;

/// Distance of the touching line from the centre line at node `i` of an arm, in half widths, with its slopes.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Reach {
    /// 0 on the centre line, 1 at the inner edge
    pub share: f64,
    /// over the angle of the node and of the arm's ends, outer and inner (1/rad)
    pub by_angle: [f64; 3],
    /// over the radius of the outer end (1/mm)
    pub by_radius: f64,
    /// over the thickness (1/mm)
    pub by_thickness: f64,
}

/// Rule by which an arm touches the plates.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Touch {
    /// at the inner edge, near the roots by which it grows out of its rings on the centre line
    #[default]
    Rings,
    /// at the inner edge all along: an arm between ideal clamps, whose sections do not roll there
    Clamps,
    /// on the centre line: between two plates a section may touch with either edge
    Plates,
}

impl Touch {
    /// Distance of the touching line at node `i` of an arm cut from a sheet `thickness` thick (mm).
    pub fn reach(self, arm: &ArmPath, thickness: f64, i: usize) -> Reach {
        match self {
            Self::Rings => Reach::of(arm, thickness, i),
            Self::Clamps => Reach { share: 1.0, ..Reach::default() },
            Self::Plates => Reach::default(),
        }
    }
}

impl Reach {
    /// At node `i` of an arm that grows out of its rings.
    fn of(arm: &ArmPath, thickness: f64, i: usize) -> Self {
        let last = arm.angle.len() - 1;
        let radius = arm.radius[0];
        let (turned, whole) = (arm.angle[i] - arm.angle[0], arm.angle[last] - arm.angle[0]);
        let away = radius * turned / (ONSET * thickness);
        let (rest, by_away) = ((-away).exp(), radius / (ONSET * thickness));
        let onset = 1.0 - rest;
        let left = (1.0 - turned / whole) / RETURN;
        if left >= 1.0 {
            return Self {
                share: onset,
                by_angle: [rest * by_away, -rest * by_away, 0.0],
                by_radius: rest * away / radius,
                by_thickness: -rest * away / thickness,
            };
        }
        // left = (θ_last − θ_i)/(RETURN (θ_last − θ_0))
        let unit = 1.0 / (RETURN * whole);
        let by_left = [-unit, (1.0 - turned / whole) * unit, turned / whole * unit];
        let by_onset = [rest * by_away, -rest * by_away, 0.0];
        Self {
            share: onset * left,
            by_angle: std::array::from_fn(|k| by_onset[k] * left + onset * by_left[k]),
            by_radius: left * rest * away / radius,
            by_thickness: -left * rest * away / thickness,
        }
    }

    /// From the centre line to the touching line at node `i` (mm).
    pub fn line(&self, arm: &ArmPath, i: usize) -> [f64; 2] {
        let (sine, cosine) = arm.angle[i].sin_cos();
        let lever = -0.5 * self.share * arm.width[i];
        [lever * cosine, lever * sine]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::Station;
    use approx::assert_relative_eq;

    fn arm(change: impl Fn(&mut ArmPath)) -> ArmPath {
        let stations: Vec<Station> = (0..=20)
            .map(|k| {
                let s = f64::from(k) / 20.0;
                Station { angle: 7.0 * s, radius: 30.0 - 18.0 * s, width: 5.0 - 2.0 * s, height: 6.0 * s }
            })
            .collect();
        let mut arm = ArmPath::through_stations(&stations, 40).unwrap();
        change(&mut arm);
        arm
    }

    #[test]
    fn the_line_leaves_the_centre_at_the_rim_and_comes_back_at_the_hub() {
        let arm = arm(|_| ());
        let share = |i: usize| Reach::of(&arm, 1.5, i).share;
        assert_eq!(share(0), 0.0);
        assert!(share(20) > 0.999, "{}", share(20));
        assert!(share(40).abs() < 1e-12);
        // half of the last quarter of the angle
        let off = |i: &usize| (arm.angle[*i] / 7.0 - 0.875).abs();
        let half_back = (0..=40).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap();
        assert_relative_eq!(share(half_back), 4.0 * (1.0 - arm.angle[half_back] / 7.0), max_relative = 1e-6);
    }

    #[test]
    fn slopes_agree_with_differences() {
        let base = arm(|_| ());
        for i in [1, 2, 20, 33, 38] {
            let reach = Reach::of(&base, 1.5, i);
            let h = 1e-6;
            let quotient = |change: &dyn Fn(&mut ArmPath, f64)| {
                let at = |by: f64| Reach::of(&arm(|arm| change(arm, by)), 1.5, i).share;
                (at(h) - at(-h)) / (2.0 * h)
            };
            let thicker = |by: f64| Reach::of(&base, 1.5 + by, i).share;
            let found = [
                quotient(&|arm, by| arm.angle[i] += by),
                quotient(&|arm, by| arm.angle[0] += by),
                quotient(&|arm, by| arm.angle[40] += by),
                quotient(&|arm, by| arm.radius[0] += by),
                (thicker(h) - thicker(-h)) / (2.0 * h),
            ];
            let expected = reach.by_angle.into_iter().chain([reach.by_radius, reach.by_thickness]);
            for (found, expected) in found.into_iter().zip(expected) {
                assert!(
                    (found - expected).abs() < 1e-6 * expected.abs().max(1.0),
                    "node {i}: {found} {expected}"
                );
            }
        }
    }
}
