//! The former's geometry: height over radius and angle, and the same as a stack of rings.

use serde::Serialize;

use crate::layout::{ArmPath, Spring};

/// Rows of the height table.
const ROWS: usize = 61;

/// Most rings of a stack; a higher former takes rings of several sheets. Judgement, no source.
const MOST_RINGS: usize = 12;

/// One row of the former's table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormerRow {
    /// winding angle from the outer root (°)
    pub angle_deg: f64,
    /// radius of the arm centre (mm)
    pub radius_mm: f64,
    /// radius of the arm's inner edge (mm), which rests on a former of revolution first
    pub inner_edge_mm: f64,
    /// height of the arm's underside above that of the rim (mm)
    pub height_mm: f64,
}

/// One ring of a stepped former; rings are stacked, the largest below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FormerRing {
    /// place in the stack from below, the first is 1
    pub ring: usize,
    /// outer radius (mm)
    pub outer_radius_mm: f64,
    /// radius of the hole, all rings alike (mm); 0 without one
    pub bore_radius_mm: f64,
    /// height of its upper face above the rim's seat (mm)
    pub top_mm: f64,
    /// the same in sheet thicknesses
    pub top_in_sheets: usize,
}

/// The former.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FormerShape {
    /// rise from rim to hub (mm)
    pub height_mm: f64,
    /// radius of the base plate on which the rim lies (mm)
    pub base_radius_mm: f64,
    /// height over angle and radius, outer root to inner root
    pub table: Vec<FormerRow>,
    /// rings that make a stepped former, each one sheet of the spring thick or a whole number of them
    pub rings: Vec<FormerRing>,
    /// what the stack is too low by (mm), to be made up by a shim under the hub; never below zero
    pub shim_mm: f64,
}

impl FormerShape {
    /// For an arm with `heights` at its nodes (mm): the free ones, or those over-height that setting asks for.
    ///
    /// A ring's edge stands under the inner edge of the arm, so that every level section rests on it: an arm half a
    /// sheet above the ring's face or half a sheet below is one that this ring carries.
    pub fn of(spring: &Spring, arm: &ArmPath, heights: &[f64]) -> Self {
        let last = heights.len() - 1;
        let height_mm = heights[last];
        let table = former_table(arm, heights);
        let sheet = spring.sheet.thickness;
        let sheets = sheets_in(height_mm, sheet);
        let each = sheets.div_ceil(MOST_RINGS).max(1);
        let count = sheets / each;
        let step = each as f64 * sheet;
        let rings = (1..=count)
            .map(|ring| FormerRing {
                ring,
                outer_radius_mm: inner_edge_at(arm, heights, (ring as f64 - 0.5) * step),
                bore_radius_mm: spring.disc.bore_radius,
                top_mm: ring as f64 * step,
                top_in_sheets: ring * each,
            })
            .collect();
        Self {
            height_mm,
            base_radius_mm: spring.disc.outer_radius,
            table,
            rings,
            shim_mm: height_mm - count as f64 * step,
        }
    }
}

/// Rows of a height table for an arm at `heights` (mm at its nodes).
pub(super) fn former_table(arm: &ArmPath, heights: &[f64]) -> Vec<FormerRow> {
    let last = heights.len() - 1;
    (0..ROWS)
        .map(|k| {
            let i = last * k / (ROWS - 1);
            FormerRow {
                angle_deg: arm.angle[i].to_degrees(),
                radius_mm: arm.radius[i],
                inner_edge_mm: arm.radius[i] - 0.5 * arm.width[i],
                height_mm: heights[i],
            }
        })
        .collect()
}

/// Whole sheets in a height (mm).
fn sheets_in(height: f64, sheet: f64) -> usize {
    let mut count = 0;
    while (count + 1) as f64 * sheet <= height {
        count += 1;
    }
    count
}

/// Radius of the arm's inner edge where it stands at `level` (mm), linear between the nodes.
fn inner_edge_at(arm: &ArmPath, heights: &[f64], level: f64) -> f64 {
    let edge = |i: usize| arm.radius[i] - 0.5 * arm.width[i];
    let i = heights.partition_point(|height| *height < level).clamp(1, heights.len() - 1);
    let rise = heights[i] - heights[i - 1];
    let share = if rise > 0.0 { ((level - heights[i - 1]) / rise).clamp(0.0, 1.0) } else { 0.0 };
    edge(i - 1) + share * (edge(i) - edge(i - 1))
}
