//! One arm between its roots: the path of its centre, its width, and its free height.

use std::f64::consts::TAU;

use super::slot_line::Foot;
use super::{FormerProfile, LayoutError, SlotLine, Station};
use crate::numeric::MonotoneCubic;
use crate::numeric::quadrature::gauss2;

/// Samples from which arc length and the former's rise are integrated.
const FINE: usize = 160;

/// Reach of a root along the arm, in root widths, over which pieces are shorter.
const NEAR_ROOT: f64 = 0.7;
/// Pieces per length at the roots of rim and hub beyond those in the middle of the arm, over these. At the rim the plate pushes
/// within the first root widths, and the loads of the slot end depend on where.
const CLOSER: [f64; 2] = [6.0, 1.0];

/// One arm at its nodes, outer root to inner root. All arrays have the same length, one more than there are segments.
#[derive(Debug, Clone, PartialEq)]
pub struct ArmPath {
    /// winding angle from the outer root (rad), increasing
    pub angle: Vec<f64>,
    /// radius of the arm centre (mm)
    pub radius: Vec<f64>,
    /// width along the radius, at mid-thickness (mm)
    pub width: Vec<f64>,
    /// free height of the centre line above its flat position (mm)
    pub height: Vec<f64>,
    /// rise per angle dz0/dθ (mm/rad)
    pub rise: Vec<f64>,
}

impl ArmPath {
    /// The piece at a winding angle and how far into it the angle lies, 0 to 1; the ends stand for all beyond them.
    pub fn piece_at(&self, angle: f64) -> (usize, f64) {
        let after = self.angle.partition_point(|node| *node <= angle).clamp(1, self.angle.len() - 1);
        let (from, to) = (self.angle[after - 1], self.angle[after]);
        (after - 1, ((angle - from) / (to - from)).clamp(0.0, 1.0))
    }

    /// Value at a winding angle of a list with one entry for each node, straight between them.
    pub fn value_at(&self, list: &[f64], angle: f64) -> f64 {
        let (i, share) = self.piece_at(angle);
        list[i] + share * (list[i + 1] - list[i])
    }

    /// The arm between neighbouring slots, in `segments` pieces, set to `former`.
    ///
    /// It reaches over the angle where both slots exist; its roots belong to the model.
    pub fn between_slots(
        slot: &SlotLine,
        former: &FormerProfile,
        segments: usize,
    ) -> Result<Self, LayoutError> {
        let between = TAU / slot.arms() as f64;
        let span = slot.total_angle() - between;
        if span <= 0.05 * between {
            return Err(LayoutError::NoArm {
                arms: slot.arms(),
                slot_degrees: slot.total_angle().to_degrees(),
                needed_degrees: between.to_degrees(),
            });
        }
        // the slot that started earlier has wound further in: it is the arm's inner edge
        let mut feet = (Foot::default(), Foot::default());
        let mut edges = |angle: f64| {
            let inner = slot.edge_radius_near(angle + between, 1.0, &mut feet.0);
            let outer = slot.edge_radius_near(angle, -1.0, &mut feet.1);
            (0.5 * (inner + outer), outer - inner)
        };
        let mut angle = Vec::with_capacity(FINE + 1);
        let mut radius = Vec::with_capacity(FINE + 1);
        let mut width = Vec::with_capacity(FINE + 1);
        for k in 0..=FINE {
            let theta = span * k as f64 / FINE as f64;
            let (r, w) = edges(theta);
            if w <= 0.0 {
                return Err(LayoutError::ArmVanishes { radius_mm: r, width_mm: w });
            }
            angle.push(theta);
            radius.push(r);
            width.push(w);
        }
        let fine = Fine::new(angle, radius, width)?;
        fine.set_to(former, segments)
    }

    /// The arm through given stations, in `segments` pieces.
    pub fn through_stations(stations: &[Station], segments: usize) -> Result<Self, LayoutError> {
        let column = |value: fn(&Station) -> f64| stations.iter().map(value).collect::<Vec<_>>();
        let first = stations.first().map_or(0.0, |s| s.angle);
        let angle: Vec<f64> = stations.iter().map(|s| s.angle - first).collect();
        let base = stations.first().map_or(0.0, |s| s.height);
        let height: Vec<f64> = stations.iter().map(|s| s.height - base).collect();
        let cubic = |value: &[f64]| {
            MonotoneCubic::through(&angle, value).ok_or_else(|| LayoutError::Profile {
                what: "the stations",
                found: format!("{} rows", stations.len()),
            })
        };
        let height = cubic(&height)?;
        let fine = Fine::new(angle.clone(), column(|s| s.radius), column(|s| s.width))?;
        let angle = fine.nodes(segments);
        let (z, p) = angle.iter().map(|&theta| height.value_and_slope(theta)).unzip();
        Ok(fine.path(angle, z, p))
    }

    /// The arm through stations of a flat blank, whose heights do not count, in `segments` pieces, set to `former`.
    pub fn on_former(
        stations: &[Station],
        former: &FormerProfile,
        segments: usize,
    ) -> Result<Self, LayoutError> {
        let column = |value: fn(&Station) -> f64| stations.iter().map(value).collect::<Vec<_>>();
        let first = stations.first().map_or(0.0, |s| s.angle);
        let angle = stations.iter().map(|s| s.angle - first).collect();
        Fine::new(angle, column(|s| s.radius), column(|s| s.width))?.set_to(former, segments)
    }

    /// Number of segments.
    pub fn segments(&self) -> usize {
        self.angle.len() - 1
    }

    /// Rise of the inner root above the outer one: the travel to flat (mm).
    pub fn free_height(&self) -> f64 {
        self.height.last().copied().unwrap_or(0.0)
    }

    /// The nodes as stations.
    pub fn stations(&self) -> impl Iterator<Item = Station> + '_ {
        (0..self.angle.len()).map(|i| Station {
            angle: self.angle[i],
            radius: self.radius[i],
            width: self.width[i],
            height: self.height[i],
        })
    }

    /// Widths normal to the centre line at the nodes (mm).
    pub fn normal_widths(&self) -> Vec<f64> {
        let cosines = pitch_cosines(&self.angle, &self.radius);
        cosines.iter().zip(&self.width).map(|(cosine, width)| cosine * width).collect()
    }

    /// Widths along the radius at the roots of hub and rim (mm).
    pub fn root_widths(&self) -> [f64; 2] {
        [self.width.last(), self.width.first()].map(|width| width.copied().unwrap_or_default())
    }

    /// Length of the centre line's chords (mm).
    pub fn length(&self) -> f64 {
        (0..self.segments()).map(|i| self.chord(i)).sum()
    }

    /// Length of one chord (mm).
    pub fn chord(&self, i: usize) -> f64 {
        let turn = self.angle[i + 1] - self.angle[i];
        let (a, b) = (self.radius[i], self.radius[i + 1]);
        // (b − a)² + 4ab sin²(Δθ/2): no cancellation for short chords
        ((b - a).powi(2) + 4.0 * a * b * (0.5 * turn).sin().powi(2)).sqrt()
    }
}

/// An arm sampled finely over the angle, before its nodes are placed.
struct Fine {
    angle: Vec<f64>,
    radius: MonotoneCubic,
    width: MonotoneCubic,
    /// arc length up to each sample
    arc: Vec<f64>,
}

impl Fine {
    fn new(angle: Vec<f64>, radius: Vec<f64>, width: Vec<f64>) -> Result<Self, LayoutError> {
        let cubic = |value: &[f64], what| {
            MonotoneCubic::through(&angle, value)
                .ok_or_else(|| LayoutError::Profile { what, found: format!("{} samples", angle.len()) })
        };
        let (radius, width) = (cubic(&radius, "the arm's radius")?, cubic(&width, "the arm's width")?);
        let mut arc = vec![0.0];
        for pair in angle.windows(2) {
            let piece = gauss2(pair[0], pair[1], |theta| {
                let (r, slope) = radius.value_and_slope(theta);
                (r * r + slope * slope).sqrt()
            });
            arc.push(arc[arc.len() - 1] + piece);
        }
        Ok(Self { angle, radius, width, arc })
    }

    /// Angles that cut the arc into pieces, which are the shorter the nearer they lie to a root.
    fn nodes(&self, segments: usize) -> Vec<f64> {
        let total = self.arc[self.arc.len() - 1];
        let end = self.angle[self.angle.len() - 1];
        let widths = self.width.values();
        let roots = [(widths[0], CLOSER[0]), (widths[widths.len() - 1], CLOSER[1])]
            .map(|(width, closer)| (NEAR_ROOT * width, closer));
        // pieces up to an arc, in units of those far from the roots
        let count = |arc: f64| {
            let [(outer, more), (inner, more_inside)] = roots;
            arc + more * outer * (1.0 - (-arc / outer).exp())
                + more_inside * inner * ((-(total - arc) / inner).exp() - (-total / inner).exp())
        };
        let counts: Vec<f64> = self.arc.iter().map(|arc| count(*arc)).collect();
        let all = counts[counts.len() - 1];
        let mut i = 0;
        (0..=segments)
            .map(|k| {
                let wanted = all * k as f64 / segments as f64;
                while i + 2 < counts.len() && counts[i + 1] <= wanted {
                    i += 1;
                }
                let share = (wanted - counts[i]) / (counts[i + 1] - counts[i]);
                // beyond the end by rounding there is no slope
                (self.angle[i] + share * (self.angle[i + 1] - self.angle[i])).min(end)
            })
            .collect()
    }

    /// Integrates the former's rise along the arm and places the nodes.
    fn set_to(&self, former: &FormerProfile, segments: usize) -> Result<ArmPath, LayoutError> {
        let last = self.arc.len() - 1;
        let total = self.arc[last];
        let reach = |end: usize| former.ease * self.width.values()[end];
        let (outer, inner) = (reach(0), reach(last));
        // short arms: the two ramps must not overlap
        let shrink = (0.9 * total / (outer + inner)).min(1.0);
        let ramp = |arc: f64, reach: f64| if reach > 0.0 { (arc / (shrink * reach)).min(1.0) } else { 1.0 };
        let rise_at = |theta: f64, arc: f64| {
            let (r, slope) = self.radius.value_and_slope(theta);
            -slope * former.steepness(r) * ramp(arc, outer) * ramp(total - arc, inner)
        };
        let mut height = vec![0.0];
        for i in 0..last {
            let (from, to) = (self.angle[i], self.angle[i + 1]);
            let piece = gauss2(from, to, |theta| {
                let arc = self.arc[i] + (self.arc[i + 1] - self.arc[i]) * (theta - from) / (to - from);
                rise_at(theta, arc)
            });
            height.push(height[i] + piece);
        }
        let scale = former.free_height / height[last];
        if !(scale.is_finite() && scale > 0.0) {
            return Err(LayoutError::Profile {
                what: "the former",
                found: format!("a rise of {} mm from rim to hub", height[last]),
            });
        }
        let angle = self.nodes(segments);
        let z: Vec<f64> = height.iter().map(|z| z * scale).collect();
        let mut nodes = (Vec::with_capacity(segments + 1), Vec::with_capacity(segments + 1));
        for &theta in &angle {
            let i = self.angle.partition_point(|&a| a <= theta).clamp(1, last) - 1;
            let (from, to) = (self.angle[i], self.angle[i + 1]);
            let arc_at = |t: f64| self.arc[i] + (self.arc[i + 1] - self.arc[i]) * (t - from) / (to - from);
            let rest = gauss2(from, theta, |t| rise_at(t, arc_at(t)));
            nodes.0.push(z[i] + scale * rest);
            nodes.1.push(scale * rise_at(theta, arc_at(theta)));
        }
        Ok(self.path(angle, nodes.0, nodes.1))
    }

    fn path(&self, angle: Vec<f64>, height: Vec<f64>, rise: Vec<f64>) -> ArmPath {
        let radius = angle.iter().map(|&theta| self.radius.value(theta)).collect();
        let width = angle.iter().map(|&theta| self.width.value(theta)).collect();
        ArmPath { angle, radius, width, height, rise }
    }
}

/// Cosine of the angle between the arm and the circle at each node: a width normal to the arm over the one along the
/// radius. `angle` (rad) and `radius` (mm) are the nodes of the centre line.
pub fn pitch_cosines(angle: &[f64], radius: &[f64]) -> Vec<f64> {
    let count = angle.len();
    (0..count)
        .map(|i| {
            let (a, b) = (i.saturating_sub(1), (i + 1).min(count - 1));
            let slope = (radius[b] - radius[a]) / (angle[b] - angle[a]);
            radius[i] / radius[i].hypot(slope)
        })
        .collect()
}
