//! The disc seen from above, in triangles: rim, arms, hub, and the slots between them.
//!
//! Slot k starts at azimuth 2πk/N on the rim side and winds towards the hub. All points lie on common azimuths, so that
//! what borders on each other shares its corners. Slot ends are cut straight: this is a body to look at and to print,
//! not the outline to cut.

use std::f64::consts::TAU;

use crate::layout::{ArmPath, Spring};

/// Largest step in azimuth (rad): at a radius of 50 mm the chord lies 0.02 mm inside its arc.
const STEP: f64 = TAU / 120.0;

/// Bore radius below which the hub is closed (mm).
const NO_BORE: f64 = 0.05;

/// Reasons why a spring has no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// Neighbouring turns lie over each other.
    #[error(
        "neighbouring turns leave a gap of {gap_mm:.3} mm at radius {radius_mm:.2} mm, expected more than zero; widen \
         the slot or narrow the arms"
    )]
    Overlap {
        /// gap along the radius (mm)
        gap_mm: f64,
        /// radius (mm)
        radius_mm: f64,
    },
    /// A ring without width.
    #[error(
        "the {ring} would be {width_mm:.3} mm wide behind the slot ends, expected more than zero; give \
         disc.outer_diameter and disc.bore_diameter that leave room"
    )]
    Ring {
        /// rim or hub
        ring: &'static str,
        /// its width (mm)
        width_mm: f64,
    },
}

/// Which edge of a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    /// the slot's edge towards the rim
    Outer,
    /// the slot's edge towards the hub
    Inner,
}

/// Rim, arms, hub and slots in triangles, counter-clockwise seen from above.
#[derive(Debug, Clone)]
pub struct Plan {
    /// corners: x, y, height above the rim (mm)
    pub points: Vec<[f64; 3]>,
    /// triangles of rim, arms and hub
    pub part: Vec<[usize; 3]>,
    /// triangles that fill the slots
    pub slots: Vec<[usize; 3]>,
}

/// Where the points stand in the list.
struct Layout {
    arms: usize,
    /// knots of one sector, 360°/N
    sector: usize,
    /// knots over the arm
    arm: usize,
    bore: bool,
}

impl Layout {
    /// Knots of one slot less one.
    fn slot(&self) -> usize {
        self.arm + self.sector
    }

    fn edge(&self, slot: usize, side: Side, knot: usize) -> usize {
        let side = usize::from(side == Side::Inner);
        (2 * (slot % self.arms) + side) * (self.slot() + 1) + knot
    }

    fn edges(&self) -> usize {
        2 * self.arms * (self.slot() + 1)
    }

    fn rim(&self, slot: usize, knot: usize) -> usize {
        self.edges() + (slot * self.sector + knot) % (self.arms * self.sector)
    }

    fn bore(&self, slot: usize, knot: usize) -> usize {
        let around = self.arms * self.sector;
        self.edges() + around + if self.bore { (slot * self.sector + knot) % around } else { 0 }
    }
}

/// Angles from `from` to `to` in even steps, `to` left out.
fn steps(from: f64, to: f64) -> Vec<f64> {
    let mut count = 0;
    while STEP * f64::from(count) < to - from {
        count += 1;
    }
    (0..count).map(|k| from + (to - from) * f64::from(k) / f64::from(count)).collect()
}

impl Plan {
    /// The plan of a spring with its arm standing at `heights` (mm at the arm's nodes).
    pub fn of(spring: &Spring, arm: &ArmPath, heights: &[f64]) -> Result<Self, PlanError> {
        let arms = spring.arms;
        let between = TAU / arms as f64;
        let span = arm.angle[arm.angle.len() - 1];
        // arm ends have to lie on common azimuths too: one sector is cut at what is left of the arm
        let (mut turns, mut rest) = (0, span);
        while rest > between - 1e-6 {
            turns += 1;
            rest -= between;
        }
        if rest < 1e-6 {
            rest = 0.0;
        }
        let (first, second) = (steps(0.0, rest), steps(rest, between));
        let sector_knots: Vec<f64> = first.iter().chain(&second).copied().collect();
        let sector = sector_knots.len();
        let layout = Layout {
            arms,
            sector,
            arm: turns * sector + first.len(),
            bore: spring.disc.bore_radius > NO_BORE,
        };
        let knot_angle = |knot: usize| (knot / sector) as f64 * between + sector_knots[knot % sector];
        let edges = slot_edges(spring, arm, &layout, knot_angle)?;
        let place = |radius: f64, azimuth: f64, z: f64| [radius * azimuth.cos(), radius * azimuth.sin(), z];
        let top = heights.last().copied().unwrap_or(0.0);
        let mut points = Vec::with_capacity(layout.edges() + 2 * arms * sector);
        for slot in 0..arms {
            for side in [Side::Outer, Side::Inner] {
                for (knot, edge) in edges.iter().enumerate() {
                    let angle = knot_angle(knot);
                    let azimuth = between * slot as f64 + angle;
                    let (radius, z) = match side {
                        // towards the rim lies the arm whose own slot started a sector later
                        Side::Outer => (edge[0], arm.value_at(heights, angle - between)),
                        Side::Inner if knot > layout.arm => (edge[1], top),
                        Side::Inner => (edge[1], arm.value_at(heights, angle)),
                    };
                    points.push(place(radius, azimuth, z));
                }
            }
        }
        let mut ring = |radius: f64, z: f64| {
            for slot in 0..arms {
                for knot in &sector_knots {
                    points.push(place(radius, between * slot as f64 + knot, z));
                }
            }
        };
        ring(spring.disc.outer_radius, 0.0);
        if layout.bore {
            ring(spring.disc.bore_radius, top);
        } else {
            points.push([0.0, 0.0, top]);
        }
        let (part, slots) = triangles(&layout);
        Ok(Self { points, part, slots })
    }

    /// Area of rim, arms and hub (mm²).
    pub fn area(&self) -> f64 {
        self.part
            .iter()
            .map(|triangle| {
                let [a, b, c] = triangle.map(|corner| self.points[corner]);
                0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]))
            })
            .sum()
    }
}

/// Radii of a slot's outer and inner edge at its knots (mm).
fn slot_edges(
    spring: &Spring,
    arm: &ArmPath,
    layout: &Layout,
    knot_angle: impl Fn(usize) -> f64,
) -> Result<Vec<[f64; 2]>, PlanError> {
    let between = TAU / spring.arms as f64;
    let outer_edge = |angle: f64| arm.value_at(&arm.radius, angle) + 0.5 * arm.value_at(&arm.width, angle);
    let inner_edge = |angle: f64| arm.value_at(&arm.radius, angle) - 0.5 * arm.value_at(&arm.width, angle);
    let slot = spring.slot;
    // where only one arm borders on the slot, its other edge runs a slot width away; where none does, from one end to
    // the other
    let last = layout.slot();
    let mut edges = Vec::with_capacity(last + 1);
    for knot in 0..=last {
        let angle = knot_angle(knot);
        let inside = (knot <= layout.arm).then(|| outer_edge(angle));
        let outside = (knot >= layout.sector).then(|| inner_edge(angle - between));
        let edge = match (outside, inside) {
            (Some(outside), Some(inside)) => [outside, inside],
            (None, Some(inside)) => [inside + slot, inside],
            (Some(outside), None) => [outside, outside - slot],
            (None, None) => {
                let (from, to) = (knot_angle(layout.arm), between);
                let share = (angle - from) / (to - from);
                let (start, end) = (outer_edge(from), inner_edge(0.0) - slot);
                let inside = start + share * (end - start);
                [inside + slot, inside]
            }
        };
        let gap = edge[0] - edge[1];
        if gap.is_nan() || gap <= 0.0 {
            return Err(PlanError::Overlap { gap_mm: gap, radius_mm: edge[0] });
        }
        edges.push(edge);
    }
    let widest = edges.iter().take(layout.sector + 1).fold(0.0, |widest: f64, edge| widest.max(edge[0]));
    let narrowest =
        edges.iter().skip(layout.arm).fold(f64::INFINITY, |narrowest, edge| narrowest.min(edge[1]));
    for (ring, width_mm) in
        [("rim", spring.disc.outer_radius - widest), ("hub", narrowest - spring.disc.bore_radius)]
    {
        if width_mm.is_nan() || width_mm <= 0.0 {
            return Err(PlanError::Ring { ring, width_mm });
        }
    }
    Ok(edges)
}

/// Triangles of part and slots.
fn triangles(layout: &Layout) -> (Vec<[usize; 3]>, Vec<[usize; 3]>) {
    let (mut part, mut slots) = (Vec::new(), Vec::new());
    // corners counter-clockwise; the first sees all the others
    let fan = |list: &mut Vec<[usize; 3]>, corners: &[usize]| {
        for pair in corners[1..].windows(2) {
            // around a closed hub two corners are the same
            if corners[0] != pair[0] && pair[0] != pair[1] && pair[1] != corners[0] {
                list.push([corners[0], pair[0], pair[1]]);
            }
        }
    };
    let (sector, arm) = (layout.sector, layout.arm);
    for slot in 0..layout.arms {
        let outer = |knot| layout.edge(slot, Side::Outer, knot);
        let inner = |knot| layout.edge(slot, Side::Inner, knot);
        for knot in 0..layout.slot() {
            fan(&mut slots, &[inner(knot), outer(knot), outer(knot + 1), inner(knot + 1)]);
        }
        // the rim behind this slot, up to the next one's start
        for knot in 0..sector {
            let mut corners = vec![outer(knot), layout.rim(slot, knot), layout.rim(slot, knot + 1)];
            if knot + 1 == sector {
                corners.push(layout.edge(slot + 1, Side::Outer, 0));
                corners.push(layout.edge(slot + 1, Side::Inner, 0));
            }
            corners.push(outer(knot + 1));
            fan(&mut part, &corners);
        }
        // the arm between this slot and the next one, which is its outer edge
        for knot in 0..arm {
            let next = |knot| layout.edge(slot + 1, Side::Inner, knot);
            fan(&mut part, &[outer(knot + sector), next(knot), next(knot + 1), outer(knot + 1 + sector)]);
        }
        // the hub before this slot's end, from the end of the one before
        for knot in arm..arm + sector {
            let mut corners = vec![inner(knot + 1), layout.bore(slot, knot + 1), layout.bore(slot, knot)];
            if knot == arm {
                let before = slot + layout.arms - 1;
                corners.push(layout.edge(before, Side::Inner, arm + sector));
                corners.push(layout.edge(before, Side::Outer, arm + sector));
            }
            corners.push(inner(knot));
            fan(&mut part, &corners);
        }
    }
    (part, slots)
}
