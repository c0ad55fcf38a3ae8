//! The former's geometry: height over radius and angle, and the same as a stack of rings.

use serde::Serialize;

use super::ring_stack::{FormerRing, ring_stack};
use crate::layout::{ArmPath, Spring};

/// Rows of the height table.
const ROWS: usize = 61;

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

/// The former.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FormerShape {
    /// rise from rim to hub (mm)
    pub height_mm: f64,
    /// radius of the base plate on which the rim lies (mm)
    pub base_radius_mm: f64,
    /// height over angle and radius, outer root to inner root
    pub table: Vec<FormerRow>,
    /// rings that make a stepped former, from the shims at hand or from the spring's own sheet; none where too many would
    /// be needed
    pub rings: Vec<FormerRing>,
    /// height missing from the stack (mm), to be made up by a shim under the hub; never below zero
    pub shim_mm: f64,
    /// thickness of the thinnest ring there could be (mm)
    #[serde(skip)]
    pub thinnest_mm: f64,
}

impl FormerShape {
    /// For an arm with `heights` at its nodes (mm): the free ones, or those over-height that setting asks for. Rings are
    /// of `shims` (mm), or of the spring's own sheet where none are given.
    pub fn of(spring: &Spring, arm: &ArmPath, heights: &[f64], shims: Option<&[f64]>) -> Self {
        let height_mm = heights.last().copied().unwrap_or(0.0);
        let table = former_table(arm, heights);
        let rings = ring_stack(spring, arm, heights, shims);
        let stacked = rings.last().map_or(0.0, |ring| ring.top_mm);
        Self {
            height_mm,
            base_radius_mm: spring.disc.outer_radius,
            table,
            rings,
            shim_mm: (height_mm - stacked).max(0.0),
            thinnest_mm: shims.map_or(spring.sheet.thickness, |shims| {
                shims.iter().copied().filter(|shim| *shim > 0.0).fold(f64::INFINITY, f64::min)
            }),
        }
    }

    /// Why there is no stack of rings and what to do, a sentence without its full stop; empty where there is one.
    pub fn no_stack(&self) -> &'static str {
        if !self.rings.is_empty() {
            ""
        } else if self.thinnest_mm > self.height_mm {
            "No stack of rings: the thinnest ring is thicker than the former is high; give thinner shims in [shop] shims, or \
             turn the former"
        } else {
            "No stack of rings: too many would be needed; give thicker shims in [shop] shims, or turn the former"
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
